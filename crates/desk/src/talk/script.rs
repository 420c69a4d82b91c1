//! The steps of a talk: the moves of the game, and at each question the question
//! itself, its hints, the answer move by move, and the reasons one by one. What
//! stands on the board at a step, and what the speaker has to say there.

use keyproof::check::Goal;
use keyproof::draft::NodeId;
use keyproof::explain::Explanation;
use keyproof::marks::Mark;
use keyproof::notation::moves;
use keyproof::players;
use keyproof::puzzle::{Posed, Puzzle};
use keyproof::tongue::{say, tr};
use serde::{Deserialize, Serialize};
use shakmaty::{Chess, Move, Position};

use crate::view_model::ViewModel;
use crate::work::{Sheet, drawn, joined, title, told};

/// A step of a talk.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Spot {
    /// Moves of the main line that are played.
    pub at: usize,
    pub part: Part,
}

/// What is shown at a place of the main line. Numbers of hints and reasons begin
/// with 0, those of moves with 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Part {
    /// The position of the game.
    Game,
    Question,
    Hint(usize),
    /// So many moves of the answer.
    Answer(usize),
    Why(usize),
}

impl Part {
    /// Whether the answer is still to be found.
    pub fn asks(self) -> bool {
        matches!(self, Part::Question | Part::Hint(_))
    }
}

/// A puzzle, a lesson or a game as the steps of a talk.
pub struct Script<'a> {
    pub sheet: &'a Sheet,
    pub model: &'a ViewModel,
    main: Vec<NodeId>,
}

/// A question of the script.
pub struct Question<'a> {
    pub puzzle: &'a Puzzle,
    /// Why its key works and other moves fail, once that is known.
    pub told: Option<&'a Explanation>,
    /// For each node of the puzzle, that of the sheet.
    nodes: Option<&'a [NodeId]>,
}

/// Where a move of the solver is looked for.
pub struct Turn {
    /// The node of the puzzle.
    pub node: NodeId,
    pub position: Chess,
    pub goal: Goal,
}

/// What stands on the board.
pub struct Seen {
    pub position: Chess,
    pub last: Option<Move>,
    pub marks: Vec<Mark>,
}

