//! Sizes and times, for a person to read.

use crate::pages;
use crate::shell::Done;

/// Prints the sizes of everything that is handed out.
pub fn run() -> Done {
    pages::build_all()
}
