//! What has been answered so far, and what is asked next.

use std::collections::BTreeMap;

use shakmaty::{Move, Position};

use super::ask::{Answer, Look, Question, Seen, points};
use super::course::{Course, Ply};
use super::goal::{GENEROUS, goal};
use super::pace::{PASSES, Tally, pass};
use super::promise::{LOST, Promise, WON, backed_up, promise};
use super::screening::Screening;
use super::study::Study;
use check::Goal;
use check::exchange::exchange_gain;
use model::notation::{fen, moves};

/// How much may be spent on one question of each pass, in nodes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Plan {
    /// Positions that a glance may look at.
    pub glance: u64,
    /// Positions that a look may look at.
    pub look: u64,
    /// For the checker's question, as [`check::Judge::set_budget`] takes it.
    pub claim: u64,
}

impl Default for Plan {
    fn default() -> Plan {
        Plan {
            glance: 40_000,
            look: 250_000,
            claim: 1_500_000,
        }
    }
}

impl Plan {
    /// A plan that spends about so many nodes on a second look, and on the
    /// rest in proportion.
    pub fn nodes(look: u64) -> Plan {
        let usual = Plan::default();
        Plan {
            glance: (usual.glance * look / usual.look).max(1_000),
            look: look.max(1_000),
            claim: (usual.claim * look / usual.look).max(10_000),
        }
    }
}

/// All answers about one game. It can be put away as text and taken up again.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Progress {
    /// The start and the moves of the game that the answers are about.
    game: String,
    glances: BTreeMap<usize, Vec<Seen>>,
    looks: BTreeMap<usize, Look>,
    claims: BTreeMap<usize, (check::Answer, Option<Study>)>,
    nodes: u64,
    /// What the answers were given with, where that is to be remembered.
    #[cfg_attr(feature = "serde", serde(default))]
    pub plan: Option<Plan>,
}

impl Progress {
    /// Nothing answered yet about this game.
    pub fn new(course: &Course) -> Progress {
        Progress {
            game: course.text(),
            glances: BTreeMap::new(),
            looks: BTreeMap::new(),
            claims: BTreeMap::new(),
            nodes: 0,
            plan: None,
        }
    }

    /// Whether the answers are about this game.
    pub fn fits(&self, course: &Course) -> bool {
        self.game == course.text()
    }

    /// Takes an answer in.
    pub fn learn(&mut self, answer: Answer) {
        match answer {
            Answer::Glance { ply, lines, nodes } => {
                self.nodes += nodes;
                self.glances.insert(ply, lines);
            }
            Answer::Look { ply, look, nodes } => {
                self.nodes += nodes;
                self.looks.insert(ply, look);
            }
            Answer::Claim {
                ply,
                answer,
                study,
                nodes,
            } => {
                self.nodes += nodes;
                self.claims.insert(ply, (answer, study.map(|study| *study)));
            }
        }
    }

    /// Nodes spent on all answers.
    pub fn nodes(&self) -> u64 {
        self.nodes
    }

    /// All that the checker's questions brought, for checking puzzles made of
    /// the moments.
    pub fn known(&self) -> check::Known {
        let mut known = check::Known::default();
        self.claims
            .values()
            .for_each(|(answer, _)| known.learn(answer));
        known
    }

    pub(super) fn look(&self, ply: usize) -> Option<&Look> {
        self.looks.get(&ply)
    }

    pub(super) fn claim(&self, ply: usize) -> Option<&(check::Answer, Option<Study>)> {
        self.claims.get(&ply)
    }

    /// Whether it is known what is right at a ply, and why, as the game's
    /// students are spoken to now.
    fn told(&self, course: &Course, asked: &Asked) -> bool {
        let fits = |study: &Study| study.speech == course.speech;
        self.claims.get(&asked.ply).is_some_and(|(answer, study)| {
            answer.question.goal == asked.goal && study.as_ref().is_none_or(fits)
        })
    }

    /// What the positions of the game are worth, each to its side to move, backed up
    /// from its end; `None` while the first pass is not done.
    pub(super) fn values(&self, course: &Course) -> Option<Vec<i32>> {
        backed_up(course, |ply| self.glances.get(&ply))
    }

