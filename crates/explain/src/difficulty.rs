//! How hard a puzzle is, 1 to 5, with the numbers behind it.
//!
//! The numbers, each with the published measure it follows, and the points it
//! brings:
//!
//! | number | follows | points |
//! |---|---|---|
//! | share of legal moves that fail | Anderson, Kleinberg and Mullainathan (2016): the share of moves that blunder tells most | 15 at 100 %, falling to 0 at 50 % |
//! | tempting tries | Stoiljkovikj, Bratko and Guid (2015): the moves a solver must consider | 4 each, at most 20 |
//! | depth at which the last of them shows its fault | Biswas and Regan (2015): swing by depth | 2 for each ply beyond the first, at most 16 |
//! | changes of mind | Guid and Bratko: by how much the best move leads whenever a deeper look changes it | 1 for each half pawn, at most 10 |
//! | solver's moves | ours | 4 for each beyond the first, at most 16 |
//! | quiet moves | ours | 5 each, at most 10 |
//! | sacrifices | ours | 4 each, at most 8 |
//! | defences to see through | Stoiljkovikj, Bratko and Guid: replies near the best belong to the meaningful tree | 2 for each beyond the first, at most 10 |
//!
//! What each paper measures is told here from memory, not quoted. The points of
//! a number and the bounds of the levels are ours, not
//! published: they order puzzles, and are not fitted to solvers.

use shakmaty::{Chess, Move, Position};

use super::analyst::{Analyst, hundredths, played};
use super::tempting::{CLOSE, Depths, Tries};
use super::{ReasonKind, reasons};
use check::{Goal, Ruling};
use model::tongue::{phrase, plural, say};
use prove::Watch;
use search::Limits;

/// How hard a puzzle is, and why.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Difficulty {
    /// 1 (easy) to 5 (hard).
    pub level: u8,
    /// 0 to 105.
    pub points: u32,
    /// Legal first moves, and those that fail.
    pub legal: u32,
    /// Legal first moves that fail.
    pub failing: u32,
    /// Tempting tries.
    pub tries: u32,
    /// The depth, in plies, at which the last of them shows its fault; one
    /// beyond the greatest depth looked at for one that never did.
    pub shows_at: u32,
    /// In hundredths of a pawn.
    pub changes: u32,
    /// Solver's moves.
    pub length: u32,
    /// Moves of the solution that neither check nor take.
    pub quiet: u32,
    /// Moves of the solution that give material.
    pub sacrifices: u32,
    /// Replies to the first move that hold out about as long, or as well, as
    /// the best.
    pub defences: u32,
}

/// The least points of levels 2 to 5.
const LEVELS: [u32; 4] = [20, 35, 50, 65];

/// Replies that are compared where nothing must be forced.
const REPLIES: usize = 6;

impl Analyst {
    /// How hard the puzzle is that asks `goal` in `position` and whose main
    /// line is `line`. `judged` tells which first moves fail, `seen` which of
    /// them tempt.
    pub fn difficulty(
        &mut self,
        position: &Chess,
        goal: Goal,
        line: &[Move],
        judged: &[(Move, Ruling)],
        seen: &Tries,
        watch: &mut dyn Watch,
    ) -> Difficulty {
        let Tries { tries, depths } = seen;
        let beyond = depths.depth() + 1;
        let solver_moves = match goal.moves_left() {
            Some(n) => usize::from(n),
            None => line.len().div_ceil(2),
        };
        let sacrifices = reasons(position, line)
            .iter()
            .filter(|r| r.kind == ReasonKind::Sacrifice)
            .count();
        Difficulty {
            legal: number(position.legal_moves().len()),
            failing: number(judged.iter().filter(|(_, r)| r.fails()).count()),
            tries: number(tries.len()),
            shows_at: tries
                .iter()
                .map(|t| u32::from(t.shows_at.unwrap_or(beyond)))
                .max()
                .unwrap_or(0),
            changes: changes(depths),
            length: number(solver_moves),
            quiet: number(quiet_moves(position, line)),
            sacrifices: number(sacrifices),
            defences: match line.first() {
                Some(&key) => number(self.defences(&played(position, key), goal, watch)),
                None => 0,
            },
            ..Difficulty::default()
        }
        .weighed()
    }

    /// Replies that hold out as long as the best, or within [`CLOSE`] of it.
    fn defences(&mut self, after: &Chess, goal: Goal, watch: &mut dyn Watch) -> usize {
        if goal.shared() {
            return 0;
        }
        if let Some((aim, n)) = goal.forced() {
            let Some(fewer) = n.checked_sub(2) else {
                return 0;
            };
            let replies = after.legal_moves();
            return replies
                .into_iter()
                .filter(|&reply| {
                    let then = played(after, reply);
                    !goal.ended(&then) && self.prover().force(aim, &then, fewer, watch) == Ok(None)
                })
                .count();
        }
        let limits = Limits {
            lines: REPLIES,
            ..Limits::nodes(self.budget)
        };
        let lines = self.search.lines(after, &[], &limits, watch);
        let Some(best) = lines.first().map(|l| hundredths(l.value)) else {
            return 0;
        };
        lines
            .iter()
            .filter(|l| best - hundredths(l.value) <= CLOSE)
            .count()
    }
}

