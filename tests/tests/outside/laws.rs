//! The FIDE Laws of Chess (2023) as far as a mate claim rests on them. The
//! articles are named by number (from memory) and put in our own words; the
//! positions are our own.

use keyproof::notation::moves;
use keyproof::prove::{Unwatched, Verdict};
use shakmaty::Position;

use crate::{keys, mates, position, prover};

/// Article 1.4.1: the king is under attack and no legal move can parry it.
const CHECKMATES: [&str; 12] = [
    "R5k1/5ppp/8/8/8/8/8/6K1 b - - 0 1",
    "6k1/6Q1/5K2/8/8/8/8/8 b - - 0 1",
    "7k/5N1p/8/8/8/8/8/6RK b - - 0 1",
    "6rk/5Npp/8/8/8/8/8/6K1 b - - 0 1",
    "k7/1Q6/1K6/8/8/8/8/8 b - - 0 1",
    "7k/7B/5BK1/8/8/8/8/8 b - - 0 1",
    "kr6/ppN5/8/8/8/8/8/K7 b - - 0 1",
    "rnbqkbnr/ppppp2p/5p2/6pQ/4P3/3P4/PPP2PPP/RNB1KBNR b KQkq - 0 1",
    "8/8/8/8/8/5k2/5q2/5K2 w - - 0 1",
    "4R1k1/6pp/6P1/8/8/8/8/6K1 b - - 0 1",
    "3k4/3Q4/3K4/8/8/8/8/8 b - - 0 1",
    "8/8/8/8/8/1k6/1q6/K7 w - - 0 1",
];

/// Article 5.2.1: the player to move has no legal move and is not in check.
const STALEMATES: [&str; 8] = [
    "7k/5Q2/6K1/8/8/8/8/8 b - - 0 1",
    "k7/P7/K7/8/8/8/8/8 b - - 0 1",
    "k7/2Q5/8/8/8/8/8/K7 b - - 0 1",
    "8/8/8/8/8/1q6/8/K1k5 w - - 0 1",
    "5k2/5P2/5K2/8/8/8/8/8 b - - 0 1",
    "7k/7P/6K1/8/8/8/8/8 b - - 0 1",
    "k7/8/1Q6/8/8/p7/P7/K7 b - - 0 1",
    "8/8/8/8/p7/P5k1/6p1/6K1 w - - 0 1",
];

#[test]
fn checkmates_end_the_game_with_a_mate() {
    for fen in CHECKMATES {
        let position = position(fen);
        assert!(position.is_checkmate(), "{fen}");
        assert!(
            keys(&position, 1).is_empty(),
            "{fen}: nothing is left to play"
        );
    }
}

#[test]
fn stalemates_are_no_mates() {
    for fen in STALEMATES {
        let position = position(fen);
        assert!(position.is_stalemate(), "{fen}");
        assert!(!position.is_checkmate(), "{fen}");
    }
}

/// A move, and whether it mates at once; `None` where the Laws forbid it.
struct Case {
    article: &'static str,
    fen: &'static str,
    mv: &'static str,
    mates: Option<bool>,
}

