//! Why a move works, from geometry and the line that shows it.
//!
//! A reason is given only when its definition holds on the board and the line
//! shows it. Each kind of reason has a module with its definition and its
//! sentence; positions for and against each stand in the tests. Whether the
//! line itself is right is not asked here: it comes from the prover or the
//! search.
//!
//! [`Analyst`] answers what needs prover or search: why a wrong move fails
//! (`failing`; `failure` has the kinds, their codes and sentences), which
//! wrong moves tempt (`tempting`), what is threatened (`threats`), how hard a
//! puzzle is (`difficulty`). `explanation` gathers all of it.

#![deny(missing_docs)]

mod analyst;
mod back_rank;
mod clearance;
mod decoy;
mod deflection;
mod difficulty;
mod discovery;
mod double_check;
mod explanation;
mod failing;
mod fork;
mod gain_of_time;
mod immune;
mod interference;
mod move_order;
mod only_move;
mod opened_line;
mod overload;
mod parried_threat;
mod pin;
mod promotion;
mod proof;
mod quiet;
mod removed_guard;
mod sacrifice;
mod scene;
mod skewer;
mod smothered;
mod stalemate;
mod taken_flights;
mod tempting;
mod threats;
mod toll;
mod trapped;
mod zugzwang;

#[cfg(test)]
mod corpus;
#[cfg(test)]
mod tests;

use shakmaty::{Chess, Move, Square};

pub use analyst::Analyst;
pub use difficulty::Difficulty;
pub use explanation::{
    About, Explanation, Failed, Inquiry, Replies, Said, Tempts, Threatened, Told,
};
pub use failing::Failure;
pub use proof::{Proof, Won, with_proof};

use analyst::played;
pub use play::failure::{FailureKind, rest};
pub use play::published::Why;
use scene::{Facts, Scene};
pub use tempting::{Allure, Depths, Tempting, Tries, allures};
pub use threats::{Reply, Threat, ThreatKind, Threats};

use check::{Goal, Known};
use model::tongue::tr;
use prove::Watch;

/// The kinds of reason, in the trade's words.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "snake_case")
)]
pub enum ReasonKind {
    /// The move gives check with two men at once.
    DoubleCheck,
    /// The man that moves opens a line on which another gives check.
    DiscoveredCheck,
    /// The man that moves opens a line on which another attacks.
    DiscoveredAttack,
    /// One man attacks two or more.
    Fork,
    /// A man cannot leave its line without exposing what is worth more.
    Pin,
    /// A man that is attacked must go, and the one behind it falls.
    Skewer,
    /// A man has no square to go to.
    TrappedPiece,
    /// A man that guards is taken or driven off.
    RemovedGuard,
    /// A man is drawn away from what it guards.
    Deflection,
    /// A man is drawn to a square where it falls or is attacked.
    Decoy,
    /// A move cuts a line of the other side.
    Interference,
    /// A man has more to guard than it can.
    Overload,
    /// A man leaves a square, or a line, that another of its side needs.
    Clearance,
    /// The reply that takes what was offered opens a line.
    OpenedLine,
    /// A quiet man guards squares that the king would go to.
    TakenFlights,
    /// The king, shut in by his own men, is mated on his first rank.
    BackRankMate,
    /// The king, shut in by his own men, is mated by a knight.
    SmotheredMate,
    /// A pawn promotes.
    Promotion,
    /// The other side is stalemated.
    Stalemate,
    /// The other side would hold if it could pass.
    Zugzwang,
    /// A man is attacked and must go, so that there is no time to meet what follows.
    GainOfTime,
    /// The move neither checks nor takes.
    QuietMove,
    /// Material is given for what follows.
    Sacrifice,
    /// A man may be taken, and whoever takes it loses.
    ImmunePiece,
    /// Every other legal move fails.
    OnlyMove,
    /// The next move, played at once, fails.
    MoveOrder,
    /// What the other side threatened, it threatens no longer.
    ParriedThreat,
}

