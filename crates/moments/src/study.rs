//! Why the right move of a moment works, why natural moves fail, what is
//! threatened and how hard it all is, as plain text for the way from workers.

use shakmaty::{Chess, Move, Role, Square};

use super::Named;
use check::{self, Evidence, Goal, Known, Ruling};
use explain::{Allure, Analyst, Difficulty, Proof, ReasonKind, Threats, Tries, Won, allures};
use model::notation::moves;
use model::tongue::Speech;
use prove::Watch;
use tables::Tables;

/// All that is told about a moment beyond what is right and wrong.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Study {
    /// Why the first accepted move works.
    pub reasons: Vec<Why>,
    /// Moves that fail: the game's first, if it does, then the most tempting.
    pub tries: Vec<Tempting>,
    /// What the other side threatens.
    pub threats: Vec<Threat>,
    /// What the first accepted move is proved to win, where mate is not asked.
    #[cfg_attr(feature = "serde", serde(default))]
    pub won: Option<Won>,
    /// How hard it is.
    pub difficulty: Difficulty,
    /// How it is told.
    #[cfg_attr(feature = "serde", serde(default))]
    pub speech: Speech,
}

/// A reason why a move works.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Why {
    /// Which reason it is.
    pub kind: ReasonKind,
    /// The solver's move of the line that shows it, 0 for the first.
    pub at: usize,
    /// The reason in a sentence.
    pub sentence: String,
}

/// A move that fails, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Tempting {
    /// The move.
    #[cfg_attr(feature = "serde", serde(flatten))]
    pub named: Named,
    /// Whether it was played in the game.
    pub played: bool,
    /// The natural rules it follows.
    pub allures: Vec<Allure>,
    /// How tempting, in [`explain`]'s points; 0 for a move of the game
    /// that tempts nobody else.
    pub temptation: u32,
    /// What it comes to at the deepest look, in hundredths of a pawn, at most
    /// 1000 either way.
    pub value: Option<i32>,
    /// UCI; the move, its refutation, and what follows.
    pub line: Vec<String>,
    /// Why it fails.
    pub sentence: String,
    /// What that rests on, where it is proved.
    #[cfg_attr(feature = "serde", serde(default))]
    pub proof: Option<Proof>,
}

/// What the other side threatens at the moment.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Threat {
    /// The move.
    #[cfg_attr(feature = "serde", serde(flatten))]
    pub named: Named,
    /// UCI, from the position with the other side to move.
    pub line: Vec<String>,
    /// Why it fails, in a sentence.
    pub sentence: String,
    /// What that rests on.
    pub evidence: Evidence,
    /// The claim, about the position after a pass.
    #[cfg_attr(feature = "serde", serde(default))]
    pub proof: Option<Proof>,
}

impl Study {
    /// All that it says is proved, to be put to the checker.
    pub fn proofs(&mut self) -> impl Iterator<Item = &mut Proof> {
        let won = self.won.iter_mut().map(|won| &mut won.proof);
        let tries = self.tries.iter_mut().filter_map(|t| t.proof.as_mut());
        let threats = self.threats.iter_mut().filter_map(|t| t.proof.as_mut());
        won.chain(tries).chain(threats)
    }
}

/// Bytes of the analyst's tables.
const TABLE: usize = 8 << 20;
/// Tries that are told of, at the most.
const MOST_TRIES: usize = 3;

/// The right moves of an answer: the game's first, then in the answer's order.
pub fn right(rulings: &[(Move, Ruling)], played: Move) -> Vec<&(Move, Ruling)> {
    let mut right: Vec<&(Move, Ruling)> = rulings.iter().filter(|(_, r)| r.holds()).collect();
    right.sort_by_key(|(mv, ruling)| {
        let length = match ruling {
            Ruling::Holds { length, .. } => length.unwrap_or(u8::MAX),
            _ => u8::MAX,
        };
        (*mv != played, length)
    });
    right
}

