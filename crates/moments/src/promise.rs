//! What a position promises before anybody has asked the checker: which positions are
//! looked at again, and which of those are asked about, the most promising first.
//!
//! It rests on values backed up from the game's own end: a position is worth what the
//! best other move is worth by its own search, or what the move of the game led to,
//! whichever is more. So a sacrifice whose worth shows late is seen where it was
//! played, if the replies to it were as good as any; and an error is seen at the move
//! that made it.

use shakmaty::{Chess, Move, Position, Role};

use super::ask::{Seen, points};
use super::course::Course;
use super::goal::{LOSING, MATES};
use check::exchange::{exchange_gain, worth};
use model::notation::moves;

/// What a sacrifice gives away at least, in hundredths of a pawn.
pub const SACRIFICE: i32 = 200;
/// The side to move is lost below, and wins whatever it does above: no moment.
pub const LOST: i32 = 300;
pub const WON: i32 = 600;
/// What is promised must count so much.
const LEAST: i32 = 4;
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

/// What a move offers, in hundredths of a pawn: what the other side can win by exchanges
/// on one square, less what the move takes itself and less what can then be taken
/// elsewhere in return. It is a sacrifice, and counts as one, as long as not more comes
/// back at once than is given. Nothing where the move ends the game.
pub fn offered(position: &Chess, mv: Move) -> i32 {
    let taken = mv.capture().map_or(0, worth)
        + mv.promotion()
            .map_or(0, |role| worth(role) - worth(Role::Pawn));
    let mut after = position.clone();
    after.play_unchecked(mv);
    let captures = after.capture_moves();
    let won = captures.iter().map(|&reply| {
        let given = exchange_gain(after.board(), reply) - taken;
        let net = given - returned(&after, reply);
        match given >= SACRIFICE && net >= 0 {
            true => net.max(SACRIFICE),
            false => net,
        }
    });
    won.max().unwrap_or(-taken).max(-taken)
}

/// What can be taken after a capture, on another square than where it was made.
fn returned(position: &Chess, capture: Move) -> i32 {
    let mut after = position.clone();
    after.play_unchecked(capture);
    let elsewhere = after.capture_moves().into_iter();
    let elsewhere = elsewhere.filter(|mv| mv.to() != capture.to());
    let gains = elsewhere.map(|mv| exchange_gain(after.board(), mv));
    gains.max().unwrap_or(0).max(0)
}

/// Whether a move is one that annotators praise if it is right: it offers two pawns'
/// worth or more, or promotes to less than a queen.
pub fn daring(position: &Chess, mv: Move) -> bool {
    offered(position, mv) >= SACRIFICE || mv.promotion().is_some_and(|role| role != Role::Queen)
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
    let mut praise = match daring(position, at.played) && game > LOSING {
        true => praise(offered(position, at.played), lost, game, second),
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

/// The points for a daring move that offers so much, gives so much of the point away, is
/// worth so much, and beside which the second best is worth so much.
fn praise(offer: i32, lost: f64, game: i32, second: i32) -> f64 {
    let least = if game >= WINS { STILL_WINS } else { 0.0 };
    let right = (1.0 - lost / PRAISED).max(least);
    let needed = if game < MATES && second >= WON {
        0.5
    } else {
        1.0
    };
    right * needed * (40.0 + f64::from(offer.clamp(0, 1000)) / 25.0)
}

/// What is taken for a win.
const WINS: i32 = 200;

#[cfg(test)]
mod tests {
    use super::*;
    use model::notation::fen;

    fn given(position: &str, uci: &str) -> i32 {
        let position = fen::read(position).unwrap();
        offered(&position, moves::read_uci(&position, uci).unwrap())
    }

    #[test]
    fn a_queen_that_may_be_taken_for_a_rook_is_offered_less_the_rook() {
        let position = "3r2k1/1b3ppp/pqp5/8/3N4/8/PPP1QPPP/3R2K1 w - - 0 1";
        assert_eq!(
            given(position, "e2e8"),
            900,
            "to the rook, which nobody takes back"
        );
        let guarded = "3rr1k1/1b3ppp/pqp5/8/3N4/8/PPP1QPPP/4R1K1 w - - 0 1";
        assert!(
            given(guarded, "e2e8") < SACRIFICE,
            "two rooks for the queen"
        );
    }

    #[test]
    fn what_is_guarded_or_returned_elsewhere_is_not_offered() {
        let guarded = "6k1/5ppp/8/8/8/2N5/1P3PPP/6K1 w - - 0 1";
        assert_eq!(given(guarded, "g1f1"), 0);
        // The knight may be taken, and the rook behind the pawn then falls.
        let hangs = "4k3/8/8/8/1n6/2P5/8/4K3 b - - 0 1";
        assert_eq!(given(hangs, "e8f8"), 300);
        let returned = "4k3/8/8/4b3/1n6/2P5/8/R3K3 b Q - 0 1";
        assert_eq!(given(returned, "e8f8"), 0);
    }

    #[test]
    fn shares_of_the_point_count_a_pawn_most_where_it_is_level() {
        let level = share(100) - share(0);
        assert!((share(0) - 0.5).abs() < 1e-9 && level > share(500) - share(400));
        assert!(share(3000) == share(1000) && share(-1000) < 0.01);
    }
}
