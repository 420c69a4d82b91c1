//! Unanswered defence: a legal reply that the author does not list. A fault
//! when none of the author's answers at that turn meets it; a remark when one
//! does.

use shakmaty::{Move, Position};

use super::survey::Replies;
use super::words::{Site, add_line, line, numbered};
use super::{Finding, Kind, Mend, Ruling, Weight, undecided};
use model::notation::moves;
use model::puzzle::Puzzle;
use model::tongue::{phrase, say, tr};

pub fn find(puzzle: &Puzzle, replies: &Replies, found: &mut Vec<Finding>) {
    if replies.empty {
        return;
    }
    for (defence, met) in &replies.uncovered {
        match met {
            Some(Ruling::Holds { line, .. }) => {
                found.push(uncovered(puzzle, replies, *defence, line))
            }
            Some(open @ Ruling::Open { .. }) => {
                found.push(undecided::open(puzzle, replies.node, *defence, open));
            }
            // The move before it fails then, which is found there.
            Some(Ruling::Fails { .. }) | None => {}
        }
    }
    for (answer, defences) in &replies.covered {
        found.push(covered(puzzle, replies, *answer, defences));
    }
}

fn uncovered(puzzle: &Puzzle, replies: &Replies, defence: Move, mate: &[Move]) -> Finding {
    let position = puzzle.position(replies.node);
    let san = numbered(puzzle, replies.node, defence);
    let mut after = position.clone();
    after.play_unchecked(defence);
    let message = say!(
        "{move} is not answered; {line} would do.",
        move = san,
        line = line(&after, mate),
    );
    let mut shown = vec![defence];
    shown.extend(mate);
    let label = say!("Answer {move} with {reply}", move = san, reply = line(&after, &mate[..1]));
    let mends = vec![Mend {
        label,
        edits: vec![add_line(puzzle, replies.node, &shown, &[])],
    }];
    Site {
        puzzle,
        node: replies.node,
        moves: &[defence],
        line: &shown,
    }
    .finding(Kind::UnansweredDefence, Weight::Fault, message, mends)
}

fn covered(puzzle: &Puzzle, replies: &Replies, answer: Move, defences: &[Move]) -> Finding {
    let position = puzzle.position(replies.node);
    let after = |defence: Move| {
        let mut after = position.clone();
        after.play_unchecked(defence);
        after
    };
    let names: Vec<String> = defences
        .iter()
        .map(|&d| moves::shown(position, d))
        .collect();
    let first = after(defences[0]);
    let message = say!(
        match names.len() {
            1 => phrase!(
                "{moves} is not listed, and falls to {reply} as well.",
                "moves reply"
            ),
            _ => phrase!(
                "{moves} are not listed, and fall to {reply} as well.",
                "moves reply"
            ),
        },
        moves = listing(&names),
        reply = line(&first, &[answer]),
    );
    let edits = defences
        .iter()
        .filter_map(|&defence| {
            let after = after(defence);
            let reply = after
                .legal_moves()
                .into_iter()
                .find(|m| moves::uci(*m) == moves::uci(answer))?;
            Some(add_line(puzzle, replies.node, &[defence, reply], &[]))
        })
        .collect();
    let mends = vec![Mend {
        label: match names.len() {
            1 => tr("List it"),
            _ => tr("List them"),
        }
        .to_owned(),
        edits,
    }];
    let shown = [defences[0], answer];
    Site {
        puzzle,
        node: replies.node,
        moves: defences,
        line: &shown,
    }
    .finding(Kind::UnansweredDefence, Weight::Remark, message, mends)
}

/// "Kf8", "Kf8 and Kh8", "Kf8, Kh8 and 3 more".
fn listing(names: &[String]) -> String {
    match names {
        [one] => one.clone(),
        [rest @ .., last] if names.len() <= 4 => {
            say!("{list} and {last}", list = rest.join(", "), last = last)
        }
        _ => say!(
            "{list} and {n} more defences",
            list = names[..3].join(", "),
            n = (names.len() - 3).to_string(),
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::listing;
    use crate::trial::{kinds, mended, report};
    use crate::{Kind, Soundness, Weight};

    #[test]
    fn names_are_listed_as_in_a_sentence() {
        let names: Vec<String> = ["a", "b", "c", "d", "e"].map(String::from).to_vec();
        assert_eq!(listing(&names[..1]), "a");
        assert_eq!(listing(&names[..2]), "a and b");
        assert_eq!(listing(&names), "a, b, c and 2 more defences");
    }

    /// Black can put bishop or rook in the way; the rook is left out.
    const LEFT_OUT: &str = "[FEN \"6k1/5ppp/3r4/8/8/7b/R7/R5K1 w - - 0 1\"]\n[Stipulation \"#3\"]\n\n1. Ra8+ Bc8 2. Rxc8+ Rd8 3. Rxd8# *";

    #[test]
    fn a_defence_that_no_listed_answer_meets_is_a_fault() {
        let report = report(LEFT_OUT);
        assert_eq!(kinds(&report), [Kind::UnansweredDefence]);
        let finding = &report.findings[0];
        assert_eq!(
            (finding.weight, report.verdict),
            (Weight::Fault, Soundness::Unsound)
        );
        assert_eq!(finding.path, ["a2a8"]);
        assert_eq!(finding.moves, ["d6d8"]);
        let after = mended(LEFT_OUT, Kind::UnansweredDefence, 0);
        assert_eq!(after.verdict, Soundness::Sound);
    }

    /// After 1.Kg6 the rook mates on b8 whatever Black does.
    const SAME_ANSWER: &str = "[FEN \"7k/p7/5K2/8/8/8/8/1R6 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Kg6 (1. Kf7 $1 Kh7 2. Rh1#) 1... Kg8 2. Rb8# *";

    #[test]
    fn defences_that_fall_to_a_listed_answer_are_a_remark() {
        let report = report(SAME_ANSWER);
        assert_eq!(
            kinds(&report),
            [Kind::UnansweredDefence, Kind::UnansweredDefence]
        );
        assert!(report.findings.iter().all(|f| f.weight == Weight::Remark));
        assert_eq!(
            report.findings[0].message,
            "a6 and a5 are not listed, and fall to 2.Rb8# as well."
        );
        assert_eq!(report.verdict, Soundness::Sound);
        let after = mended(SAME_ANSWER, Kind::UnansweredDefence, 0);
        assert_eq!(kinds(&after), [Kind::UnansweredDefence]);
    }

    #[test]
    fn up_to_four_names_are_listed_and_of_more_three() {
        let names: Vec<String> = ["a", "b", "c", "d", "e"].map(String::from).to_vec();
        assert_eq!(listing(&names[..3]), "a, b and c");
        assert_eq!(listing(&names[..4]), "a, b, c and d");
    }
}
