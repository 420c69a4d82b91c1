//! The prover against a search without any cleverness, on seeded positions.

use shakmaty::fen::Fen;
use shakmaty::{CastlingMode, Chess, EnPassantMode, Move, Position};

use super::bitboards::Bitboards;
use super::corpus::{Seeded, mating, mixed, played};
use super::generate::Steps;
use super::step::{Kind, Step};
use super::{Prover, Unwatched, Verdict};

fn after(position: &Chess, m: Move) -> Chess {
    let mut next = position.clone();
    next.play_unchecked(m);
    next
}

/// Whether the move that led to `position` forces mate with `left` more.
fn naive_wins(position: &Chess, left: u8) -> bool {
    if left == 0 {
        return position.is_checkmate();
    }
    let replies = position.legal_moves();
    if replies.is_empty() {
        return position.is_check();
    }
    replies
        .iter()
        .all(|&reply| naive_mates(&after(position, reply), left))
}

/// Whether the side to move forces mate within `n`.
fn naive_mates(position: &Chess, n: u8) -> bool {
    n > 0
        && position
            .legal_moves()
            .iter()
            .any(|&m| naive_wins(&after(position, m), n - 1))
}

/// The fewest moves, up to `n`, in which the side to move mates by force.
fn naive_length(position: &Chess, n: u8) -> Option<u8> {
    (1..=n).find(|&length| naive_mates(position, length))
}

/// Compares the verdicts on all moves; how many keys there are.
fn compare(position: &Chess, n: u8, prover: &mut Prover) -> usize {
    let fen = || Fen::from_position(position, EnPassantMode::Legal).to_string();
    let mut keys = 0;
    for (m, verdict) in prover.judge(position, n, None, &mut Unwatched) {
        let next = after(position, m);
        let length = (1..=n).find(|&length| naive_wins(&next, length - 1));
        match verdict {
            Verdict::Forces { length: ours, line } => {
                keys += 1;
                assert_eq!(Some(ours), length, "{} {m} #{n}", fen());
                assert_eq!(line.len(), 2 * usize::from(ours) - 1, "{} {m}", fen());
                let mut at = position.clone();
                for (i, &m) in line.iter().enumerate() {
                    assert!(at.is_legal(m), "{} {line:?}", fen());
                    at.play_unchecked(m);
                    let left = (line.len() - 1 - i) as u8;
                    if i % 2 == 1 {
                        // Longest defence, then shortest mate.
                        assert_eq!(naive_length(&at, n), Some(left.div_ceil(2)), "{}", fen());
                    }
                }
                assert!(at.is_checkmate(), "{} {line:?}", fen());
            }
            Verdict::Fails { line } => {
                assert_eq!(length, None, "{} {m} #{n}", fen());
                assert_eq!(line[0], m);
                match line[1..] {
                    [] => assert!(n == 1 || next.is_stalemate(), "{} {m}", fen()),
                    [reply] => {
                        assert!(next.is_legal(reply), "{} {line:?}", fen());
                        assert!(!naive_mates(&after(&next, reply), n - 1), "{}", fen());
                    }
                    _ => panic!("{} {line:?}", fen()),
                }
            }
            Verdict::Unknown { .. } => panic!("undecided without a budget"),
        }
    }
    keys
}

/// How deep to compare: the fewer moves and replies, the deeper.
fn depth(position: &Chess) -> u8 {
    match size(position) / setting("KEYPROOF_SIZE", 1) {
        0..25 => 5,
        25..50 => 4,
        50..150 => 3,
        _ => 2,
    }
}

fn size(position: &Chess) -> usize {
    let replies = |&m: &Move| after(position, m).legal_moves().len();
    position.legal_moves().iter().map(replies).sum()
}

/// Compares on `count` positions from `seed`, with one prover for all.
fn compare_many(seed: u64, count: usize) {
    let mut random = Seeded::new(seed);
    let mut prover = Prover::new(1 << 20);
    let mut keys = 0;
    for _ in 0..count {
        let position = mixed(&mut random);
        keys += compare(&position, depth(&position), &mut prover);
    }
    assert!(keys > count / 20, "only {keys} keys in {count} positions");
}

