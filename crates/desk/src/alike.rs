//! Which sheets show the same position, also mirrored or with colours swapped,
//! and which games are the same.

use std::collections::HashMap;

use keyproof::draft::{Draft, NodeId};
use keyproof::notation::{fen, moves};
use keyproof::tongue::{Phrase, holes, phrase};
use keyproof::transform::{colours_swapped, mirrored};
use shakmaty::fen::Fen;
use shakmaty::{Chess, EnPassantMode, Position, Setup};

use crate::work::SheetId;

/// How one position is turned into another.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Turn {
    pub mirrored: bool,
    pub swapped: bool,
}

/// What alike sheets have in common: the least of the ways to write their
/// position, or their game; and how to get from the sheet to that.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Key {
    least: String,
    turn: Turn,
}

/// A sheet that is like an earlier one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Double {
    pub sheet: SheetId,
    pub of: SheetId,
    pub turn: Turn,
}

impl Turn {
    /// How a sheet is like another, both named with their numbers; to be filled.
    pub fn words(self) -> Phrase<{ holes::set("number name other_number other") }> {
        match (self.mirrored, self.swapped) {
            (false, false) => phrase!(
                "no. {number} \u{201c}{name}\u{201d} (the same: no. {other_number} \u{201c}{other}\u{201d})",
                "number name other_number other"
            ),
            (true, false) => phrase!(
                "no. {number} \u{201c}{name}\u{201d} (mirrored: no. {other_number} \u{201c}{other}\u{201d})",
                "number name other_number other"
            ),
            (false, true) => phrase!(
                "no. {number} \u{201c}{name}\u{201d} (colours swapped: no. {other_number} \u{201c}{other}\u{201d})",
                "number name other_number other"
            ),
            (true, true) => phrase!(
                "no. {number} \u{201c}{name}\u{201d} (mirrored, colours swapped: no. {other_number} \u{201c}{other}\u{201d})",
                "number name other_number other"
            ),
        }
    }
}

/// The key of a draft: of a puzzle its position, of a game or lesson the moves of
/// its main line. `None` where there is nothing to compare.
pub fn key(draft: &Draft, puzzle: bool) -> Option<Key> {
    let start = match draft.start_fen() {
        Some(text) => fen::read(text).ok()?,
        None => Chess::default(),
    };
    if puzzle {
        return Some(of_position(&start));
    }
    let mut least = placed(&start.to_setup(EnPassantMode::Legal));
    let (mut at, mut node, mut played) = (start, NodeId::ROOT, 0);
    while let Some(next) = draft.node(node).and_then(|n| n.children.first().copied()) {
        let text = draft.node(next).map_or("", |n| n.text.as_str());
        let Ok(mv) = moves::read(&at, text) else {
            break;
        };
        least.push(' ');
        least.push_str(&moves::uci(mv));
        at.play_unchecked(mv);
        (node, played) = (next, played + 1);
    }
    let turn = Turn::default();
    (played > 0).then_some(Key { least, turn })
}

fn of_position(position: &Chess) -> Key {
    let setup = position.to_setup(EnPassantMode::Legal);
    let swapped = colours_swapped(&setup);
    let mut ways = vec![(placed(&setup), Turn::default())];
    let turn = |mirrored, swapped| Turn { mirrored, swapped };
    ways.push((placed(&swapped), turn(false, true)));
    if setup.castling_rights.is_empty() {
        ways.push((placed(&mirrored(&setup)), turn(true, false)));
        ways.push((placed(&mirrored(&swapped)), turn(true, true)));
    }
    let (least, turn) = ways.into_iter().min().expect("one way at least");
    Key { least, turn }
}

/// Board, side to move, castling and en passant, without the clocks.
fn placed(setup: &Setup) -> String {
    let still = Setup {
        halfmoves: 0,
        fullmoves: std::num::NonZeroU32::MIN,
        ..setup.clone()
    };
    Fen::try_from_setup(still).map_or_else(|_| String::new(), |fen| fen.to_string())
}

