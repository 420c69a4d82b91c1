//! Games that the search plays against itself, as material to learn from.
//!
//! Learning from them is left to `train.py`; `cargo xtask train` runs both.

pub mod opening;
pub mod record;
