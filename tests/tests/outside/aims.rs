//! Selfmates, stalemates and helpmates against what is known elsewhere, and
//! against brute force with the PyPI package `chess` 1.11.2.

use std::collections::BTreeMap;

use keyproof::notation::{fen, moves};
use keyproof::prove::corpus::{Seeded, mixed, placed};
use keyproof::prove::{Aim, Unwatched, Verdict};
use keyproof::puzzle::Stipulation;
use keyproof_tests::reference;
use serde::Deserialize;
use shakmaty::{Board, CastlingMode, Chess, Color, FromSetup, Move, Position, Role, Setup, Square};

use crate::{length, position, prover};

/// Source: the number of chess games that end in mate after so many half
/// moves, OEIS A079485 (from memory): none up to three, then 8, 347, 10828.
/// Such a game is a helpmate from the first position.
#[test]
fn games_that_end_in_mate_are_counted() {
    let start = Chess::default();
    for (half_moves, games) in [(1, 0), (2, 0), (3, 0), (4, 8), (5, 347), (6, 10_828)] {
        assert_eq!(helpmates(&start, half_moves).len(), games, "{half_moves}");
    }
}

/// Source: Gioachino Greco, manuscripts, about 1620, the shortest mate (from
/// memory); after 1.f3 e5 both sides help as well as they can.
#[test]
fn the_shortest_mate_is_a_helpmate() {
    let lines = helpmates(&Chess::default(), 4);
    assert!(
        lines.contains(&"f2f3 e7e5 g2g4 d8h4".to_owned()),
        "{lines:?}"
    );
}

/// Source: Samuel Loyd's stalemate in ten moves, about 1866 (from memory):
/// the tenth move stalemates with all but one man of Black's on the board.
#[test]
fn loyds_stalemate_is_one() {
    let mut position = Chess::default();
    for san in
        "e3 a5 Qh5 Ra6 Qxa5 h5 h4 Rah6 Qxc7 f6 Qxd7+ Kf7 Qxb7 Qd3 Qxb8 Qh7 Qxc8 Kg6".split(' ')
    {
        let mv = moves::read(&position, san).expect(san);
        position.play_unchecked(mv);
    }
    assert_eq!(keys(Aim::Stalemate, &position, 1), [("Qe6".to_owned(), 1)]);
}

/// Common practice, no source: a king before his pawn on the seventh rank
/// stalemates; with an extra move at hand he must not use it.
#[test]
fn a_king_behind_his_pawn_stalemates() {
    let position = position("5k2/5P2/8/5K2/8/8/8/8 w - - 0 1");
    assert_eq!(keys(Aim::Stalemate, &position, 1), [("Kf6".to_owned(), 1)]);
}

/// Positions compared for each stipulation; in half of them, or more, it can be
/// met.
const FORCED: usize = 40;
const SHARED: usize = 20;

/// What brute force says about one position.
#[derive(Deserialize)]
struct Judged {
    keys: BTreeMap<String, u8>,
    lines: Vec<Vec<String>>,
}

