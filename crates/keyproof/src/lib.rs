//! The core of Keyproof.
//!
//! Data flows one way: text, [`draft::Draft`], [`puzzle::Puzzle`],
//! [`check::Report`], published page. The core does no I/O, reads no clock and
//! knows no browser: budgets are counted in nodes, and progress and cancelling
//! come through [`prove::Watch`].

pub mod check;
#[cfg(feature = "course")]
pub mod course;
pub mod explain;
pub mod handout;
pub mod lesson;
pub mod moments;
pub mod picture;
pub mod publish;
pub mod seen;
pub mod still;

pub use model::{aim, draft, line, marks, mention, notation, puzzle, short, tongue, transform};
pub use play::{diagram, session};
pub use {prove, search, tables};