    /// What a ply gave away, in hundredths of a pawn, by the values of the game.
    pub(super) fn cost(values: &[i32], ply: usize) -> i32 {
        let (best, reached) = (values[ply], -values[ply + 1]);
        (best.clamp(-1000, 1000) - reached.clamp(-1000, 1000)).max(0)
    }

    /// The first ply that is no opening move any more; `None` while not known.
    ///
    /// Without a book: the opening lasts from the initial position for as long
    /// as the value stays within [`FLAT`] of equal, for [`OPENING`] plies at
    /// the most, and after [`GAMBITS`] plies until a daring move is played.
    fn opening_ends(&self, course: &Course) -> Option<usize> {
        if !course.from_the_start {
            return Some(0);
        }
        for (ply, at) in course.plies.iter().enumerate().take(OPENING) {
            let best = self.glances.get(&ply)?.first();
            let level = best.is_some_and(|line| points(line.value).abs() <= FLAT);
            if !level || ply >= GAMBITS && at.daring {
                return Some(ply);
            }
        }
        Some(OPENING.min(course.plies.len()))
    }

    /// What the first pass makes of a position.
    pub(super) fn glanced(&self, course: &Course, ply: usize) -> Screening {
        let (Some(lines), Some(values)) = (self.glances.get(&ply), self.values(course)) else {
            return Screening::Unknown;
        };
        let opening = self.opening_ends(course).unwrap_or(0);
        if ply < opening {
            Screening::Opening
        } else if course.position(ply).legal_moves().len() < 2 {
            Screening::Forced
        } else if values[ply] <= -LOST {
            Screening::Lost
        } else if promise(course, ply, lines, &values).is_some() {
            Screening::Seen
        } else if lines
            .get(1)
            .is_some_and(|second| points(second.value) >= WON)
        {
            Screening::Won
        } else {
            Screening::Calm
        }
    }

    /// The plies to look at, the most promising first; none before the first pass is
    /// done.
    fn to_look_at(&self, course: &Course, values: &[i32]) -> Vec<(usize, Promise)> {
        let mut all = self.worth_a_look(course, values);
        all.truncate(LOOKS);
        all
    }

    /// The plies that promise something, the most promising first.
    fn worth_a_look(&self, course: &Course, values: &[i32]) -> Vec<(usize, Promise)> {
        let opening = self.opening_ends(course).unwrap_or(0);
        let mut all: Vec<(usize, Promise)> = (opening..course.plies.len())
            .filter_map(|ply| {
                let lines = self.glances.get(&ply)?;
                Some((ply, promise(course, ply, lines, values)?))
            })
            .collect();
        all.sort_by_key(|(ply, promise)| (-promise.points(), *ply));
        all
    }

    /// The plies to ask about with what is asked, the most promising first: as many as
    /// it takes until [`CLAIMS`] have not failed to be moments.
    pub(super) fn to_ask_about(&self, course: &Course, values: &[i32]) -> Vec<Asked> {
        let looked = self.to_look_at(course, values).into_iter();
        let mut all: Vec<Asked> = looked
            .filter_map(|(ply, _)| self.asked(course, values, ply))
            .collect();
        all.sort_by_key(|asked| (-asked.points, asked.ply));
        let mut holding = 0;
        all.retain(|asked| {
            let wanted = holding < CLAIMS;
            let claim = self.claims.get(&asked.ply);
            let played = course.plies[asked.ply].played;
            let holds = |(answer, study): &(check::Answer, Option<Study>)| {
                study.is_some() && !pointless(asked.goal, answer, played)
            };
            holding += usize::from(claim.is_none_or(holds));
            wanted
        });
        all
    }

    /// What the second pass finds to ask of a position.
    fn asked(&self, course: &Course, values: &[i32], ply: usize) -> Option<Asked> {
        let look = self.looks.get(&ply)?;
        let lines: Vec<Seen> = look.lines.iter().chain(&look.played).cloned().collect();
        let promise = promise(course, ply, &lines, values)?;
        let game = -values[ply + 1];
        let played = moves::uci(course.plies[ply].played);
        let seen = lines.iter().find(|line| line.moves[0] == played);
        let worth = seen.map_or(game, |line| points(line.value).max(game));
        let goal = goal(look, &played, promise.praised().then_some(worth))?;
        let plain = !promise.praised() && plain(course, ply, look);
        let points = promise.points() - if plain { PLAIN } else { 0 };
        Some(Asked {
            ply,
            goal,
            promise,
            points,
        })
    }

