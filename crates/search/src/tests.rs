use shakmaty::{CastlingMode, Chess, Move, Position, fen::Fen, san::San};

use super::*;
use prove::Unwatched;

pub(super) fn position(fen: &str) -> Chess {
    fen.parse::<Fen>()
        .expect("FEN")
        .into_position(CastlingMode::Standard)
        .expect("legal")
}

fn find(position: &Chess, san: &str) -> Move {
    let san: San = san.parse().expect("SAN");
    san.to_move(position).expect("legal")
}

fn best(fen: &str, nodes: u64) -> (String, Line) {
    let position = position(fen);
    let line = Search::new(1 << 22)
        .lines(&position, &[], &Limits::nodes(nodes), &mut Unwatched)
        .remove(0);
    let san = San::from_move(&position, line.moves[0]).to_string();
    (san, line)
}

#[test]
fn a_fork_wins_the_queen() {
    let (san, line) = best("q3k3/7p/8/3N4/8/8/7P/4K3 w - - 0 1", 20_000);
    assert_eq!((san.as_str(), line.grade), ("Nc7", Grade::Searched));
}

#[test]
fn a_mate_is_proved() {
    let (san, line) = best("7k/p7/5K2/8/8/8/P7/Q7 w - - 0 1", 50_000);
    assert_eq!(line.value, Value::MateIn(2), "{san}");
    assert_eq!(line.grade, Grade::Proved);
    assert_eq!(line.moves.len(), 3);
}

#[test]
fn a_bare_king_and_a_knight_cannot_win() {
    let (_, line) = best("8/8/8/3k4/3p4/3K4/3N4/8 b - - 0 1", 20_000);
    assert_eq!(line.value, Value::Cp(0));
}

#[test]
fn perpetual_check_draws() {
    // A rook down; Qe8+ and Qh5+ for ever.
    let (san, line) = best("6k1/6p1/8/7Q/8/r7/1q3PPP/6K1 w - - 0 1", 60_000);
    assert_eq!((san.as_str(), line.value), ("Qe8", Value::Cp(0)));
}

#[test]
fn stalemate_is_seen_at_the_leaves() {
    let (san, line) = best("7k/5K2/8/p5Q1/P7/8/8/8 w - - 0 1", 10_000);
    assert_eq!(line.value, Value::MateIn(1), "{san}");
    let lines = Search::new(1 << 20).lines(
        &position("7k/5K2/8/p5Q1/P7/8/8/8 w - - 0 1"),
        &[],
        &Limits {
            moves: Some(vec![find(
                &position("7k/5K2/8/p5Q1/P7/8/8/8 w - - 0 1"),
                "Qg6",
            )]),
            ..Limits::nodes(10_000)
        },
        &mut Unwatched,
    );
    assert_eq!(
        (lines[0].value, lines[0].grade),
        (Value::Cp(0), Grade::Proved)
    );
}

/// Black's king can only go to and fro between g8 and h8, so White decides
/// whether positions recur.
fn shuffle() -> (Vec<Chess>, Chess) {
    let mut at = position("6k1/8/6K1/8/p7/B7/P7/1R6 w - - 0 1");
    let mut game = Vec::new();
    for san in ["Ra1", "Kh8", "Rb1", "Kg8", "Ra1", "Kh8"] {
        game.push(at.clone());
        let m = find(&at, san);
        at.play_unchecked(m);
    }
    (game, at)
}

#[test]
fn a_third_occurrence_draws_and_leaks_nowhere() {
    let (game, now) = shuffle();
    let rook = find(&now, "Rb1");
    let ask = |search: &mut Search, game: &[Chess]| {
        search
            .at_least(&now, game, rook, 300, 5_000, &mut Unwatched)
            .outcome
    };
    // With the game behind it Rb1 Kg8 repeats a second time; without, it
    // mates next move. Neither answer may spoil the other.
    let mut search = Search::new(1 << 20);
    assert_eq!(ask(&mut search, &game), BoundTest::Fails);
    assert_eq!(ask(&mut search, &[]), BoundTest::Keeps);
    assert_eq!(ask(&mut search, &game), BoundTest::Fails);
    // Seen once before is no draw yet.
    assert_eq!(ask(&mut search, &game[4..]), BoundTest::Keeps);
}

#[test]
fn fifty_moves_without_progress_draw() {
    // One more quiet move and the game is drawn; mate comes first.
    let mate = best("6k1/8/6K1/8/8/B7/8/1R6 w - - 99 80", 20_000);
    assert_eq!(mate.1.value, Value::MateIn(1));
    let (_, line) = best("8/8/8/8/7p/5k1P/8/Q6K w - - 98 80", 20_000);
    assert_eq!(line.value, Value::Cp(0));
}

#[test]
fn several_lines_come_in_order() {
    let start = position("r3k3/7p/8/3N4/8/8/7P/4K3 w - - 0 1");
    let limits = Limits {
        lines: 3,
        depth: 6,
        ..Limits::nodes(100_000)
    };
    let lines = Search::new(1 << 22).lines(&start, &[], &limits, &mut Unwatched);
    let values: Vec<i32> = lines
        .iter()
        .map(|line| match line.value {
            Value::Cp(value) => value,
            _ => panic!("no mates here"),
        })
        .collect();
    assert_eq!(lines[0].moves[0], find(&start, "Nc7+"));
    assert_eq!(values.len(), 3);
    assert!(values.is_sorted_by(|a, b| a >= b), "{values:?}");
}

