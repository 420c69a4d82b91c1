//! Moments: the positions of a game that are worth asking about.
//!
//! [`Course`] is a game's main line. Every position of it raises questions,
//! each answered apart from the others ([`answer`]), so that pages and the
//! command line spread them over workers; [`Progress`] keeps the answers, can be
//! put away and taken up again, and [`moments`] are what is known so far. There
//! are three passes: a cheap glance at every position, for both sides; a deeper
//! look at those that promise most ([`promising`]); and the checker's own question
//! where the look finds something to ask. [`find`] does all of it in one go, and
//! [`puzzle`] makes a puzzle of a moment.
//!
//! # What a coach stops at
//! A moment is a position with its side to move, and one of these:
//! - an error: the move of the game gives away a good part of the point, which another
//!   move keeps; and what punishes it, at the next position: two moments, a pair;
//! - a chance that both sides missed;
//! - a daring move that was played and is right: it offers two pawns' worth or more,
//!   counted by exchanges on one square less what it takes itself, and not more comes
//!   back elsewhere at once, and it neither answers a check nor moves the king, but to
//!   castle; or it promotes to less than a queen. It may be right beside plainer moves, which are then accepted
//!   too;
//! - a decision: one to three moves are right, and the next best is not.
//!
//! A combination is one moment, at its first move or at the one worth more that is not
//! plain to see.
//!
//! # What a position is worth
//! Values are backed up from the end of the game: a position is worth what the best
//! other move is worth by its own search, or what the game's move led to, if that is
//! more. So what came of a sacrifice counts where it was made, unless a reply to it was
//! an error. Values are compared as shares of the point (a logistic curve), so that a
//! pawn counts most where the game is level.
//!
//! # No moment
//! - Opening moves: from the initial position, for as long as the value stays
//!   within 1.20 of equal, for 20 plies at the most, and after 8 until a daring move is
//!   played.
//! - A side to move that is lost (under -3.00), or that has 6.00 or more by its
//!   second best move too, where nothing daring was played. A mate counts there only if
//!   the key is a sacrifice, quiet, or was missed.
//! - Four or more moves that serve, of a praised move nine. A single legal move. A mate
//!   in one that was played. A daring move that is found wrong, where nothing else is
//!   asked.
//! - A move of the game that is found right, and at the next position found to lose.
//! - What promises less than others: fourteen positions are looked at, six asked about.
//!
//! # Promise
//! Which positions are looked at and asked about, in which order :
//!
//! | what | points |
//! |---|---|
//! | at stake: the share of the point between the best move and the second and third, a fifth at least where one move alone mates | 60 for all of it |
//! | given away by the move of the game | 50 |
//! | given away by the move before it | 10 |
//! | a daring move: less by what it gives away, down to nothing at a share of 0.35 (at half where it still wins); half where the second best has 6.00 too, seven tenths where hardly anything is at stake | 40, and 1 for each quarter of a pawn offered, half of that where it is not the man that moved that may be taken; 10 more if it is the first of its side, 10 if the offer was taken |
//!
//! What promises less than 4 is left.
//!
//! After the look, a plain move takes 20 off, as below.
//!
//! # Worth
//! Moments are put in order of worth. It is what they promise by the second pass, and in
//! addition:
//!
//! | what | points |
//! |---|---|
//! | a natural move loses (-1.50 or less, where the right move does not) | 8 |
//! | a chance that both sides missed: the move before gave 1.50 or more away, and it was not taken | 8 |
//! | a quiet move, with two captures or more that do not lose material | 8 |
//! | a win to find; an only move that holds; a mate | 6 each |
//! | a quiet move or a sacrifice after four plies that were all captures, checks or forced | 6 |
//! | a daring move that is right | 5 |
//! | the move before gave 1.50 or more away, and it was taken; a best move | 3 each |
//! | moves that are right: one 2, two none, each further one (but not beside a daring move that was played) | -2, down to -6 |
//! | the right move was missed in the game | 10 |
//! | the key is a sacrifice that was missed: per half pawn offered | 1, up to 20 |
//! | it is certain: proved, or by table | 5 |
//! | how deep it lies: per ply of search before the key begins to look best | 1, up to 5 |
//! | natural moves that fail | 1 each, up to 3 |
//! | the key takes back or wins material, and looks best at first sight | -20 |
//! | a praised move beside plainer ones that keep as much, none of which wins: what is asked is then to give nothing away, by wider margins (0.80 and 1.60) | -5 |
//! | three legal moves or fewer | -10 |
//! | moves left undecided | -1 each, down to -5 |
//! | it is part of one answer with another moment that is worth more | -25 |
//!
//! The kind of a moment is the one of its kinds that counts most. What is worth
//! less than 12 before the last line is no moment.

