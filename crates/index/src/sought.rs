//! Positions that are sought in games which are looked at once and forgotten: what is
//! kept is what was asked for, and eight bytes for each game.
//!
//! It tells what [`Index::summary`](super::Index::summary) tells of the same games.

use std::cmp::Reverse;
use std::collections::{HashMap, HashSet};

use shakmaty::{Chess, Move, Position};

use super::summary::{Earlier, LINE, Next, Summary};
use super::{END, Header, LeftOut, Line, Played, Score, hash, header, mark, same, unpacked};
use model::draft::Draft;
use model::notation::moves;

/// Positions, and what has been seen of them.
#[derive(Debug, Default)]
pub struct Sought {
    /// How many games are named for a position.
    most: usize,
    games: Vec<Own>,
    places: Vec<Place>,
    /// The places of each hash.
    by_hash: HashMap<u64, Vec<usize>>,
    known: HashSet<u64>,
    positions: usize,
}

/// A game whose positions are sought: it does not count itself.
#[derive(Debug)]
struct Own {
    header: Header,
    line: Line,
    met: bool,
}

#[derive(Debug)]
struct Place {
    position: Chess,
    /// Whose it is.
    own: usize,
    /// The game in which it was last seen.
    last: Option<usize>,
    score: Score,
    next: Vec<(Move, Score)>,
    earlier: Vec<Earlier>,
}

impl Sought {
    /// Nothing sought yet; of each position the `most` latest games will be named.
    pub fn new(most: usize) -> Sought {
        Sought {
            most,
            ..Sought::default()
        }
    }

    /// Seeks positions of a game, which itself does not count. Gives the numbers under
    /// which [`Sought::summary`] tells of them; none for a game without a legal start.
    pub fn seek<'a>(
        &mut self,
        game: &Draft,
        positions: impl IntoIterator<Item = &'a Chess>,
    ) -> Vec<usize> {
        let Some(line) = Line::of(game) else {
            return Vec::new();
        };
        let own = self.games.len();
        self.games.push(Own {
            header: header(game),
            line,
            met: false,
        });
        let numbers = positions.into_iter().map(|position| {
            let number = self.places.len();
            self.by_hash.entry(hash(position)).or_default().push(number);
            self.places.push(Place {
                position: position.clone(),
                own,
                last: None,
                score: Score::default(),
                next: Vec::new(),
                earlier: Vec::new(),
            });
            number
        });
        numbers.collect()
    }

    /// Looks at a game of the collection.
    ///
    /// # Errors
    /// If it is left out.
    pub fn look(&mut self, game: &Played) -> Result<(), LeftOut> {
        let Played { header, line } = game;
        if !self.known.insert(mark(header, &line.start, &line.steps)) {
            return Err(LeftOut::Twice);
        }
        let number = self.known.len() - 1;
        self.positions += line.hashes.len();
        let same_game = |own: &Own| {
            let (a, b) = (&own.line, line);
            own.header == *header && a.steps == b.steps && a.start == b.start
        };
        // Of several that are alike, one is the game itself.
        let itself: Vec<bool> = self
            .games
            .iter()
            .map(|own| !own.met && same_game(own))
            .collect();
        for (own, itself) in std::iter::zip(&mut self.games, &itself) {
            own.met |= itself;
        }
        for (ply, hash) in line.hashes.iter().enumerate() {
            for &place in self.by_hash.get(hash).into_iter().flatten() {
                let place = &mut self.places[place];
                if place.last != Some(number)
                    && !itself[place.own]
                    && line.comes_to(ply, &place.position)
                {
                    place.last = Some(number);
                    place.see(number, game, ply, self.most);
                }
            }
        }
        Ok(())
    }

    /// What has been seen of a position.
    pub fn summary(&self, number: usize) -> Option<Summary> {
        let place = self.places.get(number)?;
        let mut next = place.next.clone();
        next.sort_by_key(|(_, score)| Reverse(score.games));
        let next = next.into_iter().map(|(mv, score)| Next {
            san: moves::san(&place.position, mv),
            uci: moves::uci(mv),
            score,
        });
        Some(Summary {
            score: place.score,
            next: next.collect(),
            earlier: place.earlier.clone(),
        })
    }

    /// Games looked at.
    pub fn games(&self) -> usize {
        self.known.len()
    }

    /// Positions in them.
    pub fn positions(&self) -> usize {
        self.positions
    }
}

