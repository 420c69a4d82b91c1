//! Positions by strata: each holds what random play or random men show too
//! seldom. Positions depend on the seed alone.
//!
//! All are drawn with White as the solver, and half of them are turned round.

use std::ops::Range;

use prove::Aim;
use prove::corpus::{self, Seeded};
use shakmaty::attacks::{king_attacks, knight_attacks, queen_attacks};
use shakmaty::{
    Bitboard, Board, CastlingMode, Chess, Color, EnPassantMode, File, FromSetup, Move, Piece,
    Position, Rank, Role, Setup, Square,
};

use crate::brute::played;

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Stratum {
    /// The solver may still castle.
    SolverCastles,
    /// The defence may still castle.
    DefenceCastles,
    BothCastle,
    /// A pawn can be taken en passant now.
    EnPassant,
    /// A pawn, of either side, could be taken so after its double step.
    EnPassantAhead,
    /// The same, but taking would or could open the own king.
    EnPassantExposed,
    /// A pawn stands before its last step.
    Promotion,
    /// The same, near where a knight would check or a queen stalemate.
    Underpromotion,
    /// The side to move is in check.
    Check,
    /// It is in double check, or can give one.
    DoubleCheck,
    /// The defence has hardly a move.
    Stalemate,
    /// Six men at most.
    FewMen,
    /// Sixteen men at least.
    ManyMen,
    /// From random games.
    Played,
}

/// How rich a position may be: the solver's moves, and the replies to a pass.
#[derive(Clone, Copy, Debug)]
pub struct Bounds {
    pub moves: usize,
    pub replies: usize,
}

/// Men set one by one, White the solver.
struct Sketch {
    board: Board,
    rights: Bitboard,
    ep: Option<Square>,
}

impl Stratum {
    pub const ALL: [Stratum; 14] = [
        Stratum::SolverCastles,
        Stratum::DefenceCastles,
        Stratum::BothCastle,
        Stratum::EnPassant,
        Stratum::EnPassantAhead,
        Stratum::EnPassantExposed,
        Stratum::Promotion,
        Stratum::Underpromotion,
        Stratum::Check,
        Stratum::DoubleCheck,
        Stratum::Stalemate,
        Stratum::FewMen,
        Stratum::ManyMen,
        Stratum::Played,
    ];

