//! What is known of the games on the desk: their moments, and where their
//! positions occurred before.

use std::collections::HashMap;

use super::Desk;
use crate::collection::Collection;
use crate::message::{Effect, GameMsg};
use crate::seek::{Effort, Seek};
use crate::work::SheetId;

/// The searches for moments, and the author's earlier games.
#[derive(Default)]
pub(super) struct Games {
    pub seeks: HashMap<SheetId, Seek>,
    /// The found moment that is shown, by its ply.
    pub regarded: Option<usize>,
    /// The found moment that is pointed at, by its ply.
    pub glimpsed: Option<usize>,
    pub effort: Effort,
    pub collection: Collection,
}

impl Desk {
    pub(super) fn update_game(&mut self, msg: GameMsg) -> Vec<Effect> {
        match msg {
            GameMsg::Seek => self.seek(),
            GameMsg::SeekEnd { all } => self.end_seek(all),
            GameMsg::Sought {
                seat,
                ticket,
                answer,
                millis,
            } => self.sought(seat, ticket, answer, millis),
            GameMsg::Regard(ply) => self.regard(ply),
            GameMsg::Glimpse(ply) => {
                self.games.glimpsed = ply;
                vec![]
            }
            GameMsg::Effort(effort) => {
                self.games.effort = effort;
                vec![]
            }
            GameMsg::SeekAnew => self.seek_anew(),
            GameMsg::AskFound(ply) => self.ask_found(ply),
            GameMsg::PuzzleOf(ply) => self.puzzle_of(ply),
            GameMsg::AskHere(moment) => self.ask_here(moment),
            GameMsg::AskNot(node) => self.ask_not(node),
            GameMsg::Earlier(event) => self.earlier(event),
        }
    }
}
