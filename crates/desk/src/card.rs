//! What a list of puzzles needs to know of one: made when a sheet changes, and
//! kept until it changes again.

use std::cell::OnceCell;
use std::rc::Rc;

use keyproof::draft::{Draft, Edit, NodeId};
use keyproof::lesson as core;
use keyproof::publish::LABELS;
use keyproof::puzzle::Stipulation;
use keyproof::resolved::Resolved;
use shakmaty::{Board, Color, Position};
use unicode_normalization::{UnicodeNormalization, char::is_combining_mark};

use crate::alike::{Key, key};
use crate::lesson::is_bare_game;
use crate::view_model::stipulation;
use crate::work::{Sheet, event, title, told};

/// What a sheet is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    Puzzle,
    Lesson,
    /// A game of which nothing is asked.
    Game,
}

/// A sheet as the list knows it.
pub struct Card {
    of: Rc<Sheet>,
    /// Where it lies on the desk, from 0.
    pub place: usize,
    pub kind: Kind,
    pub title: Option<String>,
    /// What a game was played in.
    pub event: Option<String>,
    /// What it asks for; a lesson at each of its moments.
    pub asked: Vec<Stipulation>,
    pub themes: Vec<String>,
    /// As the author sees it, from 1 to 5.
    pub difficulty: Option<u8>,
    pub labels: Vec<String>,
    /// All that is written in it, [`folded`].
    words: String,
    key: OnceCell<Option<Key>>,
    small: OnceCell<Option<Small>>,
}

/// What a small diagram shows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Small {
    pub board: Board,
    pub black_below: bool,
}

impl Card {
    pub fn of(sheet: &Rc<Sheet>) -> Card {
        let draft = &sheet.draft;
        let kind = if core::is_lesson(draft) {
            Kind::Lesson
        } else if is_bare_game(draft) {
            Kind::Game
        } else {
            Kind::Puzzle
        };
        let difficulty = told(draft, "Difficulty").and_then(|text| text.parse().ok());
        Card {
            place: 0,
            kind,
            title: title(draft),
            event: event(draft).map(str::to_owned),
            asked: asked(draft, kind),
            themes: themes(draft),
            difficulty: difficulty.filter(|level| (1..=5).contains(level)),
            labels: labels(draft),
            words: folded(&written(draft)),
            key: OnceCell::new(),
            small: OnceCell::new(),
            of: sheet.clone(),
        }
    }
    /// Whether this is the card of the sheet as it is now.
    pub fn is_of(&self, sheet: &Rc<Sheet>) -> bool {
        Rc::ptr_eq(&self.of, sheet)
    }
    /// Whether each of these words, [`folded`], occurs in it.
    pub fn has(&self, words: &[String]) -> bool {
        words.iter().all(|word| self.words.contains(word.as_str()))
    }
    /// What it is compared with others by; `None` if that cannot be.
    pub fn key(&self) -> Option<&Key> {
        let make = || key(&self.of.draft, self.kind == Kind::Puzzle);
        self.key.get_or_init(make).as_ref()
    }
    /// The position that it is known by: what a puzzle asks at, the first moment of a
    /// lesson, the end of a game.
    pub fn small(&self) -> Option<&Small> {
        let make = || small(&self.of.draft, self.kind);
        self.small.get_or_init(make).as_ref()
    }
}

fn small(draft: &Draft, kind: Kind) -> Option<Small> {
    let resolved = Resolved::of(draft);
    let position = match kind {
        Kind::Puzzle => resolved.start().ok()?.clone(),
        Kind::Lesson => {
            let moments = core::moments(&resolved).unwrap_or_default();
            let first = moments.first().map_or(NodeId::ROOT, |moment| moment.node);
            resolved.position(first)?.clone()
        }
        Kind::Game => {
            let line = resolved.main_line();
            resolved.position(*line.last()?)?.clone()
        }
    };
    let solves = kind != Kind::Game && position.turn() == Color::Black;
    let shared = stipulation(draft).is_some_and(Stipulation::shared);
    Some(Small {
        board: position.board().clone(),
        black_below: solves && !shared,
    })
}