    pub fn name(self) -> &'static str {
        match self {
            Stratum::SolverCastles => "solver-castles",
            Stratum::DefenceCastles => "defence-castles",
            Stratum::BothCastle => "both-castle",
            Stratum::EnPassant => "en-passant",
            Stratum::EnPassantAhead => "en-passant-ahead",
            Stratum::EnPassantExposed => "en-passant-exposed",
            Stratum::Promotion => "promotion",
            Stratum::Underpromotion => "underpromotion",
            Stratum::Check => "check",
            Stratum::DoubleCheck => "double-check",
            Stratum::Stalemate => "stalemate",
            Stratum::FewMen => "few-men",
            Stratum::ManyMen => "many-men",
            Stratum::Played => "played",
        }
    }

    /// Whether it is about moves that need more than the men's places.
    pub fn is_special(self) -> bool {
        matches!(
            self,
            Stratum::SolverCastles
                | Stratum::DefenceCastles
                | Stratum::BothCastle
                | Stratum::EnPassant
        )
    }

    /// A position of the stratum with a move to make, no richer than `most`.
    pub fn draw(self, random: &mut Seeded, aim: Aim, most: Bounds) -> Chess {
        loop {
            let pressed = random.below(3) != 0;
            let position = match self {
                Stratum::ManyMen => {
                    let plies = 16 + random.below(90);
                    Some(corpus::played(random, Chess::default(), plies))
                }
                Stratum::Played => {
                    let plies = 60 + random.below(240);
                    Some(corpus::played(random, Chess::default(), plies))
                }
                _ => {
                    let turned = random.below(2) == 0;
                    let mut sketch = self.sketch(random);
                    if pressed && aim == Aim::Selfmate {
                        sketch.cage(random);
                    }
                    sketch.finish(turned)
                }
            };
            if let Some(position) = position
                && !position.legal_moves().is_empty()
                && self.holds(&position)
                && most.hold(&position)
            {
                return match aim {
                    Aim::Selfmate | Aim::Stalemate if pressed => {
                        self.pressed(random, position, aim, most)
                    }
                    _ => position,
                };
            }
        }
    }

    /// A position nearer to what is aimed at: men are moved and added as long
    /// as fewer replies spoil it.
    fn pressed(self, random: &mut Seeded, start: Chess, aim: Aim, most: Bounds) -> Chess {
        let mut best = start;
        let mut least = spoilers(&best, aim);
        for _ in 0..120 {
            if least == 0 {
                break;
            }
            let mut setup = best.to_setup(EnPassantMode::PseudoLegal);
            let men = setup.board.occupied() & !setup.board.kings() & !setup.castling_rights;
            let (to, color) = (Square::ALL[random.below(64)], random.below(2) == 0);
            let role = [
                Role::Pawn,
                Role::Knight,
                Role::Bishop,
                Role::Rook,
                Role::Queen,
            ];
            let piece = match men.into_iter().nth(random.below(men.count() + 3)) {
                Some(from) => setup.board.remove_piece_at(from),
                None if men.count() > 14 => continue,
                None => Some(Piece {
                    color: Color::from_white(color),
                    role: role[random.below(5)],
                }),
            };
            if let (Some(piece), false) = (piece, setup.board.occupied().contains(to)) {
                setup.board.set_piece_at(to, piece);
            }
            let Ok(next) = Chess::from_setup(setup, CastlingMode::Standard) else {
                continue;
            };
            if next.legal_moves().is_empty() || !self.holds(&next) || !most.hold(&next) {
                continue;
            }
            let count = spoilers(&next, aim);
            if count <= least {
                (best, least) = (next, count);
            }
        }
        best
    }

    /// Whether a position belongs here.
    fn holds(self, position: &Chess) -> bool {
        let us = position.turn();
        let rights = position.castles();
        match self {
            Stratum::SolverCastles => rights.has_color(us),
            Stratum::DefenceCastles => rights.has_color(!us),
            Stratum::BothCastle => rights.has_color(us) && rights.has_color(!us),
            Stratum::EnPassant => position.legal_ep_square().is_some(),
            Stratum::EnPassantAhead => true,
            Stratum::EnPassantExposed => position.legal_ep_square().is_none(),
            Stratum::Promotion | Stratum::Underpromotion => {
                position.legal_moves().iter().any(|m| m.is_promotion())
            }
            Stratum::Check => position.is_check(),
            Stratum::DoubleCheck => {
                position.checkers().more_than_one()
                    || position
                        .legal_moves()
                        .iter()
                        .any(|&m| played(position, m).checkers().more_than_one())
            }
            Stratum::Stalemate => replies(position).is_some_and(|count| count <= 3),
            Stratum::FewMen => position.board().occupied().count() <= 6,
            Stratum::ManyMen => position.board().occupied().count() >= 16,
            Stratum::Played => true,
        }
    }

    /// The men as White, to move, has them; of a game none.
    fn sketch(self, random: &mut Seeded) -> Sketch {
        let mut sketch = Sketch {
            board: Board::empty(),
            rights: Bitboard::EMPTY,
            ep: None,
        };
        match self {
            Stratum::SolverCastles => sketch.solver_castles(random),
            Stratum::DefenceCastles => {
                sketch.at_home(random, Color::Black);
                let king = !Bitboard::from_rank(Rank::Eighth);
                sketch.set(random, Color::White, Role::King, king);
                sketch.armies(random, 2..4, 3);
            }
            Stratum::BothCastle => {
                sketch.at_home(random, Color::White);
                sketch.at_home(random, Color::Black);
                sketch.armies(random, 1..3, 2);
            }
            Stratum::EnPassant => {
                sketch.kings(random);
                sketch.taken_en_passant(random);
                sketch.armies(random, 1..4, 3);
            }
            Stratum::EnPassantAhead => {
                sketch.kings(random);
                let both = random.below(3);
                if both != 0 {
                    sketch.facing(random, Color::White);
                }
                if both != 1 {
                    sketch.facing(random, Color::Black);
                }
                sketch.armies(random, 1..4, 2);
            }
            Stratum::EnPassantExposed => {
                match random.below(3) {
                    0 => sketch.exposed_now(random),
                    1 => sketch.exposed_ahead(random, Color::White),
                    _ => sketch.exposed_ahead(random, Color::Black),
                }
                sketch.armies(random, 1..4, 2);
            }
            Stratum::Promotion => sketch.promotion(random),
            Stratum::Underpromotion => sketch.underpromotion(random),
            Stratum::Check => sketch.check(random),
            Stratum::DoubleCheck => sketch.double_check(random),
            Stratum::Stalemate => sketch.stalemate(random),
            Stratum::FewMen => {
                sketch.kings(random);
                sketch.armies(random, 1..3, 2);
            }
            Stratum::ManyMen | Stratum::Played => {}
        }
        sketch
    }
}

