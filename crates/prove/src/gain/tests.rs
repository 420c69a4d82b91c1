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
    assert_eq!(forced(fork, 9, 2).as_deref(), Some("d5f6"));
    // The last move allowed stands alone.
    let start = fen::read(fork).unwrap();
    for (mv, verdict) in Prover::new(1 << 20).judge_gain(&start, 1, 1, None, &mut Unwatched) {
        assert_eq!(verdict, Verdict::Fails { line: vec![mv] });
    }
}

/// The first move with which a gain is forced.
fn forced(position: &str, k: u8, n: u8) -> Option<String> {
    let position = fen::read(position).unwrap();
    let aim = Aim::Gain(Gain::at(k, &position));
    let found = Prover::new(1 << 20).force(aim, &position, n, &mut Unwatched);
    found.unwrap().map(|(mv, _)| moves::uci(mv))
}

/// The knight behind the king is on the rook's line.
#[test]
fn a_king_in_check_takes_nothing_that_the_checker_sees_through_him() {
    let behind = "k3r3/8/8/8/8/8/4K3/4n3 w - - 0 1";
    assert_eq!(forced(behind, 1, 1), None);
    let beside = "k3r3/8/8/8/8/8/4K3/5n2 w - - 0 1";
    assert_eq!(forced(beside, 3, 1).as_deref(), Some("e2f1"));
}

/// An exchange game that has gone on for too long has failed, but for a mate that is there.
#[test]
fn an_exchange_game_too_long_has_failed() {
    let comes_out = |position: &str, solves: bool, plies: u8| {
        let board = Bitboards::of(&fen::read(position).unwrap());
        let aim = Aim::Gain(Gain::at(1, &fen::read(BEFORE).unwrap()));
        let solver = if solves { board.turn() } else { !board.turn() };
        let mut prover = Prover::new(1 << 16);
        let told = prover.asked(aim, solver, 1, &mut Unwatched, |search| {
            search.comes_out(&board, solves, plies)
        });
        told.unwrap_or_else(|_| panic!("no budget"))
    };
    // Nothing can be taken: whoever is ahead stays ahead, until the game is too long.
    assert!(comes_out(UP, true, 0));
    assert!(!comes_out(UP, true, LONGEST_EXCHANGE));
    assert!(!comes_out(UP, false, LONGEST_EXCHANGE));
    // The other side is mated, at the very end as well; or the solver is.
    assert!(comes_out(MATED, false, 0));
    assert!(comes_out(MATED, false, LONGEST_EXCHANGE));
    assert!(!comes_out(MATED, true, LONGEST_EXCHANGE));
}

const BEFORE: &str = "6k1/8/8/8/8/8/7P/6K1 w - - 0 1";
/// A pawn more than before.
const UP: &str = "6k1/8/8/8/8/8/6PP/6K1 w - - 0 1";
const MATED: &str = "R5k1/5ppp/8/8/8/8/8/6K1 b - - 0 1";

#[test]
fn the_most_that_a_move_gains_is_found() {
    let fork = fen::read("3r2k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1").unwrap();
    let gained = Prover::new(1 << 20).most_gained(&fork, 18, 2, None, &mut Unwatched);
    let said: Vec<(String, u8, u8, usize)> = gained
        .iter()
        .map(|gain| (moves::uci(gain.mv), gain.k, gain.length, gain.line.len()))
        .collect();
    // The rook takes the knight back.
    assert_eq!(said, [("d5f6".to_owned(), 6, 2, 3)]);
    assert!(gained[0].held_by.is_some());
    // No further than is asked.
    let most = Prover::new(1 << 20).most_gained(&fork, 2, 2, None, &mut Unwatched);
    assert_eq!((most[0].k, most[0].held_by), (2, None));
    let other = [moves::read_uci(&fork, "d5b6").unwrap()];
    let none = Prover::new(1 << 20).most_gained(&fork, 18, 2, Some(&other), &mut Unwatched);
    assert_eq!(none, []);
}
