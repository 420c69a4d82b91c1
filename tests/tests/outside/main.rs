//! Checks against what lies outside the project: published counts, laws,
//! problems and games, and a reference library. The source stands beside each.

mod aims;
mod draws;
mod endgames;
mod epd;
mod gains;
mod hostile;
mod judge;
mod laws;
mod perft;
mod published;
mod strata;
mod streams;
mod threats;

use keyproof::notation::{fen, moves};
use keyproof::prove::{Prover, Unwatched, Verdict};
use shakmaty::{Chess, Move};

fn position(text: &str) -> Chess {
    fen::read(text).unwrap_or_else(|e| panic!("{text}: {:?}", e.reasons()))
}

fn prover() -> Prover {
    Prover::new(64 << 20)
}

/// Every first move that forces mate within `n`, in SAN with its length,
/// sorted.
fn keys(position: &Chess, n: u8) -> Vec<(String, u8)> {
    let mut keys: Vec<(String, u8)> = prover()
        .judge(position, n, None, &mut Unwatched)
        .into_iter()
        .filter_map(|(mv, verdict)| length(&verdict).map(|k| (moves::san(position, mv), k)))
        .collect();
    keys.sort();
    keys
}

/// The length of the mate a move forces within `n`, if it does.
fn mates(position: &Chess, mv: Move, n: u8) -> Option<u8> {
    let verdicts = prover().judge(position, n, Some(&[mv]), &mut Unwatched);
    length(&verdicts[0].1)
}

fn length(verdict: &Verdict) -> Option<u8> {
    match verdict {
        Verdict::Forces { length, .. } => Some(*length),
        Verdict::Fails { .. } => None,
        Verdict::Unknown { nodes } => panic!("undecided after {nodes} nodes, without a budget"),
    }
}