#![deny(missing_docs)]

mod ask;
mod between;
mod bring;
mod clock;
mod course;
mod goal;
mod left_out;
mod offer;
mod pace;
mod progress;
mod promise;
mod puzzle;
mod screening;
mod spoilers;
mod study;
mod weigh;

#[cfg(test)]
mod tests;

use goal::LOSING;
use shakmaty::{Color, Position};

pub use ask::{Answer, Look, Question, Seen, answer, answer_with, points};
pub use bring::bring;
pub use clock::{Hint, Timed, timed, written as clock_time};
pub use course::{Course, Ply};
pub use left_out::screening;
pub use pace::{PASSES, Pace, Tally, pass, pass_answered};
pub use progress::{FLAT, OPENING, Plan, Progress, beyond, promising, questions, tally};
pub use puzzle::{Made, complete, hints, mend, puzzle, worded};
pub use screening::Screening;
pub use study::{Study, Tempting, Threat, Why};

use check::Evidence;
use model::draft::NodeId;
use model::notation::moves::{self, Named};
use model::puzzle::Stipulation;
use model::tongue::tr;
use prove::Watch;
use search::Value;

/// The kinds of moment. Their snake-case names are part of the command line's
/// interface.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "snake_case")
)]
pub enum Kind {
    /// The move that comes to mind loses.
    NaturalMoveLoses,
    /// A chance that neither player saw.
    MissedByBoth,
    /// The move of the game gives something up, and is right.
    Brilliant,
    /// The other side has just erred, and the game's move punishes it.
    Punishment,
    /// A mate to be found.
    Mate,
    /// A win to be found.
    Win,
    /// One move alone holds.
    OnlyMoveHolds,
    /// A quiet move is right where captures offer themselves.
    QuietAmongCaptures,
    /// After a row of plain moves something else is right.
    SurpriseAfterRow,
    /// One move is clearly the best.
    BestMove,
}

impl Kind {
    /// The kind in words.
    pub fn title(self) -> &'static str {
        match self {
            Kind::NaturalMoveLoses => tr("a natural move loses"),
            Kind::MissedByBoth => tr("a chance both sides missed"),
            Kind::Brilliant => tr("a brilliant move"),
            Kind::Punishment => tr("an error to punish"),
            Kind::Mate => tr("a mate"),
            Kind::Win => tr("a win to find"),
            Kind::OnlyMoveHolds => tr("an only move that holds"),
            Kind::QuietAmongCaptures => tr("a quiet move among captures"),
            Kind::SurpriseAfterRow => tr("a surprise after a forced row"),
            Kind::BestMove => tr("a best move"),
        }
    }

    fn worth(self) -> i32 {
        match self {
            Kind::NaturalMoveLoses => 8,
            Kind::MissedByBoth | Kind::QuietAmongCaptures => 8,
            Kind::Mate | Kind::Win | Kind::OnlyMoveHolds | Kind::SurpriseAfterRow => 6,
            Kind::Brilliant => 5,
            Kind::Punishment | Kind::BestMove => 3,
        }
    }
}

