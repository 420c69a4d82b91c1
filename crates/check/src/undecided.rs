//! Undecided: a move that lies between the author's margins, or that could not
//! be judged within the budget. After the first move, and of moves to choose from, only
//! listed ones count, unless the author asks for uniqueness at every move.

use shakmaty::{Move, Position};

use super::survey::Turn;
use super::words::{Site, numbered};
use super::{Evidence, Finding, Goal, Kind, Mend, Ruling, Weight};
use model::draft::{Edit, NodeId};
use model::puzzle::{Puzzle, Role, Stipulation};
use model::tongue::{Phrase, decimal, holes, marked, phrase, say, thousands};
use play::goal::met;

pub fn find(puzzle: &Puzzle, turn: &Turn, found: &mut Vec<Finding>) {
    let claimed = |mv| puzzle.child(turn.node, mv).is_some();
    let all = super::counts_unlisted(puzzle, turn.node);
    for (mv, ruling) in &turn.rulings {
        if let Some(ruling @ Ruling::Open { .. }) = ruling
            && (all || claimed(*mv))
        {
            let mut finding = open(puzzle, turn.node, *mv, ruling);
            if is_talked_of(puzzle, turn.node, *mv) {
                finding.weight = Weight::Remark;
            } else if let Some(Evidence::Searched {
                value: Some(value), ..
            }) = ruling.evidence()
            {
                finding.mends.extend(margins(puzzle, turn.node, *mv, value));
            }
            found.push(finding);
        }
    }
}

/// Whether the author leaves a move between right and wrong, with words about
/// it for the student.
pub fn is_talked_of(puzzle: &Puzzle, node: NodeId, mv: Move) -> bool {
    let node = puzzle.child(node, mv).map(|child| puzzle.node(child));
    node.is_some_and(|n| n.role == Role::Unclear && !n.words.is_empty())
}

/// A move that could not be decided.
pub fn open(puzzle: &Puzzle, node: NodeId, mv: Move, ruling: &Ruling) -> Finding {
    let san = numbered(puzzle, node, mv);
    let nodes = match ruling {
        Ruling::Open { nodes, .. } => *nodes,
        _ => 0,
    };
    let solving = puzzle.position(node).turn() == puzzle.solver();
    let (text, value, depth) = why(puzzle, ruling, solving);
    let listed = puzzle.child(node, mv);
    let accepted = |child| puzzle.accepted(node).any(|c| c == child);
    let goal = Goal::of(puzzle);
    let does = match listed.is_some_and(accepted) {
        true => goal.missed(),
        false => met(goal, None),
    };
    let message = say!(
        text,
        move = san.as_str(),
        value = value,
        depth = depth.to_string(),
        n = thousands(nodes),
        does = does,
    );
    let mends = match ruling.evidence().is_some() && solving {
        true => mends(puzzle, node, mv, &san),
        false => Vec::new(),
    };
    let line = if ruling.line().is_empty() {
        &[mv][..]
    } else {
        ruling.line()
    };
    let site = Site {
        puzzle,
        node,
        moves: &[mv],
        line,
    };
    site.finding(Kind::Undecided, Weight::Open, message, mends)
}

/// What is said of a move that could not be decided, with the value and the depth that
/// go into it.
fn why(puzzle: &Puzzle, ruling: &Ruling, solving: bool) -> (Why, String, u8) {
    let best = puzzle.stipulation() == Stipulation::Best;
    match ruling.evidence() {
        Some(Evidence::Searched {
            depth,
            chance: Some(chance),
            ..
        }) => (
            if solving {
                phrase!(
                    "{move} is undecided: by a search to depth {depth} it {does}, but {value} % of such searches are wrong.",
                    "move value depth n does"
                )
            } else {
                phrase!(
                    "{move} is undecided: a search to depth {depth} finds an answer to it, but {value} % of such searches are wrong.",
                    "move value depth n does"
                )
            },
            decimal(&chance.percent()),
            depth,
        ),
        Some(Evidence::Searched {
            depth,
            value: Some(value),
            ..
        }) if best => (
            phrase!(
                "{move} is undecided: searched to depth {depth}, it is {value} worse than the best move, between the margins.",
                "move value depth n does"
            ),
            decimal(&format!("{:.2}", pawns(-value))),
            depth,
        ),
        Some(Evidence::Searched {
            depth,
            value: Some(value),
            ..
        }) => (
            phrase!(
                "{move} is undecided: searched to depth {depth}, its value {value} lies between the margins.",
                "move value depth n does"
            ),
            decimal(&format!("{:+.2}", pawns(value))),
            depth,
        ),
        Some(Evidence::Searched {
            depth, value: None, ..
        }) => (
            phrase!(
                "{move} is undecided: searched to depth {depth}, it lies between the margins.",
                "move value depth n does"
            ),
            String::new(),
            depth,
        ),
        Some(Evidence::Table | Evidence::Proved | Evidence::Drawn) => (
            phrase!(
                "{move} is undecided: it is a draw by endgame table, between the margins.",
                "move value depth n does"
            ),
            String::new(),
            0,
        ),
        None => (
            phrase!(
                "{move} is undecided after {n} positions.",
                "move value depth n does"
            ),
            String::new(),
            0,
        ),
    }
}

