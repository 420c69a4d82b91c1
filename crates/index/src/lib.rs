//! Seen before: in which games of a collection a position occurred, how they
//! ended, and what was played next.
//!
//! [`Builder`] takes games one by one, [`Builder::index`] sorts what they hold,
//! and [`Index::seen`] looks a position up. Positions are found by a hash of 64
//! bits and confirmed by playing the game through, so that no chance likeness
//! is ever shown. A position takes 14 bytes: the hash, its place, and the move
//! played there. Two positions are the same when the side to move, the men,
//! the castling rights and the legal en passant captures are. Main lines alone
//! are looked at, each up to its end or its first move that is not legal. A game with the
//! names, result and moves of another is taken once.
//!
//! Where only some positions are asked about, [`Sought`] looks through games without
//! keeping them. [`Index::summary`] says of a position what is to be shown of it, and
//! [`packed`] puts an index away as bytes.

#![deny(missing_docs)]

pub mod packed;
mod sought;
mod summary;

use std::collections::HashSet;
use std::hash::{DefaultHasher, Hash, Hasher};

use shakmaty::{Chess, EnPassantMode, Move, Position, Role, Square, san::San, zobrist::Zobrist64};

use model::draft::{Draft, NodeId};
use model::notation::{fen, moves};

pub use sought::Sought;
pub use summary::{Earlier, Next, Summary};

/// What a game is known by.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Header {
    /// Tag values, empty where there is none or `?`.
    pub white: String,
    /// Who had the black men, as the tag has it.
    pub black: String,
    /// The tag Event.
    pub event: String,
    /// The tag Date, as PGN writes it: `2024.05.??`.
    pub date: String,
    /// `1-0`, `0-1`, `1/2-1/2` or `*`.
    pub result: String,
}

/// A game in which a position occurred.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Occurrence<'a> {
    /// Its number in the collection, in the order in which it was added, from 0.
    pub game: usize,
    /// The tags of the game.
    pub header: &'a Header,
    /// Moves played before the position first occurred.
    pub ply: usize,
    /// What was played there; `None` at the end of the game.
    pub next: Option<Move>,
}

/// How often a move was played and how the games ended.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Score {
    /// How many games.
    pub games: usize,
    /// Those that White won.
    pub white: usize,
    /// Those that were drawn.
    pub draws: usize,
    /// Those that Black won.
    pub black: usize,
}

/// Why a game was not taken in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LeftOut {
    /// It has no legal start position.
    NoStart,
    /// It was there already.
    Twice,
    /// The collection is full, at 2^32 positions.
    Full,
}

/// Collects the positions of games.
#[derive(Debug, Default)]
pub struct Builder {
    hashes: Vec<u64>,
    index: Index,
    known: HashSet<u64>,
}

/// The positions of a collection, sorted.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Index {
    /// Sorted; `places` goes with it.
    hashes: Vec<u64>,
    /// Where in `steps` the position stands.
    places: Vec<u32>,
    /// The moves of all games, one after the other, each game with an
    /// [`END`].
    steps: Vec<u16>,
    /// Where in `steps` each game begins.
    begins: Vec<u32>,
    headers: Vec<Header>,
    /// Start positions that are not the initial one, by game.
    starts: Vec<(u32, Box<Chess>)>,
}

/// Stands for the end of a game among moves: no man moves from a1 to a1.
const END: u16 = 0;

impl Builder {
    /// An index of no game.
    pub fn new() -> Builder {
        Builder::default()
    }

    /// Goes on with what was collected before.
    pub fn onto(index: Index) -> Builder {
        let hashes = index.by_place();
        let known = (0..index.games()).map(|game| index.mark(game)).collect();
        Builder {
            hashes,
            index,
            known,
        }
    }

    /// Takes the main line of a game in.
    ///
    /// # Errors
    /// Says why it is left out.
    pub fn add(&mut self, game: &Draft) -> Result<(), LeftOut> {
        self.take(Played::of(game)?)
    }

    /// Takes a game in that was played through, such as one of another index: so that
    /// parts of a collection become one, whoever indexed them.
    ///
    /// # Errors
    /// Says why it is left out.
    pub fn take(&mut self, game: Played) -> Result<(), LeftOut> {
        let Played { header, line } = game;
        let Ok(begin) = u32::try_from(self.index.steps.len()) else {
            return Err(LeftOut::Full);
        };
        if begin.checked_add(line.steps.len() as u32).is_none() {
            return Err(LeftOut::Full);
        }
        if !self.known.insert(mark(&header, &line.start, &line.steps)) {
            return Err(LeftOut::Twice);
        }
        if let Some(start) = line.start {
            let number = self.index.begins.len() as u32;
            self.index.starts.push((number, start));
        }
        self.index.begins.push(begin);
        self.index.headers.push(header);
        self.index.steps.extend(line.steps);
        self.hashes.extend(line.hashes);
        Ok(())
    }