impl<'a> Script<'a> {
    /// The script of a sheet; `None` where its first position is not legal.
    pub fn of(sheet: &'a Sheet, model: &'a ViewModel) -> Option<Script<'a>> {
        let main = model.resolved.main_line();
        (!main.is_empty()).then_some(Script { sheet, model, main })
    }
    /// The question after so many moves of the main line.
    pub fn question(&self, at: usize) -> Option<Question<'a>> {
        let model = self.model;
        let Some(lesson) = &model.lesson else {
            let puzzle = model.puzzle().filter(|_| at == 0 && !model.bare_game)?;
            return Some(Question {
                puzzle,
                told: model.explanation(),
                nodes: None,
            });
        };
        let asked = lesson.at(*self.main.get(at)?)?;
        Some(Question {
            puzzle: asked.puzzle()?,
            told: asked
                .inquiry
                .as_ref()
                .and_then(|inquiry| model.explanation_of(Some(inquiry))),
            nodes: Some(&asked.excerpt.nodes),
        })
    }
    /// Whether it is one puzzle, without a game around it.
    fn is_puzzle(&self) -> bool {
        self.model.lesson.is_none() && self.question(0).is_some()
    }
    /// All steps, in their order.
    pub fn spots(&self) -> Vec<Spot> {
        let one = self.is_puzzle();
        let places = if one { 1 } else { self.main.len() };
        let mut spots = Vec::new();
        for at in 0..places {
            let spot = |part| Spot { at, part };
            if !one {
                spots.push(spot(Part::Game));
            }
            let Some(question) = self.question(at) else {
                continue;
            };
            spots.push(spot(Part::Question));
            spots.extend((0..question.hints().len()).map(|n| spot(Part::Hint(n))));
            spots.extend((1..=question.answer().len()).map(|n| spot(Part::Answer(n))));
            spots.extend((0..question.whys()).map(|n| spot(Part::Why(n))));
        }
        spots
    }
    /// The last step that is there, up to this one.
    pub fn settle(&self, spot: Spot) -> Spot {
        let spots = self.spots();
        let before = spots.partition_point(|other| *other <= spot);
        spots[before.saturating_sub(1)]
    }
    /// The step after this one, or before it.
    pub fn beside(&self, spot: Spot, forward: bool) -> Option<Spot> {
        let spots = self.spots();
        match forward {
            true => spots.into_iter().find(|other| *other > spot),
            false => spots.into_iter().rev().find(|other| *other < spot),
        }
    }
    /// The next question, or the end of the line.
    pub fn next_question(&self, spot: Spot) -> Option<Spot> {
        let spots = self.spots();
        let asks = |other: &&Spot| **other > spot && other.part == Part::Question;
        let next = spots.iter().find(asks).or(spots.last());
        next.copied().filter(|other| *other > spot)
    }
    /// What stands on the board at a step.
    pub fn seen(&self, spot: Spot) -> Seen {
        let node = self.node(spot.at);
        let model = self.model;
        let game = || Seen {
            position: model.position(node).cloned().unwrap_or_default(),
            last: model.mv(node),
            marks: self.sheet.draft.node(node).map_or(vec![], drawn),
        };
        let Some(question) = self.question(spot.at) else {
            return game();
        };
        let played = |moves: &[Move], marks| {
            let mut position = question.puzzle.start().clone();
            for &mv in moves {
                position.play_unchecked(mv);
            }
            Seen {
                position,
                last: moves.last().copied(),
                marks,
            }
        };
        match spot.part {
            Part::Game | Part::Question | Part::Hint(_) => game(),
            Part::Answer(n) => {
                let answer = question.answer();
                let moves: Vec<Move> = answer.iter().take(n).map(|(_, mv)| *mv).collect();
                let node = answer.get(n - 1).and_then(|(own, _)| question.node(*own));
                let node = node.and_then(|node| self.sheet.draft.node(node));
                played(&moves, node.map_or(vec![], drawn))
            }
            Part::Why(n) => match question.told.and_then(|told| told.whys.get(n)) {
                Some(why) => {
                    let line = question.line();
                    let shown = line.len().min(2 * usize::from(why.at) + 1);
                    played(&line[..shown], why.marks())
                }
                None => game(),
            },
        }
    }
    /// The speaker's own words at a step, as students read them.
    pub fn notes(&self, spot: Spot) -> Vec<String> {
        let node = match spot.part {
            Part::Answer(n) => self.question(spot.at).and_then(|question| {
                let (own, _) = *question.answer().get(n - 1)?;
                question.node(own)
            }),
            _ => Some(self.node(spot.at)),
        };
        let Some(node) = node.and_then(|id| Some((id, self.sheet.draft.node(id)?))) else {
            return vec![];
        };
        let (id, node) = node;
        let words = [joined(&node.before), crate::work::words(node)];
        let words = words.into_iter().filter(|words| !words.is_empty());
        words.map(|words| self.model.filled(&words, id)).collect()
    }
    /// A step in a few words: "3...Nf6", "the question", "a hint".
    pub fn name(&self, spot: Spot) -> String {
        match spot.part {
            Part::Game if spot.at == 0 => tr("the start").into(),
            Part::Game => self.moves(self.node(spot.at)),
            Part::Question => tr("the question").into(),
            Part::Hint(n) => say!("hint {n}", n = (n + 1).to_string()),
            Part::Answer(n) => {
                let question = self.question(spot.at);
                let answer = question.map_or(vec![], |question| {
                    let moves = question.answer().into_iter().map(|(_, mv)| mv);
                    moves.take(n).collect()
                });
                let Some((last, before)) = answer.split_last() else {
                    return String::new();
                };
                let mut position = self
                    .seen(Spot {
                        at: spot.at,
                        part: Part::Question,
                    })
                    .position;
                before.iter().for_each(|&mv| position.play_unchecked(mv));
                numbered(&position, &[*last])
            }
            Part::Why(n) => {
                let question = self.question(spot.at);
                let told = question.and_then(|question| question.told);
                let why = told.and_then(|told| told.whys.get(n));
                why.map_or(String::new(), |why| why.title.clone())
            }
        }
    }
    /// What a question is called among the moments of the talk: "4. White to move and
    /// mate in one."
    pub fn heading(&self, at: usize) -> String {
        let Some(question) = self.question(at) else {
            return match at {
                0 => self.title(),
                _ => self.moves(self.node(at)),
            };
        };
        let start = question.puzzle.start();
        let task = question.puzzle.task();
        match self.is_puzzle() {
            true => task,
            false => {
                let dots = start.turn().fold_wb(".", "...");
                format!("{}{dots} {task}", start.fullmoves())
            }
        }
    }
    /// The players, or else the title.
    pub fn title(&self) -> String {
        let draft = &self.sheet.draft;
        let both = told(draft, "White").is_some() && told(draft, "Black").is_some();
        let players = players::players(draft).filter(|_| both);
        players.or_else(|| title(draft)).unwrap_or_default()
    }
    /// Whether Black's side is below: the side that is asked first.
    pub fn black_below(&self) -> bool {
        let asked = (0..self.main.len()).find_map(|at| self.question(at));
        asked.is_some_and(|question| question.puzzle.black_below())
    }
    /// Where the solver is to find a move at a step, if he is.
    pub fn turn(&self, spot: Spot) -> Option<Turn> {
        let question = self.question(spot.at)?;
        let goal = Goal::of(question.puzzle);
        match spot.part {
            Part::Question | Part::Hint(_) => Some(Turn {
                node: NodeId::ROOT,
                position: question.puzzle.start().clone(),
                goal,
            }),
            Part::Answer(n) => {
                let answer = question.answer();
                let pair = if goal.shared() { 1 } else { 2 };
                if n >= answer.len() || n % pair != 0 {
                    return None;
                }
                let mut asked = goal;
                for _ in 0..n / pair {
                    asked = asked.next()?;
                }
                Some(Turn {
                    node: answer[n - 1].0,
                    position: self.seen(spot).position,
                    goal: asked,
                })
            }
            Part::Game | Part::Why(_) => None,
        }
    }
    /// The side lines beside the move that comes next on the main line, and the one
    /// that was played, each from its first move on.
    pub fn side_lines(&self, at: usize) -> Vec<(NodeId, Vec<Move>)> {
        if self.is_puzzle() {
            return vec![];
        }
        let draft = &self.sheet.draft;
        let beside = |from: NodeId| {
            let children = draft.node(from).map_or(&[][..], |node| &node.children);
            let sides = children.iter().skip(1).copied();
            sides.filter_map(move |side| {
                let mut line = Vec::new();
                let mut next = Some(side);
                while let Some(node) = next {
                    line.push(self.model.mv(node)?);
                    next = draft.node(node).and_then(|n| n.children.first().copied());
                    next = next.filter(|&id| self.model.mv(id).is_some());
                }
                Some((from, line))
            })
        };
        match at.checked_sub(1) {
            Some(before) => beside(self.node(before)).collect(),
            None => vec![],
        }
    }
    fn node(&self, at: usize) -> NodeId {
        self.main.get(at).copied().unwrap_or(NodeId::ROOT)
    }
    fn moves(&self, node: NodeId) -> String {
        let parent = self.sheet.draft.node(node).map(|node| node.parent);
        let before = parent.and_then(|parent| self.model.position(parent));
        match (before, self.model.mv(node)) {
            (Some(before), Some(mv)) => numbered(before, &[mv]),
            _ => String::new(),
        }
    }
}