type Why = Phrase<{ holes::set("move value depth n does") }>;

/// What may be done about it: the move is accepted, or the student told that it is
/// neither right nor wrong.
fn mends(puzzle: &Puzzle, node: NodeId, mv: Move, san: &str) -> Vec<Mend> {
    let listed = puzzle.child(node, mv);
    let mut mends = Vec::new();
    let sans = || super::words::sans(puzzle.position(node), &[mv]);
    if listed.is_none() {
        mends.push(Mend {
            label: say!("Accept {move} as well", move = san),
            edits: vec![Edit::AddLine {
                at: node,
                moves: sans(),
                nags: vec![1],
            }],
        });
    }
    if listed.is_none_or(|c| puzzle.node(c).role == Role::Unclear) {
        mends.push(Mend {
            label: say!("Tell the student that {move} is neither", move = san),
            edits: vec![Edit::AddWords {
                at: node,
                mv: sans().remove(0),
                comments: vec![NEITHER.to_owned()],
            }],
        });
    }
    mends
}

/// What the student is told of a move that is left between right and wrong,
/// until the author finds better words.
const NEITHER: &str = phrase("Playable, but not what is asked for.");

/// Says in the tongue that is spoken what mends would tell students; the words are
/// kept in English till then.
pub fn say_to_students(findings: &mut [Finding]) {
    let mends = findings.iter_mut().flat_map(|finding| &mut finding.mends);
    for edit in mends.flat_map(|mend| &mut mend.edits) {
        if let Edit::AddWords { comments, .. } = edit {
            for words in comments {
                *words = marked(words).to_owned();
            }
        }
    }
}

/// Ways to move a margin so that a move of this value is decided: right if the
/// author accepts it, else right or wrong.
fn margins(puzzle: &Puzzle, node: NodeId, mv: Move, value: i32) -> Vec<Mend> {
    let now = puzzle.margins();
    let role = puzzle.child(node, mv).map(|c| puzzle.node(c).role);
    let accepted = matches!(role, Some(Role::Key | Role::Continuation));
    let set = |label: String, right: i32, wrong: i32| Mend {
        label,
        edits: vec![Edit::SetTag {
            name: "Margins".to_owned(),
            value: Some(format!("{:.2} {:.2}", pawns(right), pawns(wrong))),
        }],
    };
    let san = numbered(puzzle, node, mv);
    // Round steps with a little room, since the next search may differ.
    let below = (value - ROOM).div_euclid(STEP) * STEP;
    let above = -((-value - ROOM).div_euclid(STEP) * STEP);
    let mut mends = Vec::new();
    if accepted {
        let label = say!(
            "Count {move} as right: from {value} on",
            move = san,
            value = decimal(&format!("{:+.2}", pawns(below))),
        );
        mends.push(set(label, below, now.wrong.min(below)));
    } else if role.is_none() || role == Some(Role::Try) {
        let label = say!(
            "Count {move} as wrong: below {value}",
            move = san,
            value = decimal(&format!("{:+.2}", pawns(above))),
        );
        mends.push(set(label, now.right.max(above), above));
    }
    mends
}

/// Margins are offered in steps of so many hundredths, at least `ROOM` away
/// from the value found.
const STEP: i32 = 25;
const ROOM: i32 = 20;

