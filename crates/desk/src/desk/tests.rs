use keyproof::check::{Against, Judge, Kind, Opinion, Soundness, Unreached};
use keyproof::notation::{moves, pgn_write};
use keyproof::prove::{Prover, Unwatched};
use keyproof::puzzle::Role;

use super::document::UNDO_BOUND;
use super::*;
use crate::message::{BoardMsg, CheckMsg, GameMsg, GiveOutMsg, ListMsg, Purpose, Scope, TreeStep};
use keyproof::explain::Analyst;
use keyproof::moments;

use keyproof_second::{Heard, put, put_explained, put_studied};

use crate::book::Claim;
use crate::endings::{Endings, Event};
use crate::setup::SetupChange;
use crate::wire::{Ask, Order, Post};
use crate::work::{title, told};

/// Two rooks mate in two: 1.Ra7 and 1.Rb7 (and no other move) cut the king
/// off. A position of our own.
const ROOKS: &str = "7k/8/8/8/8/8/R7/1R2K3 w - - 0 1";

/// A desk with its workers ready and an empty store.
pub(super) fn desk() -> Desk {
    let mut desk = Desk::new(2);
    desk.update(Msg::Store(StoreMsg::Found(Box::default())));
    desk.update(Msg::Check(CheckMsg::Ready(Post::Judge(0))));
    desk.update(Msg::Check(CheckMsg::Ready(Post::Judge(1))));
    desk
}

/// Sends a message, answers every question that comes of it, and has every proof
/// checked.
pub(super) fn run(desk: &mut Desk, msg: Msg) -> Vec<Effect> {
    let mut rest = Vec::new();
    let mut due = unheard(desk, msg);
    while !due.is_empty() {
        let (seconds, others): (Vec<Effect>, _) = due.into_iter().partition(|effect| {
            matches!(
                effect,
                Effect::Work(Order::Ask(Post::Second, _) | Order::End(Post::Second))
            )
        });
        rest.extend(others);
        due = seconds
            .into_iter()
            .flat_map(|effect| hear(desk, &effect))
            .collect();
    }
    rest
}

/// Answers what the second check is asked, if it still is.
pub(super) fn hear(desk: &mut Desk, effect: &Effect) -> Vec<Effect> {
    let Effect::Work(Order::Ask(_, Ask::Second { ticket, claims, .. })) = effect else {
        return vec![];
    };
    let mut prover = Prover::new(1 << 20);
    let claims = claims.iter().cloned();
    let heard = claims.map(|claim| put(claim, &mut prover, &mut Unwatched));
    let msg = Msg::Check(CheckMsg::SecondDone {
        ticket: *ticket,
        heard: heard.collect(),
    });
    unheard(desk, msg)
}

/// Sends a message, and answers every question that comes of it; what is to be
/// checked twice is left.
pub(super) fn unheard(desk: &mut Desk, msg: Msg) -> Vec<Effect> {
    let mut judge = Judge::new(1 << 20);
    let mut rest = Vec::new();
    let mut due = desk.update(msg);
    while !due.is_empty() {
        let mut next = Vec::new();
        for effect in due {
            match effect {
                Effect::Work(Order::Ask(
                    Post::Judge(seat),
                    Ask::Question {
                        ticket, question, ..
                    },
                )) => {
                    let answer = judge.answer(&question, &mut Unwatched);
                    next.extend(desk.update(Msg::Check(CheckMsg::Answered {
                        seat,
                        ticket,
                        answer,
                    })));
                }
                Effect::Work(Order::Ask(Post::Judge(seat), Ask::Seek { ticket, question })) => {
                    let tongue = keyproof_tongues::of_question(&question);
                    let answer = tongue.speaks(|| {
                        let mut answer = moments::answer(&question, &mut Unwatched)?;
                        put_studied(&mut answer, &mut Unwatched);
                        Some(answer)
                    });
                    next.extend(desk.update(Msg::Game(GameMsg::Sought {
                        seat,
                        ticket,
                        answer: answer.map(Box::new),
                        millis: 1.0,
                    })));
                }
                Effect::Work(Order::Restart(post)) => {
                    next.extend(desk.update(Msg::Check(CheckMsg::Ready(post))))
                }
                Effect::Work(Order::Ask(_, Ask::Explain { ticket, inquiry })) => {
                    let tongue = keyproof_tongues::of_inquiry(&inquiry);
                    let explanation = tongue.speaks(|| {
                        let mut told = Analyst::new(1 << 20).explain(&inquiry, &mut Unwatched);
                        put_explained(&mut told, &mut Unwatched);
                        told
                    });
                    next.extend(desk.update(Msg::Check(CheckMsg::Explained {
                        ticket,
                        explanation: Box::new(explanation),
                    })));
                }
                other => rest.push(other),
            }
        }
        due = next;
    }
    rest
}

pub(super) fn bring(desk: &mut Desk, text: &str) {
    run(
        desk,
        Msg::List(ListMsg::Came {
            from: "club.pgn".into(),
            text: text.into(),
        }),
    );
}

fn play(desk: &mut Desk, san: &str) {
    let (_, model) = desk.opened().expect("a puzzle is open");
    let position = model.position(desk.work().at).expect("a legal place");
    let mv = moves::read(position, san).expect("a legal move");
    run(desk, Msg::Edit(EditMsg::Play(mv)));
}

fn rooks() -> Desk {
    let mut desk = desk();
    bring(&mut desk, ROOKS);
    desk
}

fn kinds(desk: &Desk) -> Vec<Kind> {
    let (_, model) = desk.opened().expect("a puzzle is open");
    model.report.findings.iter().map(|f| f.kind).collect()
}

fn verdict(desk: &Desk) -> Soundness {
    desk.opened().expect("a puzzle is open").1.report.verdict
}

fn titles(desk: &Desk) -> Vec<String> {
    let sheets = &desk.work().sheets;
    sheets
        .iter()
        .map(|s| title(&s.draft).unwrap_or_default())
        .collect()
}

#[test]
fn a_puzzle_is_set_up_played_in_mended_and_found_sound() {
    let mut desk = desk();
    run(&mut desk, Msg::List(ListMsg::New));
    assert!(desk.setup().is_some_and(|s| !s.faults().is_empty()));
    run(
        &mut desk,
        Msg::Edit(EditMsg::Setup(SetupChange::Text(ROOKS.into()))),
    );
    assert!(desk.setup().is_some_and(|s| s.faults().is_empty()));
    run(&mut desk, Msg::Board(BoardMsg::SetUp(false)));
    play(&mut desk, "Ra7");
    play(&mut desk, "Kg8");
    play(&mut desk, "Rb8");
    assert_eq!(verdict(&desk), Soundness::Unsound);
    assert_eq!(kinds(&desk), [Kind::Cook]);
    let edits = desk.opened().unwrap().1.report.findings[0].mends[0]
        .edits
        .clone();
    run(&mut desk, Msg::Edit(EditMsg::Mend(edits)));
    while verdict(&desk) == Soundness::Unsound {
        let finding = desk.opened().unwrap().1.report.findings[0].clone();
        run(
            &mut desk,
            Msg::Edit(EditMsg::Mend(finding.mends[0].edits.clone())),
        );
    }
    assert_eq!(verdict(&desk), Soundness::Sound);
    let words = desk.opened().unwrap().1.verdict();
    assert_eq!(words.head, "Sound");
    assert!(words.evidence.starts_with("proved, "));
}

