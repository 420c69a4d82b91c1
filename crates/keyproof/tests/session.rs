//! What the checker found judges a student's moves.

use keyproof::check::{Judge, Known, check};
use keyproof::notation::{moves, pgn_read};
use keyproof::prove::Unwatched;
use keyproof::publish::{Item, read_answers, write_answers};
use keyproof::resolved::Resolved;
use keyproof::session::{Judgement, Next, Reply, Session};

fn play(session: &mut Session, text: &str) -> Reply {
    let mv = moves::read(session.position(), text).expect("a legal move");
    session.play(mv)
}

/// The knight forks king and queen.
const FORK: &str = "[FEN \"6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1\"]\n[Stipulation \"+\"]\n\n1. Nf6+ (1. Nb6 $2 Qd1#) 1... Kg7 2. Nxd7 *";

#[test]
fn a_searched_win_is_judged_by_its_published_answers() {
    let draft = pgn_read::read(FORK).remove(0).draft;
    let puzzle = Resolved::of(&draft).into_puzzle().expect("a puzzle");
    assert!(!Session::new(puzzle.clone(), Known::default()).judges());
    let mut known = Known::default();
    check(&draft, &mut known, &mut Judge::new(1 << 20), &mut Unwatched);
    let answers = write_answers(&[Item {
        resolved: &Resolved::of(&draft),
        known: &known,
        explanation: None,
    }]);
    let published = read_answers(&answers, std::slice::from_ref(&puzzle))
        .remove(0)
        .known;
    let mut session = Session::new(puzzle, published);
    assert!(session.judges());
    let wrong = play(&mut session, "Nc7").judgement;
    assert!(
        matches!(wrong, Judgement::Wrong { ref line } if line.len() > 1),
        "{wrong:?}"
    );
    let reply = play(&mut session, "Nf6");
    assert_eq!(reply.judgement, Judgement::Right);
    assert!(matches!(reply.next, Next::Defence(_)));
    assert_eq!(play(&mut session, "Nxd7").next, Next::Solved);
}

#[test]
fn a_draw_is_held_when_the_position_repeats() {
    let text = "[FEN \"6k1/6p1/8/7Q/1p6/7P/1q4PK/2r5 w - - 0 1\"]\n[Stipulation \"=\"]\n\n1. Qe8+ Kh7 2. Qh5+ Kg8 *";
    let draft = pgn_read::read(text).remove(0).draft;
    let puzzle = Resolved::of(&draft).into_puzzle().expect("a puzzle");
    let mut known = Known::default();
    check(&draft, &mut known, &mut Judge::new(1 << 20), &mut Unwatched);
    let mut session = Session::new(puzzle, known);
    assert!(matches!(play(&mut session, "Qe8").next, Next::Defence(_)));
    assert_eq!(play(&mut session, "Qh5").next, Next::Solved);
}
