//! Earlier games with the positions of a game, by an index of a collection.
//!
//! An index is made of a text; those of several texts become one. So a collection can be
//! indexed in parts, on as many machines as there are.

use keyproof::moments::Course;
use keyproof::notation::{fen, moves};
use keyproof::seen::{Builder, Index, LeftOut, Summary, packed};
use serde::Serialize;
use shakmaty::Position;

use crate::entry::read_pgn;
use crate::means::Means;
use crate::trouble::Trouble;

/// What an index was made of.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Indexed {
    /// The index, packed: 14 bytes a position, and what the names of the games take.
    #[serde(skip)]
    pub bytes: Vec<u8>,
    /// Games in it.
    pub games: usize,
    /// Their positions, one for each time that it occurs.
    pub positions: usize,
    /// Games that came more than once, and are in it once.
    pub twice: usize,
    /// Games left out: they have no legal start.
    pub unreadable: usize,
}

/// A game with those of its positions that occurred in others.
#[derive(Clone, Debug, Serialize)]
pub struct SeenRow {
    /// Its number in the text, from 1.
    pub index: usize,
    /// Its title.
    pub title: String,
    /// Half moves of its main line.
    pub plies: usize,
    /// In their order.
    pub positions: Vec<SeenPosition>,
}

/// A position that occurred in other games.
#[derive(Clone, Debug, Serialize)]
pub struct SeenPosition {
    /// Half moves before it.
    pub ply: usize,
    /// The move that led to it, with its number.
    pub after: Option<String>,
    /// The position.
    pub fen: String,
    /// What is known of it.
    #[serde(flatten)]
    pub summary: Summary,
}

/// Indexes the main lines of all games of a text.
///
/// # Errors
/// If there is no game, or more than 2^32 positions, or when whoever follows stops it.
pub fn index(pgn: &str, means: &Means) -> Result<Indexed, Trouble> {
    let mut made = Making::default();
    for entry in read_pgn(pgn, "")? {
        means.go_on()?;
        made.note(|builder| builder.add(&entry.game.draft))?;
        means.follow.done();
    }
    Ok(made.end())
}

/// Makes one index of several, in their order: what [`index`] makes of their texts as one.
///
/// # Errors
/// If one of them is none, or together they are too large, or when whoever follows stops it.
pub fn join_indexes<B: AsRef<[u8]>>(
    parts: impl IntoIterator<Item = B>,
    means: &Means,
) -> Result<Indexed, Trouble> {
    let mut made = Making::default();
    for (number, part) in parts.into_iter().enumerate() {
        let part = read_index(part.as_ref(), &format!("index {}", number + 1))?;
        means.go_on()?;
        for game in part.played() {
            made.note(|builder| builder.take(game))?;
        }
        means.follow.done();
    }
    Ok(made.end())
}

/// Tells of each game of a text which of its positions occurred in an index, and of each
/// the `most` latest games. The game itself does not count.
///
/// # Errors
/// If the index is none, or a game has no legal start.
pub fn seen(pgn: &str, index: &[u8], most: usize, means: &Means) -> Result<Vec<SeenRow>, Trouble> {
    let index = read_index(index, "the index")?;
    let mut rows = Vec::new();
    for entry in read_pgn(pgn, "")? {
        means.go_on()?;
        let course = entry.course()?;
        let own = index.same_as(&entry.game.draft);
        rows.push(SeenRow {
            index: entry.index,
            title: entry.title(),
            plies: course.plies.len(),
            positions: seen_positions(&course, |ply| {
                Some(index.summary(course.position(ply), own, most))
            }),
        });
        means.follow.done();
    }
    Ok(rows)
}

/// Those positions of a game that occurred in others, by what is known after so many half
/// moves.
pub fn seen_positions(
    course: &Course,
    known: impl Fn(usize) -> Option<Summary>,
) -> Vec<SeenPosition> {
    let position = |ply: usize| {
        let before = ply.checked_sub(1).map(|before| &course.plies[before]);
        Some(SeenPosition {
            ply,
            after: before.map(|at| {
                let number = at.before.fullmoves().get();
                moves::line(&at.before, &[at.played], number)
            }),
            fen: fen::write(course.position(ply)),
            summary: known(ply)?,
        })
    };
    let positions = (0..=course.plies.len()).filter_map(position);
    positions.filter(|at| at.summary.score.games > 0).collect()
}