#[test]
fn a_move_in_the_tree_is_followed_and_a_second_one_is_asked_about() {
    let mut desk = rooks();
    play(&mut desk, "Ra7");
    let first = desk.work().at;
    run(&mut desk, Msg::Board(BoardMsg::Walk(TreeStep::Start)));
    play(&mut desk, "Ra7");
    assert_eq!(desk.work().at, first);
    run(&mut desk, Msg::Board(BoardMsg::Walk(TreeStep::Start)));
    play(&mut desk, "Ra8");
    let second = desk.work().at;
    assert_ne!(second, first);
    let role = |desk: &Desk| desk.opened().unwrap().1.role(second);
    assert_eq!(role(&desk), Some(Role::Unclear));
    run(&mut desk, Msg::Edit(EditMsg::Claim(second, Claim::Fails)));
    assert_eq!(role(&desk), Some(Role::Try));
    run(
        &mut desk,
        Msg::Edit(EditMsg::Claim(second, Claim::Accepted)),
    );
    assert_eq!(role(&desk), Some(Role::Key));
}

#[test]
fn undo_and_redo_go_through_everything() {
    let mut desk = rooks();
    play(&mut desk, "Ra7");
    let node = desk.work().at;
    run(
        &mut desk,
        Msg::Edit(EditMsg::Words {
            node,
            text: "W".into(),
        }),
    );
    run(
        &mut desk,
        Msg::Edit(EditMsg::Words {
            node,
            text: "Why".into(),
        }),
    );
    let id = desk.work().open.unwrap();
    run(&mut desk, Msg::List(ListMsg::Remove(id)));
    assert!(desk.work().sheets.is_empty());
    run(&mut desk, Msg::Edit(EditMsg::Undo));
    let words = |desk: &Desk| {
        let (sheet, _) = desk.opened().unwrap();
        sheet.draft.node(node).map(|n| n.after.clone())
    };
    assert_eq!(words(&desk), Some(vec!["Why".into()]));
    run(&mut desk, Msg::Edit(EditMsg::Undo));
    assert_eq!(words(&desk), Some(vec![]));
    run(&mut desk, Msg::Edit(EditMsg::Undo));
    assert_eq!(words(&desk), None);
    run(&mut desk, Msg::Edit(EditMsg::Undo));
    assert!(desk.work().sheets.is_empty());
    assert!(!desk.can_undo());
    for _ in 0..4 {
        run(&mut desk, Msg::Edit(EditMsg::Redo));
    }
    assert!(desk.work().sheets.is_empty() && !desk.can_redo());
}

#[test]
fn what_was_proved_is_kept_over_edits() {
    let mut desk = rooks();
    play(&mut desk, "Ra7");
    let effects = desk.update(Msg::Edit(EditMsg::Tag {
        name: "Event".into(),
        value: "Rooks".into(),
    }));
    assert!(!effects.iter().any(|e| matches!(e, Effect::Work(_))));
}

#[test]
fn walking_remembers_the_line_one_came_from() {
    let mut desk = rooks();
    play(&mut desk, "Ra7");
    play(&mut desk, "Kg8");
    let kg8 = desk.work().at;
    run(&mut desk, Msg::Board(BoardMsg::Walk(TreeStep::Start)));
    play(&mut desk, "Rb7");
    let rb7 = desk.work().at;
    run(&mut desk, Msg::Board(BoardMsg::Walk(TreeStep::Back)));
    run(&mut desk, Msg::Board(BoardMsg::Walk(TreeStep::Forward)));
    assert_eq!(desk.work().at, rb7);
    run(&mut desk, Msg::Board(BoardMsg::Walk(TreeStep::Up)));
    run(&mut desk, Msg::Board(BoardMsg::Walk(TreeStep::End)));
    assert_eq!(desk.work().at, kg8);
    run(&mut desk, Msg::Board(BoardMsg::Walk(TreeStep::End)));
    assert_eq!(desk.work().at, kg8);
}

#[test]
fn cutting_a_move_steps_back_before_it() {
    let mut desk = rooks();
    play(&mut desk, "Ra7");
    let key = desk.work().at;
    play(&mut desk, "Kg8");
    play(&mut desk, "Rb8");
    run(&mut desk, Msg::Board(BoardMsg::Walk(TreeStep::Back)));
    run(&mut desk, Msg::Edit(EditMsg::CutHere));
    assert_eq!(desk.work().at, key);
    run(&mut desk, Msg::Board(BoardMsg::Walk(TreeStep::Start)));
    run(&mut desk, Msg::Edit(EditMsg::CutHere));
    assert!(desk.opened().unwrap().0.draft.node(key).is_some());
}

#[test]
fn games_come_in_after_the_open_one_and_faults_keep_the_text() {
    let mut desk = desk();
    let text = "[Event \"One\"]\n\n1. e4 *\n\n[Event \"Two\"]\n\n1. d4 ((( oops\n\n[Event \"Three\"]\n\n1. c4 *\n";
    bring(&mut desk, text);
    assert_eq!(titles(&desk).first().map(String::as_str), Some("One"));
    assert!(titles(&desk).contains(&"Three".to_owned()));
    let faulty: Vec<_> = desk
        .work()
        .sheets
        .iter()
        .filter_map(|s| s.reading.clone())
        .collect();
    assert!(!faulty.is_empty());
    assert_eq!(&*faulty[0].text, text);
    assert_eq!(faulty[0].faults[0].place.line, 7);
    bring(&mut desk, "[Event \"Four\"]\n\n1. b4 *\n");
    assert_eq!(titles(&desk)[1], "Four");
}

#[test]
fn a_text_without_chess_changes_nothing_and_says_so() {
    let mut desk = desk();
    bring(&mut desk, "   \n ");
    assert!(desk.work().sheets.is_empty());
    assert!(desk.notices()[0].text.contains("club.pgn"));
    assert!(!desk.can_undo());
}

#[test]
fn what_was_told_goes_when_undo_would_undo_something_else() {
    let mut desk = rooks();
    let id = desk.work().open.unwrap();
    run(&mut desk, Msg::List(ListMsg::Remove(id)));
    assert_eq!(desk.notices().len(), 1);
    run(&mut desk, Msg::List(ListMsg::New));
    assert!(desk.notices().is_empty());
    // What else it offers can still be done.
    bring(&mut desk, ROOKS);
    bring(&mut desk, ROOKS);
    let offers = |desk: &Desk| -> Vec<bool> {
        let offers = desk.notices().iter().flat_map(|notice| &notice.offers);
        offers
            .map(|(_, offer)| matches!(offer, Msg::Edit(EditMsg::Undo)))
            .collect()
    };
    assert_eq!(offers(&desk), [false, false, true]);
    run(&mut desk, Msg::List(ListMsg::New));
    assert_eq!(offers(&desk), [false, false]);
}

