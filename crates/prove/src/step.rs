//! A move as the search keeps it: one word that can be played without
//! looking anything up, compared at once, and stored in a table.

use shakmaty::{Move, Role, Square};

#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Debug)]
pub(super) struct Step(u32);

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Kind {
    Plain,
    /// A pawn's double step.
    Double,
    EnPassant,
    /// `from` is the king's square, `to` the rook's.
    Castle,
}

impl Step {
    /// No move. Never equal to a move: no man moves from a1 to a1.
    pub const NONE: Step = Step(0);

    #[inline]
    pub fn new(role: Role, from: Square, to: Square, kind: Kind) -> Step {
        Step(u32::from(from) | u32::from(to) << 6 | (role as u32) << 12 | (kind as u32) << 18)
    }

    #[inline]
    pub fn plain(role: Role, from: Square, to: Square) -> Step {
        Step::new(role, from, to, Kind::Plain)
    }

    #[inline]
    pub fn promotion(from: Square, to: Square, promotion: Role) -> Step {
        let pawn = Step::plain(Role::Pawn, from, to);
        Step(pawn.0 | (promotion as u32) << 15)
    }

    #[inline]
    pub fn to_bits(self) -> u32 {
        self.0
    }

    /// The step that [`Step::to_bits`] gave.
    #[inline]
    pub fn from_bits(bits: u32) -> Step {
        Step(bits)
    }

    #[inline]
    pub fn is_none(self) -> bool {
        self.0 == 0
    }

    #[inline]
    pub fn from(self) -> Square {
        Square::new(self.0 & 63)
    }

    #[inline]
    pub fn to(self) -> Square {
        Square::new(self.0 >> 6 & 63)
    }

    /// The man that moves, before any promotion.
    #[inline]
    pub fn role(self) -> Role {
        role(self.0 >> 12 & 7)
    }

    /// The man that arrives: the promoted one, or the one that moves.
    #[inline]
    pub fn arriving(self) -> Role {
        match self.0 >> 15 & 7 {
            0 => self.role(),
            promoted => role(promoted),
        }
    }

    #[inline]
    pub fn is_promotion(self) -> bool {
        self.0 >> 15 & 7 != 0
    }

    /// En passant or castling.
    #[inline]
    pub fn is_special(self) -> bool {
        matches!(self.kind(), Kind::EnPassant | Kind::Castle)
    }

    #[inline]
    pub fn kind(self) -> Kind {
        match self.0 >> 18 & 3 {
            0 => Kind::Plain,
            1 => Kind::Double,
            2 => Kind::EnPassant,
            _ => Kind::Castle,
        }
    }

    /// The step of a legal move.
    pub fn of(m: Move) -> Step {
        match m {
            Move::Normal {
                from,
                to,
                promotion: Some(promotion),
                ..
            } => Step::promotion(from, to, promotion),
            Move::Normal { role, from, to, .. } => {
                let double = role == Role::Pawn && from.rank().distance(to.rank()) == 2;
                let kind = if double { Kind::Double } else { Kind::Plain };
                Step::new(role, from, to, kind)
            }
            Move::EnPassant { from, to } => Step::new(Role::Pawn, from, to, Kind::EnPassant),
            Move::Castle { king, rook } => Step::new(Role::King, king, rook, Kind::Castle),
            Move::Put { .. } => unreachable!("chess has no drops"),
        }
    }

    /// The move, given what stands on its target square.
    pub fn to_move(self, capture: Option<Role>) -> Move {
        match self.kind() {
            Kind::EnPassant => Move::EnPassant {
                from: self.from(),
                to: self.to(),
            },
            Kind::Castle => Move::Castle {
                king: self.from(),
                rook: self.to(),
            },
            Kind::Plain | Kind::Double => Move::Normal {
                role: self.role(),
                from: self.from(),
                capture,
                to: self.to(),
                promotion: self.is_promotion().then(|| self.arriving()),
            },
        }
    }
}

#[inline]
fn role(number: u32) -> Role {
    const ROLES: [Role; 8] = [
        Role::King,
        Role::Pawn,
        Role::Knight,
        Role::Bishop,
        Role::Rook,
        Role::Queen,
        Role::King,
        Role::King,
    ];
    ROLES[number as usize & 7]
}
