//! Nothing is lost: several tabs over one store, undo across what others did,
//! what a browser may refuse, and backups.

use keyproof::draft::NodeId;
use keyproof::notation::pgn_write;

use super::Desk;
use super::tests::{bring, run};
use crate::keeping::{Room, Stage};
use crate::message::{BoardMsg, EditMsg, Effect, ListMsg, Msg, StoreMsg};
use crate::saved::slots::Slot;
use crate::saved::{Found, MANIFEST, Manifest, Note, SHEET, TEXT, Writing};
use crate::storage::{self, InMemory, at_once};
use crate::work::{SheetId, title};

/// A store that several tabs share.
#[derive(Default)]
pub(super) struct Store(InMemory);

impl Store {
    /// A page that is opened on it.
    pub(super) fn tab(&self, seed: u64) -> Desk {
        let mut desk = Desk::new(1).seeded(seed << 32);
        desk.update(Msg::Store(StoreMsg::Found(Box::new(self.all()))));
        desk
    }
    fn all(&self) -> Found {
        at_once(storage::read_all(&self.0)).expect("a store that reads")
    }
    fn new_since(&self, known: Option<&Manifest>) -> Found {
        at_once(storage::read_new(&self.0, known)).expect("a store that reads")
    }
    /// Writes, and tells what the desk hears of it.
    fn write(&self, writing: &Writing) -> StoreMsg {
        match at_once(storage::write(&self.0, writing)) {
            Ok(None) => StoreMsg::Written,
            Ok(Some(found)) => StoreMsg::Elsewhere(Box::new(found)),
            Err(why) => StoreMsg::StoreRefused { why, full: true },
        }
    }
    fn count(&self, prefix: &str) -> usize {
        self.0.keys(prefix).len()
    }
    /// Writes what is due until nothing is, and carries out what comes of it.
    pub(super) fn save(&mut self, desk: &mut Desk) -> Vec<Effect> {
        let mut rest = Vec::new();
        let mut due = desk.update(Msg::Store(StoreMsg::SaveDue));
        while let Some(effect) = due.pop() {
            match effect {
                Effect::Write(writing) => {
                    due.extend(desk.update(Msg::Store(self.write(&writing))));
                }
                Effect::SaveSoon => due.extend(desk.update(Msg::Store(StoreMsg::SaveDue))),
                Effect::Reread(known) => {
                    let found = self.new_since(known.as_ref());
                    due.extend(desk.update(Msg::Store(StoreMsg::Found(Box::new(found)))));
                }
                other => rest.push(other),
            }
        }
        rest
    }
    /// The tab hears that another wrote, and looks; what comes of it is saved.
    pub(super) fn read_again(&mut self, desk: &mut Desk) {
        for effect in desk.update(Msg::Store(StoreMsg::LookElsewhere)) {
            if let Effect::Reread(known) = effect {
                let found = self.new_since(known.as_ref());
                desk.update(Msg::Store(StoreMsg::Found(Box::new(found))));
            }
        }
        self.save(desk);
    }
}

const THREE: &str = "[Event \"One\"]\n\n*\n\n[Event \"Two\"]\n\n*\n\n[Event \"Three\"]\n\n*\n";

/// A store with three puzzles, and two tabs that show them.
fn two_tabs() -> (Store, Desk, Desk) {
    let mut store = Store::default();
    let mut one = store.tab(1);
    bring(&mut one, THREE);
    store.save(&mut one);
    let two = store.tab(2);
    (store, one, two)
}

fn titles(desk: &Desk) -> Vec<String> {
    let sheets = desk.work().sheets.iter();
    sheets
        .map(|s| title(&s.draft).unwrap_or_default())
        .collect()
}

fn call(desk: &mut Desk, place: usize, name: &str) {
    let id = desk.work().sheets[place].id;
    run(desk, Msg::List(ListMsg::Open(id)));
    let (name, value) = ("Event".into(), name.into());
    run(desk, Msg::Edit(EditMsg::FieldLeft));
    run(desk, Msg::Edit(EditMsg::Tag { name, value }));
}

fn told(desk: &Desk) -> String {
    let notices = desk.notices().iter().map(|n| n.text.as_str());
    notices.collect::<Vec<_>>().join("\n")
}