#[test]
fn equals_a_naive_search() {
    compare_many(1, count(2000));
}

/// Positions in which castling or en passant decides deep in the tree.
#[test]
fn equals_a_naive_search_where_it_once_did_not() {
    for fen in [
        "8/8/2b5/8/8/7Q/8/k3K2R w K - 0 1",
        "4k2r/8/1R6/Q7/R2p4/7P/3PK3/8 w k - 0 1",
        "8/p1pp4/8/3P4/1p1K1p2/1Q3R2/3k3r/8 w - - 0 1",
    ] {
        let fen: Fen = fen.parse().expect("FEN");
        let position = fen.into_position(CastlingMode::Standard).expect("legal");
        compare(&position, 3, &mut Prover::new(1 << 20));
    }
}

/// Key sets, lengths, refutations and the continuations after every reply to
/// every key, at n = 3 whatever that takes. Prints what was compared.
#[test]
fn up_to_three_moves_nothing_differs_from_a_naive_search() {
    let wanted = count(400);
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let next = std::sync::atomic::AtomicUsize::new(0);
    let work = || {
        let mut prover = Prover::new(1 << 20);
        let (mut keys, mut sets) = (0, 0);
        loop {
            let i = next.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
            if i >= wanted {
                return (keys, sets);
            }
            let position = mixed(&mut Seeded::new(1_000_000 + i as u64));
            let n = if i.is_multiple_of(4) { 2 } else { 3 };
            keys += compare(&position, n, &mut prover);
            sets += 1;
            for (key, verdict) in prover.judge(&position, n, None, &mut Unwatched) {
                let Verdict::Forces { length, .. } = verdict else {
                    continue;
                };
                let next = after(&position, key);
                for reply in next.legal_moves() {
                    compare(&after(&next, reply), length - 1, &mut prover);
                    sets += 1;
                }
            }
        }
    };
    let (keys, sets) = std::thread::scope(|scope| {
        let workers: Vec<_> = (0..cores).map(|_| scope.spawn(work)).collect();
        let done = workers
            .into_iter()
            .map(|w| w.join().expect("no difference"));
        done.fold((0, 0), |all, one| (all.0 + one.0, all.1 + one.1))
    });
    println!("{wanted} positions, {keys} keys, {sets} sets of moves; 0 differences");
    assert!(keys > wanted / 20, "only {keys} keys");
}

/// No reply holds out longer than the one that is told, and that one so long.
#[test]
fn the_longest_defence_is_the_longest() {
    let mut random = Seeded::new(6);
    let mut prover = Prover::new(1 << 20);
    let mut uneven = 0;
    for _ in 0..count(40) {
        let position = mating(&mut random, 3, &mut prover);
        let keys = prover.judge(&position, 3, None, &mut Unwatched);
        for (key, _) in keys
            .into_iter()
            .filter(|(_, v)| matches!(v, Verdict::Forces { .. }))
        {
            let next = after(&position, key);
            let lengths: Vec<(Move, u8)> = next
                .legal_moves()
                .into_iter()
                .map(|reply| {
                    (
                        reply,
                        naive_length(&after(&next, reply), 2).expect("a mate"),
                    )
                })
                .collect();
            let told = prover.longest_defence(&next, 2, &mut Unwatched);
            let most = lengths.iter().map(|&(_, length)| length).max();
            uneven += usize::from(lengths.first().map(|&(_, length)| length) < most);
            assert_eq!(told.map(|(_, length)| length), most);
            assert!(told.is_none_or(|told| lengths.contains(&told)));
        }
    }
    assert!(uneven > 5, "{uneven}");
}

