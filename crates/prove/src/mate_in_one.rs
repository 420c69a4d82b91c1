//! Mate in one without playing a move: which men can give check, and what
//! flights, captures and interpositions a check leaves.

use arrayvec::ArrayVec;
use shakmaty::attacks::{
    between, bishop_attacks, king_attacks, knight_attacks, pawn_attacks, queen_attacks, ray,
    rook_attacks,
};
use shakmaty::{Bitboard, Color, Rank, Role, Square};

use super::bitboards::{Bitboards, back_rank, square};
use super::generate::{Steps, back, double_rank, forward};
use super::step::{Kind, Step};

/// A man and the squares from which it would give check.
struct Checker {
    role: Role,
    from: Square,
    to: Bitboard,
}

impl Bitboards {
    /// A legal step of the side to move that mates, or [`Step::NONE`]. The
    /// other side is not in check.
    pub fn mate_in_one(&self) -> Step {
        self.answer().unwrap_or(Step::NONE)
    }

    /// As [`Bitboards::mate_in_one`], but `None` if the other side is in check, that
    /// is, if its last step was not legal.
    pub fn answer(&self) -> Option<Step> {
        let us = self.us();
        let king = self.king(!self.turn());
        let occupied = self.occupied();
        let straight = rook_attacks(king, occupied);
        let diagonal = bishop_attacks(king, occupied);
        let far = straight & self.straight() | diagonal & self.diagonal();
        if ((self.near(king) | far) & us).any() {
            return None;
        }

        let mut checkers: ArrayVec<Checker, 64> = ArrayVec::new();
        let mut lines = Bitboard::EMPTY;
        let mut covered = king_attacks(self.king(self.turn()));
        for from in self.by(Role::Queen) & us {
            let attacks = queen_attacks(from, occupied);
            lines |= attacks;
            let to = attacks & (straight | diagonal) & !us;
            note(&mut checkers, Role::Queen, from, to);
        }
        for from in self.by(Role::Rook) & us {
            let attacks = rook_attacks(from, occupied);
            lines |= attacks;
            note(&mut checkers, Role::Rook, from, attacks & straight & !us);
        }
        for from in self.by(Role::Bishop) & us {
            let attacks = bishop_attacks(from, occupied);
            lines |= attacks;
            note(&mut checkers, Role::Bishop, from, attacks & diagonal & !us);
        }
        let jumps = knight_attacks(king) & !us;
        for from in self.by(Role::Knight) & us {
            let attacks = knight_attacks(from);
            covered |= attacks;
            note(&mut checkers, Role::Knight, from, attacks & jumps);
        }
        let pawns = self.by(Role::Pawn) & us;
        covered |= lines | pawn_cover(self.turn(), pawns);

        // Flights that only the checking man itself, or a line opened by its
        // leaving, can cover.
        let open = king_attacks(king) & !self.them() & !covered;
        let without_king = occupied ^ Bitboard::from(king);

        for checker in &checkers {
            let opens = lines.contains(checker.from);
            for to in checker.to {
                let cover = match checker.role {
                    Role::Knight => knight_attacks(to),
                    Role::Bishop => bishop_attacks(to, without_king),
                    Role::Rook => rook_attacks(to, without_king),
                    _ => queen_attacks(to, without_king),
                };
                if opens || (open & !cover).is_empty() {
                    let step = Step::plain(checker.role, checker.from, to);
                    if self.mates(step, open) {
                        return Some(step);
                    }
                }
            }
        }

        let step = self.pawn_mate(king, pawns, open);
        if !step.is_none() {
            return Some(step);
        }
        for from in self.shields(king, us) & us {
            let step = self.discovered_mate(king, from, open);
            if !step.is_none() {
                return Some(step);
            }
        }
        if self.ep().is_some() || (self.castling() & back_rank(self.turn()) & us).any() {
            return Some(self.special_mate());
        }
        Some(Step::NONE)
    }

    /// Kings, knights and pawns that attack the other side's king on `king`.
    #[inline(always)]
    fn near(&self, king: Square) -> Bitboard {
        knight_attacks(king) & self.by(Role::Knight)
            | pawn_attacks(!self.turn(), king) & self.by(Role::Pawn)
            | king_attacks(king) & self.by(Role::King)
    }

    /// [`Bitboards::answer`] by playing every step.
    #[cold]
    pub fn played_answer(&self) -> Option<Step> {
        let king = self.king(!self.turn());
        if self.attacked(king, self.turn(), self.us(), self.occupied()) {
            return None;
        }
        let mut steps = Steps::new();
        self.legal(&self.constraints(), &mut steps);
        let mate = steps
            .into_iter()
            .find(|&step| self.play(step).is_checkmate());
        Some(mate.unwrap_or(Step::NONE))
    }

