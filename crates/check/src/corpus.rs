//! Puzzles made of generated positions, for tests and measurements.

use model::aim::Aim;
use model::draft::{Draft, Edit, EditFault, NodeId};
use model::notation::{fen, moves};
use model::puzzle::Stipulation;
use model::resolved::Resolved;
use play::known::Known;
use prove::Unwatched;
use shakmaty::{Chess, Move};

use crate::{Judge, check, fill};

/// A puzzle that asks for an aim within `n` moves, with these first moves as its keys
/// and every defence answered as far as `judge` knows an answer.
///
/// # Errors
/// A key that cannot be written at the position.
pub fn puzzle(
    position: &Chess,
    aim: Aim,
    n: u8,
    keys: &[Move],
    judge: &mut Judge,
) -> Result<Draft, EditFault> {
    let mut draft = Draft::new();
    let fen = Some(fen::write(position));
    draft.apply(&Edit::SetStart { fen })?;
    let name = "Stipulation".to_owned();
    let value = Some(Stipulation::Forced(aim, n).to_string());
    draft.apply(&Edit::SetTag { name, value })?;
    for &key in keys {
        let (at, moves) = (NodeId::ROOT, vec![moves::san(position, key)]);
        let nags = vec![1];
        draft.apply(&Edit::AddLine { at, moves, nags })?;
    }
    let mut known = Known::default();
    for _ in 0..n {
        check(&draft, &mut known, judge, &mut Unwatched);
        let mut filling = fill(&Resolved::of(&draft), &known);
        while !filling.questions.is_empty() {
            for question in &filling.questions {
                known.learn(&judge.answer(question, &mut Unwatched));
            }
            filling = fill(&Resolved::of(&draft), &known);
        }
        match filling.draft {
            Some(filled) => draft = filled,
            None => break,
        }
    }
    Ok(draft)
}
