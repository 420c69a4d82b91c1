//! Pieces of work to measure, the same natively and in wasm. Each is a line of
//! text, so that another process, or another language, can be given the very
//! same; choosing the work and comparing what comes out is left to the program
//! of this crate.

mod tasks;
#[cfg(target_arch = "wasm32")]
mod wasm;

pub use tasks::{Host, Made, Outcome, TABLE, Tasks};