    /// Games taken in so far.
    pub fn games(&self) -> usize {
        self.index.games()
    }

    /// Positions taken in so far.
    pub fn positions(&self) -> usize {
        self.hashes.len()
    }

    /// Sorts what was collected.
    pub fn index(self) -> Index {
        let Builder {
            hashes, mut index, ..
        } = self;
        let mut pairs: Vec<(u64, u32)> = hashes.into_iter().zip(0..).collect();
        pairs.sort_unstable();
        index.hashes = pairs.iter().map(|(hash, _)| *hash).collect();
        index.places = pairs.iter().map(|(_, place)| *place).collect();
        index
    }
}

impl Index {
    /// Games in the collection.
    pub fn games(&self) -> usize {
        self.begins.len()
    }

    /// Positions in it, every time one occurs counted.
    pub fn positions(&self) -> usize {
        self.hashes.len()
    }

    /// Bytes that the positions take in memory.
    pub fn bytes(&self) -> usize {
        self.hashes.len() * size_of::<u64>()
            + self.places.len() * size_of::<u32>()
            + self.steps.len() * size_of::<u16>()
            + self.begins.len() * size_of::<u32>()
    }

    /// Bytes that the names and results of the games take.
    pub fn header_bytes(&self) -> usize {
        let texts = |h: &Header| {
            h.white.len() + h.black.len() + h.event.len() + h.date.len() + h.result.len()
        };
        let all: usize = self.headers.iter().map(texts).sum();
        all + self.headers.len() * size_of::<Header>()
    }

    /// The game of the collection with the names, result and moves of this one.
    pub fn same_as(&self, game: &Draft) -> Option<usize> {
        let line = Line::of(game)?;
        let header = header(game);
        let same = |&game: &usize| {
            self.headers[game] == header
                && self.steps(game) == line.steps
                && self.start(game) == line.start.as_deref()
        };
        (0..self.games()).find(same)
    }

    /// The games in which a position occurred, in the collection's order, each
    /// once.
    pub fn seen(&self, position: &Chess) -> Vec<Occurrence<'_>> {
        let sought = hash(position);
        let from = self.hashes.partition_point(|&h| h < sought);
        let like = self.hashes[from..]
            .iter()
            .take_while(|&&h| h == sought)
            .count();
        let mut found: Vec<Occurrence> = Vec::new();
        for &place in &self.places[from..from + like] {
            let game = self.begins.partition_point(|&begin| begin <= place) - 1;
            if found.last().is_some_and(|last| last.game == game) {
                continue;
            }
            let ply = (place - self.begins[game]) as usize;
            if let Some(at) = self.replayed(game, ply)
                && same(&at, position)
            {
                found.push(Occurrence {
                    game,
                    header: &self.headers[game],
                    ply,
                    next: unpacked(&at, self.steps[place as usize]),
                });
            }
        }
        found
    }

    /// Its games, in their order, as they are taken in or looked at elsewhere.
    pub fn played(&self) -> impl Iterator<Item = Played> {
        let hashes = self.by_place();
        (0..self.games()).map(move |game| {
            let steps = self.steps(game).to_vec();
            let begin = self.begins[game] as usize;
            Played {
                header: self.headers[game].clone(),
                line: Line {
                    start: self.start(game).map(|start| Box::new(start.clone())),
                    hashes: hashes[begin..begin + steps.len()].to_vec(),
                    steps,
                },
            }
        })
    }

    /// The hash of each place.
    fn by_place(&self) -> Vec<u64> {
        let mut hashes = vec![0; self.hashes.len()];
        for (hash, place) in std::iter::zip(&self.hashes, &self.places) {
            hashes[*place as usize] = *hash;
        }
        hashes
    }

    /// The position of a game after so many plies.
    fn replayed(&self, game: usize, plies: usize) -> Option<Chess> {
        let mut at = self.start(game).cloned().unwrap_or_default();
        for &step in &self.steps(game)[..plies] {
            let mv = unpacked(&at, step)?;
            at.play_unchecked(mv);
        }
        Some(at)
    }

    /// Where a game starts, if not at the initial position.
    fn start(&self, game: usize) -> Option<&Chess> {
        let starts = &self.starts;
        let place = starts.binary_search_by_key(&game, |(number, _)| *number as usize);
        place.ok().map(|place| &*starts[place].1)
    }

    /// The moves of a game, with their [`END`].
    fn steps(&self, game: usize) -> &[u16] {
        let end = self.begins.get(game + 1).map(|end| *end as usize);
        &self.steps[self.begins[game] as usize..end.unwrap_or(self.steps.len())]
    }

    fn mark(&self, game: usize) -> u64 {
        let start = self.start(game).map(|start| Box::new(start.clone()));
        mark(&self.headers[game], &start, self.steps(game))
    }
}

