//! The second opinion: writes a certificate of what the core claims of mates, gains and
//! draws by force, and puts it to the independent checker. What follows from the answer is
//! left to `keyproof::check`.

#![deny(missing_docs)]

use keyproof::aim::Aim;
use keyproof::check::{self, Against, Claim, Known, Opinion, ReadClaim, Unreached};
use keyproof::explain::{Explanation, Proof};
use keyproof::moments;
use keyproof::prove::certificate::{self, Uncertified};
use keyproof::prove::{Prover, Watch};
use keyproof::puzzle::Puzzle;
use keyproof_certify::{Kind, verify};
use serde::{Deserialize, Serialize};
use shakmaty::fen::Fen;
use shakmaty::{CastlingMode, EnPassantMode, Move};

/// Bytes of the prover's table, and nodes of one question, where proofs are put to the
/// checker that are told beside others: they are short.
const TABLE: usize = 1 << 20;
const NODES: u64 = 2_000_000;

/// A claim that was put to the checker.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Heard {
    /// What was claimed.
    pub claim: Claim,
    /// What the checker said of it.
    pub opinion: Opinion,
    /// The certificate, if it was accepted.
    pub text: Option<String>,
}

/// Puts a claim to the checker. The prover's budget bounds each of its
/// questions, and so all of them together.
pub fn put(claim: Claim, prover: &mut Prover, watch: &mut dyn Watch) -> Heard {
    let (opinion, text) = match claim.read() {
        Some(read) => judge(&read, prover, watch),
        None => (
            Opinion::Against(Against::Itself {
                fen: claim.fen.clone(),
                mv: String::new(),
            }),
            None,
        ),
    };
    Heard {
        claim,
        opinion,
        text,
    }
}

/// Puts all that a puzzle's verdict rests on to the checker, and lets what is
/// known hear what it says.
pub fn put_all(
    puzzle: &Puzzle,
    known: &mut Known,
    prover: &mut Prover,
    watch: &mut dyn Watch,
) -> Vec<Heard> {
    known.want_second();
    let claims = check::claims(puzzle, known).into_iter();
    let heard: Vec<Heard> = claims.map(|claim| put(claim, prover, watch)).collect();
    for one in &heard {
        known.hear(&one.claim, one.opinion.clone());
    }
    heard
}

/// Puts what an explanation says is proved to the checker, and has it say what came of
/// that, in the language that is spoken.
pub fn put_explained(told: &mut Explanation, watch: &mut dyn Watch) {
    put_proofs(told.proofs(), watch);
    told.settle();
}

/// The same of what is told about a moment of a game.
pub fn put_studied(answer: &mut moments::Answer, watch: &mut dyn Watch) {
    if let moments::Answer::Claim {
        study: Some(study), ..
    } = answer
    {
        put_proofs(study.proofs(), watch);
    }
}

fn put_proofs<'p>(proofs: impl Iterator<Item = &'p mut Proof>, watch: &mut dyn Watch) {
    let mut prover = Prover::new(TABLE);
    prover.budget = Some(NODES);
    for proof in proofs {
        proof.opinion = Some(put(proof.claim.clone(), &mut prover, watch).opinion);
    }
}

fn judge(
    claim: &ReadClaim,
    prover: &mut Prover,
    watch: &mut dyn Watch,
) -> (Opinion, Option<String>) {
    let text = match certificate::text(prover, &claim.claimed(), watch) {
        Ok(text) => text,
        Err(Uncertified::Undecided { .. }) => {
            return (Opinion::Unreached(Unreached::Budget), None);
        }
        Err(Uncertified::Wrong(position, mv)) => {
            let fen = Fen::from_position(&*position, EnPassantMode::Legal).to_string();
            let mv = mv.to_uci(CastlingMode::Standard).to_string();
            return (Opinion::Against(Against::Itself { fen, mv }), None);
        }
    };
    match verify(&text) {
        Ok(accepted) if says(&accepted.claims, claim) => {
            let positions = accepted.positions;
            (Opinion::Accepted { positions }, Some(text))
        }
        Ok(_) => (against(&text, 1, "it proves something else"), None),
        Err(rejected) => (against(&text, rejected.line, &rejected.reason), None),
    }
}

fn against(text: &str, line: usize, reason: &str) -> Opinion {
    Opinion::Against(Against::Checker {
        line,
        text: text.lines().nth(line - 1).unwrap_or_default().into(),
        reason: reason.into(),
    })
}

/// Whether what the checker accepted is all that is claimed.
fn says(accepted: &[keyproof_certify::Claim], claim: &ReadClaim) -> bool {
    let target = match claim.aim {
        Aim::Gain(gain) => Some(gain.target()),
        _ => None,
    };
    let about = |c: &&keyproof_certify::Claim| c.position == claim.position && c.target == target;
    let at_hand = || accepted.iter().filter(about);
    let mates = |mv: Move, within: u8| {
        at_hand()
            .any(|c| c.kind == Kind::Forces && c.firsts == [mv] && c.moves <= usize::from(within))
    };
    let does_not = |mv: Move, within: u8| {
        at_hand().any(|c| {
            c.kind == Kind::Only && !c.firsts.contains(&mv) && c.moves >= usize::from(within)
        })
    };
    let draws = |mv: Move| {
        let position = |c: &&keyproof_certify::Claim| c.position == claim.position;
        let mut draws = accepted.iter().filter(position);
        draws.any(|c| c.kind == Kind::Draws && c.firsts == [mv])
    };
    claim.holds.iter().all(|&(mv, length)| {
        let no_shorter = !claim.shortest || length < 2 || does_not(mv, length - 1);
        mates(mv, length) && no_shorter
    }) && claim.fails.iter().all(|&mv| does_not(mv, claim.n))
        && claim.drawn.iter().all(|&mv| draws(mv))
}

#[cfg(test)]
mod tests;