    /// Whether a step that may be taken over from another position (see
    /// [`Bitboards::takes_over`] for what that leaves out) mates here.
    pub fn still_mates(&self, step: Step) -> bool {
        !step.is_none()
            && self.takes_over(&self.constraints(), step)
            && self.mates(step, Bitboard::EMPTY)
    }

    /// Whether a step mates: it must be legal but for what it leaves its own
    /// king open to, and neither en passant nor castling. `first` are the
    /// flights to look at first.
    fn mates(&self, step: Step, first: Bitboard) -> bool {
        let (from, to) = (Bitboard::from(step.from()), Bitboard::from(step.to()));
        let king = self.king(!self.turn());
        let occupied = (self.occupied() & !from) | to;
        let after = After {
            board: self,
            // The man that moves is looked at by itself.
            stayed: self.us() & !from,
            arriving: step.arriving(),
            to: step.to(),
        };
        let without_king = occupied ^ Bitboard::from(king);
        if first
            .into_iter()
            .any(|flight| !after.covers(flight, without_king))
        {
            return false;
        }
        let checkers = after.attackers(king, occupied);
        if checkers.is_empty() {
            return false;
        }
        let them = self.them() & !to;
        if (king_attacks(king) & !them & !first)
            .into_iter()
            .any(|flight| !after.covers(flight, without_king))
        {
            return false;
        }
        let own_king = if step.role() == Role::King {
            step.to()
        } else {
            self.king(self.turn())
        };
        if self.attacked(own_king, !self.turn(), them, occupied) {
            return false;
        }
        if checkers.more_than_one() {
            return true;
        }
        if step.kind() == Kind::Double {
            let behind = square(between(step.from(), step.to()));
            let takers = pawn_attacks(self.turn(), behind) & self.by(Role::Pawn) & them;
            if takers.any() {
                return self.play(step).is_checkmate();
            }
        }
        !self.parries(king, square(checkers), them, &after, occupied)
    }

    /// Whether a man of the checked side other than the king can take the one
    /// checker or step in between.
    fn parries(
        &self,
        king: Square,
        checker: Square,
        them: Bitboard,
        after: &After,
        occupied: Bitboard,
    ) -> bool {
        let color = !self.turn();
        let pawns = self.by(Role::Pawn) & them;
        let free = them ^ Bitboard::from(king);
        let mut parriers = self.attackers(checker, color, free, occupied);
        let gap = between(king, checker);
        if gap.any() {
            for sq in gap {
                parriers |= self.attackers(sq, color, free & !pawns, occupied);
            }
            let delta = forward(color);
            let step = pawns.shift(delta) & !occupied;
            let double = step.shift(delta) & !occupied & double_rank(color);
            for to in step & gap {
                parriers |= Bitboard::from(back(to, delta));
            }
            for to in double & gap {
                parriers |= Bitboard::from(back(to, 2 * delta));
            }
        }
        // A pinned man never parries a check along another line.
        parriers
            .into_iter()
            .any(|man| !after.pins(king, man, occupied))
    }

    /// Mate by a pawn's step, capture or promotion.
    fn pawn_mate(&self, king: Square, pawns: Bitboard, open: Bitboard) -> Step {
        let color = self.turn();
        let delta = forward(color);
        let empty = !self.occupied();
        let goals = pawn_attacks(!color, king);
        let single = pawns.shift(delta) & empty;
        let double = single.shift(delta) & empty & double_rank(color);
        let try_step = |from, to, kind| {
            let step = Step::new(Role::Pawn, from, to, kind);
            self.mates(step, open).then_some(step)
        };
        if goals.any() {
            for to in single & goals {
                if let Some(step) = try_step(back(to, delta), to, Kind::Plain) {
                    return step;
                }
            }
            for to in double & goals {
                if let Some(step) = try_step(back(to, 2 * delta), to, Kind::Double) {
                    return step;
                }
            }
            for to in goals & self.them() {
                for from in pawn_attacks(!color, to) & pawns {
                    if let Some(step) = try_step(from, to, Kind::Plain) {
                        return step;
                    }
                }
            }
        }
        let seventh = Bitboard::from_rank(color.fold_wb(Rank::Seventh, Rank::Second));
        for from in pawns & seventh {
            let ahead = Bitboard::from(from).shift(delta) & empty;
            for to in ahead | (pawn_attacks(color, from) & self.them()) {
                // A queen mates wherever a rook or bishop would.
                for promotion in [Role::Queen, Role::Knight] {
                    let step = Step::promotion(from, to, promotion);
                    if self.mates(step, open) {
                        return step;
                    }
                }
            }
        }
        Step::NONE
    }