#[test]
fn what_was_refused_is_told_until_the_next_change() {
    let mut desk = desk();
    let paste = |desk: &mut Desk, text: &str| {
        let text = text.into();
        run(
            desk,
            Msg::List(ListMsg::Pasted {
                text,
                in_tree: false,
            }),
        );
    };
    paste(&mut desk, "See you on Thursday");
    assert!(desk.work().sheets.is_empty());
    assert!(matches!(desk.notices(), [notice] if notice.warns()));
    paste(&mut desk, ROOKS);
    assert!(desk.notices().is_empty());
    // A backup with nothing in it is still one.
    paste(&mut desk, "%keyproof backup 1\n");
    assert!(matches!(desk.notices(), [notice] if notice.text.contains("holds no puzzle")));
    // Of files that come together each is told of.
    for text in ["No game", ROOKS, "1. e4 e5 *"] {
        bring(&mut desk, text);
    }
    assert!(matches!(desk.notices(), [notice, ..] if notice.warns()));
}

#[test]
fn a_new_puzzle_is_by_the_same_author() {
    let mut desk = desk();
    run(&mut desk, Msg::List(ListMsg::Example));
    run(&mut desk, Msg::List(ListMsg::New));
    let (sheet, _) = desk.opened().unwrap();
    assert_eq!(told(&sheet.draft, "Annotator"), Some("Orla Fenwick"));
    assert_eq!(told(&sheet.draft, "Event"), None);
}

#[test]
fn a_faulty_fen_opens_where_it_can_be_mended() {
    let mut desk = desk();
    bring(&mut desk, "8/8/8/8/8/8/8/4K3 w - - 0 1");
    assert!(!desk.setup().expect("setting up").faults().is_empty());
}

#[test]
fn puzzles_are_reordered_within_bounds() {
    let mut desk = desk();
    bring(&mut desk, "[Event \"A\"]\n\n*\n\n[Event \"B\"]\n\n*\n");
    let first = desk.work().sheets[0].id;
    run(&mut desk, Msg::List(ListMsg::Reorder(first, 1)));
    assert_eq!(titles(&desk), ["B", "A"]);
    run(&mut desk, Msg::List(ListMsg::Reorder(first, 1)));
    assert_eq!(titles(&desk), ["B", "A"]);
}

#[test]
fn an_unsound_puzzle_is_given_out_only_after_a_second_press() {
    let mut desk = rooks();
    play(&mut desk, "Ra7");
    let effects = run(&mut desk, Msg::GiveOut(GiveOutMsg::Publish(Scope::Open)));
    assert!(effects.is_empty());
    assert!(desk.held().is_some());
    let effects = run(
        &mut desk,
        Msg::GiveOut(GiveOutMsg::PublishAllTheSame(Purpose::File(Scope::Open))),
    );
    assert!(matches!(
        effects[..],
        [Effect::FetchTemplate(Purpose::File(Scope::Open))]
    ));
    assert!(desk.held().is_none());
    let template = "<!--keyproof:language--><!--keyproof:title--><!--keyproof:still--><!--keyproof:lesson--><!--keyproof:answers-->";
    let effects = run(
        &mut desk,
        Msg::GiveOut(GiveOutMsg::Template {
            purpose: Purpose::File(Scope::Open),
            template: Ok(template.into()),
        }),
    );
    let [Effect::Download { name, text, .. }, Effect::Fade(_)] = &effects[..] else {
        panic!("one download")
    };
    assert!(name.ends_with(".html"));
    assert!(text.contains("Ra7"));
}

#[test]
fn an_edit_takes_a_held_export_back() {
    let mut desk = rooks();
    play(&mut desk, "Ra7");
    run(&mut desk, Msg::GiveOut(GiveOutMsg::Publish(Scope::Open)));
    play(&mut desk, "Kg8");
    assert!(desk.held().is_none());
}

#[test]
fn what_is_no_puzzle_is_not_given_out() {
    let mut desk = desk();
    run(&mut desk, Msg::List(ListMsg::New));
    run(&mut desk, Msg::GiveOut(GiveOutMsg::Publish(Scope::Open)));
    assert!(desk.held().is_none());
    assert!(desk.notices().iter().any(|n| n.warns()));
}

#[test]
fn a_line_is_shown_and_the_tree_stays() {
    let mut desk = rooks();
    let line = ["a2a7", "h8g8", "b1b8", "nonsense"]
        .map(String::from)
        .to_vec();
    let node = NodeId::ROOT;
    let effects = run(&mut desk, Msg::Board(BoardMsg::Show { node, line }));
    let next = effects.into_iter().find_map(|e| match e {
        Effect::Later(_, msg) => Some(msg),
        _ => None,
    });
    run(&mut desk, next.expect("the line is played"));
    let showing = desk.showing().expect("a line is shown");
    assert_eq!((showing.moves.len(), showing.at), (3, 1));
    run(&mut desk, Msg::Board(BoardMsg::ShowTo(99)));
    assert_eq!(desk.showing().unwrap().at, 3);
    run(&mut desk, Msg::Board(BoardMsg::Walk(TreeStep::Back)));
    assert_eq!(desk.showing().unwrap().at, 2);
    assert_eq!(desk.work().at, NodeId::ROOT);
    run(&mut desk, Msg::Board(BoardMsg::ShowEnd));
    assert!(desk.showing().is_none());
    assert!(desk.opened().unwrap().0.draft.walk().is_empty());
}

#[test]
fn stopping_leaves_it_undecided_and_going_on_decides() {
    let mut desk = Desk::new(1);
    desk.update(Msg::Store(StoreMsg::Found(Box::default())));
    desk.update(Msg::Check(CheckMsg::Ready(Post::Judge(0))));
    desk.update(Msg::List(ListMsg::Came {
        from: "it".into(),
        text: ROOKS.into(),
    }));
    let mv = {
        let (_, model) = desk.opened().unwrap();
        moves::read(model.position(NodeId::ROOT).unwrap(), "Ra7").unwrap()
    };
    desk.update(Msg::Edit(EditMsg::Play(mv)));
    let id = desk.work().open.unwrap();
    assert!(desk.is_checking(id));
    let effects = desk.update(Msg::Check(CheckMsg::Stop));
    assert!(matches!(
        effects[..],
        [Effect::Work(Order::Restart(Post::Judge(0)))]
    ));
    assert!(desk.bench().stopped());
    desk.update(Msg::Check(CheckMsg::Ready(Post::Judge(0))));
    run(&mut desk, Msg::Check(CheckMsg::GoOn));
    assert!(!desk.is_checking(id));
    assert_eq!(verdict(&desk), Soundness::Unsound);
}

#[test]
fn piece_letters_of_another_language_are_read_and_named() {
    let mut desk = desk();
    bring(
        &mut desk,
        "1. e4 e5 2. Sf3 Sc6 3. Lb5 a6 4. O-O Le7 5. Te1 *",
    );
    let (sheet, model) = desk.opened().unwrap();
    assert_eq!(model.resolved.faults(), []);
    assert_eq!(model.resolved.main_line().len(), 10);
    let saved = keyproof::notation::pgn_write::write(&sheet.draft);
    assert!(saved.contains("2. Nf3 Nc6 3. Bb5"), "{saved}");
    let told = desk.notices().iter().any(|n| n.text.contains("Deutsch"));
    assert!(
        told,
        "{:?}",
        desk.notices().iter().map(|n| &n.text).collect::<Vec<_>>()
    );
}