/// Squares at most so many king's steps from `sq`.
fn near(sq: Square, steps: u32) -> Bitboard {
    Bitboard::FULL
        .into_iter()
        .filter(|&other| other != sq && sq.distance(other) <= steps)
        .collect()
}

/// How many replies the other side would have to a pass; `None` in check.
fn replies(position: &Chess) -> Option<usize> {
    let passed = position.clone().swap_turn().ok()?;
    Some(passed.legal_moves().len())
}

/// How near a position is to a selfmate or stalemate in one: by the best move,
/// the number of replies that spoil it.
fn spoilers(position: &Chess, aim: Aim) -> usize {
    let spoiled = |&m: &Move| {
        let after = played(position, m);
        let replies = after.legal_moves();
        match aim {
            Aim::Selfmate if replies.is_empty() => usize::MAX,
            Aim::Selfmate => {
                let mates = |&&reply: &&Move| played(&after, reply).is_checkmate();
                replies.len() - replies.iter().filter(mates).count()
            }
            _ if after.is_check() => usize::MAX,
            _ => replies.len(),
        }
    };
    let moves = position.legal_moves();
    moves.iter().map(spoiled).min().unwrap_or(usize::MAX)
}

impl Bounds {
    fn hold(self, position: &Chess) -> bool {
        position.legal_moves().len() <= self.moves && replies(position).unwrap_or(0) <= self.replies
    }
}

impl Sketch {
    /// A battery against a king.
    fn double_check(&mut self, random: &mut Seeded) {
        self.kings(random);
        let (king, by) = match random.below(3) {
            0 => (self.king(Color::White), Color::Black),
            _ => (self.king(Color::Black), Color::White),
        };
        self.battery(random, king, by);
        self.armies(random, 1..4, 3);
    }

    /// The solver may castle, the other king near or where castling gives check.
    fn solver_castles(&mut self, random: &mut Seeded) {
        self.at_home(random, Color::White);
        let near = Bitboard::from_rank(Rank::First)
            | Bitboard::from_rank(Rank::Second)
            | Bitboard::from_rank(Rank::Third);
        let far = Bitboard::from_rank(Rank::Eighth)
            | Bitboard::from_file(File::D)
            | Bitboard::from_file(File::F);
        let squares = [near, near, far, Bitboard::FULL][random.below(4)];
        self.set(random, Color::Black, Role::King, squares);
        self.armies(random, 1..3, 3);
    }

    /// Pawns about to promote.
    fn promotion(&mut self, random: &mut Seeded) {
        let top = Bitboard::from_rank(Rank::Eighth) | Bitboard::from_rank(Rank::Seventh);
        let king = [top, top, Bitboard::FULL][random.below(3)];
        self.set(random, Color::Black, Role::King, king);
        self.set(random, Color::White, Role::King, Bitboard::FULL);
        for _ in 0..1 + random.below(2) {
            let seventh = Bitboard::from_rank(Rank::Seventh);
            self.set(random, Color::White, Role::Pawn, seventh);
        }
        if random.below(3) == 0 {
            let second = Bitboard::from_rank(Rank::Second);
            self.set(random, Color::Black, Role::Pawn, second);
        }
        self.armies(random, 0..3, 4);
    }

