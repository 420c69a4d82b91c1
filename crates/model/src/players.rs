//! Who played a game, and when: what a game is called by.

use crate::draft::Draft;
use crate::lesson;
use crate::short::{has, split_at_mark};

/// A tag's value, unless it is empty or stands for unknown (PGN standard, 8.1.1: `?`,
/// and `-` for what does not apply).
#[inline(never)]
pub fn told<'a>(draft: &'a Draft, tag: &str) -> Option<&'a str> {
    let value = draft.tag(tag).map(str::trim)?;
    (!value.is_empty() && value != "?" && value != "-").then_some(value)
}

/// Who played a draft that is a game or a lesson, as people write it, and when, as far as
/// it is told: "Orla Pell – Jonas Tarn, 2023-04". `None` of a puzzle, and where no player
/// is told.
#[inline(never)]
pub fn of_game(draft: &Draft) -> Option<String> {
    let from_the_start = draft.tag("FEN").is_none() && told(draft, "Stipulation").is_none();
    if !from_the_start && !lesson::is_lesson(draft) {
        return None;
    }
    let mut text = players(draft)?;
    // By letters: the library's way of splitting a text is larger than all of this.
    let mut between = ", ";
    for letter in told(draft, "Date").unwrap_or_default().chars() {
        match letter {
            '?' => break,
            '.' => between = "-",
            letter => {
                text.push_str(std::mem::take(&mut between));
                text.push(letter);
            }
        }
    }
    Some(text)
}

/// Who played, White first, with a question mark for one that is not told.
#[inline(never)]
pub fn players(draft: &Draft) -> Option<String> {
    told(draft, "White").or(told(draft, "Black"))?;
    let name = |tag| told(draft, tag).map_or_else(|| "?".to_owned(), person);
    Some([&name("White"), " \u{2013} ", &name("Black")].concat())
}

/// A name as PGN has it, "Windle, Marta", as people write it.
#[inline(never)]
pub fn person(name: &str) -> String {
    match split_at_mark(name, ',') {
        Some((last, first)) if !has(first, ',') => [first, " ", last].concat(),
        _ => name.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pgn_read;

    fn called(pgn: &str) -> Option<String> {
        of_game(&pgn_read::read(pgn).remove(0).draft)
    }

    #[test]
    fn a_game_is_called_by_its_players_and_its_date() {
        let all = "[Event \"Casual game\"]\n[White \"Pell, Orla\"]\n[Black \"Tarn, Jonas\"]\n[Date \"2023.04.??\"]\n\n1. e4 *";
        let wanted = Some("Orla Pell \u{2013} Jonas Tarn, 2023-04");
        assert_eq!(called(all).as_deref(), wanted);
        let lesson = "[White \"Pell\"]\n[Black \"Tarn\"]\n[Moments \"1w bm\"]\n[FEN \"6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1\"]\n\n1. Ra8# *";
        assert_eq!(called(lesson).as_deref(), Some("Pell \u{2013} Tarn"));
        let one = "[Black \"Tarn, Jonas\"]\n[Date \"????.??.??\"]\n\n1. e4 *";
        assert_eq!(called(one).as_deref(), Some("? \u{2013} Jonas Tarn"));
    }

    #[test]
    fn a_puzzle_and_a_game_of_nobody_are_not() {
        let puzzle = "[White \"Pell\"]\n[Black \"Tarn\"]\n[FEN \"6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n1. Ra8# *";
        assert_eq!(called(puzzle), None);
        assert_eq!(
            called("[White \"?\"]\n[Date \"2023.04.05\"]\n\n1. e4 *"),
            None
        );
    }

    #[test]
    fn names_are_written_as_people_write_them() {
        assert_eq!(person("Windle, Marta"), "Marta Windle");
        assert_eq!(person("Marta Windle"), "Marta Windle");
        assert_eq!(person("A, B, C"), "A, B, C");
    }
}