impl Difficulty {
    /// With points and level made from the numbers.
    pub fn weighed(mut self) -> Difficulty {
        let share = (self.failing * 100).checked_div(self.legal).unwrap_or(0);
        self.points = share.saturating_sub(50) * 15 / 50
            + (4 * self.tries).min(20)
            + (2 * self.shows_at.saturating_sub(1)).min(16)
            + (self.changes / 50).min(10)
            + (4 * self.length.saturating_sub(1)).min(16)
            + (5 * self.quiet).min(10)
            + (4 * self.sacrifices).min(8)
            + (2 * self.defences.saturating_sub(1)).min(10);
        let level = 1 + LEVELS.iter().filter(|&&least| self.points >= least).count();
        self.level = u8::try_from(level).unwrap_or(5);
        self
    }

    /// The numbers in a sentence.
    pub fn sentence(&self) -> String {
        let counted = |n: u32, one, more| plural!(n as usize, one, more);
        say!(
            match self.tries {
                0 => phrase!(
                    "Difficulty {level} of 5 ({points} points): {failing} of {legal} moves fail, and none of them tempts; {moves} to find, {quiet} quiet, {sacrifices}, {defences} to see through.",
                    "level points failing legal tries depth moves quiet sacrifices defences"
                ),
                _ => phrase!(
                    "Difficulty {level} of 5 ({points} points): {failing} of {legal} moves fail, {tries} of them tempt, and are seen to fail within {depth} half moves; {moves} to find, {quiet} quiet, {sacrifices}, {defences} to see through.",
                    "level points failing legal tries depth moves quiet sacrifices defences"
                ),
            },
            level = self.level.to_string(),
            points = self.points.to_string(),
            failing = self.failing.to_string(),
            legal = self.legal.to_string(),
            tries = self.tries.to_string(),
            depth = self.shows_at.to_string(),
            moves = counted(
                self.length,
                phrase!("{n} move", "n"),
                phrase!("{n} moves", "n")
            ),
            quiet = self.quiet.to_string(),
            sacrifices = counted(
                self.sacrifices,
                phrase!("{n} sacrifice", "n"),
                phrase!("{n} sacrifices", "n"),
            ),
            defences = counted(
                self.defences,
                phrase!("{n} defence", "n"),
                phrase!("{n} defences", "n")
            ),
        )
    }
}

/// By how much the best move leads the one it replaces, summed over the
/// depths at which a deeper look changes it.
fn changes(depths: &Depths) -> u32 {
    let leader = |values: &Vec<i32>| {
        let best = values.iter().max()?;
        values.iter().position(|v| v == best)
    };
    let mut sum = 0;
    for pair in depths.values.windows(2) {
        if let (Some(old), Some(new)) = (leader(&pair[0]), leader(&pair[1]))
            && old != new
        {
            sum += pair[1][new].abs_diff(pair[1][old]);
        }
    }
    sum
}

fn quiet_moves(position: &Chess, line: &[Move]) -> usize {
    let mut at = position.clone();
    let mut quiet = 0;
    for (ply, &mv) in line.iter().enumerate() {
        let forced = at.is_check();
        at.play_unchecked(mv);
        let loud = mv.is_capture() || mv.is_promotion() || at.is_check();
        quiet += usize::from(ply % 2 == 0 && !forced && !loud);
    }
    quiet
}

fn number(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The formula by hand: 15 + 8 + 6 + 2 + 4 + 5 + 4 + 2.
    #[test]
    fn points_add_up_as_documented() {
        let weighed = Difficulty {
            legal: 30,
            failing: 30,
            tries: 2,
            shows_at: 4,
            changes: 120,
            length: 2,
            quiet: 1,
            sacrifices: 1,
            defences: 2,
            ..Difficulty::default()
        }
        .weighed();
        assert_eq!(weighed.points, 15 + 8 + 6 + 2 + 4 + 5 + 4 + 2);
        assert_eq!(weighed.level, 3);
    }

    #[test]
    fn levels_run_from_one_to_five() {
        assert_eq!(Difficulty::default().weighed().level, 1);
        let most = Difficulty {
            legal: 1,
            failing: 1,
            tries: 99,
            shows_at: 99,
            changes: 9999,
            length: 99,
            quiet: 99,
            sacrifices: 99,
            defences: 99,
            ..Difficulty::default()
        }
        .weighed();
        assert_eq!((most.points, most.level), (105, 5));
    }
}
