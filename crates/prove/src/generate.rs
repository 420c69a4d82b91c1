//! Legal steps: all of them, or whether a remembered one is legal here.

use shakmaty::attacks::{
    between, bishop_attacks, king_attacks, knight_attacks, pawn_attacks, queen_attacks, ray,
    rook_attacks,
};
use shakmaty::{Bitboard, CastlingSide, Color, Rank, Role, Square};

use arrayvec::ArrayVec;

use super::bitboards::{Bitboards, Constraints, back_rank, square};
use super::step::{Kind, Step};

/// No position of chess has more than 218 legal moves.
pub(super) type Steps = ArrayVec<Step, 256>;

impl Bitboards {
    /// Adds all legal steps.
    pub fn legal(&self, constraints: &Constraints, steps: &mut Steps) {
        self.king_steps(constraints, steps);
        if constraints.checkers.more_than_one() {
            return;
        }
        let targets = self.targets(constraints);
        self.piece_steps(constraints, targets, steps);
        self.pawn_steps(constraints, targets, steps);
        if self.ep().is_some() {
            self.en_passant_steps(constraints, steps);
        }
        if constraints.checkers.is_empty() {
            self.castling_steps(constraints, steps);
        }
    }

    /// Adds the legal steps that take a man or promote a pawn.
    pub fn exchanging(&self, constraints: &Constraints, steps: &mut Steps) {
        let them = self.them();
        let without = self.occupied() ^ Bitboard::from(constraints.king);
        for to in king_attacks(constraints.king) & them {
            if !self.attacked(to, !self.turn(), them, without) {
                steps.push(Step::plain(Role::King, constraints.king, to));
            }
        }
        if constraints.checkers.more_than_one() {
            return;
        }
        let targets = self.targets(constraints);
        self.piece_steps(constraints, targets & them, steps);
        let before = steps.len();
        let last = back_rank(Color::White) | back_rank(Color::Black);
        self.pawn_steps(constraints, targets & (them | last), steps);
        debug_assert!(
            steps[before..]
                .iter()
                .all(|step| { them.contains(step.to()) || step.is_promotion() })
        );
        if self.ep().is_some() {
            self.en_passant_steps(constraints, steps);
        }
    }

    /// Whether there is no legal step at all: mate or stalemate.
    pub fn is_stuck(&self, constraints: &Constraints) -> bool {
        let mut steps = Steps::new();
        self.king_steps(constraints, &mut steps);
        if !steps.is_empty() {
            return false;
        }
        if constraints.checkers.more_than_one() {
            return true;
        }
        let targets = self.targets(constraints);
        self.piece_steps(constraints, targets, &mut steps);
        self.pawn_steps(constraints, targets, &mut steps);
        if self.ep().is_some() {
            self.en_passant_steps(constraints, &mut steps);
        }
        steps.is_empty()
    }

    pub fn is_checkmate(&self) -> bool {
        let constraints = self.constraints();
        constraints.checkers.any() && self.is_stuck(&constraints)
    }

    /// Whether a step that was legal in some other position with the same
    /// side to move is legal here. Castling and en passant are never taken
    /// over: they answer `false`.
    pub fn takes_over(&self, constraints: &Constraints, step: Step) -> bool {
        if !self.can_go(step) {
            return false;
        }
        let (from, to) = (step.from(), step.to());
        if from == constraints.king {
            let without = self.occupied() ^ Bitboard::from(from);
            return !self.attacked(to, !self.turn(), self.them(), without);
        }
        (!constraints.pinned.contains(from) || ray(constraints.king, from).contains(to))
            && (constraints.checkers.is_empty()
                || !constraints.checkers.more_than_one() && self.targets(constraints).contains(to))
    }

    /// As [`Bitboards::takes_over`], but the own king may be left open to capture.
    #[inline]
    pub fn can_go(&self, step: Step) -> bool {
        let (from, to, role) = (step.from(), step.to(), step.role());
        let us = self.us();
        if step.is_none() || !(us & self.by(role)).contains(from) || us.contains(to) {
            return false;
        }
        match role {
            Role::Knight => true,
            Role::King => step.kind() == Kind::Plain,
            Role::Pawn => match step.kind() {
                Kind::EnPassant | Kind::Castle => false,
                Kind::Double => (between(from, to).with(to) & self.occupied()).is_empty(),
                Kind::Plain => (from.file() == to.file()) != self.them().contains(to),
            },
            Role::Bishop | Role::Rook | Role::Queen => {
                (between(from, to) & self.occupied()).is_empty()
            }
        }
    }

    /// Where a man other than the king may go: anywhere, or where it answers
    /// the one check.
    #[inline]
    fn targets(&self, constraints: &Constraints) -> Bitboard {
        if constraints.checkers.any() {
            constraints.checkers | between(constraints.king, square(constraints.checkers))
        } else {
            Bitboard::FULL
        }
    }