#[test]
fn work_is_saved_and_comes_back() {
    let mut store = Store::default();
    let mut desk = store.tab(1);
    bring(&mut desk, "[Event \"Faulty\"]\n\n1. e4 ((( oops *\n");
    bring(&mut desk, THREE);
    assert!(desk.unsaved());
    store.save(&mut desk);
    assert!(!desk.unsaved());
    let again = store.tab(2);
    assert_eq!(titles(&again), titles(&desk));
    for (before, after) in desk.work().sheets.iter().zip(&again.work().sheets) {
        assert_eq!(before.id, after.id);
        assert!(before.holds_same(after));
    }
    assert_eq!(again.work().open, desk.work().open);
    assert!(again.work().sheets.iter().any(|s| s.reading.is_some()));
    assert!(!again.can_undo() && !again.unsaved());
}

#[test]
fn only_what_changed_is_written_and_only_once() {
    let (mut store, mut one, _) = two_tabs();
    assert_eq!(store.0.times_put(SHEET), 3);
    call(&mut one, 1, "Second");
    store.save(&mut one);
    assert_eq!(store.0.times_put(SHEET), 4);
    let id = one.work().sheets[0].id;
    run(&mut one, Msg::List(ListMsg::Reorder(id, 1)));
    store.save(&mut one);
    run(&mut one, Msg::List(ListMsg::Remove(id)));
    store.save(&mut one);
    assert_eq!((store.0.times_put(SHEET), store.count(SHEET)), (4, 2));
    assert!(store.save(&mut one).is_empty());
}

/// The text of a file with faults is kept once for all that came of it, and for
/// as long as something needs it.
#[test]
fn a_faulty_text_is_kept_once() {
    let mut store = Store::default();
    let mut desk = store.tab(1);
    bring(
        &mut desk,
        "[Event \"A\"]\n\n1. e4 oops *\n\n[Event \"B\"]\n\n1. d4 oops *\n",
    );
    store.save(&mut desk);
    assert_eq!((store.count(SHEET), store.count(TEXT)), (2, 1));
    let ids: Vec<_> = desk.work().sheets.iter().map(|s| s.id).collect();
    run(&mut desk, Msg::List(ListMsg::PutAwayReading(ids[0])));
    store.save(&mut desk);
    assert_eq!(store.count(TEXT), 1);
    run(&mut desk, Msg::List(ListMsg::Remove(ids[1])));
    store.save(&mut desk);
    assert_eq!(store.count(TEXT), 0);
    run(&mut desk, Msg::Edit(EditMsg::Undo));
    run(&mut desk, Msg::Edit(EditMsg::Undo));
    store.save(&mut desk);
    let again = store.tab(2);
    assert!(again.work().sheets.iter().all(|s| s.reading.is_some()));
}

#[test]
fn two_tabs_that_change_different_puzzles_both_have_both() {
    let (mut store, mut one, mut two) = two_tabs();
    call(&mut one, 0, "First");
    call(&mut two, 2, "Third");
    store.save(&mut one);
    store.save(&mut two);
    store.read_again(&mut one);
    let all = ["First", "Two", "Third"];
    assert_eq!(
        (titles(&one), titles(&two)),
        (
            all.map(String::from).to_vec(),
            all.map(String::from).to_vec()
        )
    );
    assert_eq!(told(&one) + &told(&two), "");
    assert!(!one.unsaved() && !two.unsaved());
    // Each stands where it stood.
    assert_eq!(one.work().open, Some(one.work().sheets[0].id));
    assert_eq!(two.work().open, Some(two.work().sheets[2].id));
}

#[test]
fn two_tabs_that_change_one_puzzle_keep_both_versions() {
    let (mut store, mut one, mut two) = two_tabs();
    call(&mut one, 1, "By one");
    call(&mut two, 1, "By two");
    store.save(&mut one);
    store.save(&mut two);
    store.read_again(&mut one);
    let all = ["One", "By one", "By two", "Three"];
    assert_eq!(titles(&one), all);
    assert_eq!(titles(&two), all);
    assert!(
        told(&two).contains("By one was changed here and in another tab"),
        "{}",
        told(&two)
    );
    assert_eq!(told(&one), "");
    // Who was writing goes on in what he wrote.
    assert_eq!(two.work().open, Some(two.work().sheets[2].id));
    call(&mut two, 2, "By two, again");
    store.save(&mut two);
    assert_eq!(
        titles(&store.tab(3)),
        ["One", "By one", "By two, again", "Three"]
    );
}