const _: () = assert!(
    ReasonKind::ALL.len() == ReasonKind::ParriedThreat as usize + 1,
    "the list of all lacks a kind, or another kind than the one named here is the last"
);

impl ReasonKind {
    /// Every kind, in the order in which reasons are given.
    pub const ALL: [ReasonKind; 27] = [
        ReasonKind::DoubleCheck,
        ReasonKind::DiscoveredCheck,
        ReasonKind::DiscoveredAttack,
        ReasonKind::Fork,
        ReasonKind::Pin,
        ReasonKind::Skewer,
        ReasonKind::TrappedPiece,
        ReasonKind::RemovedGuard,
        ReasonKind::Deflection,
        ReasonKind::Decoy,
        ReasonKind::Interference,
        ReasonKind::Overload,
        ReasonKind::Clearance,
        ReasonKind::OpenedLine,
        ReasonKind::TakenFlights,
        ReasonKind::BackRankMate,
        ReasonKind::SmotheredMate,
        ReasonKind::Promotion,
        ReasonKind::Stalemate,
        ReasonKind::Zugzwang,
        ReasonKind::GainOfTime,
        ReasonKind::QuietMove,
        ReasonKind::Sacrifice,
        ReasonKind::ImmunePiece,
        ReasonKind::OnlyMove,
        ReasonKind::MoveOrder,
        ReasonKind::ParriedThreat,
    ];

    /// Whether it is an idea by itself: that no other move works is none, nor that a
    /// threat is parried.
    pub fn is_theme(self) -> bool {
        !matches!(
            self,
            ReasonKind::OnlyMove | ReasonKind::MoveOrder | ReasonKind::ParriedThreat
        )
    }

    /// The name in the trade: "removing the guard".
    pub fn title(self) -> &'static str {
        match self {
            ReasonKind::DoubleCheck => tr("double check"),
            ReasonKind::DiscoveredCheck => tr("discovered check"),
            ReasonKind::DiscoveredAttack => tr("discovered attack"),
            ReasonKind::Fork => tr("fork"),
            ReasonKind::Pin => tr("pin"),
            ReasonKind::Skewer => tr("skewer"),
            ReasonKind::TrappedPiece => tr("trapped piece"),
            ReasonKind::RemovedGuard => tr("removing the guard"),
            ReasonKind::Deflection => tr("deflection"),
            ReasonKind::Decoy => tr("decoy"),
            ReasonKind::Interference => tr("interference"),
            ReasonKind::Overload => tr("overload"),
            ReasonKind::Clearance => tr("clearance"),
            ReasonKind::OpenedLine => tr("opened line"),
            ReasonKind::TakenFlights => tr("flights taken"),
            ReasonKind::BackRankMate => tr("back-rank mate"),
            ReasonKind::SmotheredMate => tr("smothered mate"),
            ReasonKind::Promotion => tr("promotion"),
            ReasonKind::Stalemate => tr("stalemate"),
            ReasonKind::Zugzwang => tr("zugzwang"),
            ReasonKind::GainOfTime => tr("gain of time"),
            ReasonKind::QuietMove => tr("quiet move"),
            ReasonKind::Sacrifice => tr("sacrifice"),
            ReasonKind::ImmunePiece => tr("immune piece"),
            ReasonKind::OnlyMove => tr("only move"),
            ReasonKind::MoveOrder => tr("move order"),
            ReasonKind::ParriedThreat => tr("parried threat"),
        }
    }
}

/// One reason why a move works.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reason {
    /// Which reason it is.
    pub kind: ReasonKind,
    /// The solver's move of the line (0 for the first) that shows it.
    pub at: usize,
    /// One sentence.
    pub sentence: String,
    /// Squares the sentence is about, the chief one first; for marks on the
    /// board after that move.
    pub squares: Vec<Square>,
    /// Lines of force, from and to, for arrows on the board after that move.
    pub arrows: Vec<(Square, Square)>,
}

