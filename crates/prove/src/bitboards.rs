//! The position as the search keeps it: bitboards only, small enough to be
//! copied at each move. Who attacks what, who is pinned, and playing a step.

use std::array::from_fn;

use shakmaty::attacks::{
    between, bishop_attacks, king_attacks, knight_attacks, pawn_attacks, rook_attacks,
};
use shakmaty::{Bitboard, CastlingSide, Chess, Color, Move, Position, Rank, Role, Square};

use super::step::{Kind, Step};

#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub(super) struct Bitboards {
    roles: [Bitboard; 6],
    sides: [Bitboard; 2],
    /// Rooks that may still castle, and the square behind a pawn that has
    /// just taken its double step if a pawn of the side to move stands ready
    /// to take there.
    special: Bitboard,
    /// The number of the side to move, as wide as the rest so that copies
    /// need no small stores.
    turn: u64,
}

/// What restricts the legal moves of the side to move.
#[derive(Clone, Copy, Debug)]
pub(super) struct Constraints {
    pub king: Square,
    pub checkers: Bitboard,
    /// Own men that shield their king from a line.
    pub pinned: Bitboard,
}

/// From where the side to move can check.
pub(super) struct Checks {
    knight: Bitboard,
    bishop: Bitboard,
    rook: Bitboard,
    pawn: Bitboard,
    /// Men whose leaving opens a line.
    shields: Bitboard,
}

impl Checks {
    /// Whether a step can give check at all. Most that cannot are told apart;
    /// promotions, castling and en passant count as if they could.
    #[inline]
    pub fn may_give(&self, step: Step) -> bool {
        let from = match step.arriving() {
            _ if step.is_promotion() || step.kind() == Kind::EnPassant => return true,
            Role::Pawn => self.pawn,
            Role::Knight => self.knight,
            Role::Bishop => self.bishop,
            Role::Rook => self.rook,
            Role::Queen => self.bishop | self.rook,
            Role::King if step.kind() == Kind::Castle => return true,
            Role::King => Bitboard::EMPTY,
        };
        from.contains(step.to()) || self.shields.contains(step.from())
    }
}

impl Bitboards {
    pub fn of(position: &Chess) -> Bitboards {
        let board = position.board();
        Bitboards {
            roles: Role::ALL.map(|role| board.by_role(role)),
            sides: [board.black(), board.white()],
            special: position.castles().castling_rights()
                | position
                    .pseudo_legal_ep_square()
                    .map_or(Bitboard::EMPTY, Bitboard::from),
            turn: position.turn() as u64,
        }
    }

    #[inline]
    pub fn turn(&self) -> Color {
        Color::from_white(self.turn == Color::White as u64)
    }

    /// Rooks that may still castle.
    #[inline]
    pub fn castling(&self) -> Bitboard {
        self.special & Bitboard::BACKRANKS
    }

    /// Where a pawn may take en passant, but for its king's safety.
    #[inline]
    pub fn ep(&self) -> Option<Square> {
        (self.special & !Bitboard::BACKRANKS).first()
    }

    /// Rooks that may still castle, and the en passant square.
    #[inline]
    pub fn special(&self) -> Bitboard {
        self.special
    }

    #[inline]
    pub fn by(&self, role: Role) -> Bitboard {
        self.roles[role as usize - 1]
    }

    #[inline]
    pub fn side(&self, color: Color) -> Bitboard {
        self.sides[color as usize]
    }

    #[inline]
    pub fn us(&self) -> Bitboard {
        self.side(self.turn())
    }

    #[inline]
    pub fn them(&self) -> Bitboard {
        self.side(!self.turn())
    }

    #[inline]
    pub fn occupied(&self) -> Bitboard {
        self.sides[0] | self.sides[1]
    }

    /// Bishops and queens of both sides.
    #[inline]
    pub fn diagonal(&self) -> Bitboard {
        self.by(Role::Bishop) | self.by(Role::Queen)
    }

    /// Rooks and queens of both sides.
    #[inline]
    pub fn straight(&self) -> Bitboard {
        self.by(Role::Rook) | self.by(Role::Queen)
    }

    #[inline]
    pub fn king(&self, color: Color) -> Square {
        square(self.by(Role::King) & self.side(color))
    }

    /// The move of a legal step.
    pub fn move_of(&self, step: Step) -> Move {
        step.to_move(self.role_at(step.to()))
    }

    pub fn role_at(&self, sq: Square) -> Option<Role> {
        Role::ALL
            .into_iter()
            .find(|&role| self.by(role).contains(sq))
    }

    /// Men among `by` of colour `color` that attack `sq` through `occupied`.
    #[inline]
    pub fn attackers(
        &self,
        sq: Square,
        color: Color,
        by: Bitboard,
        occupied: Bitboard,
    ) -> Bitboard {
        by & ((pawn_attacks(!color, sq) & self.by(Role::Pawn))
            | (knight_attacks(sq) & self.by(Role::Knight))
            | (king_attacks(sq) & self.by(Role::King))
            | (bishop_attacks(sq, occupied) & self.diagonal())
            | (rook_attacks(sq, occupied) & self.straight()))
    }

