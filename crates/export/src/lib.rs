//! What is given out: the published file ([`publish`]) and what it shows without
//! its program ([`still`]), pages to print ([`handout`], [`pdf`]), a diagram as a document
//! of its own ([`picture`]), and packages for courses.

#![deny(missing_docs)]

#[cfg(feature = "course")]
pub mod course;
pub mod handout;
mod hatched;
mod html;
pub mod pdf;
pub mod picture;
pub mod publish;
pub mod still;
