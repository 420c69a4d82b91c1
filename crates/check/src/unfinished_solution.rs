//! Solution that stops early: a line of the author's that ends while the
//! stipulation is not yet met.

use super::survey::{Replies, Turn};
use super::words::{Site, add_line, line, numbered};
use super::{Finding, Goal, Kind, Mend, Ruling, Weight, point, threat, undecided};
use model::aim::Aim;
use model::notation::moves::side_name;
use model::puzzle::{Posed, Puzzle, Role};
use model::tongue::{phrase, say, tr};
use play::goal::met;
use shakmaty::Position;

/// A puzzle without a first move that the author accepts.
pub fn no_key(puzzle: &Puzzle, turn: &Turn) -> Finding {
    let mut mends = Vec::new();
    let mut shown: &[_] = &[];
    let nags: &[u8] = if puzzle.children(turn.node).is_empty() {
        &[]
    } else {
        &[1]
    };
    let mut message = tr("There is no solution yet: play the key.").to_owned();
    let right = turn.right();
    if let Some((mv, ruling)) = right.first() {
        mends.push(Mend {
            label: say!("Take {move} as the key", move = numbered(puzzle, turn.node, *mv)),
            edits: vec![add_line(puzzle, turn.node, ruling.line(), nags)],
        });
        shown = ruling.line();
    } else if turn
        .rulings
        .iter()
        .all(|(_, r)| r.as_ref().is_some_and(Ruling::fails))
    {
        let start = puzzle.position(turn.node);
        let side = side_name(start.turn());
        message = match () {
            () if start.is_checkmate() => say!(
                "There is no solution, and none can be: {side} is mated.",
                side = side
            ),
            () if start.is_stalemate() => say!(
                "There is no solution, and none can be: {side} is stalemated.",
                side = side
            ),
            () => say!(
                "There is no solution, and none can be: no move {does}.",
                does = met(turn.goal, turn.goal.moves_left()),
            ),
        };
    }
    if puzzle.posed() == Posed::Threat && nags.is_empty() {
        mends.extend(threat::mend(puzzle.start()));
    }
    let site = Site {
        puzzle,
        node: turn.node,
        moves: &[],
        line: shown,
    };
    site.finding(Kind::UnfinishedSolution, Weight::Fault, message, mends)
}

/// Tries whose refutation is not shown. Of a mate in one there is none to show, and
/// what is searched is claimed of the move alone.
pub fn tries(puzzle: &Puzzle, turn: &Turn, found: &mut Vec<Finding>) {
    match turn.goal {
        Goal::Forced(Aim::Helpmate, _) => return,
        Goal::Forced(_, moves) if moves > 1 => {}
        _ => return,
    }
    for child in puzzle.with_role(turn.node, Role::Try) {
        let mv = puzzle.node(child).mv;
        let (Some(Ruling::Fails { line, .. }), true) =
            (turn.ruling(mv), puzzle.children(child).is_empty())
        else {
            continue;
        };
        let Some(&reply) = line.get(1) else { continue };
        let san = numbered(puzzle, turn.node, mv);
        let refuted = numbered(puzzle, child, reply);
        let mends = vec![Mend {
            label: say!("Refute it by {move}", move = refuted),
            edits: vec![add_line(puzzle, child, &[reply], &[])],
        }];
        let message = say!("The try {move} is not refuted yet.", move = san);
        let site = Site {
            puzzle,
            node: turn.node,
            moves: &[mv],
            line,
        };
        found.push(site.finding(Kind::UnfinishedSolution, Weight::Fault, message, mends));
    }
}

pub fn find(puzzle: &Puzzle, replies: &Replies, found: &mut Vec<Finding>) {
    if replies.empty && replies.point.is_none() {
        found.push(stops_after_solver(puzzle, replies));
    }
    for (defence, met) in &replies.unfinished {
        let mv = puzzle.node(*defence).mv;
        let mut shown = vec![mv];
        let mut mends = Vec::new();
        match met {
            Some(Ruling::Holds { line: answer, .. }) => {
                let plies = point::plies(puzzle.position(*defence), answer, replies.goal);
                let answer = &answer[..plies];
                shown.extend(answer);
                let reply = line(puzzle.position(*defence), &answer[..1]);
                let label = say!("Answer with {move}", move = reply);
                let nags: &[u8] = if puzzle.children(*defence).is_empty() {
                    &[]
                } else {
                    &[1]
                };
                mends.push(Mend {
                    label,
                    edits: vec![add_line(puzzle, *defence, answer, nags)],
                });
            }
            Some(open @ Ruling::Open { .. }) => {
                found.push(undecided::open(puzzle, replies.node, mv, open));
            }
            // The move before it fails then, which is found there.
            Some(Ruling::Fails { .. }) => continue,
            None => {}
        }
        let san = numbered(puzzle, replies.node, mv);
        let message = say!("The line stops after {move}, which is not answered.", move = san);
        let site = Site {
            puzzle,
            node: replies.node,
            moves: &[mv],
            line: &shown,
        };
        found.push(site.finding(Kind::UnfinishedSolution, Weight::Fault, message, mends));
    }
}

