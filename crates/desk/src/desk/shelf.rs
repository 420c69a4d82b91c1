//! The list of all sheets: searching, choosing, and what is done with those
//! chosen; and what of that which came in was there before.

use std::collections::BTreeSet;
use std::rc::Rc;

use keyproof::check::thousands;
use keyproof::draft::NodeId;
use keyproof::tongue::{phrase, plural, say, tr};

use super::{Desk, undo};
use crate::alike::{Double, Turn, doubles};
use crate::card::{labelled, parts};
use crate::example;
use crate::message::{Effect, GiveOutMsg, ListMsg, Msg, Offers, Scope};
use crate::names::{Name, and_more, list};
use crate::shelf::{self, Event, Query};
use crate::work::{SheetId, Work};

impl Desk {
    /// The chosen sheets, in the order of the desk.
    pub fn chosen(&self) -> Vec<SheetId> {
        self.scope(Scope::Chosen)
    }
    /// Finds anew what is shown, if anything changed.
    pub(super) fn shelve(&mut self) {
        let open = self.document.work.open;
        if self.list.shelf.stale || self.list.shelf.is_elsewhere(open) {
            let all = self.document.work.sheets.iter().filter_map(|sheet| {
                let card = self.list.shelf.card(sheet.id)?;
                Some((sheet.id, card, self.status(sheet)))
            });
            let shown = shelf::shown(all, &self.list.shelf.query, self.list.shelf.order);
            self.list.shelf.show(shown, open);
        }
    }
    pub(super) fn in_shelf(&mut self, event: Event) -> Vec<Effect> {
        match event {
            Event::Searching(on) => {
                self.list.shelf.searching = on;
                self.page.listing |= on;
                return match on {
                    true => vec![Effect::Focus("search-words")],
                    false => vec![],
                };
            }
            Event::Query(query) => {
                self.list.shelf.query = query;
                self.list.shelf.go_to_start();
            }
            Event::Order(order) => {
                self.list.shelf.order = order;
                self.list.shelf.go_to_start();
            }
            Event::Clear => {
                self.list.shelf.query = Query::default();
                self.list.shelf.go_to_start();
                self.shelve();
                self.list.shelf.go_to_open(self.document.work.open);
                return match self.list.shelf.searching {
                    true => vec![Effect::Focus("search-words")],
                    false => self.focus_open(),
                };
            }
            Event::Only { show, choose } => {
                self.choice_changed();
                self.list.shelf.query = Query {
                    only: Some(Rc::new(show.into_iter().collect())),
                    ..Query::default()
                };
                self.list.shelf.chosen = choose.into_iter().collect();
                self.list.shelf.choosing = true;
                self.list.shelf.go_to_start();
            }
            Event::More => self.list.shelf.more(),
            Event::Earlier => self.list.shelf.earlier(),
            Event::ToOpen => {
                self.list.shelf.go_to_open(self.document.work.open);
                return self.focus_open();
            }

            Event::Choosing(true) => self.list.shelf.choosing = true,
            Event::Choosing(false) => {
                self.choice_changed();
                self.list.shelf.choose_no_more();
            }
            Event::Choose { sheet, on, through } => {
                self.choice_changed();
                self.list.shelf.choose(sheet, on, through);
            }
            Event::Through(on) => self.list.shelf.through = on,
            Event::ChooseShown => {
                self.choice_changed();
                let shown = self.list.shelf.shown().to_vec();
                self.list.shelf.chosen.extend(shown);
            }
            Event::ChooseNone => {
                self.choice_changed();
                self.list.shelf.chosen.clear();
            }

            Event::Check => return self.check_chosen(),
            Event::Seek => return self.seek_chosen(),
            Event::Label(text) => return self.label_chosen(&text, true),
            Event::Unlabel(text) => return self.label_chosen(&text, false),
            Event::Bring { first } => return self.bring_chosen(first),
            Event::Remove => {
                let mut effects = self.remove_all(&self.chosen());
                effects.extend(self.focus_open());
                return effects;
            }
            Event::TakeOut(ids) => return self.remove_all(&ids),
        }
        vec![]
    }
    /// Gives the focus to the open entry, where what had it is gone.
    fn focus_open(&self) -> Vec<Effect> {
        self.document
            .work
            .open
            .map(Effect::FocusEntry)
            .into_iter()
            .collect()
    }
    /// What waits to be given out was of another choice.
    fn choice_changed(&mut self) {
        let of_chosen = |purpose: crate::message::Purpose| purpose.scope() == Scope::Chosen;
        self.giving_out
            .held
            .take_if(|(purpose, _)| of_chosen(*purpose));
        if self
            .giving_out
            .waiting
            .take_if(|(purpose, _)| of_chosen(*purpose))
            .is_some()
        {
            self.giving_out.preparing = None;
        }
    }