/// Mate in one without playing, and remembered steps, on every position of
/// random games.
#[test]
fn bitboard_tests_equal_the_rules() {
    let mut random = Seeded::new(2);
    let (mut mates, mut taken) = (0, 0);
    let mut remembered: [Vec<Step>; 2] = Default::default();
    for _ in 0..count(20_000) {
        let position = mixed(&mut random);
        let board = Bitboards::of(&position);
        let legal: Vec<Step> = position.legal_moves().into_iter().map(Step::of).collect();
        let mut steps = Steps::new();
        board.legal(&board.constraints(), &mut steps);
        let fen = || Fen::from_position(&position, EnPassantMode::Legal).to_string();
        let sorted = |steps: &[Step]| {
            let mut steps: Vec<_> = steps.iter().map(|s| format!("{s:?}")).collect();
            steps.sort();
            steps
        };
        assert_eq!(sorted(&legal), sorted(&steps), "{}", fen());

        let mating = |step: Step| {
            let played = after(&position, board.move_of(step));
            assert_eq!(
                board.play(step),
                Bitboards::of(&played),
                "{} {step:?}",
                fen()
            );
            played.is_checkmate()
        };
        let expected: Vec<Step> = legal.iter().copied().filter(|&s| mating(s)).collect();
        let found = board.mate_in_one();
        assert_eq!(
            found.is_none(),
            expected.is_empty(),
            "{} {expected:?}",
            fen()
        );
        assert!(found.is_none() || expected.contains(&found), "{}", fen());
        let checks = board.checks();
        let unseen = legal.iter().find(|&&step| {
            let gives = after(&position, board.move_of(step)).is_check();
            gives && !checks.may_give(step)
        });
        assert_eq!(unseen, None, "{}", fen());
        mates += usize::from(!found.is_none());

        let pool = &mut remembered[board.turn() as usize];
        for &step in pool.iter().chain(&legal) {
            let ordinary = matches!(step.kind(), Kind::Plain | Kind::Double);
            let takes = board.takes_over(&board.constraints(), step);
            assert_eq!(
                takes,
                ordinary && legal.contains(&step),
                "{} {step:?}",
                fen()
            );
            assert_eq!(
                board.still_mates(step),
                takes && expected.contains(&step),
                "{}",
                fen()
            );
            taken += usize::from(takes);
        }
        for step in legal {
            if pool.len() < 100 {
                pool.push(step);
            } else {
                pool[random.below(100)] = step;
            }
        }
    }
    assert!(mates > 100 && taken > 10_000, "{mates} {taken}");
}

/// What a reply to a null move is said to refute, it refutes: how many times that was
/// said.
fn refuted_after_a_null_move(position: &Chess) -> usize {
    let board = Bitboards::of(position);
    let Ok(passed) = position.clone().swap_turn() else {
        return 0; // in check
    };
    let mut steps = Steps::new();
    board.legal(&board.constraints(), &mut steps);
    let mut refuted = 0;
    for reply in passed.legal_moves().into_iter().map(Step::of) {
        let Some(refutation) = board.null_move_refutation(&[reply]) else {
            continue;
        };
        for &step in steps.iter().filter(|&&step| refutation.refutes(step)) {
            let fen = || Fen::from_position(position, EnPassantMode::Legal).to_string();
            let next = after(position, board.move_of(step));
            let reply = Bitboards::of(&next).move_of(reply);
            assert!(next.is_legal(reply), "{} {step:?} {reply}", fen());
            let last = after(&next, reply);
            let mate = last
                .legal_moves()
                .into_iter()
                .find(|&m| after(&last, m).is_checkmate());
            assert_eq!(mate, None, "{} {step:?} {reply}", fen());
            refuted += 1;
        }
    }
    refuted
}

#[test]
fn replies_to_a_null_move_refute() {
    let mut random = Seeded::new(3);
    let drawn = |_| refuted_after_a_null_move(&mixed(&mut random));
    let refuted: usize = (0..count(2_000)).map(drawn).sum();
    assert!(refuted > 100_000, "{refuted}");
}

