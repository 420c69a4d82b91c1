use model::notation::fen;
use model::notation::moves::{line, read_uci};
use shakmaty::{CastlingMode, Chess, Move, Position};

use super::Plan;
use crate::bitboards::Bitboards;
use crate::corpus::{self, Seeded};
use crate::{Prover, Unwatched, Watch};

/// Black is about to mate.
const PERPETUAL: &str = "6k1/6p1/8/7Q/8/8/qr6/7K w - - 0 1";

/// Taking the queen stalemates.
const STALEMATE: &str = "7k/5Q2/8/8/8/1q6/8/K7 w - - 0 1";

/// Source: the Pirc Defence, 1.e4 d6 2.d4 Nf6 3.Nc3 g6 4.f4 Bg7 5.Nf3 c5 6.Bb5+ Bd7 7.e5 Ng4
/// 8.e6 fxe6 9.Ng5 Bxb5 10.Nxe6 Bxd4 11.Nxd8 Bf2+ 12.Kd2 Be3+ 13.Ke1 Bf2+, given as a draw
/// by perpetual check in books on the opening (from memory).
const PIRC: &str = "rn1Nk2r/pp2p2p/3p2p1/1bp5/3b1Pn1/2N5/PPP3PP/R1BQK2R b KQkq - 0 11";

fn position(text: &str) -> Chess {
    fen::read(text).unwrap_or_else(|fault| panic!("{text}: {:?}", fault.reasons()))
}

/// What is found of a first move, or by checks alone.
fn plan(text: &str, first: Option<&str>) -> Option<Plan> {
    let position = position(text);
    let first = first.map(|uci| read_uci(&position, uci).expect("a legal move"));
    let firsts = first.as_ref().map(std::slice::from_ref);
    let mut prover = Prover::new(64 << 20);
    prover
        .draw(&position, firsts, &mut Unwatched)
        .expect("no bound")
}

/// How many turns a plan has, and its line.
fn shown(text: &str, first: Option<&str>) -> (usize, String) {
    let plan = plan(text, first).unwrap_or_else(|| panic!("{text} {first:?}"));
    (plan.turns.len(), line(&position(text), &plan.line(), 1))
}

#[test]
fn a_perpetual_check_comes_back_to_a_position() {
    let line = "1.Qe8+ Kh7 2.Qh5+ Kg8".to_owned();
    assert_eq!(shown(PERPETUAL, None), (2, line.clone()));
    assert_eq!(shown(PERPETUAL, Some("h5e8")), (2, line));
    for other in ["h5f7", "h5d5", "h5h8", "h5e5", "h1g1"] {
        assert_eq!(plan(PERPETUAL, Some(other)), None, "{other}");
    }
    // Three turns: White may castle only in the first.
    let (turns, line) = shown(PIRC, None);
    assert_eq!(
        (turns, &line[..]),
        (3, "1...Bf2+ 2.Kd2 Be3+ 3.Ke1 Bf2+ 4.Kd2")
    );
    assert_eq!(plan(PIRC, Some("g4f2")), None);
}

