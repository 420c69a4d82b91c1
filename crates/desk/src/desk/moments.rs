//! The moments of the open game: looking for them, asking there, and making
//! puzzles of them.

use keyproof::draft::{Draft, Edit, NodeId};
use keyproof::lesson::{self, Moment, Place};
use keyproof::moments;
use keyproof::tongue::{phrase, plural, say, tr};

use super::{Desk, undo};
use crate::card::Kind;
use crate::hints;
use crate::lesson::{Lesson, belongs_to_a_moment};
use crate::message::Effect;
use crate::seek::{Effort, Seek};
use crate::work::SheetId;

/// Answers after which a search is saved.
const KEPT_EVERY: usize = 20;

impl Desk {
    /// The search for the open game's moments, once it was begun.
    pub fn seeking(&self) -> Option<&Seek> {
        self.games
            .seeks
            .get(&self.document.work.open?)
            .filter(|seek| !seek.stale)
    }
    /// The found moment that is shown.
    pub fn regarded(&self) -> Option<usize> {
        self.games.regarded
    }
    /// What was found in the open game and is not asked yet, the best first.
    pub fn worth_asking(&self) -> Vec<&moments::Moment> {
        let lesson = self.opened().and_then(|(_, model)| model.lesson.as_ref());
        let asked = |node| lesson.is_some_and(|lesson| lesson.at(node).is_some());
        let found = self.seeking().map_or(&[][..], |seek| &seek.found);
        found.iter().filter(|found| !asked(found.node)).collect()
    }
    /// What could be asked where the author stands, if he stands on the game's
    /// own line.
    pub fn place_here(&self) -> Option<Place> {
        let (_, model) = self.opened()?;
        let at = self.document.work.at;
        let listed = model.resolved.main_line().contains(&at);
        model.position(at).filter(|_| listed).map(Place::of)
    }
    /// Hints drafted for the puzzle, or for the moment, where the author stands.
    pub fn hint_drafts(&self) -> Vec<String> {
        let told = self.opened().and_then(|(sheet, model)| {
            let (root, explanation) = model.told_at(self.document.work.at)?;
            let tongue = keyproof_tongues::of_game(&sheet.draft);
            Some(tongue.speaks(|| hints::drafts(model.position(root)?, explanation?).into()))
        });
        told.flatten().unwrap_or_default()
    }
    /// Questions that broke a worker down and are left out.
    pub fn left_out(&self) -> usize {
        let open = self.seeking().map_or(&[][..], |seek| &seek.open);
        open.iter()
            .filter(|q| self.checking.bench.gave_up(q))
            .count()
    }
    /// A frame that shows the open puzzle's or lesson's file in a page.
    pub fn frame(&self) -> String {
        let name = self.file_stem(crate::message::Scope::Open);
        let title = self
            .document
            .work
            .opened()
            .map_or_else(String::new, |sheet| {
                keyproof_tongues::of_game(&sheet.draft).speaks(|| self.name(sheet.id))
            });
        let title = title
            .replace('&', "&amp;")
            .replace('"', "&quot;")
            .replace('<', "&lt;");
        format!(
            "<iframe src=\"{name}.html\" width=\"100%\" height=\"700\" title=\"{title}\"></iframe>"
        )
    }

