//! The leaves of the desk: the parts of the work at one puzzle, in the order in
//! which it is done. One lies open beside the board at a time.

use keyproof::tongue::tr;

/// A part of the work at the open puzzle.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Leaf {
    /// What is asked, and the moves.
    #[default]
    Solution,
    /// Where a game asks.
    Moments,
    /// Whether it is right.
    Check,
    /// What students read.
    Words,
    /// How students meet it.
    Students,
    GiveOut,
}

impl Leaf {
    pub const ALL: [Leaf; 6] = [
        Leaf::Solution,
        Leaf::Moments,
        Leaf::Check,
        Leaf::Words,
        Leaf::Students,
        Leaf::GiveOut,
    ];
    /// The id of its element.
    pub fn id(self) -> &'static str {
        match self {
            Leaf::Solution => "leaf-solution",
            Leaf::Moments => "leaf-moments",
            Leaf::Check => "leaf-check",
            Leaf::Words => "leaf-words",
            Leaf::Students => "leaf-students",
            Leaf::GiveOut => "leaf-give-out",
        }
    }
    /// What it is called; `game`: of a game or a lesson.
    pub fn title(self, game: bool) -> &'static str {
        match self {
            Leaf::Solution if game => tr("Game"),
            Leaf::Solution => tr("Solution"),
            Leaf::Moments => tr("Moments"),
            Leaf::Check => tr("Check"),
            Leaf::Words => tr("Words"),
            Leaf::Students => tr("Students"),
            Leaf::GiveOut => tr("Give out"),
        }
    }
    /// The leaf that a field of this id stands on.
    pub fn with(field: &str) -> Option<Leaf> {
        match field {
            "move-here" | "words-here" | "stipulation" | "moves" | "typed-move" => {
                Some(Leaf::Solution)
            }
            "proof-here" => Some(Leaf::Check),
            "task" | "hint-1" | "white" => Some(Leaf::Words),
            "language" => Some(Leaf::Students),
            "publish" => Some(Leaf::GiveOut),
            _ => None,
        }
    }
}