    fn check_chosen(&mut self) -> Vec<Effect> {
        let ids = self.chosen();
        if ids.is_empty() {
            return vec![];
        }
        let undecided = self.check_first(&ids);
        let chosen = ids.len();
        let words = move || {
            let mut words = vec![plural!(
                chosen,
                "The chosen puzzle is checked first.",
                "The {n} chosen puzzles are checked first.",
            )];
            if undecided > 0 {
                words.push(plural!(
                    undecided,
                    "What was left undecided in one of them is searched with ten times as much.",
                    "What was left undecided in {n} of them is searched with ten times as much.",
                ));
            }
            words.join(" ")
        };
        self.tell(words, Vec::new);
        self.assign()
    }
    /// Puts a label on all chosen sheets, or takes it off, in one step.
    fn label_chosen(&mut self, text: &str, on: bool) -> Vec<Effect> {
        let wanted = parts(text, &[';']);
        let mut work = self.document.work.clone();
        let mut count = 0;
        for sheet in &mut work.sheets {
            let Some(card) = self.list.shelf.card(sheet.id) else {
                continue;
            };
            let mut labels = card.labels.clone();
            match on {
                true => labels.extend(wanted.iter().filter(|l| !card.labels.contains(l)).cloned()),
                false => labels.retain(|label| !wanted.contains(label)),
            }
            if self.list.shelf.chosen.contains(&sheet.id) && labels != card.labels {
                let edit = labelled(&labels);
                let draft = &mut Rc::make_mut(sheet).draft;
                draft.apply(&edit).expect("setting a tag needs no node");
                count += 1;
            }
        }
        let words = match (on, count) {
            (_, 0) if wanted.is_empty() => {
                self.tell(|| tr("Type a label first.").into(), Vec::new);
                return vec![Effect::Focus("label")];
            }
            (true, 0) => phrase!("All of them have the label {label}.", "n label"),
            (false, 0) => phrase!("None of them has the label {label}.", "n label"),
            (true, 1) => phrase!("One puzzle now has the label {label}.", "n label"),
            (true, _) => phrase!("{n} puzzles now have the label {label}.", "n label"),
            (false, 1) => phrase!("The label {label} was taken off one puzzle.", "n label"),
            (false, _) => phrase!("The label {label} was taken off {n} puzzles.", "n label"),
        };
        let words = move || say!(words, n = count.to_string(), label = list(&wanted));
        if count == 0 {
            self.tell(words, Vec::new);
            return vec![];
        }
        let effects = self.replace(work, None);
        self.tell(words, undo);
        effects
    }
    /// Brings the chosen sheets to the beginning of the desk, or to its end.
    fn bring_chosen(&mut self, first: bool) -> Vec<Effect> {
        let mut work = self.document.work.clone();
        let chosen = &self.list.shelf.chosen;
        work.sheets
            .sort_by_key(|sheet| chosen.contains(&sheet.id) != first);
        let same = |work: &Work| {
            let ids = |work: &Work| work.sheets.iter().map(|s| s.id).collect::<Vec<_>>();
            ids(work) == ids(&self.document.work)
        };
        if same(&work) {
            return vec![];
        }
        let effects = self.replace(work, None);
        let count = self.list.shelf.chosen.len();
        let words = move || match first {
            true => plural!(
                count,
                "One puzzle now stands at the beginning.",
                "{n} puzzles now stand at the beginning.",
            ),
            false => plural!(
                count,
                "One puzzle now stands at the end.",
                "{n} puzzles now stand at the end.",
            ),
        };
        self.tell(words, undo);
        effects
    }
    /// Removes sheets in one step.
    pub(super) fn remove_all(&mut self, ids: &[SheetId]) -> Vec<Effect> {
        let ids: BTreeSet<SheetId> = ids.iter().copied().collect();
        let mut work = self.document.work.clone();
        let place = work.open.and_then(|id| work.place(id)).unwrap_or(0);
        let (mut gone, mut before) = (Vec::new(), place);
        for (at, sheet) in self.document.work.sheets.iter().enumerate() {
            if ids.contains(&sheet.id) {
                gone.push(Name::of(sheet, at));
                before -= usize::from(at < place);
            }
        }
        if gone.is_empty() {
            return vec![];
        }
        work.sheets.retain(|sheet| !ids.contains(&sheet.id));
        if work.open.is_some_and(|id| ids.contains(&id)) {
            let next = work.sheets.get(before).or(work.sheets.last());
            work.open = next.map(|sheet| sheet.id);
            work.at = NodeId::ROOT;
            self.board.setting_up = false;
        }
        let effects = self.replace(work, None);
        let (first, count) = (gone.remove(0), gone.len() + 1);
        let words = move || match count {
            1 => say!("{name} was removed.", name = first.said()),
            n => say!("{n} puzzles were removed.", n = thousands(n as u64)),
        };
        self.tell(words, undo);
        effects
    }

