//! The list of all sheets as the author looks at it: what is searched for, in
//! which order, which are chosen, and which part of it is drawn.

use std::collections::{BTreeSet, HashMap};
use std::ops::Range;
use std::rc::Rc;

use keyproof::check::Soundness;
use keyproof::prove::Aim;
use keyproof::puzzle::Stipulation;
use keyproof::tongue::tr;

use crate::card::{Card, Kind, folded};
use crate::work::{Sheet, SheetId};

/// Entries that are drawn at first, and added on demand.
pub const A_PAGE: usize = 60;
/// Entries that are drawn at most.
pub const MOST: usize = 240;

/// What is known of a sheet's soundness, those that need work first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum SheetStatus {
    Unsound,
    Undecided,
    Checking,
    NotYet,
    /// There is no solution yet.
    Begun,
    Sound,
    /// A game of which nothing is asked.
    Game,
}

/// By what the list is sorted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Order {
    /// As the sheets lie on the desk.
    #[default]
    Desk,
    Title,
    Stipulation,
    Difficulty,
    Verdict,
}

/// What is searched for; what is `None` or empty does not matter.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Query {
    /// As typed; every word must occur.
    pub words: String,
    pub theme: Option<String>,
    pub asked: Option<Stipulation>,
    pub status: Option<SheetStatus>,
    /// `Some(None)`: those that say nothing of it.
    pub difficulty: Option<Option<u8>>,
    pub kind: Option<Kind>,
    pub label: Option<String>,
    /// Only these sheets.
    pub only: Option<Rc<BTreeSet<SheetId>>>,
}

/// What the author does with the list.
#[derive(Clone, Debug)]
pub enum Event {
    /// Unfolds or folds searching and sorting.
    Searching(bool),
    Query(Query),
    Order(Order),
    Clear,
    /// Shows some only, and has some of them chosen.
    Only {
        show: Vec<SheetId>,
        choose: Vec<SheetId>,
    },
    /// Draws more of the list, at its end or before its beginning.
    More,
    Earlier,
    /// Draws the part in which the open sheet is.
    ToOpen,

    /// Begins or ends choosing.
    Choosing(bool),
    /// Chooses a sheet or not; `through`: with all from the last one on.
    Choose {
        sheet: SheetId,
        on: bool,
        through: bool,
    },
    /// The next choice goes through from the last one.
    Through(bool),
    ChooseShown,
    ChooseNone,

    // With the chosen ones.
    Check,
    /// Looks for the moments of the games among them.
    Seek,
    Label(String),
    Unlabel(String),
    /// To the beginning of the desk or its end.
    Bring {
        first: bool,
    },
    Remove,
    /// Removes doubles that came in.
    TakeOut(Vec<SheetId>),
}

impl SheetStatus {
    /// From the verdict of a look that is over.
    pub fn of(verdict: Soundness) -> SheetStatus {
        match verdict {
            Soundness::Sound => SheetStatus::Sound,
            Soundness::Unsound => SheetStatus::Unsound,
            Soundness::Undecided => SheetStatus::Undecided,
        }
    }
    pub fn words(self) -> &'static str {
        match self {
            SheetStatus::Unsound => tr("unsound"),
            SheetStatus::Undecided => tr("undecided"),
            SheetStatus::Checking => tr("checking \u{2026}"),
            SheetStatus::NotYet => tr("not checked yet"),
            SheetStatus::Begun => tr("begun"),
            SheetStatus::Sound => tr("sound"),
            SheetStatus::Game => tr("a game"),
        }
    }
}

impl Query {
    /// Whether it lets everything through.
    pub fn is_empty(&self) -> bool {
        let blank = Query {
            words: self.words.trim().to_owned(),
            ..self.clone()
        };
        blank == Query::default()
    }
    fn fits(&self, id: SheetId, card: &Card, status: SheetStatus, words: &[String]) -> bool {
        let only = self.only.as_ref();
        let (theme, label) = (self.theme.as_ref(), self.label.as_ref());
        only.is_none_or(|only| only.contains(&id))
            && self.kind.is_none_or(|kind| kind == card.kind)
            && self.status.is_none_or(|wanted| wanted == status)
            && self.difficulty.is_none_or(|level| level == card.difficulty)
            && self.asked.is_none_or(|asked| card.asked.contains(&asked))
            && theme.is_none_or(|theme| card.themes.contains(theme))
            && label.is_none_or(|label| card.labels.contains(label))
            && card.has(words)
    }
}

