//! What is asked of the solver's moves, and how it is said in words.

use shakmaty::Chess;

use model::aim::Aim;
use model::puzzle::{Margins, Puzzle, Stipulation};
use model::tongue::{Counted, phrase, say};

/// What a move must do to be right.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "snake_case")
)]
pub enum Goal {
    /// Force mate within so many moves of the solver, itself included.
    Mate(u8),
    /// Force the other side to mate within so many moves of the solver. With 0
    /// left only the other side's move is to come.
    Selfmate(u8),
    /// Force stalemate of the other side within so many moves of the solver.
    Stalemate(u8),
    /// Leave a mate that both sides can reach within so many half moves, this
    /// one included.
    Helpmate(u8),
    /// Keep a won game.
    Win(Margins),
    /// Hold the draw.
    Draw(Margins),
    /// Be as good as the best move.
    Best(Margins),
}

impl Goal {
    /// What the puzzle asks of its first move.
    pub fn of(puzzle: &Puzzle) -> Goal {
        let margins = puzzle.margins();
        match puzzle.stipulation() {
            Stipulation::Mate(n) => Goal::Mate(n),
            Stipulation::Selfmate(n) => Goal::Selfmate(n),
            Stipulation::Stalemate(n) => Goal::Stalemate(n),
            Stipulation::Helpmate(n) => Goal::Helpmate(n),
            Stipulation::Win => Goal::Win(margins),
            Stipulation::Draw => Goal::Draw(margins),
            Stipulation::Best => Goal::Best(margins),
        }
    }

    /// What is asked of the solver's next move; `None` when no move is left.
    pub fn next(self) -> Option<Goal> {
        match self {
            Goal::Mate(n) => n.checked_sub(1).filter(|&n| n > 0).map(Goal::Mate),
            Goal::Stalemate(n) => n.checked_sub(1).filter(|&n| n > 0).map(Goal::Stalemate),
            Goal::Helpmate(n) => n.checked_sub(1).filter(|&n| n > 0).map(Goal::Helpmate),
            Goal::Selfmate(n) => n.checked_sub(1).map(Goal::Selfmate),
            other => Some(other),
        }
    }

    /// What must be proved to be reached, and the solver's moves left for it;
    /// `None` where nothing is.
    pub fn forced(self) -> Option<(Aim, u8)> {
        match self {
            Goal::Mate(n) => Some((Aim::Mate, n)),
            Goal::Selfmate(n) => Some((Aim::Selfmate, n)),
            Goal::Stalemate(n) => Some((Aim::Stalemate, n)),
            Goal::Helpmate(n) => Some((Aim::Helpmate, n)),
            Goal::Win(_) | Goal::Draw(_) | Goal::Best(_) => None,
        }
    }

    /// The moves left in which something must be forced.
    pub fn moves_left(self) -> Option<u8> {
        self.forced().map(|(_, n)| n)
    }

    /// Moves of a pair left, the last one counted whole: how hard a proof is.
    pub fn pairs_left(self) -> Option<u8> {
        self.forced()
            .map(|(aim, n)| if aim.shared() { n.div_ceil(2) } else { n })
    }

    /// Whether the solver plays both sides, so that no move is a defence.
    pub fn shared(self) -> bool {
        matches!(self, Goal::Helpmate(_))
    }

    /// Whether a move of the other side, which led to `position`, ends the
    /// line as the solver wishes.
    pub fn ended(self, position: &Chess) -> bool {
        self.forced().is_some_and(|(aim, _)| aim.ended(position))
    }

    /// What a wrong move does not: "does not force mate in 2".
    pub fn missed(self) -> String {
        let text = match self {
            Goal::Mate(1) | Goal::Helpmate(1) => phrase!("does not mate", "n"),
            Goal::Mate(_) => phrase!("does not force mate in {n}", "n"),
            Goal::Selfmate(_) => phrase!("does not force selfmate in {n}", "n"),
            Goal::Stalemate(1) => phrase!("does not give stalemate", "n"),
            Goal::Stalemate(_) => phrase!("does not force stalemate in {n}", "n"),
            Goal::Helpmate(_) => phrase!("does not lead to helpmate in {n}", "n"),
            Goal::Win(_) => phrase!("does not win", "n"),
            Goal::Draw(_) => phrase!("does not hold", "n"),
            Goal::Best(_) => phrase!("is not the best move", "n"),
        };
        self.counted(text, self.moves_left().unwrap_or(0))
    }

    /// A text with a number of the solver's moves.
    pub fn counted(self, text: Counted, n: u8) -> String {
        let aim = self.forced().map_or(Aim::Mate, |(aim, _)| aim);
        say!(text, n = aim.count(n))
    }
}
