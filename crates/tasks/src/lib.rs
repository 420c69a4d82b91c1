//! What Keyproof does with positions, puzzles and games, each task a function: text and
//! options in, plain data out that serde writes as the command's JSON. The command and
//! the libraries for other languages are faces of it.
//!
//! No task reads a file or a clock. What it may use of the machine, and who follows it,
//! is said by [`Means`].
//!
//! # Checking puzzles
//!
//! ```
//! use keyproof_tasks::{CheckOptions, Means, check};
//!
//! let pgn = "[FEN \"6k1/5ppp/8/8/8/8/8/R3K2Q w - - 0 1\"]\n[Stipulation \"#1\"]\n\n1. Ra8# *";
//! let rows = check(pgn, &CheckOptions::default(), &Means::default())?;
//! assert_eq!(rows[0].verdict, keyproof::check::Soundness::Unsound);
//! assert_eq!(rows[0].findings[0].message, "1.Qa8# mates in 1 move as well, and is not listed.");
//! # Ok::<(), keyproof_tasks::Trouble>(())
//! ```
//!
//! # Solving a position
//!
//! ```
//! use keyproof_tasks::{Means, SolveOptions, solve};
//!
//! let fen = "7k/8/5K2/6Q1/8/8/8/8 w - - 0 1";
//! let solution = solve(fen, "#2", &SolveOptions::default(), &Means::default())?;
//! assert_eq!(solution.keys[0].named.san, "Qg7#");
//! # Ok::<(), keyproof_tasks::Trouble>(())
//! ```

#![deny(missing_docs)]

mod analyse;
mod certificate;
mod check;
mod entry;
mod findings;
mod judge;
mod means;
mod moments;
mod publish;
mod row;
mod seen;
mod solve;
mod table;
mod trouble;
mod verify;
mod workers;

pub use analyse::{AnalyseOptions, Analysis, BestLine, analyse, analyse_position};
pub use certificate::{Certificate, Certified, certificate_of};
pub use check::{CheckOptions, Checked, check, check_entry};
pub use entry::{Entry, position, read_epd, read_pgn, wrong_lists};
pub use findings::Finding;
pub use judge::{How, Judged, NODES, QUESTIONS, check_twice, complete, explain, judge};
pub use keyproof::notation::moves::Named;
pub use means::{Follow, Means, TABLE, Unfollowed};
pub use moments::{
    GameRow, MomentRow, MomentsOptions, answered, faults_of, lesson_of, make_all, moments, row_of,
};
pub use publish::{
    CourseOptions, PublishOptions, Published, judge_all, publish, publish_judged, student_page,
};
pub use row::Row;
pub use seen::{
    Indexed, SeenPosition, SeenRow, index, join_indexes, read_index, seen, seen_positions,
};
pub use solve::{
    Branch, Key, Reply, Solution, SolveOptions, Status, Why, forced, solve, solve_position,
};
pub use table::{Ending, EndingMove, EndingResult, table, table_position};
pub use trouble::Trouble;
pub use verify::{Verification, VerifiedClaim, verify};
pub use workers::{cores, in_order};