/// A text for comparing: small letters without accents.
pub fn folded(text: &str) -> String {
    let bare = text.nfd().filter(|c| !is_combining_mark(*c));
    let mut folded = String::with_capacity(text.len());
    for letter in bare.flat_map(char::to_lowercase) {
        match letter {
            'ß' => folded.push_str("ss"),
            'æ' => folded.push_str("ae"),
            'œ' => folded.push_str("oe"),
            'þ' => folded.push_str("th"),
            'ø' => folded.push('o'),
            'ł' => folded.push('l'),
            'đ' | 'ð' => folded.push('d'),
            'ı' => folded.push('i'),
            other => folded.push(other),
        }
    }
    folded
}

/// The author's own labels of a draft, in the order written.
pub fn labels(draft: &Draft) -> Vec<String> {
    parts(told(draft, LABELS).unwrap_or_default(), &[';'])
}

/// The edit that gives a draft these labels.
pub fn labelled(labels: &[String]) -> Edit {
    Edit::SetTag {
        name: LABELS.into(),
        value: (!labels.is_empty()).then(|| labels.join("; ")),
    }
}

/// The parts of a list in a tag, each once.
pub fn parts(text: &str, between: &[char]) -> Vec<String> {
    let mut parts: Vec<String> = Vec::new();
    for part in text.split(between).map(str::trim) {
        if !part.is_empty() && !parts.iter().any(|known| known == part) {
            parts.push(part.to_owned());
        }
    }
    parts
}

/// The themes of a puzzle, or of all moments of a lesson.
fn themes(draft: &Draft) -> Vec<String> {
    let tags = draft.tags().iter();
    let of_themes = tags.filter(|(name, _)| name == "Themes" || name.starts_with("Themes_"));
    let all: Vec<&str> = of_themes.map(|(_, value)| value.as_str()).collect();
    parts(&all.join(";"), &[';', ','])
        .into_iter()
        .filter(|theme| theme != "?" && theme != "-")
        .collect()
}

fn asked(draft: &Draft, kind: Kind) -> Vec<Stipulation> {
    if kind != Kind::Lesson {
        return stipulation(draft).into_iter().collect();
    }
    let entries = draft.tag(core::TAG).unwrap_or_default().split(',');
    let mut asked = Vec::new();
    for entry in entries {
        let what = entry.split_whitespace().nth(1).and_then(Stipulation::read);
        if let Some(what) = what.filter(|what| !asked.contains(what)) {
            asked.push(what);
        }
    }
    asked
}