/// Our own tables know of mates alone: whether 15 moves are enough they leave open.
#[test]
fn tables_that_are_opened_are_asked_what_was_left_undecided() {
    let mut desk = desk();
    bring(
        &mut desk,
        "[FEN \"4n3/8/3K4/8/8/8/2k5/R7 w - - 70 99\"]\n[Stipulation \"+\"]\n\n1. Kd5 *\n",
    );
    assert_eq!(verdict(&desk), Soundness::Undecided);
    let opened = Endings {
        files: 6,
        men: 4,
        faults: Vec::new(),
    };
    let opened = Msg::Check(CheckMsg::Endings(Event::Opened(opened)));
    let effects = desk.update(opened);
    let asks = |e: &Effect| matches!(e, Effect::Work(Order::Ask(Post::Judge(_), _)));
    assert!(effects.iter().any(asks));
}

#[test]
fn the_example_is_sound() {
    let mut desk = desk();
    run(&mut desk, Msg::List(ListMsg::Example));
    assert_eq!(kinds(&desk), []);
    assert_eq!(verdict(&desk), Soundness::Sound);
}

#[test]
fn what_cannot_be_posed_is_left_out_after_a_deliberate_press() {
    let mut desk = desk();
    run(&mut desk, Msg::List(ListMsg::Example));
    run(&mut desk, Msg::List(ListMsg::New));
    run(&mut desk, Msg::GiveOut(GiveOutMsg::Publish(Scope::All)));
    let (purpose, why) = desk.held().expect("held");
    assert_eq!((purpose, why.len()), (Purpose::File(Scope::All), 1));
    run(
        &mut desk,
        Msg::GiveOut(GiveOutMsg::PublishAllTheSame(Purpose::File(Scope::All))),
    );
    let template = "<!--keyproof:language--><!--keyproof:title--><!--keyproof:still--><!--keyproof:lesson--><!--keyproof:answers-->";
    let effects = run(
        &mut desk,
        Msg::GiveOut(GiveOutMsg::Template {
            purpose: Purpose::File(Scope::All),
            template: Ok(template.into()),
        }),
    );
    let [Effect::Download { text, .. }, Effect::Fade(_)] = &effects[..] else {
        panic!("one download")
    };
    assert_eq!(text.matches("[Event").count(), 1);
}

#[test]
fn a_reply_to_a_try_refutes_or_is_answered() {
    let mut desk = rooks();
    play(&mut desk, "Ra7");
    run(&mut desk, Msg::Board(BoardMsg::Walk(TreeStep::Start)));
    play(&mut desk, "Ra8");
    let tried = desk.work().at;
    run(&mut desk, Msg::Edit(EditMsg::Claim(tried, Claim::Fails)));
    play(&mut desk, "Kg7");
    let reply = desk.work().at;
    let role = |desk: &Desk| desk.opened().unwrap().1.role(reply);
    assert_eq!(role(&desk), Some(Role::Refutation));
    run(&mut desk, Msg::Edit(EditMsg::Claim(reply, Claim::Fails)));
    assert_eq!(role(&desk), Some(Role::Defence));
    run(&mut desk, Msg::Edit(EditMsg::Claim(reply, Claim::Plain)));
    assert_eq!(role(&desk), Some(Role::Refutation));
}

#[test]
fn moves_have_roles_also_while_the_stipulation_is_missing() {
    let mut desk = rooks();
    play(&mut desk, "Ra7");
    let key = desk.work().at;
    run(
        &mut desk,
        Msg::Edit(EditMsg::Tag {
            name: "Stipulation".into(),
            value: String::new(),
        }),
    );
    assert_eq!(kinds(&desk), [Kind::MissingStipulation]);
    assert_eq!(desk.opened().unwrap().1.role(key), Some(Role::Key));
}

/// Walks the proof by one move.
fn step(desk: &mut Desk, san: &str) {
    let position = desk.place().expect("a place in the proof").position.clone();
    let mv = moves::read(&position, san).expect("a legal move");
    run(desk, Msg::Board(BoardMsg::Step(mv)));
}

fn proof_page(desk: &Desk) -> crate::proof::Page {
    let (_, model) = desk.opened().expect("a puzzle is open");
    desk.place()
        .expect("a place in the proof")
        .page(&model.known)
}

#[test]
fn the_proof_is_asked_only_once_it_is_unfolded() {
    let mut desk = rooks();
    play(&mut desk, "Ra7");
    let id = desk.work().open.unwrap();
    let asked = desk.update(Msg::Check(CheckMsg::Proof(true)));
    assert!(
        asked
            .iter()
            .any(|e| matches!(e, Effect::Work(Order::Ask(Post::Judge(_), _))))
    );
    assert!(desk.is_proving() && !desk.is_checking(id));
    let ended = desk.update(Msg::Check(CheckMsg::Proof(false)));
    assert!(
        ended
            .iter()
            .any(|e| matches!(e, Effect::Work(Order::Restart(_))))
    );
    assert!(!desk.is_proving());
}

#[test]
fn a_proof_is_walked_down_and_up_and_the_tree_stays() {
    let mut desk = rooks();
    run(&mut desk, Msg::Check(CheckMsg::Proof(true)));
    let page = proof_page(&desk);
    assert_eq!(page.decided, page.branches.len());
    assert_eq!(page.branches[0].words, "mates in 2");
    step(&mut desk, "Ra7");
    assert_eq!(proof_page(&desk).branches[0].words, "2.Rb8# mates");
    step(&mut desk, "Kg8");
    assert_eq!(proof_page(&desk).branches[0].text, "2.Rb8#");
    step(&mut desk, "Rb8");
    assert_eq!(proof_page(&desk).head, "Black is mated.");
    assert_eq!(desk.walked().2, 3);
    assert!(desk.opened().unwrap().0.draft.walk().is_empty());

    run(&mut desk, Msg::Board(BoardMsg::ShowTo(1)));
    assert_eq!(proof_page(&desk).branches[0].text, "1...Kg8");
    run(&mut desk, Msg::Board(BoardMsg::ShowTo(0)));
    step(&mut desk, "Ra3");
    assert_eq!(desk.walked().1.len(), 1);
    assert!(proof_page(&desk).branches[0].words.starts_with("refutes"));
    run(&mut desk, Msg::Board(BoardMsg::ShowEnd));
    assert_eq!(desk.walked().1.len(), 0);
}

#[test]
fn a_walked_line_is_added_as_far_as_it_is_played() {
    let mut desk = rooks();
    run(&mut desk, Msg::Check(CheckMsg::Proof(true)));
    for san in ["Ra7", "Kg8", "Rb8"] {
        step(&mut desk, san);
    }
    run(&mut desk, Msg::Board(BoardMsg::Walk(TreeStep::Back)));
    assert!(!desk.walked_is_listed());
    run(&mut desk, Msg::Edit(EditMsg::AddWalked));
    let (sheet, _) = desk.opened().unwrap();
    assert_eq!(sheet.draft.walk().len(), 2);
    assert_eq!(desk.work().at, sheet.draft.walk()[1]);
    assert!(desk.showing().is_none());
    assert_eq!(proof_page(&desk).branches[0].text, "2.Rb8#");
    run(&mut desk, Msg::Edit(EditMsg::Undo));
    assert!(desk.opened().unwrap().0.draft.walk().is_empty());
}

