//! Verdicts by search: they do not come and go as more is spent, and accuse nobody by
//! what is not firm.

use super::trial::{draft, kinds};
use super::{Answer, Chance, Evidence, Goal, Judge, Kind, Known, Question, Ruling};
use super::{Soundness, Weight, check, report};
use model::draft::Draft;
use model::pgn_read;
use model::resolved::Resolved;
use prove::Unwatched;

/// Anderssen against Dufresne, Berlin 1852, after 19.Rad1: the moves are from memory,
/// and PyPI `chess` 1.11.2 plays all of them, to the mate at move 24. Black took the
/// knight, which loses by force.
const TAKEN_AND_MATED: &str = "[FEN \"1r2k1r1/pbppnp1p/1bn2P2/7q/Q7/B1PB1N2/P4PPP/3RR1K1 b - - 2 19\"]\n[Stipulation \"bm\"]\n\n19... Qh3 (19... Qxf3 $2 20. Rxe7+) *";

#[test]
fn a_capture_that_loses_by_force_is_no_accusation() {
    let draft = draft(TAKEN_AND_MATED);
    let report = check(
        &draft,
        &mut Known::default(),
        &mut Judge::new(16 << 20),
        &mut Unwatched,
    );
    let mut faults = report.findings.iter().filter(|f| f.weight == Weight::Fault);
    assert!(
        !faults.any(|f| f.moves == ["h5f3"]),
        "{:?}",
        report.findings
    );
}

/// What is known at once of one move in a position where a win is asked for.
fn ruling(fen: &str, mv: &str) -> Ruling<String> {
    let position = model::notation::fen::read(fen).expect("a position");
    let goal = Goal::Win(model::puzzle::Margins {
        right: 200,
        wrong: 100,
    });
    let question = Question {
        moves: vec![mv.to_owned()],
        ..Question::about(&position, goal, &[])
    };
    let answer = Judge::new(16 << 20).answer(&question, &mut Unwatched);
    answer.rulings[0].clone()
}

#[test]
fn a_mate_behind_sacrifices_is_proved_at_the_least_effort() {
    for (fen, mv) in [
        // The same game of 1852, before 21.Qxd7+: mate at move 24.
        (
            "1r2k1r1/pbppnp1p/1b3P2/8/Q7/B1PB1q2/P4PPP/3R2K1 w - - 0 21",
            "a4d7",
        ),
        // Ed. Lasker against Thomas, London 1912, before 11.Qxh7+: mate at move 18
        // (from memory).
        (
            "rn3rk1/pbppq1pp/1p2pb2/4N2Q/3PN3/3B4/PPP2PPP/R3K2R w KQ - 0 1",
            "h5h7",
        ),
    ] {
        let ruling = ruling(fen, mv);
        let Ruling::Holds {
            length: Some(length),
            line,
            evidence: Evidence::Proved,
        } = &ruling
        else {
            panic!("{fen} {mv}: {ruling:?}");
        };
        assert!(*length >= 4 && line.len() == 2 * usize::from(*length) - 1);
    }
}

/// Whether verdicts go from sound to undecided and back.
fn flickers(verdicts: &[Soundness]) -> bool {
    let mut left = false;
    let mut sound = false;
    for &verdict in verdicts {
        if verdict == Soundness::Sound && left {
            return true;
        }
        sound |= verdict == Soundness::Sound;
        left |= sound && verdict == Soundness::Undecided;
    }
    false
}

fn wins() -> Vec<Draft> {
    let games = pgn_read::read(include_str!("../../../puzzles/not-only-mate.pgn"));
    let wins = games.into_iter().map(|game| game.draft);
    wins.filter(|draft| draft.tag("Stipulation") == Some("+"))
        .collect()
}