/// All tags but the position, and all comments.
fn written(draft: &Draft) -> String {
    let mut text = String::new();
    for (name, value) in draft.tags() {
        if !matches!(name.as_str(), "FEN" | "SetUp") {
            text.push_str(value);
            text.push('\n');
        }
    }
    for node in std::iter::once(NodeId::ROOT).chain(draft.walk()) {
        let Some(node) = draft.node(node) else {
            continue;
        };
        for words in node.before.iter().chain(&node.after) {
            text.push_str(words);
            text.push('\n');
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::work::SheetId;
    use keyproof::notation::pgn_read;

    fn card(pgn: &str) -> Card {
        Card::of(&Rc::new(Sheet {
            id: SheetId(1),
            draft: pgn_read::read(pgn).remove(0).draft,
            reading: None,
        }))
    }

    fn has(card: &Card, text: &str) -> bool {
        let words: Vec<String> = folded(text).split_whitespace().map(str::to_owned).collect();
        card.has(&words)
    }

    #[test]
    fn every_word_must_occur_and_neither_case_nor_accents_count() {
        let card = card(
            "[Event \"Der Jäger\"]\n[White \"Łukasz Ørn\"]\n[Hint1 \"Strasse\"]\n[Stipulation \"#2\"]\n\n1. e4 {A première} (1. d4 {idea}) *",
        );
        for found in [
            "jager",
            "JÄGER orn",
            "lukasz",
            "straße",
            "PREMIERE idea",
            "",
        ] {
            assert!(has(&card, found), "{found}");
        }
        assert!(!has(&card, "jager nobody"));
    }

    /// The value of a tag does not run into the next one.
    #[test]
    fn words_do_not_run_together() {
        let card = card("[Event \"One\"]\n[Site \"Two\"]\n\n1. e4 *");
        assert!(!has(&card, "onetwo"));
    }

    #[test]
    fn the_kinds_are_told_apart_with_what_they_ask() {
        let stipulations = |card: &Card| -> Vec<String> {
            card.asked.iter().map(Stipulation::to_string).collect()
        };
        let game = card("1. e4 e5 *");
        assert_eq!((game.kind, stipulations(&game).len()), (Kind::Game, 0));
        let puzzle = card("[Stipulation \"#3\"]\n\n1. e4 *");
        assert_eq!(puzzle.kind, Kind::Puzzle);
        assert_eq!(stipulations(&puzzle), ["#3"]);
        let lesson =
            card("[Moments \"1w bm, 2b + 2, 3w bm\"]\n[Themes_2b \"fork; pin\"]\n\n1. e4 *");
        assert_eq!(lesson.kind, Kind::Lesson);
        assert_eq!(stipulations(&lesson), ["bm", "+"]);
        assert_eq!(lesson.themes, ["fork", "pin"]);
    }

    #[test]
    fn a_game_tells_who_played_and_when() {
        let all = card(
            "[Event \"Club\"]\n[White \"Pell, Orla\"]\n[Black \"Tarn, Jonas\"]\n[Date \"2023.04.??\"]\n\n1. e4 *",
        );
        assert_eq!(
            all.title.as_deref(),
            Some("Orla Pell \u{2013} Jonas Tarn, 2023-04")
        );
        assert_eq!(all.event.as_deref(), Some("Club"));
        let bare =
            card("[Event \"Club\"]\n[Black \"Tarn, Jonas\"]\n[Date \"????.??.??\"]\n\n1. e4 *");
        assert_eq!(bare.title.as_deref(), Some("? \u{2013} Jonas Tarn"));
        let nobodys = card("[Event \"Club\"]\n\n1. e4 *");
        assert_eq!(
            (nobodys.title.as_deref(), nobodys.event),
            (Some("Club"), None)
        );
    }

    /// The position that a card is known by is one of the game's.
    #[test]
    fn a_card_is_known_by_a_position() {
        use keyproof::notation::fen;
        let board = |pgn: &str| {
            let card = card(pgn);
            let small = card.small().expect("a position");
            (small.board.to_string(), small.black_below)
        };
        let of = |text: &str| fen::read(text).expect("a position").board().to_string();
        let game = "rnbqkbnr/pppp1ppp/8/4p3/4P3/8/PPPP1PPP/RNBQKBNR w KQkq - 0 2";
        assert_eq!(board("1. e4 e5 *"), (of(game), false));
        let moment = "rnbqkbnr/pppppppp/8/8/4P3/8/PPPP1PPP/RNBQKBNR b KQkq - 0 1";
        assert_eq!(
            board("[Moments \"1b bm\"]\n\n1. e4 e5 *"),
            (of(moment), true)
        );
        let puzzle = "7k/8/8/8/8/8/R7/1R2K3 w - - 0 1";
        let pgn = format!("[FEN \"{puzzle}\"]\n[Stipulation \"#2\"]\n\n1. Ra7 *");
        assert_eq!(board(&pgn), (of(puzzle), false));
    }

    #[test]
    fn themes_labels_and_difficulty_are_read_from_their_tags() {
        let card = card(
            "[Themes \"back rank; promotion, fork\"]\n[Labels \"Monday;  Ilsa ; Monday\"]\n[Difficulty \"7\"]\n\n1. e4 *",
        );
        assert_eq!(card.themes, ["back rank", "promotion", "fork"]);
        assert_eq!(card.labels, ["Monday", "Ilsa"]);
        assert_eq!(card.difficulty, None, "there is no such difficulty");
    }

    #[test]
    fn labels_come_back_as_they_were_set() {
        let mut draft = Draft::new();
        let set = ["one".to_owned(), "two words".to_owned()];
        draft.apply(&labelled(&set)).unwrap();
        assert_eq!(labels(&draft), set);
        draft.apply(&labelled(&[])).unwrap();
        assert_eq!(draft.tag(LABELS), None);
    }
}