/// A side.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "snake_case")
)]
pub enum Side {
    /// White.
    White,
    /// Black.
    Black,
}

impl From<Color> for Side {
    fn from(color: Color) -> Side {
        color.fold_wb(Side::White, Side::Black)
    }
}

impl From<Side> for Color {
    fn from(side: Side) -> Color {
        Color::from_white(side == Side::White)
    }
}

/// A move that meets the stipulation.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Accepted {
    /// The move.
    #[cfg_attr(feature = "serde", serde(flatten))]
    pub named: Named,
    /// What shows it, in UCI, the move itself first.
    pub line: Vec<String>,
}

/// What was played in the game.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Played {
    /// The move.
    #[cfg_attr(feature = "serde", serde(flatten))]
    pub named: Named,
    /// Whether it is right.
    pub right: bool,
    /// What it was worth, if the second pass saw it.
    pub value: Option<Value>,
    /// What it gave away, in hundredths of a pawn; a mate counts as 10 pawns.
    pub cost: i32,
}

/// A position of a game that is worth asking about.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Moment {
    /// Moves of the game before it.
    pub ply: usize,
    /// The node of the game at which it stands.
    pub node: NodeId,
    /// The position.
    pub fen: String,
    /// Who is to move.
    pub turn: Side,
    /// The move number.
    pub number: u32,
    /// What it is, the kind that counts most first; never empty.
    pub kinds: Vec<Kind>,
    /// As the tag `Stipulation` says it.
    pub stipulation: String,
    /// As the tag `Margins` says it, where they are not the usual ones.
    #[cfg_attr(feature = "serde", serde(default))]
    pub margins: Option<String>,
    /// What the best move is worth.
    pub value: Value,
    /// One or two moves: the game's first if it is among them.
    pub accepted: Vec<Accepted>,
    /// What was played in the game.
    pub played: Played,
    /// Reasons, tries, threats, difficulty.
    #[cfg_attr(feature = "serde", serde(flatten))]
    pub study: Study,
    /// How the least sure of the accepted moves is known.
    pub evidence: Evidence,
    /// Moves that the checker could not decide.
    pub open: Vec<Named>,
    /// Points by the table above.
    pub worth: i32,
    /// What they add up from.
    pub because: Vec<(String, i32)>,
}

impl Moment {
    /// The kind that counts most.
    pub fn kind(&self) -> Kind {
        self.kinds[0]
    }

    /// What is asked, as it is of any puzzle: "Black to move and draw."
    pub fn task(&self) -> String {
        let asked = Stipulation::read(&self.stipulation);
        asked.map_or_else(String::new, |asked| asked.task(self.turn.into()))
    }
}

/// The moments known so far, in order of worth.
pub fn moments(course: &Course, progress: &Progress) -> Vec<Moment> {
    let all = weigh::all(course, progress);
    let refuted = |moment: &Moment| all.iter().any(|next| refutes(next, moment));
    let mut found: Vec<Moment> = all.iter().filter(|m| !refuted(m)).cloned().collect();
    found.retain(|moment| moment.worth >= LEAST);
    let beside: Vec<bool> = found
        .iter()
        .map(|moment| {
            found
                .iter()
                .any(|other| stands_beside(moment, other, course))
        })
        .collect();
    for (moment, _) in std::iter::zip(&mut found, beside).filter(|(_, beside)| *beside) {
        let what = "one answer with a better one".to_owned();
        moment.because.push((what, -ONE_ANSWER));
        moment.worth -= ONE_ANSWER;
    }
    found.sort_by_key(|moment| (-moment.worth, moment.ply));
    found
}

/// Points that a moment loses whose answer is another one's too.
const ONE_ANSWER: i32 = 25;

/// Points that a moment must be worth.
const LEAST: i32 = 12;

