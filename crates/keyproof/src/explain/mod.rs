//! Why a move works, from geometry and the line that shows it.
//!
//! A reason is given only when its definition holds on the board and the line
//! shows it. Each kind of reason has a module with its definition and its
//! sentence; positions for and against each stand in the tests. Whether the line itself is right is not asked here:
//! it comes from the prover or the search.

mod back_rank;
mod decoy;
mod deflection;
mod discovery;
mod double_check;
mod exchange;
mod fork;
mod interference;
mod overload;
mod pin;
mod promotion;
mod quiet;
mod removed_guard;
mod sacrifice;
mod scene;
mod skewer;
mod smothered;
mod stalemate;
mod trapped;

#[cfg(test)]
mod tests;

use shakmaty::{Chess, Move, Square};

pub use exchange::{exchange_gain, worth};
use scene::Scene;

/// The kinds of reason, in the trade's words.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "snake_case")
)]
pub enum ReasonKind {
    DoubleCheck,
    DiscoveredCheck,
    DiscoveredAttack,
    Fork,
    Pin,
    Skewer,
    TrappedPiece,
    RemovedGuard,
    Deflection,
    Decoy,
    Interference,
    Overload,
    BackRankMate,
    SmotheredMate,
    Promotion,
    Stalemate,
    QuietMove,
    Sacrifice,
}

impl ReasonKind {
    /// Every kind, in the order in which reasons are given.
    pub const ALL: [ReasonKind; 18] = [
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
        ReasonKind::BackRankMate,
        ReasonKind::SmotheredMate,
        ReasonKind::Promotion,
        ReasonKind::Stalemate,
        ReasonKind::QuietMove,
        ReasonKind::Sacrifice,
    ];

    /// The name in the trade: "removing the guard".
    pub fn title(self) -> &'static str {
        match self {
            ReasonKind::DoubleCheck => "double check",
            ReasonKind::DiscoveredCheck => "discovered check",
            ReasonKind::DiscoveredAttack => "discovered attack",
            ReasonKind::Fork => "fork",
            ReasonKind::Pin => "pin",
            ReasonKind::Skewer => "skewer",
            ReasonKind::TrappedPiece => "trapped piece",
            ReasonKind::RemovedGuard => "removing the guard",
            ReasonKind::Deflection => "deflection",
            ReasonKind::Decoy => "decoy",
            ReasonKind::Interference => "interference",
            ReasonKind::Overload => "overload",
            ReasonKind::BackRankMate => "back-rank mate",
            ReasonKind::SmotheredMate => "smothered mate",
            ReasonKind::Promotion => "promotion",
            ReasonKind::Stalemate => "stalemate",
            ReasonKind::QuietMove => "quiet move",
            ReasonKind::Sacrifice => "sacrifice",
        }
    }
}

/// One reason why a move works.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reason {
    pub kind: ReasonKind,
    /// The solver's move of the line (0 for the first) that shows it.
    pub at: usize,
    /// One sentence, in English.
    pub sentence: String,
    /// Squares the sentence is about, the chief one first; for marks on the
    /// board after that move.
    pub squares: Vec<Square>,
    /// Lines of force, from and to, for arrows on the board after that move.
    pub arrows: Vec<(Square, Square)>,
}

/// The reasons why the first move of a line, and the solver's moves after it,
/// work. `line` is legal from `position` and alternates between the solver
/// (to move) and the other side. Moves that are not legal end the line.
pub fn reasons(position: &Chess, line: &[Move]) -> Vec<Reason> {
    let scene = Scene::new(position, line);
    let mut found = Vec::new();
    for at in 0..scene.solver_moves() {
        double_check::find(&scene, at, &mut found);
        discovery::find(&scene, at, &mut found);
        fork::find(&scene, at, &mut found);
        pin::find(&scene, at, &mut found);
        skewer::find(&scene, at, &mut found);
        trapped::find(&scene, at, &mut found);
        removed_guard::find(&scene, at, &mut found);
        deflection::find(&scene, at, &mut found);
        decoy::find(&scene, at, &mut found);
        interference::find(&scene, at, &mut found);
        overload::find(&scene, at, &mut found);
        back_rank::find(&scene, at, &mut found);
        smothered::find(&scene, at, &mut found);
        promotion::find(&scene, at, &mut found);
        stalemate::find(&scene, at, &mut found);
        quiet::find(&scene, at, &mut found);
        sacrifice::find(&scene, at, &mut found);
    }
    found.sort_by_key(|reason| (reason.at, reason.kind));
    found
}
