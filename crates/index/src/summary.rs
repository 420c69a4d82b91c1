//! What is to be shown of a position: how the games with it ended, what was
//! played next, and the latest of those games.

use shakmaty::{Chess, Position};

use super::{Header, Index, Occurrence, Score, played_next, unpacked};
use model::notation::moves;

/// A position as a collection has it. Moves are in SAN, lines in UCI.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Summary {
    /// How the games with it ended.
    pub score: Score,
    /// The most frequent first.
    pub next: Vec<Next>,
    /// The latest first; games without a date last.
    pub earlier: Vec<Earlier>,
}

/// A move that was played there.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Next {
    /// The move in SAN.
    pub san: String,
    /// The move in UCI.
    pub uci: String,
    /// How the games with it ended.
    #[cfg_attr(feature = "serde", serde(flatten))]
    pub score: Score,
}

/// A game in which it occurred.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Earlier {
    /// Its number in the collection, from 1.
    pub number: usize,
    /// The tags of the game.
    #[cfg_attr(feature = "serde", serde(flatten))]
    pub header: Header,
    /// What was played; `None` at the end of the game.
    pub next: Option<String>,
    /// How it went on, the next move first, for at most `LINE` moves.
    pub line: Vec<String>,
}

/// Moves of an earlier game that can be shown.
pub const LINE: usize = 12;

impl Index {
    /// What is to be shown of a position, with `most` games at the most.
    /// `but` is a game that does not count, such as the one looked at.
    pub fn summary(&self, position: &Chess, but: Option<usize>, most: usize) -> Summary {
        let mut seen = self.seen(position);
        seen.retain(|occurrence| Some(occurrence.game) != but);
        let mut latest: Vec<&Occurrence> = seen.iter().collect();
        latest.sort_by(|a, b| b.header.date.cmp(&a.header.date));
        let earlier = latest.into_iter().take(most);
        Summary {
            score: Score::of(&seen),
            next: played_next(&seen)
                .into_iter()
                .map(|(mv, score)| Next {
                    san: moves::san(position, mv),
                    uci: moves::uci(mv),
                    score,
                })
                .collect(),
            earlier: earlier.map(|o| self.earlier(position, o)).collect(),
        }
    }

    /// Moves of a game after which its position still occurred elsewhere: the
    /// last such number of moves. `None` if no position of it did.
    pub fn known_for(&self, positions: &[Chess], but: Option<usize>) -> Option<usize> {
        let known = |at: &Chess| self.seen(at).iter().any(|o| Some(o.game) != but);
        (0..positions.len()).rfind(|&ply| known(&positions[ply]))
    }

    fn earlier(&self, position: &Chess, occurrence: &Occurrence) -> Earlier {
        let mut at = position.clone();
        let mut line = Vec::new();
        for &step in self.steps(occurrence.game)[occurrence.ply..]
            .iter()
            .take(LINE)
        {
            let Some(mv) = unpacked(&at, step) else { break };
            line.push(moves::uci(mv));
            at.play_unchecked(mv);
        }
        Earlier {
            number: occurrence.game + 1,
            header: occurrence.header.clone(),
            next: occurrence.next.map(|mv| moves::san(position, mv)),
            line,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Builder;
    use model::pgn_read;

    /// Three games of an invented club.
    const CLUB: &str =
        "[White \"Quill\"]\n[Black \"Brill\"]\n[Date \"2023.10.03\"]\n\n1. d4 d5 2. c4 e6 1-0\n
[White \"Brill\"]\n[Black \"Lund\"]\n[Date \"2024.01.09\"]\n\n1. d4 d5 2. Nf3 1/2-1/2\n
[White \"Lund\"]\n[Black \"Quill\"]\n\n1. d4 d5 2. c4 c6 3. Nc3 0-1\n";

    #[test]
    fn a_position_is_told_with_the_latest_games_and_their_next_moves() {
        let mut builder = Builder::new();
        let games = pgn_read::read(CLUB);
        for game in &games {
            builder.add(&game.draft).unwrap();
        }
        let index = builder.index();
        let course = moments::Course::of(&games[0].draft).unwrap();
        let summary = index.summary(course.position(2), None, 2);
        assert_eq!((summary.score.games, summary.score.draws), (3, 1));
        let next: Vec<_> = summary
            .next
            .iter()
            .map(|n| (&*n.san, n.score.games))
            .collect();
        assert_eq!(next, [("c4", 2), ("Nf3", 1)]);
        let who: Vec<_> = summary.earlier.iter().map(|e| &*e.header.white).collect();
        assert_eq!(who, ["Brill", "Quill"]);
        assert_eq!(summary.earlier[1].line, ["c2c4", "e7e6"]);
        assert_eq!(index.summary(course.position(2), Some(0), 9).score.games, 2);

        let positions: Vec<Chess> = (0..=4).map(|ply| course.position(ply).clone()).collect();
        assert_eq!(index.known_for(&positions, Some(0)), Some(3));
        assert_eq!(index.known_for(&positions, None), Some(4));
    }
}
