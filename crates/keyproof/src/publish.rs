//! The student's file: one page, self-contained, with the puzzles as readable
//! text and what was proved about them.

use crate::check::Known;
use crate::draft::Draft;

/// One puzzle to publish with what is known of it.
pub struct Item<'a> {
    pub draft: &'a Draft,
    pub known: &'a Known,
}

/// Fills the student's page. `template` is the built page of the widget
/// crate, which holds the marks `<!--keyproof:title-->`,
/// `<!--keyproof:lesson-->` and `<!--keyproof:answers-->` once each. The lesson
/// is written as escaped text: nothing an author typed becomes markup.
///
/// # Errors
/// Names the mark that the template lacks.
pub fn student_page(_template: &str, _title: &str, _language: &str, _items: &[Item]) -> Result<String, String> {
    todo!()
}

/// What was proved about the tree's own positions, as compact text for the
/// published file; read back by [`read_answers`].
pub fn write_answers(_items: &[Item]) -> String {
    todo!()
}

/// Reads answers back, one [`Known`] per puzzle, in order. Lines that do not
/// parse are left out: the session then proves them itself.
pub fn read_answers(_text: &str, _puzzles: &[crate::puzzle::Puzzle]) -> Vec<Known> {
    todo!()
}