/// A game that was played through, ready to be taken in or looked at.
#[derive(Debug)]
pub struct Played {
    header: Header,
    line: Line,
}

impl Played {
    /// Plays a game through.
    ///
    /// # Errors
    /// If it has no legal start.
    pub fn of(game: &Draft) -> Result<Played, LeftOut> {
        Ok(Played {
            header: header(game),
            line: Line::of(game).ok_or(LeftOut::NoStart)?,
        })
    }
}

/// A game's main line.
#[derive(Debug)]
struct Line {
    /// `None` for the initial position.
    start: Option<Box<Chess>>,
    hashes: Vec<u64>,
    /// The moves, and [`END`].
    steps: Vec<u16>,
}

impl Line {
    /// `None` without a legal start.
    fn of(game: &Draft) -> Option<Line> {
        let start = match game.start_fen() {
            None => None,
            Some(text) => Some(Box::new(fen::read(text).ok()?)),
        };
        let mut at = start.as_deref().cloned().unwrap_or_default();
        let (mut hashes, mut steps) = (Vec::new(), Vec::new());
        let mut node = NodeId::ROOT;
        loop {
            hashes.push(hash(&at));
            let next = game.node(node).and_then(|n| n.children.first()).copied();
            let played = next.and_then(|id| Some((id, read(&at, &game.node(id)?.text)?)));
            let Some((id, mv)) = played else { break };
            steps.push(packed(mv));
            at.play_unchecked(mv);
            node = id;
        }
        steps.push(END);
        Some(Line {
            start,
            hashes,
            steps,
        })
    }
}

/// Tells one game from another.
fn mark(header: &Header, start: &Option<Box<Chess>>, steps: &[u16]) -> u64 {
    let mut hasher = DefaultHasher::new();
    header.hash(&mut hasher);
    start.as_deref().map(hash).hash(&mut hasher);
    steps.hash(&mut hasher);
    hasher.finish()
}

/// The moves played in a position with their scores, the most frequent first.
pub fn played_next(seen: &[Occurrence]) -> Vec<(Move, Score)> {
    let mut moves: Vec<(Move, Score)> = Vec::new();
    for occurrence in seen {
        let Some(mv) = occurrence.next else { continue };
        let at = moves.iter().position(|(m, _)| *m == mv).unwrap_or_else(|| {
            moves.push((mv, Score::default()));
            moves.len() - 1
        });
        moves[at].1.count(&occurrence.header.result);
    }
    moves.sort_by_key(|(_, score)| std::cmp::Reverse(score.games));
    moves
}

impl Score {
    /// The score of all games.
    pub fn of(seen: &[Occurrence]) -> Score {
        let mut score = Score::default();
        for occurrence in seen {
            score.count(&occurrence.header.result);
        }
        score
    }

    fn count(&mut self, result: &str) {
        self.games += 1;
        match result {
            "1-0" => self.white += 1,
            "0-1" => self.black += 1,
            "1/2-1/2" => self.draws += 1,
            _ => {}
        }
    }
}

fn header(game: &Draft) -> Header {
    let tag = |name: &str| {
        let value = game.tag(name).unwrap_or("").trim();
        let known = value.chars().any(|c| !"?.".contains(c));
        if known {
            value.to_owned()
        } else {
            String::new()
        }
    };
    Header {
        white: tag("White"),
        black: tag("Black"),
        event: tag("Event"),
        date: tag("Date"),
        result: game.result.clone(),
    }
}

fn hash(position: &Chess) -> u64 {
    let Zobrist64(hash) = position.zobrist_hash(EnPassantMode::Legal);
    hash
}

