//! Checks texts from start to end, for the tests of the kinds.

use super::{Judge, Kind, Known, Report, check};
use model::draft::Draft;
use model::pgn_read;
use prove::Unwatched;

pub fn draft(text: &str) -> Draft {
    let mut games = pgn_read::read(text);
    assert_eq!(games.len(), 1, "{text}");
    let game = games.remove(0);
    assert!(game.faults.is_empty(), "{:?}", game.faults);
    game.draft
}

pub fn report(text: &str) -> Report {
    check_draft(&draft(text))
}

pub fn kinds(report: &Report) -> Vec<Kind> {
    report.findings.iter().map(|f| f.kind).collect()
}

/// The report after one mend of the first finding of a kind is applied.
pub fn mended(text: &str, kind: Kind, which: usize) -> Report {
    let mut draft = draft(text);
    let before = check_draft(&draft);
    let finding = before
        .findings
        .iter()
        .find(|f| f.kind == kind)
        .expect("a finding of that kind");
    for edit in &finding.mends[which].edits {
        draft.apply(edit).expect("an edit that can be made");
    }
    check_draft(&draft)
}

pub fn with_tag(text: &str, name: &str, value: &str) -> String {
    format!("[{name} \"{value}\"]\n{text}")
}

fn check_draft(draft: &Draft) -> Report {
    check(
        draft,
        &mut Known::default(),
        &mut Judge::new(crate::TABLE_BYTES),
        &mut Unwatched,
    )
}