/// Whoever typed goes on where he is, also while what he typed is not written.
#[test]
fn what_is_being_typed_is_not_disturbed() {
    let (mut store, mut one, mut two) = two_tabs();
    call(&mut one, 0, "First");
    store.save(&mut one);
    let id = two.work().sheets[2].id;
    run(&mut two, Msg::List(ListMsg::Open(id)));
    let (node, text) = (NodeId::ROOT, "half a sen".to_owned());
    two.update(Msg::Edit(EditMsg::Words { node, text }));
    store.read_again(&mut two);
    assert_eq!(titles(&two), ["First", "Two", "Three"]);
    let text = "half a sentence".to_owned();
    two.update(Msg::Edit(EditMsg::Words { node, text }));
    let words = |desk: &Desk| {
        desk.opened()
            .unwrap()
            .0
            .draft
            .node(NodeId::ROOT)
            .unwrap()
            .after
            .clone()
    };
    assert_eq!(words(&two), ["half a sentence"]);
    // The letters before and after are still one step.
    run(&mut two, Msg::Edit(EditMsg::Undo));
    assert!(words(&two).is_empty());
    assert_eq!(titles(&two), ["First", "Two", "Three"]);
    assert!(!two.can_undo());
}

#[test]
fn what_another_tab_removed_goes_and_comes_back_on_a_press() {
    let (mut store, mut one, mut two) = two_tabs();
    let second = one.work().sheets[1].id;
    run(&mut two, Msg::List(ListMsg::Open(second)));
    run(&mut one, Msg::List(ListMsg::Remove(second)));
    store.save(&mut one);
    store.read_again(&mut two);
    assert_eq!(titles(&two), ["One", "Three"]);
    assert_eq!(two.work().open, Some(two.work().sheets[1].id));
    assert!(told(&two).contains("Two was taken off"), "{}", told(&two));
    let offers = &two.notices()[0].offers;
    let (_, back) = offers.last().expect("a way back").clone();
    run(&mut two, back);
    assert_eq!(titles(&two), ["One", "Two", "Three"]);
    store.save(&mut two);
    store.read_again(&mut one);
    assert_eq!(titles(&one), ["One", "Two", "Three"]);
    run(&mut two, Msg::Edit(EditMsg::Undo));
    assert_eq!(titles(&two), ["One", "Three"]);
}

#[test]
fn what_one_removed_and_another_changed_is_kept() {
    let (mut store, mut one, mut two) = two_tabs();
    let ids: Vec<SheetId> = one.work().sheets.iter().map(|s| s.id).collect();
    run(&mut one, Msg::List(ListMsg::Remove(ids[0])));
    call(&mut one, 1, "Changed by one");
    call(&mut two, 0, "Changed by two");
    run(&mut two, Msg::List(ListMsg::Remove(ids[2])));
    store.save(&mut one);
    store.save(&mut two);
    store.read_again(&mut one);
    let all = ["Changed by two", "Two", "Changed by one"];
    assert_eq!(
        (titles(&one), titles(&two)),
        (
            all.map(String::from).to_vec(),
            all.map(String::from).to_vec()
        )
    );
    assert!(told(&two).contains("it stays"), "{}", told(&two));
    assert!(told(&two).contains("is back"), "{}", told(&two));
}

/// The rule: what another tab did holds in every state of undo and redo.
#[test]
fn undo_does_not_bring_an_older_text_over_theirs() {
    let (mut store, mut one, mut two) = two_tabs();
    call(&mut one, 0, "First");
    call(&mut one, 0, "Very first");
    call(&mut one, 2, "Last");
    store.save(&mut one);
    store.read_again(&mut two);
    call(&mut two, 0, "Theirs");
    bring(&mut two, "[Event \"Added\"]\n\n*\n");
    store.save(&mut two);
    store.read_again(&mut one);
    assert_eq!(titles(&one), ["Theirs", "Added", "Two", "Last"]);
    // Its own steps at another puzzle are there still, those at theirs are not.
    run(&mut one, Msg::Edit(EditMsg::Undo));
    assert_eq!(titles(&one), ["Theirs", "Added", "Two", "Three"]);
    run(&mut one, Msg::Edit(EditMsg::Redo));
    assert_eq!(titles(&one), ["Theirs", "Added", "Two", "Last"]);
    for _ in 0..9 {
        run(&mut one, Msg::Edit(EditMsg::Undo));
    }
    assert!(!one.can_undo());
    let left = titles(&one);
    assert!(
        left.contains(&"Theirs".into()) && left.contains(&"Added".into()),
        "{left:?}"
    );
    store.save(&mut one);
    store.read_again(&mut two);
    assert_eq!(titles(&two), left);
    for _ in 0..9 {
        run(&mut one, Msg::Edit(EditMsg::Redo));
    }
    assert_eq!(titles(&one), ["Theirs", "Added", "Two", "Last"]);
}

