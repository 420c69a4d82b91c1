//! Moments in games and positions of our own making. Published games stand in
//! the tests crate.

use shakmaty::Position;

use super::*;
use check::{Judge, Soundness};
use model::draft::Draft;
use model::notation::fen;
use model::{pgn_read, pgn_write};
use prove::Unwatched;

const SMALL: Plan = Plan {
    glance: 8_000,
    look: 40_000,
    claim: 300_000,
};

fn game(text: &str) -> Draft {
    let mut games = pgn_read::read(text);
    assert_eq!(games.len(), 1);
    assert!(games[0].faults.is_empty(), "{:?}", games[0].faults);
    games.remove(0).draft
}

fn from(fen: &str, moves: &str) -> Draft {
    game(&format!("[SetUp \"1\"]\n[FEN \"{fen}\"]\n\n{moves} *"))
}

fn found(draft: &Draft) -> Vec<Moment> {
    let course = Course::of(draft).unwrap();
    assert!(course.stops_at.is_none());
    let mut progress = Progress::new(&course);
    find(&course, &mut progress, &SMALL, &mut Unwatched, &mut |_| ())
}

fn sans(moment: &Moment) -> Vec<&str> {
    moment
        .accepted
        .iter()
        .map(|a| a.named.san.as_str())
        .collect()
}

/// The knight forks king and queen, and the game's move goes by.
const FORK: &str = "6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1";

#[test]
fn a_missed_win_is_a_moment() {
    let moments = found(&from(FORK, "1. Nc3 Qd2"));
    let moment = &moments[0];
    assert_eq!((moment.ply, sans(moment)), (0, vec!["Nf6+"]));
    assert!(moment.kinds.contains(&Kind::Win), "{:?}", moment.kinds);
    assert_eq!(moment.stipulation, "+");
    assert_eq!(moment.task(), "White to move and win.");
    assert!(!moment.played.right);
    assert!(moment.played.cost > 300, "{}", moment.played.cost);
    assert!(moment.study.tries[0].played);
    assert!(moment.study.tries[0].sentence.starts_with("1.Nc3 "));
    let kinds = moment.study.reasons.iter().map(|why| why.kind);
    assert!(kinds.into_iter().any(|k| k == explain::ReasonKind::Fork));
}

#[test]
fn the_fork_allowed_and_not_seen_was_missed_by_both() {
    // The queen steps into the fork; taken, it counts less.
    let before = "3q2k1/5p1p/8/3N4/8/8/5PPP/6K1 b - - 0 1";
    let moments = found(&from(before, "1... Qd7 2. Nc3 Qd2"));
    let moment = moments.iter().find(|m| m.ply == 1).unwrap();
    assert!(
        moment.kinds.contains(&Kind::MissedByBoth),
        "{:?}",
        moment.kinds
    );
    let taken = found(&from(before, "1... Qd7 2. Nf6+ Kg7 3. Nxd7"));
    let other = taken.iter().find(|m| m.ply == 1).unwrap();
    assert!(!other.kinds.contains(&Kind::MissedByBoth));
    assert!(other.played.right);
    assert!(other.worth < moment.worth);
}

#[test]
fn a_mate_is_a_moment_and_its_end_is_none() {
    let queen_first = "3r2k1/1b3ppp/pqp5/8/3N4/8/PPP1QPPP/4R1K1 w - - 0 1";
    let moments = found(&from(queen_first, "1. Qe8+ Rxe8 2. Rxe8#"));
    let plies: Vec<usize> = moments.iter().map(|m| m.ply).collect();
    assert_eq!(plies, [0], "{moments:?}");
    assert_eq!(moments[0].stipulation, "#2");
    assert_eq!(moments[0].kind(), Kind::Mate);
    assert_eq!(moments[0].evidence, Evidence::Proved);
}

#[test]
fn an_only_move_that_holds_is_a_moment_and_known_by_table() {
    // In front of the pawn the king is stalemated in the end; beside it the
    // pawn goes through.
    let moments = found(&from("4k3/8/4PK2/8/8/8/8/8 b - - 0 1", "1... Kd8 2. Kf7"));
    let moment = &moments[0];
    assert_eq!(
        (moment.stipulation.as_str(), sans(moment)),
        ("=", vec!["Kf8"])
    );
    assert_eq!(moment.task(), "Black to move and draw.");
    assert_eq!(moment.evidence, Evidence::Table);
    assert!(moment.kinds.contains(&Kind::OnlyMoveHolds));
    assert_eq!(moment.kind(), Kind::NaturalMoveLoses, "as it was played");
    let won_anyway = found(&from("4k3/8/4PK2/8/8/8/8/8 w - - 0 1", "1. e7 Kd7"));
    assert!(won_anyway.iter().all(|m| m.stipulation != "="));
}