/// The sheets that fit a query, in order.
pub fn shown<'a>(
    all: impl Iterator<Item = (SheetId, &'a Card, SheetStatus)>,
    query: &Query,
    order: Order,
) -> Vec<SheetId> {
    let words: Vec<String> = folded(&query.words)
        .split_whitespace()
        .map(str::to_owned)
        .collect();
    let mut found: Vec<_> = all
        .filter(|(id, card, status)| query.fits(*id, card, *status, &words))
        .collect();
    match order {
        Order::Desk => {}
        Order::Title => found.sort_by_cached_key(|(_, card, _)| {
            let title = card.title.as_deref().map(folded);
            (title.is_none(), title)
        }),
        Order::Stipulation => found.sort_by_key(|(_, card, _)| {
            let first = card.asked.first();
            first.map_or((usize::MAX, 0), |asked| rank(*asked))
        }),
        Order::Difficulty => {
            found.sort_by_key(|(_, card, _)| card.difficulty.unwrap_or(u8::MAX));
        }
        Order::Verdict => found.sort_by_key(|(_, _, status)| *status),
    }
    found.into_iter().map(|(id, _, _)| id).collect()
}

/// Where a stipulation stands among the others: by aim, then by moves.
pub fn rank(asked: Stipulation) -> (usize, u8) {
    match (asked.forced(), asked) {
        (Some((aim, n)), _) => {
            let place = Aim::ALL.iter().position(|&other| other == aim);
            (place.unwrap_or(Aim::ALL.len()), n)
        }
        (None, Stipulation::Win) => (Aim::ALL.len(), 0),
        (None, Stipulation::Draw) => (Aim::ALL.len() + 1, 0),
        (None, _) => (Aim::ALL.len() + 2, 0),
    }
}

/// The list, and what the author does in it.
#[derive(Default)]
pub struct Shelf {
    pub searching: bool,
    pub query: Query,
    pub order: Order,
    pub choosing: bool,
    pub chosen: BTreeSet<SheetId>,
    /// The next choice goes through from the last one.
    pub through: bool,
    last: Option<SheetId>,
    cards: HashMap<SheetId, Card>,
    shown: Vec<SheetId>,
    /// The part that is drawn.
    window: Range<usize>,
    /// The open sheet that the window was laid around.
    followed: Option<SheetId>,
    /// Whether what is shown is to be found anew.
    pub stale: bool,
}

