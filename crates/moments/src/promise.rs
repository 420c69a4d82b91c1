//! What a position promises before anybody has asked the checker: which positions are
//! looked at again, and which of those are asked about, the most promising first.
//!
//! It rests on values backed up from the game's own end: a position is worth what the
//! best other move is worth by its own search, or what the move of the game led to,
//! whichever is more. So a sacrifice whose worth shows late is seen where it was
//! played, if the replies to it were as good as any; and an error is seen at the move
//! that made it.

use shakmaty::Position;

use super::ask::{Seen, points};
use super::course::Course;
use super::goal::{LOSING, MATES};
use super::offer::offer;
use model::notation::moves;

/// The side to move is lost below, and wins whatever it does above: no moment.
pub const LOST: i32 = 300;
pub const WON: i32 = 600;
/// What is promised must count so much.
const LEAST: i32 = 4;
/// Points for any daring move; for one that is the first of its side; for an offer that
/// the other side took.
const DARES: f64 = 40.0;
const FIRST: f64 = 10.0;
const TAKEN: f64 = 10.0;
/// What is left of the praise where a man is left hanging that did not move.
const LEFT_HANGING: f64 = 0.5;
/// The share of the point that a daring move may give away before nothing of its praise
/// is left; and the part that is left in any case where it still wins.
const PRAISED: f64 = 0.35;
const STILL_WINS: f64 = 0.5;
/// What is at stake at least where one move alone mates.
const MATE: f64 = 0.2;
/// Where less of the point is at stake, plainer moves do as well; what is then left of
/// the praise.
const AT_STAKE: f64 = 0.03;
const BESIDE_PLAINER: f64 = 0.7;

/// The share of the point that a value is good for, by the logistic curve on which
/// four pawns make ten to one (common practice, no source).
pub fn share(value: i32) -> f64 {
    1.0 / (1.0 + 10_f64.powf(-f64::from(value.clamp(-1000, 1000)) / 400.0))
}

/// The values of all positions of a game, each for its side to move, in the order of
/// the plies, one more than there are moves; `None` while a glance lacks.
pub fn backed_up<'a>(
    course: &Course,
    glance: impl Fn(usize) -> Option<&'a Vec<Seen>>,
) -> Option<Vec<i32>> {
    let end = course.plies.len();
    let mut values = vec![0; end + 1];
    for ply in (0..=end).rev() {
        let position = course.position(ply);
        values[ply] = if position.is_checkmate() {
            -MATED
        } else if position.is_game_over() {
            0
        } else {
            let lines = glance(ply)?;
            let played = course.plies.get(ply).map(|at| moves::uci(at.played));
            let game = played.is_some().then(|| -values[ply + 1]);
            let others = lines
                .iter()
                .filter(|line| Some(&line.moves[0]) != played.as_ref());
            let others = others.map(|line| points(line.value));
            others.chain(game).max().unwrap_or(0)
        };
    }
    Some(values)
}

/// What being mated counts, as [`points`] has it.
const MATED: i32 = 3000;

/// What a position promises.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Promise {
    /// The share of the point between the best move and the second and third.
    pub stake: f64,
    /// What the move of the game gave away of it.
    pub lost: f64,
    /// What the move before it gave away.
    pub chance: f64,
    /// What a daring move of the game is praised for, in points; 0 where it is not.
    pub praise: f64,
}

impl Promise {
    /// The more, the sooner it is asked about.
    pub fn points(self) -> i32 {
        self.parts().iter().sum()
    }

    /// The points for what is at stake, for what was given away, for what the other side
    /// had given away, and for a daring move.
    pub fn parts(self) -> [i32; 4] {
        let parts = [
            60.0 * self.stake,
            50.0 * self.lost,
            10.0 * self.chance,
            self.praise,
        ];
        parts.map(|part| part.round() as i32)
    }

    /// Whether the game's move is daring and seems right.
    pub fn praised(self) -> bool {
        self.praise > 0.0
    }
}

/// What a position promises by lines of a search and by the values of the game;
/// nothing where the side to move is lost, wins anyhow or has no choice.
pub fn promise(course: &Course, ply: usize, lines: &[Seen], values: &[i32]) -> Option<Promise> {
    let at = course.plies.get(ply)?;
    let position = &at.before;
    if position.legal_moves().len() < 2 {
        return None;
    }
    let played = moves::uci(at.played);
    let (own, others): (Vec<&Seen>, Vec<&Seen>) =
        lines.iter().partition(|line| line.moves[0] == played);
    let own = own.iter().map(|line| points(line.value));
    let game = own.fold(-values[ply + 1], i32::max);
    let mut ranked: Vec<i32> = others.iter().map(|line| points(line.value)).collect();
    ranked.push(game);
    ranked.sort_unstable_by_key(|value| -value);
    let (best, second) = (ranked[0], *ranked.get(1)?);
    let third = ranked.get(2).copied().unwrap_or(second);
    let lost = share(best) - share(game);
    let mates = best >= MATES && second < MATES;
    let least = if mates { MATE } else { 0.0 };
    let stake = (share(best) - 0.5 * (share(second) + share(third))).max(least);
    let mut praise = match at.daring && game > LOSING {
        true => right(lost, game, second) * praise(course, ply, values),
        false => 0.0,
    };
    if stake + lost < AT_STAKE {
        praise *= BESIDE_PLAINER;
    }
    if best <= -LOST || second >= WON && praise == 0.0 && !mates {
        return None;
    }
    let before = ply
        .checked_sub(1)
        .map_or(share(best), |ply| share(-values[ply]));
    let promise = Promise {
        stake,
        lost,
        chance: (share(best) - before).max(0.0),
        praise,
    };
    (promise.points() >= LEAST).then_some(promise)
}

/// The points for a daring move, if it is right.
fn praise(course: &Course, ply: usize, values: &[i32]) -> f64 {
    let at = &course.plies[ply];
    let offer = offer(&at.before, at.played);
    let own = offer.own || at.played.is_promotion();
    let dares = DARES + f64::from(offer.worth.clamp(0, 1000)) / 25.0;
    let reply = course.plies.get(ply + 1);
    let taken = own && reply.is_some_and(|reply| reply.played.to() == at.played.to());
    let dared = |&ply: &usize| {
        let (best, reached) = (share(values[ply]), share(-values[ply + 1]));
        course.plies[ply].daring && best - reached < PRAISED && -values[ply + 1] > LOSING
    };
    let first = !(ply % 2..ply).step_by(2).any(|ply| dared(&ply));
    dares * if own { 1.0 } else { LEFT_HANGING }
        + if taken { TAKEN } else { 0.0 }
        + if first { FIRST } else { 0.0 }
}

/// How right a daring move is that gives so much of the point away and is worth so much,
/// and beside which the second best is worth so much.
fn right(lost: f64, game: i32, second: i32) -> f64 {
    let least = if game >= WINS { STILL_WINS } else { 0.0 };
    let right = (1.0 - lost / PRAISED).max(least);
    let needed = if game < MATES && second >= WON {
        0.5
    } else {
        1.0
    };
    right * needed
}

/// What is taken for a win.
const WINS: i32 = 200;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_of_the_point_count_a_pawn_most_where_it_is_level() {
        let level = share(100) - share(0);
        assert!((share(0) - 0.5).abs() < 1e-9 && level > share(500) - share(400));
        assert!(share(3000) == share(1000) && share(-1000) < 0.01);
    }
}
