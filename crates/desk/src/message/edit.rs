//! What happens to the open puzzle, and undoing it.

use keyproof::draft::Edit;
use keyproof::draft::NodeId;
use keyproof::marks::Mark;
use shakmaty::Move;

use crate::book::Claim;
use crate::setup::SetupChange;

/// A message about the open puzzle.
#[derive(Clone, Debug)]
pub enum EditMsg {
    Undo,
    Redo,
    /// A field lost the focus: what is typed next counts on its own.
    FieldLeft,
    Play(Move),
    Claim(NodeId, Claim),
    /// Moves the line one is at up (-1) or down (1) among its siblings.
    ShiftHere(i32),
    CutHere,
    /// The move one is at with what follows, to be pasted elsewhere.
    CopyLine,
    CutLine,
    PasteLine,
    /// A sign was typed at the move one is at.
    Glyph(char),
    /// Sets the glyphs of the move one is at.
    Glyphs(Vec<u8>),
    Words {
        node: NodeId,
        text: String,
    },
    WordsBefore {
        node: NodeId,
        text: String,
    },
    Tag {
        name: String,
        value: String,
    },
    /// Draws a mark at the move one is at, or takes the same one away.
    Draw(Mark),
    /// Takes all marks at the move one is at away.
    Wipe,
    Mend(Vec<Edit>),
    Setup(SetupChange),
    /// Adds the line shown, as far as it is played, to the solution.
    AddWalked,
}