/// Castling and en passant inside plans. The checker of certificates, which shares no code
/// with the prover, reads each; without the answer to such a reply it refuses it. In check
/// nobody castles, so a reply castles only after a quiet first move.
///
/// Positions found by seed among those of the campaign's strata.
#[test]
fn plans_reckon_with_castling_and_en_passant() {
    let accepted = |text: &str| keyproof_certify::verify(text).is_ok();
    let by_holder = [
        ("8/8/8/8/7k/5Q2/P7/R3K3 w Q - 0 1", "e1c1", "e1c1"),
        ("8/8/8/8/3Q4/8/2k5/R3K3 w Q - 0 1", "d4a4", "e1c1"),
        ("8/8/8/8/6pP/8/4q3/1K2k3 b - h3 0 1", "g4h3", "g4h3"),
        ("8/Q1p5/5P2/3P2K1/8/8/8/7k w - - 0 1", "a7f2", "d5c6"),
    ];
    for (text, first, special) in by_holder {
        let plan = plan(text, Some(first)).unwrap_or_else(|| panic!("{text} {first}"));
        let is_special = |mv: Move| {
            (mv.is_castle() || mv.is_en_passant())
                && mv.to_uci(CastlingMode::Standard).to_string() == special
        };
        assert!(plan.turns.iter().any(|turn| is_special(turn.mv)), "{text}");
        assert!(accepted(&plan.certificate(&position(text))), "{text}");
    }
    let by_the_other = [
        ("8/8/k7/8/5r2/8/Pr6/R3K3 b Q - 0 1", "f4f2", "e1c1"),
        ("8/6p1/8/5P2/8/5q2/7K/5k2 b - - 0 1", "g7g5", "f5g6"),
        ("N7/8/8/8/3kp2Q/8/3P3K/2Q5 w - - 0 1", "h4d8", "e4d3"),
    ];
    for (text, first, special) in by_the_other {
        let plan = plan(text, Some(first)).unwrap_or_else(|| panic!("{text} {first}"));
        let is_special = |mv: &Move| mv.is_castle() || mv.is_en_passant();
        let replies = plan.turns.iter().flat_map(|turn| &turn.replies);
        let named = replies.filter(|(reply, _)| is_special(reply));
        let named: Vec<String> = named
            .map(|(reply, _)| reply.to_uci(CastlingMode::Standard).to_string())
            .collect();
        assert!(named.iter().any(|uci| uci == special), "{text}: {named:?}");
        let certificate = plan.certificate(&position(text));
        assert!(accepted(&certificate), "{text}");
        let answer = format!(" {special}:");
        let (before, after) = certificate.split_once(&answer).expect("the answer");
        let rest = after.trim_start_matches(|c: char| c.is_ascii_digit());
        assert!(!accepted(&format!("{before}{rest}")), "{text}");
    }
    // The king steps out of what the rook threatens by castling, which a king that may not
    // castle cannot.
    assert_eq!(
        plan("8/8/k7/8/5r2/8/Pr6/R3K3 b Q - 0 1", Some("f4h4")),
        None
    );
    assert!(plan("8/8/k7/8/5r2/8/Pr6/R3K3 b - - 0 1", Some("f4h4")).is_some());
}

#[test]
fn a_game_that_ends_drawn_needs_no_circle() {
    let line = "1.Qh7+ Kxh7".to_owned();
    assert_eq!(shown(STALEMATE, Some("f7h7")), (1, line));
    // The queens go, and no men are left to mate with; but Black need not take.
    let line = "1.Qg7+ Kxg7".to_owned();
    assert_eq!(shown(STALEMATE, Some("f7g7")), (1, line));
    assert_eq!(plan(STALEMATE, Some("f7g8")), None);
    let pawn = "8/5k1P/8/4K3/8/8/8/8 w - - 0 1";
    assert_eq!(shown(pawn, Some("h7h8n")), (1, "1.h8=N+".to_owned()));
    let takes = "7k/8/8/8/8/8/1p6/K7 w - - 0 1";
    assert_eq!(shown(takes, None), (1, "1.Kxb2".to_owned()));
    // A mate is more than a draw.
    let mate = "6k1/5ppp/8/8/8/8/8/K3R3 w - - 0 1";
    assert_eq!(shown(mate, None), (1, "1.Re8#".to_owned()));
}

/// Men that cannot mate, and those that might.
#[test]
fn a_position_is_dead_where_nobody_has_the_men_to_mate_with() {
    let dead = |men: &str| {
        let text = format!("7k/8/8/8/8/8/{men}/K7 w - - 0 1");
        Bitboards::of(&position(&text)).is_dead()
    };
    for men in ["8", "2B5", "2b5", "3B4", "2N5", "2B1b3"] {
        assert!(dead(men), "{men}");
    }
    for men in ["2Bb4", "2NB4", "2NN4", "2Nb4", "2P5", "2R5", "2q5"] {
        assert!(!dead(men), "{men}");
    }
}

