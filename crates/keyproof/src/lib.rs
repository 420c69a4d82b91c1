//! The core of Keyproof.
//!
//! Data flows one way: text, [`draft::Draft`], [`puzzle::Puzzle`],
//! [`check::Report`], published page. The core does no I/O, reads no clock and
//! knows no browser: budgets are counted in nodes, and progress and cancelling
//! come through [`prove::Watch`].

#![deny(missing_docs)]

pub mod lesson;

#[cfg(feature = "course")]
pub use export::course;
pub use export::{handout, picture, publish, still};
pub use index as seen;
pub use model::{aim, draft, line, marks, mention, puzzle, resolved, short, tongue, transform};
pub use play::{diagram, session};
pub use {check, explain, moments, prove, search, tables};

/// FEN, EPD, SAN, UCI and PGN: lenient in, strict out.
pub mod notation {
    pub use model::notation::*;
    pub use model::{epd, pgn_read, pgn_write};
}