#[test]
fn added_moves_are_marked_as_they_are_proved() {
    let mut desk = rooks();
    run(&mut desk, Msg::Check(CheckMsg::Proof(true)));
    play(&mut desk, "Ra7");
    for line in [["Ra3", "Kg7"], ["Rb7", "Kg8"]] {
        run(&mut desk, Msg::Board(BoardMsg::Go(NodeId::ROOT)));
        for san in line {
            step(&mut desk, san);
        }
        run(&mut desk, Msg::Edit(EditMsg::AddWalked));
    }
    let (sheet, model) = desk.opened().unwrap();
    let roles: Vec<_> = sheet.draft.walk().iter().map(|&n| model.role(n)).collect();
    let expected = [
        Role::Key,
        Role::Try,
        Role::Refutation,
        Role::Key,
        Role::Defence,
    ];
    assert_eq!(roles, expected.map(Some));
}

#[test]
fn a_listed_line_is_gone_to_and_not_added_again() {
    let mut desk = rooks();
    run(&mut desk, Msg::Check(CheckMsg::Proof(true)));
    play(&mut desk, "Ra7");
    let key = desk.work().at;
    run(&mut desk, Msg::Board(BoardMsg::Go(NodeId::ROOT)));
    step(&mut desk, "Ra7");
    assert!(desk.walked_is_listed());
    run(&mut desk, Msg::Edit(EditMsg::AddWalked));
    assert_eq!(desk.work().at, key);
    assert_eq!(desk.opened().unwrap().0.draft.walk().len(), 1);
}

#[test]
fn stopping_ends_the_proving_of_a_place_too() {
    let mut desk = rooks();
    play(&mut desk, "Ra7");
    desk.update(Msg::Check(CheckMsg::Proof(true)));
    let ended = desk.update(Msg::Check(CheckMsg::Stop));
    assert!(
        ended
            .iter()
            .any(|e| matches!(e, Effect::Work(Order::Restart(_))))
    );
    desk.update(Msg::Check(CheckMsg::Ready(Post::Judge(0))));
    assert_eq!(desk.proof_at_work().0, 0);
    run(&mut desk, Msg::Check(CheckMsg::GoOn));
    assert!(!desk.is_proving());
}

#[test]
fn only_a_mate_has_a_proof_to_walk() {
    let mut desk = rooks();
    assert!(desk.has_proof());
    run(&mut desk, Msg::Check(CheckMsg::Proof(true)));
    run(
        &mut desk,
        Msg::Edit(EditMsg::Tag {
            name: "Stipulation".into(),
            value: "+".into(),
        }),
    );
    assert!(!desk.has_proof() && desk.place().is_none());
    run(
        &mut desk,
        Msg::Board(BoardMsg::Step(shakmaty::Move::Normal {
            role: shakmaty::Role::Rook,
            from: shakmaty::Square::A2,
            capture: None,
            to: shakmaty::Square::A7,
            promotion: None,
        })),
    );
    assert!(desk.showing().is_none());
}

/// Two rooks, with both keys.
fn both_keys() -> String {
    format!(
        "[FEN \"{ROOKS}\"]\n[Stipulation \"#2\"]\n\n1. Ra7 (1. Rb7 $1 Kg8 2. Ra8#) 1... Kg8 2. Rb8# *\n"
    )
}

/// A desk with them: sound.
fn sound() -> (Desk, Vec<Effect>) {
    let mut desk = desk();
    let (from, text) = ("club.pgn".into(), both_keys());
    let effects = run(&mut desk, Msg::List(ListMsg::Came { from, text }));
    assert_eq!(verdict(&desk), Soundness::Sound);
    (desk, effects)
}

#[test]
fn puzzles_are_given_out_to_print_and_as_records() {
    let (mut desk, _) = sound();
    let [Effect::Download { name, text, .. }] = &run(
        &mut desk,
        Msg::GiveOut(GiveOutMsg::SaveHandout(Scope::Open, 4)),
    )[..] else {
        panic!("one file")
    };
    assert!(
        name.ends_with("-handout.html") && text.contains("<svg"),
        "{name}"
    );
    let [Effect::Package { name, kind, bytes }] =
        &run(&mut desk, Msg::GiveOut(GiveOutMsg::SavePdf(Scope::Open, 4)))[..]
    else {
        panic!("one file")
    };
    assert!(name.ends_with("-handout.pdf"), "{name}");
    assert_eq!(*kind, "application/pdf");
    // A file of PDF begins and ends so (ISO 32000-1, 7.5.2 and 7.5.5).
    assert!(bytes.starts_with(b"%PDF-1.") && bytes.ends_with(b"%%EOF"));
    let [Effect::Download { name, text, .. }] =
        &run(&mut desk, Msg::GiveOut(GiveOutMsg::SaveEpd(Scope::Open)))[..]
    else {
        panic!("one file")
    };
    assert!(name.ends_with(".epd") && text.contains("dm 2;"), "{text}");
}

/// Letters that a PDF cannot have are told, and the file comes all the same.
#[test]
fn letters_that_a_pdf_lacks_are_told() {
    let (mut desk, _) = sound();
    let tag = |value: &str| EditMsg::Tag {
        name: "Event".into(),
        value: value.into(),
    };
    run(&mut desk, Msg::Edit(tag("Łódź")));
    let save = Msg::GiveOut(GiveOutMsg::SavePdf(Scope::Open, 4));
    let effects = run(&mut desk, save.clone());
    assert!(effects.iter().any(|e| matches!(e, Effect::Package { .. })));
    let told = desk.notices().last().expect("a notice").text.clone();
    assert!(told.contains("lack Łź") && told.contains("Print"), "{told}");
    run(&mut desk, Msg::Edit(tag("Lodz")));
    assert_eq!(run(&mut desk, save).len(), 1);
}

/// A set has the title that it was given, also as the name of its file.
#[test]
fn a_set_is_given_out_under_its_title() {
    let (mut desk, _) = sound();
    let (from, text) = ("club.pgn".into(), both_keys());
    run(&mut desk, Msg::List(ListMsg::Came { from, text }));
    let mut handout = |title: &str| {
        run(&mut desk, Msg::GiveOut(GiveOutMsg::SetTitle(title.into())));
        let effects = run(
            &mut desk,
            Msg::GiveOut(GiveOutMsg::SaveHandout(Scope::All, 4)),
        );
        let Some(Effect::Download { name, text, .. }) = effects.first() else {
            panic!("one file")
        };
        (name.clone(), text.clone())
    };
    let (name, text) = handout("  Thursday group ");
    assert_eq!(name, "thursday-group-handout.html");
    assert!(text.contains("<title>Thursday group</title>"));
    let (name, text) = handout(" ");
    assert_eq!(name, "puzzles-handout.html");
    assert!(text.contains("2 chess puzzles"));
}

/// The pages of a lesson have the game's name at their head, and not the event.
#[test]
fn a_lesson_is_printed_under_its_players() {
    let mut desk = desk();
    bring(&mut desk, crate::example::LESSON);
    let save = Msg::GiveOut(GiveOutMsg::SaveHandout(Scope::Open, 4));
    let effects = run(&mut desk, save);
    let [Effect::Download { text, .. }] = &effects[..] else {
        panic!("one file")
    };
    let head = "<h1>Tomas Brill \u{2013} Gus Harrowell, 2025-03-13</h1>";
    assert!(text.contains(head), "{text}");
    assert!(!text.contains("The queen that waited"), "{text}");
}