#[test]
fn dead_won_positions_are_no_moments() {
    // Queen and rook against nothing, and nothing but wins.
    assert!(
        found(&from(
            "6k1/8/8/8/8/8/8/QR4K1 w - - 0 1",
            "1. Qa7 Kf8 2. Rb5 Kg8"
        ))
        .is_empty()
    );
}

#[test]
fn three_moves_that_serve_are_no_moment() {
    let fen = "q5k1/5ppp/8/8/8/8/5PPP/R5K1 w - - 0 1";
    assert_eq!(
        found(&from(fen, "1. h3")).len(),
        1,
        "one man can take the queen"
    );
    let three = "3q2k1/5ppp/2N1N3/8/7B/8/5PPP/6K1 w - - 0 1";
    assert!(found(&from(three, "1. h3")).is_empty(), "three men can");
}

#[test]
fn book_moves_are_glanced_at_and_no_more() {
    let book = "1. d4 d5 2. c4 e6 3. Nc3 Nf6 4. Nf3 Be7 5. Bf4 O-O 6. e3 *";
    let course = Course::of(&game(book)).unwrap();
    let mut progress = Progress::new(&course);
    let open = questions(&course, &progress, &SMALL);
    assert_eq!(open.len(), course.plies.len() + 1);
    for question in open {
        assert!(matches!(question, Question::Glance { .. }));
        progress.learn(answer(&question, &mut Unwatched).unwrap());
    }
    assert_eq!(questions(&course, &progress, &SMALL), []);
}

/// Stops after so many askings.
struct Patience(usize);

impl Watch for Patience {
    fn go_on(&mut self, _nodes: u64, _share: f32) -> bool {
        self.0 = self.0.saturating_sub(1);
        self.0 > 0
    }
}

#[test]
fn what_is_stopped_goes_on_and_comes_to_the_same() {
    let draft = from(FORK, "1. Nc3 Qd2 2. Ne4 Qd1#");
    let course = Course::of(&draft).unwrap();
    let whole = found(&draft);
    assert!(!whole.is_empty());
    let mut progress = Progress::new(&course);
    let mut told = Vec::new();
    let mut stops = 0;
    for patience in 1.. {
        let mut each = |moment: &Moment| told.push(moment.ply);
        find(
            &course,
            &mut progress,
            &SMALL,
            &mut Patience(40 * patience),
            &mut each,
        );
        if questions(&course, &progress, &SMALL).is_empty() {
            break;
        }
        stops += 1;
    }
    assert!(stops > 1, "it was stopped {stops} times");
    assert_eq!(moments(&course, &progress), whole);
    let plies: Vec<usize> = whole.iter().map(|moment| moment.ply).collect();
    assert!(plies.iter().all(|ply| told.contains(ply)));
    let again = |ply: &usize| told.iter().filter(|t| *t == ply).count() > 1;
    assert!(!told.iter().any(again), "each is told once");
    let tally = tally(&course, &progress, &SMALL);
    assert_eq!((tally.answered, tally.open), (tally.asked, [0; 3]));
}

#[test]
fn answers_may_come_in_any_order() {
    let draft = from(FORK, "1. Nc3 Qd2 2. Ne4 Qd1#");
    let course = Course::of(&draft).unwrap();
    let mut progress = Progress::new(&course);
    loop {
        let mut open = questions(&course, &progress, &SMALL);
        let Some(last) = open.pop() else { break };
        progress.learn(answer(&last, &mut Unwatched).unwrap());
    }
    assert_eq!(moments(&course, &progress), found(&draft));
}

#[cfg(feature = "serde")]
#[test]
fn progress_survives_the_way_through_text() {
    let draft = from(FORK, "1. Nc3 Qd2");
    let course = Course::of(&draft).unwrap();
    let mut progress = Progress::new(&course);
    let all = find(&course, &mut progress, &SMALL, &mut Unwatched, &mut |_| ());
    let text = serde_json::to_string(&progress).unwrap();
    let back: Progress = serde_json::from_str(&text).unwrap();
    assert!(back.fits(&course));
    assert_eq!(moments(&course, &back), all);
    let other = Course::of(&from(FORK, "1. Nf6+ Kg7")).unwrap();
    assert!(!back.fits(&other));
}

