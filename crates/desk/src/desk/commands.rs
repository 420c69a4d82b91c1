//! All that can be done on the page, by name: what the list of keys shows and
//! what one finds by typing a word of it.

use keyproof::course::Standard;
use keyproof::tongue::{phrase, say, tr};

use super::Desk;
use crate::card::folded;
use crate::keys::{KEYS, Place, called};
use crate::leaf::Leaf;
use crate::message::{
    BoardMsg, CheckMsg, ClassMsg, EditMsg, GameMsg, GiveOutMsg, ListMsg, Msg, PageMsg, Part, Scope,
    TalkMsg, Turn,
};
use crate::names::named;

/// Something that can be done.
pub struct Command {
    pub group: &'static str,
    pub words: String,
    /// Its keys; none for what is only found by name.
    pub keys: Vec<String>,
    /// `None` where it cannot be done now, or is no more than told.
    pub msg: Option<Msg>,
}

/// The board's own keys, in the order told.
const ON_A_BOARD: &[(&str, &str)] = &[
    (
        "\u{2190} \u{2191} \u{2192} \u{2193}",
        phrase("From square to square"),
    ),
    ("Enter", phrase("Take a man, put it down")),
    ("Escape", phrase("Leave the man where it was")),
];

/// All commands, those with keys first, as the desk stands.
pub fn all(desk: &Desk) -> Vec<Command> {
    let mut all: Vec<Command> = Vec::new();
    for binding in KEYS {
        let group = match binding.place {
            Place::Always | Place::Everywhere | Place::OffMoves | Place::OffFields => {
                tr("Everywhere")
            }
            Place::Page => tr("Outside of fields and boards"),
            Place::Tree => tr("On a move"),
        };
        let words = tr(binding.words);
        if let Some(known) = all.iter_mut().find(|c| c.words == words) {
            known.keys.push(binding.name());
            continue;
        }
        let msg = (binding.msg)();
        all.push(Command {
            group,
            words: words.into(),
            keys: vec![binding.name()],
            msg: Some(msg).filter(|msg| !binding.is_sign() && possible(desk, msg)),
        });
    }
    all.extend(ON_A_BOARD.iter().map(|&(key, words)| Command {
        group: tr("On a board"),
        words: tr(words).into(),
        keys: vec![called(key)],
        msg: None,
    }));
    all.extend(by_name().into_iter().map(|(words, msg)| Command {
        group: tr("By name"),
        words: tr(words).into(),
        keys: Vec::new(),
        msg: Some(msg).filter(|msg| possible(desk, msg)),
    }));
    all
}

/// The sheets, to be opened by their names.
fn openings(desk: &Desk) -> impl Iterator<Item = Command> {
    let sheets = desk.work().sheets.iter().enumerate();
    sheets.map(|(place, sheet)| Command {
        group: tr("Open"),
        words: say!("Open {name}", name = named(sheet, place)),
        keys: Vec::new(),
        msg: Some(Msg::List(ListMsg::Open(sheet.id))),
    })
}

/// What has no key, or is looked for by other words.
fn by_name() -> Vec<(&'static str, Msg)> {
    let places = PLACES.map(|(words, id)| (words, Msg::Page(PageMsg::Focus(id))));
    [working(), giving_out(), places.into()].concat()
}

/// Places that one can go to: the words, and the id there.
const PLACES: [(&str, &str); 11] = [
    (phrase("Go to the FEN"), "fen"),
    (phrase("Go to the title"), "title"),
    (phrase("Go to the stipulation"), "stipulation"),
    (phrase("Go to the moves"), "move-here"),
    (phrase("Go to the words at this move"), "words-here"),
    (phrase("Go to the field for a typed move"), "typed-move"),
    (phrase("Go to the task"), "task"),
    (phrase("Go to the hints"), "hint-1"),
    (phrase("Go to the language"), "language"),
    (phrase("Go to the language of the page"), "tongue"),
    (phrase("Go to giving out"), "publish"),
];

