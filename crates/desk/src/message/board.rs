//! What happens at the board and in the tree without changing a puzzle: where
//! one stands, what is shown.

use keyproof::draft::NodeId;
use keyproof::marks::LineKind;
use shakmaty::Move;

use super::TreeStep;

/// A message about the board.
#[derive(Clone, Debug)]
pub enum BoardMsg {
    Go(NodeId),
    /// Goes to a move to read what is found there.
    GoRead(NodeId),
    /// Opens what was found at a move, and goes there.
    ReadFound(NodeId),
    Walk(TreeStep),
    /// Folds or unfolds the row in which a move stands.
    Fold(NodeId),
    FoldHere,
    /// Folds or unfolds all side lines.
    FoldAll(bool),
    /// Takes the pencil up, with which drags on the board draw, or lays it down.
    Pencil(bool),
    /// How what is drawn looks.
    Stroke(LineKind),
    SetUp(bool),
    TurnBoard,
    /// Shows a line from a node; moves in UCI.
    Show {
        node: NodeId,
        line: Vec<String>,
    },
    ShowTo(usize),
    /// The next move of the line shown, if it is still the same showing.
    ShowNext(u32),
    ShowEnd,
    /// Shows a reason, by its number, on the board.
    Why(usize),
    /// Marks a threat on the board, by its number: of the other side before the key, or
    /// after it of the solver.
    Threat {
        after: bool,
        index: usize,
    },
    /// Plays a move on the board, only to show it.
    Step(Move),
}
