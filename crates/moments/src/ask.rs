//! Questions about single positions, and what answers them.
//!
//! Every question stands for itself, is plain text, and is answered from empty
//! tables: who answers it, and what else was asked before, changes nothing. So
//! pages and the command line may spread questions over workers, and go on
//! tomorrow with what was answered today. Repetitions of the game are not
//! looked at: the student gets the position without its past.

use shakmaty::{Chess, Move};

use super::study::{self, Study};
use check::{self, Judge};
use model::notation::{fen, moves};
use model::tongue::Speech;
use prove::Watch;
use search::{Grade, Limits, Line, Search, Value};
use tables::Tables;

/// A question about one position of a game.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "snake_case")
)]
pub enum Question {
    /// The first pass: the three best lines, cheaply.
    Glance {
        /// Half moves played before it.
        ply: usize,
        /// The position.
        fen: String,
        /// Positions to look at.
        nodes: u64,
    },
    /// The second pass, where the first one saw something: the four best
    /// lines, what looks good at first sight, and what the game's move brings.
    Look {
        /// Half moves played before it.
        ply: usize,
        /// The position.
        fen: String,
        /// The move of the game, in UCI.
        played: String,
        /// Positions to look at.
        nodes: u64,
    },
    /// The last pass: the checker's own question about every legal move, and
    /// where one or two are right, why, and why others fail.
    Claim {
        /// Half moves played before it.
        ply: usize,
        /// With the game's own clocks.
        fen: String,
        /// What is to be proved or searched.
        question: check::Question,
        /// In UCI: moves on which it depends, to be searched with more effort.
        closer: Vec<String>,
        /// The move of the game, in UCI.
        played: String,
        /// The square on which the move before captured, if it did.
        taken_on: Option<String>,
        /// How reasons are told.
        speech: Speech,
        /// Positions to look at.
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
    /// To a glance.
    Glance {
        /// Half moves played before it.
        ply: usize,
        /// The best lines.
        lines: Vec<Seen>,
        /// Positions looked at.
        nodes: u64,
    },
    /// To a look.
    Look {
        /// Half moves played before it.
        ply: usize,
        /// What was seen.
        look: Look,
        /// Positions looked at.
        nodes: u64,
    },
    /// To a claim.
    Claim {
        /// Half moves played before it.
        ply: usize,
        /// What was proved or searched.
        answer: check::Answer,
        /// What there is to say of it, if the claim holds.
        study: Option<Box<Study>>,
        /// Positions looked at.
        nodes: u64,
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
    /// How sure the value is.
    pub grade: Grade,
}

/// What the second pass sees.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Look {
    /// The four best, the best first, and the game's before them if it turned
    /// out better.
    pub lines: Vec<Seen>,
    /// The best move at depth 1, 2, ... `SIGHT` plies, in UCI.
    pub sight: Vec<String>,
    /// The game's move, if it is not among the lines.
    pub played: Option<Seen>,
}

/// To this depth it is seen what looks good at first sight.
pub const SIGHT: u8 = 7;

/// So many moves may be right at a moment, and so many where one is praised.
pub const MOST_ACCEPTED: usize = 3;
/// The same of a moment whose move of the game is praised.
pub const MOST_PRAISED: usize = 8;
/// Doublings of the effort for moves on which it depends, and for those where none is
/// found right.
const CLOSER: [u8; 2] = [1, 3];

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
    answer_with(question, &Tables::new(), watch)
}

/// The same with endgame tables from elsewhere.
pub fn answer_with(question: &Question, tables: &Tables, watch: &mut dyn Watch) -> Option<Answer> {
    let mut watch = Heeded {
        watch,
        stopped: false,
    };
    let answer = match question {
        Question::Glance { ply, fen, nodes } => {
            let position = fen::read(fen).ok()?;
            let mut search = Search::with_tables(TABLE / 2, tables.clone());
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
            nodes,
        } => {
            let position = fen::read(fen).ok()?;
            let mut search = Search::with_tables(TABLE, tables.clone());
            let look = look(&mut search, &position, played, *nodes, &mut watch);
            Answer::Look {
                ply: *ply,
                look,
                nodes: search.nodes,
            }
        }
        Question::Claim {
            ply,
            fen,
            question,
            closer,
            played,
            taken_on,
            speech,
            nodes,
        } => {
            let position = fen::read(fen).ok()?;
            let played = moves::read_uci(&position, played)?;
            let mut judge = Judge::with_tables(2 * TABLE, tables.clone());
            judge.set_budget(Some(*nodes));
            let mut answer = judge.answer(question, &mut watch);
            look_closer(&mut judge, &mut answer, closer, &mut watch);
            let right = answer.rulings.iter().filter(|r| r.holds()).count();
            let taken_on = taken_on.as_ref().and_then(|square| square.parse().ok());
            let studied = (1..=MOST_PRAISED)
                .contains(&right)
                .then(|| study::study(&position, &answer, played, taken_on, tables, &mut watch));
            let more = studied.as_ref().map_or(0, |(_, nodes)| *nodes);
            Answer::Claim {
                ply: *ply,
                nodes: answer.nodes + more,
                answer,
                study: studied.map(|(study, _)| {
                    Box::new(Study {
                        speech: speech.clone(),
                        ..study
                    })
                }),
            }
        }
    };
    (!watch.stopped).then_some(answer)
}

/// Asks again, with more effort, about moves that a search ruled on; and with more yet
/// where none is right, though the look had seen one that was.
fn look_closer(
    judge: &mut Judge,
    answer: &mut check::Answer,
    closer: &[String],
    watch: &mut dyn Watch,
) {
    if answer.question.goal.forced().is_some() || closer.is_empty() {
        return;
    }
    for more in CLOSER {
        let again = check::Question {
            moves: closer.to_vec(),
            effort: answer.question.effort + more,
            ..answer.question.clone()
        };
        let better = judge.answer(&again, watch);
        answer.nodes += better.nodes;
        for (mv, ruling) in std::iter::zip(closer, better.rulings) {
            let place = answer.question.moves.iter().position(|m| m == mv);
            if let Some(place) = place.filter(|_| !ruling.is_open()) {
                answer.rulings[place] = ruling;
            }
        }
        if answer.rulings.iter().any(|ruling| ruling.holds()) {
            return;
        }
    }
}

fn look(
    search: &mut Search,
    position: &Chess,
    played: &str,
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
        let best = search
            .lines(position, &[], &limits, watch)
            .into_iter()
            .next();
        look.sight
            .extend(best.map(|line| moves::uci(line.moves[0])));
    }
    look.lines = lines(search, position, nodes, 4, None, watch);
    let listed = look.lines.iter().any(|line| line.moves[0] == played);
    if let Some(mv) = moves::read_uci(position, played).filter(|_| !listed) {
        let seen = lines(search, position, nodes / 3, 1, Some(vec![mv]), watch).pop();
        // It may turn out better than what the search would play.
        let best = look
            .lines
            .first()
            .map_or(i32::MIN, |line| points(line.value));
        match seen {
            Some(seen) if points(seen.value) >= best.saturating_add(CLEARLY) => {
                look.lines.insert(0, seen);
            }
            seen => look.played = seen,
        }
    }
    look
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