#[test]
fn undo_goes_on_through_the_copy_that_was_put_aside() {
    let (mut store, mut one, mut two) = two_tabs();
    call(&mut one, 0, "Mine");
    call(&mut one, 0, "Mine, better");
    call(&mut two, 0, "Theirs");
    store.save(&mut two);
    store.save(&mut one);
    assert_eq!(titles(&one), ["Theirs", "Mine, better", "Two", "Three"]);
    run(&mut one, Msg::Edit(EditMsg::Undo));
    assert_eq!(titles(&one), ["Theirs", "Mine", "Two", "Three"]);
    run(&mut one, Msg::Edit(EditMsg::Undo));
    assert_eq!(titles(&one), ["Theirs", "One", "Two", "Three"]);
    for _ in 0..2 {
        run(&mut one, Msg::Edit(EditMsg::Redo));
    }
    assert_eq!(titles(&one), ["Theirs", "Mine, better", "Two", "Three"]);
}

#[test]
fn what_is_done_before_the_store_answers_stays() {
    let (store, _, _) = two_tabs();
    let mut desk = Desk::new(1).seeded(7 << 32);
    bring(&mut desk, "[Event \"Early\"]\n\n*\n");
    assert!(desk.unsaved());
    let effects = desk.update(Msg::Store(StoreMsg::Found(Box::new(store.all()))));
    assert!(effects.iter().any(|e| matches!(e, Effect::SaveSoon)));
    assert_eq!(titles(&desk), ["One", "Two", "Three", "Early"]);
    assert_eq!(desk.work().open, Some(desk.work().sheets[3].id));
    run(&mut desk, Msg::Edit(EditMsg::Undo));
    assert_eq!(titles(&desk), ["One", "Two", "Three"]);
}

#[test]
fn an_empty_desk_shows_what_another_tab_adds() {
    let mut store = Store::default();
    let (mut one, mut two) = (store.tab(1), store.tab(2));
    bring(&mut one, THREE);
    store.save(&mut one);
    store.read_again(&mut two);
    assert!(two.opened().is_some());
    run(&mut one, Msg::Edit(EditMsg::Undo));
    store.save(&mut one);
    store.read_again(&mut two);
    assert!(two.work().sheets.is_empty() && two.work().open.is_none());
}

#[test]
fn a_change_while_writing_is_written_next_and_at_once_when_hidden() {
    let (mut store, mut one, _) = two_tabs();
    for hidden in [false, true] {
        call(&mut one, 0, "First");
        call(&mut one, 0, if hidden { "A" } else { "B" });
        let mut effects = one.update(Msg::Store(StoreMsg::SaveNow));
        effects.retain(|e| !matches!(e, Effect::Carry(_)));
        let [Effect::Write(writing), Effect::Note(_)] = &effects[..] else {
            panic!("{effects:?}")
        };
        assert!(matches!(store.write(writing), StoreMsg::Written));
        call(&mut one, 0, "Typed meanwhile");
        if hidden {
            let effects = one.update(Msg::Store(StoreMsg::SaveNow));
            assert!(matches!(&effects[..], [Effect::Note(_)]), "{effects:?}");
        }
        let effects = one.update(Msg::Store(StoreMsg::Written));
        assert!(one.unsaved());
        assert_eq!(
            effects.iter().any(|e| matches!(e, Effect::Write(_))),
            hidden
        );
        assert_eq!(
            effects.iter().any(|e| matches!(e, Effect::SaveSoon)),
            !hidden
        );
        assert!(effects.iter().any(|e| matches!(e, Effect::TellOthers)));
        for effect in effects {
            if let Effect::Write(writing) = effect {
                assert!(matches!(store.write(&writing), StoreMsg::Written));
                one.update(Msg::Store(StoreMsg::Written));
            }
        }
        store.save(&mut one);
        assert_eq!(titles(&store.tab(3))[0], "Typed meanwhile");
    }
}

/// What another tab wrote while this one writes is looked at after that.
#[test]
fn nothing_is_taken_in_while_writing() {
    let (mut store, mut one, mut two) = two_tabs();
    call(&mut one, 0, "First");
    let effects = one.update(Msg::Store(StoreMsg::SaveDue));
    let [Effect::Write(writing)] = &effects[..] else {
        panic!("{effects:?}")
    };
    call(&mut two, 2, "Third");
    let before = store.all();
    assert!(matches!(store.write(writing), StoreMsg::Written));
    assert!(one.update(Msg::Store(StoreMsg::LookElsewhere)).is_empty());
    assert!(
        one.update(Msg::Store(StoreMsg::Found(Box::new(before))))
            .is_empty()
    );
    let effects = one.update(Msg::Store(StoreMsg::Written));
    assert!(effects.iter().any(|e| matches!(e, Effect::Reread(_))));
    store.save(&mut two);
    store.read_again(&mut one);
    assert_eq!(titles(&one), ["First", "Two", "Third"]);
    assert_eq!(told(&one) + &told(&two), "");
}