#[test]
fn a_move_that_is_not_legal_ends_the_course() {
    let draft = from(FORK, "1. Nc3 Qd9 2. Nd5");
    let course = Course::of(&draft).unwrap();
    assert_eq!(course.plies.len(), 1);
    let stopped = draft.node(course.stops_at.unwrap()).unwrap();
    assert_eq!(stopped.text, "Qd9");
    assert!(Course::of(&from("8/8/8/8/8/8/8/8 w - - 0 1", "1. e4")).is_err());
}

fn made(draft: &Draft, moment: &Moment) -> Made {
    let mut judge = Judge::new(8 << 20);
    judge.set_budget(Some(SMALL.claim));
    let mut known = check::Known::default();
    complete(
        worded(draft, moment),
        &mut known,
        &mut judge,
        &mut Unwatched,
    )
}

fn completed(text: &str) -> Made {
    let mut judge = Judge::new(8 << 20);
    judge.set_budget(Some(SMALL.claim));
    let mut known = check::Known::default();
    complete(game(text), &mut known, &mut judge, &mut Unwatched)
}

/// Queen and rook hang: the rook alone is four pawns worse than the queen, and less than
/// that is wrong.
const TWO_HANG: &str = "[FEN \"6k1/5ppp/8/3q4/r7/2N5/6PP/5R1K w - - 0 1\"]\n[Stipulation \"bm\"]\n[Margins \"-0.50 -8.00\"]\n\n1. Nxd5";

#[test]
fn what_lies_between_is_told_to_be_neither() {
    let made = completed(&format!("{TWO_HANG} *"));
    assert_eq!(made.report.verdict, Soundness::Sound, "{:?}", made.report);
    let written = pgn_write::write(&made.draft);
    let told = "(1. Nxa4 {Playable, but not what is asked for.})";
    assert!(written.contains(told), "{written}");
    let theirs = completed(&format!("{TWO_HANG} (1. Nxa4 {{Greedy.}}) *"));
    let theirs = pgn_write::write(&theirs.draft);
    assert!(theirs.contains("(1. Nxa4 {Greedy.})"), "{theirs}");

    let most = TWO_HANG.replace("-8.00", "-60.00");
    let most = completed(&format!("{most} *"));
    assert_eq!(most.report.verdict, Soundness::Undecided);
    assert_eq!(told_of(&most), 0, "they are too many");
}

fn told_of(made: &Made) -> usize {
    pgn_write::write(&made.draft).matches("Playable").count()
}

#[test]
fn an_accepted_move_that_lies_between_is_accepted_no_more() {
    let made = completed(&format!("{TWO_HANG} (1. Nxa4 $1 Qc5+) *"));
    assert_eq!(made.report.verdict, Soundness::Sound, "{:?}", made.report);
    let kept = pgn_write::write(&made.draft);
    assert!(!kept.contains("Qc5+"), "{kept}");
    let theirs = completed(&format!("{TWO_HANG} (1. Nxa4 $1 {{Greedy.}}) *"));
    assert_eq!(
        theirs.report.verdict,
        Soundness::Undecided,
        "{:?}",
        theirs.report
    );
    assert!(pgn_write::write(&theirs.draft).contains("Greedy."));
    let key = TWO_HANG.replace("1. Nxd5", "1. Nxa4 (1. Nxd5 $1)");
    let key = completed(&format!("{key} *"));
    assert_eq!(key.report.verdict, Soundness::Undecided);
    assert_eq!(told_of(&key), 0);
}