#[test]
fn the_same_question_gets_the_same_answer() {
    let start = position("r1b2rk1/2q1b1pp/p2ppn2/1p6/3QP3/1BN1B3/PPP3PP/R4RK1 w - - 0 1");
    let ask = || {
        let mut search = Search::new(1 << 20);
        let lines = search.lines(&start, &[], &Limits::nodes(30_000), &mut Unwatched);
        (lines, search.nodes)
    };
    let (lines, nodes) = ask();
    assert_eq!(ask(), (lines, nodes));
    assert!(nodes <= 30_000);
}

#[test]
fn a_move_is_tested_against_a_bound() {
    // The knight forks king and queen; other moves leave White lost.
    let start = position("q3k3/7p/8/3N4/8/8/7P/4K3 w - - 0 1");
    let mut search = Search::new(1 << 20);
    let fork = search.at_least(&start, &[], find(&start, "Nc7+"), 0, 5_000, &mut Unwatched);
    assert_eq!(fork.outcome, BoundTest::Keeps);
    let other = search.at_least(&start, &[], find(&start, "Nb4"), 0, 5_000, &mut Unwatched);
    assert_eq!(other.outcome, BoundTest::Fails);
    assert!(other.since <= other.depth && other.moves.len() > 1);
    let illegal = Move::Castle {
        king: shakmaty::Square::E1,
        rook: shakmaty::Square::H1,
    };
    let none = search.at_least(&start, &[], illegal, 0, 5_000, &mut Unwatched);
    assert_eq!((none.outcome, none.depth), (BoundTest::Unknown, 0));
}

#[test]
fn the_watcher_and_the_budget_stop_the_search() {
    struct Stop(u64);
    impl prove::Watch for Stop {
        fn go_on(&mut self, nodes: u64, share: f32) -> bool {
            assert!((0.0..=1.0).contains(&share));
            nodes < self.0
        }
    }
    let start = Chess::default();
    let mut search = Search::new(1 << 20);
    let lines = search.lines(&start, &[], &Limits::nodes(u64::MAX), &mut Stop(20_000));
    assert_eq!(lines.len(), 1);
    assert!(search.nodes < 30_000);
}

#[test]
fn a_finished_game_has_no_lines() {
    let mated = position("R5k1/5ppp/8/8/8/8/8/4K3 b - - 0 1");
    let lines = Search::new(1 << 20).lines(&mated, &[], &Limits::nodes(1000), &mut Unwatched);
    assert!(lines.is_empty());
}

#[test]
fn four_men_are_answered_from_their_table() {
    let (san, line) = best("8/8/8/8/8/2k5/1R6/K7 w - - 0 1", 1);
    assert_eq!(
        (line.value, line.grade),
        (Value::MateIn(16), Grade::Table),
        "{san}"
    );
    assert_eq!(line.moves.len(), 31);
    let mut at = position("8/8/8/8/8/2k5/1R6/K7 w - - 0 1");
    for &m in &line.moves {
        assert!(at.is_legal(m));
        at.play_unchecked(m);
    }
    assert!(at.is_checkmate());
}

#[test]
fn a_table_beside_the_position_is_used_inside_the_tree() {
    // Taking the last rook leads into queen against knight.
    let start = position("8/8/3n4/3k4/8/2r5/1Q6/K7 w - - 0 1");
    let mut search = Search::new(1 << 20);
    search.forget(&start, 20_000, &mut Unwatched);
    let line = search
        .lines(&start, &[], &Limits::nodes(20_000), &mut Unwatched)
        .remove(0);
    assert_eq!(line.moves[0], find(&start, "Qxc3"));
    assert!(
        matches!(line.value, Value::Cp(KNOWN_WIN..)),
        "{:?}",
        line.value
    );
    assert_eq!(line.grade, Grade::Searched);
}

#[test]
fn a_table_answers_single_moves() {
    // One square decides: Kd6 keeps the opposition, Kf6 only draws.
    let start = position("4k3/8/4K3/4P3/8/8/8/8 w - - 0 1");
    let mut search = Search::new(1 << 20);
    let mut ask = |san| search.at_least(&start, &[], find(&start, san), 200, 1, &mut Unwatched);
    let right = ask("Kd6");
    assert_eq!(
        (right.outcome, right.grade),
        (BoundTest::Keeps, Grade::Table)
    );
    assert_eq!(ask("Kd5").outcome, BoundTest::Fails);
}

#[test]
fn a_search_that_was_asked_nothing_yet_values_what_is_quiet() {
    let mut search = Search::with_reference(1 << 16);
    let quiet = position("4k3/8/8/8/8/8/4P3/4K3 w - - 0 1");
    assert!(search.quiet_value(&quiet).is_some_and(|value| value > 0));
    let hangs = position("4k3/8/8/3q4/4P3/8/8/4K3 w - - 0 1");
    assert_eq!(search.quiet_value(&hangs), None);
}
