//! The core of Keyproof.
//!
//! Data flows one way: text, [`draft::Draft`], [`puzzle::Puzzle`],
//! [`check::Report`], published page. The core does no I/O, reads no clock and
//! knows no browser: budgets are counted in nodes, and progress and cancelling
//! come through [`prove::Watch`].

pub mod check;
#[cfg(feature = "course")]
pub mod course;
pub mod diagram;
pub mod draft;
pub mod explain;
pub mod handout;
pub mod lesson;
pub mod line;
pub mod marks;
pub mod mention;
pub mod moments;
pub mod notation;
pub mod picture;
pub mod prove;
pub mod publish;
pub mod puzzle;
pub mod search;
pub mod seen;
pub mod session;
pub mod short;
pub mod still;
pub mod tables;
pub mod tongue;
pub mod transform;
