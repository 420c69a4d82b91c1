//! Draws by force by brute force, and the prover of draws against it. The rules are those
//! of `prove::draw`, written here a second time over shakmaty's positions: everything that
//! checks can reach is looked at, and what cannot be held is taken away until nothing more
//! can be.

use std::collections::HashMap;

use prove::corpus::Seeded;
use prove::draw::Plan as Drawn;
use prove::{Aim, Prover, Unwatched};
use shakmaty::fen::Fen;
use shakmaty::{Chess, EnPassantMode, Move, Position};

use crate::brute::{Capped, played};
use crate::by_lines::{self, Plan};
use crate::gains::RICH;
use crate::strata::Stratum;

/// Most positions with the holder to move that brute force looks at.
const MOST: usize = 3_000;

/// Where a reply leads: to a position by its number, or to the end of the game.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Next {
    Position(usize),
    Drawn,
    Mated,
}

/// All that checks can reach from a position, with the replies of each move.
struct Reach {
    positions: Vec<Chess>,
    /// Of each position its moves, and where the replies to each lead.
    moves: Vec<Vec<Vec<Next>>>,
}

fn is_drawn(position: &Chess) -> bool {
    position.is_stalemate() || position.is_insufficient_material()
}

impl Reach {
    /// From a position in which these moves may be played, or those that check or end the
    /// game.
    fn of(start: &Chess, firsts: Option<&[Move]>) -> Result<Reach, Capped> {
        let mut numbers = HashMap::from([(start.clone(), 0)]);
        let mut reach = Reach {
            positions: vec![start.clone()],
            moves: Vec::new(),
        };
        while let Some(position) = reach.positions.get(reach.moves.len()).cloned() {
            let given = firsts.filter(|_| reach.moves.is_empty());
            let mut moves = Vec::new();
            for m in position.legal_moves() {
                let after = played(&position, m);
                let over = after.is_checkmate() || is_drawn(&after);
                let allowed = given.map_or(over || after.is_check(), |firsts| firsts.contains(&m));
                if !allowed {
                    continue;
                }
                let replies = if over {
                    Default::default()
                } else {
                    after.legal_moves()
                };
                let next = replies.into_iter().map(|reply| {
                    let there = played(&after, reply);
                    if is_drawn(&there) {
                        return Next::Drawn;
                    } else if there.is_checkmate() {
                        return Next::Mated;
                    }
                    let positions = &mut reach.positions;
                    Next::Position(*numbers.entry(there.clone()).or_insert_with(|| {
                        positions.push(there);
                        positions.len() - 1
                    }))
                });
                moves.push(next.collect());
            }
            reach.moves.push(moves);
            if reach.positions.len() > MOST {
                return Err(Capped);
            }
        }
        Ok(reach)
    }

    /// Whether the start is held.
    fn holds(&self) -> bool {
        let mut held = vec![true; self.positions.len()];
        loop {
            let keeps = |next: &Next| match *next {
                Next::Drawn => true,
                Next::Mated => false,
                Next::Position(there) => held[there],
            };
            let lost = (0..held.len()).filter(|&i| held[i]);
            let lost = lost.filter(|&i| !self.moves[i].iter().any(|next| next.iter().all(keeps)));
            let lost: Vec<usize> = lost.collect();
            if lost.is_empty() {
                return held[0];
            }
            for i in lost {
                held[i] = false;
            }
        }
    }
}

/// What is wrong with a plan, if anything.
fn fault(start: &Chess, plan: &Drawn) -> Option<String> {
    let mut positions = vec![None; plan.turns.len()];
    *positions.first_mut()? = Some(start.clone());
    for (i, turn) in plan.turns.iter().enumerate() {
        let told = |what: &str| Some(format!("turn {i}, {:?}: {what}", turn.mv));
        let Some(position) = positions[i].clone() else {
            return told("nothing before it leads here");
        };
        if !position.is_legal(turn.mv) {
            return told("no legal move");
        }
        let after = played(&position, turn.mv);
        let over = after.is_checkmate() || is_drawn(&after);
        if i > 0 && !over && !after.is_check() {
            return told("no check");
        }
        let legal = if over {
            Default::default()
        } else {
            after.legal_moves()
        };
        let named = |m: &Move| turn.replies.iter().filter(|(reply, _)| reply == m).count() == 1;
        if legal.len() != turn.replies.len() || !legal.iter().all(named) {
            return told("not all replies are answered");
        }
        for &(reply, next) in &turn.replies {
            let there = played(&after, reply);
            match next {
                None if is_drawn(&there) => {}
                None => return told("the game is not over"),
                Some(next)
                    if positions[next]
                        .as_ref()
                        .is_some_and(|known| *known != there) =>
                {
                    return told("it leads elsewhere");
                }
                Some(next) => positions[next] = Some(there),
            }
        }
    }
    let mut at = start.clone();
    for m in plan.line() {
        if !at.is_legal(m) {
            return Some(format!("{:?} is no line", plan.line()));
        }
        at.play_unchecked(m);
    }
    None
}

/// A position is asked whether checks hold it, and which first moves do, as far as that
/// is not capped. How many do.
fn compare(prover: &mut Prover, position: &Chess) -> Result<u64, Option<String>> {
    if is_drawn(position) {
        return Ok(0);
    }
    let fen = Fen::from_position(position, EnPassantMode::Legal);
    let mut agree = |firsts: Option<&[Move]>| {
        let differs = |what: String| Some(format!("{fen} {firsts:?}: {what}"));
        let holds = Reach::of(position, firsts).map(|reach| reach.holds());
        // A plan can be looked through however much there is that it leaves out.
        prover.budget = holds.is_err().then_some(MOST as u64);
        let found = prover.draw(position, firsts, &mut Unwatched);
        if let Ok(Some(plan)) = &found
            && let Some(what) = fault(position, plan)
        {
            return Err(differs(what));
        }
        match (holds, found) {
            (Err(Capped), _) => Err(None),
            (Ok(holds), Ok(plan)) if plan.is_some() == holds => Ok(holds),
            (Ok(holds), found) => Err(differs(format!("held: {holds}, but {found:?}"))),
        }
    };
    let moves = position.legal_moves();
    agree(None)?;
    let mut keys = 0;
    for m in &moves {
        match agree(Some(std::slice::from_ref(m))) {
            Ok(holds) => keys += u64::from(holds),
            Err(None) => {}
            Err(differs) => return Err(differs),
        }
    }
    match agree(Some(&moves)) {
        Ok(_) | Err(None) => Ok(keys),
        Err(differs) => Err(differs),
    }
}

/// Compares draws by force in positions of all strata, as [`by_lines::run`].
///
/// # Errors
/// The file cannot be read or written.
pub fn run(plan: &Plan) -> Result<Vec<String>, String> {
    let ask = |prover: &mut Prover, stratum: Stratum, random: &mut Seeded, _: u64| {
        compare(prover, &stratum.draw(random, Aim::Mate, RICH))
    };
    by_lines::run(plan, 0xd4a3 << 40, &ask)
}