    pub(super) fn seek(&mut self) -> Vec<Effect> {
        let Some(sheet) = self.document.work.opened().cloned() else {
            return vec![];
        };
        if self.seeking().is_none() {
            match Seek::of(&sheet.draft, self.games.effort) {
                Some(seek) => self.games.seeks.insert(sheet.id, seek),
                None => self.games.seeks.remove(&sheet.id),
            };
        }
        if let Some(seek) = self.games.seeks.get_mut(&sheet.id) {
            seek.running = !seek.stale;
        }
        self.assign()
    }
    /// Looks for the moments of all chosen games, one after the other.
    pub(super) fn seek_chosen(&mut self) -> Vec<Effect> {
        let ids = self.chosen();
        let (mut begun, effort) = (0, self.games.effort);
        for sheet in self
            .document
            .work
            .sheets
            .iter()
            .filter(|s| ids.contains(&s.id))
        {
            let kind = self.list.shelf.card(sheet.id).map(|card| card.kind);
            if kind.is_none_or(|kind| kind == Kind::Puzzle) {
                continue;
            }
            let kept = self
                .games
                .seeks
                .get(&sheet.id)
                .is_some_and(|seek| !seek.stale);
            if !kept && let Some(seek) = Seek::of(&sheet.draft, effort) {
                self.games.seeks.insert(sheet.id, seek);
            }
            if let Some(seek) = self.games.seeks.get_mut(&sheet.id) {
                seek.running = !seek.stale && !seek.open.is_empty();
                begun += usize::from(seek.running);
            }
        }
        let words = move || match begun {
            0 => tr("None of the chosen is a game that was not looked through.").into(),
            n => plural!(
                n,
                "Moments are looked for in one game.",
                "Moments are looked for in {n} games, one after the other.",
            ),
        };
        self.tell(words, Vec::new);
        self.assign()
    }
    /// Whether a game or a lesson is among those chosen.
    pub fn games_chosen(&self) -> bool {
        let mut cards = self
            .list
            .shelf
            .chosen
            .iter()
            .filter_map(|&id| self.list.shelf.card(id));
        cards.any(|card| card.kind != Kind::Puzzle)
    }
    /// In how many games moments are looked for, or wait for it.
    pub fn seeks_running(&self) -> usize {
        self.games
            .seeks
            .values()
            .filter(|seek| seek.running)
            .count()
    }
    /// What the list says of the search in a game.
    pub fn seek_words(&self, id: SheetId) -> Option<String> {
        let seek = self.games.seeks.get(&id).filter(|seek| !seek.stale)?;
        match (seek.running, seek.found.len()) {
            (true, _) if self.foremost_seek() == Some(id) => Some(tr("looking \u{2026}").into()),
            (true, _) => Some(tr("to be looked through").into()),
            (false, _) if !seek.open.is_empty() => None,
            (false, 0) => Some(tr("no moments").into()),
            (false, n) => Some(plural!(n, "{n} moment", "{n} moments")),
        }
    }
    /// Begins anew, with the effort chosen.
    pub(super) fn seek_anew(&mut self) -> Vec<Effect> {
        if let Some(id) = self.document.work.open {
            self.games.seeks.remove(&id);
        }
        self.games.regarded = None;
        self.seek()
    }
    /// How closely the next search looks.
    pub fn effort(&self) -> Effort {
        self.games.effort
    }
    /// The found moment that is pointed at: its node, if that is not where the
    /// author stands anyway.
    pub fn glimpse(&self) -> Option<NodeId> {
        let node = self.found(self.games.glimpsed?)?.node;
        (node != self.document.work.at || self.board.showing.is_some()).then_some(node)
    }
    /// Stops looking in the open game, or in all.
    pub(super) fn end_seek(&mut self, all: bool) -> Vec<Effect> {
        let open = self.document.work.open;
        for (id, seek) in &mut self.games.seeks {
            seek.running &= !all && open != Some(*id);
        }
        let mut effects = self.assign();
        if self.saving.changed() {
            effects.push(Effect::SaveSoon);
        }
        effects
    }
    /// Takes the searches along after a change of the games.
    pub(super) fn seeks_again(&mut self) {
        for (id, seek) in &mut self.games.seeks {
            match self.document.work.sheet(*id) {
                Some(sheet) => seek.tree_changed(&sheet.draft),
                None => seek.running = false,
            }
        }
    }
    pub(super) fn assign_seek(&mut self) -> Vec<Effect> {
        for seek in self.games.seeks.values_mut() {
            seek.running &= !seek.open.iter().all(|q| self.checking.bench.gave_up(q));
        }
        let foremost = self.foremost_seek();
        let wanted = foremost.and_then(|id| Some((id, self.games.seeks.get(&id)?.open.as_slice())));
        let orders = self.checking.bench.seek(wanted);
        orders.into_iter().map(Effect::Work).collect()
    }
    /// The game that the workers look through: the open one, or else the first
    /// of the row.
    fn foremost_seek(&self) -> Option<SheetId> {
        let running = |id: &SheetId| self.games.seeks.get(id).is_some_and(|seek| seek.running);
        if self.seeks_running() == 0 {
            return None;
        }
        let row = self.document.work.sheets.iter().map(|sheet| sheet.id);
        self.document.work.open.into_iter().chain(row).find(running)
    }
    pub(super) fn sought(
        &mut self,
        seat: usize,
        ticket: u32,
        answer: Option<Box<moments::Answer>>,
        millis: f64,
    ) -> Vec<Effect> {
        let Some(answer) = answer else {
            let why = tr("a question about the game could not be answered");
            return self.judge_broke(seat, why.into());
        };
        if let Some(errand) = self.checking.bench.sought(seat, ticket)
            && let Some(seek) = self.games.seeks.get_mut(&errand.sheet)
        {
            seek.learn(*answer, millis);
            let (answered, _) = seek.tally();
            let mut effects = self.assign();
            let at_rest = self
                .games
                .seeks
                .get(&errand.sheet)
                .is_none_or(|seek| !seek.running);
            if (at_rest || answered % KEPT_EVERY == 0) && self.saving.changed() {
                effects.push(Effect::SaveSoon);
            }
            return effects;
        }
        self.assign()
    }
    pub(super) fn regard(&mut self, ply: usize) -> Vec<Effect> {
        self.games.glimpsed = None;
        if self.games.regarded == Some(ply) {
            self.games.regarded = None;
            return vec![];
        }
        let Some(node) = self.found(ply).map(|moment| moment.node) else {
            return vec![];
        };
        self.go(node);
        self.games.regarded = Some(ply);
        vec![Effect::InSight("moment-here")]
    }
    pub(super) fn ask_found(&mut self, ply: usize) -> Vec<Effect> {
        let (Some(found), Some(sheet)) = (
            self.found(ply).cloned(),
            self.document.work.opened().cloned(),
        ) else {
            return vec![];
        };
        let others: Vec<moments::Moment> = self.seeking().map_or(vec![], |seek| seek.found.clone());
        let brought = keyproof_tongues::of_game(&sheet.draft).speaks(|| {
            let puzzle = unhinted(moments::puzzle(&sheet.draft, &found));
            lesson::bring(&sheet.draft, &found, &puzzle, &others)
        });
        let Some((draft, moment)) = brought else {
            return vec![];
        };
        self.learn_of(sheet.id);
        let effects = self.change_sheet(sheet.id, None, |sheet| sheet.draft = draft);
        self.go(found.node);
        let asks = moment.place.side.fold_wb(
            phrase!("The lesson now asks White at move {n}.", "n"),
            phrase!("The lesson now asks Black at move {n}.", "n"),
        );
        let number = moment.place.number.to_string();
        self.tell(move || say!(asks, n = number), undo);
        effects
    }
    pub(super) fn puzzle_of(&mut self, ply: usize) -> Vec<Effect> {
        let (Some(found), Some(sheet)) = (
            self.found(ply).cloned(),
            self.document.work.opened().cloned(),
        ) else {
            return vec![];
        };
        let tongue = keyproof_tongues::of_game(&sheet.draft);
        let mut draft = tongue.speaks(|| unhinted(moments::puzzle(&sheet.draft, &found)));
        let lessons: Vec<String> = draft
            .tags()
            .iter()
            .map(|(name, _)| name.clone())
            .filter(|name| name == lesson::TAG || belongs_to_a_moment(name))
            .collect();
        for name in lessons {
            let edit = Edit::SetTag { name, value: None };
            draft.apply(&edit).expect("setting a tag needs no node");
        }
        let known = self.games.seeks.get(&sheet.id).map(Seek::known);
        let new = SheetId(self.list.next_sheet);
        let mut effects = self.add(vec![(draft, None)]);
        if let Some(known) = known {
            self.knows(new, known);
            effects.extend(self.assign());
        }
        self.tell(|| tr("A puzzle was made of the moment.").into(), undo);
        effects
    }
    pub(super) fn ask_here(&mut self, moment: Moment) -> Vec<Effect> {
        let edit = match self.lesson() {
            Some(lesson) if lesson.faults.is_empty() => lesson.ask(moment),
            Some(_) => return vec![],
            None => lesson::asking(&[moment]),
        };
        self.edit(&[edit], None)
    }
    pub(super) fn ask_not(&mut self, node: NodeId) -> Vec<Effect> {
        match self.lesson().map(|lesson| lesson.ask_not(node)) {
            Some(edit) => self.edit(&[edit], None),
            None => vec![],
        }
    }