/// Two rooks, with both keys: proved, and not yet checked.
fn proved() -> (Desk, Vec<Effect>) {
    let mut desk = desk();
    let (from, text) = ("club.pgn".into(), both_keys());
    let effects = unheard(&mut desk, Msg::List(ListMsg::Came { from, text }));
    (desk, effects)
}

fn second_check(effects: &[Effect]) -> Option<&Effect> {
    let check = |effect: &&Effect| matches!(effect, Effect::Work(Order::Ask(Post::Second, _)));
    effects.iter().rev().find(check)
}

/// What is wanted is told of the first claim, which is that of the first moves.
fn tell(desk: &mut Desk, check: &Effect, opinion: Opinion) {
    let Effect::Work(Order::Ask(_, Ask::Second { ticket, claims, .. })) = check else {
        panic!("{check:?}")
    };
    let claims = claims.iter().cloned().enumerate();
    let heard = claims.map(|(i, claim)| Heard {
        claim,
        opinion: match i {
            0 => opinion.clone(),
            _ => Opinion::Accepted { positions: 1 },
        },
        text: None,
    });
    let msg = Msg::Check(CheckMsg::SecondDone {
        ticket: *ticket,
        heard: heard.collect(),
    });
    unheard(desk, msg);
}

fn verdict_words(desk: &Desk) -> (&'static str, String) {
    let words = desk.opened().expect("a puzzle is open").1.verdict();
    (words.head, words.evidence)
}

pub(super) const PAGE: &str = "<!--keyproof:language--><!--keyproof:title--><!--keyproof:still--><!--keyproof:lesson--><!--keyproof:answers--><footer></footer></body>";

#[test]
fn a_mate_is_sound_once_it_is_checked_and_the_file_says_so() {
    let (mut desk, effects) = proved();
    let check = second_check(&effects).expect("a second check");
    let Effect::Work(Order::Ask(_, Ask::Second { claims, .. })) = check else {
        panic!("{check:?}")
    };
    let keys = [("a2a7", 2), ("b1b7", 2)].map(|(key, n)| (key.to_owned(), n));
    assert_eq!(claims[0].holds, keys);
    let id = desk.work().open.unwrap();
    assert_eq!(verdict(&desk), Soundness::Undecided);
    assert!(desk.is_checking(id));
    let (head, evidence) = verdict_words(&desk);
    assert_eq!(head, "Proved, being checked");
    assert!(evidence.contains("being checked by a second"), "{evidence}");
    let effects = unheard(&mut desk, Msg::GiveOut(GiveOutMsg::Publish(Scope::Open)));
    assert!(effects.is_empty() && desk.held().is_some());
    let page = desk.student_page(PAGE, Scope::Open).expect("a page");
    assert!(
        !page.contains("Checked:") && !page.contains("a2a7="),
        "{page}"
    );

    hear(&mut desk, check);
    assert_eq!(verdict(&desk), Soundness::Sound);
    assert!(!desk.is_checking(id));
    let (head, evidence) = verdict_words(&desk);
    assert_eq!(head, "Sound");
    assert!(evidence.starts_with("proved, "), "{evidence}");
    assert!(evidence.contains("; checked by a second, "), "{evidence}");
    let page = desk.student_page(PAGE, Scope::Open).expect("a page");
    assert!(
        page.contains("Checked:") && page.contains("a2a7=2"),
        "{page}"
    );
    assert!(!page.contains("keyproof-certificates"));
    run(&mut desk, Msg::GiveOut(GiveOutMsg::WithProofs(true)));
    let page = desk.student_page(PAGE, Scope::Open).expect("a page");
    assert!(page.contains("id=\"keyproof-certificates\">\nkeyproof certificate 1\n"));
}

#[test]
fn a_gain_is_checked_like_a_mate_and_its_proof_can_be_carried() {
    let mut desk = desk();
    let fork = "[FEN \"6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1\"]\n[Stipulation \"gain 9 in 2\"]\n\n1. Nf6+ (1. Nb6 $2 Qd1#) 1... Kg7 (1... Kf8 2. Nxd7+) (1... Kh8 2. Nxd7) 2. Nxd7 *";
    let (from, text) = ("club.pgn".into(), fork.into());
    run(&mut desk, Msg::List(ListMsg::Came { from, text }));
    assert_eq!(verdict(&desk), Soundness::Sound, "{:?}", kinds(&desk));
    assert!(desk.has_proofs());
    let page = desk.student_page(PAGE, Scope::Open).expect("a page");
    assert!(page.contains("found these solutions"), "{page}");
    run(&mut desk, Msg::GiveOut(GiveOutMsg::WithProofs(true)));
    let page = desk.student_page(PAGE, Scope::Open).expect("a page");
    assert!(page.contains("id=\"keyproof-certificates\">\nkeyproof certificate 1\n"));
    assert!(page.contains("claim gain 9 2"), "{page}");
}

#[test]
fn what_cannot_be_checked_is_undecided_and_held_back() {
    let (mut desk, effects) = proved();
    let check = second_check(&effects).expect("a second check");
    tell(&mut desk, check, Opinion::Unreached(Unreached::Budget));
    assert_eq!(verdict(&desk), Soundness::Undecided);
    assert_eq!(kinds(&desk)[0], Kind::Undecided);
    let (head, evidence) = verdict_words(&desk);
    assert_eq!(head, "Undecided");
    assert!(
        evidence.contains("not checked a second time: the budget did not reach"),
        "{evidence}"
    );
    let effects = unheard(&mut desk, Msg::GiveOut(GiveOutMsg::Publish(Scope::Open)));
    assert!(effects.is_empty() && desk.held().is_some());
    // With more to spend it is tried again.
    run(&mut desk, Msg::Check(CheckMsg::SearchOn));
    assert_eq!(verdict(&desk), Soundness::Sound);
}

#[test]
fn where_our_programs_disagree_nothing_is_given_out_and_a_report_is_saved() {
    let (mut desk, effects) = proved();
    let check = second_check(&effects).expect("a second check");
    let against = Against::Checker {
        line: 4,
        text: "1 w a2a7 h8g8:2".into(),
        reason: "nothing meets h8g8".into(),
    };
    tell(&mut desk, check, Opinion::Against(against));
    assert_eq!(verdict(&desk), Soundness::Undecided);
    assert_eq!(kinds(&desk), [Kind::Disagreement]);
    let (head, evidence) = verdict_words(&desk);
    assert_eq!(head, "Undecided");
    assert!(
        evidence.contains("our two programs disagree: do not give this out"),
        "{evidence}"
    );
    for msg in [
        Msg::GiveOut(GiveOutMsg::Publish(Scope::Open)),
        Msg::GiveOut(GiveOutMsg::SaveHandout(Scope::Open, 4)),
        Msg::GiveOut(GiveOutMsg::SaveCourse(
            Scope::Open,
            keyproof::course::Standard::Cmi5,
        )),
    ] {
        let effects = unheard(&mut desk, msg);
        assert!(effects.is_empty(), "{effects:?}");
        let (_, why) = desk.held().expect("held back");
        assert!(why[0].starts_with("Our two programs disagree"), "{why:?}");
    }
    let [Effect::Download { name, text, .. }] =
        &unheard(&mut desk, Msg::Check(CheckMsg::SaveDisagreement))[..]
    else {
        panic!("one file")
    };
    assert!(name.ends_with("-disagreement.txt"), "{name}");
    for part in [
        ROOKS,
        "Ra7 (in 2)",
        "line 4",
        "1 w a2a7 h8g8:2",
        "nothing meets h8g8",
    ] {
        assert!(text.contains(part), "{text}");
    }
}