    /// A lesson to look at, and where to see it as a student does.
    pub(super) fn example_lesson(&mut self) -> Vec<Effect> {
        let effects = self.came(phrase("the example"), example::LESSON);
        let text = || {
            tr("This game stops and asks. See how a student meets it, or go through it here: each moment stands under \u{201c}Moments\u{201d}.").into()
        };
        let see = || {
            vec![(
                tr("See it as a student").into(),
                Msg::GiveOut(GiveOutMsg::Preview),
            )]
        };
        self.tell(text, see);
        effects
    }
    /// Which of the sheets from this id on are like an earlier one.
    pub(super) fn doubles_from(&self, first: SheetId) -> Vec<Double> {
        let keys = |new: bool| {
            let sheets = self.document.work.sheets.iter().map(|sheet| sheet.id);
            let came = first.0..self.list.next_sheet;
            let sheets = sheets.filter(move |id| came.contains(&id.0) == new);
            sheets.filter_map(|id| Some((id, self.list.shelf.card(id)?.key()?)))
        };
        doubles(keys(false), keys(true))
    }
    /// What came in and was there before, in words, with what can be done about
    /// it.
    pub(super) fn words_of_doubles(
        &self,
        doubles: &[Double],
    ) -> impl Fn() -> (String, Offers) + use<> {
        /// Doubles that are named.
        const NAMED: usize = 4;
        let named = doubles.iter().take(NAMED).map(|double| {
            let name = |id| self.name_of(id).unwrap_or_default();
            (double.turn, name(double.sheet), name(double.of))
        });
        let named: Vec<(Turn, Name, Name)> = named.collect();
        let count = doubles.len();
        let out: Vec<SheetId> = doubles.iter().map(|double| double.sheet).collect();
        let all = doubles.iter().flat_map(|double| [double.of, double.sheet]);
        let show = Event::Only {
            show: all.collect(),
            choose: out.clone(),
        };
        move || {
            let told = named.iter().map(|(turn, sheet, of)| {
                say!(
                    turn.words(),
                    number = sheet.number(),
                    name = sheet.said(),
                    other_number = of.number(),
                    other = of.said(),
                )
            });
            let told: Vec<String> = told.collect();
            let told = match count.saturating_sub(NAMED) {
                0 => list(&told),
                more => and_more(&told, more),
            };
            let words = match count {
                1 => phrase!(
                    "One is like another on the desk: {list}. All are kept.",
                    "n list"
                ),
                _ => phrase!(
                    "{n} are like others on the desk: {list}. All are kept.",
                    "n list"
                ),
            };
            let words = say!(words, n = count.to_string(), list = told);
            let take_out = plural!(count, "Take the double out", "Take the {n} doubles out");
            let offers = vec![
                (
                    take_out,
                    Msg::List(ListMsg::Shelf(Event::TakeOut(out.clone()))),
                ),
                (
                    tr("Show them").into(),
                    Msg::List(ListMsg::Shelf(show.clone())),
                ),
            ];
            (words, offers)
        }
    }
}