fn working() -> Vec<(&'static str, Msg)> {
    vec![
        (phrase("New puzzle"), Msg::List(ListMsg::New)),
        (phrase("New game"), Msg::List(ListMsg::NewGame)),
        (phrase("Open the example"), Msg::List(ListMsg::Example)),
        (
            phrase("Paste a game or a position"),
            Msg::List(ListMsg::PasteBox(true)),
        ),
        (
            phrase("Go to what the checker found"),
            Msg::Page(PageMsg::Leaf(Leaf::Check)),
        ),
        (
            phrase("Go to how students meet it"),
            Msg::Page(PageMsg::Leaf(Leaf::Students)),
        ),
        (
            phrase("Set up the position"),
            Msg::Board(BoardMsg::SetUp(true)),
        ),
        (
            phrase("Leave the set-up"),
            Msg::Board(BoardMsg::SetUp(false)),
        ),
        (phrase("Turn the board"), Msg::Board(BoardMsg::TurnBoard)),
        (phrase("Give a talk"), Msg::Talk(TalkMsg::Begin)),
        (phrase("Copy the FEN"), Msg::GiveOut(GiveOutMsg::CopyFen)),
        (
            phrase("Open the guide"),
            Msg::Page(PageMsg::Guide(Turn::About(Part::Desk))),
        ),
        (phrase("Paste the line here"), Msg::Edit(EditMsg::PasteLine)),
        (
            phrase("Make the line the main one"),
            Msg::Edit(EditMsg::ShiftHere(i32::MIN)),
        ),
        (phrase("Answer every defence"), Msg::Check(CheckMsg::Fill)),
        (
            phrase("Find the moments of the game"),
            Msg::Game(GameMsg::Seek),
        ),
        (
            phrase("Stop looking for moments"),
            Msg::Game(GameMsg::SeekEnd { all: true }),
        ),
        (phrase("Show the proof"), Msg::Check(CheckMsg::Proof(true))),
        (phrase("Fold the proof"), Msg::Check(CheckMsg::Proof(false))),
        (phrase("Stop checking"), Msg::Check(CheckMsg::Stop)),
        (phrase("Go on checking"), Msg::Check(CheckMsg::GoOn)),
        (
            phrase("Spend ten times as much on what is undecided"),
            Msg::Check(CheckMsg::SearchOn),
        ),
    ]
}

fn giving_out() -> Vec<(&'static str, Msg)> {
    let course = |standard| Msg::GiveOut(GiveOutMsg::SaveCourse(Scope::All, standard));
    vec![
        (
            phrase("See it as a student"),
            Msg::GiveOut(GiveOutMsg::Preview),
        ),
        (
            phrase("Back from the student\u{2019}s page"),
            Msg::GiveOut(GiveOutMsg::PreviewEnd),
        ),
        (
            phrase("Save the student\u{2019}s file"),
            Msg::GiveOut(GiveOutMsg::Publish(Scope::Open)),
        ),
        (
            phrase("Save all puzzles in one student\u{2019}s file"),
            Msg::GiveOut(GiveOutMsg::Publish(Scope::All)),
        ),
        (
            phrase("Save the PGN"),
            Msg::GiveOut(GiveOutMsg::SavePgn(Scope::Open)),
        ),
        (
            phrase("Save the PGN of all puzzles"),
            Msg::GiveOut(GiveOutMsg::SavePgn(Scope::All)),
        ),
        (
            phrase("Save as EPD"),
            Msg::GiveOut(GiveOutMsg::SaveEpd(Scope::All)),
        ),
        (
            phrase("Save a handout, two diagrams on a page"),
            Msg::GiveOut(GiveOutMsg::SaveHandout(Scope::All, 2)),
        ),
        (
            phrase("Save a handout, four diagrams on a page"),
            Msg::GiveOut(GiveOutMsg::SaveHandout(Scope::All, 4)),
        ),
        (
            phrase("Save a handout, six diagrams on a page"),
            Msg::GiveOut(GiveOutMsg::SaveHandout(Scope::All, 6)),
        ),
        (
            phrase("Save a handout as PDF, four diagrams on a page"),
            Msg::GiveOut(GiveOutMsg::SavePdf(Scope::All, 4)),
        ),
        (
            phrase("Print a handout, four diagrams on a page"),
            Msg::GiveOut(GiveOutMsg::PrintHandout(Scope::All, 4)),
        ),
        (
            phrase("Save a course package, SCORM 1.2"),
            course(Standard::Scorm12),
        ),
        (
            phrase("Save a course package, cmi5"),
            course(Standard::Cmi5),
        ),
        (
            phrase("See what the class answered"),
            Msg::Class(ClassMsg::Open(true)),
        ),
        (
            phrase("Copy the frame for a page of your own"),
            Msg::GiveOut(GiveOutMsg::CopyFrame),
        ),
    ]
}

