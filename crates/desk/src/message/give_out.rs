//! What happens to what is given out, and to the preview of it.

use keyproof::course::Standard;

use super::{PictureChange, Purpose, Scope, Width};

/// A message about giving out.
#[derive(Clone, Debug)]
pub enum GiveOutMsg {
    Publish(Scope),
    /// Publishes although not everything is sound.
    PublishAllTheSame(Purpose),
    /// Saves what waits for its reasons without those still missing.
    WithoutReasons,
    /// Gives up what waits for its reasons.
    GiveUpFile,
    /// Says what several puzzles given out together are called.
    SetTitle(String),
    /// Whether files are to carry the proofs.
    WithProofs(bool),
    Preview,
    PreviewEnd,
    /// The preview is to be made anew, if nothing changed since.
    PreviewDue(u32),
    PreviewWidth(Width),
    /// A finding is pointed at or has the focus, by its place in the report.
    Point(Option<usize>),
    Template {
        purpose: Purpose,
        template: Result<String, String>,
    },
    SavePgn(Scope),
    SaveEpd(Scope),
    /// Saves a page to print, with so many diagrams on each sheet: 2, 4 or 6.
    SaveHandout(Scope, u8),
    /// Saves the same as a PDF document.
    SavePdf(Scope, u8),
    /// Has the browser print such a page.
    PrintHandout(Scope, u8),
    /// How many diagrams a page to print has.
    PerPage(u8),
    SaveCourse(Scope, Standard),
    CopyFen,
    /// About the diagram that is saved.
    Picture(PictureChange),
    /// Copies a frame that shows the student's file in a page.
    CopyFrame,
    Copied {
        text: String,
        result: Result<(), String>,
    },
    NotDownloaded {
        name: String,
        why: String,
    },
}