fn same(a: &Chess, b: &Chess) -> bool {
    a.board() == b.board()
        && a.turn() == b.turn()
        && a.castles().castling_rights() == b.castles().castling_rights()
        && a.legal_ep_square() == b.legal_ep_square()
}

/// A move as typed: plainly first, since most are plain SAN, then leniently.
fn read(position: &Chess, text: &str) -> Option<Move> {
    let plain = San::from_ascii(text.trim_end_matches(['+', '#']).as_bytes());
    plain
        .ok()
        .and_then(|san| san.to_move(position).ok())
        .or_else(|| moves::read(position, text).ok())
}

/// From, to and promotion in 15 bits.
fn packed(mv: Move) -> u16 {
    let from = mv.from().map_or(0, u16::from);
    let promotion = mv.promotion().map_or(0, |role| role as u16);
    promotion << 12 | from << 6 | u16::from(mv.to())
}

fn unpacked(position: &Chess, step: u16) -> Option<Move> {
    if step == END {
        return None;
    }
    let square = |bits: u16| Square::new(u32::from(bits & 63));
    let promotion = match step >> 12 {
        0 => None,
        // Bytes that came from elsewhere may name no man.
        role => Some(*Role::ALL.get(usize::from(role) - 1)?),
    };
    let (from, to) = (square(step >> 6), square(step));
    let mut legal = position.legal_moves().into_iter();
    legal.find(|mv| mv.from() == Some(from) && mv.to() == to && mv.promotion() == promotion)
}

#[cfg(test)]
mod tests {
    use super::*;
    use model::pgn_read;

    fn index(text: &str) -> Index {
        let mut builder = Builder::new();
        for game in pgn_read::read(text) {
            assert!(game.faults.is_empty(), "{:?}", game.faults);
            builder.add(&game.draft).unwrap();
        }
        builder.index()
    }

    fn after(line: &str) -> Chess {
        let mut at = Chess::default();
        for text in line.split_whitespace() {
            let mv = moves::read(&at, text).unwrap();
            at.play_unchecked(mv);
        }
        at
    }

