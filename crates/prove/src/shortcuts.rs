//! The shortcuts of the search. None changes an answer: with the feature
//! `shortcuts`, which is for tests alone, each can be switched off by itself,
//! and the answers must stay as they are. Without the feature all are taken,
//! and nothing of this is left in the program.

/// What the search leaves out, guesses first, or looks up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shortcut {
    /// Replies that refuted sister positions are tried first.
    Refuters,
    /// The same before the last move, without looking whether they are legal.
    LastRefuters,
    /// Solver's moves that won sister positions are tried first.
    Winners,
    /// Mate in one is told without playing it.
    QuickMate,
    /// The mate that met one reply is tried against the next.
    StillMates,
    /// Two moves before the end what the refutation of a null move refutes too is left out.
    NullMove,
    /// What is known of a position is looked up.
    Table,
    /// What cannot give check is told without playing it, and comes last.
    Checks,
}

impl Shortcut {
    /// All there are.
    pub const ALL: [Shortcut; 8] = [
        Shortcut::Refuters,
        Shortcut::LastRefuters,
        Shortcut::Winners,
        Shortcut::QuickMate,
        Shortcut::StillMates,
        Shortcut::NullMove,
        Shortcut::Table,
        Shortcut::Checks,
    ];
}

/// The shortcuts that are taken: all, unless some are switched off.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Shortcuts {
    /// A bit for each of [`Shortcut::ALL`].
    #[cfg(feature = "shortcuts")]
    off: u8,
}

impl Shortcuts {
    /// All but those whose bits, by their place in [`Shortcut::ALL`], are in
    /// `off`.
    #[cfg(feature = "shortcuts")]
    pub fn without(off: u8) -> Shortcuts {
        Shortcuts { off }
    }

    #[inline]
    pub(super) fn take(self, shortcut: Shortcut) -> bool {
        #[cfg(feature = "shortcuts")]
        return self.off >> shortcut as u8 & 1 == 0;
        #[cfg(not(feature = "shortcuts"))]
        {
            let _ = shortcut;
            true
        }
    }
}