#[cfg(test)]
mod tests {
    use keyproof::check::Soundness;
    use keyproof::notation::pgn_write;
    use keyproof::publish::LABELS;

    use super::super::tests::{bring, desk, run};
    use super::*;
    use crate::message::{CheckMsg, EditMsg, Purpose};
    use crate::shelf::{MOST, SheetStatus};
    use crate::work::title;

    /// Two rooks mate in two, with both keys: sound. A position of our own.
    const ROOKS: &str = "[FEN \"7k/8/8/8/8/8/R7/1R2K3 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Ra7 (1. Rb7 $1 Kg8 2. Ra8#) 1... Kg8 2. Rb8# *\n\n";
    const MIRRORED: &str =
        "[FEN \"k7/8/8/8/8/8/7R/3K2R1 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Rh7 *\n\n";

    fn event(desk: &mut Desk, event: Event) -> Vec<Effect> {
        run(desk, Msg::List(ListMsg::Shelf(event)))
    }
    fn choose(desk: &mut Desk, place: usize, through: bool) {
        let sheet = desk.work().sheets[place].id;
        let on = true;
        event(desk, Event::Choose { sheet, on, through });
    }
    fn titles(desk: &Desk) -> Vec<String> {
        let sheets = desk.work().sheets.iter();
        sheets
            .map(|s| title(&s.draft).unwrap_or_default())
            .collect()
    }
    /// A desk of so many puzzles, of which only the first two are alike.
    fn desk_of(count: usize) -> Desk {
        let mut desk = desk();
        bring(&mut desk, &many(count));
        desk
    }
    /// Mates in one of our own: a queen beside her king, moved about the board.
    fn many(count: usize) -> String {
        let mut text = String::new();
        let free = "bcdefgh"
            .chars()
            .flat_map(|file| (1..=4).map(move |rank| (file, rank)));
        for (number, (file, rank)) in free.cycle().take(count).enumerate() {
            let setup = shakmaty::Square::from_ascii(format!("{file}{rank}").as_bytes()).unwrap();
            let mut board = shakmaty::Board::empty();
            let white = |role| shakmaty::Piece {
                color: shakmaty::Color::White,
                role,
            };
            board.set_piece_at(shakmaty::Square::A6, white(shakmaty::Role::King));
            board.set_piece_at(setup, white(shakmaty::Role::Queen));
            let king = shakmaty::Role::King;
            let black = shakmaty::Piece {
                color: shakmaty::Color::Black,
                role: king,
            };
            board.set_piece_at(shakmaty::Square::A8, black);
            let name = number + 1;
            text.push_str(&format!(
                "[Event \"Number {name}\"]\n[SetUp \"1\"]\n[FEN \"{} w - - 0 1\"]\n[Stipulation \"#2\"]\n\n*\n\n",
                board.board_fen()
            ));
        }
        text
    }

    #[test]
    fn what_is_searched_for_is_shown_and_cleared_at_once() {
        let mut desk = desk_of(12);
        let words = Query {
            words: "NUMBER 7".into(),
            ..Query::default()
        };
        event(&mut desk, Event::Query(words));
        assert_eq!(desk.shelf().shown().len(), 1);
        let sheet = desk.shelf().shown()[0];
        assert_eq!(desk.name(sheet), "Number 7");
        run(&mut desk, Msg::List(ListMsg::OpenFirst));
        assert_eq!(desk.work().open, Some(sheet));
        event(&mut desk, Event::Clear);
        assert_eq!(desk.shelf().shown().len(), 12);
    }

