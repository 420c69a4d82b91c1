//! What a text that came in is: a position, games, or neither.

use keyproof::draft::{Draft, Edit, NodeId};
use keyproof::notation::epd;
use keyproof::notation::pgn_read::{self, Game};
use keyproof::notation::{Place, TextFault};
use keyproof::tongue::phrase;

use crate::given_out;

/// What a text holds.
#[derive(Clone, Debug)]
pub enum Intake {
    /// One position, as FEN. It may still be faulty; that is told where it is
    /// set up.
    Position(String),
    Games(Vec<Game>),
    /// Nothing that could be read, with the faults met.
    Nothing(Vec<TextFault>),
}

/// Finds out what a text holds.
pub fn read(text: &str) -> Intake {
    let text = text.trim_start_matches('\u{feff}').trim();
    if text.is_empty() {
        return Intake::Nothing(vec![nothing()]);
    }
    if !text.contains('\n')
        && let Some(fen) = position(text)
    {
        return Intake::Position(fen);
    }
    let mut games = match (given_out::games(text), is_records(text)) {
        (Some(games), _) => games,
        (None, true) => records(text),
        (None, false) => pgn_read::read(text),
    };
    games.retain(|game| !is_blank(game));
    if !games.iter().all(is_prose) {
        return Intake::Games(games);
    }
    let mut faults: Vec<TextFault> = games.into_iter().flat_map(|game| game.faults).collect();
    if faults.is_empty() {
        faults.push(nothing());
    }
    Intake::Nothing(faults)
}

fn nothing() -> TextFault {
    TextFault {
        place: Place { line: 1, column: 1 },
        text: String::new(),
        expected: phrase("a PGN, an EPD or a FEN").into(),
    }
}

/// Men of a position that is a middle game rather than a composed mate.
const MANY_MEN: usize = 20;

/// A new puzzle from a position, until the author says otherwise: mate in two, or the
/// best move where most of a game's men still stand.
pub fn puzzle_at(fen: Option<&str>) -> Draft {
    let mut draft = Draft::new();
    let board = fen.and_then(|fen| fen.split_whitespace().next());
    let men = board.map_or(0, |board| {
        board.matches(|c: char| c.is_alphabetic()).count()
    });
    let stipulation = if men < MANY_MEN { "#2" } else { "bm" };
    let edits = [
        Edit::SetStart {
            fen: fen.map(str::to_owned),
        },
        Edit::SetTag {
            name: "Stipulation".into(),
            value: Some(stipulation.into()),
        },
    ];
    for edit in &edits {
        draft
            .apply(edit)
            .expect("setting a tag or the start needs no node");
    }
    draft
}

/// The FEN of a line that is one: a board, and no operation.
fn position(line: &str) -> Option<String> {
    let fields: Vec<&str> = line.split_whitespace().collect();
    let operation = |field: &&str| field.starts_with(|c: char| c.is_ascii_alphabetic());
    let is_one = begins_with_board(line) && !line.contains(';');
    (is_one && !fields.get(4).is_some_and(operation)).then(|| fields.join(" "))
}

/// Lines that each begin with a board, or one with operations.
fn is_records(text: &str) -> bool {
    let mut lines = text.lines().filter(|line| !line.trim().is_empty());
    lines.all(begins_with_board)
}

/// Each line as a puzzle: a record of EPD, or a FEN.
fn records(text: &str) -> Vec<Game> {
    let mut games = Vec::new();
    for (i, line) in text.lines().enumerate() {
        match position(line) {
            Some(fen) => games.push(Game {
                draft: puzzle_at(Some(&fen)),
                faults: Vec::new(),
            }),
            None => {
                let lines_before = "\n".repeat(i);
                games.extend(epd::read(&(lines_before + line)));
            }
        }
    }
    games
}

fn begins_with_board(line: &str) -> bool {
    let Some(board) = line.split_whitespace().next() else {
        return false;
    };
    board.matches('/').count() == 7 && board.chars().all(|c| c.is_ascii_alphanumeric() || c == '/')
}

fn is_blank(game: &Game) -> bool {
    let root = game.draft.node(NodeId::ROOT);
    game.draft.tags().is_empty()
        && game.draft.walk().is_empty()
        && game.faults.is_empty()
        && root.is_none_or(|root| root.after.is_empty())
}

