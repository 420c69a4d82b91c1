//! Gains of material by brute force, and the prover of gains against it. The rules of
//! a gain are those of `prove::gain`, written here a second time over shakmaty's
//! positions: every legal move is tried, and nothing is left out.

use prove::corpus::Seeded;
use prove::gain::LONGEST_EXCHANGE;
use prove::{Aim, Prover, Shortcuts, Unwatched, Verdict};
use shakmaty::fen::Fen;
use shakmaty::{Chess, Color, EnPassantMode, Move, Position, Role};

use crate::brute::{Capped, played};
use crate::by_lines::{self, Plan};
use crate::strata::{Bounds, Stratum};

/// Most positions that brute force looks at for one question.
const LEAVES: u64 = 60_000_000;

/// Gains that are asked for, by turns: a pawn, the exchange, a piece, a rook, a queen
/// for a knight, a queen, and mate.
pub const GAINS: [u8; 8] = [1, 2, 3, 1, 5, 6, 9, 50];

/// A search for gains over the rules alone.
pub struct Brute {
    solver: Color,
    target: i32,
    left: u64,
}

fn balance(position: &Chess, color: Color) -> i32 {
    let board = position.board();
    let mut sum = 0;
    for sq in board.occupied() {
        let Some(piece) = board.piece_at(sq) else {
            continue;
        };
        let worth = match piece.role {
            Role::Pawn => 1,
            Role::Knight => 3,
            Role::Bishop => 3,
            Role::Rook => 5,
            Role::Queen => 9,
            Role::King => 0,
        };
        sum += if piece.color == color { worth } else { -worth };
    }
    sum
}

impl Brute {
    /// For the side to move, and a gain of `k`.
    pub fn new(position: &Chess, k: u8) -> Brute {
        let solver = position.turn();
        Brute {
            solver,
            target: balance(position, solver) + i32::from(k),
            left: LEAVES,
        }
    }

    fn spend(&mut self) -> Result<(), Capped> {
        self.left = self.left.checked_sub(1).ok_or(Capped)?;
        Ok(())
    }

    /// Whether the solver, to move, forces the gain within `n`.
    fn forces(&mut self, position: &Chess, n: u8) -> Result<bool, Capped> {
        for m in position.legal_moves() {
            if self.gains(position, m, n)? {
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// Whether a move of the solver's does, the first of `n`.
    ///
    /// # Errors
    /// It takes too long.
    pub fn gains(&mut self, position: &Chess, m: Move, n: u8) -> Result<bool, Capped> {
        self.spend()?;
        let after = played(position, m);
        if after.is_checkmate() {
            return Ok(true);
        }
        if after.is_stalemate() {
            return Ok(false);
        }
        if balance(&after, self.solver) >= self.target && self.stays(&after, 0)? {
            return Ok(true);
        }
        if n <= 1 {
            return Ok(false);
        }
        for reply in after.legal_moves() {
            if !self.forces(&played(&after, reply), n - 1)? {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// Whether the exchange game comes out at the target or above.
    fn stays(&mut self, position: &Chess, plies: u8) -> Result<bool, Capped> {
        self.spend()?;
        let solves = position.turn() == self.solver;
        if position.is_checkmate() {
            return Ok(!solves);
        }
        if position.is_stalemate() || plies >= LONGEST_EXCHANGE {
            return Ok(false);
        }
        let checked = position.is_check();
        if !checked && (balance(position, self.solver) >= self.target) == solves {
            // Stopping decides it for whoever is to move.
            return Ok(solves);
        }
        for m in position.legal_moves() {
            let loud = checked || m.is_capture() || m.is_promotion();
            if loud && self.stays(&played(position, m), plies + 1)? == solves {
                return Ok(solves);
            }
        }
        Ok(!solves)
    }
}

/// A position is asked for a gain.
fn compare(prover: &mut Prover, position: &Chess, k: u8, n: u8) -> Result<u64, Option<String>> {
    let judged = prover.judge_gain(position, k, n, None, &mut Unwatched);
    let fen = Fen::from_position(position, EnPassantMode::Legal);
    let mut keys = 0;
    let differs = |text: String| Some(format!("{fen} gain of {k} in {n}: {text}"));
    if judged.len() != position.legal_moves().len() {
        return Err(differs("not all moves are judged".to_owned()));
    }
    let mut brute = Brute::new(position, k);
    for (m, verdict) in judged {
        let mut within = None;
        for fewer in 1..=n {
            if brute.gains(position, m, fewer).map_err(|Capped| None)? {
                within = Some(fewer);
                break;
            }
        }
        let fault = match &verdict {
            Verdict::Forces { length, line } => {
                keys += 1;
                let mut last = position.clone();
                let legal = line.iter().all(|&m| {
                    let legal = last.is_legal(m);
                    if legal {
                        last.play_unchecked(m);
                    }
                    legal
                });
                let stands = last.is_checkmate()
                    || balance(&last, position.turn()) >= brute.target
                        && brute.stays(&last, 0).map_err(|Capped| None)?;
                within != Some(*length)
                    || !legal
                    || !stands
                    || line.first() != Some(&m)
                    || line.len() != 2 * usize::from(*length) - 1
            }
            Verdict::Fails { line } => {
                let escapes = match line.get(1) {
                    Some(&reply) => {
                        let next = played(&played(position, m), reply);
                        !brute.forces(&next, n - 1).map_err(|Capped| None)?
                    }
                    None => true,
                };
                within.is_some() || !escapes
            }
            Verdict::Unknown { .. } => true,
        };
        if fault {
            return Err(differs(format!("{m}: {verdict:?}, but {within:?}")));
        }
    }
    Ok(keys)
}

/// Positions in which something can be taken, threatened or answered: no bounds are
/// needed to end.
pub const RICH: Bounds = Bounds {
    moves: 60,
    replies: 60,
};

/// Compares gains within `n` moves in positions of all strata, as [`by_lines::run`].
///
/// # Errors
/// The file cannot be read or written.
pub fn run(plan: &Plan, n: u8) -> Result<Vec<String>, String> {
    let ask = move |prover: &mut Prover, stratum: Stratum, random: &mut Seeded, i: u64| {
        // Every second time without some of its shortcuts.
        let off = if i % 2 == 1 { (i / 2) as u8 } else { 0 };
        prover.shortcuts = Shortcuts::without(off);
        let k = GAINS[(i % GAINS.len() as u64) as usize];
        let position = stratum.draw(random, Aim::Mate, RICH);
        compare(prover, &position, k, n)
    };
    by_lines::run(plan, u64::from(n) << 40, &ask)
}