#[test]
fn brute_force_finds_the_same() {
    let mut random = Seeded::new(0x6b70_6169_6d73);
    let mut asked: Vec<(Stipulation, Chess)> = Vec::new();
    for i in 0..FORCED {
        for n in [1, 2] {
            let mut pick = |aim: Aim, draw: fn(&mut Seeded) -> Chess| {
                let position = loop {
                    let position = match i % 4 {
                        0 | 2 => draw(&mut random),
                        1 => placed(&mut random, 3 + i % 3),
                        _ => mixed(&mut random),
                    };
                    let keys = keys(aim, &position, n);
                    let wide = position.legal_moves().len() > 30 && n > 1 && keys.is_empty();
                    if !wide && (i % 2 == 1 || keys.iter().any(|(_, length)| *length == n)) {
                        break position;
                    }
                };
                asked.push((Stipulation::Forced(aim, n), position));
            };
            pick(Aim::Selfmate, cornered);
            pick(Aim::Stalemate, |random| placed(random, 4));
        }
    }
    for i in 0..SHARED {
        for half_moves in 1..=5 {
            let men = if half_moves > 3 { 3 } else { 3 + i % 4 };
            let position = loop {
                let position = placed(&mut random, men);
                if i % 2 == 1 || !helpmates(&position, half_moves).is_empty() {
                    break position;
                }
            };
            asked.push((Stipulation::Forced(Aim::Helpmate, half_moves), position));
        }
    }
    let input: String = asked
        .iter()
        .map(|(stipulation, position)| format!("{stipulation} {}\n", fen::write(position)))
        .collect();
    let judged: Vec<Judged> =
        serde_json::from_str(&reference::python("brute_aims.py", &[], &input)).expect("JSON");
    assert_eq!(judged.len(), asked.len());
    let mut found: BTreeMap<String, usize> = BTreeMap::new();
    for ((stipulation, position), judged) in asked.iter().zip(judged) {
        let (aim, n) = stipulation.forced().expect("something to reach");
        let at = format!("{stipulation} {}", fen::write(position));
        let keys: BTreeMap<String, u8> = verdicts(aim, position, n)
            .into_iter()
            .filter_map(|(mv, verdict)| Some((moves::uci(mv), length(&verdict)?)))
            .collect();
        assert_eq!(keys, judged.keys, "{at}");
        if aim.shared() {
            let lines: Vec<String> = judged.lines.iter().map(|line| line.join(" ")).collect();
            assert_eq!(helpmates(position, n), lines, "{at}");
        }
        *found.entry(stipulation.to_string()).or_default() += usize::from(!keys.is_empty());
    }
    for stipulation in [
        "s#1", "s#2", "==1", "==2", "h#0.5", "h#1", "h#1.5", "h#2", "h#2.5",
    ] {
        let count = found.get(stipulation).copied().unwrap_or(0);
        assert!(count >= 10, "{stipulation}: {found:?}");
    }
}

fn verdicts(aim: Aim, position: &Chess, n: u8) -> Vec<(Move, Verdict)> {
    prover().judge_aim(aim, position, n, None, &mut Unwatched)
}

/// Every first move that forces the aim within `n`, in SAN with its length.
fn keys(aim: Aim, position: &Chess, n: u8) -> Vec<(String, u8)> {
    let verdicts = verdicts(aim, position, n).into_iter();
    verdicts
        .filter_map(|(mv, verdict)| Some((moves::san(position, mv), length(&verdict)?)))
        .collect()
}

/// All helpmates of exactly so many half moves, in UCI, sorted.
fn helpmates(position: &Chess, half_moves: u8) -> Vec<String> {
    let found = prover().helpmates(position, half_moves, usize::MAX - 1, &mut Unwatched);
    let (lines, all) = found.expect("decided without a budget");
    assert!(all);
    let text = |line: Vec<Move>| {
        line.into_iter()
            .map(moves::uci)
            .collect::<Vec<_>>()
            .join(" ")
    };
    let mut lines: Vec<String> = lines.into_iter().map(text).collect();
    lines.sort();
    lines
}

/// A white king in his corner, strong men of his around a black king near by,
/// who has a man to mate with.
fn cornered(random: &mut Seeded) -> Chess {
    loop {
        let mut board = Board::empty();
        board.set_piece_at(Square::H1, Role::King.of(Color::White));
        board.set_piece_at(Square::H2, Role::Pawn.of(Color::White));
        let near = [
            Square::F1,
            Square::F2,
            Square::F3,
            Square::G3,
            Square::H3,
            Square::D1,
        ];
        board.set_piece_at(near[random.below(6)], Role::King.of(Color::Black));
        let strong = [Role::Queen, Role::Rook, Role::Bishop, Role::Knight];
        for i in 0..5 {
            let square = Square::new(random.below(64) as u32);
            let role = if i < 2 {
                Role::Queen
            } else {
                strong[random.below(4)]
            };
            let color = Color::from_white(i != 1 && i != 4);
            if board.piece_at(square).is_none() {
                board.set_piece_at(square, role.of(color));
            }
        }
        let setup = Setup {
            board,
            turn: Color::White,
            ..Setup::empty()
        };
        if let Ok(position) = Chess::from_setup(setup, CastlingMode::Standard) {
            return position;
        }
    }
}