#[test]
fn a_verdict_does_not_come_and_go_as_more_is_spent() {
    let wins = wins();
    assert!(wins.len() >= 6);
    for draft in &wins[..4] {
        // Looked at ever longer by the same judge, and anew with ever more.
        let (mut known, mut judge) = (Known::default(), Judge::new(1 << 20));
        let (mut longer, mut anew) = (Vec::new(), Vec::new());
        for budget in [300_000, 600_000, 1_200_000] {
            judge.set_budget(Some(budget));
            longer.push(check(draft, &mut known, &mut judge, &mut Unwatched).verdict);
            known.forget_undecided();
            let mut fresh = Judge::new(1 << 20);
            fresh.set_budget(Some(budget));
            anew.push(check(draft, &mut Known::default(), &mut fresh, &mut Unwatched).verdict);
        }
        assert!(!flickers(&longer), "{longer:?} {:?}", draft.tags());
        assert!(!flickers(&anew), "{anew:?} {:?}", draft.tags());
    }
}

#[test]
fn an_answer_does_not_depend_on_what_was_asked_before() {
    // Positions of the demo puzzles, and one of five men whose captures lead into tables.
    let puzzles = wins();
    let starts = puzzles.iter().map(|draft| {
        let resolved = Resolved::of(draft);
        resolved.puzzle().expect("a puzzle").start().clone()
    });
    let five = model::notation::fen::read("8/8/4k3/8/4p3/4P3/3K1P2/8 w - - 0 1").unwrap();
    let margins = model::puzzle::Margins {
        right: 150,
        wrong: 100,
    };
    let questions: Vec<Question> = starts
        .take(2)
        .chain([five])
        .flat_map(|position| {
            let moves: Vec<_> = shakmaty::Position::legal_moves(&position)
                .into_iter()
                .take(6)
                .collect();
            let ask = |goal| Question::about(&position, goal, &moves);
            [ask(Goal::Win(margins)), ask(Goal::Best(margins))]
        })
        .collect();
    let ask = |judge: &mut Judge, question| judge.answer(question, &mut Unwatched);
    let alone: Vec<Answer> = questions
        .iter()
        .map(|question| ask(&mut Judge::new(8 << 20), question))
        .collect();
    let (mut there, mut back) = (Judge::new(8 << 20), Judge::new(8 << 20));
    for (question, alone) in questions.iter().zip(&alone) {
        assert_eq!(ask(&mut there, question), *alone);
    }
    for (question, alone) in questions.iter().zip(&alone).rev() {
        assert_eq!(ask(&mut back, question), *alone);
    }
}

/// White has two ways to win the queen; only one is listed.
const TWO_FORKS: &str = "[FEN \"6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1\"]\n[Stipulation \"+\"]\n\n1. Nf6+ (1. Nb6 $2) *";

fn ruled(
    position: &shakmaty::Chess,
    goal: Goal,
    mv: &str,
    effort: u8,
    right: bool,
    chance: u16,
) -> Answer {
    let evidence = Evidence::Searched {
        depth: 10,
        value: None,
        spent: 1_000 << effort,
        changes: 0,
        chance: Some(Chance(chance)),
    };
    let line = vec![mv.to_owned()];
    Answer {
        question: Question {
            moves: vec![mv.to_owned()],
            ..Question::about(position, goal, &[])
        }
        .with_effort(effort),
        rulings: vec![match right {
            true => Ruling::Holds {
                length: None,
                line,
                evidence,
            },
            false => Ruling::Fails { line, evidence },
        }],
        nodes: 1_000,
    }
}

#[test]
fn what_wavers_is_an_open_point_until_it_is_firm() {
    let resolved = Resolved::of(&draft(TWO_FORKS));
    let puzzle = resolved.puzzle().expect("a puzzle");
    let (start, goal) = (puzzle.start(), Goal::of(puzzle));
    let mut known = Known::default();
    known.learn(&ruled(start, goal, "d5b6", 2, true, 50));
    let found = report(&resolved, &known);
    assert!(!kinds(&found).contains(&Kind::WorkingTry));
    let open = found.findings.iter().find(|f| f.kind == Kind::Undecided);
    let open = open.expect("an open point");
    assert_eq!(
        open.message,
        "1.Nb6 is undecided: by a search to depth 10 it wins, but 0.50 % of such searches are wrong."
    );
    let asked = super::questions(puzzle, &known);
    let again = asked
        .iter()
        .find(|q| q.moves == ["d5b6"])
        .expect("asked again");
    assert_eq!(again.effort, 3);
    known.learn(&ruled(start, goal, "d5b6", 3, true, 49));
    assert!(kinds(&report(&resolved, &known)).contains(&Kind::WorkingTry));
}