/// Studies a position in which one or two moves are right; the nodes spent come
/// with it.
pub fn study(
    position: &Chess,
    claim: &check::Answer,
    played: Move,
    taken_on: Option<Square>,
    tables: &Tables,
    watch: &mut dyn Watch,
) -> (Study, u64) {
    let goal = claim.question.goal;
    let mut known = Known::default();
    known.learn(claim);
    let rulings = known.rulings(position, goal).to_vec();
    let Some((key, ruling)) = right(&rulings, played).first().copied() else {
        return (Study::default(), 0);
    };
    let line = match ruling.line() {
        [] => std::slice::from_ref(key),
        line => line,
    };
    let mut analyst = Analyst::with_tables(TABLE, tables.clone());
    let last = taken_on.map(taking);
    let seen = analyst.tries(position, goal, &rulings, last, watch);
    let around = analyst.around(position, line, watch);
    let reasons = analyst.reasons(position, goal, line, &known, &around, watch);
    let study = Study {
        reasons: reasons
            .into_iter()
            .map(|reason| Why {
                kind: reason.kind,
                at: reason.at,
                sentence: reason.sentence,
            })
            .collect(),
        tries: tries(
            &mut analyst,
            position,
            goal,
            &rulings,
            &seen,
            played,
            last,
            watch,
        ),
        threats: threats(&around.before),
        won: match goal.forced() {
            Some(_) => None,
            None => analyst.wins(position, *key, watch),
        },
        difficulty: analyst.difficulty(position, goal, line, &rulings, &seen, watch),
        speech: Speech::default(),
    };
    (study, analyst.nodes())
}

#[allow(clippy::too_many_arguments)]
fn tries(
    analyst: &mut Analyst,
    position: &Chess,
    goal: Goal,
    rulings: &[(Move, Ruling)],
    seen: &Tries,
    played: Move,
    last: Option<Move>,
    watch: &mut dyn Watch,
) -> Vec<Tempting> {
    let depths = &seen.depths;
    let value = |mv: Move| {
        let i = depths.moves.iter().position(|&m| m == mv)?;
        depths.values.last().map(|values| values[i])
    };
    let mut tries: Vec<Tempting> = seen
        .tries
        .iter()
        .map(|found| Tempting {
            named: Named::new(position, found.mv),
            played: found.mv == played,
            allures: found.allures.clone(),
            temptation: found.temptation,
            value: value(found.mv),
            line: found
                .failure
                .line
                .iter()
                .map(|&mv| moves::uci(mv))
                .collect(),
            sentence: found.failure.sentence.clone(),
            proof: found.failure.proof.clone(),
        })
        .collect();
    let ruling = rulings.iter().find(|(mv, r)| *mv == played && r.fails());
    if let Some((_, ruling)) = ruling.filter(|_| tries.iter().all(|t| !t.played)) {
        let alone = [played];
        let line = if ruling.line().is_empty() {
            &alone
        } else {
            ruling.line()
        };
        let failure = analyst.failure(position, goal, line, watch);
        tries.push(Tempting {
            named: Named::new(position, played),
            played: true,
            allures: allures(position, played, last),
            temptation: 0,
            value: value(played),
            line: failure.line.iter().map(|&mv| moves::uci(mv)).collect(),
            sentence: failure.sentence,
            proof: failure.proof,
        });
    }
    tries.sort_by_key(|attempt| !attempt.played);
    tries.truncate(MOST_TRIES);
    tries
}

fn threats(threats: &Threats) -> Vec<Threat> {
    let Threats::Shown { from, threats, .. } = threats else {
        return Vec::new();
    };
    threats
        .iter()
        .map(|threat| Threat {
            named: Named::new(from, threat.line[0]),
            line: threat.line.iter().map(|&mv| moves::uci(mv)).collect(),
            sentence: threat.sentence.clone(),
            evidence: threat.evidence,
            proof: threat.proof.clone(),
        })
        .collect()
}

/// A capture on this square, for what asks only where the last one was.
fn taking(square: Square) -> Move {
    Move::Normal {
        role: Role::Pawn,
        from: square,
        to: square,
        capture: Some(Role::Pawn),
        promotion: None,
    }
}
