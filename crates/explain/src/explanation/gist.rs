//! The gist: what a coach would say of a puzzle, in at most five sentences. What the other
//! side threatens; the idea of the key, or how it meets the threat; what it wins, or
//! threatens; the idea of a later move; and what the natural alternative allows. Each sentence is one that is said
//! elsewhere, with its facts, and leads to what shows it; none is made for the gist alone. How
//! sure it is is said there.

use super::Explanation;
use crate::{Reason, ReasonKind};
use model::tongue::say;

/// A sentence of the gist.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Said {
    /// The sentence.
    pub sentence: String,
    /// What shows it.
    pub about: About,
}

/// What a sentence of the gist is about: an item of the explanation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "snake_case")
)]
pub enum About {
    /// The first threat of the other side, in `before`.
    Before,
    /// One of `whys`, by its place.
    Why(usize),
    /// One of `tries`, by its place.
    Try(usize),
}

/// The most sentences.
const MOST: usize = 5;

/// Where nothing is forced, an idea that comes up later than after so many of the solver's
/// moves is none of this position's.
const SOON: usize = 3;

/// The gist of an explanation, whose first `whys` are these reasons. `side` is the name of
/// the side that does not solve; `gain` says what the key wins, without how that is known;
/// `forced` whether the line is.
pub(super) fn of(
    told: &Explanation,
    reasons: &[Reason],
    forced: bool,
    gain: Option<&str>,
    side: &str,
) -> Vec<Said> {
    let find = |fits: &dyn Fn(&Reason) -> bool| reasons.iter().position(fits);
    let idea = find(&|r| r.at == 0 && is_idea(r.kind))
        .or_else(|| find(&|r| r.at == 0 && r.kind == ReasonKind::Sacrifice));
    let soon = |r: &Reason| forced || r.at <= SOON;
    let later = find(&|r| r.at > 0 && soon(r) && is_idea(r.kind) && !said(told, r, idea));
    // Where the key has an idea of its own, that it meets a threat too is by the way.
    let parry = find(&|r| idea.is_none() && r.kind == ReasonKind::ParriedThreat);
    let immune = find(&|r| r.at == 0 && r.kind == ReasonKind::ImmunePiece);
    let order = find(&|r| r.kind == ReasonKind::MoveOrder);
    let beyond = reasons.len()..told.whys.len();
    let won = beyond.clone().find(|&i| !told.whys[i].threat);
    let threat = beyond.clone().find(|&i| told.whys[i].threat);
    let why = |index: Option<usize>| index.map(About::Why);
    let alternative = why(order).or((!told.tries.is_empty()).then_some(About::Try(0)));
    let before = (!told.before.threats.is_empty()).then_some(About::Before);
    // In the order in which they are said, each with what it gives way to.
    let all = [
        (before, 7),
        (why(parry), 5),
        (why(idea), 0),
        (why(immune), 3),
        (why(won), 1),
        (why(threat), 2),
        (why(later), 6),
        (alternative, 4),
    ];
    let mut there: Vec<(About, u8)> = all
        .into_iter()
        .filter_map(|(about, rank)| Some((about?, rank)))
        .collect();
    while there.len() > MOST {
        let last = there.iter().map(|(_, rank)| *rank).max();
        there.retain(|(_, rank)| Some(*rank) != last);
    }
    let sentences = there.into_iter().map(|(about, _)| {
        let short = gain.filter(|_| why(won) == Some(about));
        let sentence = short.map_or_else(|| sentence(told, about, side), str::to_owned);
        Said { sentence, about }
    });
    sentences.collect()
}

/// Whether a reason is what a coach would begin with: how the move works.
fn is_idea(kind: ReasonKind) -> bool {
    let by_the_way = [
        ReasonKind::QuietMove,
        ReasonKind::Sacrifice,
        ReasonKind::ImmunePiece,
    ];
    kind.is_theme() && !by_the_way.contains(&kind)
}

/// Whether a later reason only repeats the idea.
fn said(told: &Explanation, reason: &Reason, idea: Option<usize>) -> bool {
    idea.is_some_and(|index| told.whys[index].title == reason.kind.title())
}