    /// Whether any of `by` of colour `color` attacks `sq`, nearest means first.
    #[inline]
    pub fn attacked(&self, sq: Square, color: Color, by: Bitboard, occupied: Bitboard) -> bool {
        ((pawn_attacks(!color, sq) & self.by(Role::Pawn)
            | knight_attacks(sq) & self.by(Role::Knight)
            | king_attacks(sq) & self.by(Role::King))
            & by)
            .any()
            || (rook_attacks(sq, occupied) & self.straight() & by).any()
            || (bishop_attacks(sq, occupied) & self.diagonal() & by).any()
    }

    /// Men of either side that alone stand between `king` and a line piece
    /// among `snipers`.
    #[inline]
    pub fn shields(&self, king: Square, snipers: Bitboard) -> Bitboard {
        let occupied = self.occupied();
        let lines = (rook_attacks(king, Bitboard::EMPTY) & self.straight())
            | (bishop_attacks(king, Bitboard::EMPTY) & self.diagonal());
        let mut shields = Bitboard::EMPTY;
        for sniper in lines & snipers {
            let blockers = between(king, sniper) & occupied;
            if blockers.any() && !blockers.more_than_one() {
                shields |= blockers;
            }
        }
        shields
    }

    #[inline]
    pub fn constraints(&self) -> Constraints {
        let king = self.king(self.turn());
        Constraints {
            king,
            checkers: self.attackers(king, !self.turn(), self.them(), self.occupied()),
            pinned: self.shields(king, self.them()) & self.us(),
        }
    }

    pub fn checks(&self) -> Checks {
        let king = self.king(!self.turn());
        let occupied = self.occupied();
        Checks {
            knight: knight_attacks(king),
            bishop: bishop_attacks(king, occupied),
            rook: rook_attacks(king, occupied),
            pawn: pawn_attacks(!self.turn(), king),
            shields: self.shields(king, self.us()) & self.us(),
        }
    }

    /// The same with the other side to move.
    pub fn passed(&self) -> Bitboards {
        Bitboards {
            special: self.castling(),
            turn: self.turn ^ 1,
            ..*self
        }
    }

    /// Plays a step.
    #[inline]
    pub fn play(&self, step: Step) -> Bitboards {
        if step.kind() == Kind::Castle {
            return self.castled(step.from(), step.to());
        }
        let to = Bitboard::from(step.to());
        let mut cleared = !(Bitboard::from(step.from()) | to);
        let mut special = self.castling() & cleared;
        if step.role() == Role::King {
            special &= !back_rank(self.turn());
        }
        match step.kind() {
            Kind::Plain | Kind::Castle => {}
            Kind::Double => {
                let behind = square(between(step.from(), step.to()));
                let takers = pawn_attacks(self.turn(), behind) & self.by(Role::Pawn);
                if (takers & self.them()).any() {
                    special |= Bitboard::from(behind);
                }
            }
            Kind::EnPassant => {
                cleared &=
                    !Bitboard::from(Square::from_coords(step.to().file(), step.from().rank()));
            }
        }
        let arrives = &ONE_ROLE[step.arriving() as usize - 1];
        let mine = &ONE_SIDE[self.turn as usize & 1];
        Bitboards {
            roles: from_fn(|i| (self.roles[i] & cleared) | (to & arrives[i])),
            sides: from_fn(|i| (self.sides[i] & cleared) | (to & mine[i])),
            special,
            turn: self.turn ^ 1,
        }
    }

    #[cold]
    fn castled(&self, king: Square, rook: Square) -> Bitboards {
        let color = self.turn();
        let side = CastlingSide::from_queen_side(rook < king);
        let cleared = !(Bitboard::from(king) | Bitboard::from(rook));
        let mut board = self.passed();
        let own = &mut board.sides[color as usize];
        *own = (*own & cleared)
            .with(side.king_to(color))
            .with(side.rook_to(color));
        let kings = &mut board.roles[Role::King as usize - 1];
        *kings = (*kings & cleared).with(side.king_to(color));
        let rooks = &mut board.roles[Role::Rook as usize - 1];
        *rooks = (*rooks & cleared).with(side.rook_to(color));
        board.special &= !back_rank(color);
        board
    }
}

/// All squares at a role's place, none elsewhere.
static ONE_ROLE: [[Bitboard; 6]; 6] = {
    let mut masks = [[Bitboard::EMPTY; 6]; 6];
    let mut i = 0;
    while i < 6 {
        masks[i][i] = Bitboard::FULL;
        i += 1;
    }
    masks
};

static ONE_SIDE: [[Bitboard; 2]; 2] = [
    [Bitboard::FULL, Bitboard::EMPTY],
    [Bitboard::EMPTY, Bitboard::FULL],
];

#[inline]
pub(super) fn back_rank(color: Color) -> Bitboard {
    Bitboard::from_rank(color.fold_wb(Rank::First, Rank::Eighth))
}

/// The only square of a set that has one.
#[inline]
pub(super) fn square(set: Bitboard) -> Square {
    debug_assert!(set.any());
    Square::new(set.0.trailing_zeros() & 63)
}
