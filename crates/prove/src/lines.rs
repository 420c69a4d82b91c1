//! Answers made from the search: verdicts with their lines, the telling
//! refutation, the longest defence.

use arrayvec::ArrayVec;
use shakmaty::{Chess, Move, Position, Role, Square};

use super::Verdict;
use super::bitboards::{Bitboards, Checks};
use super::generate::Steps;
use super::search::{Outcome, Search};
use super::spend::Stopped;
use super::step::Step;
use model::short::sort_by_key;
use model::worth::pawns;

/// From so many moves on nobody asks whether one more would be enough.
const FAR: u8 = 3;

impl Search<'_> {
    /// Judges legal moves by lengths 1 to `n`. What is not decided when the
    /// spending ends is unknown.
    pub fn judge(&mut self, position: &Chess, n: u8, moves: Vec<Move>) -> Vec<(Move, Verdict)> {
        let mut verdicts: Vec<Option<Verdict>> = vec![None; moves.len()];
        let _stopped = self.decide(position, n, &moves, &mut verdicts);
        let nodes = self.spend.nodes;
        let unknown = || Verdict::Unknown { nodes };
        let verdicts = verdicts.into_iter().map(|v| v.unwrap_or_else(unknown));
        moves.into_iter().zip(verdicts).collect()
    }

    fn decide(
        &mut self,
        position: &Chess,
        n: u8,
        moves: &[Move],
        verdicts: &mut [Option<Verdict>],
    ) -> Result<(), Stopped> {
        let board = Bitboards::of(position);
        let mut decided = 0;
        for length in 1..=n {
            for (i, &m) in moves.iter().enumerate() {
                if verdicts[i].is_some() {
                    continue;
                }
                self.spend.share = decided as f32 / moves.len() as f32;
                let after = board.play(Step::of(m));
                let outcome = if length < n {
                    self.outcome(&after, length - 1)?
                } else {
                    self.telling_outcome(&after, length - 1, m.to())?
                };
                match outcome {
                    Outcome::Wins => verdicts[i] = Some(self.forces(position, m, length)?),
                    Outcome::Ends if length == n || after.is_stuck(&after.constraints()) => {
                        verdicts[i] = Some(Verdict::Fails { line: vec![m] });
                    }
                    Outcome::Refuted(reply) if length == n => {
                        let line = vec![m, after.move_of(reply)];
                        verdicts[i] = Some(Verdict::Fails { line });
                    }
                    _ => {}
                }
                decided += usize::from(verdicts[i].is_some());
            }
        }
        if n == 0 {
            for (verdict, &m) in verdicts.iter_mut().zip(moves) {
                *verdict = Some(Verdict::Fails { line: vec![m] });
            }
        }
        Ok(())
    }

    /// A shortest forced mate within `n`.
    pub fn mate(&mut self, position: &Chess, n: u8) -> Result<Option<(Move, Verdict)>, Stopped> {
        let board = Bitboards::of(position);
        let Some((step, length)) = self.shortest(&board, n)? else {
            return Ok(None);
        };
        let m = board.move_of(step);
        Ok(Some((m, self.forces(position, m, length)?)))
    }

    /// The verdict on a move known to force mate in exactly `length`: the
    /// line to the mate against the longest defence.
    pub fn forces(&mut self, position: &Chess, m: Move, length: u8) -> Result<Verdict, Stopped> {
        let mut line = vec![m];
        let mut at = played(position, m);
        for left in (1..length).rev() {
            // Whatever is not mated in `left - 1` takes `left`.
            let board = Bitboards::of(&at);
            let checks = board.checks();
            let longest = match self.outcome(&board, left - 1)? {
                Outcome::Refuted(reply) => Some(board.move_of(reply)),
                _ => at
                    .legal_moves()
                    .into_iter()
                    .max_by_key(|&r| weight(&board, &checks, m.to(), Step::of(r))),
            };
            let Some(reply) = longest else { break };
            at.play_unchecked(reply);
            line.push(reply);
            let board = Bitboards::of(&at);
            let answer = self.mating_step(&board, left)?;
            if answer.is_none() {
                break;
            }
            let answer = board.move_of(answer);
            at.play_unchecked(answer);
            line.push(answer);
        }
        Ok(Verdict::Forces { length, line })
    }

    /// As [`Search::outcome`], but replies that tell at a glance are tried
    /// first, so that one of them is shown if it refutes.
    fn telling_outcome(
        &mut self,
        after: &Bitboards,
        left: u8,
        moved: Square,
    ) -> Result<Outcome, Stopped> {
        if left > 0 {
            let mut replies = Steps::new();
            after.legal(&after.constraints(), &mut replies);
            let checks = after.checks();
            let mut telling: ArrayVec<(i32, Step), 256> = replies
                .into_iter()
                .map(|reply| (weight(after, &checks, moved, reply), reply))
                .filter(|&(weight, _)| weight > 0)
                .collect();
            sort_by_key(&mut telling, |&(weight, step)| (-weight, step.to_bits()));
            for (_, reply) in telling {
                if self.mating_step(&after.play(reply), left)?.is_none() {
                    return Ok(Outcome::Refuted(reply));
                }
            }
        }
        self.outcome(after, left)
    }

    /// All refuting replies, the most telling first. Among equals those come
    /// first against which one move more would not be enough either, as far
    /// as that is quickly seen.
    pub fn refutations(&mut self, position: &Chess, n: u8) -> Result<Vec<Move>, Stopped> {
        let board = Bitboards::of(position);
        let checks = board.checks();
        let mut found = Vec::new();
        let replies = position.legal_moves();
        for (i, &m) in replies.iter().enumerate() {
            self.spend.share = i as f32 / replies.len() as f32;
            let reply = Step::of(m);
            let after = board.play(reply);
            if self.mating_step(&after, n)?.is_none() {
                let near = n < FAR && !self.mating_step(&after, n + 1)?.is_none();
                found.push((-weight(&board, &checks, reply.to(), reply), near, m));
            }
        }
        sort_by_key(&mut found, |&(weight, near, _)| (weight, near));
        Ok(found.into_iter().map(|(_, _, m)| m).collect())
    }

    /// The reply with the longest mate, if all are mated within `n`.
    pub fn longest_defence(
        &mut self,
        position: &Chess,
        n: u8,
    ) -> Result<Option<(Move, u8)>, Stopped> {
        let board = Bitboards::of(position);
        let mut longest: Option<(Move, u8)> = None;
        for reply in position.legal_moves() {
            let Some((_, length)) = self.shortest(&board.play(Step::of(reply)), n)? else {
                return Ok(None);
            };
            if longest.is_none_or(|(_, most)| length > most) {
                longest = Some((reply, length));
            }
        }
        Ok(longest)
    }
}

