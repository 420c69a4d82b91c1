//! What the audience suggests: judged by what is known of the position, and
//! counted. What nothing is known of is not judged.

use keyproof::check::{Known, Ruling};
use keyproof::explain::Proof;
use keyproof::failure;
use keyproof::notation::moves;
use keyproof::tongue::{phrase, say};
use serde::{Deserialize, Serialize};
use shakmaty::{Move, Position};

use super::script::{Question, Script, Spot, Turn, numbered};
use crate::work::SheetId;

/// What a suggestion is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Verdict {
    Right,
    Wrong,
    /// Between the margins, or searched without a decision.
    Between,
    /// Nothing is known of it.
    NotJudged,
}

/// A suggestion that was judged.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Judged {
    pub verdict: Verdict,
    /// The move, and what refutes it.
    pub line: Vec<Move>,
    /// In a sentence.
    pub text: String,
    /// What that rests on.
    pub proof: Option<String>,
    /// The author's words on it.
    pub words: Vec<String>,
}

/// Judges a move that is played at a turn of the solver's.
pub fn judge(question: &Question, turn: &Turn, known: &Known, mv: Move) -> Judged {
    let Turn {
        node,
        position,
        goal,
    } = turn;
    let puzzle = question.puzzle;
    let listed = puzzle.child(*node, mv);
    let words = listed.map_or(Vec::new(), |id| puzzle.node(id).words.clone());
    let name = numbered(position, &[mv]);
    let said = |verdict, text| (verdict, vec![mv], say!(text, move = name.clone()));
    let mut proof = None;
    let (verdict, line, text) = match known.ruling(position, *goal, mv) {
        None => said(Verdict::NotJudged, phrase!("{move} is not judged.", "move")),
        Some(Ruling::Open { .. }) => said(
            Verdict::Between,
            phrase!("{move} is neither right nor wrong.", "move"),
        ),
        Some(Ruling::Holds { .. })
            if puzzle.accepted(*node).next() == listed && listed.is_some() =>
        {
            said(Verdict::Right, phrase!("{move} is right.", "move"))
        }
        Some(Ruling::Holds { .. }) => {
            said(Verdict::Right, phrase!("{move} is right as well.", "move"))
        }
        Some(Ruling::Fails { line, .. }) => {
            let first = *node == keyproof::draft::NodeId::ROOT;
            let told = question.told.filter(|_| first);
            let uci = moves::uci(mv);
            let failed = told.and_then(|told| {
                told.failures
                    .iter()
                    .find(|failed| failed.line.first() == Some(&uci))
            });
            match failed {
                Some(failed) => {
                    proof = failed.proof.as_ref().map(Proof::words);
                    let line = moves::read_ucis(position, &failed.line);
                    (Verdict::Wrong, line, failed.sentence.clone())
                }
                None => {
                    let text = failure::by_line(position, line, *goal, position.fullmoves().get());
                    (Verdict::Wrong, line.clone(), text)
                }
            }
        }
    };
    Judged {
        verdict,
        line,
        text,
        proof,
        words,
    }
}

/// Judges anew what was judged at the steps of this sheet.
pub fn judge_anew(polls: &mut [Poll], script: &Script) {
    for poll in polls
        .iter_mut()
        .filter(|poll| poll.sheet == script.sheet.id)
    {
        let spot = poll.spot;
        if let (Some(question), Some(turn)) = (script.question(spot.at), script.turn(spot)) {
            poll.judge_anew(&question, &turn, &script.model.known);
        }
    }
}

/// What was suggested at one place of the talk.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Poll {
    sheet: SheetId,
    spot: Spot,
    pub moves: Vec<Suggestion>,
}

/// A move that was suggested.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Suggestion {
    pub uci: String,
    /// By how many.
    pub count: u32,
    /// What it is, once that was said.
    pub verdict: Option<Verdict>,
}

impl Poll {
    pub fn new(sheet: SheetId, spot: Spot) -> Poll {
        Poll {
            sheet,
            spot,
            moves: Vec::new(),
        }
    }
    pub fn is_of(&self, sheet: SheetId, spot: Spot) -> bool {
        (self.sheet, self.spot) == (sheet, spot)
    }
    /// One more suggests a move; its place.
    pub fn suggest(&mut self, uci: &str) -> usize {
        let there = self.moves.iter().position(|other| other.uci == uci);
        let place = there.unwrap_or_else(|| {
            self.moves.push(Suggestion {
                uci: uci.to_owned(),
                count: 0,
                verdict: None,
            });
            self.moves.len() - 1
        });
        self.moves[place].count += 1;
        place
    }
    /// Judges anew what was judged. A verdict stands until there is another: while a page
    /// that was loaded anew is checked again, nothing is known at first.
    fn judge_anew(&mut self, question: &Question, turn: &Turn, known: &Known) {
        for suggested in self.moves.iter_mut().filter(|s| s.verdict.is_some()) {
            let Some(mv) = moves::read_uci(&turn.position, &suggested.uci) else {
                continue;
            };
            let verdict = judge(question, turn, known, mv).verdict;
            if verdict != Verdict::NotJudged {
                suggested.verdict = Some(verdict);
            }
        }
    }
    /// One more, or one less, suggests a move; nobody any more, and it goes.
    pub fn count(&mut self, place: usize, more: bool) {
        let Some(suggested) = self.moves.get_mut(place) else {
            return;
        };
        suggested.count = match more {
            true => suggested.count + 1,
            false => suggested.count.saturating_sub(1),
        };
        self.moves.retain(|suggested| suggested.count > 0);
    }
}