impl Shelf {
    pub fn card(&self, id: SheetId) -> Option<&Card> {
        self.cards.get(&id)
    }
    /// What fits the query, in order.
    pub fn shown(&self) -> &[SheetId] {
        &self.shown
    }
    /// The part of it that is drawn.
    pub fn window(&self) -> Range<usize> {
        self.window.clone()
    }
    /// Whether sheets can be moved: only where the list has the desk's order.
    pub fn is_in_desk_order(&self) -> bool {
        self.order == Order::Desk
    }
    /// Makes the cards of the sheets that changed, and forgets those that went.
    pub fn read(&mut self, sheets: &[Rc<Sheet>]) {
        let mut cards = std::mem::take(&mut self.cards);
        for (place, sheet) in sheets.iter().enumerate() {
            let mut card = match cards.remove(&sheet.id) {
                Some(card) if card.is_of(sheet) => card,
                _ => Card::of(sheet),
            };
            card.place = place;
            self.cards.insert(sheet.id, card);
        }
        let cards = &self.cards;
        self.chosen.retain(|id| cards.contains_key(id));
        self.stale = true;
    }
    /// Takes in what is to be shown, and draws the part with the open sheet when
    /// that is another one than before.
    pub fn show(&mut self, shown: Vec<SheetId>, open: Option<SheetId>) {
        self.stale = false;
        self.shown = shown;
        let width = self.window.len().clamp(A_PAGE, MOST);
        let start = self.window.start.min(self.shown.len().saturating_sub(1));
        self.window = self.bounded(start, width);
        if self.followed != open {
            self.followed = open;
            self.go_to_open(open);
        }
    }
    /// Whether another sheet is open than the one the list was laid around.
    pub fn is_elsewhere(&self, open: Option<SheetId>) -> bool {
        self.followed != open
    }
    /// Draws the part with the open sheet, if it is among those shown.
    pub fn go_to_open(&mut self, open: Option<SheetId>) {
        let place = open.and_then(|id| self.shown.iter().position(|&other| other == id));
        if let Some(place) = place.filter(|place| !self.window.contains(place)) {
            let start = place.saturating_sub(A_PAGE / 2);
            self.window = self.bounded(start, A_PAGE);
        }
    }
    /// A verdict is another one than before.
    pub fn verdicts_changed(&mut self) {
        self.stale |= self.query.status.is_some() || self.order == Order::Verdict;
    }
    /// Draws from the beginning again.
    pub fn go_to_start(&mut self) {
        self.stale = true;
        self.window = 0..A_PAGE;
    }
    pub fn more(&mut self) {
        let end = (self.window.end + A_PAGE).min(self.shown.len());
        let start = self.window.start.max(end.saturating_sub(MOST));
        self.window = start..end;
    }
    pub fn earlier(&mut self) {
        let start = self.window.start.saturating_sub(A_PAGE);
        self.window = start..self.window.end.min(start + MOST);
    }
    /// Chooses a sheet or not, and all between it and the last one with it.
    pub fn choose(&mut self, sheet: SheetId, on: bool, through: bool) {
        let place = |id: SheetId| self.shown.iter().position(|&other| other == id);
        let last = self.last.filter(|_| through || self.through);
        let ends = (place(sheet), last.and_then(place));
        let between = match ends {
            (Some(one), Some(other)) => one.min(other)..one.max(other) + 1,
            (Some(one), None) => one..one + 1,
            (None, _) => 0..0,
        };
        for id in &self.shown[between] {
            match on {
                true => self.chosen.insert(*id),
                false => self.chosen.remove(id),
            };
        }
        self.last = Some(sheet);
        self.through = false;
    }
    /// Ends choosing, with nothing chosen.
    pub fn choose_no_more(&mut self) {
        self.choosing = false;
        self.chosen.clear();
        self.through = false;
        self.last = None;
    }
    /// What the cards offer to search for, each once.
    pub fn themes(&self) -> Vec<&str> {
        self.values(|card| &card.themes)
    }
    pub fn labels(&self) -> Vec<&str> {
        self.values(|card| &card.labels)
    }
    pub fn stipulations(&self) -> Vec<Stipulation> {
        let mut all: Vec<Stipulation> = Vec::new();
        for asked in self.cards.values().flat_map(|card| &card.asked) {
            if !all.contains(asked) {
                all.push(*asked);
            }
        }
        all.sort_by_key(|asked| rank(*asked));
        all
    }