fn played(position: &Chess, m: Move) -> Chess {
    let mut after = position.clone();
    after.play_unchecked(m);
    after
}

/// How much a reply tells at a glance: mate, then captures by the worth of
/// what is taken (more for the man just moved to `moved`), promotions, checks.
fn weight(board: &Bitboards, checks: &Checks, moved: Square, reply: Step) -> i32 {
    let mut weight = 0;
    if board.them().contains(reply.to()) {
        weight += worth(board.role_at(reply.to()));
        if reply.to() == moved {
            weight += 4;
        }
    }
    if reply.is_promotion() {
        weight += worth(Some(reply.arriving()));
    }
    if checks.may_give(reply) {
        let after = board.play(reply);
        let constraints = after.constraints();
        if constraints.checkers.any() {
            weight += 3;
            if after.is_stuck(&constraints) {
                weight += 1000;
            }
        }
    }
    weight
}

fn worth(role: Option<Role>) -> i32 {
    role.and_then(pawns).map_or(0, i32::from)
}

#[cfg(test)]
mod tests {
    use super::*;
    use shakmaty::{CastlingMode, fen::Fen};

    /// What a step, in UCI, tells at a glance in a position, the man on `moved` having
    /// moved last.
    fn told(fen: &str, step: &str, moved: Square) -> i32 {
        let fen: Fen = fen.parse().expect("FEN");
        let position: Chess = fen.into_position(CastlingMode::Standard).expect("legal");
        let uci: shakmaty::uci::UciMove = step.parse().expect("a move");
        let step = Step::of(uci.to_move(&position).expect("a legal move"));
        let board = Bitboards::of(&position);
        weight(&board, &board.checks(), moved, step)
    }

    #[test]
    fn mates_tell_most_then_captures_promotions_and_checks() {
        let fen = "6rk/P5pp/7N/8/3q4/2P5/8/K7 w - - 0 1";
        for (step, moved, weight) in [
            ("h6f7", Square::D4, 1003),
            ("c3d4", Square::D4, 13),
            ("c3d4", Square::G8, 9),
            ("a7a8q", Square::D4, 9),
            ("h6g8", Square::D4, 5),
            ("a7a8n", Square::D4, 3),
            ("a1a2", Square::D4, 0),
        ] {
            assert_eq!(told(fen, step, moved), weight, "{step}");
        }
        let bare = "6k1/8/8/8/8/8/8/K6R w - - 0 1";
        assert_eq!(told(bare, "h1g1", Square::G8), 3);
        assert_eq!(told(bare, "h1h7", Square::G8), 0);
    }
}