/// The sheets of `new` that are like one of `old` or like an earlier one of
/// `new`, each with the first that it is like.
pub fn doubles<'a>(
    old: impl Iterator<Item = (SheetId, &'a Key)>,
    new: impl Iterator<Item = (SheetId, &'a Key)>,
) -> Vec<Double> {
    let mut first: HashMap<&str, (SheetId, Turn)> = HashMap::new();
    for (sheet, key) in old {
        first.entry(&key.least).or_insert((sheet, key.turn));
    }
    let mut doubles = Vec::new();
    for (sheet, key) in new {
        match first.get(key.least.as_str()) {
            Some(&(of, turn)) => doubles.push(Double {
                sheet,
                of,
                turn: Turn {
                    mirrored: turn.mirrored != key.turn.mirrored,
                    swapped: turn.swapped != key.turn.swapped,
                },
            }),
            None => {
                first.insert(&key.least, (sheet, key.turn));
            }
        }
    }
    doubles
}

#[cfg(test)]
mod tests {
    use super::*;
    use keyproof::notation::pgn_read;

    fn draft(pgn: &str) -> Draft {
        pgn_read::read(pgn).remove(0).draft
    }
    fn at(fen: &str) -> Key {
        let draft = draft(&format!("[SetUp \"1\"]\n[FEN \"{fen}\"]\n\n*\n"));
        key(&draft, true).expect("a legal position")
    }
    /// How the second is got from the first, if they are alike.
    fn turn(one: &Key, other: &Key) -> Option<Turn> {
        let [one, other] = [(SheetId(1), one), (SheetId(2), other)];
        let found = doubles([one].into_iter(), [other].into_iter());
        found.first().map(|double| double.turn)
    }

    const FIRST: &str = "7k/8/8/8/8/8/R7/1R2K3 w - - 0 1";

    #[test]
    fn alike_positions_are_told_with_how_they_are_alike() {
        let first = at(FIRST);
        for (fen, mirrored, swapped) in [
            ("7k/8/8/8/8/8/R7/1R2K3 w - - 12 40", false, false),
            ("k7/8/8/8/8/8/7R/3K2R1 w - - 0 1", true, false),
            ("1r2k3/r7/8/8/8/8/8/7K b - - 0 1", false, true),
            ("3k2r1/7r/8/8/8/8/8/K7 b - - 0 1", true, true),
        ] {
            let how = Some(Turn { mirrored, swapped });
            assert_eq!(turn(&first, &at(fen)), how);
            assert_eq!(turn(&at(fen), &first), how);
        }
    }

    /// Another side to move, another square, a right to castle: not the same.
    #[test]
    fn near_positions_are_not_alike() {
        for fen in [
            "7k/8/8/8/8/8/R7/1R2K3 b - - 0 1",
            "7k/8/8/8/8/8/R7/2R1K3 w - - 0 1",
        ] {
            assert_eq!(turn(&at(FIRST), &at(fen)), None);
        }
        let castling = "7k/8/8/8/8/8/8/R3K3 w Q - 0 1";
        let mirrored = "k7/8/8/8/8/8/8/3K3R w - - 0 1";
        let without = "7k/8/8/8/8/8/8/R3K3 w - - 0 1";
        assert_eq!(turn(&at(castling), &at(without)), None);
        assert_eq!(turn(&at(castling), &at(mirrored)), None);
        let swapped = turn(&at(castling), &at("r3k3/8/8/8/8/8/8/7K b q - 0 1"));
        assert!(swapped.is_some_and(|turn| turn.swapped && !turn.mirrored));
    }

    /// A square behind a pawn that nobody can capture is no difference; one
    /// where a capture is legal is.
    #[test]
    fn only_a_legal_capture_en_passant_counts() {
        let idle = "7k/8/8/3pP3/8/8/8/4K3 w - - 0 1";
        let legal = "7k/8/8/3pP3/8/8/8/4K3 w - d6 0 1";
        assert_eq!(turn(&at(idle), &at(legal)), None);
        let nobody = [
            "7k/8/8/3p4/8/8/8/4K3 w - d6 0 1",
            "7k/8/8/3p4/8/8/8/4K3 w - - 0 1",
        ];
        assert_eq!(turn(&at(nobody[0]), &at(nobody[1])), Some(Turn::default()));
    }

    #[test]
    fn games_are_compared_by_their_main_line() {
        let game = |pgn| key(&draft(pgn), false);
        let one = game("[White \"Pell\"]\n\n1. e4 e5 2. Nf3 $1 {words} (2. f4) *").unwrap();
        let same = game("[White \"Tarn\"]\n\n1. e4! e5 2. Nf3 1-0").unwrap();
        let longer = game("1. e4 e5 2. Nf3 Nc6 *").unwrap();
        assert_eq!(turn(&one, &same), Some(Turn::default()));
        assert_eq!(turn(&one, &longer), None);
        assert!(game("*").is_none(), "an empty game is like no other");
    }

    #[test]
    fn doubles_are_found_among_what_comes_in_as_well() {
        let (first, other) = (at(FIRST), at("k7/8/8/8/8/8/7R/3K2R1 w - - 0 1"));
        let new = [(SheetId(5), &other), (SheetId(6), &first)];
        let found = doubles(std::iter::empty(), new.into_iter());
        assert_eq!(found.len(), 1);
        assert_eq!((found[0].sheet, found[0].of), (SheetId(6), SheetId(5)));
        assert!(found[0].turn.mirrored);
    }

    #[test]
    fn what_is_not_legal_is_compared_with_nothing() {
        let faulty = draft("[SetUp \"1\"]\n[FEN \"8/8/8/8/8/8/8/8 w - - 0 1\"]\n\n*\n");
        assert!(key(&faulty, true).is_none());
    }
}
