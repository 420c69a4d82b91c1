//! What the test suites share: reading puzzle files, running the checker on
//! them, and comparing what it found.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use keyproof::check::{self, Finding, Judge, Kind, Known, Report};
use keyproof::draft::Draft;
use keyproof::notation::pgn_read;
use keyproof::prove::Unwatched;

pub mod browser;
pub mod hostile;
pub mod reference;

/// Positions in which draws are held by force: perpetual checks by a queen, a bishop (the
/// Pirc Defence, 11.Nxd8, from memory) and a knight, stalemates, and men that are too few.
pub const DRAWS: [&str; 9] = [
    "6k1/6p1/8/7Q/8/8/qr6/7K w - - 0 1",
    "rn1Nk2r/pp2p2p/3p2p1/1bp5/3b1Pn1/2N5/PPP3PP/R1BQK2R b KQkq - 0 11",
    "r6k/6pp/8/6N1/2Q5/8/rq4PP/7K w - - 0 1",
    "7k/5Q2/8/8/8/1q6/8/K7 w - - 0 1",
    "8/5k1P/8/4K3/8/8/8/8 w - - 0 1",
    "7k/8/8/8/8/8/1p6/K7 w - - 0 1",
    "8/8/8/8/8/5k2/R6p/7K w - - 0 1",
    "5rk1/5pp1/8/6N1/8/8/q5PP/r6K w - - 0 1",
    "k7/2Q5/1K6/8/8/8/8/7q w - - 0 1",
];

/// The top folder of the project.
pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .parent()
        .expect("the tests lie in a folder of the project")
}

/// All PGN files of a folder of the project, in order of their names.
pub fn pgn_files(folder: &str) -> Vec<PathBuf> {
    let dir = root().join(folder);
    let entries = std::fs::read_dir(&dir).unwrap_or_else(|e| panic!("{}: {e}", dir.display()));
    let mut files: Vec<PathBuf> = entries
        .map(|entry| entry.expect("a readable folder").path())
        .filter(|path| path.extension().is_some_and(|e| e == "pgn"))
        .collect();
    files.sort();
    assert!(!files.is_empty(), "no PGN in {}", dir.display());
    files
}

/// The games of a PGN file, which must be free of faults of notation.
pub fn games(path: &Path) -> Vec<Draft> {
    let bytes = std::fs::read(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    parse(&pgn_read::decode(&bytes), &path.display().to_string())
}

/// The games of a PGN text, which must be free of faults of notation.
pub fn parse(text: &str, source: &str) -> Vec<Draft> {
    pgn_read::read(text)
        .into_iter()
        .map(|game| {
            assert!(game.faults.is_empty(), "{source}: {:?}", game.faults);
            game.draft
        })
        .collect()
}

/// Checks a draft from nothing, without a budget.
pub fn check(draft: &Draft) -> Report {
    check::check(
        draft,
        &mut Known::default(),
        &mut Judge::new(16 << 20),
        &mut Unwatched,
    )
}

/// The title of a draft, to name it in messages.
pub fn title(draft: &Draft) -> &str {
    draft.tag("Event").unwrap_or("a puzzle without a title")
}

/// A finding as `weight kind path moves`, moves sorted: the form of the
/// corpus.
pub fn summary(finding: &Finding) -> String {
    let join = |moves: &[String], by: &str| match moves {
        [] => "-".to_owned(),
        moves => moves.join(by),
    };
    let mut moves = finding.moves.clone();
    moves.sort();
    format!(
        "{} {} {} {}",
        snake_case(&finding.weight),
        snake_case(&finding.kind),
        join(&finding.path, "."),
        join(&moves, ",")
    )
}

/// All findings of a report in the form of the corpus, sorted.
pub fn summaries(report: &Report) -> Vec<String> {
    let mut found: Vec<String> = report.findings.iter().map(summary).collect();
    found.sort();
    found
}

/// The names of all kinds of finding.
pub fn kinds() -> BTreeSet<String> {
    // The names in the message are those of all variants.
    let refused = serde_json::from_str::<Kind>("\"?\"").expect_err("no such finding");
    let message = refused.to_string();
    let names = message.split('`').skip(3).step_by(2);
    let kinds: BTreeSet<String> = names.map(str::to_owned).collect();
    assert!(kinds.len() > 10, "{message}");
    kinds
}

/// The name of a unit variant in snake case, as the command line prints it.
pub fn snake_case(value: &impl serde::Serialize) -> String {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(name)) => name,
        other => panic!("not a name: {other:?}"),
    }
}
