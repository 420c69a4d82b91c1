//! What has been proved so far, and questions and answers as plain text for
//! the way to and from workers.

use std::collections::HashMap;

use shakmaty::fen::Epd;
use shakmaty::{Chess, EnPassantMode, Move, Position, uci::UciMove};

use crate::notation::{fen, moves};
use crate::prove::{Prover, Verdict, Watch};

/// A question for the prover, about a position with the solver to move and
/// `n` moves left: does each of `moves` force mate within `n`? With no moves
/// given: is there a forced mate at all?
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Question {
    pub fen: String,
    pub n: u8,
    /// UCI.
    pub moves: Vec<String>,
}

/// The prover's answer to a question.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Answer {
    pub question: Question,
    /// One per move of the question, in its order. Without moves: one, the
    /// shortest mate, or `Fails` with an empty line.
    pub verdicts: Vec<PlainVerdict>,
    /// Nodes spent on this answer.
    pub nodes: u64,
}

/// A [`Verdict`] as text; lines in UCI.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "snake_case")
)]
pub enum PlainVerdict {
    Forces { length: u8, line: Vec<String> },
    Fails { line: Vec<String> },
    Unknown { nodes: u64 },
}

/// All that has been proved so far, by position and moves left. Survives
/// edits, so only what changed is proved again.
#[derive(Clone, Debug, Default)]
pub struct Known {
    entries: HashMap<(String, u8), Entry>,
    nodes: u64,
}

#[derive(Clone, Debug, Default)]
struct Entry {
    moves: Vec<(Move, Verdict)>,
    mate: Option<Verdict>,
}

impl Known {
    /// Takes an answer in. What does not fit its question is left out.
    pub fn learn(&mut self, answer: &Answer) {
        let Ok(position) = fen::read(&answer.question.fen) else {
            return;
        };
        self.nodes += answer.nodes;
        let n = answer.question.n;
        if answer.question.moves.is_empty() {
            if let Some(verdict) = answer.verdicts.first().and_then(|v| rich(&position, v)) {
                self.learn_mate(&position, n, verdict);
            }
            return;
        }
        for (text, verdict) in answer.question.moves.iter().zip(&answer.verdicts) {
            if let (Some(mv), Some(verdict)) = (read_uci(&position, text), rich(&position, verdict))
            {
                self.learn_move(&position, n, mv, verdict);
            }
        }
    }

    /// Takes in a verdict on one move.
    pub fn learn_move(&mut self, position: &Chess, n: u8, mv: Move, verdict: Verdict) {
        let moves = &mut self.entries.entry((key(position), n)).or_default().moves;
        match moves.iter_mut().find(|(m, _)| *m == mv) {
            Some(slot) => slot.1 = verdict,
            None => moves.push((mv, verdict)),
        }
    }

    /// The verdict on a move with `n` moves left, if known. `Unknown` counts
    /// as an answer: the budget was spent.
    pub fn verdict(&self, position: &Chess, n: u8, mv: Move) -> Option<&Verdict> {
        let entry = self.entries.get(&(key(position), n))?;
        entry.moves.iter().find(|(m, _)| *m == mv).map(|(_, v)| v)
    }

    /// All verdicts at a position with `n` moves left.
    pub fn verdicts(&self, position: &Chess, n: u8) -> &[(Move, Verdict)] {
        self.entries
            .get(&(key(position), n))
            .map_or(&[], |e| &e.moves)
    }

    /// Whether a mate within `n` exists: the shortest (`Forces`), none
    /// (`Fails`), or undecided; `None` if never asked.
    pub fn mate(&self, position: &Chess, n: u8) -> Option<&Verdict> {
        self.entries.get(&(key(position), n))?.mate.as_ref()
    }

    /// Nodes spent on all that is known.
    pub fn nodes(&self) -> u64 {
        self.nodes
    }

    /// Forgets what was left undecided, so that it is asked again (with a
    /// larger budget, say).
    pub fn forget_undecided(&mut self) {
        for entry in self.entries.values_mut() {
            entry
                .moves
                .retain(|(_, v)| !matches!(v, Verdict::Unknown { .. }));
            entry.mate.take_if(|v| matches!(v, Verdict::Unknown { .. }));
        }
    }

    fn learn_mate(&mut self, position: &Chess, n: u8, verdict: Verdict) {
        self.entries.entry((key(position), n)).or_default().mate = Some(verdict);
    }
}

impl Question {
    pub(super) fn about(position: &Chess, n: u8, moves: &[Move]) -> Question {
        Question {
            fen: format!("{} 0 1", key(position)),
            n,
            moves: moves.iter().map(|&m| moves::uci(m)).collect(),
        }
    }
}

/// Puts one question to a prover. A question that cannot be read is answered
/// `Unknown`.
pub fn answer(question: &Question, prover: &mut Prover, watch: &mut dyn Watch) -> Answer {
    let before = prover.nodes;
    let verdicts = verdicts(question, prover, watch)
        .unwrap_or_else(|| vec![PlainVerdict::Unknown { nodes: 0 }; question.moves.len().max(1)]);
    Answer {
        question: question.clone(),
        verdicts,
        nodes: prover.nodes - before,
    }
}

fn verdicts(
    question: &Question,
    prover: &mut Prover,
    watch: &mut dyn Watch,
) -> Option<Vec<PlainVerdict>> {
    let position = fen::read(&question.fen).ok()?;
    if question.moves.is_empty() {
        return Some(vec![match prover.mate(&position, question.n, watch) {
            Ok(Some((_, verdict))) => plain(&verdict),
            Ok(None) => PlainVerdict::Fails { line: Vec::new() },
            Err(nodes) => PlainVerdict::Unknown { nodes },
        }]);
    }
    let asked: Vec<Move> = question
        .moves
        .iter()
        .map(|m| read_uci(&position, m))
        .collect::<Option<_>>()?;
    let judged = prover.judge(&position, question.n, Some(&asked), watch);
    asked
        .iter()
        .map(|mv| judged.iter().find(|(m, _)| m == mv).map(|(_, v)| plain(v)))
        .collect()
}

/// Positions that differ in their clocks alone share what is known.
fn key(position: &Chess) -> String {
    Epd::from_position(position, EnPassantMode::Legal).to_string()
}

fn plain(verdict: &Verdict) -> PlainVerdict {
    let text = |line: &[Move]| line.iter().map(|&m| moves::uci(m)).collect();
    match verdict {
        Verdict::Forces { length, line } => PlainVerdict::Forces {
            length: *length,
            line: text(line),
        },
        Verdict::Fails { line } => PlainVerdict::Fails { line: text(line) },
        Verdict::Unknown { nodes } => PlainVerdict::Unknown { nodes: *nodes },
    }
}

/// `None` if the line is not legal from the position.
fn rich(position: &Chess, verdict: &PlainVerdict) -> Option<Verdict> {
    let read = |line: &[String]| {
        let mut position = position.clone();
        let mut moves = Vec::with_capacity(line.len());
        for text in line {
            let mv = read_uci(&position, text)?;
            position.play_unchecked(mv);
            moves.push(mv);
        }
        Some(moves)
    };
    Some(match verdict {
        PlainVerdict::Forces { length, line } => Verdict::Forces {
            length: *length,
            line: read(line)?,
        },
        PlainVerdict::Fails { line } => Verdict::Fails { line: read(line)? },
        PlainVerdict::Unknown { nodes } => Verdict::Unknown { nodes: *nodes },
    })
}

fn read_uci(position: &Chess, text: &str) -> Option<Move> {
    text.parse::<UciMove>().ok()?.to_move(position).ok()
}