/// The same where castling, en passant or promotion is near, which random positions
/// hardly have: in those of `tests/strata.tsv` and on the way of random games from there.
#[test]
fn replies_to_a_null_move_refute_where_special_moves_are_near() {
    let mut random = Seeded::new(4);
    let mut refuted = 0;
    for line in include_str!("../../../tests/strata.tsv").lines() {
        let fen: Fen = line
            .split('\t')
            .nth(2)
            .and_then(|fen| fen.parse().ok())
            .expect("a position");
        let start: Chess = fen.into_position(CastlingMode::Standard).expect("legal");
        for plies in 0..count(6) {
            refuted += refuted_after_a_null_move(&played(&mut random, start.clone(), plies));
        }
    }
    assert!(refuted > 50_000, "{refuted}");
}

/// A position in which White mates by castling, his king at e1 and a rook in its corner.
fn castling_mates(random: &mut Seeded) -> Chess {
    use shakmaty::{Board, CastlingSide, Color, File, FromSetup, Rank, Role, Setup, Square};
    loop {
        let (side, corner) = [
            (CastlingSide::KingSide, Square::H1),
            (CastlingSide::QueenSide, Square::A1),
        ][random.below(2)];
        let mut board = Board::empty();
        board.set_piece_at(Square::E1, Color::White.king());
        board.set_piece_at(corner, Color::White.rook());
        let file = side.rook_to(Color::White).file();
        board.set_piece_at(
            Square::from_coords(file, Rank::new(1 + random.below(5) as u32)),
            Color::Black.king(),
        );
        let pieces = [
            Role::Queen,
            Role::Rook,
            Role::Bishop,
            Role::Knight,
            Role::Pawn,
        ];
        let men = (0..1 + random.below(4)).map(|_| pieces[random.below(5)].of(Color::White));
        let men: Vec<_> = men
            .chain([Color::Black.pawn(), Color::Black.pawn()])
            .collect();
        for man in men {
            let rank = Rank::new(1 + random.below(6) as u32);
            let square = Square::from_coords(File::new(random.below(8) as u32), rank);
            if board.piece_at(square).is_none() {
                board.set_piece_at(square, man);
            }
        }
        let setup = Setup {
            castling_rights: corner.into(),
            board,
            ..Setup::empty()
        };
        let Ok(position) = Chess::from_setup(setup, CastlingMode::Standard) else {
            continue;
        };
        let castles = |m: &Move| m.is_castle() && after(&position, *m).is_checkmate();
        if position.legal_moves().iter().any(castles) {
            return position;
        }
    }
}

#[test]
fn a_mate_by_castling_is_not_overlooked_after_a_null_move() {
    let mut random = Seeded::new(5);
    for _ in 0..count(300) {
        refuted_after_a_null_move(&castling_mates(&mut random));
    }
}

/// Next is a mate by a pawn: by one step, by two, with another pawn behind, by taking, by
/// becoming a knight, by taking in passing. No waiting move is said to be refuted.
#[test]
fn a_mate_by_a_pawn_is_not_overlooked_after_a_null_move() {
    for (fen, wait, mate) in [
        ("8/8/6pp/p5pk/7b/5KP1/1P6/8 w - - 0 1", "b2b3", "g3g4"),
        ("8/8/6pp/p5pk/7b/5K2/1P4P1/8 w - - 0 1", "b2b3", "g2g4"),
        ("8/8/6pp/p5pk/7b/5KP1/1P4P1/8 w - - 0 1", "b2b3", "g3g4"),
        ("8/8/6pp/p5pk/6pb/5P1P/8/K7 w - - 0 1", "a1b1", "f3g4"),
        ("8/3ppPK1/3pk3/p2ppp2/8/8/1P6/8 w - - 0 1", "b2b3", "f7f8n"),
        ("8/5Kpk/8/7P/8/2B1B3/8/8 w - - 0 1", "c3b2", ""),
    ] {
        let parsed: Fen = fen.parse().expect("FEN");
        let start: Chess = parsed.into_position(CastlingMode::Standard).expect("legal");
        let named = |uci: &str| {
            let uci: shakmaty::uci::UciMove = uci.parse().expect("UCI");
            uci.to_move(&start).expect("legal")
        };
        let mates = |mv: Move| after(&start, mv).is_checkmate();
        assert!(mate.is_empty() || mates(named(mate)), "{fen}");
        assert!(!mates(named(wait)), "{fen}");
        refuted_after_a_null_move(&start);
    }
}

