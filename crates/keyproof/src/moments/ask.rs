//! Questions about single positions, and what answers them.
//!
//! Every question stands for itself, is plain text, and is answered from empty
//! tables: who answers it, and what else was asked before, changes nothing. So
//! pages and the command line may spread questions over workers, and go on
//! tomorrow with what was answered today. Repetitions of the game are not
//! looked at: the student gets the position without its past.

use shakmaty::{Chess, EnPassantMode, Move, Position, Setup};

use crate::check::{self, Judge};
use crate::explain::exchange_gain;
use crate::notation::{fen, moves};
use crate::prove::Watch;
use crate::search::{Grade, Limits, Line, Search, Value};

/// A question about one position of a game.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "snake_case")
)]
pub enum Question {
    /// The first pass: the three best lines, cheaply.
    Glance { ply: usize, fen: String, nodes: u64 },
    /// The second pass, where the first one saw something: the four best
    /// lines, what looks good at first sight, the natural moves, the threat.
    Look {
        ply: usize,
        fen: String,
        /// The move of the game, in UCI.
        played: String,
        /// The square on which the move before captured, if it did.
        taken_on: Option<String>,
        nodes: u64,
    },
    /// The last pass: the checker's own question about every legal move.
    Claim {
        ply: usize,
        question: check::Question,
        nodes: u64,
    },
}

/// What answers a question of the same ply and kind.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "snake_case")
)]
pub enum Answer {
    Glance {
        ply: usize,
        lines: Vec<Seen>,
        nodes: u64,
    },
    Look {
        ply: usize,
        look: Look,
        nodes: u64,
    },
    Claim {
        ply: usize,
        answer: check::Answer,
    },
}

/// A line that the search saw.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Seen {
    /// UCI; never empty.
    pub moves: Vec<String>,
    /// For the side that plays the first move.
    pub value: Value,
    /// In plies.
    pub depth: u8,
    pub grade: Grade,
}

/// What the second pass sees.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Look {
    /// The four best, the best first, and the game's before them if it turned
    /// out better.
    pub lines: Vec<Seen>,
    /// The best move at depth 1, 2, ... [`SIGHT`] plies, in UCI.
    pub sight: Vec<String>,
    /// The game's move and other natural moves that are not among the lines.
    pub others: Vec<Seen>,
    /// What the other side would play if the side to move passed; none while
    /// in check.
    pub threat: Option<Seen>,
}

/// To this depth it is seen what looks good at first sight.
pub const SIGHT: u8 = 7;

/// By so much a move must be better to be put before what the search found
/// with more nodes, in hundredths of a pawn.
const CLEARLY: i32 = 50;

/// Bytes of the table that a question gets.
const TABLE: usize = 8 << 20;

/// What a value counts in hundredths of a pawn: mates count more than any
/// other value, the shorter the more.
pub fn points(value: Value) -> i32 {
    match value {
        Value::Cp(v) => v.clamp(-1500, 1500),
        Value::MateIn(n) => 3000 - i32::from(n.min(900)),
        Value::MatedIn(n) => i32::from(n.min(900)) - 3000,
    }
}

/// Answers a question; `None` when the watcher stops it, or when it cannot be
/// read.
pub fn answer(question: &Question, watch: &mut dyn Watch) -> Option<Answer> {
    let mut watch = Heeded {
        watch,
        stopped: false,
    };
    let answer = match question {
        Question::Glance { ply, fen, nodes } => {
            let position = fen::read(fen).ok()?;
            let mut search = Search::new(TABLE / 2);
            let lines = lines(&mut search, &position, *nodes, 3, None, &mut watch);
            Answer::Glance {
                ply: *ply,
                lines,
                nodes: search.nodes,
            }
        }
        Question::Look {
            ply,
            fen,
            played,
            taken_on,
            nodes,
        } => {
            let position = fen::read(fen).ok()?;
            let mut search = Search::new(TABLE);
            let look = look(
                &mut search,
                &position,
                (played, taken_on.as_deref()),
                *nodes,
                &mut watch,
            );
            Answer::Look {
                ply: *ply,
                look,
                nodes: search.nodes,
            }
        }
        Question::Claim {
            ply,
            question,
            nodes,
        } => {
            let mut judge = Judge::new(2 * TABLE);
            judge.set_budget(Some(*nodes));
            Answer::Claim {
                ply: *ply,
                answer: judge.answer(question, &mut watch),
            }
        }
    };
    (!watch.stopped).then_some(answer)
}

