//! What is proved of a key where the whole is searched: of a win or a best move that it wins
//! material, which the puzzle could ask for, and rest on nothing searched; of a draw that
//! it is held by force.

use std::slice;

use model::aim::{Aim, Gain};
use model::draft::{Edit, NodeId};
use model::men;
use model::puzzle::{Puzzle, Stipulation};
use model::tongue::{phrase, say};
use model::worth::pawns;
use shakmaty::Move;

use super::opinion::checked;
use super::survey::{Survey, Turn};
use super::words::{Site, numbered};
use super::{Evidence, Finding, Goal, Kind, Known, Mend, Question, Ruling, Weight};

/// Moves within which a gain is looked for, and where there is none in so many, within
/// which.
const MOVES: [u8; 2] = [2, 3];

/// More is not told apart: two queens.
const MOST: u8 = 18;

/// The most that is known to be won by the key, and by which ruling; and what is still to
/// be asked for that.
fn most<'k>(
    puzzle: &Puzzle,
    turn: &Turn,
    known: &'k Known,
) -> (Option<(Goal, Move, &'k Ruling)>, Option<Question>) {
    let searched = matches!(turn.goal, Goal::Win(_) | Goal::Best(_));
    let mut accepted = puzzle.accepted(NodeId::ROOT);
    let key = accepted.next().map(|id| puzzle.node(id).mv);
    let (true, Some(mv)) = (searched, key) else {
        return (None, None);
    };
    let start = puzzle.start();
    // A key that mates needs no gain.
    if !turn
        .ruling(mv)
        .is_some_and(|ruling| ruling.holds() && ruling.length().is_none())
    {
        return (None, None);
    }
    let mut most = None;
    for n in MOVES {
        for k in 1..=MOST {
            let goal = Goal::Forced(Aim::Gain(Gain::at(k, start)), n);
            match known.ruling(start, goal, mv) {
                None => {
                    let question = Question::about(start, goal, slice::from_ref(&mv));
                    return (most, Some(question));
                }
                Some(ruling) if ruling.holds() => most = Some((goal, mv, ruling)),
                Some(_) => break,
            }
        }
        if most.is_some() {
            break;
        }
    }
    (most, None)
}

/// What is to be asked once nothing else is.
pub fn question(puzzle: &Puzzle, survey: &Survey, known: &Known) -> Option<Question> {
    most(puzzle, survey.turns.first()?, known).1
}

/// Of a sound puzzle: what its key is proved to win, and what was asked for that.
pub fn find(puzzle: &Puzzle, survey: &Survey, known: &Known) -> Option<(Finding, Goal)> {
    let turn = survey.turns.first()?;
    let (Some((goal, mv, ruling)), None) = most(puzzle, turn, known) else {
        return None;
    };
    let (Aim::Gain(gain), _) = goal.forced()? else {
        return None;
    };
    let n = ruling.length()?;
    let what = exchanged(ruling.line(), gain).unwrap_or_else(|| gain.what());
    let proved = proved(puzzle, goal, known);
    let message = say!(
        match n {
            1 => phrase!("{move} wins {what} at once, proved: {proved}.", "move what n proved"),
            _ => phrase!("{move} wins {what} within {n} moves, proved: {proved}.", "move what n proved"),
        },
        move = numbered(puzzle, NodeId::ROOT, mv),
        what = what,
        n = n.to_string(),
        proved = proved,
    );
    let claim = Stipulation::Forced(Aim::Gain(gain), n).to_string();
    let mend = Mend {
        label: say!(
            "Ask for this instead: {task}",
            task = Goal::Forced(Aim::Gain(gain), n).asked()
        ),
        edits: vec![Edit::SetTag {
            name: "Stipulation".to_owned(),
            value: Some(claim),
        }],
    };
    let site = Site {
        puzzle,
        node: NodeId::ROOT,
        moves: &[mv],
        line: ruling.line(),
    };
    let finding = site.finding(Kind::Provable, Weight::Remark, message, vec![mend]);
    Some((finding, goal))
}

/// Of a sound puzzle: that its key is proved to hold a draw by force.
pub fn held(puzzle: &Puzzle, survey: &Survey, known: &Known) -> Option<Finding> {
    let turn = survey.turns.first()?;
    let key = puzzle.accepted(NodeId::ROOT).next()?;
    let mv = puzzle.node(key).mv;
    let ruling = turn.ruling(mv)?;
    if !ruling.holds() || ruling.evidence() != Some(Evidence::Drawn) {
        return None;
    }
    let message = say!(
        "{move} holds a draw by force, proved: {proved}.",
        move = numbered(puzzle, NodeId::ROOT, mv),
        proved = proved(puzzle, turn.goal, known),
    );
    let site = Site {
        puzzle,
        node: NodeId::ROOT,
        moves: &[mv],
        line: ruling.line(),
    };
    Some(site.finding(Kind::Provable, Weight::Remark, message, Vec::new()))
}

/// How far a proof about the first moves is checked.
fn proved(puzzle: &Puzzle, goal: Goal, known: &Known) -> String {
    checked(known.opinion(puzzle.start(), goal), known.wants_second())
}

/// "the queen for a knight", where the last move of the line takes a man with one that
/// is lost for it.
fn exchanged(line: &[Move], gain: Gain) -> Option<String> {
    let (&last, _) = line.split_last()?;
    let (taken, by) = (last.capture()?, last.role());
    let paid = pawns(taken)?.checked_sub(pawns(by)?)?;
    let quiet = line[..line.len() - 1].iter().all(|mv| !mv.is_capture());
    (quiet && paid == gain.k && !last.is_promotion()).then(|| {
        say!(
            "{man} for {other}",
            man = men::one(taken),
            other = men::one(by)
        )
    })
}

#[cfg(test)]
mod tests {
    use super::{Gain, exchanged};
    use crate::trial::{mended, report};
    use crate::{Kind, Soundness};
    use model::notation::{fen, moves};

    /// The knight forks king and queen.
    const FORK: &str = "[FEN \"6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1\"]\n[Stipulation \"+\"]\n\n1. Nf6+ Kg7 2. Nxd7 *";

    fn told(text: &str) -> Vec<String> {
        let found = report(text).findings.into_iter();
        let found = found.filter(|f| f.kind == Kind::Provable);
        found.map(|f| f.message).collect()
    }

    #[test]
    fn a_fork_is_proved_to_win_the_queen() {
        let says = "1.Nf6+ wins the queen within 2 moves, proved: by one program.";
        assert_eq!(told(FORK), [says]);
        // That a pawn falls a move later is not looked for.
        let pawns = FORK.replace("3q1p1p/8/3N4", "3q1p1p/8/2pNp3");
        assert_eq!(told(&pawns), [says]);
    }

    #[test]
    fn a_draw_that_is_held_by_force_is_told() {
        let text = "[FEN \"6k1/6p1/8/7Q/8/8/qr6/7K w - - 0 1\"]\n[Stipulation \"=\"]\n\n1. Qe8+ Kh7 2. Qh5+ Kg8 *";
        let says = "1.Qe8+ holds a draw by force, proved: by one program.";
        assert_eq!(told(text), [says]);
    }

    #[test]
    fn what_is_paid_is_named() {
        let start = fen::read("3r2k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1").expect("a position");
        let fork = moves::read_ucis(&start, &["d5f6", "g8g7", "f6d7"].map(String::from));
        let paid = |k| exchanged(&fork, Gain::of(k));
        assert_eq!(paid(6).as_deref(), Some("the queen for a knight"));
        assert_eq!((paid(9), paid(5)), (None, None));
    }

    #[test]
    fn what_is_proved_can_be_asked_for() {
        let found = report(FORK).findings;
        let found = found.iter().find(|f| f.kind == Kind::Provable);
        assert_eq!(
            found.expect("a proof").mends[0].label,
            "Ask for this instead: win the queen, in 2 moves at most"
        );
        let after = mended(FORK, Kind::Provable, 0);
        assert_eq!(after.verdict, Soundness::Sound, "{:?}", after.findings);
    }

    #[test]
    fn nothing_is_offered_where_nothing_is_won_or_the_puzzle_is_unsound() {
        assert!(
            told(
                "[FEN \"8/8/8/p6p/P6P/1k6/1p1R4/1K6 w - - 0 1\"]\n[Stipulation \"=\"]\n\n1. Rxb2+ *"
            )
            .is_empty()
        );
        assert!(told(&FORK.replace("1. Nf6+ Kg7 2. Nxd7", "1. Nb6")).is_empty());
        let unclear = FORK.replace("1. Nf6+", "1. Nf6+ (1. h3) 1...");
        assert!(told(&unclear).is_empty());
        // A key that mates needs no gain, and nothing else wins.
        let mates =
            "[FEN \"3r2k1/5ppp/8/8/8/8/5PPP/3R2K1 w - - 0 1\"]\n[Stipulation \"+\"]\n\n1. Rxd8# *";
        assert_eq!(report(mates).verdict, Soundness::Sound);
        assert!(told(mates).is_empty());
    }

    #[test]
    fn an_exchange_is_named_only_where_its_last_move_is_all_of_it() {
        let start = fen::read("3r2k1/3q1p1p/5p2/3N4/8/8/5PPP/6K1 w - - 0 1").expect("a position");
        let named = |line: &[&str], k| {
            let line: Vec<String> = line.iter().map(|&mv| mv.to_owned()).collect();
            exchanged(&moves::read_ucis(&start, &line), Gain::of(k))
        };
        // A pawn was taken before.
        assert_eq!(named(&["d5f6", "g8g7", "f6d7"], 6), None);
        // Nothing is taken at all, or by what is worth more.
        assert_eq!(named(&["d5f6", "g8g7"], 6), None);
        let dear = fen::read("3r2k1/5p1p/8/8/8/8/3Q1PPP/6K1 w - - 0 1").expect("a position");
        let line = moves::read_ucis(&dear, &["d2d8".to_owned()]);
        assert_eq!(exchanged(&line, Gain::of(5)), None);
        // A pawn that takes and becomes a queen is none any more.
        let queens = fen::read("3r2k1/2P2p1p/8/8/8/8/5PPP/6K1 w - - 0 1").expect("a position");
        let line = moves::read_ucis(&queens, &["c7d8q".to_owned()]);
        assert_eq!(exchanged(&line, Gain::of(4)), None);
        assert_eq!(exchanged(&[], Gain::of(1)), None);
    }
}