    #[test]
    fn a_label_goes_on_and_off_for_all_chosen_in_one_step() {
        let mut desk = desk_of(5);
        choose(&mut desk, 1, false);
        choose(&mut desk, 3, true);
        event(&mut desk, Event::Label("Monday;  Ilsa".into()));
        let labels = |desk: &Desk| -> Vec<Option<String>> {
            let sheets = desk.work().sheets.iter();
            sheets
                .map(|s| s.draft.tag(LABELS).map(str::to_owned))
                .collect()
        };
        let both = Some("Monday; Ilsa".to_owned());
        let on = [None, both.clone(), both.clone(), both, None];
        assert_eq!(labels(&desk), on);
        assert_eq!(desk.shelf().labels(), ["Ilsa", "Monday"]);
        event(&mut desk, Event::Unlabel("Monday".into()));
        assert_eq!(labels(&desk)[1].as_deref(), Some("Ilsa"));
        run(&mut desk, Msg::Edit(EditMsg::Undo));
        assert_eq!(labels(&desk), on);
        run(&mut desk, Msg::Edit(EditMsg::Undo));
        assert_eq!(labels(&desk), [const { None::<String> }; 5]);
        assert_eq!(desk.chosen().len(), 3, "they are still chosen");
    }

    #[test]
    fn the_chosen_ones_are_removed_and_come_back_in_one_step() {
        let mut desk = desk_of(5);
        let third = desk.work().sheets[2].id;
        run(&mut desk, Msg::List(ListMsg::Open(third)));
        choose(&mut desk, 0, false);
        choose(&mut desk, 2, true);
        event(&mut desk, Event::Remove);
        assert_eq!(titles(&desk), ["Number 4", "Number 5"]);
        assert_eq!(desk.work().open, Some(desk.work().sheets[0].id));
        assert!(desk.chosen().is_empty());
        assert_eq!(desk.notices()[0].text, "3 puzzles were removed.");
        let (label, undo) = desk.notices()[0].offers[0].clone();
        assert_eq!(label, "Undo");
        run(&mut desk, undo);
        assert_eq!(titles(&desk).len(), 5);
        assert_eq!(desk.work().open, Some(third));
    }

    #[test]
    fn the_chosen_ones_are_brought_together() {
        let mut desk = desk_of(4);
        choose(&mut desk, 1, false);
        choose(&mut desk, 3, false);
        event(&mut desk, Event::Bring { first: true });
        let moved = ["Number 2", "Number 4", "Number 1", "Number 3"];
        assert_eq!(titles(&desk), moved);
        event(&mut desk, Event::Bring { first: true });
        event(&mut desk, Event::Bring { first: false });
        assert_eq!(
            titles(&desk),
            ["Number 1", "Number 3", "Number 2", "Number 4"]
        );
        run(&mut desk, Msg::Edit(EditMsg::Undo));
        assert_eq!(titles(&desk), moved);
    }

    /// Up and down are those of the list as it is shown.
    #[test]
    fn an_entry_moves_past_its_neighbour_in_the_list() {
        let mut desk = desk_of(4);
        let words = Query {
            words: "Number".into(),
            only: Some(Rc::new([0, 3].map(|at| desk.work().sheets[at].id).into())),
            ..Query::default()
        };
        let last = desk.work().sheets[3].id;
        event(&mut desk, Event::Query(words));
        run(&mut desk, Msg::List(ListMsg::Reorder(last, -1)));
        assert_eq!(titles(&desk)[0], "Number 4");
        event(&mut desk, Event::Order(crate::shelf::Order::Title));
        run(&mut desk, Msg::List(ListMsg::Reorder(last, 1)));
        assert_eq!(titles(&desk)[0], "Number 4", "it is sorted otherwise");
    }