    /// A pawn whose promotion to a knight may do what a queen does not.
    fn underpromotion(&mut self, random: &mut Seeded) {
        let file = File::ALL[random.below(8)];
        let pawn = Square::from_coords(file, Rank::Seventh);
        let end = Square::from_coords(file, Rank::Eighth);
        self.put(pawn, Color::White, Role::Pawn);
        let edge = king_attacks(end) | queen_attacks(end, Bitboard::from(pawn));
        let king = [knight_attacks(end), edge][random.below(2)] & !Bitboard::from(end);
        self.set(random, Color::Black, Role::King, king);
        let nearby = near(self.king(Color::Black), 3);
        self.set(random, Color::White, Role::King, nearby);
        self.armies(random, 0..3, 3);
    }

    /// The side to move may be in check.
    fn check(&mut self, random: &mut Seeded) {
        self.kings(random);
        self.armies(random, 2..5, 2);
        // Whoever stands on a line to the king may well check it.
        let king = self.king(Color::White);
        let lines = queen_attacks(king, self.board.occupied()) | knight_attacks(king);
        let role = [Role::Queen, Role::Rook, Role::Bishop, Role::Knight][random.below(4)];
        self.set(random, Color::Black, role, lines);
    }

    /// A king at the edge with few moves.
    fn stalemate(&mut self, random: &mut Seeded) {
        let edge = Bitboard::from_rank(Rank::First)
            | Bitboard::from_rank(Rank::Eighth)
            | Bitboard::from_file(File::A)
            | Bitboard::from_file(File::H);
        self.set(random, Color::Black, Role::King, edge);
        let nearby = near(self.king(Color::Black), 3);
        self.set(random, Color::White, Role::King, nearby);
        for _ in 0..random.below(3) {
            self.ram(random);
        }
        self.armies(random, 1..3, 1);
    }

    fn king(&self, color: Color) -> Square {
        self.board.king_of(color).unwrap_or(Square::E4)
    }

    fn put(&mut self, sq: Square, color: Color, role: Role) {
        self.board.set_piece_at(sq, Piece { color, role });
    }

    /// Puts a man on a free square among `squares`, if there is one.
    fn set(&mut self, random: &mut Seeded, color: Color, role: Role, squares: Bitboard) {
        let mut free = squares & !self.board.occupied();
        if role == Role::Pawn {
            free &= !Bitboard::BACKRANKS;
        }
        if free.any() {
            let sq = free.into_iter().nth(random.below(free.count()));
            self.put(sq.unwrap_or(Square::A1), color, role);
        }
    }

    /// Both kings, the defence's often at the edge.
    fn kings(&mut self, random: &mut Seeded) {
        let inner = Bitboard(0x007e_7e7e_7e7e_7e00);
        let squares = [!inner, !inner, Bitboard::FULL][random.below(3)];
        self.set(random, Color::Black, Role::King, squares);
        let black = self.king(Color::Black);
        let squares = [near(black, 3), Bitboard::FULL][random.below(2)];
        self.set(
            random,
            Color::White,
            Role::King,
            squares & !king_attacks(black),
        );
    }

    /// A king at home with one rook or both, and the right to castle.
    fn at_home(&mut self, random: &mut Seeded, color: Color) {
        let (king, corners) = match color {
            Color::White => (Square::E1, [Square::A1, Square::H1]),
            Color::Black => (Square::E8, [Square::A8, Square::H8]),
        };
        self.put(king, color, Role::King);
        let which = random.below(3);
        for (i, corner) in corners.into_iter().enumerate() {
            if which != i {
                self.put(corner, color, Role::Rook);
                self.rights.add(corner);
            }
        }
        // Pawns before the rooks, so that castling is what frees them.
        for corner in corners {
            if random.below(2) == 0 {
                let rank = color.fold_wb(Rank::Second, Rank::Seventh);
                self.put(Square::from_coords(corner.file(), rank), color, Role::Pawn);
            }
        }
    }