impl Question<'_> {
    /// The author's hints; none where his first is a dash.
    pub fn hints(&self) -> Vec<&str> {
        let own = (1..=9).filter_map(|i| self.puzzle.tag(&format!("Hint{i}")));
        let own: Vec<&str> = own.collect();
        match own.first() {
            Some(first) if first.trim() == "-" => vec![],
            _ => own,
        }
    }
    /// What is asked, with the moves to choose from.
    pub fn task(&self) -> String {
        let offered = self.puzzle.offered().into_iter().zip('a'..);
        let offered = offered.map(|(mv, letter)| {
            let mv = numbered(self.puzzle.start(), &[mv]);
            format!(" {letter})\u{a0}{mv}")
        });
        [self.puzzle.task()].into_iter().chain(offered).collect()
    }
    /// The main line of the solution, each move with its node; of a yes or no, what shows
    /// it.
    pub fn answer(&self) -> Vec<(NodeId, Move)> {
        let puzzle = self.puzzle;
        let shared = puzzle.stipulation().shared();
        let mut line = Vec::new();
        let mut at = NodeId::ROOT;
        let first = match puzzle.posed() {
            Posed::YesNo => puzzle.children(at).first().copied(),
            _ => None,
        };
        let right = |at| match at == NodeId::ROOT {
            true => first.or(puzzle.accepted(at).next()),
            false => puzzle.accepted(at).next(),
        };
        while let Some(accepted) = right(at) {
            line.push((accepted, puzzle.node(accepted).mv));
            at = accepted;
            if shared {
                continue;
            }
            let Some(&defence) = puzzle.children(accepted).first() else {
                break;
            };
            line.push((defence, puzzle.node(defence).mv));
            at = defence;
        }
        line
    }
    /// The answer as one line of text.
    pub fn answer_words(&self) -> String {
        let moves: Vec<Move> = self.answer().into_iter().map(|(_, mv)| mv).collect();
        numbered(self.puzzle.start(), &moves)
    }
    /// The line that the reasons are about.
    pub fn line(&self) -> Vec<Move> {
        let told = self.told.map_or(&[][..], |told| &told.line);
        moves::read_ucis(self.puzzle.start(), told)
    }
    fn whys(&self) -> usize {
        self.told.map_or(0, |told| told.whys.len())
    }
    /// The node of the sheet that a node of the puzzle is.
    fn node(&self, own: NodeId) -> Option<NodeId> {
        match self.nodes {
            Some(nodes) => nodes.get(own.0 as usize).copied(),
            None => Some(own),
        }
    }
}

/// Moves with their numbers, in the letters of the language that is spoken.
pub fn numbered(position: &Chess, line: &[Move]) -> String {
    moves::line(position, line, position.fullmoves().get())
}