    fn lesson(&self) -> Option<&Lesson> {
        self.opened()?.1.lesson.as_ref()
    }
    fn found(&self, ply: usize) -> Option<&moments::Moment> {
        let found = &self.seeking()?.found;
        found.iter().find(|moment| moment.ply == ply)
    }
    /// What the search proved counts for the game's own questions too.
    fn learn_of(&mut self, id: SheetId) {
        if let Some(known) = self.games.seeks.get(&id).map(Seek::known) {
            self.knows(id, known);
        }
    }
    fn knows(&mut self, id: SheetId, known: keyproof::check::Known) {
        if let Some(model) = self.checking.models.get_mut(&id) {
            model.take(known);
        }
    }
}

/// Without the hints, which are offered beside their fields and not written into them.
fn unhinted(mut puzzle: Draft) -> Draft {
    for n in 1..=9 {
        puzzle.set_tag(&format!("Hint{n}"), None);
    }
    puzzle
}

#[cfg(test)]
mod tests {
    use keyproof::aim::Aim;
    use keyproof::check::Soundness;
    use keyproof::notation::pgn_write;
    use keyproof::puzzle::Stipulation;

    use super::super::safety::Store;
    use super::super::tests::{bring, desk, run};
    use super::*;
    use crate::message::{BoardMsg, CheckMsg, EditMsg, GameMsg, GiveOutMsg, ListMsg, Msg};
    use crate::shelf::Event;
    use crate::wire::{Ask, Order, Post};