    /// Whether the second pass finds anything to ask of a position.
    pub(super) fn asks(&self, course: &Course, values: &[i32], ply: usize) -> bool {
        self.asked(course, values, ply).is_some()
    }
}

/// Whether a question is asked for the sake of a daring move that is found wrong.
pub(super) fn pointless(goal: Goal, answer: &check::Answer, played: Move) -> bool {
    let played = moves::uci(played);
    let mut rulings = std::iter::zip(&answer.question.moves, &answer.rulings);
    goal == Goal::Best(GENEROUS) && !rulings.any(|(mv, ruling)| *mv == played && ruling.holds())
}

/// What is asked of a position.
pub(super) struct Asked {
    pub ply: usize,
    pub goal: Goal,
    pub promise: Promise,
    /// The more, the sooner it is asked about.
    pub points: i32,
}

/// Whether the best move of a look takes back or wins material, and looks best from the
/// first sight on.
fn plain(course: &Course, ply: usize, look: &Look) -> bool {
    let position = &course.plies[ply].before;
    let best = look.lines.first().map(|line| &line.moves[0]);
    let at_sight = look.sight.iter().all(|mv| Some(mv) == best);
    let best = best.and_then(|uci| moves::read_uci(position, uci));
    let takes = best.filter(|mv| mv.is_capture());
    at_sight
        && takes.is_some_and(|mv| {
            let back = taken_on(course, ply) == Some(mv.to().to_string());
            back || exchange_gain(position.board(), mv) >= 100
        })
}

/// What a plain move takes off the points.
pub(super) const PLAIN: i32 = 20;

/// So many positions are looked at again.
const LOOKS: usize = 14;
/// So many moments are found.
const CLAIMS: usize = 6;

/// While values stay within this, in hundredths of a pawn, early moves are
/// taken for book moves.
pub const FLAT: i32 = 120;
/// Men that are offered before so many plies belong to the opening.
pub const GAMBITS: usize = 8;
/// No opening is longer than this, in plies.
pub const OPENING: usize = 20;
/// What must still be answered, the most promising first. More may follow
/// once these are answered; none left means that the moments are final.
pub fn questions(course: &Course, progress: &Progress, plan: &Plan) -> Vec<Question> {
    let Some(values) = progress.values(course) else {
        return glances(course, progress, plan);
    };
    let mut open: Vec<(i32, Question)> = Vec::new();
    for (ply, promise) in progress.to_look_at(course, &values) {
        if !progress.looks.contains_key(&ply) {
            open.push((promise.points(), look(course, plan, ply)));
        }
    }
    for asked in progress.to_ask_about(course, &values) {
        if !progress.told(course, &asked) {
            open.push((asked.points, claim(course, progress, plan, &asked)));
        }
    }
    open.sort_by_key(|(points, question)| (-points, std::cmp::Reverse(pass(question))));
    open.into_iter().map(|(_, question)| question).collect()
}

/// What [`questions`] leaves because other positions promise more, and what these plies
/// would be asked whatever they promise: for those who make the rules, and measure a
/// change of them by answers that are there. None before the first pass is done.
pub fn beyond(course: &Course, progress: &Progress, plan: &Plan, plies: &[usize]) -> Vec<Question> {
    let Some(values) = progress.values(course) else {
        return Vec::new();
    };
    let promising = progress.worth_a_look(course, &values).into_iter();
    let mut looked: Vec<usize> = promising.map(|(ply, _)| ply).take(2 * LOOKS).collect();
    looked.extend(
        plies
            .iter()
            .filter(|ply| !looked.contains(ply))
            .copied()
            .collect::<Vec<_>>(),
    );
    let looks = looked.iter().filter(|ply| progress.look(**ply).is_none());
    let mut open: Vec<Question> = looks.map(|&ply| look(course, plan, ply)).collect();
    for &ply in &looked {
        let asked = progress.asked(course, &values, ply);
        if let Some(asked) = asked.filter(|asked| !progress.told(course, asked)) {
            open.push(claim(course, progress, plan, &asked));
        }
    }
    open
}