/// Reads an index, which sentences call `what`.
///
/// # Errors
/// If it is none.
pub fn read_index(bytes: &[u8], what: &str) -> Result<Index, String> {
    packed::read(bytes).ok_or_else(|| format!("{what} is damaged, or none that this version made"))
}

/// An index on the way.
#[derive(Default)]
struct Making {
    builder: Builder,
    told: Indexed,
}

impl Making {
    fn note(
        &mut self,
        take: impl FnOnce(&mut Builder) -> Result<(), LeftOut>,
    ) -> Result<(), Trouble> {
        match take(&mut self.builder) {
            Ok(()) => {}
            Err(LeftOut::Twice) => self.told.twice += 1,
            Err(LeftOut::NoStart) => self.told.unreadable += 1,
            Err(LeftOut::Full) => {
                let sentence = "an index holds 4,294,967,296 positions, and there are more";
                return Err(Trouble::Input(sentence.into()));
            }
        }
        Ok(())
    }

    fn end(self) -> Indexed {
        Indexed {
            games: self.builder.games(),
            positions: self.builder.positions(),
            bytes: packed::write(&self.builder.index()),
            ..self.told
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Three games of an invented club, the last of them given twice, and one without a
    /// start.
    const CLUB: [&str; 4] = [
        "[White \"Quill\"]\n[Black \"Brill\"]\n\n1. d4 d5 2. c4 e6 1-0\n\n",
        "[White \"Brill\"]\n[Black \"Lund\"]\n\n1. c4 e6 2. d4 d5 3. Nf3 1/2-1/2\n\n",
        "[White \"Lund\"]\n[Black \"Quill\"]\n\n1. d4 d5 2. c4 c6 0-1\n\n",
        "[FEN \"8/8/8/8/8/8/8/8 w - - 0 1\"]\n\n*\n\n",
    ];

    #[test]
    fn an_index_of_parts_tells_what_one_of_all_tells() {
        let means = Means::default();
        let text = format!("{}{}{}", CLUB.concat(), CLUB[2], CLUB[0]);
        let whole = index(&text, &means).unwrap();
        let counts = (whole.games, whole.positions, whole.twice, whole.unreadable);
        assert_eq!(counts, (3, 16, 2, 1));
        let parts = CLUB.map(|part| index(part, &means).unwrap().bytes);
        let joined = join_indexes([&parts[0], &parts[1], &parts[2], &parts[0]], &means).unwrap();
        assert_eq!(joined.bytes, whole.bytes);
        assert_eq!(joined.twice, 1);
        let rows = seen(CLUB[0], &joined.bytes, 5, &means).unwrap();
        let plies: Vec<usize> = rows[0].positions.iter().map(|at| at.ply).collect();
        assert_eq!(plies, [0, 1, 2, 3, 4]);
        let last = &rows[0].positions[4];
        assert_eq!(last.after.as_deref(), Some("2...e6"));
        assert_eq!(last.summary.earlier[0].header.white, "Brill");
        assert_eq!(last.summary.next[0].san, "Nf3");
    }

    #[test]
    fn what_is_no_index_is_named() {
        let means = Means::default();
        let good = index(CLUB[0], &means).unwrap().bytes;
        let told = join_indexes([&good[..], &good[..30]], &means).unwrap_err();
        assert!(told.to_string().starts_with("index 2 is damaged"), "{told}");
        let told = seen(CLUB[0], b"kpseen", 5, &means).unwrap_err();
        assert!(
            told.to_string().starts_with("the index is damaged"),
            "{told}"
        );
        let told = seen(CLUB[3], &good, 5, &means).unwrap_err();
        assert!(told.to_string().starts_with("game 1: "), "{told}");
    }
}
