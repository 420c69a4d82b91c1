//! Side lines folded and unfolded, puzzle by puzzle.

use std::collections::HashMap;

use keyproof::draft::NodeId;

use super::Desk;
use crate::book::{Printed, Shown};
use crate::message::Effect;

/// What the author folded and unfolded in a puzzle.
#[derive(Clone, Debug, Default)]
pub(super) struct Folds {
    /// All side lines, the last time that was asked.
    all: Option<bool>,
    /// By the first move of a row, since then.
    of: HashMap<NodeId, bool>,
}

impl Desk {
    /// The rows of the open tree as they are shown.
    pub fn shown_rows(&self) -> Vec<Shown<'_>> {
        let Some((_, model)) = self.opened() else {
            return Vec::new();
        };
        model
            .book
            .shown(self.document.work.at, &|head| self.is_folded(head))
    }
    /// Whether what follows the first move of a row is folded, the way to where
    /// one stands aside.
    fn is_folded(&self, head: &Printed) -> bool {
        let Some((sheet, model)) = self.opened() else {
            return false;
        };
        let folds = self.board.folds.get(&sheet.id);
        let all = || folds.and_then(|folds| Some(folds.all? && !head.first));
        let own = folds.and_then(|folds| folds.of.get(&head.node).copied());
        own.or_else(all).unwrap_or_else(|| model.book.folds(head))
    }
    /// Folds or unfolds the row in which a move stands. Who stands in what is
    /// folded goes to its first move.
    pub(super) fn fold(&mut self, node: NodeId) -> Vec<Effect> {
        let Some((sheet, model)) = self.opened() else {
            return vec![];
        };
        let Some(head) = model.book.head(node).cloned() else {
            return vec![];
        };
        let id = sheet.id;
        let inside = model.book.is_below(self.document.work.at, head.node);
        let fold = inside || !self.is_folded(&head);
        let folds = self.board.folds.entry(id).or_default();
        folds.of.insert(head.node, fold);
        if inside {
            self.go(head.node);
        }
        vec![]
    }
    /// Folds or unfolds all side lines.
    pub(super) fn fold_all(&mut self, fold: bool) -> Vec<Effect> {
        if let Some(id) = self.document.work.open {
            let folds = Folds {
                all: Some(fold),
                of: HashMap::new(),
            };
            self.board.folds.insert(id, folds);
        }
        vec![]
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{bring, desk, run};
    use super::*;
    use crate::message::{BoardMsg, EditMsg, Msg, TreeStep};

    /// What is shown of the tree: rows, `+n` for what a fold hides.
    fn shown(desk: &Desk) -> Vec<String> {
        let row = |shown: Shown| {
            let moves = &shown.row.moves[..if shown.folded {
                1
            } else {
                shown.row.moves.len()
            }];
            let moves: Vec<&str> = moves.iter().map(|m| m.text.as_str()).collect();
            match shown.folded {
                true => format!("{} +{}", moves[0], shown.row.after),
                false => moves.join(" "),
            }
        };
        desk.shown_rows().into_iter().map(row).collect()
    }
    fn node(desk: &Desk, san: &str) -> NodeId {
        let (sheet, _) = desk.opened().unwrap();
        let mut all = sheet.draft.walk().into_iter();
        all.find(|&id| sheet.draft.node(id).unwrap().text == san)
            .unwrap()
    }

    const BRANCHES: &str = "[FEN \"rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1\"]\n\n1. e4 e5 (1... c5 2. Nf3 d6 (2... e6 3. d4) 3. Bb5+) 2. Nc3 *";

    #[test]
    fn a_line_folds_to_its_first_move_with_all_that_branches_from_it() {
        let mut desk = desk();
        bring(&mut desk, BRANCHES);
        let open = ["e4", "e5 Nc3", "c5 Nf3", "d6 Bb5+", "e6 d4"];
        assert_eq!(shown(&desk), open);
        let c5 = node(&desk, "c5");
        run(&mut desk, Msg::Board(BoardMsg::Fold(c5)));
        assert_eq!(shown(&desk), ["e4", "e5 Nc3", "c5 +5"]);
        run(&mut desk, Msg::Board(BoardMsg::Fold(c5)));
        assert_eq!(shown(&desk), open);
    }

    #[test]
    fn the_way_to_where_one_stands_is_open_and_who_stands_inside_goes_out() {
        let mut desk = desk();
        bring(&mut desk, BRANCHES);
        let (c5, e6) = (node(&desk, "c5"), node(&desk, "e6"));
        run(&mut desk, Msg::Board(BoardMsg::FoldAll(true)));
        assert_eq!(shown(&desk), ["e4", "e5 Nc3", "c5 +5"]);
        run(&mut desk, Msg::Board(BoardMsg::Go(e6)));
        assert_eq!(shown(&desk), ["e4", "e5 Nc3", "c5 Nf3", "d6 Bb5+", "e6 +1"]);
        let d4 = node(&desk, "d4");
        run(&mut desk, Msg::Board(BoardMsg::Go(d4)));
        run(&mut desk, Msg::Board(BoardMsg::Fold(c5)));
        assert_eq!(desk.work().at, c5);
        assert_eq!(shown(&desk), ["e4", "e5 Nc3", "c5 +5"]);
        run(&mut desk, Msg::Board(BoardMsg::Walk(TreeStep::Forward)));
        assert_eq!(shown(&desk)[2], "c5 Nf3");
        run(&mut desk, Msg::Board(BoardMsg::FoldAll(false)));
        assert_eq!(shown(&desk).len(), 5);
    }

    #[test]
    fn side_lines_of_a_long_tree_are_folded_at_first() {
        let side: Vec<String> = (0..40)
            .map(|i| {
                format!(
                    "(1. {} e5 2. Nf3 Nc6 3. Bb5 a6 4. Ba4 Nf6)",
                    FIRST[i % FIRST.len()]
                )
            })
            .collect();
        let mut desk = desk();
        bring(&mut desk, &format!("1. e4 {} 1... e5 *", side.join(" ")));
        let (_, model) = desk.opened().unwrap();
        assert!(
            desk.shown_rows()
                .iter()
                .skip(1)
                .all(|row| row.folded || row.row.head().first)
        );
        assert!(model.book.can_fold());
    }
    const FIRST: [&str; 5] = ["d4", "c4", "g3", "b3", "f4"];

    #[test]
    fn a_comment_is_printed_anew_without_looking_at_the_moves_again() {
        let mut desk = desk();
        bring(&mut desk, BRANCHES);
        let c5 = node(&desk, "c5");
        run(&mut desk, Msg::Board(BoardMsg::Go(c5)));
        let words = |text: &str| {
            Msg::Edit(EditMsg::Words {
                node: c5,
                text: text.into(),
            })
        };
        run(&mut desk, words("Sharp."));
        let row = |desk: &Desk| {
            let (_, model) = desk.opened().unwrap();
            let row = model.book.row(c5).unwrap();
            desk.shown_rows()
                .into_iter()
                .find(|shown| shown.place == row)
                .unwrap()
                .row
                .moves
                .clone()
        };
        assert_eq!(
            (row(&desk)[0].words.as_str(), row(&desk)[1].number.as_str()),
            ("Sharp.", "2.")
        );
        run(&mut desk, Msg::Edit(EditMsg::Undo));
        assert_eq!(row(&desk)[0].words, "");
    }
}
