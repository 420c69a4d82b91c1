//! Is every defence met? All legal replies to an accepted move, each with the
//! answer it falls to.

use shakmaty::{Move, Position};

use super::survey::{Replies, same_move, survey};
use super::words::{add_line, sans};
use super::{Known, Ruling};
use model::draft::{Edit, NodeId};
use model::puzzle::{Puzzle, Role};

/// How a defence is met.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Met {
    /// The author gives no answer that meets it.
    Not,
    /// What meets it is not known yet.
    Unknown,
    /// An answer that the author lists elsewhere meets it.
    Covered,
    /// The author lists it with an answer that meets it.
    Listed,
    /// The line ends with it, or is told to be at its point.
    Over,
}

/// A legal reply to an accepted move.
#[derive(Clone, Debug)]
pub struct Defence {
    /// The reply.
    pub mv: Move,
    /// Its node, if the author lists it.
    pub node: Option<NodeId>,
    /// What meets it.
    pub met: Met,
    /// What is known of the answer: the author's, the one that covers it, or the
    /// one that would do.
    pub ruling: Option<Ruling>,
    /// The defence and what follows it, in SAN.
    pub line: Vec<String>,
    /// Lists it with its answer, where it is not listed.
    pub mend: Option<Edit>,
}

/// Defences that fall to one answer.
#[derive(Clone, Debug)]
pub struct Fall {
    /// What meets them.
    pub met: Met,
    /// In SAN, as it stands after the first of the defences; `None` where no
    /// answer is known or none is needed.
    pub answer: Option<String>,
    /// The replies.
    pub defences: Vec<Defence>,
}

/// All legal replies to an accepted move, by the answer they fall to, those
/// that are not met first. `None` unless the checker has come to the move: it
/// is accepted, no claim above it fails, and the other side replies to it.
pub fn defences(puzzle: &Puzzle, known: &Known, node: NodeId) -> Option<Vec<Fall>> {
    let survey = survey(puzzle, known);
    let replies = survey.replies.iter().find(|replies| replies.node == node)?;
    Some(falls(puzzle, known, replies))
}

/// The replies to an accepted move by the answer they fall to.
pub(super) fn falls(puzzle: &Puzzle, known: &Known, replies: &Replies) -> Vec<Fall> {
    let node = replies.node;
    let position = puzzle.position(node);
    let mut falls: Vec<(Option<Move>, Fall)> = Vec::new();
    for mv in position.legal_moves() {
        let (defence, answer) = defence(puzzle, known, replies, mv);
        let met = defence.met;
        let same = |a: Option<Move>| match (a, answer) {
            (Some(a), Some(b)) => same_move(a, b),
            (a, b) => a.is_none() && b.is_none(),
        };
        let unmet = met <= Met::Unknown;
        match falls
            .iter_mut()
            .find(|(a, fall)| same(*a) && (fall.met <= Met::Unknown) == unmet)
        {
            Some((_, fall)) => {
                fall.met = fall.met.min(met);
                fall.defences.push(defence);
            }
            None => {
                let fall = Fall {
                    met,
                    answer: answer.and_then(|answer| sans(position, &[mv, answer]).pop()),
                    defences: vec![defence],
                };
                falls.push((answer, fall));
            }
        }
    }
    let mut falls: Vec<Fall> = falls.into_iter().map(|(_, fall)| fall).collect();
    falls.sort_by_key(|fall| (fall.met, usize::MAX - fall.defences.len()));
    falls
}

/// How a reply is met, and the answer that it falls to.
fn defence(puzzle: &Puzzle, known: &Known, replies: &Replies, mv: Move) -> (Defence, Option<Move>) {
    let (node, goal) = (replies.node, replies.goal);
    let position = puzzle.position(node);
    let mut after = position.clone();
    after.play_unchecked(mv);
    let listed = puzzle
        .child(node, mv)
        .filter(|&child| puzzle.node(child).role == Role::Defence);
    let own = listed.and_then(|child| puzzle.accepted(child).next());
    let covers = replies
        .covered
        .iter()
        .find(|(_, defences)| defences.contains(&mv));
    let uncovered = replies.uncovered.iter().find(|(defence, _)| *defence == mv);
    let unfinished = replies
        .unfinished
        .iter()
        .find(|(child, _)| Some(*child) == listed);
    let unanswered = uncovered
        .map(|(_, ruling)| ruling)
        .or(unfinished.map(|(_, ruling)| ruling));
    let legal = |answer: Move| {
        after
            .legal_moves()
            .into_iter()
            .find(|m| same_move(*m, answer))
    };
    let (met, answer, ruling) = if let Some(own) = own {
        let answer = puzzle.node(own).mv;
        let ruling = known.ruling(&after, goal, answer).cloned();
        (met_by(ruling.as_ref(), Met::Listed), Some(answer), ruling)
    } else if let Some((answer, _)) = covers {
        let answer = legal(*answer);
        let ruling = answer.and_then(|answer| known.ruling(&after, goal, answer).cloned());
        (Met::Covered, answer, ruling)
    } else if let Some(ruling) = unanswered {
        let ruling = ruling.as_ref();
        (met_not(ruling), first(ruling), ruling.cloned())
    } else if after.is_game_over() || replies.point.is_some() || listed.is_some() {
        (Met::Over, None, None)
    } else {
        (Met::Unknown, None, None)
    };
    let mut played = vec![mv];
    match (&ruling, answer) {
        (Some(ruling), Some(answer)) if ruling.line().first() == Some(&answer) => {
            played.extend(ruling.line());
        }
        (_, Some(answer)) => played.push(answer),
        _ => {}
    }
    let lists = own.is_none() && answer.is_some() && matches!(met, Met::Not | Met::Covered);
    let defence = Defence {
        mv,
        node: listed,
        met,
        ruling,
        line: sans(position, &played),
        mend: lists.then(|| add_line(puzzle, node, &played[..2], &[])),
    };
    (defence, answer)
}

