//! The core of Keyproof.
//!
//! Data flows one way: text, [`draft::Draft`], [`puzzle::Puzzle`],
//! [`check::Report`], published page. The core does no I/O, reads no clock and
//! knows no browser: budgets are counted in nodes, and progress and cancelling
//! come through [`prove::Watch`].
//!
//! # Checking a puzzle
//!
//! ```
//! use keyproof::check::{Judge, Kind, Known, Soundness, check};
//! use keyproof::notation::pgn_read;
//! use keyproof::prove::Unwatched;
//!
//! let text = r##"
//! [Stipulation "#1"]
//! [FEN "6k1/5ppp/8/8/8/8/8/R3K2Q w - - 0 1"]
//!
//! 1. Ra8# *"##;
//! let game = pgn_read::read(text).remove(0);
//! assert!(game.faults.is_empty());
//!
//! let mut judge = Judge::new(1 << 20);
//! let mut known = Known::default();
//! let report = check(&game.draft, &mut known, &mut judge, &mut Unwatched);
//! assert_eq!(report.verdict, Soundness::Unsound);
//! let cook = &report.findings[0];
//! assert_eq!(cook.kind, Kind::Cook);
//! assert_eq!(cook.message, "1.Qa8# mates in 1 move as well, and is not listed.");
//!
//! // What is offered against it is an edit of the draft.
//! let mut draft = game.draft.clone();
//! for edit in &cook.mends[0].edits {
//!     draft.apply(edit)?;
//! }
//! let report = check(&draft, &mut known, &mut judge, &mut Unwatched);
//! assert_eq!(report.verdict, Soundness::Sound);
//! # Ok::<(), keyproof::draft::EditFault>(())
//! ```
//!
//! # Solving a position
//!
//! ```
//! use keyproof::aim::Aim;
//! use keyproof::notation::fen;
//! use keyproof::prove::{Prover, Unwatched, Verdict};
//!
//! let position = fen::read("7k/8/5K2/8/8/8/8/R7 w - - 0 1").expect("a legal position");
//! let mut prover = Prover::new(1 << 20);
//! let mut force = |n| prover.force(Aim::Mate, &position, n, &mut Unwatched);
//! assert_eq!(force(1), Ok(None));
//! let (_, verdict) = force(3).expect("decided").expect("a mate");
//! assert!(matches!(verdict, Verdict::Forces { length: 2, .. }));
//! ```
//!
//! # A student at work
//!
//! ```
//! use keyproof::check::Known;
//! use keyproof::notation::{moves, pgn_read};
//! use keyproof::resolved::Resolved;
//! use keyproof::session::{Judgement, Session};
//!
//! let text = r##"
//! [Stipulation "#1"]
//! [FEN "6k1/5ppp/8/8/8/8/8/R3K3 w - - 0 1"]
//!
//! 1. Ra8# (1. Ra7 $2) *"##;
//! let draft = pgn_read::read(text).remove(0).draft;
//! let puzzle = Resolved::of(&draft).into_puzzle().expect("a puzzle");
//! let mut session = Session::new(puzzle, Known::default());
//! let mut play = |text: &str| {
//!     let mv = moves::read(session.position(), text).expect("a legal move");
//!     let judgement = session.play(mv).judgement;
//!     (judgement, session.solved())
//! };
//! assert!(matches!(play("Ra7"), (Judgement::Try { .. }, false)));
//! assert!(matches!(play("Ra8"), (Judgement::Right, true)));
//! ```

#![deny(missing_docs)]

pub mod lesson;

#[cfg(feature = "course")]
pub use export::course;
pub use export::{handout, pdf, picture, publish, still};
pub use index as seen;
pub use model::{
    aim, draft, line, marks, mention, players, puzzle, resolved, short, tongue, transform,
};
pub use play::{account, diagram, failure, session};
pub use {check, explain, moments, prove, search, tables};

/// FEN, EPD, SAN, UCI and PGN: lenient in, strict out.
pub mod notation {
    pub use model::notation::*;
    pub use model::{epd, pgn_read, pgn_write, stream};
}