    /// Mate by a man that leaves the line between its own line piece and the
    /// king.
    fn discovered_mate(&self, king: Square, from: Square, open: Bitboard) -> Step {
        let us = self.us();
        let occupied = self.occupied();
        let Some(role) = self.role_at(from) else {
            return Step::NONE;
        };
        let line = ray(king, from);
        let to = match role {
            Role::Pawn => {
                let delta = forward(self.turn());
                let single = Bitboard::from(from).shift(delta) & !occupied;
                let double = single.shift(delta) & !occupied & double_rank(self.turn());
                if let Some(to) = (double & !line).single_square() {
                    let step = Step::new(Role::Pawn, from, to, Kind::Double);
                    if self.mates(step, open) {
                        return step;
                    }
                }
                // Promotions were tried as pawn moves.
                (single | (pawn_attacks(self.turn(), from) & self.them()))
                    & !back_rank(!self.turn())
            }
            Role::Knight => knight_attacks(from),
            Role::Bishop => bishop_attacks(from, occupied),
            Role::Rook => rook_attacks(from, occupied),
            Role::Queen => queen_attacks(from, occupied),
            Role::King => king_attacks(from),
        };
        for to in to & !us & !line {
            let step = Step::plain(role, from, to);
            if self.mates(step, open) {
                return step;
            }
        }
        Step::NONE
    }

    /// Mate by en passant or castling, by playing it.
    #[cold]
    fn special_mate(&self) -> Step {
        let mut steps = Steps::new();
        self.legal(&self.constraints(), &mut steps);
        steps
            .into_iter()
            .filter(|step| step.is_special())
            .find(|&step| self.play(step).is_checkmate())
            .unwrap_or(Step::NONE)
    }
}

/// The checking side after its step, which is not played.
struct After<'m> {
    board: &'m Bitboards,
    stayed: Bitboard,
    arriving: Role,
    to: Square,
}

impl After<'_> {
    #[inline]
    fn arrived_attacks(&self, sq: Square, occupied: Bitboard) -> bool {
        match self.arriving {
            Role::Pawn => pawn_attacks(self.board.turn(), self.to).contains(sq),
            Role::Knight => knight_attacks(self.to).contains(sq),
            Role::Bishop => bishop_attacks(self.to, occupied).contains(sq),
            Role::Rook => rook_attacks(self.to, occupied).contains(sq),
            Role::Queen => queen_attacks(self.to, occupied).contains(sq),
            Role::King => king_attacks(self.to).contains(sq),
        }
    }

    #[inline]
    fn covers(&self, sq: Square, occupied: Bitboard) -> bool {
        self.arrived_attacks(sq, occupied)
            || self
                .board
                .attacked(sq, self.board.turn(), self.stayed, occupied)
    }

    #[inline]
    fn attackers(&self, sq: Square, occupied: Bitboard) -> Bitboard {
        let stayed = self
            .board
            .attackers(sq, self.board.turn(), self.stayed, occupied);
        if self.arrived_attacks(sq, occupied) {
            stayed.with(self.to)
        } else {
            stayed
        }
    }

    /// Whether `man` of the other side shields `king` from a line piece.
    fn pins(&self, king: Square, man: Square, occupied: Bitboard) -> bool {
        let without = occupied ^ Bitboard::from(man);
        let arrived = Bitboard::from(self.to);
        let (straight, diagonal) = match self.arriving {
            Role::Rook => (arrived, Bitboard::EMPTY),
            Role::Bishop => (Bitboard::EMPTY, arrived),
            Role::Queen => (arrived, arrived),
            _ => (Bitboard::EMPTY, Bitboard::EMPTY),
        };
        let straight = self.board.straight() & self.stayed | straight;
        let diagonal = self.board.diagonal() & self.stayed | diagonal;
        // Only what the man's leaving reveals counts: the checker itself may
        // stand on the same line.
        let revealed =
            |lines: fn(Square, Bitboard) -> Bitboard| lines(king, without) & !lines(king, occupied);
        (revealed(rook_attacks) & straight).any() || (revealed(bishop_attacks) & diagonal).any()
    }
}

#[inline]
fn note(checkers: &mut ArrayVec<Checker, 64>, role: Role, from: Square, to: Bitboard) {
    if to.any() {
        checkers.push(Checker { role, from, to });
    }
}

#[inline]
fn pawn_cover(color: Color, pawns: Bitboard) -> Bitboard {
    let delta = forward(color);
    let west = Bitboard(pawns.0 & !0x0101_0101_0101_0101);
    let east = Bitboard(pawns.0 & !0x8080_8080_8080_8080);
    west.shift(delta - 1) | east.shift(delta + 1)
}