    fn king_steps(&self, constraints: &Constraints, steps: &mut Steps) {
        let without = self.occupied() ^ Bitboard::from(constraints.king);
        for to in king_attacks(constraints.king) & !self.us() {
            if !self.attacked(to, !self.turn(), self.them(), without) {
                steps.push(Step::plain(Role::King, constraints.king, to));
            }
        }
    }

    fn piece_steps(&self, constraints: &Constraints, targets: Bitboard, steps: &mut Steps) {
        let us = self.us();
        let targets = targets & !us;
        let occupied = self.occupied();
        let mut add = |role, from, attacks: Bitboard| {
            let mut to = attacks & targets;
            if constraints.pinned.contains(from) {
                to &= ray(constraints.king, from);
            }
            for to in to {
                steps.push(Step::plain(role, from, to));
            }
        };
        for from in self.by(Role::Knight) & us & !constraints.pinned {
            add(Role::Knight, from, knight_attacks(from));
        }
        for from in self.by(Role::Bishop) & us {
            add(Role::Bishop, from, bishop_attacks(from, occupied));
        }
        for from in self.by(Role::Rook) & us {
            add(Role::Rook, from, rook_attacks(from, occupied));
        }
        for from in self.by(Role::Queen) & us {
            add(Role::Queen, from, queen_attacks(from, occupied));
        }
    }

    fn pawn_steps(&self, constraints: &Constraints, targets: Bitboard, steps: &mut Steps) {
        let pawns = self.by(Role::Pawn) & self.us();
        let empty = !self.occupied();
        let forward = forward(self.turn());
        let single = pawns.shift(forward) & empty;
        let double = single.shift(forward) & empty & double_rank(self.turn());
        let mut add = |from: Square, to: Square, kind| {
            if constraints.pinned.contains(from) && !ray(constraints.king, from).contains(to) {
                return;
            }
            if (Bitboard::from(to) & (back_rank(Color::White) | back_rank(Color::Black))).any() {
                for promotion in [Role::Queen, Role::Knight, Role::Rook, Role::Bishop] {
                    steps.push(Step::promotion(from, to, promotion));
                }
            } else {
                steps.push(Step::new(Role::Pawn, from, to, kind));
            }
        };
        let them = self.them() & targets;
        for from in pawns {
            for to in pawn_attacks(self.turn(), from) & them {
                add(from, to, Kind::Plain);
            }
        }
        for to in single & targets {
            add(back(to, forward), to, Kind::Plain);
        }
        for to in double & targets {
            add(back(to, 2 * forward), to, Kind::Double);
        }
    }

    #[cold]
    fn en_passant_steps(&self, constraints: &Constraints, steps: &mut Steps) {
        let Some(to) = self.ep() else { return };
        for from in pawn_attacks(!self.turn(), to) & self.by(Role::Pawn) & self.us() {
            let step = Step::new(Role::Pawn, from, to, Kind::EnPassant);
            let after = self.play(step);
            if !after.attacked(constraints.king, !self.turn(), after.us(), after.occupied()) {
                steps.push(step);
            }
        }
    }

    #[inline]
    fn castling_steps(&self, constraints: &Constraints, steps: &mut Steps) {
        let rooks = self.castling() & back_rank(self.turn()) & self.us();
        if rooks.any() {
            self.castling_with(rooks, constraints.king, steps);
        }
    }

    #[cold]
    fn castling_with(&self, rooks: Bitboard, king: Square, steps: &mut Steps) {
        let occupied = self.occupied();
        let attacked = |sq| self.attacked(sq, !self.turn(), self.them(), occupied);
        for rook in rooks {
            let side = CastlingSide::from_queen_side(rook < king);
            let king_to = side.king_to(self.turn());
            let way = between(king, king_to).with(king_to);
            // What attacks along the back rank would give check, or stand in between.
            let barred = way.into_iter().any(attacked);
            if (between(king, rook) & occupied).any() || barred {
                continue;
            }
            steps.push(Step::new(Role::King, king, rook, Kind::Castle));
        }
    }
}

/// Squares from one rank to the next, as the pawns of `color` go.
#[inline]
pub(super) fn forward(color: Color) -> i32 {
    color.fold_wb(8, -8)
}

/// Where a double step ends.
#[inline]
pub(super) fn double_rank(color: Color) -> Bitboard {
    Bitboard::from_rank(color.fold_wb(Rank::Fourth, Rank::Fifth))
}

/// The square `delta` steps before `to`; the caller knows that it exists.
#[inline]
pub(super) fn back(to: Square, delta: i32) -> Square {
    Square::new((i32::from(to) - delta) as u32 & 63)
}