    fn values<'a>(&'a self, of: impl Fn(&'a Card) -> &'a Vec<String>) -> Vec<&'a str> {
        let all: BTreeSet<&str> = self
            .cards
            .values()
            .flat_map(of)
            .map(String::as_str)
            .collect();
        all.into_iter().collect()
    }
    fn bounded(&self, start: usize, width: usize) -> Range<usize> {
        let end = (start + width).min(self.shown.len());
        end.saturating_sub(width)..end
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use keyproof::notation::pgn_read;

    fn card(id: u64, tags: &str) -> Card {
        let text = format!("{tags}\n\n1. e4 *\n");
        Card::of(&Rc::new(Sheet {
            id: SheetId(id),
            draft: pgn_read::read(&text).remove(0).draft,
            reading: None,
        }))
    }

    /// Four sheets: two puzzles, a lesson and a game.
    fn four() -> Vec<(Card, SheetStatus)> {
        vec![
            (
                card(
                    0,
                    "[Event \"Zugzwang\"]\n[Stipulation \"#10\"]\n[Themes \"pin\"]\n[Difficulty \"4\"]",
                ),
                SheetStatus::Sound,
            ),
            (
                card(
                    1,
                    "[Event \"\u{c4}rger\"]\n[Stipulation \"#2\"]\n[Themes \"pin; fork\"]\n[Labels \"Monday\"]",
                ),
                SheetStatus::Unsound,
            ),
            (
                card(2, "[Event \"Board four\"]\n[Moments \"2w bm\"]"),
                SheetStatus::NotYet,
            ),
            (card(3, "[White \"Pell\"]"), SheetStatus::Game),
        ]
    }

    fn ids(query: Query, order: Order) -> Vec<u64> {
        let cards = four();
        let all = cards.iter().enumerate();
        let all = all.map(|(id, (card, status))| (SheetId(id as u64), card, *status));
        let found = shown(all, &query, order).into_iter();
        found.map(|id| id.0).collect()
    }

    #[test]
    fn what_is_asked_for_is_combined() {
        let any = Query::default;
        let pin = Query {
            theme: Some("pin".into()),
            ..any()
        };
        assert_eq!(ids(any(), Order::Desk), [0, 1, 2, 3]);
        assert_eq!(ids(pin.clone(), Order::Desk), [0, 1]);
        let sound = Query {
            status: Some(SheetStatus::Sound),
            ..pin
        };
        assert_eq!(ids(sound, Order::Desk), [0]);
        let one = |query: Query| ids(query, Order::Desk);
        let words = |text: &str| Query {
            words: text.into(),
            ..any()
        };
        assert_eq!(one(words("  ARGER ")), [1]);
        assert_eq!(one(words("zugzwang pell")), [0; 0]);
        assert_eq!(
            one(Query {
                asked: Stipulation::read("#2"),
                ..any()
            }),
            [1]
        );
        assert_eq!(
            one(Query {
                difficulty: Some(None),
                kind: Some(Kind::Puzzle),
                ..any()
            }),
            [1]
        );
        assert_eq!(
            one(Query {
                label: Some("Monday".into()),
                ..any()
            }),
            [1]
        );
        assert_eq!(
            one(Query {
                only: Some(Rc::new(BTreeSet::from([SheetId(3), SheetId(0)]))),
                ..any()
            }),
            [0, 3]
        );
        assert!(words("  ").is_empty() && !words("x").is_empty());
    }

    #[test]
    fn sorting_keeps_the_desks_order_among_equals() {
        let by = |order| ids(Query::default(), order);
        assert_eq!(by(Order::Title), [1, 2, 3, 0]);
        assert_eq!(by(Order::Stipulation), [1, 0, 2, 3]);
        assert_eq!(by(Order::Difficulty), [0, 1, 2, 3]);
        assert_eq!(by(Order::Verdict), [1, 2, 0, 3]);
    }

    fn shelf(count: u64) -> Shelf {
        let mut shelf = Shelf::default();
        shelf.show((0..count).map(SheetId).collect(), Some(SheetId(0)));
        shelf
    }

    #[test]
    fn a_bounded_part_is_drawn_and_the_open_sheet_is_in_it() {
        let mut shelf = shelf(2000);
        assert_eq!(shelf.window(), 0..60);
        shelf.more();
        assert_eq!(shelf.window(), 0..120);
        for _ in 0..9 {
            shelf.more();
        }
        assert_eq!(shelf.window(), 420..660);
        shelf.earlier();
        assert_eq!(shelf.window(), 360..600);
        let all: Vec<SheetId> = shelf.shown().to_vec();
        shelf.show(all.clone(), Some(SheetId(1999)));
        assert_eq!(shelf.window(), 1940..2000);
        shelf.show(vec![SheetId(5)], Some(SheetId(1999)));
        assert_eq!(shelf.window(), 0..1);
        shelf.show(all, Some(SheetId(1999)));
        shelf.go_to_open(Some(SheetId(1999)));
        assert!(shelf.window().contains(&1999) && shelf.window().len() <= MOST);
        shelf.more();
        assert_eq!(shelf.window().end, 2000);
    }

    #[test]
    fn a_choice_goes_through_from_the_last_one() {
        let mut shelf = shelf(10);
        let chosen = |shelf: &Shelf| shelf.chosen.iter().map(|id| id.0).collect::<Vec<_>>();
        shelf.choose(SheetId(6), true, false);
        shelf.choose(SheetId(3), true, true);
        assert_eq!(chosen(&shelf), [3, 4, 5, 6]);
        shelf.choose(SheetId(4), false, false);
        shelf.through = true;
        shelf.choose(SheetId(5), false, false);
        assert_eq!(chosen(&shelf), [3, 6]);
        shelf.choose(SheetId(9), true, false);
        assert_eq!(chosen(&shelf), [3, 6, 9], "it is through once only");
    }

    /// A range goes by what is seen, not by what is left out.
    #[test]
    fn what_is_not_shown_is_not_chosen() {
        let mut shelf = shelf(10);
        shelf.choose(SheetId(1), true, false);
        shelf.show([1, 5, 9].map(SheetId).to_vec(), Some(SheetId(0)));
        shelf.choose(SheetId(9), true, true);
        let chosen: Vec<u64> = shelf.chosen.iter().map(|id| id.0).collect();
        assert_eq!(chosen, [1, 5, 9]);
        shelf.choose(SheetId(7), true, false);
        assert_eq!(shelf.chosen.len(), 3);
    }
}