    /// Some of the solver's men, often near the other king, and up to `most` of the
    /// defence, often near their own. Nobody stands where a pawn has just
    /// passed or where castling goes.
    fn armies(&mut self, random: &mut Seeded, solver: Range<usize>, most: usize) {
        let black = self.king(Color::Black);
        let mut free = !self.passed_over();
        if random.below(4) != 0 {
            free &= !self.ways();
        }
        for _ in 0..solver.start + random.below(solver.len()) {
            let role = [
                Role::Queen,
                Role::Queen,
                Role::Rook,
                Role::Rook,
                Role::Bishop,
                Role::Knight,
                Role::Pawn,
            ][random.below(7)];
            let squares = [near(black, 3), Bitboard::FULL][random.below(2)];
            self.set(random, Color::White, role, squares & free);
        }
        for _ in 0..random.below(most + 1) {
            let role = [
                Role::Pawn,
                Role::Pawn,
                Role::Pawn,
                Role::Knight,
                Role::Bishop,
                Role::Rook,
                Role::Queen,
            ][random.below(7)];
            let squares = [near(black, 2), Bitboard::FULL][random.below(2)];
            self.set(random, Color::Black, role, squares & free);
        }
    }

    /// Squares that the pawn to be taken en passant has just left and passed.
    fn passed_over(&self) -> Bitboard {
        match self.ep {
            Some(ep) => {
                let home = Square::from_coords(ep.file(), Rank::Seventh);
                Bitboard::from(ep).with(home)
            }
            None => Bitboard::EMPTY,
        }
    }

    /// Squares between king and rook that may castle.
    fn ways(&self) -> Bitboard {
        let mut ways = Bitboard::EMPTY;
        for rook in self.rights {
            let king = Square::from_coords(File::E, rook.rank());
            ways |= shakmaty::attacks::between(king, rook);
        }
        ways
    }

    /// A file and its neighbour.
    fn files(random: &mut Seeded) -> (File, File) {
        let left = random.below(7);
        let (left, right) = (File::ALL[left], File::ALL[left + 1]);
        [(left, right), (right, left)][random.below(2)]
    }

    /// A black pawn that has just taken its double step beside a white one.
    fn taken_en_passant(&mut self, random: &mut Seeded) {
        let (taker, taken) = Sketch::files(random);
        let squares = [
            Square::from_coords(taken, Rank::Seventh),
            Square::from_coords(taken, Rank::Sixth),
            Square::from_coords(taken, Rank::Fifth),
            Square::from_coords(taker, Rank::Fifth),
        ];
        if squares.iter().any(|&sq| self.board.occupied().contains(sq)) {
            return;
        }
        self.put(squares[2], Color::Black, Role::Pawn);
        self.put(squares[3], Color::White, Role::Pawn);
        self.ep = Some(squares[1]);
    }

    /// A pawn of `taker` on its fifth rank, and one of the other side that
    /// would pass it by a double step.
    fn facing(&mut self, random: &mut Seeded, taker: Color) {
        let (file, passed) = Sketch::files(random);
        let (fifth, home) =
            taker.fold_wb((Rank::Fifth, Rank::Seventh), (Rank::Fourth, Rank::Second));
        for (file, rank, color) in [(file, fifth, taker), (passed, home, !taker)] {
            let sq = Square::from_coords(file, rank);
            if !self.board.occupied().contains(sq) {
                self.put(sq, color, Role::Pawn);
            }
        }
    }

    /// A pawn that might be taken en passant now, but that opens the king.
    fn exposed_now(&mut self, random: &mut Seeded) {
        self.taken_en_passant(random);
        let (Some(ep), Some(taker)) = (self.ep, self.board.white().first()) else {
            return;
        };
        if random.below(2) == 0 {
            // Both pawns leave the rank.
            self.across(random, Rank::Fifth, Color::White);
        } else {
            // The taking pawn, or the one taken, shields a line.
            let pawn = [taker, Square::from_coords(ep.file(), Rank::Fifth)][random.below(2)];
            self.through(random, pawn, Color::White);
        }
        self.set(random, Color::Black, Role::King, Bitboard::FULL);
    }

    /// The same one double step ahead, where `taker` would open his king.
    fn exposed_ahead(&mut self, random: &mut Seeded, taker: Color) {
        self.facing(random, taker);
        if random.below(2) == 0 {
            let fifth = taker.fold_wb(Rank::Fifth, Rank::Fourth);
            self.across(random, fifth, taker);
        } else if let Some(pawn) = self.board.by_color(taker).first() {
            self.through(random, pawn, taker);
        }
        self.set(random, !taker, Role::King, Bitboard::FULL);
    }