#[test]
fn a_moment_makes_a_sound_puzzle_with_words_and_hints() {
    let text = format!(
        "[Event \"Club night\"]\n[Date \"2025.03.06\"]\n[White \"Quill, Ilsa\"]\n[Black \"Brill, Tomas\"]\n[Round \"7\"]\n[Venue \"the corridor\"]\n[Result \"0-1\"]\n[SetUp \"1\"]\n[FEN \"{FORK}\"]\n\n{{She had a minute left.}} 1. Nc3 $4 {{My hand went back.}} (1. Nf6+ $1 {{What Gus saw from the door.}} 1... Kg7 2. Nxd7) (1. h3 {{Safe?}}) 1... Qd2 0-1"
    );
    let draft = game(&text);
    let moment = found(&draft).remove(0);
    let Made {
        draft: puzzle,
        report,
    } = made(&draft, &moment);
    assert_eq!(report.verdict, Soundness::Sound, "{:?}", report.findings);
    for (name, value) in [
        ("Event", "Club night"),
        ("White", "Quill, Ilsa"),
        ("Date", "2025.03.06"),
        ("Venue", "the corridor"),
        ("FEN", FORK),
        ("SetUp", "1"),
        ("Stipulation", "+"),
        ("Hint2", "It is a knight move."),
        ("Hint3", "It goes to f6."),
    ] {
        assert_eq!(puzzle.tag(name), Some(value), "{name}");
    }
    assert!(puzzle.tag("Themes").unwrap().contains("fork"));
    let root = puzzle.node(NodeId::ROOT).unwrap();
    assert_eq!(root.after[0], "She had a minute left.");
    assert_eq!(root.after[1].split(',').next(), Some("Quill"));
    let child = |san: &str| {
        let mut nodes = root.children.iter().map(|&id| puzzle.node(id).unwrap());
        nodes
            .find(|n| n.text == san)
            .unwrap_or_else(|| panic!("{san}"))
    };
    assert_eq!(puzzle.node(root.children[0]).unwrap().text, "Nf6+");
    assert_eq!(child("Nf6+").after[0], "What Gus saw from the door.");
    assert!(
        child("Nf6+").after[1].contains("at once"),
        "the fork is told"
    );
    assert_eq!(child("Nc3").nags, [4]);
    assert_eq!(child("Nc3").after[0], "My hand went back.");
    assert!(child("Nc3").after[1].starts_with("Played in the game. 1.Nc3 "));
    assert_eq!(
        (&child("h3").nags[..], &child("h3").after[0][..]),
        (&[2][..], "Safe?")
    );
}

#[test]
fn defences_are_answered_without_the_author() {
    // The demo lesson's three-mover: two defences need answers of their own.
    let fen = "2r2rk1/pp3ppp/n7/3N4/4q3/1PbQ3R/P4PPP/1B4K1 w - - 0 1";
    let draft = from(fen, "1. Qxe4 g6");
    let moments = found(&draft);
    let moment = moments.iter().find(|m| m.ply == 0).unwrap();
    assert_eq!(
        (sans(moment), moment.stipulation.as_str()),
        (vec!["Ne7+"], "#3")
    );
    let Made {
        draft: puzzle,
        report,
    } = made(&draft, moment);
    assert_eq!(report.verdict, Soundness::Sound, "{:?}", report.findings);
    let key = puzzle.node(NodeId::ROOT).unwrap().children[0];
    assert_eq!(puzzle.node(key).unwrap().children.len(), 2);
    let resolution = puzzle.resolve();
    assert!(resolution.faults.is_empty());
    assert!(resolution.position(key).unwrap().is_check());
}

#[test]
fn worth_is_what_its_parts_add_up_to() {
    let moments = found(&from(FORK, "1. Nc3 Qd2"));
    assert!(!moments.is_empty());
    for moment in moments {
        let sum: i32 = moment.because.iter().map(|(_, points)| points).sum();
        assert_eq!(moment.worth, sum);
        assert_eq!(
            moment.because[0].0,
            moment
                .kinds
                .iter()
                .find(|k| k.title() == moment.because[0].0)
                .unwrap()
                .title()
        );
    }
}

#[test]
fn wider_margins_come_into_the_lesson_with_the_question() {
    let draft = from(FORK, "1. Nf6+ Kg7 2. Nxd7");
    let mut moment = found(&draft).remove(0);
    moment.stipulation = "bm".into();
    moment.margins = Some("-0.80 -1.60".into());
    let made = puzzle(&draft, &moment);
    let (lesson, asked) = bring(&draft, &moment, &made, &[]).unwrap();
    let margins = lesson.tag(&asked.place.own_tag("Margins"));
    assert_eq!(margins, Some("-0.80 -1.60"));
}

#[test]
fn what_is_neither_is_neither_in_the_lesson() {
    use model::draft::{Edit, NodeId};
    let draft = from(FORK, "1. Nf6+ Kg7 2. Nxd7");
    let moment = found(&draft).remove(0);
    let mut made = puzzle(&draft, &moment);
    let words = |mv: &str| Edit::AddWords {
        at: NodeId::ROOT,
        mv: mv.into(),
        comments: vec!["Playable.".into()],
    };
    made.apply(&words("h3")).unwrap();
    let (lesson, _) = bring(&draft, &moment, &made, &[]).unwrap();
    let lesson = pgn_write::write(&lesson);
    assert!(lesson.contains("(1. h3 {Playable.})"), "{lesson}");
    let other = from(FORK, "1. h3 Kg7");
    let mut played = moment.clone();
    let at = Course::of(&other).unwrap().plies.remove(0);
    played.played.named = model::notation::moves::Named::new(&at.before, at.played);
    assert!(bring(&other, &played, &made, &[]).is_none());
}