#[test]
fn a_cook_that_the_checker_does_not_confirm_is_no_fault() {
    let mut desk = desk();
    let text = both_keys().replace(" (1. Rb7 $1 Kg8 2. Ra8#)", "");
    let from = "club.pgn".into();
    let effects = unheard(&mut desk, Msg::List(ListMsg::Came { from, text }));
    assert_eq!(kinds(&desk), [Kind::Cook]);
    assert_eq!(verdict(&desk), Soundness::Unsound);
    let check = second_check(&effects).expect("a second check");
    let against = Against::Itself {
        fen: ROOKS.into(),
        mv: "b1b7".into(),
    };
    tell(&mut desk, check, Opinion::Against(against));
    assert_eq!(kinds(&desk), [Kind::Disagreement]);
    assert_eq!(verdict(&desk), Soundness::Undecided);
}

#[test]
fn a_checker_that_breaks_down_leaves_it_undecided() {
    let (mut desk, _) = proved();
    let effects = unheard(
        &mut desk,
        Msg::Check(CheckMsg::Broke {
            post: Post::Second,
            why: "out of memory".into(),
        }),
    );
    let ended = matches!(effects[0], Effect::Work(Order::End(Post::Second)));
    assert!(ended, "{effects:?}");
    assert_eq!(verdict(&desk), Soundness::Undecided);
    assert!(verdict_words(&desk).1.contains("out of memory"));
}

#[test]
fn stopping_and_changing_the_claim_end_the_second_check() {
    let (mut desk, _) = proved();
    let ends = |effects: &[Effect]| {
        let end = |effect: &Effect| matches!(effect, Effect::Work(Order::End(Post::Second)));
        effects.iter().any(end)
    };
    let effects = unheard(&mut desk, Msg::Check(CheckMsg::Stop));
    assert!(ends(&effects), "{effects:?}");
    let effects = unheard(&mut desk, Msg::Check(CheckMsg::GoOn));
    assert!(second_check(&effects).is_some());
    let (name, value) = ("Stipulation".into(), "#3".into());
    let effects = unheard(&mut desk, Msg::Edit(EditMsg::Tag { name, value }));
    assert!(ends(&effects), "{effects:?}");
}

/// After 1.Kg6 the rook mates on b8 whatever Black does; nothing is listed.
const LEFT_OUT: &str = "[FEN \"7k/p7/P4K2/8/8/8/8/1R6 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Kg6 (1. Kf7 $1 Kh7 2. Rh1#) *";

pub(super) fn movetext(desk: &Desk) -> String {
    let text = pgn_write::write(&desk.opened().expect("a puzzle is open").0.draft);
    text.split("\n\n")
        .nth(1)
        .unwrap_or_default()
        .replace('\n', " ")
}

#[test]
fn every_defence_is_answered_at_once_and_undone_at_once() {
    let mut desk = desk();
    bring(&mut desk, LEFT_OUT);
    let before = movetext(&desk);
    run(&mut desk, Msg::Check(CheckMsg::Fill));
    assert!(!desk.is_filling());
    let filled = movetext(&desk);
    assert!(filled.contains("2. Rb8#"), "{filled}");
    assert!(filled.contains("(1. Kf7 $1 Kh7 2. Rh1#)"), "{filled}");
    assert_eq!(verdict(&desk), Soundness::Sound);
    assert!(desk.notices()[0].text.contains("answered"));
    run(&mut desk, Msg::Edit(EditMsg::Undo));
    assert_eq!(movetext(&desk), before);
    run(&mut desk, Msg::Edit(EditMsg::Redo));
    run(&mut desk, Msg::Check(CheckMsg::Fill));
    assert_eq!(movetext(&desk), filled);
    assert_eq!(desk.notices()[0].text, "No defence is left to answer.");
}

#[test]
fn reasons_are_found_when_every_claim_is_judged() {
    let mut desk = desk();
    desk.update(Msg::Check(CheckMsg::Ready(Post::Explain)));
    bring(&mut desk, LEFT_OUT);
    let (sheet, model) = desk.opened().expect("a puzzle is open");
    assert!(!desk.is_explaining(sheet.id));
    let explanation = model.explanation().expect("it was explained");
    let threat = explanation.whys.iter().position(|why| why.threat);
    run(
        &mut desk,
        Msg::Board(BoardMsg::Why(threat.expect("a threat"))),
    );
    let showing = desk.showing().expect("a line is shown");
    assert_eq!(
        (showing.at, showing.own_marks().map(<[_]>::len)),
        (1, Some(1))
    );
    let (after, index) = (true, 0);
    run(&mut desk, Msg::Board(BoardMsg::Threat { after, index }));
    let showing = desk.showing().expect("the threat is marked");
    assert_eq!(
        (showing.at, showing.own_marks().map(<[_]>::len)),
        (1, Some(1))
    );
    let (after, index) = (true, 9);
    run(&mut desk, Msg::Board(BoardMsg::Threat { after, index }));
    // Words change nothing that there is to explain; another key does.
    run(
        &mut desk,
        Msg::Edit(EditMsg::Tag {
            name: "Event".into(),
            value: "Waiting".into(),
        }),
    );
    assert!(desk.opened().unwrap().1.explanation().is_some());
}

#[test]
fn a_students_file_waits_for_its_reasons() {
    let mut desk = desk();
    desk.update(Msg::Check(CheckMsg::Ready(Post::Explain)));
    let came = Msg::List(ListMsg::Came {
        from: "club.pgn".into(),
        text: LEFT_OUT.into(),
    });
    // The questions are answered, the inquiry is not.
    let mut due = desk.update(came);
    let mut asked = None;
    while let Some(effect) = due.pop() {
        match effect {
            Effect::Work(Order::Ask(
                Post::Judge(seat),
                Ask::Question {
                    ticket, question, ..
                },
            )) => {
                let answer = Judge::new(1 << 20).answer(&question, &mut Unwatched);
                due.extend(desk.update(Msg::Check(CheckMsg::Answered {
                    seat,
                    ticket,
                    answer,
                })));
            }
            Effect::Work(Order::Ask(_, Ask::Explain { ticket, inquiry })) => {
                asked = Some((ticket, inquiry));
            }
            _ => {}
        }
    }
    let (ticket, inquiry) = asked.expect("an inquiry");
    run(
        &mut desk,
        Msg::GiveOut(GiveOutMsg::PublishAllTheSame(Purpose::File(Scope::Open))),
    );
    let template = Ok("<!--keyproof:language--><!--keyproof:title--><!--keyproof:still--><!--keyproof:lesson--><!--keyproof:answers-->".into());
    let purpose = Purpose::File(Scope::Open);
    let waits = desk.update(Msg::GiveOut(GiveOutMsg::Template { purpose, template }));
    assert!(desk.preparing().is_some(), "{waits:?}");
    let downloads = |e: &Effect| matches!(e, Effect::Download { .. });
    assert!(!waits.iter().any(downloads), "{waits:?}");
    let explanation = Box::new(Analyst::new(1 << 20).explain(&inquiry, &mut Unwatched));
    let saved = desk.update(Msg::Check(CheckMsg::Explained {
        ticket,
        explanation,
    }));
    let page = saved.iter().find_map(|effect| match effect {
        Effect::Download { text, .. } => Some(text),
        _ => None,
    });
    let page = page.expect("the file");
    assert!(
        page.contains("\nwhy 0 ") && page.contains("\nthreat 0 "),
        "{page}"
    );
}

