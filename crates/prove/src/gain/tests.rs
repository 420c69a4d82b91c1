use super::*;
use crate::Unwatched;
use model::notation::{fen, moves};

fn keys(position: &str, k: u8, n: u8) -> Vec<String> {
    let position = fen::read(position).unwrap();
    let judged = Prover::new(1 << 20).judge_gain(&position, k, n, None, &mut Unwatched);
    let forces = judged
        .iter()
        .filter(|(_, v)| matches!(v, Verdict::Forces { .. }));
    forces.map(|(mv, _)| moves::uci(*mv)).collect()
}

#[test]
fn a_fork_wins_the_queen_for_the_knight() {
    let fork = "6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1";
    assert_eq!(keys(fork, 9, 2), ["d5f6"]);
    assert!(keys(fork, 1, 1).is_empty());
}
