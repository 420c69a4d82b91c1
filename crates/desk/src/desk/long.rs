//! A puzzle of 5,000 moves: one works in it while it is checked.

use std::collections::{HashSet, VecDeque};

use keyproof::check::{Answer, Chance, Evidence, Question, Ruling};
use keyproof::draft::{Draft, Edit, NodeId};
use keyproof::notation::{fen, moves, pgn_write};
use shakmaty::{Chess, Position};

use super::Desk;
use super::tests::desk;
use crate::message::{BoardMsg, CheckMsg, EditMsg, Effect, ListMsg, Msg, TreeStep};
use crate::wire::{Ask, Order, Post};

const MOVES: usize = 5000;

/// Positions and the moves that are listed in them.
type Listed = HashSet<(String, String)>;

/// A puzzle of so many moves, drawn by lot: a line, and side lines from each of
/// its moves.
fn long_work() -> (String, Listed) {
    const MAIN: usize = 80;
    const SIDE: usize = 20;
    let mut seed = 7_u64;
    let mut any = move |position: &Chess| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        let legal = position.legal_moves();
        (!legal.is_empty()).then(|| legal[(seed >> 33) as usize % legal.len()])
    };
    let mut draft = Draft::new();
    let asked = Edit::SetTag {
        name: "Stipulation".into(),
        value: Some("+".into()),
    };
    draft.apply(&asked).expect("a tag");
    let mut listed = Listed::new();
    let mut grow = |draft: &mut Draft, at: NodeId, position: &mut Chess| {
        let mv = any(position)?;
        let san = moves::san(position, mv);
        listed.insert((fen::write(position), moves::uci(mv)));
        position.play_unchecked(mv);
        let line = Edit::AddLine {
            at,
            moves: vec![san],
            nags: vec![],
        };
        Some(draft.apply(&line).expect("a move"))
    };
    let mut line = vec![(NodeId::ROOT, Chess::default())];
    for _ in 0..MAIN {
        let (at, mut position) = line.last().expect("the start").clone();
        let node = grow(&mut draft, at, &mut position).expect("a move");
        line.push((node, position));
    }
    for (start, before) in line.iter().cycle() {
        let (mut at, mut position) = (*start, before.clone());
        for _ in 0..SIDE {
            let Some(node) = grow(&mut draft, at, &mut position) else {
                break;
            };
            at = node;
        }
        if draft.walk().len() > MOVES {
            break;
        }
    }
    (pgn_write::write(&draft), listed)
}

/// What a worker could say: the moves listed are right, and no other.
fn some_answer(question: &Question, listed: &Listed) -> Answer {
    let ruled = |mv: &String| {
        let line = vec![mv.clone()];
        let evidence = Evidence::Searched {
            depth: 4,
            value: None,
            spent: 1000,
            changes: 0,
            chance: Some(Chance(10)),
        };
        match listed.contains(&(question.fen.clone(), mv.clone())) {
            true => Ruling::Holds {
                length: None,
                line,
                evidence,
            },
            false => Ruling::Fails { line, evidence },
        }
    };
    Answer {
        question: question.clone(),
        rulings: question.moves.iter().map(ruled).collect(),
        nodes: 100,
    }
}

/// The workers: what each was asked last. None of them is ever ended.
struct Asked(VecDeque<(usize, u32, Question)>, Listed);

impl Asked {
    fn take(&mut self, effects: Vec<Effect>) {
        for effect in effects {
            match effect {
                Effect::Work(Order::Ask(
                    Post::Judge(seat),
                    Ask::Question {
                        ticket, question, ..
                    },
                )) => self.0.push_back((seat, ticket, question)),
                Effect::Work(order) => panic!("work is thrown away: {order:?}"),
                _ => {}
            }
        }
    }
    /// The worker that was asked first answers.
    fn answer(&mut self, desk: &mut Desk) {
        let (seat, ticket, question) = self.0.pop_front().expect("a worker at work");
        let effects = desk.update(Msg::Check(CheckMsg::Answered {
            seat,
            ticket,
            answer: some_answer(&question, &self.1),
        }));
        self.take(effects);
    }
}

#[test]
fn one_walks_and_writes_in_a_long_puzzle_while_it_is_checked() {
    let mut desk = desk();
    let (text, listed) = long_work();
    let mut asked = Asked(VecDeque::new(), listed);
    let effects = desk.update(Msg::List(ListMsg::Came {
        from: "club.pgn".into(),
        text,
    }));
    asked.take(effects);
    let still_checked = |desk: &Desk| {
        let (sheet, model) = desk.opened().expect("it is open");
        assert!(model.puzzle().is_some(), "{:?}", model.report.findings);
        assert!(model.book.moves() >= MOVES, "{}", model.book.moves());
        assert!(desk.is_checking(sheet.id));
    };
    still_checked(&desk);
    let words = "Slow.";
    let mut written = String::new();
    let mut here = NodeId::ROOT;
    for (step, letter) in words.chars().enumerate() {
        asked.answer(&mut desk);
        assert_eq!(desk.work().at, here, "an answer moves nobody");
        asked.take(desk.update(Msg::Board(BoardMsg::Walk(TreeStep::Forward))));
        assert_ne!(desk.work().at, here, "step {step}");
        here = desk.work().at;
        asked.answer(&mut desk);
        written.push(letter);
        asked.take(desk.update(Msg::Edit(EditMsg::Words {
            node: here,
            text: written.clone(),
        })));
        let (_, model) = desk.opened().expect("it is open");
        let printed = model.book.printed(here).expect("a printed move");
        assert_eq!(printed.words, written);
        assert!(!asked.0.is_empty(), "a worker is at work");
    }
    let answered = 2 * words.len();
    still_checked(&desk);
    let (sheet, _) = desk.opened().expect("it is open");
    assert_eq!(
        sheet.draft.node(here).expect("a move").after,
        [words.to_owned()]
    );
    // Every answer was taken in, whatever was written meanwhile.
    let known = &desk.opened().expect("it is open").1.known;
    assert_eq!(known.nodes(), 100 * answered as u64);
}
