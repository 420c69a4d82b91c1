//! What the page is told.

use model::draft::NodeId;
use shakmaty::Move;

/// What the student does.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Event {
    /// A move on the board or typed.
    Play(Move),
    /// One of the answers that are offered, by its index; yes comes before no.
    Choose(usize),
    /// The pause of the next scene is over.
    Tick,
    /// Do not wait for the scenes to come.
    Skip,
    /// One more hint.
    Hint,
    /// Show the solution: play it out from here, and list it.
    Solution,
    Restart,
    /// On to the next question that was missed, from its start.
    Again,
    Turn,
    /// Shows a reason on the board, by its index, or puts it away again.
    Why(usize),
    /// Another puzzle, by its index.
    Open(usize),
    /// In a lesson: one move on or back, to the start, or as far as it goes.
    Forward,
    Back,
    Start,
    End,
    /// To a place of the lesson, or out of a side line.
    Go(NodeId),
    Leave,
    /// Open or fold a side line, by its first move.
    Unfold(NodeId),
    /// Give the question up and go on.
    Pass,
    /// In a puzzle that is done with: look around, at a move of the solution;
    /// one move on or back; and no more.
    Look(NodeId),
    LookOn,
    LookBack,
    LookEnd,
}