    /// A game of our own making: White has mate on f7 and develops a knight.
    const OVERLOOKED: &str = "[Event \"Board four\"]\n\n1. e4 e5 2. Bc4 Nc6 3. Qh5 Nf6 {He saw the queen only.} 4. Nf3 {Development first.} 4... Nxh5 *\n";

    fn pgn(desk: &Desk) -> String {
        pgn_write::write(&desk.opened().unwrap().0.draft)
    }
    fn verdict(desk: &Desk) -> Soundness {
        desk.opened().unwrap().1.report.verdict
    }
    fn node(desk: &Desk, text: &str) -> NodeId {
        let (sheet, _) = desk.opened().unwrap();
        let mut walk = sheet.draft.walk().into_iter();
        walk.find(|&id| sheet.draft.node(id).unwrap().text == text)
            .unwrap()
    }

    #[test]
    fn a_game_of_which_nothing_is_asked_is_no_fault() {
        let mut desk = desk();
        bring(&mut desk, OVERLOOKED);
        let (_, model) = desk.opened().unwrap();
        assert_eq!(model.verdict().head, "A game");
        assert!(model.groups.is_empty() && model.questions.is_empty());
        assert!(desk.seeking().is_none());
    }

    #[test]
    fn a_game_is_played_in() {
        let mut desk = desk();
        run(&mut desk, Msg::List(ListMsg::NewGame));
        assert_eq!(desk.opened().unwrap().1.verdict().head, "A game");
        for san in ["e4", "e5"] {
            let position = desk.opened().unwrap().1.position(desk.work().at);
            let mv = keyproof::notation::moves::read(position.unwrap(), san).unwrap();
            run(&mut desk, Msg::Edit(EditMsg::Play(mv)));
        }
        assert!(pgn(&desk).contains("1. e4 e5 *"));
        assert_eq!(desk.place_here().unwrap().to_string(), "2w");
    }