#[test]
fn a_refused_store_is_told_once_and_tried_again() {
    let mut store = Store::default();
    let mut desk = Desk::new(1).seeded(3 << 32);
    let refused = |full| {
        Msg::Store(StoreMsg::StoreRefused {
            why: "closed".into(),
            full,
        })
    };
    desk.update(refused(false));
    assert!(!desk.unsaved());
    bring(&mut desk, THREE);
    assert!(desk.unsaved());
    desk.update(Msg::Store(StoreMsg::SaveDue));
    desk.update(refused(false));
    assert_eq!((desk.notices().iter().filter(|n| n.warns())).count(), 1);
    let notice = desk.notices().iter().find(|n| n.warns()).unwrap();
    assert!(
        notice
            .offers
            .iter()
            .any(|(_, m)| matches!(m, Msg::Store(StoreMsg::SaveBackup)))
    );
    assert!(desk.unsaved() && desk.saving().refused.is_some());
    // Only a change makes another try; when it succeeds, the notice goes.
    assert!(desk.update(Msg::Store(StoreMsg::SaveDue)).is_empty());
    call(&mut desk, 0, "First");
    store.save(&mut desk);
    assert!(!desk.notices().iter().any(|n| n.warns()), "{}", told(&desk));
    assert!(!desk.unsaved() && desk.saving().refused.is_none());
    assert_eq!(titles(&store.tab(4)), ["First", "Two", "Three"]);
}

#[test]
fn a_full_store_is_told_as_such() {
    let (_, mut one, _) = two_tabs();
    call(&mut one, 0, "First");
    one.update(Msg::Store(StoreMsg::SaveDue));
    one.update(Msg::Store(StoreMsg::StoreRefused {
        why: "QuotaExceededError".into(),
        full: true,
    }));
    assert!(told(&one).contains("is full"));
}

/// A store that opens only later has what it had, and what was done meanwhile.
#[test]
fn a_store_that_could_not_be_read_at_first_is_not_written_over() {
    let (mut store, _, _) = two_tabs();
    let mut desk = Desk::new(1).seeded(3 << 32);
    desk.update(Msg::Store(StoreMsg::StoreRefused {
        why: "busy".into(),
        full: false,
    }));
    bring(&mut desk, "[Event \"New\"]\n\n*\n");
    store.save(&mut desk);
    let all = ["One", "Two", "Three", "New"];
    assert_eq!(
        (titles(&desk), titles(&store.tab(4))),
        (
            all.map(String::from).to_vec(),
            all.map(String::from).to_vec()
        )
    );
}

#[test]
fn a_store_that_was_thrown_away_is_written_anew() {
    let (_, mut one, _) = two_tabs();
    let mut empty = Store::default();
    empty.read_again(&mut one);
    assert!(told(&one).contains("thrown away"), "{}", told(&one));
    assert_eq!(titles(&empty.tab(4)), ["One", "Two", "Three"]);
    // And one that has begun anew since takes both.
    let (_, mut two, _) = two_tabs();
    let mut fresh = Store::default();
    let mut other = fresh.tab(5);
    bring(&mut other, "[Event \"Other\"]\n\n*\n");
    fresh.save(&mut other);
    call(&mut two, 0, "First");
    fresh.save(&mut two);
    assert_eq!(titles(&two), ["Other", "First", "Two", "Three"]);
    assert_eq!(titles(&fresh.tab(6)), titles(&two));
}

#[test]
fn a_small_rest_is_told_until_there_is_more() {
    let (_, _, mut one) = two_tabs();
    let room = |left: f64| {
        Msg::Store(StoreMsg::Room(Room {
            used: 100e6,
            quota: 100e6 + left,
        }))
    };
    one.update(room(3.5e6));
    one.update(room(3.4e6));
    assert!(told(&one).contains("Less than 4 MB"), "{}", told(&one));
    assert_eq!(one.notices().len(), 1);
    assert!(!told(&one).contains("throw away"));
    one.update(room(50e6));
    assert_eq!(told(&one), "");
    one.update(Msg::Store(StoreMsg::Stays(false)));
    assert_eq!(told(&one), "");
    one.update(room(1e6));
    assert!(told(&one).contains("throw away"));
}