fn sentence(told: &Explanation, about: About, side: &str) -> String {
    match about {
        About::Before => say!(
            "{side} has a threat: {threat}",
            side = side,
            threat = told.before.threats[0].sentence
        ),
        About::Why(index) => told.whys[index].sentence.clone(),
        About::Try(index) => told.tries[index].sentence.clone(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Analyst, Inquiry};
    use check::{Judge, Known, check};
    use model::pgn_read;
    use model::resolved::Resolved;
    use prove::Unwatched;

    fn told(text: &str) -> Explanation {
        let draft = pgn_read::read(text).remove(0).draft;
        let puzzle = Resolved::of(&draft).into_puzzle().expect("a puzzle");
        let mut known = Known::default();
        check(&draft, &mut known, &mut Judge::new(1 << 20), &mut Unwatched);
        let inquiry = Inquiry::of(&puzzle, &known).expect("all first moves are judged");
        Analyst::new(1 << 20).explain(&inquiry, &mut Unwatched)
    }

    fn sentences(told: &Explanation) -> Vec<&str> {
        told.gist.iter().map(|said| &said.sentence[..]).collect()
    }

    #[test]
    fn the_idea_comes_before_what_it_wins_and_what_fails() {
        let told = told(
            "[FEN \"6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1\"]\n[Stipulation \"+\"]\n\n1. Nf6+ (1. Nb6 $2 Qd1#) *",
        );
        let said = sentences(&told);
        assert_eq!(said[0], "Black has a threat: 1...Qxd5 wins a knight.");
        assert!(said[1].starts_with("1.Nf6+ attacks"), "{said:?}");
        assert_eq!(said[2], "1.Nf6+ wins the queen (1.Nf6+ Kg7 2.Nxd7).");
        assert!(said.len() <= MOST);
    }

    #[test]
    fn five_sentences_are_enough_and_each_leads_to_what_it_is_about() {
        let told = told(
            "[FEN \"5rk1/p4ppp/8/3q4/6Q1/2P5/PB3PPP/6K1 w - - 0 1\"]\n[Stipulation \"+\"]\n\n1. c4 (1. Qxg7+ $2 Kxg7) 1... Qd6 2. Qxg7# *",
        );
        assert!(told.whys.len() > MOST, "{:?}", told.whys);
        assert!(told.gist.len() <= MOST, "{:?}", sentences(&told));
        for said in &told.gist {
            match said.about {
                About::Why(index) => {
                    assert!(told.whys[index].sentence.starts_with(&said.sentence));
                }
                About::Try(index) => assert_eq!(said.sentence, told.tries[index].sentence),
                About::Before => {
                    assert!(said.sentence.ends_with(&told.before.threats[0].sentence));
                }
            }
        }
        let order = told.gist.last().expect("a gist");
        assert!(
            order.sentence.starts_with("The order matters"),
            "{:?}",
            sentences(&told)
        );
    }

    #[test]
    fn a_key_without_an_idea_says_how_it_meets_the_threat() {
        let told = told(
            "[FEN \"r2q1rk1/2pb1ppp/pp2p2B/8/3Pp3/6QP/PPP2PP1/R4RK1 b - - 1 16\"]\n[Stipulation \"=\"]\n\n16... Qf6 *",
        );
        let said = sentences(&told);
        assert_eq!(said[0], "White has a threat: 17.Qxg7#.");
        assert_eq!(said[1], "16...Qf6 guards the pawn on g7.");
    }

    /// The rook is taken at once: what it could do if it were not is no threat to begin with.
    #[test]
    fn what_is_taken_back_threatens_nothing() {
        let told = told(
            "[FEN \"6k1/8/3r4/4K1P1/3B3p/p3P2P/2p5/1bR5 b - - 1 53\"]\n[Stipulation \"bm\"]\n\n53... Rxd4 *",
        );
        assert!(!told.after.threats.is_empty());
        assert!(told.whys.iter().all(|why| !why.threat), "{:?}", told.whys);
    }

    #[test]
    fn where_nothing_is_known_nothing_is_said() {
        assert!(of(&Explanation::default(), &[], false, None, "Black").is_empty());
    }
}