/// Whether a command would do something now.
fn possible(desk: &Desk, msg: &Msg) -> bool {
    let open = desk.work().open;
    let on_move = desk.work().at != keyproof::draft::NodeId::ROOT;
    match msg {
        Msg::Edit(EditMsg::Undo) => desk.can_undo(),
        Msg::Edit(EditMsg::Redo) => desk.can_redo(),
        Msg::List(ListMsg::New)
        | Msg::List(ListMsg::NewGame)
        | Msg::List(ListMsg::Example)
        | Msg::List(ListMsg::PasteBox(_))
        | Msg::Page(PageMsg::Finder(_))
        | Msg::Page(PageMsg::Guide(_)) => true,
        Msg::Page(PageMsg::Focus("tongue")) => true,
        // Which one is said by the key.
        Msg::Page(PageMsg::LeafAt(_)) => false,
        Msg::Page(PageMsg::Focus("fen")) => desk.setup().is_some(),
        Msg::Board(BoardMsg::SetUp(on)) => open.is_some() && *on == desk.setup().is_none(),
        Msg::Game(GameMsg::SeekEnd { .. }) => desk.seeks_running() > 0,
        Msg::Class(_) => open.is_some() || !desk.class().is_empty(),
        Msg::Board(BoardMsg::ShowEnd) => desk.showing().is_some(),
        Msg::GiveOut(GiveOutMsg::PreviewEnd) => desk.preview().is_some(),
        Msg::Edit(EditMsg::PasteLine) => open.is_some() && desk.has_line(),
        Msg::Edit(EditMsg::CutHere)
        | Msg::Edit(EditMsg::CutLine)
        | Msg::Edit(EditMsg::CopyLine)
        | Msg::Edit(EditMsg::ShiftHere(_)) => open.is_some() && on_move,
        Msg::Check(CheckMsg::Stop) => {
            open.is_some_and(|id| desk.is_checking(id)) && !desk.bench().stopped()
        }
        Msg::Check(CheckMsg::GoOn) => {
            open.is_some_and(|id| desk.is_checking(id)) && desk.bench().stopped()
        }
        _ => open.is_some(),
    }
}

/// The commands that have every word typed, each at the start of one of their
/// own words or keys; all for nothing typed. Of the sheets to open only the
/// first, and none for nothing typed: the list beside has them all.
pub fn found(desk: &Desk, typed: &str) -> Vec<Command> {
    /// Sheets shown.
    const SHEETS: usize = 20;
    let asked: Vec<String> = typed.split_whitespace().map(folded).collect();
    let apart = |c: char| !c.is_alphanumeric();
    let has = |command: &Command, asked: &String| {
        let words = folded(&command.words);
        let starts: Vec<&str> = words.split(apart).collect();
        let begins = |part: &str| starts.iter().any(|word| word.starts_with(part));
        let mut keys = command.keys.iter();
        asked.split(apart).all(begins) || keys.any(|key| folded(key) == *asked)
    };
    let fits = |command: &Command| asked.iter().all(|word| has(command, word));
    let sheets = if asked.is_empty() { 0 } else { SHEETS };
    let opened = openings(desk).filter(fits).take(sheets);
    all(desk).into_iter().filter(fits).chain(opened).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(typed: &str, desk: &Desk) -> Vec<(String, bool)> {
        let found = found(desk, typed);
        found
            .into_iter()
            .map(|c| (c.words, c.msg.is_some()))
            .collect()
    }

    #[test]
    fn every_key_is_listed_once_under_one_name() {
        let listed = all(&Desk::new(0));
        let keys: usize = listed.iter().map(|c| c.keys.len()).sum();
        assert_eq!(keys, KEYS.len() + ON_A_BOARD.len());
        let redo = listed.iter().find(|c| c.words == "Redo").unwrap();
        assert_eq!(redo.keys, ["Ctrl+Shift+Z", "Ctrl+Y"]);
    }

    #[test]
    fn found_by_the_starts_of_words_in_any_order() {
        let desk = Desk::new(0);
        let names: Vec<String> = words("puzz new", &desk).into_iter().map(|w| w.0).collect();
        assert_eq!(names, ["New puzzle"]);
        assert!(words("uzzle", &desk).is_empty());
        assert_eq!(words("leave set-up", &desk).len(), 1);
        assert_eq!(words("ctrl+y", &desk), [("Redo".to_owned(), false)]);
    }

    #[test]
    fn found_by_the_words_of_the_language() {
        let desk = Desk::new(0);
        let count = all(&desk).len();
        for (tongue, _) in keyproof_tongues::all() {
            tongue.speaks(|| {
                assert_eq!(all(&desk).len(), count, "{}", tongue.tag());
                for command in all(&desk) {
                    let found = words(&command.words, &desk);
                    let name = |(name, _): &(String, bool)| *name == command.words;
                    assert!(found.iter().any(name), "{}", command.words);
                }
            });
        }
        keyproof_tongues::of("de").speaks(|| {
            let names: Vec<String> = words("auf neu", &desk).into_iter().map(|w| w.0).collect();
            assert_eq!(names, ["Neue Aufgabe"]);
            assert_eq!(words("strg+umschalt+z", &desk)[0].0, "Wiederholen");
            assert!(words("new puzzle", &desk).is_empty());
        });
    }

    #[test]
    fn only_what_would_do_something_can_be_done() {
        let mut desk = Desk::new(0);
        assert_eq!(words("undo", &desk), [("Undo".to_owned(), false)]);
        assert_eq!(words("save pgn", &desk).iter().filter(|w| w.1).count(), 0);
        desk.update(Msg::List(ListMsg::Example));
        assert_eq!(words("undo", &desk), [("Undo".to_owned(), true)]);
        assert_eq!(words("save pgn", &desk).iter().filter(|w| w.1).count(), 2);
        assert!(words("leave set-up", &desk).iter().all(|w| !w.1));
        assert!(words("open", &desk).len() > 1);
    }
}