fn look(
    search: &mut Search,
    position: &Chess,
    (played, taken_on): (&str, Option<&str>),
    nodes: u64,
    watch: &mut dyn Watch,
) -> Look {
    let mut look = Look::default();
    for depth in 1..=SIGHT {
        let limits = Limits {
            nodes: nodes / 8,
            depth,
            lines: 1,
            moves: None,
        };
        let best = search.lines(position, &[], &limits, watch).into_iter().next();
        look.sight.extend(best.map(|line| moves::uci(line.moves[0])));
    }
    look.lines = lines(search, position, nodes, 4, None, watch);
    let listed = |look: &Look, mv: &str| look.lines.iter().any(|line| line.moves[0] == mv);
    let mut natural = vec![played.to_owned()];
    natural.extend(look.sight.iter().take(3).cloned());
    natural.extend(captures(position, taken_on).into_iter().map(moves::uci));
    let mut asked: Vec<String> = Vec::new();
    for mv in natural {
        if asked.len() < 4 && !asked.contains(&mv) && !listed(&look, &mv) {
            asked.push(mv);
        }
    }
    for mv in asked {
        if let Some(mv) = legal(position, &mv) {
            let more = if moves::uci(mv) == played { 3 } else { 6 };
            let seen = lines(search, position, nodes / more, 1, Some(vec![mv]), watch);
            look.others.extend(seen);
        }
    }
    // What was played may turn out better than what the search would play.
    let best = look.lines.first().map_or(i32::MIN, |line| points(line.value));
    let better = |seen: &Seen| seen.moves[0] == played && points(seen.value) >= best + CLEARLY;
    if let Some(at) = look.others.iter().position(better) {
        let seen = look.others.remove(at);
        look.lines.insert(0, seen);
    }
    if let Some(passed) = pass(position) {
        look.threat = lines(search, &passed, nodes / 6, 1, None, watch).pop();
    }
    look
}

/// Captures that a player looks at first: taking back, then what wins material
/// as far as exchanges tell, the most first.
fn captures(position: &Chess, taken_on: Option<&str>) -> Vec<Move> {
    let gain = |mv: &Move| {
        let back = taken_on.is_some_and(|square| square == mv.to().to_string());
        exchange_gain(position.board(), *mv) + if back { 100 } else { 0 }
    };
    let mut captures: Vec<Move> = position.capture_moves().into_iter().collect();
    captures.retain(|mv| gain(mv) >= 100);
    captures.sort_by_key(|mv| -gain(mv));
    captures.truncate(2);
    captures
}

/// The position with the other side to move; `None` in check, where nobody
/// can pass.
pub fn pass(position: &Chess) -> Option<Chess> {
    if position.is_check() {
        return None;
    }
    let mut setup: Setup = position.to_setup(EnPassantMode::Legal);
    setup.turn = !setup.turn;
    setup.ep_square = None;
    setup.position(shakmaty::CastlingMode::Standard).ok()
}

fn lines(
    search: &mut Search,
    position: &Chess,
    nodes: u64,
    count: usize,
    moves: Option<Vec<Move>>,
    watch: &mut dyn Watch,
) -> Vec<Seen> {
    let limits = Limits {
        lines: count,
        moves,
        ..Limits::nodes(nodes)
    };
    let found = search.lines(position, &[], &limits, watch);
    found.iter().map(seen).collect()
}

fn seen(line: &Line) -> Seen {
    Seen {
        moves: line.moves.iter().map(|&mv| moves::uci(mv)).collect(),
        value: line.value,
        depth: line.depth,
        grade: line.grade,
    }
}

/// A legal move from its UCI text.
pub fn legal(position: &Chess, text: &str) -> Option<Move> {
    text.parse::<shakmaty::uci::UciMove>()
        .ok()?
        .to_move(position)
        .ok()
}

/// A line from its UCI text, up to the first move that is not legal.
pub fn line(position: &Chess, text: &[String]) -> Vec<Move> {
    let mut at = position.clone();
    let mut line = Vec::with_capacity(text.len());
    for mv in text {
        let Some(mv) = legal(&at, mv) else { break };
        at.play_unchecked(mv);
        line.push(mv);
    }
    line
}

/// Remembers that it was told to stop, so that half an answer is thrown away.
struct Heeded<'a> {
    watch: &'a mut dyn Watch,
    stopped: bool,
}

impl Watch for Heeded<'_> {
    fn go_on(&mut self, nodes: u64, share: f32) -> bool {
        self.stopped |= !self.watch.go_on(nodes, share);
        !self.stopped
    }
}
