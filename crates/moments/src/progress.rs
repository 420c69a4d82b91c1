//! What has been answered so far, and what is asked next.

use std::collections::BTreeMap;

use shakmaty::{Move, Position};

use super::ask::{Answer, Look, Question, Seen, points};
use super::course::Course;
use super::goal::{MATES, goal};
use super::pace::{PASSES, Tally, pass};
use super::study::Study;
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
                self.claims.insert(ply, (answer, study));
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
    fn told(&self, course: &Course, ply: usize) -> bool {
        let fits = |study: &Study| study.speech == course.speech;
        let claim = self.claims.get(&ply);
        claim.is_some_and(|(_, study)| study.as_ref().is_none_or(fits))
    }

    /// What a ply gave away by the first pass, in hundredths of a pawn, never
    /// less than 0; `None` while not known.
    pub(super) fn cost(&self, course: &Course, ply: usize) -> Option<i32> {
        Some(self.change(course, ply)?.max(0))
    }

    /// What a ply gave away by the first pass. Less than 0 where the position
    /// it led to turned out better than what had been seen.
    fn change(&self, course: &Course, ply: usize) -> Option<i32> {
        let best = self.glances.get(&ply)?.first()?;
        let after = course.position(ply + 1);
        let reached = if after.is_checkmate() {
            return Some(0);
        } else if after.is_game_over() {
            0
        } else {
            -points(self.glances.get(&(ply + 1))?.first()?.value)
        };
        let played = moves::uci(course.plies.get(ply)?.played);
        let cost = points(best.value).clamp(-1000, 1000) - reached.clamp(-1000, 1000);
        Some(if best.moves[0] == played { 0 } else { cost })
    }

    /// The first ply that is no opening move any more; `None` while not known.
    ///
    /// Without a book: the opening lasts from the initial position for as long
    /// as the value stays within [`FLAT`] of equal, and for [`OPENING`] plies at
    /// the most.
    fn opening_ends(&self, course: &Course) -> Option<usize> {
        if !course.from_the_start {
            return Some(0);
        }
        for ply in 0..OPENING {
            if ply >= course.plies.len() {
                return Some(ply);
            }
            let best = self.glances.get(&ply)?.first();
            if best.is_none_or(|line| points(line.value).abs() > FLAT) {
                return Some(ply);
            }
        }
        Some(OPENING)
    }

    /// Whether the first pass saw something here; `None` while not known.
    fn suspicious(&self, course: &Course, ply: usize) -> Option<bool> {
        if course.position(ply).legal_moves().len() < 2 {
            return Some(false);
        }
        let lines = self.glances.get(&ply)?;
        let opening = self.opening_ends(course)?;
        let change = self.change(course, ply)?;
        let (Some(best), Some(last)) = (lines.first(), lines.last()) else {
            return Some(false);
        };
        let second = lines.get(1).unwrap_or(last);
        let value = points(best.value);
        let lost = value <= -LOST;
        let won = value < MATES && points(second.value) >= WON;
        let sharp = value - points(last.value) >= SHARP || change.abs() >= SHARP;
        Some(ply >= opening && !lost && !won && sharp)
    }
}

/// While values stay within this, in hundredths of a pawn, early moves are
/// taken for book moves.
pub const FLAT: i32 = 120;
/// No opening is longer than this, in plies.
pub const OPENING: usize = 20;
/// The side to move is lost below, and wins whatever it does above: no moment.
const LOST: i32 = 300;
const WON: i32 = 600;
/// What the third best move must cost, or by what the game's must differ from
/// what was seen, to be looked at again.
const SHARP: i32 = 80;
/// What must still be answered, the most promising first. More may follow
/// once these are answered; none left means that the moments are final.
pub fn questions(course: &Course, progress: &Progress, plan: &Plan) -> Vec<Question> {
    let mut glances = Vec::new();
    let mut looks = Vec::new();
    let mut claims = Vec::new();
    for ply in 0..=course.plies.len() {
        let position = course.position(ply);
        if position.is_game_over() {
            continue;
        }
        if !progress.glances.contains_key(&ply) {
            glances.push(Question::Glance {
                ply,
                fen: fen::write(position),
                nodes: plan.glance,
            });
            continue;
        }
        let Some(at) = course.plies.get(ply) else {
            continue;
        };
        if progress.suspicious(course, ply) != Some(true) {
            continue;
        }
        let Some(look) = progress.looks.get(&ply) else {
            let cost = progress.cost(course, ply).unwrap_or(0);
            let question = Question::Look {
                ply,
                fen: fen::write(position),
                played: moves::uci(at.played),
                nodes: plan.look,
            };
            looks.push((-cost, question));
            continue;
        };
        if let Some(goal) = goal(look)
            && !progress.told(course, ply)
        {
            let all: Vec<Move> = position.legal_moves().into_iter().collect();
            claims.push(Question::Claim {
                ply,
                fen: fen::write(position),
                question: check::Question::about(position, goal, &all),
                played: moves::uci(at.played),
                taken_on: taken_on(course, ply),
                speech: course.speech.clone(),
                nodes: plan.claim,
            });
        }
    }
    looks.sort_by_key(|(cost, _)| *cost);
    glances.extend(looks.into_iter().map(|(_, question)| question));
    glances.extend(claims);
    glances
}

/// How far the work is. What is asked later is not counted; [`super::Pace`]
/// estimates it.
pub fn tally(course: &Course, progress: &Progress, plan: &Plan) -> Tally {
    let questions = questions(course, progress, plan);
    let mut open = [0; PASSES];
    for question in &questions {
        open[pass(question)] += 1;
    }
    let told = progress.claims.keys();
    let told = told.filter(|&&ply| progress.told(course, ply));
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