#[test]
fn more_effort_replaces_only_by_what_is_surer() {
    let resolved = Resolved::of(&draft(TWO_FORKS));
    let puzzle = resolved.puzzle().expect("a puzzle");
    let (start, goal) = (puzzle.start(), Goal::of(puzzle));
    let mut known = Known::default();
    known.learn(&ruled(start, goal, "d5f6", 2, true, 20));
    let key = start.clone();
    let holds = |known: &Known| {
        let mv = model::notation::moves::read_uci(&key, "d5f6").unwrap();
        (
            known.ruling(&key, goal, mv).unwrap().holds(),
            known.effort(&key, goal, mv),
        )
    };
    known.learn(&ruled(start, goal, "d5f6", 3, false, 30));
    assert_eq!(holds(&known), (true, Some(3)));
    known.learn(&ruled(start, goal, "d5f6", 4, false, 10));
    assert_eq!(holds(&known), (false, Some(4)));
}

#[test]
fn what_an_older_version_searched_is_searched_again() {
    let old = r#"{"question":{"fen":"6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1","goal":{"win":{"right":200,"wrong":100}},"moves":["d5f6"]},"rulings":[{"holds":{"length":null,"line":["d5f6"],"evidence":{"searched":{"depth":9,"value":null}}}}],"nodes":5}"#;
    let answer: Answer = serde_json::from_str(old).expect("what was saved reads still");
    let resolved = Resolved::of(&draft(TWO_FORKS));
    let puzzle = resolved.puzzle().expect("a puzzle");
    let mut known = Known::default();
    known.learn(&answer);
    let asked = super::questions(puzzle, &known);
    assert!(asked.iter().any(|q| q.moves.contains(&"d5f6".to_owned())));
    let again = serde_json::to_string(&ruled(
        puzzle.start(),
        Goal::of(puzzle),
        "d5f6",
        2,
        true,
        20,
    ));
    let read: Answer = serde_json::from_str(&again.unwrap()).unwrap();
    assert_eq!(
        read,
        ruled(puzzle.start(), Goal::of(puzzle), "d5f6", 2, true, 20)
    );
}

/// Two searches of a lost move take different replies for the best. Which is shown first
/// stays, until it is proved that the move fails.
#[test]
fn the_reply_that_shows_why_a_move_fails_stays() {
    let goal = Goal::Win(model::puzzle::Margins {
        right: 200,
        wrong: 100,
    });
    let position = "8/8/8/8/8/3nk3/8/4K3 w - - 0 1";
    let position = model::notation::fen::read(position).expect("a position");
    let question = Question::about(&position, goal, &[]);
    let told = |reply: &str, evidence| Answer {
        question: Question {
            moves: vec!["e1f1".into()],
            ..question.clone()
        },
        rulings: vec![Ruling::Fails {
            line: vec!["e1f1".into(), reply.into()],
            evidence,
        }],
        nodes: 1,
    };
    let mut known = Known::default();
    let shown = |known: &Known| {
        let (mv, ruling) = &known.rulings(&position, goal)[0];
        assert!(ruling.fails());
        let reply = ruling.line()[1];
        (*mv, reply.to())
    };
    known.learn(&told("e3f3", Evidence::searched(8)));
    let first = shown(&known);
    known.learn(&told("e3d2", Evidence::searched(12)));
    assert_eq!(shown(&known), first);
    known.learn(&told("e3d2", Evidence::Proved));
    assert_ne!(shown(&known), first);
}