    const CLUB: &str = "[White \"Quill\"]\n[Black \"Brill\"]\n[Date \"2024.10.03\"]\n\n1. d4 d5 2. c4 e6 3. Nc3 (3. Nf3 c6) Nf6 1-0\n
[White \"Brill\"]\n[Black \"Lund\"]\n\n1. c4 e6 2. Nc3 d5 3. d4 c5 1/2-1/2\n
[White \"Lund\"]\n[Black \"Quill\"]\n\n1. d4 d5 2. c4 e6 0-1\n";

    #[test]
    fn a_position_is_found_however_it_was_reached() {
        let index = index(CLUB);
        let seen = index.seen(&after("c4 d5 d4 e6 Nc3"));
        let games: Vec<_> = seen.iter().map(|o| (o.game, o.ply)).collect();
        assert_eq!(games, [(0, 5), (1, 5)]);
        assert_eq!(seen[0].header.white, "Quill");
        assert_eq!(seen[0].header.date, "2024.10.03");
        let next: Vec<_> = seen.iter().map(|o| moves::uci(o.next.unwrap())).collect();
        assert_eq!(next, ["g8f6", "c7c5"]);
        let score = Score::of(&seen);
        assert_eq!(
            (score.games, score.white, score.draws, score.black),
            (2, 1, 1, 0)
        );
    }

    #[test]
    fn next_moves_are_counted_and_ends_are_none() {
        let index = index(CLUB);
        let seen = index.seen(&after("d4 d5 c4 e6"));
        assert_eq!(seen.len(), 2);
        assert_eq!(seen[1].next, None);
        let next = played_next(&seen);
        assert_eq!((next.len(), next[0].1.games, next[0].1.white), (1, 1, 1));
        let first = played_next(&index.seen(&Chess::default()));
        let counts: Vec<_> = first
            .iter()
            .map(|(m, s)| (moves::uci(*m), s.games))
            .collect();
        assert_eq!(counts, [("d2d4".to_owned(), 2), ("c2c4".to_owned(), 1)]);
    }

    #[test]
    fn side_lines_and_new_positions_are_not_seen() {
        let index = index(CLUB);
        assert_eq!(index.seen(&after("d4 d5 c4 e6 Nf3")), []);
        assert_eq!(index.seen(&after("e4")), []);
    }

    #[test]
    fn rights_and_en_passant_tell_positions_apart() {
        let index = index("1. e4 e5 2. Ke2 Ke7 3. Ke1 Ke8 4. Nf3 *\n");
        assert_eq!(index.seen(&after("e4 e5 Nf3")), []);
        let passing = super::tests::index("1. e4 a6 2. e5 d5 *\n");
        assert_eq!(passing.seen(&after("e4 d6 e5 d5 Nf3 a6 Ng1")), []);
        assert_eq!(passing.seen(&after("e4 a6 e5 d5")).len(), 1);
    }

    #[test]
    fn a_position_that_comes_twice_counts_once() {
        let index = index("1. Nf3 Nf6 2. Ng1 Ng8 3. Nf3 d5 1/2-1/2\n");
        let seen = index.seen(&after("Nf3"));
        assert_eq!((seen.len(), seen[0].ply), (1, 1));
    }

    #[test]
    fn every_position_of_every_game_is_found_with_its_next_move() {
        // Promotion, castling and en passant among the moves.
        let text = "1. e4 d5 2. e5 f5 3. exf6 Nc6 4. fxg7 Nf6 5. gxh8=N d4 6. Nf3 d3 7. Bxd3 Bg4 8. O-O e6 9. h3 Qd7 10. hxg4 O-O-O 1-0\n
[SetUp \"1\"]\n[FEN \"7k/P7/8/8/8/8/8/K7 w - - 0 1\"]\n\n1. a8=Q+ Kg7 2. Qb8 *\n";
        let index = index(text);
        for (game, read) in pgn_read::read(text).iter().enumerate() {
            let resolution = read.draft.resolve();
            let mut at = NodeId::ROOT;
            let mut ply = 0;
            loop {
                let seen = index.seen(resolution.position(at).unwrap());
                let here = seen.iter().find(|o| o.game == game).unwrap();
                assert_eq!(here.ply, ply);
                let next = read.draft.node(at).unwrap().children.first().copied();
                let played = next.map(|id| resolution.steps[id.0 as usize].as_ref().unwrap().mv);
                assert_eq!(here.next, played);
                let Some(id) = next else { break };
                (at, ply) = (id, ply + 1);
            }
        }
        assert_eq!(index.positions(), 21 + 4);
        assert_eq!(index.bytes(), 14 * 25 + 4 * 2);
    }

    #[test]
    fn a_game_without_a_legal_start_is_left_out() {
        let games = pgn_read::read("[FEN \"8/8/8/8/8/8/8/8 w - - 0 1\"]\n\n*\n");
        let mut builder = Builder::new();
        assert_eq!(builder.add(&games[0].draft), Err(LeftOut::NoStart));
        assert_eq!(builder.index().games(), 0);
    }

    #[test]
    fn a_collection_grows_and_takes_no_game_twice() {
        let games = pgn_read::read(CLUB);
        let (first, rest) = games.split_first().unwrap();
        let mut builder = Builder::new();
        builder.add(&first.draft).unwrap();
        let mut builder = Builder::onto(builder.index());
        assert_eq!(builder.add(&first.draft), Err(LeftOut::Twice));
        for game in rest {
            builder.add(&game.draft).unwrap();
        }
        assert_eq!(builder.index(), index(CLUB));
    }

    #[test]
    fn parts_of_a_collection_become_the_index_of_all_of_it() {
        let text = format!("{CLUB}\n[FEN \"7k/P7/8/8/8/8/8/K7 w - - 0 1\"]\n\n1. a8=Q+ Kg7 *\n");
        let games = pgn_read::read(&text);
        let mut builder = Builder::new();
        for halves in [games.split_at(2), games.split_at(3)] {
            for half in [halves.0, halves.1] {
                let mut part = Builder::new();
                half.iter().for_each(|game| part.add(&game.draft).unwrap());
                for game in part.index().played() {
                    let known = builder.games() == games.len();
                    let twice = known.then_some(LeftOut::Twice);
                    assert_eq!(builder.take(game).err(), twice);
                }
            }
        }
        assert_eq!(builder.index(), index(&text));
    }

    #[test]
    fn a_game_finds_itself_in_the_collection() {
        let index = index(CLUB);
        let games = pgn_read::read(CLUB);
        for (number, game) in games.iter().enumerate() {
            assert_eq!(index.same_as(&game.draft), Some(number));
        }
        let other = pgn_read::read(&CLUB.replace("Quill", "Quilt"));
        assert_eq!(index.same_as(&other[0].draft), None);
    }
}
