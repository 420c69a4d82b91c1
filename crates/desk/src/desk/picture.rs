//! The diagram of what stands on the board, as a file.

use keyproof::draft::NodeId;
use keyproof::lesson::Place;
use keyproof::marks::{LineKind, Mark};
use keyproof::notation::fen;
use keyproof::picture::Picture;
use shakmaty::{Chess, Color, Move, Position, Square};

use super::{Desk, Showing};
use crate::message::{Effect, PictureChange, Scope};
use crate::view_model::ViewModel;

/// How diagrams are saved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Picturing {
    pub coordinates: bool,
    /// Of an image of points.
    pub width: u32,
}

impl Default for Picturing {
    fn default() -> Picturing {
        Picturing {
            coordinates: true,
            width: 1200,
        }
    }
}

impl Desk {
    pub fn picturing(&self) -> Picturing {
        self.giving_out.picturing
    }
    /// Whether Black's side of the board is below.
    pub fn black_below(&self, model: &ViewModel) -> bool {
        (model.solver() == Color::Black && !model.shared()) != self.board.turned
    }
    pub(super) fn picture(&mut self, change: PictureChange) -> Vec<Effect> {
        match change {
            PictureChange::Coordinates(on) => self.giving_out.picturing.coordinates = on,
            PictureChange::Width(width) => self.giving_out.picturing.width = width,
            PictureChange::SaveSvg | PictureChange::SavePng => {
                let Some((stem, svg)) = self.pictured() else {
                    return vec![];
                };
                return vec![match change {
                    PictureChange::SaveSvg => Effect::Download {
                        name: format!("{stem}.svg"),
                        kind: "image/svg+xml",
                        text: svg,
                    },
                    _ => Effect::Png {
                        name: format!("{stem}.png"),
                        svg,
                        width: self.giving_out.picturing.width,
                    },
                }];
            }
        }
        vec![]
    }

    /// The name of the file and the drawing of what stands on the board.
    fn pictured(&self) -> Option<(String, String)> {
        let (_, model) = self.opened()?;
        let (position, marks): (&Chess, Vec<Mark>) = match &self.board.showing {
            Some(showing) => (&showing.positions[showing.at], showing.marks()),
            None => (
                model.position(self.document.work.at)?,
                self.drawn(self.document.work.at),
            ),
        };
        let black_below = self.black_below(model);
        let mut stem = self.file_stem(Scope::Open);
        if self.document.work.at != NodeId::ROOT || self.board.showing.is_some() {
            stem.push_str(&format!("-{}", Place::of(position)));
        }
        let title = fen::write(position);
        let picture = Picture {
            board: position.board(),
            black_below,
            coordinates: self.giving_out.picturing.coordinates,
            marks: &marks,
            title: &title,
        };
        Some((stem, picture.svg()))
    }
}

impl Showing {
    /// The marks on the board: those of the position, else the next move.
    pub fn marks(&self) -> Vec<Mark> {
        match self.own_marks() {
            Some(marks) => marks.to_vec(),
            None => self.moves.get(self.at).map(arrow).into_iter().collect(),
        }
    }
}

fn arrow(mv: &Move) -> Mark {
    let to = match *mv {
        Move::Castle { king, rook } => {
            let file = if rook > king {
                shakmaty::File::G
            } else {
                shakmaty::File::C
            };
            Square::from_coords(file, king.rank())
        }
        _ => mv.to(),
    };
    Mark::Line {
        from: mv.from().unwrap_or(to),
        to,
        kind: LineKind::Answer,
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{bring, desk};
    use super::*;
    use crate::message::{BoardMsg, GiveOutMsg, Msg, TreeStep};

    fn saved(desk: &mut Desk) -> (String, String) {
        match desk
            .update(Msg::GiveOut(GiveOutMsg::Picture(PictureChange::SaveSvg)))
            .as_slice()
        {
            [Effect::Download { name, text, .. }] => (name.clone(), text.clone()),
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn the_diagram_is_saved_as_it_is_shown() {
        let mut desk = desk();
        bring(&mut desk, "[Event \"Board two\"]\n\n1. e4 e5 2. Nf3 *\n");
        let (name, start) = saved(&mut desk);
        assert_eq!(name, "board-two.svg");
        desk.update(Msg::Board(BoardMsg::TurnBoard));
        assert_ne!(saved(&mut desk).1, start);
        desk.update(Msg::Board(BoardMsg::TurnBoard));
        desk.update(Msg::Board(BoardMsg::Walk(TreeStep::Forward)));
        let (name, plain) = saved(&mut desk);
        assert_eq!(name, "board-two-1b.svg");
        assert!(!plain.contains("kp-answer"));
        let at = desk.work().at;
        desk.update(Msg::Board(BoardMsg::Show {
            node: at,
            line: vec!["e7e5".into()],
        }));
        assert!(saved(&mut desk).1.contains("<g class=\"kp-answer\">"));
        desk.update(Msg::GiveOut(GiveOutMsg::Picture(
            PictureChange::Coordinates(false),
        )));
        assert!(!saved(&mut desk).1.contains("<text"));
        desk.update(Msg::GiveOut(GiveOutMsg::Picture(PictureChange::Width(600))));
        let effects = desk.update(Msg::GiveOut(GiveOutMsg::Picture(PictureChange::SavePng)));
        assert!(
            matches!(&effects[..], [Effect::Png { width: 600, name, .. }] if name.ends_with(".png"))
        );
    }
}
