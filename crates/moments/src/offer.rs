//! What a move offers: which moves are daring.

use check::exchange::{exchange_gain, worth};
use shakmaty::{Chess, Move, Position, Role};

/// What a sacrifice gives away at least, in hundredths of a pawn.
pub const SACRIFICE: i32 = 200;

/// What a move offers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Offer {
    /// In hundredths of a pawn.
    pub worth: i32,
    /// Whether it is the man that moves that may be taken, and none that is left hanging.
    pub own: bool,
}

/// What a move offers: what the other side can win by exchanges on one square, less what
/// the move takes itself and less what can then be taken elsewhere in return. It is a
/// sacrifice, and counts as one, as long as not more comes back at once than is given.
/// Nothing where the move ends the game.
pub fn offer(position: &Chess, mv: Move) -> Offer {
    let taken = mv.capture().map_or(0, worth)
        + mv.promotion()
            .map_or(0, |role| worth(role) - worth(Role::Pawn));
    let mut after = position.clone();
    after.play_unchecked(mv);
    let mut offer = Offer {
        worth: -taken,
        own: false,
    };
    for reply in after.capture_moves() {
        let given = exchange_gain(after.board(), reply) - taken;
        let net = given - returned(&after, reply);
        let sacrifice = given >= SACRIFICE && net >= 0;
        let worth = if sacrifice { net.max(SACRIFICE) } else { net };
        offer.worth = offer.worth.max(worth);
        offer.own |= worth >= SACRIFICE && reply.to() == mv.to();
    }
    offer
}

/// What a move offers, in hundredths of a pawn.
pub fn offered(position: &Chess, mv: Move) -> i32 {
    offer(position, mv).worth
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
/// worth or more, and neither answers a check nor moves the king, but to castle; or it
/// promotes to less than a queen.
pub fn daring(position: &Chess, mv: Move) -> bool {
    let walks = mv.role() == Role::King && !mv.is_castle();
    let free = !position.is_check() && !walks;
    free && offered(position, mv) >= SACRIFICE
        || mv.promotion().is_some_and(|role| role != Role::Queen)
}

#[cfg(test)]
mod tests {
    use super::*;
    use model::notation::{fen, moves};

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

    fn dares(position: &str, uci: &str) -> bool {
        let position = fen::read(position).unwrap();
        daring(&position, moves::read_uci(&position, uci).unwrap())
    }

    #[test]
    fn who_answers_a_check_or_walks_with_the_king_offers_nothing_of_his_own() {
        // The knight hangs before and after.
        let hangs = "4k3/p7/8/8/1n6/2P5/8/4K3 b - - 0 1";
        assert!(dares(hangs, "a7a6") && !dares(hangs, "e8f8"));
        let castles = "4k2r/8/8/8/1n6/2P5/8/4K3 b k - 0 1";
        assert!(dares(castles, "e8g8"), "castling is no walk");
        let checked = "4k2r/8/8/4R3/1n6/2P5/8/4K3 b - - 0 1";
        assert!(!dares(checked, "e8f8"));
        let blocked = "4k3/7r/8/4R3/1n6/2P5/8/4K3 b - - 0 1";
        assert!(!dares(blocked, "h7e7"));
    }

    #[test]
    fn what_is_offered_is_the_man_that_moves_or_one_left_hanging() {
        let own = |position: &str, uci: &str| {
            let position = fen::read(position).unwrap();
            offer(&position, moves::read_uci(&position, uci).unwrap()).own
        };
        let hangs = "4k3/8/8/8/1n6/2P5/7P/4K3 b - - 0 1";
        assert!(!own(hangs, "e8e7"), "the knight stands where it stood");
        let leaps = "4k3/8/8/5n2/8/2P5/7P/4K3 b - - 0 1";
        assert!(own(leaps, "f5g3"), "the knight goes where it may be taken");
    }
}
