//! Endgame tables that the author opens from files of his own: what the desk
//! knows of them. The workers read in them.

use keyproof::tables::{FileFault, FileFaultKind};
use keyproof::tongue::say;
use serde::{Deserialize, Serialize};

/// What a worker found in the files.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Endings {
    /// Files that can be used.
    pub files: usize,
    /// The most men that one of them is for.
    pub men: usize,
    pub faults: Vec<FileFault>,
}

/// Something about these files.
#[derive(Clone, Debug)]
pub enum Event {
    /// The author chose files, or none any more: the workers are to have them.
    Chosen,
    Opened(Endings),
}

/// What is wrong with a file, in a sentence.
pub fn sentence(fault: &FileFault) -> String {
    let file = &fault.file;
    match &fault.kind {
        FileFaultKind::Missing => say!(
            "{file} is missing: its endings are searched, not looked up.",
            file = file,
        ),
        FileFaultKind::Length => say!(
            "{file} has not the length of a table: it may have been cut short.",
            file = file,
        ),
        FileFaultKind::Foreign => say!("{file} is no Syzygy file.", file = file),
        FileFaultKind::Damaged => say!("{file} is damaged.", file = file),
        FileFaultKind::Unreadable(why) => {
            say!("{file} cannot be read ({why}).", file = file, why = why)
        }
    }
}
