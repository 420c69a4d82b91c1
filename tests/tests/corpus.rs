//! Every puzzle of the corpus gets exactly the verdict and the findings that
//! its tags name, and every mend that is offered does what it says.

use std::collections::BTreeMap;

use keyproof::check::{Finding, Weight};
use keyproof::draft::Draft;
use keyproof::notation::{moves, pgn_write};
use keyproof_tests::{
    check, games, kinds, parse, pgn_files, snake_case, summaries, summary, title,
};
use shakmaty::Position;

/// The kinds that no puzzle shows by itself: a budget too small, and a prover that errs.
const OF_NO_PUZZLE: [&str; 2] = ["undecided", "disagreement"];

fn corpus() -> Vec<Draft> {
    pgn_files("tests/corpus")
        .iter()
        .flat_map(|f| games(f))
        .collect()
}

/// The findings that the tags ask for, sorted.
fn expected(draft: &Draft) -> Vec<String> {
    let text = draft.tag("Findings").expect("a tag Findings");
    let mut wanted: Vec<String> = text
        .split(';')
        .map(|part| part.trim().to_owned())
        .filter(|part| !part.is_empty())
        .collect();
    wanted.sort();
    wanted
}

#[test]
fn every_puzzle_gets_its_verdict_and_its_findings() {
    let mut wrong = Vec::new();
    for draft in corpus() {
        let report = check(&draft);
        let wanted = (
            draft.tag("Verdict").expect("a tag Verdict").to_owned(),
            expected(&draft),
        );
        let found = (snake_case(&report.verdict), summaries(&report));
        if wanted != found {
            wrong.push(format!(
                "{}:\n  wanted {wanted:?}\n  found  {found:?}",
                title(&draft)
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_kind_has_at_least_two_puzzles_without_another_fault() {
    let mut alone: BTreeMap<String, usize> = BTreeMap::new();
    for draft in corpus() {
        let wanted = expected(&draft);
        let mut kinds: Vec<&str> = wanted.iter().filter_map(|f| f.split(' ').nth(1)).collect();
        kinds.dedup();
        if let [kind] = kinds.as_slice() {
            *alone.entry(kind.to_string()).or_default() += 1;
        }
    }
    let mut few = kinds();
    few.retain(|kind| alone.get(kind).is_none_or(|&n| n < 2));
    few.retain(|kind| !OF_NO_PUZZLE.contains(&kind.as_str()));
    assert!(
        few.is_empty(),
        "tests/corpus has fewer than two puzzles with nothing but {few:?}"
    );
}

#[test]
fn the_demo_lesson_is_sound() {
    let lesson: Vec<Draft> = pgn_files("puzzles").iter().flat_map(|f| games(f)).collect();
    assert!(lesson.len() >= 8, "{} puzzles", lesson.len());
    for draft in &lesson {
        let report = check(draft);
        assert_eq!(
            snake_case(&report.verdict),
            "sound",
            "{}: {:?}",
            title(draft),
            report.findings
        );
        let faults = report
            .findings
            .iter()
            .filter(|f| f.weight != Weight::Remark);
        assert_eq!(faults.count(), 0, "{}", title(draft));
    }
}

#[test]
fn the_demo_lesson_stands_in_export_format() {
    for file in pgn_files("puzzles") {
        let text = std::fs::read_to_string(&file).expect("a readable file");
        let written: String = games(&file).iter().map(pgn_write::write).collect();
        for (line, (stands, wanted)) in text.lines().zip(written.lines()).enumerate() {
            assert_eq!(stands, wanted, "{}, line {}", file.display(), line + 1);
        }
        assert_eq!(text.len(), written.len(), "{}", file.display());
        assert!(
            text.lines().all(|line| line.chars().count() < 80),
            "{}",
            file.display()
        );
    }
}

#[test]
fn every_finding_says_where_it_stands_and_shows_it() {
    for draft in corpus() {
        let report = check(&draft);
        let resolution = draft.resolve();
        for finding in &report.findings {
            let place = format!("{}: {}", title(&draft), summary(finding));
            assert!(
                finding.message.ends_with(['.', '?', '!']),
                "{place}: {}",
                finding.message
            );
            if let Some(start) = resolution.position(finding.node) {
                assert_eq!(path_of(&draft, finding), finding.path, "{place}");
                let mut position = start.clone();
                for uci in &finding.line {
                    let mv = moves::read(&position, uci)
                        .unwrap_or_else(|e| panic!("{place}: {uci}: {e:?}"));
                    position.play_unchecked(mv);
                }
                if let [first, ..] = finding.line.as_slice()
                    && !finding.moves.is_empty()
                {
                    assert!(finding.moves.contains(first), "{place}: {:?}", finding.line);
                }
            }
        }
    }
}

/// The moves to a finding's node, looked up in the draft.
fn path_of(draft: &Draft, finding: &Finding) -> Vec<String> {
    let resolution = draft.resolve();
    let mut path = Vec::new();
    let mut at = finding.node;
    while at != keyproof::draft::NodeId::ROOT {
        let step = resolution.steps[at.0 as usize]
            .as_ref()
            .expect("a legal path");
        path.push(moves::uci(step.mv));
        at = draft.node(at).expect("a node of the draft").parent;
    }
    path.reverse();
    path
}

/// Applying any mend removes its finding, also after the puzzle went through
/// its file, and no mend loses the rest of what the author typed.
#[test]
fn every_mend_removes_its_finding() {
    let mut mends = 0;
    for draft in corpus() {
        for finding in &check(&draft).findings {
            for mend in &finding.mends {
                let mut mended = draft.clone();
                for edit in &mend.edits {
                    mended
                        .apply(edit)
                        .unwrap_or_else(|e| panic!("{}: {}: {e:?}", title(&draft), mend.label));
                }
                let place = format!("{}: {}: {}", title(&draft), summary(finding), mend.label);
                assert!(mended != draft, "{place}: nothing changed");
                assert!(
                    !summaries(&check(&mended)).contains(&summary(finding)),
                    "{place}"
                );
                let again = parse(&pgn_write::write(&mended), &place);
                assert_eq!(again.len(), 1, "{place}");
                assert!(again[0] == mended, "{place}: the file holds another puzzle");
                mends += 1;
            }
        }
    }
    assert!(mends >= 30, "only {mends} mends were tried");
}

/// Every puzzle can be mended to a sound one by taking the first mend of the
/// first fault, again and again; those without a mend or without a solution
/// stay as they are.
#[test]
fn taking_first_mends_comes_to_an_end() {
    for draft in corpus() {
        let mut mended = draft.clone();
        let mut steps = 0;
        loop {
            let report = check(&mended);
            let fault = report.findings.iter().find(|f| f.weight == Weight::Fault);
            let Some(mend) = fault.and_then(|f| f.mends.first()) else {
                break;
            };
            for edit in &mend.edits {
                mended.apply(edit).expect("an edit that can be made");
            }
            steps += 1;
            assert!(
                steps < 20,
                "{}: {}",
                title(&draft),
                pgn_write::write(&mended)
            );
        }
    }
}
