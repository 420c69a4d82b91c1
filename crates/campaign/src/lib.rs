//! Campaigns: long comparisons of the prover with what shares no code with
//! it, on positions drawn by strata. `cargo xtask campaign prover` runs one
//! natively, on all cores, and goes on where it was stopped; a small part of
//! it is a test of this crate.
//!
//! `strata` draws the positions, `brute` tries every move to the end, and
//! `compare` holds the prover against it; `cells` says what is asked how often,
//! and `run` does it. `gains` does the same for gains of material and `draws` for draws by
//! force, each with a brute force of its own; `by_lines` keeps what they have done. `outside`
//! prints what another library is to judge.

pub mod brute;
pub mod by_lines;
pub mod cells;
pub mod compare;
pub mod draws;
pub mod gains;
pub mod outside;
pub mod run;
pub mod strata;