    #[test]
    fn a_lesson_is_published_with_what_is_known_at_its_moments() {
        let mut desk = desk();
        bring(&mut desk, &ROOKS.replace("#2", "#3"));
        let mends = &desk.opened().unwrap().1.report.findings[0].mends;
        assert!(!mends.is_empty());
        let marks = ["language", "title", "still", "lesson", "answers"];
        let template: String = marks
            .iter()
            .map(|m| format!("<!--keyproof:{m}-->\n"))
            .collect();
        let page = desk
            .student_page(&template, crate::message::Scope::Open)
            .unwrap();
        assert!(
            page.contains("[Moments &quot;1w #3&quot;]") || page.contains("[Moments \"1w #3\"]")
        );
        assert!(page.contains("puzzle 0\n- "), "{page}");
    }

    #[test]
    fn a_moment_that_was_found_is_asked_in_one_step() {
        let mut desk = desk();
        bring(&mut desk, OVERLOOKED);
        let before = pgn(&desk);
        run(&mut desk, Msg::Game(GameMsg::Seek));
        let seek = desk.seeking().unwrap();
        assert!(!seek.running && seek.open.is_empty());
        let found = seek.found.iter().find(|m| m.number == 4).unwrap();
        assert_eq!(found.accepted[0].named.san, "Qxf7#");
        let ply = found.ply;
        let offered = |desk: &Desk| desk.worth_asking().iter().any(|found| found.ply == ply);
        assert!(offered(&desk));
        let effects = desk.update(Msg::Game(GameMsg::Regard(ply)));
        assert!(
            effects
                .iter()
                .any(|e| matches!(e, Effect::InSight("moment-here")))
        );
        assert_eq!(desk.work().at, node(&desk, "Nf6"));

        run(&mut desk, Msg::Game(GameMsg::AskFound(ply)));
        assert_eq!(verdict(&desk), Soundness::Sound, "{}", pgn(&desk));
        let text = pgn(&desk);
        assert!(text.contains("[Moments \"4w #1\"]"), "{text}");
        assert!(text.contains("4. Nf3 $4 {Development"), "{text}");
        assert!(text.contains("4. Qxf7#"), "{text}");
        // No hint is written for the author; they are drafted for him to take.
        assert!(!text.contains("[Hint"), "{text}");
        run(&mut desk, Msg::Check(CheckMsg::Ready(Post::Explain)));
        let drafts = [
            "Look at the checks.",
            "It is a queen move.",
            "It goes to f7.",
        ];
        assert_eq!(desk.hint_drafts(), drafts);
        assert!(desk.seeking().is_some_and(|seek| !seek.found.is_empty()));
        assert!(!offered(&desk), "what is asked is not offered once more");
        let (_, model) = desk.opened().unwrap();
        assert_eq!(
            model.role(node(&desk, "Nf3")),
            Some(keyproof::puzzle::Role::Try)
        );
        run(&mut desk, Msg::Edit(EditMsg::Undo));
        assert_eq!(pgn(&desk), before);
        assert!(offered(&desk));
    }

    /// Where a try is marked, the desk does not say that none tempts.
    #[test]
    fn a_marked_try_is_known_as_one() {
        let mut desk = desk();
        bring(
            &mut desk,
            "[FEN \"7k/8/8/8/8/8/R7/1R2K3 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Ra7 (1. Ke2 $2 Kg7) 1... Kg8 2. Rb8# *\n",
        );
        assert!(desk.opened().unwrap().1.has_try(NodeId::ROOT));
        bring(
            &mut desk,
            "[FEN \"7k/8/8/8/8/8/R7/1R2K3 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Ra7 Kg8 2. Rb8# *\n",
        );
        assert!(!desk.opened().unwrap().1.has_try(NodeId::ROOT));
    }

    #[test]
    fn a_puzzle_is_made_of_a_moment_and_the_game_stays() {
        let mut desk = desk();
        bring(&mut desk, OVERLOOKED);
        let game = desk.work().open.unwrap();
        run(&mut desk, Msg::Game(GameMsg::Seek));
        let found = &desk.seeking().unwrap().found;
        let ply = found.iter().find(|m| m.number == 4).unwrap().ply;
        run(&mut desk, Msg::Game(GameMsg::PuzzleOf(ply)));
        assert_eq!(desk.work().sheets.len(), 2);
        assert_ne!(desk.work().open, Some(game));
        assert_eq!(verdict(&desk), Soundness::Sound, "{}", pgn(&desk));
        assert!(pgn(&desk).contains("[Stipulation \"#1\"]"));
    }