#[test]
fn what_was_only_begun_is_not_called_unsound() {
    let mut desk = desk();
    run(&mut desk, Msg::List(ListMsg::New));
    assert_eq!(desk.opened().unwrap().1.verdict().head, "Not set up yet");
    bring(&mut desk, "7k/8/8/8/8/8/R7/1R2K3 w - - 0 1");
    run(&mut desk, Msg::Board(BoardMsg::SetUp(false)));
    assert_eq!(desk.opened().unwrap().1.verdict().head, "No solution yet");
    let start = desk.opened().unwrap().1.position(NodeId::ROOT).cloned();
    let mv = keyproof::notation::moves::read(&start.unwrap(), "Ra7").unwrap();
    run(&mut desk, Msg::Edit(EditMsg::Play(mv)));
    assert_eq!(desk.opened().unwrap().1.verdict().head, "Not finished yet");
}

/// The sheets of which the desk keeps anything.
fn kept(desk: &Desk) -> Vec<SheetId> {
    let mut ids: Vec<SheetId> = desk.checking.models.keys().copied().collect();
    ids.extend(desk.checking.budgets.keys());
    ids.extend(desk.board.trail.keys().map(|(id, _)| *id));
    ids.extend(desk.board.folds.keys());
    ids.extend(desk.games.seeks.keys());
    ids.extend(desk.checking.looking.kept());
    ids.extend(desk.checking.bench.kept());
    ids.sort_unstable();
    ids.dedup();
    ids
}

/// Brings the two rooks, and has something kept of them everywhere; their sheet.
fn busy_rooks(desk: &mut Desk) -> SheetId {
    bring(desk, ROOKS);
    let id = desk.work().open.expect("a puzzle is open");
    play(desk, "Ra7");
    play(desk, "Kg8");
    run(desk, Msg::Board(BoardMsg::FoldAll(true)));
    desk.search_on(id);
    desk.check_first(&[id]);
    id
}

#[test]
fn what_is_removed_is_forgotten_once_undo_no_longer_leads_to_it() {
    let mut desk = desk();
    bring(&mut desk, "[Event \"It stays\"]\n\n1. e4 e5 *");
    let stays = desk.work().open.expect("a game is open");
    let rooks = busy_rooks(&mut desk);
    run(&mut desk, Msg::List(ListMsg::Remove(rooks)));
    assert!(kept(&desk).contains(&rooks), "undo leads back to it");
    let retitle = |desk: &mut Desk, title: String| {
        let name = "Event".into();
        run(desk, Msg::Edit(EditMsg::Tag { name, value: title }));
        run(desk, Msg::Edit(EditMsg::FieldLeft));
    };
    run(&mut desk, Msg::List(ListMsg::Open(stays)));
    for change in 0..UNDO_BOUND - 1 {
        retitle(&mut desk, change.to_string());
    }
    assert!(kept(&desk).contains(&rooks), "one step leads back to it");
    retitle(&mut desk, "The last".into());
    assert_eq!(kept(&desk), [stays]);
}

#[test]
fn what_undo_took_away_is_forgotten_with_the_next_change() {
    let mut desk = desk();
    bring(&mut desk, "[Event \"It stays\"]\n\n1. e4 e5 *");
    let stays = desk.work().open.expect("a game is open");
    let rooks = busy_rooks(&mut desk);
    for _ in 0..3 {
        run(&mut desk, Msg::Edit(EditMsg::Undo));
    }
    assert!(desk.work().sheet(rooks).is_none() && kept(&desk).contains(&rooks));
    play(&mut desk, "d4");
    assert_eq!(kept(&desk), [stays]);
}

#[test]
fn of_what_was_removed_only_the_last_is_still_known_and_undo_has_it_proved_again() {
    let mut desk = desk();
    let rooks = |title: &str| {
        format!(
            "[Event \"{title}\"]\n[FEN \"{ROOKS}\"]\n[Stipulation \"#2\"]\n\n1. Ra7 Kg8 2. Rb8# *\n\n"
        )
    };
    // Many at once: all of them are known until the next change.
    let many: Vec<String> = (0..30).map(|i| rooks(&format!("Old {i}"))).collect();
    bring(&mut desk, &many.concat());
    let old: Vec<SheetId> = desk.work().sheets.iter().map(|sheet| sheet.id).collect();
    for _ in 0..20 {
        run(&mut desk, Msg::Check(CheckMsg::LookOn));
    }
    run(
        &mut desk,
        Msg::List(ListMsg::Shelf(crate::shelf::Event::Choosing(true))),
    );
    run(
        &mut desk,
        Msg::List(ListMsg::Shelf(crate::shelf::Event::ChooseShown)),
    );
    run(
        &mut desk,
        Msg::List(ListMsg::Shelf(crate::shelf::Event::Remove)),
    );
    assert!(desk.work().sheets.is_empty());
    assert!(old.iter().all(|id| kept(&desk).contains(id)));
    // One by one: the last ones are.
    let mut one_by_one = Vec::new();
    for i in 0..40 {
        bring(&mut desk, &rooks(&format!("New {i}")));
        let id = desk.work().open.expect("a puzzle is open");
        assert_eq!(kinds(&desk), [Kind::Cook]);
        run(&mut desk, Msg::List(ListMsg::Remove(id)));
        one_by_one.push(id);
        assert!(kept(&desk).len() <= 30, "{}", kept(&desk).len());
    }
    let known = kept(&desk);
    assert!(old.iter().all(|id| !known.contains(id)));
    assert!(one_by_one[20..].iter().all(|id| known.contains(id)));
    // What undo brings back from long ago is proved once more.
    while desk.work().open != Some(one_by_one[0]) {
        run(&mut desk, Msg::Edit(EditMsg::Undo));
    }
    assert_eq!(kinds(&desk), [Kind::Cook]);
}

/// White is a pawn up in a rook ending, and the margins are far apart.
const BETWEEN: &str = "[FEN \"r5k1/5ppp/8/8/8/8/P4PPP/R5K1 w - - 0 1\"]\n[Stipulation \"+\"]\n[Margins \"60.00 -60.00\"]\n[Language \"fr\"]\n\n1. h3 *";

#[test]
fn a_mend_is_named_to_the_author_and_tells_students_in_their_language() {
    let mut desk = desk();
    bring(&mut desk, BETWEEN);
    let (_, model) = desk.opened().unwrap();
    let mends = model.report.findings.iter().flat_map(|f| &f.mends);
    let telling = mends.filter_map(|mend| match &mend.edits[..] {
        [keyproof::draft::Edit::AddWords { comments, .. }] => Some((&mend.label, comments)),
        _ => None,
    });
    let telling: Vec<_> = telling.collect();
    assert!(!telling.is_empty());
    for (label, comments) in telling {
        assert!(label.starts_with("Tell the student that 1."), "{label}");
        assert_eq!(
            comments[..],
            ["Jouable, mais ce n\u{2019}est pas ce qui est demandé."]
        );
    }
}