#[test]
fn a_defence_where_another_moment_asks_is_a_try_there() {
    use model::draft::{Edit, NodeId};
    let draft = from(FORK, "1. Nf6+ Kg7 2. Nxd7");
    let moment = found(&draft).remove(0);
    let mut made = puzzle(&draft, &moment);
    let key = made.node(NodeId::ROOT).unwrap().children[0];
    let line = |moves: &[&str]| Edit::AddLine {
        at: key,
        moves: moves.iter().map(|mv| (*mv).to_owned()).collect(),
        nags: vec![],
    };
    made.apply(&line(&["Kg7", "Nxd7"])).unwrap();
    made.apply(&line(&["Kh8", "Nxd7"])).unwrap();
    let reply = draft.node(NodeId::ROOT).unwrap().children[0];
    let at = Course::of(&draft).unwrap().plies.remove(1);
    let mut other = moment.clone();
    other.node = reply;
    other.accepted[0].named = model::notation::moves::Named::new(&at.before, at.played);
    let brought = |others: &[Moment]| {
        let (lesson, _) = bring(&draft, &moment, &made, others).unwrap();
        pgn_write::write(&lesson).replace('\n', " ")
    };
    let (alone, beside) = (brought(&[]), brought(&[other]));
    assert!(alone.contains("(1... Kh8 2. Nxd7"), "{alone}");
    assert!(beside.contains("(1... Kh8 $2 2. Nxd7"), "{beside}");
    assert!(!beside.contains("1... Kg7 $2"), "{beside}");
}

#[test]
fn a_move_that_is_found_to_lose_at_once_is_no_right_one() {
    let first = found(&from(FORK, "1. Nf6+ Kg7 2. Nxd7")).remove(0);
    let played = |right| Played {
        right,
        ..first.played.clone()
    };
    let moment = |ply, stipulation: &str, value, right| Moment {
        ply,
        stipulation: stipulation.into(),
        value: Value::Cp(value),
        played: played(right),
        ..first.clone()
    };
    let held = moment(4, "=", -20, true);
    assert!(refutes(&moment(5, "+", 250, true), &held));
    assert!(refutes(&moment(5, "bm", 180, true), &held));
    assert!(!refutes(&moment(5, "bm", 40, true), &held));
    assert!(!refutes(&moment(6, "+", 250, true), &held));
    assert!(!refutes(
        &moment(5, "+", 250, true),
        &moment(4, "=", -20, false)
    ));
    let lost_before = moment(4, "bm", -140, true);
    assert!(!refutes(&moment(5, "bm", 160, true), &lost_before));
}

#[test]
fn a_plain_recapture_does_not_stand_for_the_move_that_made_room_for_it() {
    let draft = from(FORK, "1. Nf6+ Kg7 2. Nxd7");
    let course = Course::of(&draft).unwrap();
    let mut first = found(&draft).remove(0);
    first.accepted[0].line = ["d5f6", "g8g7", "f6d7"].map(String::from).to_vec();
    let mut later = Moment {
        ply: 2,
        worth: first.worth + 20,
        because: Vec::new(),
        ..first.clone()
    };
    assert!(stands_beside(&first, &later, &course) && !stands_beside(&later, &first, &course));
    later.because.push((weigh::PLAIN_TO_SEE.into(), -20));
    assert!(stands_beside(&later, &first, &course) && !stands_beside(&first, &later, &course));
}

#[test]
fn a_hint_that_one_move_alone_fits_is_none() {
    let told = |position: &str, uci: &str, idea| {
        let position = fen::read(position).unwrap();
        hints(&position, moves::read_uci(&position, uci).unwrap(), idea)
    };
    let one_check = "6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1";
    let plain = ["It is a rook move.", "It goes to a8."];
    assert_eq!(told(one_check, "a1a8", None), plain);
    assert_eq!(
        told(one_check, "a1a8", Some("back rank"))[0],
        "The idea: back rank."
    );
    let two_checks = "6k1/5ppp/8/8/8/8/Q7/R5K1 w - - 0 1";
    assert_eq!(told(two_checks, "a2a8", None)[0], "Look at the checks.");
    assert_eq!(
        told(one_check, "a1a2", None)[0],
        "Neither a check nor a capture."
    );
}