fn met_by(ruling: Option<&Ruling>, met: Met) -> Met {
    match ruling {
        Some(Ruling::Holds { .. }) => met,
        Some(Ruling::Fails { .. }) => Met::Not,
        Some(Ruling::Open { .. }) | None => Met::Unknown,
    }
}

/// Of a defence without an answer of the author's.
fn met_not(ruling: Option<&Ruling>) -> Met {
    match ruling {
        Some(Ruling::Open { .. }) | None => Met::Unknown,
        Some(_) => Met::Not,
    }
}

fn first(ruling: Option<&Ruling>) -> Option<Move> {
    ruling
        .filter(|ruling| ruling.holds())?
        .line()
        .first()
        .copied()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::draft;
    use crate::{Judge, check};
    use model::draft::Draft;
    use model::resolved::Resolved;
    use prove::Unwatched;

    fn falls(draft: &Draft, san: &str) -> Vec<(Met, String, Vec<String>)> {
        let (mut known, mut judge) = (Known::default(), Judge::new(1 << 20));
        check(draft, &mut known, &mut judge, &mut Unwatched);
        let puzzle = Resolved::of(draft).into_puzzle().unwrap();
        let mut all = draft.walk().into_iter();
        let node = all.find(|&id| draft.node(id).unwrap().text == san).unwrap();
        let falls = defences(&puzzle, &known, node).unwrap();
        let all: usize = falls.iter().map(|fall| fall.defences.len()).sum();
        assert_eq!(
            all,
            puzzle.position(node).legal_moves().len(),
            "every legal reply once"
        );
        falls
            .into_iter()
            .map(|fall| {
                let defences = fall.defences.iter().map(|d| d.line[0].clone()).collect();
                (fall.met, fall.answer.unwrap_or_default(), defences)
            })
            .collect()
    }

    /// Black can put bishop or rook in the way; the rook is left out.
    const LEFT_OUT: &str = "[FEN \"6k1/5ppp/3r4/8/8/7b/R7/R5K1 w - - 0 1\"]\n[Stipulation \"#3\"]\n\n1. Ra8+ Bc8 2. Rxc8+ Rd8 3. Rxd8# *";

    #[test]
    fn what_is_not_met_comes_first_and_is_mended_in_one_edit() {
        let mut draft = draft(LEFT_OUT);
        let before = falls(&draft, "Ra8+");
        assert_eq!(before[0], (Met::Not, "Rxd8#".into(), vec!["Rd8".into()]));
        assert_eq!(before[1], (Met::Listed, "Rxc8+".into(), vec!["Bc8".into()]));
        let (mut known, mut judge) = (Known::default(), Judge::new(1 << 20));
        check(&draft, &mut known, &mut judge, &mut Unwatched);
        let puzzle = Resolved::of(&draft).into_puzzle().unwrap();
        let node = puzzle.children(NodeId::ROOT)[0];
        let mend = defences(&puzzle, &known, node).unwrap()[0].defences[0]
            .mend
            .clone();
        draft.apply(&mend.unwrap()).unwrap();
        let after = falls(&draft, "Ra8+");
        assert!(after.iter().all(|fall| fall.0 == Met::Listed), "{after:?}");
    }

    #[test]
    fn defences_that_fall_to_a_listed_answer_stand_with_it() {
        let draft = draft(
            "[FEN \"7k/p7/5K2/8/8/8/8/1R6 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Kg6 (1. Kf7 $1 Kh7 2. Rh1#) 1... Kg8 2. Rb8# *",
        );
        let falls = falls(&draft, "Kg6");
        assert_eq!(falls.len(), 1, "{falls:?}");
        assert_eq!((falls[0].0, falls[0].1.as_str()), (Met::Covered, "Rb8#"));
        assert_eq!(falls[0].2.len(), 3);
    }

    #[test]
    fn a_try_has_no_table() {
        let draft = draft(LEFT_OUT);
        let known = Known::default();
        let puzzle = Resolved::of(&draft).into_puzzle().unwrap();
        assert!(defences(&puzzle, &known, NodeId::ROOT).is_none());
    }

    /// The falls after the accepted move `san`, by what is known once all is answered.
    fn all(text: &str, san: &str) -> Vec<Fall> {
        let draft = draft(text);
        let (mut known, mut judge) = (Known::default(), Judge::new(1 << 20));
        check(&draft, &mut known, &mut judge, &mut Unwatched);
        of(&draft, &known, san)
    }

    fn of(draft: &Draft, known: &Known, san: &str) -> Vec<Fall> {
        let puzzle = Resolved::of(draft).into_puzzle().unwrap();
        let mut all = draft.walk().into_iter();
        let node = all.find(|&id| draft.node(id).unwrap().text == san).unwrap();
        defences(&puzzle, known, node).unwrap()
    }

    /// Bishop or knight can go in the way, on three squares; one is listed.
    #[test]
    fn defences_that_fall_to_answers_of_their_own_stand_apart() {
        let draft = draft(
            "[FEN \"6k1/1n1b1ppp/8/8/8/8/R7/R5K1 w - - 0 1\"]\n[Stipulation \"#3\"]\n\n1. R2a6 (1. Ra8+ $1 Bc8 2. Rxc8+ Nd8 3. Rxd8#) *",
        );
        let falls = falls(&draft, "Ra8+");
        let told =
            |met, answer: &str, defence: &str| (met, answer.to_owned(), vec![defence.to_owned()]);
        assert_eq!(
            falls,
            [
                told(Met::Not, "Rxd8+", "Nd8"),
                told(Met::Not, "Rxe8#", "Be8"),
                told(Met::Listed, "Rxc8+", "Bc8"),
            ]
        );
    }

    /// The king may take the queen with mate, which ends the line, listed or not.
    #[test]
    fn what_ends_the_line_needs_no_answer() {
        let text = "[FEN \"8/8/8/5Q2/8/8/6PP/2r1k2K w - - 0 1\"]\n[Stipulation \"s#2\"]\n\n1. Qf2+ Kd1 2. Qd2+ Kxd2# *";
        let falls = falls(&draft(text), "Qf2+");
        let listed = (Met::Listed, "Qd2+".to_owned(), vec!["Kd1".to_owned()]);
        let over = (Met::Over, String::new(), vec!["Kxf2#".to_owned()]);
        assert_eq!(falls, [listed, over]);
    }

    /// The knight forks king and queen.
    #[test]
    fn at_its_point_a_line_is_over_whatever_is_played() {
        let fork = "[FEN \"6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1\"]\n[Stipulation \"+\"]\n\n1. Nf6+ Kg7 2. Nxd7 *";
        let falls = all(fork, "Nxd7");
        let [over] = &falls[..] else {
            panic!("{falls:?}");
        };
        assert_eq!((over.met, &over.answer), (Met::Over, &None));
        assert!(over.defences.len() > 5);
        for defence in &over.defences {
            assert_eq!((defence.line.len(), &defence.mend), (1, &None));
        }
    }

    #[test]
    fn a_line_is_shown_to_its_end_as_far_as_it_is_known() {
        let bishop = |falls: &[Fall]| {
            let mut all = falls.iter().flat_map(|fall| &fall.defences);
            let bishop = all.find(|defence| defence.line[0] == "Bc8").unwrap();
            (bishop.met, bishop.line.join(" "))
        };
        let whole = (Met::Listed, "Bc8 Rxc8+ Rd8 Rxd8#".to_owned());
        assert_eq!(bishop(&all(LEFT_OUT, "Ra8+")), whole);
        let begun = (Met::Unknown, "Bc8 Rxc8+".to_owned());
        let (draft, mut known) = (draft(LEFT_OUT), Known::default());
        assert_eq!(bishop(&of(&draft, &known, "Ra8+")), begun);
        // Of an answer that the budget did not reach nothing is known but itself.
        let puzzle = Resolved::of(&draft).into_puzzle().unwrap();
        let (defence, answer) = (draft.walk()[1], draft.walk()[2]);
        let goal = crate::Goal::of(&puzzle).next().unwrap();
        let spent = Ruling::Open {
            line: Vec::new(),
            nodes: 1,
            evidence: None,
        };
        let mv = puzzle.node(answer).mv;
        known.learn_move(puzzle.position(defence), goal, mv, spent);
        assert_eq!(bishop(&of(&draft, &known, "Ra8+")), begun);
    }

    #[test]
    fn an_answer_of_the_authors_that_fails_meets_nothing_and_is_not_listed_again() {
        let slow =
            "[FEN \"k7/8/1K6/8/8/8/8/2R5 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Rd1 Kb8 2. Rd7 *";
        let falls = all(slow, "Rd1");
        assert_eq!(falls.len(), 1);
        let defence = &falls[0].defences[0];
        assert_eq!((defence.met, &defence.mend), (Met::Not, &None));
        assert_eq!(falls[0].answer.as_deref(), Some("Rd7"));
    }
}
