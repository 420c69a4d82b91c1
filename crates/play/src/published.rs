//! Reading a published file: what it says of its puzzles, in the form that
//! publishing writes.

use model::marks::{LineKind, Mark};
use model::notation::moves::read_uci;
use model::puzzle::Puzzle;
use shakmaty::{Board, Move, Position, Square};

use crate::failure::FailureKind;
use crate::goal::Goal;
use crate::known::{Evidence, Known, Ruling};

/// What a published file says of a puzzle.
#[derive(Clone, Debug, Default)]
pub struct Published {
    /// What is known of its moves.
    pub known: Known,
    /// Why wrong first moves fail; the line is that of the ruling.
    pub failures: Vec<(Move, FailureKind)>,
    /// The line that `whys` is about.
    pub line: Vec<Move>,
    /// Why the main line works, and what the key threatens.
    pub whys: Vec<Why>,
}

/// A sentence about a move of the main line, with its marks on the board.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Why {
    /// The solver's move, 0 for the key; the marks stand in the position after
    /// it.
    pub at: u8,
    /// About what is threatened, not about what is done.
    pub threat: bool,
    /// The reason's name in the trade.
    pub title: String,
    /// The reason in a sentence.
    pub sentence: String,
    /// Names of squares.
    pub squares: Vec<String>,
    /// Names of the squares of a line's ends.
    pub arrows: Vec<[String; 2]>,
}

impl Why {
    /// Its marks on the board: dotted for what is threatened, solid for what is
    /// done.
    pub fn marks(&self) -> Vec<Mark> {
        let kind = if self.threat {
            LineKind::Threat
        } else {
            LineKind::Answer
        };
        let square = |name: &String| name.parse::<Square>().ok();
        let rings = self.squares.iter().filter_map(square);
        let rings = rings.map(|square| Mark::Ring { square, kind });
        let lines = self.arrows.iter().filter_map(|[from, to]| {
            let (from, to) = (square(from)?, square(to)?);
            Some(Mark::Line { from, to, kind })
        });
        rings.chain(lines).collect()
    }
}

/// What parts the answers from the words of another language that follow them.
pub const WORDS: char = '~';

/// The author's marks for a board, from what a published file knows.
pub fn read_marks(answers: &str, board: &Board) -> Vec<Mark> {
    let head = ["board ", &board.to_string(), " "].concat();
    let mut lines = answers.lines();
    let line = lines.find_map(|line| line.strip_prefix(&head));
    let marks = line.unwrap_or_default().split(' ');
    marks.filter_map(Mark::read_short).collect()
}

/// Reads answers back, one [`Published`] per puzzle, in order. What does not
/// parse or is not legal is left out: the session then proves it itself.
pub fn read_answers(text: &str, puzzles: &[Puzzle]) -> Vec<Published> {
    let mut published: Vec<Published> = puzzles.iter().map(|_| Published::default()).collect();
    let mut current = None;
    for line in text.lines() {
        if let Some(index) = line.strip_prefix("puzzle ") {
            current = index.parse::<usize>().ok().filter(|&i| i < puzzles.len());
        } else if let Some(i) = current {
            match line.split_once(' ') {
                Some((kind @ ("why" | "threat"), rest)) => {
                    let why = read_why(kind == "threat", rest);
                    published[i].whys.extend(why);
                }
                Some(("line", line)) => {
                    let mut at = puzzles[i].start().clone();
                    for mv in line.split(',') {
                        let Some(mv) = read_uci(&at, mv) else { break };
                        at.play_unchecked(mv);
                        published[i].line.push(mv);
                    }
                }
                _ => {
                    read_position(line, &puzzles[i], &mut published[i]);
                }
            }
        }
    }
    published
}

fn read_why(threat: bool, text: &str) -> Option<Why> {
    let mut parts = text.splitn(4, ' ');
    let at = parts.next()?.parse().ok()?;
    let list = |part: &str| -> Vec<String> {
        let names = part.split(',').filter(|name| *name != "-");
        names.map(str::to_owned).collect()
    };
    let squares = list(parts.next()?);
    let arrows = list(parts.next()?);
    let (title, sentence) = parts.next()?.split_once(':')?;
    Some(Why {
        at,
        threat,
        squares,
        arrows: arrows
            .iter()
            .filter_map(|ends| Some([ends.get(..2)?.to_owned(), ends.get(2..)?.to_owned()]))
            .collect(),
        title: title.to_owned(),
        sentence: sentence.trim_start().to_owned(),
    })
}

fn read_position(line: &str, puzzle: &Puzzle, published: &mut Published) -> Option<()> {
    let known = &mut published.known;
    let mut words = line.split(' ');
    let path = words.next()?;
    let mut position = puzzle.start().clone();
    let mut goal = Goal::of(puzzle);
    for (ply, text) in path.split(',').filter(|_| path != "-").enumerate() {
        position.play_unchecked(read_uci(&position, text)?);
        if goal.shared() || ply % 2 == 1 {
            goal = goal.next()?;
        }
    }
    let evidence = match goal.forced() {
        Some(_) => Evidence::Proved,
        None => Evidence::searched(0),
    };
    for word in words {
        if let Some((mv, length)) = word.split_once('=') {
            let mv = read_uci(&position, mv)?;
            let length = length.parse().ok();
            known.learn_move(
                &position,
                goal,
                mv,
                Ruling::Holds {
                    length,
                    line: vec![mv],
                    evidence,
                },
            );
        } else if let Some((mv, replies)) = word.split_once('!') {
            let mv = read_uci(&position, mv)?;
            let (replies, code) = replies.split_once(';').unwrap_or((replies, ""));
            if let Some(kind) = FailureKind::decode(code).filter(|_| path == "-") {
                published.failures.push((mv, kind));
            }
            let mut line = vec![mv];
            let mut after = position.clone();
            after.play_unchecked(mv);
            for reply in replies.split(',').filter(|r| !r.is_empty()) {
                let reply = read_uci(&after, reply)?;
                after.play_unchecked(reply);
                line.push(reply);
            }
            known.learn_move(&position, goal, mv, Ruling::Fails { line, evidence });
        }
    }
    Some(())
}