    #[test]
    fn an_entry_is_put_before_or_after_another() {
        let mut desk = desk_of(4);
        let ids: Vec<SheetId> = desk.work().sheets.iter().map(|s| s.id).collect();
        let put = |desk: &mut Desk, sheet: usize, onto: usize, after| {
            let (sheet, onto) = (ids[sheet], ids[onto]);
            run(desk, Msg::List(ListMsg::Put { sheet, onto, after }));
            titles(desk).concat().replace("Number ", "")
        };
        assert_eq!(put(&mut desk, 0, 2, true), "2314");
        assert_eq!(put(&mut desk, 3, 1, false), "4231");
        assert_eq!(put(&mut desk, 3, 1, false), "4231", "it stands there");
        run(&mut desk, Msg::Edit(EditMsg::Undo));
        assert_eq!(titles(&desk)[0], "Number 2");
    }

    #[test]
    fn the_chosen_ones_are_given_out() {
        let mut desk = desk_of(4);
        choose(&mut desk, 1, false);
        choose(&mut desk, 2, false);
        let effects = run(&mut desk, Msg::GiveOut(GiveOutMsg::SavePgn(Scope::Chosen)));
        let [Effect::Download { name, text, .. }] = &effects[..] else {
            panic!("one file")
        };
        assert_eq!(name, "puzzles.pgn");
        assert!(text.contains("Number 2") && text.contains("Number 3"));
        assert_eq!(text.matches("[Event ").count(), 2);
        run(&mut desk, Msg::GiveOut(GiveOutMsg::Publish(Scope::Chosen)));
        assert!(desk.held().is_some(), "nothing of them is solved");
        choose(&mut desk, 3, false);
        assert!(desk.held().is_none(), "another choice, another file");
    }

    /// Labels are for the author.
    #[test]
    fn no_label_goes_to_a_student() {
        const PAGE: &str = "<!--keyproof:language--><!--keyproof:title--><!--keyproof:still--><!--keyproof:lesson--><!--keyproof:answers-->";
        let mut desk = desk();
        bring(&mut desk, ROOKS);
        choose(&mut desk, 0, false);
        event(&mut desk, Event::Label("too hard for Wim".into()));
        let sheet = desk.work().opened().unwrap();
        assert!(pgn_write::write(&sheet.draft).contains("too hard"));
        let page = desk.student_page(PAGE, Scope::Chosen).unwrap();
        assert!(page.contains("Ra7") && !page.contains("too hard"));
    }

    #[test]
    fn doubles_are_told_and_taken_out_again() {
        let mut desk = desk();
        bring(&mut desk, ROOKS);
        assert!(desk.notices().is_empty());
        bring(
            &mut desk,
            &[
                MIRRORED,
                ROOKS,
                "[Stipulation \"#2\"]\n[FEN \"7k/8/8/8/8/8/R7/2R1K3 w - - 0 1\"]\n\n*\n",
            ]
            .concat(),
        );
        let notice = desk.notices()[0].clone();
        assert!(notice.text.starts_with("3 puzzles came"), "{}", notice.text);
        assert!(notice.text.contains("(mirrored: no. 1"), "{}", notice.text);
        assert!(notice.text.contains("(the same: no. 1"), "{}", notice.text);
        assert_eq!(desk.work().sheets.len(), 4, "nothing is lost");
        let offers: Vec<&str> = notice
            .offers
            .iter()
            .map(|(label, _)| label.as_str())
            .collect();
        assert_eq!(offers, ["Take the 2 doubles out", "Show them", "Undo"]);
        run(&mut desk, notice.offers[1].1.clone());
        assert_eq!(desk.shelf().shown().len(), 3);
        assert_eq!(desk.chosen().len(), 2);
        run(&mut desk, notice.offers[0].1.clone());
        assert_eq!(desk.work().sheets.len(), 2);
        run(&mut desk, Msg::Edit(EditMsg::Undo));
        assert_eq!(desk.work().sheets.len(), 4);
    }