/// The reasons why the first move of a line, and the solver's moves after it,
/// work, as far as the board and the line show them: all but zugzwang, immune pieces, only
/// moves, the order of moves and threats, before the first move or after it, which
/// [`Analyst::reasons`] adds. `line` is legal from `position` and
/// alternates between the solver (to move) and the other side. Moves that are
/// not legal end the line.
pub fn reasons(position: &Chess, line: &[Move]) -> Vec<Reason> {
    find(&Scene::new(position, line))
}

impl Analyst {
    /// The threats around the first move of a line.
    pub fn around(&mut self, position: &Chess, line: &[Move], watch: &mut dyn Watch) -> Around {
        Around {
            before: self.threats(position, watch),
            after: line.first().map_or(Threats::None, |&key| {
                self.threats(&played(position, key), watch)
            }),
        }
    }

    /// All reasons why the solver's moves of a line meet `goal`. `known` tells
    /// which moves meet it, `around` what is threatened around the first one.
    pub fn reasons(
        &mut self,
        position: &Chess,
        goal: Goal,
        line: &[Move],
        known: &Known,
        around: &Around,
        watch: &mut dyn Watch,
    ) -> Vec<Reason> {
        let mut scene = Scene::new(position, line);
        let mut asked = Some(goal);
        for at in 0..scene.solver_moves() {
            let Some(goal) = asked else { break };
            let next = goal.next();
            let mut facts = Facts {
                only: only_move::holds(&scene, at, goal, known),
                pass: match next {
                    Some(next) if self.pass_saves(scene.after(at), next, watch) => next.into(),
                    _ => None,
                },
                immune: self.immune(&scene, at, watch),
                ..Facts::default()
            };
            if at == 0 {
                facts.too_soon = move_order::too_soon(&scene, goal, known);
                facts.threatened = around.threatened();
                if goal.forced().is_none() {
                    facts.parried = parried_threat::by(scene.mv(0), &around.before);
                }
            }
            scene.know(at, facts);
            asked = next;
        }
        find(&scene)
    }
}

/// What is threatened before the first move of a line, by the other side, and after it,
/// by the solver's.
pub struct Around {
    /// Of the other side, before the move.
    pub before: Threats,
    /// Of the solver, after it.
    pub after: Threats,
}

impl Around {
    /// The first moves of what the solver threatens after his move.
    fn threatened(&self) -> Vec<Move> {
        let all = self.after.all().iter();
        all.filter_map(|threat| threat.line.first().copied())
            .collect()
    }
}

fn find(scene: &Scene) -> Vec<Reason> {
    let mut found = Vec::new();
    for at in 0..scene.solver_moves() {
        double_check::find(scene, at, &mut found);
        discovery::find(scene, at, &mut found);
        fork::find(scene, at, &mut found);
        pin::find(scene, at, &mut found);
        skewer::find(scene, at, &mut found);
        trapped::find(scene, at, &mut found);
        removed_guard::find(scene, at, &mut found);
        deflection::find(scene, at, &mut found);
        decoy::find(scene, at, &mut found);
        interference::find(scene, at, &mut found);
        overload::find(scene, at, &mut found);
        clearance::find(scene, at, &mut found);
        opened_line::find(scene, at, &mut found);
        taken_flights::find(scene, at, &mut found);
        back_rank::find(scene, at, &mut found);
        smothered::find(scene, at, &mut found);
        promotion::find(scene, at, &mut found);
        stalemate::find(scene, at, &mut found);
        zugzwang::find(scene, at, &mut found);
        gain_of_time::find(scene, at, &mut found);
        quiet::find(scene, at, &mut found);
        sacrifice::find(scene, at, &mut found);
        immune::find(scene, at, &mut found);
        only_move::find(scene, at, &mut found);
        move_order::find(scene, at, &mut found);
        parried_threat::find(scene, at, &mut found);
    }
    found.sort_by_key(|reason| (reason.at, reason.kind));
    found
}