fn pawns(hundredths: i32) -> f64 {
    f64::from(hundredths) / 100.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{draft, kinds, report};
    use crate::{Judge, Known, Soundness, check};
    use model::resolved::Resolved;
    use prove::Unwatched;

    #[test]
    fn a_budget_that_is_spent_leaves_the_puzzle_undecided() {
        let draft = draft(
            "[FEN \"r1b2rk1/pp3ppp/2n1p3/3q4/3P4/2PB1N2/P4PPP/R2Q1RK1 w - - 0 1\"]\n[Stipulation \"#4\"]\n\n1. Bxh7+ *",
        );
        let mut judge = Judge::new(1 << 20);
        judge.set_budget(Some(1));
        let report = check(&draft, &mut Known::default(), &mut judge, &mut Unwatched);
        let kinds = kinds(&report);
        assert!(kinds.contains(&Kind::Undecided));
        assert!(!kinds.contains(&Kind::NoSolution) && !kinds.contains(&Kind::Cook));
        assert_ne!(report.verdict, Soundness::Sound);
    }

    /// White is a pawn up in a rook ending, and the margins are far apart.
    const BETWEEN: &str = "[FEN \"r5k1/5ppp/8/8/8/8/P4PPP/R5K1 w - - 0 1\"]\n[Stipulation \"+\"]\n[Margins \"60.00 -60.00\"]\n\n1. h3 *";

    #[test]
    fn a_move_between_the_margins_can_be_decided_in_every_way() {
        let found = report(BETWEEN);
        assert_eq!(found.verdict, Soundness::Undecided);
        let of = |mv: &str| {
            let all = &mut found.findings.iter();
            all.find(|f| f.moves == [mv]).expect("a finding").clone()
        };
        let key = of("h2h3");
        assert!(key.message.contains("lies between the margins"));
        assert_eq!(key.mends.len(), 1, "{:?}", key.mends);
        assert!(key.mends[0].label.starts_with("Count 1.h3 as right: from"));
        let other = of("g2g3");
        let labels: Vec<&str> = other.mends.iter().map(|m| m.label.as_str()).collect();
        assert_eq!(labels[0], "Accept 1.g3 as well");
        assert_eq!(labels[1], "Tell the student that 1.g3 is neither");
        assert!(labels[2].starts_with("Count 1.g3 as wrong: below"));
        let after = |mend: &Mend| {
            let mut draft = draft(BETWEEN);
            for edit in &mend.edits {
                draft.apply(edit).expect("an edit that can be made");
            }
            check(
                &draft,
                &mut Known::default(),
                &mut Judge::new(1 << 20),
                &mut Unwatched,
            )
        };
        for (mend, mv) in [(&key.mends[0], "h2h3"), (&other.mends[2], "g2g3")] {
            let open = after(mend).findings;
            let mut open = open.iter().filter(|f| f.kind == Kind::Undecided);
            assert!(!open.any(|f| f.moves == [mv]), "{}", mend.label);
        }
        let told = after(&other.mends[1]);
        let finding = told.findings.iter().find(|f| f.moves == ["g2g3"]).unwrap();
        assert_eq!(
            (finding.kind, finding.weight),
            (Kind::Undecided, Weight::Remark)
        );
        assert!(!crate::trial::kinds(&told).contains(&Kind::AmbiguousVariation));
    }

    #[test]
    fn what_was_spent_is_told_with_its_thousands_set_apart() {
        let draft =
            draft("[FEN \"7k/8/8/8/8/8/R7/1R2K3 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Ra7 *");
        let puzzle = Resolved::of(&draft).into_puzzle().unwrap();
        let mv = puzzle.node(draft.walk()[0]).mv;
        let spent = Ruling::Open {
            line: vec![],
            nodes: 20_000_000,
            evidence: None,
        };
        let finding = open(&puzzle, NodeId::ROOT, mv, &spent);
        assert_eq!(
            finding.message,
            "1.Ra7 is undecided after 20,000,000 positions."
        );
    }

    #[test]
    fn a_move_is_talked_of_only_with_words_and_between_right_and_wrong() {
        let draft = draft(
            "[FEN \"r5k1/5ppp/8/8/8/8/P4PPP/R5K1 w - - 0 1\"]\n[Stipulation \"+\"]\n\n1. h3 {The key.} (1. g3 $2 {A try.}) (1. f3 $5 {Neither.}) (1. h4 $5) *",
        );
        let puzzle = Resolved::of(&draft).into_puzzle().unwrap();
        let talked = |san: &str| {
            let mv = model::notation::moves::read(puzzle.position(NodeId::ROOT), san).unwrap();
            is_talked_of(&puzzle, NodeId::ROOT, mv)
        };
        assert_eq!(
            ["h3", "g3", "f3", "h4", "a3"].map(talked),
            [false, false, true, false, false]
        );
    }

    /// A key, a try and a move that is not listed, none of which is decided.
    const THREE: &str = "[FEN \"r5k1/5ppp/8/8/8/8/P4PPP/R5K1 w - - 0 1\"]\n[Stipulation \"+\"]\n[Margins \"2.00 1.00\"]\n\n1. h3 (1. g3 $2) (1. f3) *";

    fn puzzle() -> Puzzle {
        Resolved::of(&draft(THREE)).into_puzzle().unwrap()
    }

    fn mv(puzzle: &Puzzle, uci: &str) -> Move {
        model::notation::moves::read_uci(puzzle.start(), uci).unwrap()
    }

    /// To the next quarter of a pawn that leaves a fifth of room.
    #[test]
    fn margins_are_offered_that_leave_room() {
        let puzzle = puzzle();
        let offered = |uci: &str, value: i32| -> Vec<(String, String)> {
            let all = margins(&puzzle, NodeId::ROOT, mv(&puzzle, uci), value).into_iter();
            all.map(|mend| match &mend.edits[..] {
                [
                    Edit::SetTag {
                        name,
                        value: Some(value),
                    },
                ] if name == "Margins" => (mend.label, value.clone()),
                other => panic!("{other:?}"),
            })
            .collect()
        };
        let one = |label: &str, set: &str| vec![(label.to_owned(), set.to_owned())];
        let right = "Count 1.h3 as right: from +1.00 on";
        assert_eq!(offered("h2h3", 130), one(right, "1.00 1.00"));
        assert_eq!(offered("h2h3", 120), one(right, "1.00 1.00"));
        let less = "Count 1.h3 as right: from +0.75 on";
        assert_eq!(offered("h2h3", 119), one(less, "0.75 0.75"));
        let more = "Count 1.h3 as right: from +1.50 on";
        assert_eq!(offered("h2h3", 170), one(more, "1.50 1.00"));
        let wrong = "Count 1.g3 as wrong: below +1.50";
        assert_eq!(offered("g2g3", 130), one(wrong, "2.00 1.50"));
        let above = "Count 1.a3 as wrong: below +2.25";
        assert_eq!(offered("a2a3", 190), one(above, "2.25 2.25"));
        assert_eq!(offered("f2f3", 130), []);
        let negative = "Count 1.h3 as right: from -0.25 on";
        assert_eq!(offered("h2h3", 10), one(negative, "-0.25 -0.25"));
    }

    fn told(best: bool, uci: &str, evidence: Evidence) -> Finding {
        let text = match best {
            true => THREE.replace("\"+\"", "\"bm\""),
            false => THREE.to_owned(),
        };
        let puzzle = Resolved::of(&draft(&text)).into_puzzle().unwrap();
        let ruling = Ruling::Open {
            line: Vec::new(),
            nodes: 1,
            evidence: Some(evidence),
        };
        open(&puzzle, NodeId::ROOT, mv(&puzzle, uci), &ruling)
    }

    #[test]
    fn why_a_move_is_undecided_is_told_by_what_is_known() {
        let searched = |value, chance| Evidence::Searched {
            depth: 9,
            value,
            spent: 700,
            changes: 0,
            chance,
        };
        for (best, evidence, says) in [
            (
                false,
                searched(Some(130), None),
                "1.h3 is undecided: searched to depth 9, its value +1.30 lies between the margins.",
            ),
            (
                true,
                searched(Some(-60), None),
                "1.h3 is undecided: searched to depth 9, it is 0.60 worse than the best move, between the margins.",
            ),
            (
                false,
                searched(None, None),
                "1.h3 is undecided: searched to depth 9, it lies between the margins.",
            ),
            (
                false,
                Evidence::Table,
                "1.h3 is undecided: it is a draw by endgame table, between the margins.",
            ),
            (
                false,
                searched(None, Some(crate::Chance(123))),
                "1.h3 is undecided: by a search to depth 9 it does not win, but 1.23 % of such searches are wrong.",
            ),
        ] {
            assert_eq!(told(best, "h2h3", evidence).message, says);
        }
        // What is not accepted is open since it may be right.
        let unlisted = told(false, "a2a3", searched(None, Some(crate::Chance(123))));
        assert!(
            unlisted.message.contains("it wins, but"),
            "{}",
            unlisted.message
        );
    }

    #[test]
    fn what_may_be_done_depends_on_what_the_author_says_of_it() {
        let offers = |uci: &str| told(false, uci, Evidence::Table).mends.len();
        assert_eq!(["h2h3", "g2g3", "f2f3", "a2a3"].map(offers), [0, 0, 1, 2]);
    }
}