fn stops_after_solver(puzzle: &Puzzle, replies: &Replies) -> Finding {
    let node = puzzle.node(replies.node);
    let san = numbered(puzzle, node.parent, node.mv);
    let mut mends = Vec::new();
    let mut shown = vec![node.mv];
    // In a helpmate tries may follow.
    let nags: &[u8] = if node.children.is_empty() { &[] } else { &[1] };
    if let Some(Ruling::Holds { line, .. }) = &replies.ruling {
        shown = line.clone();
        let plies = point::plies(puzzle.position(node.parent), line, replies.goal);
        if plies > 1 {
            mends.push(Mend {
                label: tr("Finish the line").to_owned(),
                edits: vec![add_line(puzzle, replies.node, &line[1..plies], nags)],
            });
        }
    }
    let text = match replies.goal {
        Goal::Forced(Aim::Stalemate, _) => {
            phrase!("The line stops after {move}, before the stalemate.", "move")
        }
        Goal::Forced(Aim::Gain(_), _) => {
            phrase!(
                "The line stops after {move}, before the gain stands.",
                "move"
            )
        }
        Goal::Forced(Aim::Mate | Aim::Selfmate | Aim::Helpmate, _) => {
            phrase!("The line stops after {move}, before the mate.", "move")
        }
        _ => phrase!(
            "The line stops after {move}, before its point is made.",
            "move"
        ),
    };
    let message = say!(text, move = san);
    let site = Site {
        puzzle,
        node: node.parent,
        moves: &[node.mv],
        line: &shown,
    };
    // What is measured is claimed of the move, which is judged; what is forced
    // must be shown.
    let weight = match replies.goal.forced() {
        Some(_) => Weight::Fault,
        None => Weight::Remark,
    };
    site.finding(Kind::UnfinishedSolution, weight, message, mends)
}

#[cfg(test)]
mod tests {
    use crate::trial::{draft, kinds, mended, report};
    use crate::{Kind, Weight};
    use model::draft::Edit;
    use model::pgn_write;

    const STOPS: &str =
        "[FEN \"k7/8/1K6/8/8/8/8/2R5 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Rd1 *";
    const STOPS_AFTER_DEFENCE: &str =
        "[FEN \"k7/8/1K6/8/8/8/8/2R5 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Rd1 Kb8 *";
    const EMPTY: &str = "[FEN \"6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n*";

    #[test]
    fn every_way_of_stopping_early_is_found_and_mended() {
        for text in [STOPS, STOPS_AFTER_DEFENCE, EMPTY] {
            let report = report(text);
            assert!(kinds(&report).contains(&Kind::UnfinishedSolution), "{text}");
            let after = mended(text, Kind::UnfinishedSolution, 0);
            assert!(
                !kinds(&after).contains(&Kind::UnfinishedSolution),
                "{text}: {:?}",
                after.findings
            );
        }
    }

    /// The pawn's move saves Black.
    const TRY: &str =
        "[FEN \"1k6/8/1K6/8/8/7p/8/2R5 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Rc2 $2 *";

    #[test]
    fn where_the_game_is_over_no_solution_can_be() {
        for (fen, said) in [
            ("6k1/8/8/8/8/8/5PPP/3r2K1 w - - 0 1", "White is mated."),
            ("7k/8/8/8/8/8/5q2/7K w - - 0 1", "White is stalemated."),
            ("7k/8/8/8/8/8/5r2/7K w - - 0 1", "no move mates"),
        ] {
            let report = report(&format!("[FEN \"{fen}\"]\n[Stipulation \"#2\"]\n\n*"));
            let mut found = report.findings.iter();
            let finding = found
                .find(|f| f.kind == Kind::UnfinishedSolution)
                .expect(fen);
            let none = "There is no solution, and none can be: ";
            assert!(
                finding.message.starts_with(&format!("{none}{said}")),
                "{}",
                finding.message
            );
        }
    }