    #[test]
    fn looking_is_stopped_and_goes_on_where_it_stopped() {
        let mut desk = desk();
        bring(&mut desk, OVERLOOKED);
        let mut store = Store::default();
        store.save(&mut desk);
        let sought = |effects: &[Effect]| -> Vec<(usize, u32, moments::Question)> {
            let of = |effect: &Effect| match effect {
                Effect::Work(Order::Ask(Post::Judge(seat), Ask::Seek { ticket, question })) => {
                    Some((*seat, *ticket, (**question).clone()))
                }
                _ => None,
            };
            effects.iter().filter_map(of).collect()
        };
        let asked = sought(&desk.update(Msg::Game(GameMsg::Seek)));
        assert_eq!(asked.len(), 2);
        let (seat, ticket, question) = asked[0].clone();
        let answer = moments::answer(&question, &mut keyproof::prove::Unwatched);
        let told = Msg::Game(GameMsg::Sought {
            seat,
            ticket,
            answer: answer.map(Box::new),
            millis: 20.0,
        });
        let next = sought(&desk.update(told));
        assert!(desk.seeking().unwrap().seconds_to_go(2).is_some());
        let stopped = desk.update(Msg::Game(GameMsg::SeekEnd { all: false }));
        let restarts = stopped
            .iter()
            .filter(|e| matches!(e, Effect::Work(Order::Restart(_))));
        assert_eq!(restarts.count(), 2);
        for seat in 0..2 {
            desk.update(Msg::Check(CheckMsg::Ready(Post::Judge(seat))));
        }
        assert_eq!(desk.seeking().unwrap().tally().0, 1);
        assert!(desk.unsaved());
        store.save(&mut desk);
        assert!(!desk.unsaved());
        let mut later = store.tab(9);
        let id = later.work().sheets[0].id;
        later.update(Msg::List(ListMsg::Open(id)));
        assert_eq!(later.seeking().map(|seek| seek.tally().0), Some(1));
        let again = sought(&desk.update(Msg::Game(GameMsg::Seek)));
        let questions: Vec<_> = again.into_iter().map(|(_, _, q)| q).collect();
        assert_eq!(questions, [asked[1].2.clone(), next[0].2.clone()]);
    }

    #[test]
    fn chosen_games_are_looked_through_one_after_the_other() {
        let mut desk = desk();
        bring(&mut desk, &format!("{OVERLOOKED}\n{OVERLOOKED}\n{ROOKS}"));
        let ids: Vec<SheetId> = desk.work().sheets.iter().map(|s| s.id).collect();
        desk.update(Msg::List(ListMsg::Open(ids[0])));
        desk.update(Msg::Game(GameMsg::Effort(Effort::Quick)));
        run(&mut desk, Msg::List(ListMsg::Shelf(Event::ChooseShown)));
        desk.update(Msg::List(ListMsg::Shelf(Event::Seek)));
        assert!(desk.bench().looked_through().count() > 0);
        assert!(desk.bench().looked_through().all(|sheet| sheet == ids[0]));
        assert_eq!(desk.seek_words(ids[0]).unwrap(), "looking \u{2026}");
        assert_eq!(desk.seek_words(ids[1]).unwrap(), "to be looked through");
        // The game that is opened comes first.
        desk.update(Msg::List(ListMsg::Open(ids[1])));
        assert_eq!(desk.seek_words(ids[1]).unwrap(), "looking \u{2026}");
        desk.update(Msg::Game(GameMsg::SeekEnd { all: true }));
        assert_eq!(desk.seeks_running(), 0);
        for seat in 0..2 {
            run(&mut desk, Msg::Check(CheckMsg::Ready(Post::Judge(seat))));
        }
        run(&mut desk, Msg::List(ListMsg::Shelf(Event::Seek)));
        assert_eq!(desk.seeks_running(), 0);
        for id in &ids[..2] {
            assert!(desk.seek_words(*id).unwrap().contains("moment"));
        }
    }