impl Line {
    /// Whether the position after so many plies is this one: the hash may be alike by
    /// chance.
    fn comes_to(&self, ply: usize, position: &Chess) -> bool {
        let mut at = self.start.as_deref().cloned().unwrap_or_default();
        for &step in &self.steps[..ply] {
            let Some(mv) = unpacked(&at, step) else {
                return false;
            };
            at.play_unchecked(mv);
        }
        same(&at, position)
    }
}

impl Place {
    fn see(&mut self, number: usize, game: &Played, ply: usize, most: usize) {
        let result = &game.header.result;
        self.score.count(result);
        let mut at = self.position.clone();
        let mut line = Vec::new();
        for &step in game.line.steps[ply..].iter().take(LINE) {
            let Some(mv) = unpacked(&at, step).filter(|_| step != END) else {
                break;
            };
            line.push(mv);
            at.play_unchecked(mv);
        }
        let next = line.first().copied();
        if let Some(mv) = next {
            let at = self.next.iter().position(|(other, _)| *other == mv);
            let at = at.unwrap_or_else(|| {
                self.next.push((mv, Score::default()));
                self.next.len() - 1
            });
            self.next[at].1.count(result);
        }
        let date = &game.header.date;
        let after = self
            .earlier
            .partition_point(|other| other.header.date >= *date);
        if after < most {
            let earlier = Earlier {
                number: number + 1,
                header: game.header.clone(),
                next: next.map(|mv| moves::san(&self.position, mv)),
                line: line.into_iter().map(moves::uci).collect(),
            };
            self.earlier.insert(after, earlier);
            self.earlier.truncate(most);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Builder;
    use model::pgn_read;

    /// Games of an invented club: transpositions, a position that comes twice, a game
    /// given twice, one without a start, one from a position, no dates and equal ones.
    const CLUB: &str = "[White \"Quill\"]\n[Black \"Brill\"]\n[Date \"2023.10.03\"]\n\n1. d4 d5 2. c4 e6 1-0\n
[White \"Brill\"]\n[Black \"Lund\"]\n[Date \"2024.01.09\"]\n\n1. c4 e6 2. d4 d5 3. Nf3 1/2-1/2\n
[White \"Lund\"]\n[Black \"Quill\"]\n\n1. d4 d5 2. c4 c6 3. Nc3 0-1\n
[White \"Brill\"]\n[Black \"Lund\"]\n[Date \"2024.01.09\"]\n\n1. c4 e6 2. d4 d5 3. Nf3 1/2-1/2\n
[White \"Ask\"]\n[Black \"Lund\"]\n[Date \"2024.01.09\"]\n\n1. Nf3 Nf6 2. Ng1 Ng8 3. d4 d5 4. c4 1-0\n
[FEN \"8/8/8/8/8/8/8/8 w - - 0 1\"]\n\n*\n
[SetUp \"1\"]\n[FEN \"7k/P7/8/8/8/8/8/K7 w - - 0 1\"]\n\n1. a8=Q+ Kg7 2. Qb8 *\n";

    #[test]
    fn what_is_sought_is_what_an_index_tells() {
        let games = pgn_read::read(CLUB);
        let mut builder = Builder::new();
        let added: Vec<_> = games.iter().map(|game| builder.add(&game.draft)).collect();
        let index = builder.index();
        for most in [0, 1, 2, 9] {
            let mut sought = Sought::new(most);
            let mut expected = Vec::new();
            let mut numbers = Vec::new();
            for game in &games {
                let Ok(course) = moments::Course::of(&game.draft) else {
                    continue;
                };
                let positions = (0..=course.plies.len()).map(|ply| course.position(ply));
                numbers.extend(sought.seek(&game.draft, positions.clone()));
                let own = index.same_as(&game.draft);
                expected.extend(positions.map(|at| index.summary(at, own, most)));
            }
            let looked: Vec<_> = games
                .iter()
                .map(|game| Played::of(&game.draft).and_then(|game| sought.look(&game)))
                .collect();
            assert_eq!(looked, added);
            let told: Vec<_> = numbers
                .into_iter()
                .map(|number| sought.summary(number).unwrap())
                .collect();
            assert_eq!(told, expected);
            assert_eq!(sought.games(), index.games());
            assert_eq!(sought.positions(), index.positions());
        }
    }
}