    #[test]
    fn a_try_is_to_be_refuted() {
        let missing = "The try 1.Rc2 is not refuted yet.";
        let says = |report: &crate::Report| report.findings.iter().any(|f| f.message == missing);
        let before = report(TRY);
        assert!(says(&before), "{:?}", before.findings);
        let finding = before
            .findings
            .iter()
            .find(|f| f.message == missing)
            .expect("it is said");
        let mut mended = draft(TRY);
        for edit in &finding.mends[0].edits {
            mended.apply(edit).expect("an edit that can be made");
        }
        assert!(!says(&report(&pgn_write::write(&mended))));
        assert!(before.is_unfinished());
    }

    fn told(text: &str) -> Vec<(String, Weight, Vec<Edit>)> {
        let found = report(text).findings.into_iter();
        let found = found.filter(|f| f.kind == Kind::UnfinishedSolution);
        found
            .map(|f| {
                let edits = f.mends.into_iter().next().map(|mend| mend.edits);
                (f.message, f.weight, edits.unwrap_or_default())
            })
            .collect()
    }

    /// What an offer adds: the moves, and the glyphs of the first.
    fn added(edits: &[Edit]) -> (Vec<&str>, &[u8]) {
        let [Edit::AddLine { moves, nags, .. }] = edits else {
            panic!("{edits:?}");
        };
        (moves.iter().map(String::as_str).collect(), nags)
    }

    #[test]
    fn what_is_added_beside_another_move_is_marked() {
        let plain = told(EMPTY).remove(0).2;
        assert_eq!(added(&plain), (vec!["Ra8#"], &[][..]));
        let beside = told(&EMPTY.replace("\n\n*", "\n\n1. Ra7 $2 *")).remove(0).2;
        assert_eq!(added(&beside), (vec!["Ra8#"], &[1][..]));
        let answer = told(STOPS_AFTER_DEFENCE).remove(0).2;
        assert_eq!(added(&answer), (vec!["Rd8#"], &[][..]));
        let tried = STOPS_AFTER_DEFENCE.replace("Kb8 *", "Kb8 2. Rd7 $2 *");
        let beside = told(&tried).remove(0).2;
        assert_eq!(added(&beside), (vec!["Rd8#"], &[1][..]));
    }

    /// Of a mate in one no reply refutes a try: there is no mate on the board.
    #[test]
    fn a_try_of_a_mate_in_one_needs_no_refutation() {
        let tried = EMPTY.replace("\n\n*", "\n\n1. Ra8# (1. Ra7 $2) *");
        assert_eq!(told(&tried), []);
        let gain = "[FEN \"6k1/5ppp/8/3q4/8/2N5/5PPP/6K1 w - - 0 1\"]\n[Stipulation \"gain 9 in 1\"]\n\n1. Nxd5 (1. Ne4 $2) *";
        assert_eq!(told(gain), []);
        let two = tried.replace("#1", "#2").replace("1. Ra8#", "1. Kf2");
        let messages: Vec<String> = told(&two).into_iter().map(|found| found.0).collect();
        assert_eq!(messages, ["The try 1.Ra7 is not refuted yet."]);
    }

    #[test]
    fn what_is_forced_must_be_shown_and_what_is_searched_may_be() {
        let fork =
            "[FEN \"6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1\"]\n[Stipulation \"+\"]\n\n1. Nf6+ *";
        let (message, weight, edits) = told(fork).remove(0);
        assert_eq!(
            message,
            "The line stops after 1.Nf6+, before its point is made."
        );
        assert_eq!((weight, added(&edits).0.len()), (Weight::Remark, 2));
        let (message, weight, _) = told(&fork.replace("\"+\"", "\"gain 9 in 2\"")).remove(0);
        assert_eq!(
            message,
            "The line stops after 1.Nf6+, before the gain stands."
        );
        assert_eq!(weight, Weight::Fault);
        let (message, weight, edits) = told(STOPS).remove(0);
        assert_eq!(message, "The line stops after 1.Rd1, before the mate.");
        assert_eq!(
            (weight, added(&edits).0),
            (Weight::Fault, vec!["Kb8", "Rd8#"])
        );
    }

    /// Whose threat it is can be turned round while nothing is written.
    #[test]
    fn the_other_side_is_offered_only_where_a_threat_is_asked_for_and_nothing_written() {
        let offers = |text: &str| {
            let mut found = report(text).findings.into_iter();
            let found = found.find(|f| f.kind == Kind::UnfinishedSolution);
            let labels = found.expect("a fault").mends.into_iter();
            labels
                .filter(|mend| mend.label.starts_with("Ask what"))
                .count()
        };
        let threat = format!("[Question \"threat\"]\n{EMPTY}");
        let tried = "\n\n1. Ra7 $2 *";
        assert_eq!((offers(&threat), offers(EMPTY)), (1, 0));
        assert_eq!(offers(&threat.replace("\n\n*", tried)), 0);
    }
}