#[test]
fn the_browser_is_asked_to_keep_the_authors_own_work_once() {
    let mut store = Store::default();
    let mut desk = store.tab(1);
    let asks = |effects: Vec<Effect>| effects.iter().any(|e| matches!(e, Effect::AskToStay));
    run(&mut desk, Msg::List(ListMsg::Example));
    assert!(!asks(store.save(&mut desk)));
    call(&mut desk, 0, "My own");
    assert!(asks(store.save(&mut desk)));
    call(&mut desk, 0, "My own, again");
    assert!(!asks(store.save(&mut desk)));
    let mut later = store.tab(2);
    call(&mut later, 0, "Another day");
    assert!(!asks(store.save(&mut later)));
}

fn slot(time: f64, titles: &[&str]) -> Slot {
    let games = titles
        .iter()
        .map(|t| format!("[Event \\\"{t}\\\"]\\n\\n*\\n\\n"));
    let pgn: String = games.collect();
    serde_json::from_str(&format!(
        "{{\"revision\":3,\"time\":{time}.0,\"pgn\":\"{pgn}\",\"open\":1,\"readings\":[]}}"
    ))
    .expect("a slot")
}

#[test]
fn work_of_earlier_versions_is_carried_over_and_then_removed() {
    let mut store = Store::default();
    store.0.insert("desk 5", slot(5.0, &["One", "Apart"]));
    store.0.insert("desk 9", slot(9.0, &["One", "Two"]));
    let mut one = store.tab(1);
    let mut two = store.tab(2);
    assert_eq!(titles(&one), ["One", "Two", "Apart"]);
    assert_eq!(one.work().open, Some(one.work().sheets[1].id));
    assert!(told(&one).contains("One puzzle that another tab had kept apart"));
    assert_eq!(
        store.count("desk "),
        2,
        "nothing is removed before it is written"
    );
    store.save(&mut one);
    assert_eq!((store.count("desk "), store.count(SHEET)), (0, 3));
    // A second tab that read the old slots at the same time adds nothing.
    call(&mut two, 1, "Second");
    store.save(&mut two);
    assert_eq!(titles(&two), ["One", "Second", "Apart"]);
    assert_eq!(titles(&store.tab(3)), ["One", "Second", "Apart"]);
}

#[test]
fn a_slot_that_holds_nothing_new_is_removed_too() {
    let (mut store, _, _) = two_tabs();
    store.0.insert("desk 5", slot(5.0, &["One", "Two"]));
    let mut desk = store.tab(4);
    assert_eq!(
        (titles(&desk), told(&desk)),
        (
            ["One", "Two", "Three"].map(String::from).to_vec(),
            String::new()
        )
    );
    store.save(&mut desk);
    assert_eq!(store.count("desk "), 0);
}

#[test]
fn a_row_that_cannot_be_read_takes_no_puzzle_with_it() {
    let (store, _, _) = two_tabs();
    store.0.insert(MANIFEST, Manifest::default());
    let mut all = titles(&store.tab(3));
    all.sort();
    assert_eq!(all, ["One", "Three", "Two"]);
}

/// The backup that a desk saves.
fn backup(desk: &mut Desk) -> String {
    let effects = desk.update(Msg::Store(StoreMsg::SaveBackup));
    let [Effect::Backup(work)] = &effects[..] else {
        panic!("{effects:?}")
    };
    crate::backup::write(work, "2026-03-01 18:30")
}

#[test]
fn a_backup_restores_an_empty_desk_as_it_was() {
    let (_, mut one, _) = two_tabs();
    bring(&mut one, "[Event \"Faulty\"]\n\n1. e4 ((( oops *\n");
    let text = backup(&mut one);
    let mut desk = Store::default().tab(9);
    bring(&mut desk, &text);
    assert_eq!(desk.work().open, one.work().open);
    assert_eq!(desk.work().sheets.len(), 4);
    for (before, after) in one.work().sheets.iter().zip(&desk.work().sheets) {
        assert!(before.id == after.id && before.holds_same(after));
    }
    run(&mut desk, Msg::Edit(EditMsg::Undo));
    assert!(desk.work().sheets.is_empty());
    run(&mut desk, Msg::Edit(EditMsg::Redo));
    assert_eq!(titles(&desk), titles(&one));
}

#[test]
fn a_backup_adds_what_is_missing_and_puts_other_versions_beside() {
    let (mut store, mut one, _) = two_tabs();
    let text = backup(&mut one);
    call(&mut one, 0, "Newer");
    let second = one.work().sheets[1].id;
    run(&mut one, Msg::List(ListMsg::Remove(second)));
    bring(&mut one, &text);
    assert_eq!(titles(&one), ["Newer", "One", "Two", "Three"]);
    assert!(told(&one).contains("2 puzzles came back"), "{}", told(&one));
    assert!(
        told(&one).contains("One of them is here in another form"),
        "{}",
        told(&one)
    );
    bring(&mut one, &text);
    assert_eq!(one.work().sheets.len(), 4);
    assert!(told(&one).contains("here already"));
    store.save(&mut one);
    assert_eq!(titles(&store.tab(3)), titles(&one));
    run(&mut one, Msg::Edit(EditMsg::Undo));
    assert_eq!(titles(&one), ["Newer", "Three"]);
}