/// Castling, a promotion back along the file the pawn came by, and a capture in passing
/// that clears a rank give checks that are easily missed.
#[test]
fn special_moves_that_check_are_among_those_that_may() {
    for fen in [
        "5k2/8/8/8/8/8/8/4K2R w K - 0 1",
        "8/4P3/8/8/8/4k3/8/K7 w - - 0 1",
        "8/8/8/R2pP2k/8/8/8/K7 w - d6 0 1",
    ] {
        let parsed: Fen = fen.parse().expect("FEN");
        let start: Chess = parsed.into_position(CastlingMode::Standard).expect("legal");
        let checks = Bitboards::of(&start).checks();
        let moves = start.legal_moves().into_iter();
        let special = |m: &Move| m.is_castle() || m.is_promotion() || m.is_en_passant();
        let giving: Vec<Move> = moves
            .filter(|m| special(m) && after(&start, *m).is_check())
            .collect();
        assert!(!giving.is_empty(), "{fen}");
        assert!(
            giving.into_iter().all(|m| checks.may_give(Step::of(m))),
            "{fen}"
        );
    }
}

/// Of replies that tell nothing at a glance those come first against which one move more
/// would not be enough.
#[test]
fn refutations_that_hold_longer_come_first() {
    let mut random = Seeded::new(8);
    let mut prover = Prover::new(1 << 20);
    let mut both = 0;
    for _ in 0..count(2_000) {
        let position = super::corpus::placed(&mut random, 4);
        let quiet =
            |m: &Move| !m.is_capture() && !m.is_promotion() && !after(&position, *m).is_check();
        let told = prover.refutations(&position, 1, &mut Unwatched);
        let told = told.expect("no budget").into_iter().filter(quiet);
        let near: Vec<bool> = told
            .map(|m| {
                matches!(
                    prover.mate(&after(&position, m), 2, &mut Unwatched),
                    Ok(Some(_))
                )
            })
            .collect();
        assert!(near.is_sorted(), "{near:?}");
        both += usize::from(near.first() != near.last());
    }
    assert!(both > 10, "{both}");
}

fn naive_mates_by_checks(position: &Chess, n: u8) -> bool {
    n > 0
        && position.legal_moves().iter().any(|&m| {
            let next = after(position, m);
            next.is_check()
                && next
                    .legal_moves()
                    .iter()
                    .all(|&reply| naive_mates_by_checks(&after(&next, reply), n - 1))
        })
}

#[test]
fn mates_by_checks_equal_a_naive_search() {
    let mut random = Seeded::new(4);
    let mut prover = Prover::new(1 << 20);
    let mut found = [0; 6];
    for i in 0..count(4_000) {
        let position = mixed(&mut random);
        let n = 2 + (i % 4) as u8;
        let fen = Fen::from_position(&position, EnPassantMode::Legal);
        let line = prover
            .mate_by_checks(&position, n, &mut Unwatched)
            .expect("no budget");
        let expected = naive_mates_by_checks(&position, n);
        assert_eq!(line.is_some(), expected, "{fen} #{n}");
        let Some(line) = line else { continue };
        let mut at = position;
        for (i, &m) in line.iter().enumerate() {
            assert!(at.is_legal(m), "{fen} {line:?}");
            at.play_unchecked(m);
            assert!(i % 2 == 1 || at.is_check(), "{fen} {line:?}");
        }
        assert!(at.is_checkmate(), "{fen} {line:?}");
        found[line.len().div_ceil(2)] += 1;
    }
    assert!(found[2] > 20 && found[3] > 5, "{found:?}");
}

fn count(usual: usize) -> usize {
    setting("KEYPROOF_POSITIONS", usual)
}

/// More is tried on request: `KEYPROOF_POSITIONS=10000` tries so many
/// positions, `KEYPROOF_SIZE=4` searches positions four times as rich.
fn setting(name: &str, usual: usize) -> usize {
    std::env::var(name)
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(usual)
}