/// Whether it is words alone, be they in braces, which are no game.
fn is_prose(game: &Game) -> bool {
    game.draft.tags().is_empty() && game.draft.walk().is_empty()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_position_is_told_from_a_game() {
        let fen = "8/8/8/8/8/5k2/5p2/5K2 w - - 0 1";
        assert!(matches!(read(&format!("  {fen}\n")), Intake::Position(f) if f == fen));
        assert!(matches!(read("1. e4 e5 2. Nf3 *"), Intake::Games(g) if g.len() == 1));
    }

    #[test]
    fn a_middle_game_asks_for_the_best_move() {
        let asked = |fen| puzzle_at(fen).tag("Stipulation").map(str::to_owned);
        let middle = "r1bq1rk1/pppp1ppp/2n2n2/2b1p1N1/2B1P3/3P4/PPP2PPP/RNBQK2R w KQ - 0 1";
        assert_eq!(asked(Some(middle)).as_deref(), Some("bm"));
        let mate = "7k/8/8/8/8/8/R7/1R2K3 w - - 0 1";
        assert_eq!(asked(Some(mate)).as_deref(), Some("#2"));
        assert_eq!(asked(None).as_deref(), Some("#2"));
    }

    #[test]
    fn a_faulty_position_is_still_a_position() {
        assert!(matches!(
            read("8/8/8/8/8/8/8/9 w - - 0 1"),
            Intake::Position(_)
        ));
    }

    #[test]
    fn records_are_puzzles() {
        let one = "6k1/5ppp/8/8/8/8/8/R2R2K1 w - - bm Ra8#; dm 1; id \"Back rank\";";
        let Intake::Games(games) = read(&format!("{one}\n{one}\n")) else {
            panic!("puzzles")
        };
        assert_eq!(games.len(), 2);
        assert_eq!(games[0].draft.tag("Stipulation"), Some("#1"));
        assert!(matches!(read(one), Intake::Games(games) if games.len() == 1));
    }

    #[test]
    fn positions_line_by_line_are_puzzles_each() {
        let fens = [
            "7k/8/8/8/8/8/R7/1R2K3 w - - 0 1",
            "6k1/5ppp/8/8/8/8/5PPP/3R2K1 w - -",
        ];
        let record = "6k1/5ppp/8/8/8/8/8/R2R2K1 w - - bm Ra9#; id \"Back rank\"";
        let Intake::Games(games) = read(&format!("{}\n\n{}\n{record}", fens[0], fens[1])) else {
            panic!("puzzles")
        };
        let starts: Vec<_> = games.iter().filter_map(|g| g.draft.start_fen()).collect();
        assert_eq!(starts[..2], fens);
        assert_eq!(games[1].draft.tag("Stipulation"), Some("#2"));
        assert_eq!(games[2].draft.tag("Event"), Some("Back rank"));
        let faults: Vec<_> = games.iter().flat_map(|g| &g.faults).collect();
        assert!(
            matches!(faults[..], [fault] if fault.place.line == 4),
            "{faults:?}"
        );
    }

    #[test]
    fn a_record_may_lack_its_last_semicolon() {
        let one = "6k1/5ppp/8/8/8/8/8/R2R2K1 w - - bm Ra8#";
        assert!(matches!(read(one), Intake::Games(g) if g.len() == 1 && g[0].faults.is_empty()));
    }

    #[test]
    fn words_are_no_game_and_moves_from_elsewhere_are() {
        for words in [
            "hello there",
            "See you at the club on Thursday!",
            "https://example.org/a",
            "{\"a\":1}",
        ] {
            assert!(
                matches!(read(words), Intake::Nothing(f) if !f.is_empty()),
                "{words}"
            );
        }
        assert!(matches!(read("23. Rxe6 fxe6 24. Qh5+"), Intake::Games(_)));
    }

    #[test]
    fn many_games_come_in_order() {
        let text = "[Event \"One\"]\n\n1. e4 *\n\n[Event \"Two\"]\n\n1. d4 *\n";
        let Intake::Games(games) = read(text) else {
            panic!("games")
        };
        let titles: Vec<_> = games.iter().map(|g| g.draft.tag("Event")).collect();
        assert_eq!(titles, [Some("One"), Some("Two")]);
    }

    #[test]
    fn nothing_is_said_to_be_nothing() {
        assert!(matches!(read("   "), Intake::Nothing(f) if f.len() == 1));
    }
}
