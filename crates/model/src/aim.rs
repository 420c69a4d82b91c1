//! What may be aimed at: mate, selfmate, stalemate or helpmate.

use shakmaty::{Chess, Position};

use crate::tongue::{phrase, tr};

/// What a line must end in. How many moves a claim leaves for it counts the
/// solver's moves: in a helpmate, where the solver plays both sides, those are
/// half moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Aim {
    /// The solver mates.
    Mate,
    /// The solver makes the other side mate him.
    Selfmate,
    /// The other side, not in check, has no legal move.
    Stalemate,
    /// Both sides help to mate the one that is not to play the last half move.
    Helpmate,
}

impl Aim {
    pub const ALL: [Aim; 4] = [Aim::Mate, Aim::Selfmate, Aim::Stalemate, Aim::Helpmate];

    /// The trade's sign, which stands before the number of moves.
    pub fn sign(self) -> &'static str {
        match self {
            Aim::Mate => "#",
            Aim::Selfmate => "s#",
            Aim::Stalemate => "==",
            Aim::Helpmate => "h#",
        }
    }

    pub fn noun(self) -> &'static str {
        tr(match self {
            Aim::Mate => phrase("mate"),
            Aim::Selfmate => phrase("selfmate"),
            Aim::Stalemate => phrase("stalemate"),
            Aim::Helpmate => phrase("helpmate"),
        })
    }

    /// What stands on the board at the end.
    pub fn end(self) -> &'static str {
        tr(match self {
            Aim::Stalemate => phrase("stalemate"),
            Aim::Mate | Aim::Selfmate | Aim::Helpmate => phrase("mate"),
        })
    }

    /// How the trade writes `n` moves of the solver: "2", or in a helpmate
    /// "2.5" for five half moves.
    pub fn count(self, n: u8) -> String {
        match self {
            Aim::Helpmate if n % 2 == 1 => format!("{}.5", n / 2),
            Aim::Helpmate => (n / 2).to_string(),
            _ => n.to_string(),
        }
    }

    /// Whether both sides play for the aim, so that every move is the solver's.
    pub fn shared(self) -> bool {
        self == Aim::Helpmate
    }

    /// Whether a move of the other side, which led to `position`, ends the
    /// line as the solver wishes.
    pub fn ended(self, position: &Chess) -> bool {
        self == Aim::Selfmate && position.is_checkmate()
    }

    /// The numbers of moves up to `n` in which the aim can be reached: in a
    /// helpmate every second, since the side that mates plays the last.
    pub fn lengths(self, n: u8) -> impl Iterator<Item = u8> {
        let (first, step) = if self.shared() {
            (2 - n % 2, 2)
        } else {
            (1, 1)
        };
        (first..=n).step_by(step)
    }
}
