//! What happens in a talk.

use keyproof::marks::{LineKind, Mark};
use shakmaty::Move;

use crate::talk::{Margin, Ready, Spot, Switch, Talk, Tone, Tool};

/// A message about the talk.
#[derive(Clone, Debug)]
pub enum TalkMsg {
    Begin,
    Leave,
    /// Comes back from a line, or else leaves.
    Escape,
    /// On (`true`) or back: all that a remote can do.
    Step(bool),
    Go(Spot),
    NextQuestion,
    /// A move is played on the board.
    Play(Move),
    /// A move is suggested.
    Suggest(Move),
    /// A suggestion, by its place, is judged.
    Judge(usize),
    /// One more (`true`) or one less suggests it.
    Count(usize, bool),
    Show(Ready),
    /// The line on the board plays on by itself, if it is still the same.
    PlayOn(u32),
    /// Comes back from a line.
    Return,
    Tool(Tool),
    Kind(LineKind),
    Tone(Tone),
    Mark(Mark),
    /// The pointer is there, in squares from the board's upper left corner.
    Point(Option<(f32, f32)>),
    Wipe,
    Switch(Switch),
    /// Seconds that the audience has for a question.
    Limit(Option<u32>),
    /// Stops the clock of the question, or lets it run.
    Clock,
    Margin(Margin),
    /// Counts the moments from now on.
    CountFromNow,
    /// Notes where the talk is as a moment.
    Note,
    CopyMoments,
    SaveMoments,
    /// Opens the audience's window, or closes it.
    Audience(bool),
    /// The audience's window is there, or is there no more.
    AudienceIs(bool),
    /// A second has passed, if it is still the same talk.
    Tick(u32),
    /// A talk that was held when the page was loaded before.
    Recall(Box<Talk>),
}
