//! What a verdict rests on, in words: proof, table or search. What is searched
//! is never called proved.

use keyproof::check::{Chance, Evidence, Goal, Known, Ruling};
use keyproof::draft::NodeId;
use keyproof::puzzle::{Puzzle, Stipulation};
use keyproof::tongue::{decimal, say, tr};
use shakmaty::Position;

/// The weakest evidence behind what is known of a puzzle, in words: "proved",
/// or "searched to depth 8 or more, right from +2.00, wrong below +1.00". Nothing is
/// called just proved that was not checked `twice`.
pub fn words(puzzle: &Puzzle, known: &Known, twice: bool) -> String {
    match weakest(puzzle, known) {
        Evidence::Drawn if puzzle.stipulation() == Stipulation::Draw => match twice {
            true => tr("proved, a draw by force").into(),
            false => tr("proved by one program, a draw by force").into(),
        },
        Evidence::Proved | Evidence::Drawn => proved(twice).into(),
        Evidence::Table => tr("by endgame table").into(),
        Evidence::Searched { depth, .. } => {
            let margins = puzzle.margins();
            let pawns = |hundredths: i32| f64::from(hundredths) / 100.0;
            let (right, wrong) = (pawns(margins.right), pawns(margins.wrong));
            match puzzle.stipulation() {
                Stipulation::Best => say!(
                    "searched to depth {depth} or more, right within {right} of the best, wrong beyond {wrong}",
                    depth = depth.to_string(),
                    right = decimal(&format!("{:.2}", -right)),
                    wrong = decimal(&format!("{:.2}", -wrong)),
                ),
                _ => say!(
                    "searched to depth {depth} or more, right from {right}, wrong below {wrong}",
                    depth = depth.to_string(),
                    right = decimal(&format!("{right:+.2}")),
                    wrong = decimal(&format!("{wrong:+.2}")),
                ),
            }
        }
    }
}

/// As [`words`], for all the puzzles of a lesson.
pub fn words_of_all(puzzles: &[&Puzzle], known: &Known, twice: bool) -> String {
    if let [puzzle] = puzzles {
        return words(puzzle, known, twice);
    }
    let grades = puzzles.iter().map(|puzzle| weakest(puzzle, known));
    let grades: Vec<Evidence> = grades.collect();
    let searched = grades.iter().filter_map(|grade| match grade {
        Evidence::Searched { depth, .. } => Some(*depth),
        _ => None,
    });
    let count = searched.clone().count();
    match searched.min() {
        Some(depth) if count == grades.len() => say!(
            "searched to depth {depth} or more",
            depth = depth.to_string(),
        ),
        Some(depth) => say!(
            "in part proved, in part searched to depth {depth} or more",
            depth = depth.to_string(),
        ),
        None if grades.contains(&Evidence::Table) => tr("proved or by endgame table").into(),
        None => proved(twice).into(),
    }
}

fn proved(twice: bool) -> &'static str {
    match twice {
        true => tr("proved"),
        false => tr("proved by one program"),
    }
}

/// How often rulings like the least certain of these are wrong; `None` where nothing
/// is searched, or that was not measured.
pub fn chance(puzzles: &[&Puzzle], known: &Known) -> Option<Chance> {
    let mut most = Some(Chance(0));
    for puzzle in puzzles {
        most = over_rulings(puzzle, known, most, |most, ruling| {
            match ruling.evidence() {
                Some(Evidence::Searched { chance, .. }) if !ruling.is_open() => {
                    most.max(chance).filter(|_| chance.is_some())
                }
                _ => most,
            }
        });
    }
    most.filter(|chance| chance.0 > 0)
}

fn weakest(puzzle: &Puzzle, known: &Known) -> Evidence {
    over_rulings(puzzle, known, Evidence::Proved, weaker)
}

/// Goes over all that is known of a puzzle that is not proved from end to end.
fn over_rulings<T>(puzzle: &Puzzle, known: &Known, start: T, with: fn(T, &Ruling) -> T) -> T {
    let goal = Goal::of(puzzle);
    if goal.moves_left().is_some() {
        return start;
    }
    let mut so_far = start;
    let mut nodes = vec![NodeId::ROOT];
    while let Some(node) = nodes.pop() {
        nodes.extend(puzzle.children(node));
        let position = puzzle.position(node);
        if position.turn() == puzzle.solver() {
            let rulings = known.rulings(position, goal).iter().map(|(_, r)| r);
            so_far = rulings.fold(so_far, with);
            continue;
        }
        for reply in position.legal_moves() {
            let mut after = position.clone();
            after.play_unchecked(reply);
            let rulings = known.rulings(&after, goal).iter().map(|(_, r)| r);
            so_far = rulings.chain(known.any(&after, goal)).fold(so_far, with);
        }
    }
    so_far
}

/// The weaker of the evidence so far and that of a ruling.
fn weaker(so_far: Evidence, ruling: &Ruling) -> Evidence {
    let strength = |evidence: &Evidence| match evidence {
        Evidence::Proved => (3, 0),
        Evidence::Drawn => (2, 0),
        Evidence::Table => (1, 0),
        Evidence::Searched { depth, .. } => (0, *depth),
    };
    match ruling.evidence() {
        Some(other) if strength(&other) < strength(&so_far) => other,
        _ => so_far,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use keyproof::notation::{moves, pgn_read};
    use keyproof::resolved::Resolved;

    fn puzzle(pgn: &str) -> Puzzle {
        let draft = pgn_read::read(pgn).remove(0).draft;
        Resolved::of(&draft).into_puzzle().unwrap()
    }

    fn learn(known: &mut Known, puzzle: &Puzzle, san: &str, evidence: Evidence) {
        let position = puzzle.start();
        let mv = moves::read(position, san).unwrap();
        let ruling = Ruling::Fails {
            line: vec![mv],
            evidence,
        };
        known.learn_move(position, Goal::of(puzzle), mv, ruling);
    }

    #[test]
    fn one_search_among_proofs_makes_it_a_search() {
        let puzzle = puzzle("[Stipulation \"+\"]\n\n1. e4 *\n");
        let mut known = Known::default();
        learn(&mut known, &puzzle, "d4", Evidence::Proved);
        assert_eq!(words(&puzzle, &known, true), "proved");
        assert_eq!(words(&puzzle, &known, false), "proved by one program");
        for (san, depth) in [("e4", 9), ("c4", 6), ("b4", 7)] {
            learn(&mut known, &puzzle, san, Evidence::searched(depth));
        }
        assert_eq!(
            words(&puzzle, &known, false),
            "searched to depth 6 or more, right from +2.00, wrong below +1.00"
        );
        assert_eq!(chance(&[&puzzle], &known), None);
    }

    #[test]
    fn the_least_certain_ruling_says_how_often_such_are_wrong() {
        let puzzle = puzzle("[Stipulation \"+\"]\n\n1. e4 *\n");
        let mut known = Known::default();
        for (san, likely) in [("e4", 12), ("c4", 31), ("b4", 7)] {
            let evidence = Evidence::Searched {
                depth: 9,
                value: None,
                spent: 50_000,
                changes: 1,
                chance: Some(Chance(likely)),
            };
            learn(&mut known, &puzzle, san, evidence);
        }
        assert_eq!(chance(&[&puzzle], &known), Some(Chance(31)));
        learn(&mut known, &puzzle, "d4", Evidence::searched(9));
        assert_eq!(chance(&[&puzzle], &known), None);
    }
}
