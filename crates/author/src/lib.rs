//! The authoring page.
//!
//! The state, what can happen to it and what it asks of the browser are plain
//! Rust ([`desk`], [`message`] and what they are made of) and are tested
//! without a browser. [`edge`] carries messages to and from the browser, and
//! [`view`] draws.

pub mod book;
pub mod desk;
mod example;
pub mod findings;
mod history;
mod intake;
mod look;
pub mod message;
mod proving;
mod saved;
mod setup;
mod work;