/// Whether a move of the game that is right at a moment, where mate is not asked, is
/// found to lose at the next position: then it was taken for right too soon.
fn refutes(next: &Moment, moment: &Moment) -> bool {
    let mates_or_wins = |asked| matches!(asked, Stipulation::Win | Stipulation::Forced(..));
    let asks = |moment: &Moment| Stipulation::read(&moment.stipulation);
    let (value, after) = (points(moment.value), points(next.value));
    let lost = after >= -LOSING && value + after >= A_PAWN;
    next.ply == moment.ply + 1
        && moment.played.right
        && !matches!(asks(moment), Some(Stipulation::Forced(..)))
        && (lost || asks(next).is_some_and(mates_or_wins))
}

/// By so much the next position must be better for the other side than was thought.
const A_PAWN: i32 = 100;

/// Whether a moment is part of the same answer as another one that is rather
/// asked: the one that is worth more, the earlier of equals. What is plain to see is
/// nothing that an earlier one makes room for.
fn stands_beside(moment: &Moment, other: &Moment, course: &Course) -> bool {
    let plain = |moment: &Moment| {
        let mut because = moment.because.iter();
        because.any(|(what, _)| what == weigh::PLAIN_TO_SEE)
    };
    let harder = |later: &Moment, first: &Moment| later.worth > first.worth && !plain(later);
    if moment.ply < other.ply {
        goes_on(moment, other, course) && harder(other, moment)
    } else {
        other.ply < moment.ply && goes_on(other, moment, course) && !harder(moment, other)
    }
}

/// Whether the later of two moments lies in the solution of the earlier, as it
/// was played, or is the same combination: the same side that had won already at the
/// first, at most two moves later, with nothing but offers, captures, checks and answers
/// to checks of its own.
fn goes_on(first: &Moment, later: &Moment, course: &Course) -> bool {
    let played = &course.plies[first.ply..later.ply];
    let own = &mut played.iter().step_by(2);
    let combination = played.len() <= COMBINATION
        && points(first.value) >= WON_ALREADY
        && first.played.right
        && own.all(forcing);
    first.turn == later.turn && (combination || in_solution(first, played))
}

/// Plies between two moments of a combination, at the most.
const COMBINATION: usize = 4;
/// What the side to move has at the first of them, in hundredths of a pawn.
const WON_ALREADY: i32 = 200;

/// Whether a move of the game takes, checks, answers a check or offers a man.
fn forcing(at: &Ply) -> bool {
    let mut after = at.before.clone();
    after.play_unchecked(at.played);
    at.played.is_capture() || at.before.is_check() || after.is_check() || at.daring
}

/// Whether these moves were a solution of a moment.
fn in_solution(first: &Moment, played: &[Ply]) -> bool {
    first.accepted.iter().any(|accepted| {
        played.len() <= accepted.line.len()
            && std::iter::zip(played, &accepted.line).all(|(ply, mv)| moves::uci(ply.played) == *mv)
    })
}

/// Finds all moments of a game, telling `each` of them as it is found; ends
/// early, with those found so far, when the watcher stops it. What was
/// answered is in `progress`, from which the work can go on.
pub fn find(
    course: &Course,
    progress: &mut Progress,
    plan: &Plan,
    watch: &mut dyn Watch,
    each: &mut dyn FnMut(&Moment),
) -> Vec<Moment> {
    loop {
        let open = questions(course, progress, plan);
        if open.is_empty() {
            break;
        }
        for question in open {
            let Some(answer) = answer(&question, watch) else {
                return moments(course, progress);
            };
            let settles = match &answer {
                Answer::Claim { ply, .. } => Some(*ply),
                _ => None,
            };
            progress.learn(answer);
            let known = weigh::all(course, progress);
            let settled = known.iter().find(|moment| Some(moment.ply) == settles);
            if let Some(moment) = settled.filter(|moment| moment.worth >= LEAST) {
                each(moment);
            }
        }
    }
    moments(course, progress)
}