    /// A pasted position that is there already is told as well.
    #[test]
    fn a_position_that_comes_twice_is_told() {
        let mut desk = desk();
        bring(&mut desk, ROOKS);
        bring(&mut desk, "1r2k3/r7/8/8/8/8/8/7K b - - 0 1");
        assert!(desk.notices()[0].text.contains("(colours swapped: no. 1"));
    }

    /// Runs the turns that become due, at most so many.
    fn turns(desk: &mut Desk, most: usize) -> usize {
        for turn in 0..most {
            let due = |e: &Effect| matches!(e, Effect::After(_, Msg::Check(CheckMsg::LookOn)));
            if !run(desk, Msg::Check(CheckMsg::LookOn)).iter().any(due) {
                return turn;
            }
        }
        most
    }

    #[test]
    fn many_puzzles_come_in_quickly_and_are_checked_one_after_the_other() {
        let mut desk = desk_of(300);
        assert_eq!(desk.work().sheets.len(), 300);
        assert!(desk.opened().is_some());
        assert!(desk.shelf().window().len() <= MOST);
        let standings = |desk: &Desk, wanted: SheetStatus| {
            let sheets = desk.work().sheets.iter();
            sheets.filter(|sheet| desk.status(sheet) == wanted).count()
        };
        assert!(standings(&desk, SheetStatus::NotYet) > 250);
        let last = desk.work().sheets[299].id;
        run(&mut desk, Msg::List(ListMsg::Open(last)));
        assert!(desk.opened().is_some_and(|(sheet, _)| sheet.id == last));
        let turns = turns(&mut desk, 1000);
        assert!(turns < 1000);
        assert_eq!(standings(&desk, SheetStatus::NotYet), 0);
        assert_eq!(standings(&desk, SheetStatus::Begun), 300, "none has a move");
        assert!(
            desk.checking.models.len() < 30,
            "{} view models are kept",
            desk.checking.models.len()
        );
    }

    /// What was proved of a sheet that is put away is not proved again.
    #[test]
    fn what_is_put_away_keeps_what_was_proved() {
        let mut desk = desk();
        bring(&mut desk, &[ROOKS, &many(40)].concat());
        let rooks = desk.work().sheets[0].id;
        let other = desk.work().sheets[20].id;
        run(&mut desk, Msg::List(ListMsg::Open(other)));
        turns(&mut desk, 200);
        assert!(!desk.checking.models.contains_key(&rooks));
        let sheet = desk.work().sheets[0].clone();
        assert_eq!(desk.status(&sheet), SheetStatus::Sound);
        let effects = desk.update(Msg::List(ListMsg::Open(rooks)));
        assert!(!effects.iter().any(|e| matches!(e, Effect::Work(_))));
        let verdict = desk.opened().unwrap().1.report.verdict;
        assert_eq!(verdict, Soundness::Sound);
    }

    /// Nothing that is not looked at counts as sound.
    #[test]
    fn a_file_of_unchecked_puzzles_is_held_back() {
        let mut desk = desk_of(100);
        event(&mut desk, Event::ChooseShown);
        assert_eq!(desk.chosen().len(), 100);
        run(&mut desk, Msg::GiveOut(GiveOutMsg::Publish(Scope::Chosen)));
        let (purpose, why) = desk.held().expect("held back");
        assert_eq!(purpose, Purpose::File(Scope::Chosen));
        assert!(
            why.iter().any(|why| why.contains("not checked yet")),
            "{why:?}"
        );
    }

    #[test]
    fn the_example_lesson_stops_and_asks() {
        let mut desk = desk();
        run(&mut desk, Msg::List(ListMsg::ExampleLesson));
        let (_, model) = desk.opened().unwrap();
        assert!(model.lesson.as_ref().is_some_and(|l| l.asked.len() > 1));
        assert!(model.can_be_posed());
        assert_eq!(
            model.report.verdict,
            Soundness::Sound,
            "{:?}",
            model.report.findings
        );
    }
}