    /// Two rooks, with a cook, as a lesson.
    const ROOKS: &str =
        "[Moments \"1w #2\"]\n[FEN \"7k/8/8/8/8/8/R7/1R2K3 w - - 0 1\"]\n\n1. Ra7 Kg8 2. Rb8# *\n";

    #[test]
    fn the_mends_of_a_moment_fit_the_lesson() {
        let mut desk = desk();
        bring(&mut desk, ROOKS);
        assert_eq!(verdict(&desk), Soundness::Unsound);
        let (_, model) = desk.opened().unwrap();
        let mend = model.report.findings.iter().find_map(|f| f.mends.first());
        let edits = mend.unwrap().edits.clone();
        run(&mut desk, Msg::Edit(EditMsg::Mend(edits)));
        assert_eq!(verdict(&desk), Soundness::Sound, "{}", pgn(&desk));
        assert!(pgn(&desk).contains("[Moments \"1w #2\"]"));
        assert!(pgn(&desk).contains("1. Rb7 $1"), "{}", pgn(&desk));
    }

    #[test]
    fn no_mend_takes_the_games_moves_away() {
        let mut desk = desk();
        bring(
            &mut desk,
            &OVERLOOKED.replace("[Event", "[Moments \"4w #1\"]\n[Event"),
        );
        let (_, model) = desk.opened().unwrap();
        assert_eq!(model.report.verdict, Soundness::Unsound);
        let main = model.resolved.main_line();
        let mends = model.report.findings.iter().flat_map(|f| &f.mends);
        let edits: Vec<&Edit> = mends.flat_map(|mend| &mend.edits).collect();
        assert!(!edits.is_empty());
        for edit in edits {
            assert!(
                !matches!(edit, Edit::Remove { node } | Edit::RemoveAfter { node } if main.contains(node)),
                "{edit:?}"
            );
        }
    }

    #[test]
    fn asking_is_set_and_taken_back_at_the_games_own_moves() {
        let mut desk = desk();
        bring(&mut desk, OVERLOOKED);
        let at = node(&desk, "Nf6");
        run(&mut desk, Msg::Board(BoardMsg::Go(at)));
        let place = desk.place_here().unwrap();
        assert_eq!(place.to_string(), "4w");
        let moment = Moment {
            place,
            node: at,
            stipulation: Stipulation::Forced(Aim::Mate, 1),
            turns: 1,
        };
        run(&mut desk, Msg::Game(GameMsg::AskHere(moment)));
        assert!(pgn(&desk).contains("[Moments \"4w #1\"]"));
        run(&mut desk, Msg::Game(GameMsg::AskNot(at)));
        assert!(pgn(&desk).contains("[Moments \"-\"]"));
        assert_eq!(verdict(&desk), Soundness::Sound);
    }

    #[test]
    fn a_frame_shows_the_file_and_keeps_the_title_text() {
        let mut desk = desk();
        bring(
            &mut desk,
            &OVERLOOKED.replace("Board four", "Pell & \\\"Tarn\\\" <1>"),
        );
        let effects = desk.update(Msg::GiveOut(GiveOutMsg::CopyFrame));
        let [Effect::Copy(text)] = effects.as_slice() else {
            panic!("{effects:?}")
        };
        assert_eq!(
            text,
            "<iframe src=\"pell-tarn-1.html\" width=\"100%\" height=\"700\" title=\"Pell &amp; &quot;Tarn&quot; &lt;1>\"></iframe>"
        );
    }

    #[test]
    fn a_faulty_tag_is_told_and_nothing_breaks() {
        let mut desk = desk();
        bring(
            &mut desk,
            &OVERLOOKED.replace("[Event", "[Moments \"40w #1\"]\n[Event"),
        );
        let words = desk.opened().unwrap().1.verdict();
        assert_eq!(
            (words.head, words.soundness),
            ("Unsound", Soundness::Unsound)
        );
        assert!(words.evidence.contains("40w"), "{}", words.evidence);
    }
}
