//! What a text that came in is: a position, games, or neither.

use keyproof::draft::{Draft, Edit};
use keyproof::notation::epd;
use keyproof::notation::pgn_read::{self, Game};
use keyproof::notation::{Place, TextFault};
use keyproof::tongue::phrase;

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
        return Intake::Nothing(vec![TextFault {
            place: Place { line: 1, column: 1 },
            text: String::new(),
            expected: phrase("a PGN, an EPD or a FEN").into(),
        }]);
    }
    if looks_like_fen(text) {
        return Intake::Position(text.split_whitespace().collect::<Vec<_>>().join(" "));
    }
    let games = match looks_like_epd(text) {
        true => epd::read(text),
        false => pgn_read::read(text),
    };
    let (games, empty): (Vec<Game>, Vec<Game>) =
        games.into_iter().partition(|g| !is_blank(&g.draft));
    if games.is_empty() {
        return Intake::Nothing(empty.into_iter().flat_map(|g| g.faults).collect());
    }
    Intake::Games(games)
}

/// A new puzzle from a position: mate in two, until the author says otherwise.
pub fn puzzle_at(fen: Option<&str>) -> Draft {
    let mut draft = Draft::new();
    let edits = [
        Edit::SetStart {
            fen: fen.map(str::to_owned),
        },
        Edit::SetTag {
            name: "Stipulation".into(),
            value: Some("#2".into()),
        },
    ];
    for edit in &edits {
        draft
            .apply(edit)
            .expect("setting a tag or the start needs no node");
    }
    draft
}

fn looks_like_fen(text: &str) -> bool {
    let mut lines = text.lines();
    let (Some(line), None) = (lines.next(), lines.next()) else {
        return false;
    };
    !line.contains(';') && begins_with_board(line)
}

/// Lines that each begin with a board, or one with operations.
fn looks_like_epd(text: &str) -> bool {
    let mut lines = text.lines().filter(|line| !line.trim().is_empty());
    lines.all(begins_with_board)
}

fn begins_with_board(line: &str) -> bool {
    let Some(board) = line.split_whitespace().next() else {
        return false;
    };
    board.matches('/').count() == 7 && board.chars().all(|c| c.is_ascii_alphanumeric() || c == '/')
}

fn is_blank(draft: &Draft) -> bool {
    draft.tags().is_empty()
        && draft.walk().is_empty()
        && draft
            .node(keyproof::draft::NodeId::ROOT)
            .is_none_or(|root| root.after.is_empty())
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