#[test]
fn undo_and_redo_go_through_imports_removals_merges_and_backups() {
    let (mut store, mut one, mut two) = two_tabs();
    let text = backup(&mut one);
    let mut states = vec![titles(&one)];
    bring(&mut one, "[Event \"Came\"]\n\n*\n");
    states.push(titles(&one));
    let last = one.work().sheets.last().unwrap().id;
    run(&mut one, Msg::List(ListMsg::Remove(last)));
    states.push(titles(&one));
    store.save(&mut one);
    store.read_again(&mut two);
    bring(&mut two, "[Event \"Theirs\"]\n\n*\n");
    store.save(&mut two);
    store.read_again(&mut one);
    // What came from there stands in all of them from now on.
    let sorted = |mut titles: Vec<String>| {
        titles.sort();
        titles
    };
    for state in &mut states {
        state.push("Theirs".into());
    }
    assert_eq!(sorted(titles(&one)), sorted(states[2].clone()));
    bring(&mut one, &text);
    states.push(titles(&one));
    assert!(titles(&one).contains(&"Three".into()));
    for state in states.iter().rev().skip(1) {
        run(&mut one, Msg::Edit(EditMsg::Undo));
        assert_eq!(sorted(titles(&one)), sorted(state.clone()));
    }
    for state in states.iter().skip(1) {
        run(&mut one, Msg::Edit(EditMsg::Redo));
        assert_eq!(sorted(titles(&one)), sorted(state.clone()));
    }
}

/// What is not changed is neither written nor said to be unsaved.
#[test]
fn only_what_would_be_lost_is_unsaved() {
    let (_, mut one, _) = two_tabs();
    let first = one.work().sheets[2].id;
    one.update(Msg::List(ListMsg::Open(first)));
    assert_eq!(one.saving().stage, Stage::Due);
    assert!(!one.unsaved());
    call(&mut one, 2, "Third");
    assert!(one.unsaved());
}

/// Where another tab changed the moves, the author stands at the same move.
#[test]
fn the_author_stands_where_he_stood() {
    let mut store = Store::default();
    let mut one = store.tab(1);
    bring(&mut one, "[Event \"Game\"]\n\n1. e4 e5 2. Nf3 *\n");
    store.save(&mut one);
    let mut two = store.tab(2);
    let node = |desk: &Desk, text: &str| {
        let draft = &desk.opened().unwrap().0.draft;
        let mut walk = draft.walk().into_iter();
        walk.find(|&id| draft.node(id).unwrap().text == text)
            .unwrap()
    };
    let at = node(&two, "e5");
    run(&mut two, Msg::Board(BoardMsg::Go(at)));
    let text = "Words of one.".into();
    run(
        &mut one,
        Msg::Edit(EditMsg::Words {
            node: NodeId::ROOT,
            text,
        }),
    );
    store.save(&mut one);
    store.read_again(&mut two);
    assert!(pgn_write::write(&two.opened().unwrap().0.draft).contains("Words of one."));
    assert_eq!(two.work().at, node(&two, "e5"));
}

/// What the page puts down as it goes out of sight.
fn noted(desk: &mut Desk) -> Note {
    let effects = desk.update(Msg::Store(StoreMsg::SaveNow));
    let note = effects.into_iter().find_map(|effect| match effect {
        Effect::Note(note) => Some(note),
        _ => None,
    });
    Note::read(&note.expect("a note").write())
}

/// A page that opens on the store, and finds a note.
fn after(store: &Store, note: &Note, seed: u64) -> (Desk, Vec<Effect>) {
    let mut desk = Desk::new(1).seeded(seed << 32);
    let found = Found {
        notes: vec![note.clone()],
        ..store.all()
    };
    let effects = desk.update(Msg::Store(StoreMsg::Found(Box::new(found))));
    (desk, effects)
}

