//! The position as the search keeps it: bitboards only, small enough to be
//! copied at each move. Who attacks what, who is pinned, and playing a step.

use shakmaty::attacks::{
    between, bishop_attacks, king_attacks, knight_attacks, pawn_attacks, rook_attacks,
};
use shakmaty::{Bitboard, CastlingSide, Chess, Color, Move, Position, Rank, Role, Square};

use super::step::{Kind, Step};

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Men {
    roles: [Bitboard; 6],
    sides: [Bitboard; 2],
    /// Rooks that may still castle, with their king.
    pub castling: Bitboard,
    /// The square behind a pawn that has just taken its double step, if a
    /// pawn of the side to move stands ready to take there.
    pub ep: Option<Square>,
    pub turn: Color,
}

/// What the side to move must heed.
#[derive(Clone, Copy, Debug)]
pub(super) struct Duty {
    pub king: Square,
    pub checkers: Bitboard,
    /// Own men that shield their king from a line.
    pub pinned: Bitboard,
}

impl Men {
    pub fn of(position: &Chess) -> Men {
        let board = position.board();
        Men {
            roles: Role::ALL.map(|role| board.by_role(role)),
            sides: [board.black(), board.white()],
            castling: position.castles().castling_rights(),
            ep: position.pseudo_legal_ep_square(),
            turn: position.turn(),
        }
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
        self.side(self.turn)
    }

    #[inline]
    pub fn them(&self) -> Bitboard {
        self.side(!self.turn)
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
    pub fn duty(&self) -> Duty {
        let king = self.king(self.turn);
        Duty {
            king,
            checkers: self.attackers(king, !self.turn, self.them(), self.occupied()),
            pinned: self.shields(king, self.them()) & self.us(),
        }
    }

    /// Plays a legal step.
    #[inline]
    pub fn play(&self, step: Step) -> Men {
        let mut men = *self;
        let (from, to) = (step.from(), step.to());
        let (us, them) = (self.turn as usize, !self.turn as usize);
        men.ep = None;
        men.turn = !self.turn;
        if step.kind() == Kind::Castle {
            men.castle(from, to);
            return men;
        }
        let cleared = !(Bitboard::from(from) | Bitboard::from(to));
        for role in &mut men.roles {
            *role &= cleared;
        }
        men.roles[step.arriving() as usize - 1] |= Bitboard::from(to);
        men.sides[us] = (men.sides[us] & cleared) | Bitboard::from(to);
        men.sides[them] &= cleared;
        men.castling &= cleared;
        match step.role() {
            Role::King => men.castling &= !back_rank(self.turn),
            Role::Pawn => match step.kind() {
                Kind::EnPassant => {
                    let taken = !Bitboard::from(Square::from_coords(to.file(), from.rank()));
                    men.roles[Role::Pawn as usize - 1] &= taken;
                    men.sides[them] &= taken;
                }
                Kind::Double => {
                    let behind = square(between(from, to));
                    let takers = pawn_attacks(self.turn, behind) & men.by(Role::Pawn);
                    if (takers & men.sides[them]).any() {
                        men.ep = Some(behind);
                    }
                }
                Kind::Plain | Kind::Castle => {}
            },
            _ => {}
        }
        men
    }

    #[cold]
    fn castle(&mut self, king: Square, rook: Square) {
        let color = !self.turn;
        let side = CastlingSide::from_queen_side(rook < king);
        let (king_to, rook_to) = (side.king_to(color), side.rook_to(color));
        let (king, rook) = (Bitboard::from(king), Bitboard::from(rook));
        let (king_to, rook_to) = (Bitboard::from(king_to), Bitboard::from(rook_to));
        let own = &mut self.sides[color as usize];
        *own = (*own & !(king | rook)) | king_to | rook_to;
        let kings = &mut self.roles[Role::King as usize - 1];
        *kings = (*kings & !king) | king_to;
        let rooks = &mut self.roles[Role::Rook as usize - 1];
        *rooks = (*rooks & !rook) | rook_to;
        self.castling &= !back_rank(color);
    }
}

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
