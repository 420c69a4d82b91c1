//! What the prover says of positions of all strata, as lines that a script of
//! `tests/outside/` holds against brute force with another library.

use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};

use prove::corpus::Seeded;
use prove::{Aim, Prover, Unwatched, Verdict};
use shakmaty::fen::Fen;
use shakmaty::{CastlingMode, Chess, EnPassantMode, Move, Position};

use crate::by_lines::{Plan, seeded};
use crate::gains::{GAINS, RICH};
use crate::strata::{Bounds, Stratum};

/// What is said of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Subject {
    /// Gains in so many moves.
    Gains(u8),
    /// Draws by force.
    Draws,
}

/// Positions for gains in three moves, which the other library takes long over.
const FEW: Bounds = Bounds {
    moves: 20,
    replies: 16,
};

/// Positions with the holder to move that the prover of draws may look at; where that is
/// too few nothing is said of the move.
const BUDGET: u64 = 40_000;

impl Subject {
    fn salt(self) -> u64 {
        match self {
            Subject::Gains(n) => 0x0715 << 40 | u64::from(n),
            Subject::Draws => 0x0716 << 40,
        }
    }

    /// A line about a position: its stratum, what is asked (`K N FEN`, or the FEN), and of
    /// each move what is said, parted by tabs. A gain has the moves that gain with their
    /// lengths (`e2e4=2`), a draw all moves that are decided (`e2e4=1` holds).
    fn line(self, prover: &mut Prover, stratum: Stratum, random: &mut Seeded, i: u64) -> String {
        let bounds = match self {
            Subject::Gains(n) if n > 2 => FEW,
            _ => RICH,
        };
        let position = stratum.draw(random, Aim::Mate, bounds);
        let fen = Fen::from_position(&position, EnPassantMode::Legal);
        let (asked, mut said) = match self {
            Subject::Gains(n) => {
                let k = GAINS[(i % GAINS.len() as u64) as usize];
                (format!("{k} {n} {fen}"), gains(prover, &position, k, n))
            }
            Subject::Draws => (fen.to_string(), draws(prover, &position)),
        };
        said.sort();
        format!("{}\t{asked}\t{}\n", stratum.name(), said.join(","))
    }
}

fn uci(m: Move) -> String {
    m.to_uci(CastlingMode::Standard).to_string()
}

fn gains(prover: &mut Prover, position: &Chess, k: u8, n: u8) -> Vec<String> {
    let judged = prover.judge_gain(position, k, n, None, &mut Unwatched);
    let gain = judged.into_iter().filter_map(|(m, verdict)| match verdict {
        Verdict::Forces { length, .. } => Some(format!("{}={length}", uci(m))),
        Verdict::Fails { .. } => None,
        Verdict::Unknown { .. } => Some(format!("{}=?", uci(m))),
    });
    gain.collect()
}

fn draws(prover: &mut Prover, position: &Chess) -> Vec<String> {
    prover.budget = Some(BUDGET);
    let moves = position.legal_moves().into_iter();
    let held = moves.filter_map(|m| {
        let plan = prover.draw(position, Some(&[m]), &mut Unwatched).ok()?;
        Some(format!("{}={}", uci(m), u8::from(plan.is_some())))
    });
    held.collect()
}

/// The lines about all positions of a plan, in the order of the strata.
pub fn lines(plan: &Plan, subject: Subject) -> String {
    let all: Vec<(Stratum, u64)> = plan
        .strata
        .iter()
        .flat_map(|&stratum| (0..plan.positions).map(move |i| (stratum, i)))
        .collect();
    let (next, told) = (
        AtomicU64::new(0),
        Mutex::new(vec![String::new(); all.len()]),
    );
    std::thread::scope(|scope| {
        for _ in 0..plan.jobs.max(1) {
            scope.spawn(|| {
                let mut prover = Prover::new(1 << 20);
                loop {
                    let at = next.fetch_add(1, Ordering::Relaxed) as usize;
                    let Some(&(stratum, i)) = all.get(at) else {
                        return;
                    };
                    let mut random = seeded(stratum, plan.seed ^ subject.salt(), i);
                    let line = subject.line(&mut prover, stratum, &mut random, i);
                    told.lock().unwrap_or_else(|e| e.into_inner())[at] = line;
                }
            });
        }
    });
    let told = told.into_inner().unwrap_or_else(|e| e.into_inner());
    told.concat()
}