#[test]
fn what_was_typed_as_the_page_closed_is_back_and_can_be_undone() {
    let (mut store, mut one, _) = two_tabs();
    let before = titles(&one);
    call(&mut one, 0, "Typed last");
    let note = noted(&mut one);
    // The browser ends the page before anything is written.
    let (mut next, _) = after(&store, &note, 9);
    assert_eq!(titles(&next)[0], "Typed last");
    assert_eq!(titles(&next)[1..], before[1..]);
    assert!(next.unsaved());
    let rest = store.save(&mut next);
    let gone = |e: &Effect| matches!(e, Effect::Note(note) if note.0.is_empty());
    assert!(rest.iter().any(gone), "the note goes once it is saved");
    run(&mut next, Msg::Edit(EditMsg::Undo));
    assert_eq!(titles(&next), before);
}

/// The page that a browser saves has the work in it, and opens with it where the
/// store is empty.
#[test]
fn a_page_carries_the_work_into_an_empty_store() {
    let (mut store, mut one, _) = two_tabs();
    call(&mut one, 0, "Typed last");
    let saved = store.save(&mut one);
    assert!(!carries(&saved), "not at each letter");
    let carried = one
        .update(due(&saved))
        .into_iter()
        .find_map(|effect| match effect {
            Effect::Carry(note) => Some(Note::read(&note.write())),
            _ => None,
        });
    let mut next = Desk::new(1).seeded(7 << 32);
    let found = Found {
        carried: carried.expect("the work"),
        ..Store::default().all()
    };
    next.update(Msg::Store(StoreMsg::Found(Box::new(found))));
    assert_eq!(titles(&next), titles(&one));
    assert!(next.opened().is_some() && next.unsaved());
    let mut empty = Store::default();
    empty.save(&mut next);
    assert_eq!(titles(&empty.tab(8)), titles(&one));
}

fn carries(effects: &[Effect]) -> bool {
    effects.iter().any(|e| matches!(e, Effect::Carry(_)))
}

/// What comes a while after something was written.
fn due(effects: &[Effect]) -> Msg {
    let due = effects.iter().find_map(|effect| match effect {
        Effect::After(_, due @ Msg::Store(StoreMsg::CarryDue(_))) => Some(due.clone()),
        _ => None,
    });
    due.expect("it comes into the page later")
}

/// The work comes into the page once its author rests, and at once where the page goes out
/// of sight or is saved: then it is what was typed last.
#[test]
fn the_page_has_the_work_in_it_once_its_author_rests() {
    let (mut store, mut one, _) = two_tabs();
    call(&mut one, 0, "T");
    let first = due(&store.save(&mut one));
    call(&mut one, 0, "Ty");
    let second = due(&store.save(&mut one));
    assert!(!carries(&one.update(first)), "something was typed since");
    assert!(carries(&one.update(second)));
    assert!(
        !carries(&one.update(Msg::Store(StoreMsg::SaveNow))),
        "it has it"
    );
    for now in [StoreMsg::SaveNow, StoreMsg::Carry] {
        call(&mut one, 0, &format!("Typed before {now:?}"));
        store.save(&mut one);
        let effects = one.update(Msg::Store(now.clone()));
        let text = effects.iter().find_map(|effect| match effect {
            Effect::Carry(note) => Some(note.write()),
            _ => None,
        });
        let text = text.expect("the work");
        assert!(text.contains(&format!("Typed before {now:?}")), "{text}");
    }
}

#[test]
fn a_note_of_what_was_saved_after_all_changes_nothing() {
    let (mut store, mut one, _) = two_tabs();
    call(&mut one, 0, "Typed last");
    let note = one.saving().stored.note(one.work());
    store.save(&mut one);
    let (next, effects) = after(&store, &note, 9);
    assert_eq!(titles(&next), titles(&one));
    assert!(!next.unsaved());
    assert!(
        effects
            .iter()
            .any(|e| matches!(e, Effect::Note(note) if note.0.is_empty()))
    );
}

#[test]
fn a_note_stands_beside_what_was_changed_elsewhere_since() {
    let (mut store, mut one, mut two) = two_tabs();
    call(&mut one, 0, "Typed last");
    let note = noted(&mut one);
    call(&mut two, 0, "Changed elsewhere");
    store.save(&mut two);
    let (next, _) = after(&store, &note, 9);
    assert_eq!(titles(&next)[..2], ["Changed elsewhere", "Typed last"]);
}

#[test]
fn a_damaged_note_loses_no_more_than_its_end() {
    let (_, mut one, _) = two_tabs();
    call(&mut one, 0, "First \u{e9}");
    call(&mut one, 1, "Second");
    let note = noted(&mut one);
    assert_eq!(note.0.len(), 2);
    let text = note.write();
    for (cut, _) in text.char_indices() {
        let read = Note::read(&text[..cut]);
        assert_eq!(read.0[..], note.0[..read.0.len()], "cut at {cut}");
    }
    assert_eq!(Note::read("none of ours"), Note::default());
}
