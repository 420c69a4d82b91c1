//! Which leaf lies open, whether the list lies over it, and what each leaf holds in a
//! word.

use keyproof::check::Weight;
use keyproof::tongue::{plural, tr};

use super::Desk;
use crate::leaf::Leaf;
use crate::lesson::asks_nothing;
use crate::message::Effect;
use crate::work::told;

impl Desk {
    /// The leaves of the open puzzle, in their order.
    pub fn leaves(&self) -> Vec<Leaf> {
        let games = self.has_moments();
        let all = Leaf::ALL.into_iter();
        all.filter(|&leaf| games || leaf != Leaf::Moments).collect()
    }
    /// The leaf that lies open.
    pub fn leaf(&self) -> Leaf {
        match self.page.leaf {
            Leaf::Moments if !self.has_moments() => Leaf::Solution,
            leaf => leaf,
        }
    }
    /// Whether the list of puzzles lies over it.
    pub fn listing(&self) -> bool {
        self.page.listing
    }
    /// Whether the open sheet is a game or a lesson.
    pub fn is_game(&self) -> bool {
        self.opened()
            .is_some_and(|(_, model)| model.lesson.is_some() || model.bare_game)
    }
    /// Whether moments can be asked at in the open sheet.
    fn has_moments(&self) -> bool {
        self.opened()
            .is_some_and(|(sheet, model)| model.lesson.is_some() || asks_nothing(&sheet.draft))
    }
    /// What stands on a leaf, in a word or two; nothing to say of some.
    pub fn note(&self, leaf: Leaf) -> String {
        let Some((sheet, model)) = self.opened() else {
            return String::new();
        };
        match leaf {
            Leaf::Solution => plural!(model.book.moves(), "{n} move", "{n} moves"),
            Leaf::Moments => match model.lesson.as_ref().map_or(0, |l| l.asked.len()) {
                0 => tr("none yet").into(),
                n => plural!(n, "asks once", "asks {n} times"),
            },
            Leaf::Check => self.found_in_a_word(),
            Leaf::Words => {
                let tags = sheet.draft.tags().iter();
                let hints = tags.filter(|(name, _)| name.starts_with("Hint"));
                let hints = hints.filter(|(name, _)| !name.starts_with("HintCost"));
                plural!(hints.count(), "{n} hint", "{n} hints")
            }
            Leaf::Students => told(&sheet.draft, "Language").unwrap_or_default().into(),
            Leaf::GiveOut => String::new(),
        }
    }
    /// The weightiest of what the checker found, counted.
    fn found_in_a_word(&self) -> String {
        let Some((sheet, model)) = self.opened() else {
            return String::new();
        };
        let count = |weight| {
            let findings = model.report.findings.iter();
            findings.filter(|f| f.weight == weight).count()
        };
        let [faults, open, remarks] = [Weight::Fault, Weight::Open, Weight::Remark].map(count);
        match (faults, open, remarks) {
            (1.., _, _) => plural!(faults, "{n} fault", "{n} faults"),
            _ if self.is_checking(sheet.id) => tr("checking \u{2026}").into(),
            (_, 1.., _) => plural!(open, "{n} open point", "{n} open points"),
            (_, _, 1..) => plural!(remarks, "{n} remark", "{n} remarks"),
            _ => String::new(),
        }
    }
    /// Opens a leaf, in place of the list if that lies over it.
    pub(super) fn turn_to(&mut self, leaf: Leaf) {
        self.page.leaf = leaf;
        self.page.listing = false;
        self.class.open = false;
    }
    /// Opens the leaf with this number, as the page counts them.
    pub(super) fn turn_to_number(&mut self, number: usize) {
        let leaves = self.leaves();
        if let Some(&leaf) = number.checked_sub(1).and_then(|at| leaves.get(at)) {
            self.turn_to(leaf);
        }
    }
    /// Gives the focus to a field, on the leaf on which it stands.
    pub(super) fn go_to_field(&mut self, field: &'static str) -> Vec<Effect> {
        if let Some(leaf) = Leaf::with(field) {
            self.turn_to(leaf);
        }
        vec![Effect::Focus(field)]
    }
    /// The puzzle before (-1) or after (1) the open one in the list as it is shown.
    pub fn beside(&self, by: isize) -> Option<crate::work::SheetId> {
        let open = self.document.work.open?;
        let shown = self.list.shelf.shown();
        let at = shown.iter().position(|&id| id == open)?;
        shown.get(at.checked_add_signed(by)?).copied()
    }
    /// The place of the open puzzle in the list as it is shown, from 1, and how many
    /// are shown.
    pub fn place_in_list(&self) -> (Option<usize>, usize) {
        let shown = self.list.shelf.shown();
        let open = self.document.work.open;
        let at = shown.iter().position(|&id| Some(id) == open);
        (at.map(|at| at + 1), shown.len())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::message::{BoardMsg, ListMsg, Msg, PageMsg};

    fn desk(pgn: &str) -> Desk {
        let mut desk = Desk::new(0);
        desk.update(Msg::List(ListMsg::Came {
            from: "a test".into(),
            text: pgn.into(),
        }));
        desk
    }

    fn number(desk: &mut Desk, number: usize) -> Leaf {
        desk.update(Msg::Page(PageMsg::LeafAt(number)));
        desk.leaf()
    }

    const MATE: &str =
        "[FEN \"7k/8/8/8/8/8/R7/1R2K3 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Ra7 *\n";

    #[test]
    fn leaves_are_reached_by_their_numbers_and_a_game_has_one_more() {
        let mut puzzle = desk(MATE);
        assert_eq!(puzzle.leaf(), Leaf::Solution);
        assert_eq!(number(&mut puzzle, 2), Leaf::Check);
        assert_eq!(number(&mut puzzle, 5), Leaf::GiveOut);
        assert_eq!(number(&mut puzzle, 6), Leaf::GiveOut, "there is no sixth");
        let mut game = desk("1. e4 e5 *");
        assert_eq!(number(&mut game, 2), Leaf::Moments);
        assert_eq!(number(&mut game, 6), Leaf::GiveOut);
    }

    #[test]
    fn a_puzzle_has_no_moments_to_lie_open() {
        let mut desk = desk(&format!("1. e4 e5 *\n\n{MATE}"));
        let ids: Vec<_> = desk.work().sheets.iter().map(|sheet| sheet.id).collect();
        desk.update(Msg::List(ListMsg::Open(ids[0])));
        assert_eq!(number(&mut desk, 2), Leaf::Moments);
        desk.update(Msg::List(ListMsg::Open(ids[1])));
        assert_eq!(desk.leaf(), Leaf::Solution);
        desk.update(Msg::List(ListMsg::Open(ids[0])));
        assert_eq!(desk.leaf(), Leaf::Moments, "it kept its place");
    }

    /// Who reads what was found goes on reading there once a line was shown.
    #[test]
    fn a_line_that_is_shown_turns_no_leaf() {
        let mut desk = desk(MATE);
        assert_eq!(number(&mut desk, 2), Leaf::Check);
        let line = vec!["Rb8#".to_owned()];
        let node = keyproof::draft::NodeId::ROOT;
        desk.update(Msg::Board(BoardMsg::Show { node, line }));
        desk.update(Msg::Board(BoardMsg::ShowEnd));
        assert_eq!(desk.leaf(), Leaf::Check);
        desk.update(Msg::Page(PageMsg::Focus("task")));
        assert_eq!(desk.leaf(), Leaf::Words);
        desk.update(Msg::Board(BoardMsg::GoRead(node)));
        assert_eq!(desk.leaf(), Leaf::Solution);
        desk.update(Msg::Board(BoardMsg::ReadFound(node)));
        assert_eq!(desk.leaf(), Leaf::Check);
    }

    #[test]
    fn the_list_lies_over_the_leaf_until_something_is_opened() {
        let mut desk = desk(&format!("{MATE}\n{MATE}"));
        desk.update(Msg::Page(PageMsg::Listing(true)));
        assert!(desk.listing());
        let (place, of) = desk.place_in_list();
        assert_eq!(of, 2);
        let other = desk.beside(if place == Some(1) { 1 } else { -1 }).unwrap();
        desk.update(Msg::List(ListMsg::Open(other)));
        assert!(!desk.listing());
        assert_eq!(desk.leaf(), Leaf::Solution);
    }

    #[test]
    fn each_leaf_says_what_it_holds() {
        let desk = desk(MATE);
        assert_eq!(desk.note(Leaf::Solution), "1 move");
        assert_eq!(desk.note(Leaf::Words), "0 hints");
        let game = super::tests::desk("1. e4 e5 *");
        assert_eq!(game.note(Leaf::Solution), "2 moves");
        assert_eq!(game.note(Leaf::Moments), "none yet");
    }
}