const CASES: [Case; 17] = [
    Case {
        article: "3.7.3.1: a pawn that just made a double step may be taken as if it had made one",
        fen: "8/8/8/5Ppk/R7/7B/6K1/8 w - g6 0 1",
        mv: "f5g6",
        mates: Some(false),
    },
    Case {
        article: "3.7.3.2: only on the move after it",
        fen: "8/8/8/5Ppk/R7/7B/6K1/8 w - - 0 1",
        mv: "f5g6",
        mates: None,
    },
    Case {
        article: "3.7.3.1: en passant may mate",
        fen: "3r4/pp2R2p/7k/5Pp1/2p3P1/2PB3P/P4P2/2B3K1 w - g6 0 2",
        mv: "f5g6",
        mates: Some(true),
    },
    Case {
        article: "3.7.3.4: a pawn may become a knight",
        fen: "8/6Pp/5K1k/8/6P1/8/8/8 w - - 0 1",
        mv: "g7g8n",
        mates: Some(true),
    },
    Case {
        article: "3.7.3.4: a queen would not do there",
        fen: "8/6Pp/5K1k/8/6P1/8/8/8 w - - 0 1",
        mv: "g7g8q",
        mates: Some(false),
    },
    Case {
        article: "3.7.3.4: a pawn may become a rook",
        fen: "6k1/3P1ppp/8/8/8/8/8/6K1 w - - 0 1",
        mv: "d7d8r",
        mates: Some(true),
    },
    Case {
        article: "3.7.3.4: a bishop gives no check along the rank",
        fen: "6k1/3P1ppp/8/8/8/8/8/6K1 w - - 0 1",
        mv: "d7d8b",
        mates: Some(false),
    },
    Case {
        article: "3.8.2: castling moves king and rook, and the rook may mate",
        fen: "r6r/pp4pp/1N3B2/2p1n3/7R/3k4/PP3PP1/R3K1N1 w Q - 0 1",
        mv: "e1c1",
        mates: Some(true),
    },
    Case {
        article: "3.8.2: castling kingside mates on the f-file",
        fen: "4rkr1/4p1p1/8/8/8/8/8/4K2R w K - 0 1",
        mv: "e1g1",
        mates: Some(true),
    },
    Case {
        article: "3.8.2.1: the right is lost once the king or the rook has moved",
        fen: "4rkr1/4p1p1/8/8/8/8/8/4K2R w - - 0 1",
        mv: "e1g1",
        mates: None,
    },
    Case {
        article: "3.8.2.2: attacks on other squares do not matter",
        fen: "4rkr1/4p1p1/8/8/b7/8/8/4K2R w K - 0 1",
        mv: "e1g1",
        mates: Some(true),
    },
    Case {
        article: "3.8.2.2: not while the square it crosses is attacked",
        fen: "4rkr1/4p1p1/8/1b6/8/8/8/4K2R w K - 0 1",
        mv: "e1g1",
        mates: None,
    },
    Case {
        article: "3.8.2.2: not out of check",
        fen: "4rkr1/4p1p1/8/b7/8/8/8/4K2R w K - 0 1",
        mv: "e1g1",
        mates: None,
    },
    Case {
        article: "3.1.3: a man that may not move still attacks",
        fen: "4r2k/8/4N3/8/8/6Q1/8/4K3 w - - 0 1",
        mv: "g3g7",
        mates: Some(true),
    },
    Case {
        article: "3.9.2: no move may leave the own king attacked",
        fen: "k3r3/8/8/8/8/8/4R3/4K3 w - - 0 1",
        mv: "e2a2",
        mates: None,
    },
    Case {
        article: "1.4.1: a check that can be parried is no mate",
        fen: "6k1/5pp1/7p/8/8/8/8/R5K1 w - - 0 1",
        mv: "a1a8",
        mates: Some(false),
    },
    Case {
        article: "5.2.1: a stalemating move meets no claim of mate",
        fen: "7k/8/6K1/8/8/8/8/5Q2 w - - 0 1",
        mv: "f1f7",
        mates: Some(false),
    },
];

#[test]
fn what_the_laws_allow_and_forbid() {
    for case in CASES {
        let position = position(case.fen);
        let mv = moves::read(&position, case.mv);
        let found = mv.ok().map(|mv| mates(&position, mv, 1).is_some());
        assert_eq!(
            found, case.mates,
            "{} ({}, {})",
            case.article, case.fen, case.mv
        );
    }
}

/// Article 5.2.1 again: a stalemating move fails for any number of moves, and
/// the prover says so by a line of that move alone.
#[test]
fn stalemate_refutes_every_length() {
    let position = position("7k/8/6K1/8/8/8/8/5Q2 w - - 0 1");
    let mv = moves::read(&position, "Qf7").expect("a legal move");
    for n in 1..=4 {
        let verdicts = prover().judge(&position, n, Some(&[mv]), &mut Unwatched);
        assert_eq!(
            verdicts[0].1,
            Verdict::Fails { line: vec![mv] },
            "within {n}"
        );
    }
}