#[test]
fn only_a_first_move_that_is_given_may_be_quiet() {
    let plan = plan(STALEMATE, Some("f7b3")).expect("a queen up, the draw is held");
    assert!(plan.turns.len() > 1);
    let mut at = position(STALEMATE);
    let checks = plan.line().into_iter().enumerate().filter(|&(ply, mv)| {
        at.play_unchecked(mv);
        ply % 2 == 0 && at.is_check()
    });
    let checks: Vec<usize> = checks.map(|(ply, _)| ply).collect();
    let later = (1..plan.line().len().div_ceil(2)).map(|turn| 2 * turn);
    assert_eq!(checks, later.collect::<Vec<_>>());
}

/// A move that was taken stays taken when its position is come to by another way.
#[test]
fn a_plan_that_comes_to_a_position_by_several_ways_is_found() {
    let start = position("8/8/5r2/7k/8/8/6K1/6B1 b - - 0 1");
    let mut prover = Prover::new(16 << 20);
    let plan = prover.draw(&start, Some(&start.legal_moves()), &mut Unwatched);
    let plan = plan.expect("no budget").expect("the draw is held");
    assert!(keyproof_certify::verify(&plan.certificate(&start)).is_ok());
}

/// Against what a naive reading of the definition says of everything in reach is the
/// campaign's; here that no plan leads out of itself.
#[test]
fn plans_of_random_positions_are_closed() {
    let mut random = Seeded::new(11);
    let mut prover = Prover::new(16 << 20);
    prover.budget = Some(2_000);
    let (mut found, mut unknown) = (0, 0);
    for _ in 0..400 {
        let start = corpus::mixed(&mut random);
        if start.is_game_over() {
            continue;
        }
        let plan = match prover.draw(&start, Some(&start.legal_moves()), &mut Unwatched) {
            Ok(None) => continue,
            Err(_) => {
                unknown += 1;
                continue;
            }
            Ok(Some(plan)) => plan,
        };
        found += 1;
        let mut positions = vec![None; plan.turns.len()];
        positions[0] = Some(start);
        for (i, turn) in plan.turns.iter().enumerate() {
            let at = positions[i].clone().expect("one before it leads here");
            let after = at.play(turn.mv).expect("a legal move");
            let over = after.is_stalemate() || after.is_insufficient_material();
            let legal = if over { 0 } else { after.legal_moves().len() };
            assert_eq!(turn.replies.len(), legal);
            for &(reply, next) in &turn.replies {
                let there = after.clone().play(reply).expect("a legal reply");
                assert!(!there.is_checkmate());
                match next {
                    Some(next) => {
                        let known = positions[next].get_or_insert(there.clone());
                        assert_eq!(*known, there);
                    }
                    None => assert!(there.is_stalemate() || there.is_insufficient_material()),
                }
            }
        }
    }
    println!("{found} plans, {unknown} not decided");
    assert!(found > 20, "{found}");
}

#[test]
fn budgets_and_cancelling_leave_it_undecided() {
    struct Cancel;
    impl Watch for Cancel {
        fn go_on(&mut self, _: u64, _: f32) -> bool {
            false
        }
    }
    // Source: Alekhine and Botvinnik, Nottingham 1936, before 17...Qg3+ (from memory). It
    // ended in perpetual check, but White could have gone another way, and checks abound.
    let open = position("r1b2rk1/pp2ppbp/6p1/5P2/1B4B1/1NN5/PPP4q/R2QKR2 b Q - 0 17");
    let mut prover = Prover::new(64 << 20);
    prover.budget = Some(40_000);
    assert_eq!(prover.draw(&open, None, &mut Unwatched), Err(40_000));
    assert_eq!(prover.nodes, 40_000);
    prover.budget = None;
    let spent = prover.draw(&open, None, &mut Cancel);
    assert!(matches!(spent, Err(nodes) if nodes < 10_000), "{spent:?}");
    // Neither does a table that is full.
    let mut small = Prover::new(1 << 16);
    assert!(small.draw(&open, None, &mut Unwatched).is_err());
}