fn look(course: &Course, plan: &Plan, ply: usize) -> Question {
    Question::Look {
        ply,
        fen: fen::write(course.position(ply)),
        played: moves::uci(course.plies[ply].played),
        nodes: plan.look,
    }
}

fn glances(course: &Course, progress: &Progress, plan: &Plan) -> Vec<Question> {
    (0..=course.plies.len())
        .filter(|ply| !progress.glances.contains_key(ply))
        .map(|ply| (ply, course.position(ply)))
        .filter(|(_, position)| !position.is_game_over())
        .map(|(ply, position)| Question::Glance {
            ply,
            fen: fen::write(position),
            nodes: plan.glance,
        })
        .collect()
}

fn claim(course: &Course, progress: &Progress, plan: &Plan, asked: &Asked) -> Question {
    let at = &course.plies[asked.ply];
    let look = &progress.looks[&asked.ply];
    let played = moves::uci(at.played);
    let mut closer: Vec<String> = look
        .lines
        .iter()
        .take(2)
        .map(|line| line.moves[0].clone())
        .collect();
    if asked.promise.praised() && !closer.contains(&played) {
        closer.push(played.clone());
    }
    Question::Claim {
        ply: asked.ply,
        fen: fen::write(&at.before),
        question: check::Question::about(&at.before, asked.goal, &at_issue(at, look, asked.goal)),
        closer,
        played,
        taken_on: taken_on(course, asked.ply),
        speech: course.speech.clone(),
        nodes: plan.claim,
    }
}

/// The moves that are asked about: all where something must be forced; else those that
/// may be right and those that tempt: what the second pass saw, what looks best early
/// on, the move of the game, and captures that lose nothing by counting. The rest is
/// left to whoever makes a puzzle of it.
fn at_issue(at: &Ply, look: &Look, goal: Goal) -> Vec<Move> {
    let legal: Vec<Move> = at.before.legal_moves().into_iter().collect();
    if goal.forced().is_some() {
        return legal;
    }
    let seen = look
        .lines
        .iter()
        .map(|line| &line.moves[0])
        .chain(&look.sight);
    let seen = seen.filter_map(|uci| moves::read_uci(&at.before, uci));
    let mut captures: Vec<(i32, Move)> = legal
        .iter()
        .filter(|mv| mv.is_capture())
        .map(|&mv| (exchange_gain(at.before.board(), mv), mv))
        .filter(|(gain, _)| *gain >= 0)
        .collect();
    captures.sort_by_key(|(gain, _)| -gain);
    let captures = captures.into_iter().map(|(_, mv)| mv).take(MOST_CAPTURES);
    let mut asked: Vec<Move> = Vec::new();
    for mv in std::iter::once(at.played).chain(seen).chain(captures) {
        if !asked.contains(&mv) {
            asked.push(mv);
        }
    }
    asked
}

/// Captures that are asked about because they tempt.
const MOST_CAPTURES: usize = 3;

/// The plies that are asked about or would be, the most promising first: how far the
/// first two passes see, for those who make the rules.
pub fn promising(course: &Course, progress: &Progress) -> Vec<usize> {
    let values = progress.values(course);
    let asked = values.map_or(vec![], |values| progress.to_ask_about(course, &values));
    asked.iter().map(|asked| asked.ply).collect()
}

/// How far the work is. What is asked later is not counted; [`super::Pace`]
/// estimates it.
pub fn tally(course: &Course, progress: &Progress, plan: &Plan) -> Tally {
    let questions = questions(course, progress, plan);
    let mut open = [0; PASSES];
    for question in &questions {
        open[pass(question)] += 1;
    }
    let values = progress.values(course);
    let asked = values.map_or(vec![], |values| progress.to_ask_about(course, &values));
    let told = asked.iter().filter(|asked| progress.told(course, asked));
    let done = [progress.glances.len(), progress.looks.len(), told.count()];
    let answered = done.iter().sum();
    Tally {
        answered,
        asked: answered + questions.len(),
        done,
        open,
    }
}

fn taken_on(course: &Course, ply: usize) -> Option<String> {
    let before = course.plies.get(ply.checked_sub(1)?)?.played;
    before.is_capture().then(|| before.to().to_string())
}