    /// The king of `color` at one side of a rank, a line piece of the other
    /// side at its other end.
    fn across(&mut self, random: &mut Seeded, rank: Rank, color: Color) {
        let pawns = self.board.occupied() & Bitboard::from_rank(rank);
        let Some(first) = pawns.first() else { return };
        let last = pawns.last().unwrap_or(first);
        let rank = Bitboard::from_rank(rank);
        let left: Bitboard = rank.into_iter().filter(|&sq| sq < first).collect();
        let right: Bitboard = rank.into_iter().filter(|&sq| sq > last).collect();
        let (king, sniper) = [(left, right), (right, left)][random.below(2)];
        self.set(random, color, Role::King, king);
        let role = [Role::Rook, Role::Queen][random.below(2)];
        self.set(random, !color, role, sniper);
    }

    /// The king of `color` and a line piece of the other side on a line
    /// through `pawn`.
    fn through(&mut self, random: &mut Seeded, pawn: Square, color: Color) {
        let lines = queen_attacks(pawn, self.board.occupied()) & !self.board.occupied();
        self.set(random, color, Role::King, lines);
        let Some(king) = self.board.king_of(color) else {
            return;
        };
        let beyond = shakmaty::attacks::ray(king, pawn) & lines & !Bitboard::from(king);
        let role = match king.rank() == pawn.rank() || king.file() == pawn.file() {
            true => Role::Rook,
            false => Role::Bishop,
        };
        let role = [role, Role::Queen][random.below(2)];
        self.set(random, !color, role, beyond);
    }

    /// A line piece of `by` behind a man of its own that shields `king`.
    fn battery(&mut self, random: &mut Seeded, king: Square, by: Color) {
        let lines = queen_attacks(king, self.board.occupied()) & !self.board.occupied();
        let far = lines & !king_attacks(king);
        if far.is_empty() {
            return;
        }
        let sniper = far.into_iter().nth(random.below(far.count()));
        let sniper = sniper.unwrap_or(Square::A1);
        let straight = sniper.file() == king.file() || sniper.rank() == king.rank();
        let line = if straight { Role::Rook } else { Role::Bishop };
        self.put(sniper, by, [line, line, Role::Queen][random.below(3)]);
        let role = [
            Role::Knight,
            Role::Knight,
            Role::Bishop,
            Role::Rook,
            Role::Pawn,
        ][random.below(5)];
        self.set(random, by, role, shakmaty::attacks::between(king, sniper));
    }

    /// White's king among men of its own, and a black line piece that aims at
    /// it, as selfmates need it.
    fn cage(&mut self, random: &mut Seeded) {
        let king = self.king(Color::White);
        let free = !self.passed_over() & !self.ways();
        for sq in king_attacks(king) & free {
            if random.below(2) == 0 {
                let role = [Role::Pawn, Role::Knight, Role::Bishop, Role::Rook][random.below(4)];
                self.set(random, Color::White, role, Bitboard::from(sq));
            }
        }
        let lines = queen_attacks(king, Bitboard::EMPTY) & !king_attacks(king) & free;
        let role = [Role::Queen, Role::Rook, Role::Bishop][random.below(3)];
        let squares = [lines, near(king, 3) & free][random.below(2)];
        self.set(random, Color::Black, role, squares);
    }

    /// A white pawn under a black one.
    fn ram(&mut self, random: &mut Seeded) {
        let file = File::ALL[random.below(8)];
        let rank = 1 + random.below(5);
        let white = Square::from_coords(file, Rank::ALL[rank]);
        let black = Square::from_coords(file, Rank::ALL[rank + 1]);
        if (self.board.occupied() & Bitboard::from(white).with(black)).is_empty() {
            self.put(white, Color::White, Role::Pawn);
            self.put(black, Color::Black, Role::Pawn);
        }
    }

    /// The position with White, or if turned round Black, to move; `None` if
    /// it is not legal.
    fn finish(self, turned: bool) -> Option<Chess> {
        let mut setup = Setup {
            board: self.board,
            castling_rights: self.rights,
            ep_square: self.ep,
            ..Setup::empty()
        };
        if turned {
            setup.mirror();
        }
        Chess::from_setup(setup, CastlingMode::Standard).ok()
    }
}
