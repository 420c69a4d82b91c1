//! What can become of a position of a game on its way to being proposed.

/// How far a position of a game came on its way to being proposed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Screening {
    /// Proposed, at this place from 0.
    Proposed(usize),
    /// Part of one answer with another moment.
    Beside,
    /// Worth too little.
    LittleWorth,
    /// A mate that needs no asking.
    Plain,
    /// No move is found right.
    NoneRight,
    /// Too many moves are right.
    ManyRight,
    /// Others promise more.
    LessThanOthers,
    /// The look finds nothing to ask.
    AsksNothing,
    /// The first pass sees something, and the rest is not known yet.
    Seen,
    /// Nothing is at stake.
    Calm,
    /// The side to move wins anyhow.
    Won,
    /// The side to move is lost anyhow.
    Lost,
    /// An opening move.
    Opening,
    /// There is no choice.
    Forced,
    /// Not looked at yet.
    Unknown,
}
