//! A position of the search, with what is carried along from move to move:
//! hash keys, who gives check, and what the last move changed.
//!
//! Moves are [`Code`]s here: shakmaty says what is legal where a search
//! begins, and [`super::moves`] makes the moves of the tree.

use shakmaty::attacks::{aligned, between, bishop_attacks, pawn_attacks, rook_attacks};
use shakmaty::zobrist::{Zobrist64, ZobristValue};
use shakmaty::{
    Bitboard, Board, CastlingSide, Chess, Color, EnPassantMode, FromSetup, Piece, Position, Rank,
    Role, Setup, Square,
};

use super::table::Code;

#[derive(Clone)]
pub(super) struct Node {
    pub board: Board,
    /// What stands on each square, 0 for nothing: the board again, to look up
    /// single squares.
    roles: [u8; 64],
    pub turn: Color,
    /// A bit for each right to castle: [`right`].
    rights: u8,
    /// Where a pawn can be taken en passant by a legal move.
    pub en_passant: Option<Square>,
    /// Plies since the last pawn move or capture.
    pub clock: u32,
    /// Equal for positions that the Laws (9.2) call the same; that of
    /// shakmaty with en passant only where it is legal.
    pub key: u64,
    /// The men that give check to the side to move.
    pub checkers: Bitboard,
    /// What the move to this position changed on the board.
    pub changes: Changes,
}

/// Men taken from the board and put on it: at most two of each.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Changes {
    pub gone: [Option<(Piece, Square)>; 2],
    pub come: [Option<(Piece, Square)>; 2],
}

/// The bit of a right to castle.
const fn right(color: Color, side: CastlingSide) -> u8 {
    1 << (2 * color as u8 + matches!(side, CastlingSide::QueenSide) as u8)
}

impl Node {
    pub fn new(position: &Chess) -> Node {
        let Zobrist64(key) = position.zobrist_hash(EnPassantMode::Legal);
        let mut rights = 0;
        for color in Color::ALL {
            for side in CastlingSide::ALL {
                if position.castles().has(color, side) {
                    rights |= right(color, side);
                }
            }
        }
        let mut roles = [0; 64];
        for (square, piece) in position.board() {
            roles[square as usize] = piece.role as u8;
        }
        Node {
            board: position.board().clone(),
            roles,
            turn: position.turn(),
            rights,
            en_passant: position.legal_ep_square(),
            clock: position.halfmoves(),
            key,
            checkers: position.checkers(),
            changes: Changes::default(),
        }
    }

    /// The position as shakmaty has it, for those who look it up elsewhere.
    pub fn position(&self) -> Option<Chess> {
        let mut setup = Setup::empty();
        setup.board = self.board.clone();
        setup.turn = self.turn;
        for color in Color::ALL {
            for side in CastlingSide::ALL {
                if self.has_right(color, side) {
                    setup.castling_rights.add(home(color, side));
                }
            }
        }
        setup.ep_square = self.en_passant;
        setup.halfmoves = self.clock;
        Chess::from_setup(setup, shakmaty::CastlingMode::Standard).ok()
    }

    pub fn has_right(&self, color: Color, side: CastlingSide) -> bool {
        self.rights & right(color, side) != 0
    }

    pub fn us(&self) -> Bitboard {
        self.board.by_color(self.turn)
    }

    pub fn them(&self) -> Bitboard {
        self.board.by_color(!self.turn)
    }

    pub fn king(&self) -> Square {
        self.board.king_of(self.turn).expect("a king")
    }

    pub fn in_check(&self) -> bool {
        self.checkers.any()
    }

    /// Men of the side to move without which its king would be in check.
    pub fn pinned(&self) -> Bitboard {
        let (king, board) = (self.king(), &self.board);
        let far = (rook_attacks(king, Bitboard::EMPTY) & board.rooks_and_queens())
            | (bishop_attacks(king, Bitboard::EMPTY) & board.bishops_and_queens());
        let mut pinned = Bitboard::EMPTY;
        for sniper in far & self.them() {
            let lids = between(king, sniper) & board.occupied();
            if !lids.more_than_one() {
                pinned |= lids;
            }
        }
        pinned & self.us()
    }

    /// The role of the man that a move takes.
    pub fn taken(&self, code: Code) -> Option<Role> {
        if self.is_en_passant(code) {
            return Some(Role::Pawn);
        }
        if self.us().contains(code.to()) {
            return None;
        }
        self.role_at(code.to())
    }

    fn role_at(&self, square: Square) -> Option<Role> {
        match self.roles[square as usize] {
            1 => Some(Role::Pawn),
            2 => Some(Role::Knight),
            3 => Some(Role::Bishop),
            4 => Some(Role::Rook),
            5 => Some(Role::Queen),
            6 => Some(Role::King),
            _ => None,
        }
    }

    pub fn is_en_passant(&self, code: Code) -> bool {
        self.en_passant == Some(code.to()) && self.board.pawns().contains(code.from())
    }

    /// Whether a move castles: the king goes to its own rook.
    pub fn castles(&self, code: Code) -> Option<CastlingSide> {
        self.us()
            .contains(code.to())
            .then(|| CastlingSide::from_queen_side(code.to() < code.from()))
    }

    /// The man that a move moves; the move must start at one.
    pub fn mover(&self, code: Code) -> Role {
        self.role_at(code.from()).unwrap_or(Role::Pawn)
    }

    /// Whether a move takes a man or makes a queen.
    pub fn is_loud(&self, code: Code) -> bool {
        self.them().contains(code.to())
            || code.promotion() == Some(Role::Queen)
            || self.is_en_passant(code)
    }

    /// Whether a move, if it is one by the way its man moves, leaves the king
    /// safe.
    pub fn is_safe(&self, code: Code, pinned: Bitboard) -> bool {
        let (from, to, king) = (code.from(), code.to(), self.king());
        if from != king && !pinned.contains(from) && self.en_passant != Some(to) {
            return true;
        }
        let occupied = self.board.occupied();
        if from == king {
            // Castling is looked at where it is made.
            return self.us().contains(to)
                || self
                    .board
                    .attacks_to(to, !self.turn, occupied ^ Bitboard::from_square(king))
                    .is_empty();
        }
        if self.is_en_passant(code) {
            let taken = Square::from_coords(to.file(), from.rank());
            let after = occupied ^ Bitboard::from_square(from) ^ Bitboard::from_square(taken)
                | Bitboard::from_square(to);
            let attackers = self.board.attacks_to(king, !self.turn, after);
            return attackers.without(taken).is_empty();
        }
        !pinned.contains(from) || aligned(king, from, to)
    }

    /// Plays a legal move.
    pub fn play(&self, code: Code) -> Node {
        let mut next = self.clone();
        let (us, from, to) = (self.turn, code.from(), code.to());
        let role = self.mover(code);
        next.changes = Changes::default();
        next.clock += 1;
        if let Some(side) = self.castles(code) {
            next.take(0, us.king(), from);
            next.take(1, us.rook(), to);
            next.put(0, us.king(), side.king_to(us));
            next.put(1, us.rook(), side.rook_to(us));
        } else {
            if let Some(taken) = self.taken(code) {
                let at = match self.is_en_passant(code) {
                    true => Square::from_coords(to.file(), from.rank()),
                    false => to,
                };
                next.take(1, taken.of(!us), at);
                next.clock = 0;
            }
            next.take(0, role.of(us), from);
            next.put(0, code.promotion().unwrap_or(role).of(us), to);
        }
        if role == Role::Pawn {
            next.clock = 0;
        }
        let lost = self.rights & (lost_at(from) | lost_at(to));
        if lost != 0 {
            next.rights ^= lost;
            next.key ^= rights_key(lost);
        }
        next.end_turn();
        if role == Role::Pawn && from.distance(to) == 2 {
            next.en_passant = next.takeable(Square::from_coords(
                from.file(),
                us.fold_wb(Rank::Third, Rank::Sixth),
            ));
            next.key ^= next.en_passant_key();
        }
        next.checkers = next.attackers_of_king();
        next
    }

    /// The position with the other side to move, of one without check.
    pub fn null_move(&self) -> Node {
        let mut next = self.clone();
        next.changes = Changes::default();
        next.end_turn();
        next
    }

    /// Whether positions before a move cannot come again after it.
    pub fn is_final(&self, next: &Node) -> bool {
        next.clock == 0
            || next.rights != self.rights
            || self.en_passant.is_some()
            || next.changes.come[1].is_some()
    }

    /// Whether so little is left that nobody can mate (Laws 5.2.2, as far as
    /// the men alone show it).
    pub fn is_bare(&self) -> bool {
        let board = &self.board;
        if (board.pawns() | board.rooks_and_queens()).any() {
            return false;
        }
        let minor = board.knights() | board.bishops();
        if minor.count() <= 1 {
            return true;
        }
        let bishops = board.bishops();
        board.knights().is_empty()
            && ((bishops & Bitboard::DARK_SQUARES).is_empty()
                || (bishops & Bitboard::LIGHT_SQUARES).is_empty())
    }

    fn attackers_of_king(&self) -> Bitboard {
        self.board
            .attacks_to(self.king(), !self.turn, self.board.occupied())
    }

    /// The square behind a pawn that has just gone two steps, if a pawn of the
    /// side to move may take it there.
    fn takeable(&self, square: Square) -> Option<Square> {
        let takers = pawn_attacks(!self.turn, square) & self.us() & self.board.pawns();
        if takers.is_empty() {
            return None;
        }
        let with = Node {
            en_passant: Some(square),
            ..self.clone()
        };
        takers
            .into_iter()
            .any(|from| with.is_safe(Code::new(from, square, None), Bitboard::EMPTY))
            .then_some(square)
    }

    fn end_turn(&mut self) {
        self.key ^= self.en_passant_key();
        self.en_passant = None;
        let Zobrist64(white) = Zobrist64::zobrist_for_white_turn();
        self.key ^= white;
        self.turn = !self.turn;
    }

    fn en_passant_key(&self) -> u64 {
        self.en_passant.map_or(0, |square| {
            let Zobrist64(key) = Zobrist64::zobrist_for_en_passant_file(square.file());
            key
        })
    }

    fn take(&mut self, slot: usize, piece: Piece, square: Square) {
        self.board.discard_piece_at(square);
        self.roles[square as usize] = 0;
        self.changes.gone[slot] = Some((piece, square));
        self.key ^= key_of(square, piece);
    }

    fn put(&mut self, slot: usize, piece: Piece, square: Square) {
        self.board.set_piece_at(square, piece);
        self.roles[square as usize] = piece.role as u8;
        self.changes.come[slot] = Some((piece, square));
        self.key ^= key_of(square, piece);
    }
}

fn key_of(square: Square, piece: Piece) -> u64 {
    let Zobrist64(key) = Zobrist64::zobrist_for_piece(square, piece);
    key
}

/// The rook that castles on a side.
pub(super) fn home(color: Color, side: CastlingSide) -> Square {
    match (color, side) {
        (Color::White, CastlingSide::KingSide) => Square::H1,
        (Color::White, CastlingSide::QueenSide) => Square::A1,
        (Color::Black, CastlingSide::KingSide) => Square::H8,
        (Color::Black, CastlingSide::QueenSide) => Square::A8,
    }
}

/// The rights that end once a man has left a square or come to it.
fn lost_at(square: Square) -> u8 {
    use CastlingSide::{KingSide, QueenSide};
    match square {
        Square::A1 => right(Color::White, QueenSide),
        Square::H1 => right(Color::White, KingSide),
        Square::E1 => right(Color::White, QueenSide) | right(Color::White, KingSide),
        Square::A8 => right(Color::Black, QueenSide),
        Square::H8 => right(Color::Black, KingSide),
        Square::E8 => right(Color::Black, QueenSide) | right(Color::Black, KingSide),
        _ => 0,
    }
}

fn rights_key(rights: u8) -> u64 {
    let mut key = 0;
    for color in Color::ALL {
        for side in CastlingSide::ALL {
            if rights & right(color, side) != 0 {
                let Zobrist64(one) = Zobrist64::zobrist_for_castling_right(color, side);
                key ^= one;
            }
        }
    }
    key
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use prove::corpus::Seeded;

    /// Positions that have castling, en passant and promotions near.
    pub const STARTS: [&str; 5] = [
        "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1",
        "r3k2r/p1ppqpb1/bn2pnp1/3PN3/1p2P3/2N2Q1p/PPPBBPPP/R3K2R w KQkq - 0 1",
        "8/2p5/3p4/KP5r/1R3p1k/8/4P1P1/8 w - - 0 1",
        "r3k2r/Pppp1ppp/1b3nbN/nP6/BBP1P3/q4N2/Pp1P2PP/R2Q1RK1 w kq - 0 1",
        "n1n5/PPPk4/8/8/8/8/4Kppp/5N1N b - - 0 1",
    ];

    /// Walks games of random moves, showing each step as shakmaty plays it and
    /// as a node does.
    pub fn walk(games: u64, mut show: impl FnMut(&Chess, &Node)) {
        for game in 0..games {
            let mut random = Seeded::new(game);
            let start = STARTS[game as usize % STARTS.len()];
            let mut at = crate::tests::position(start);
            let mut node = Node::new(&at);
            for _ in 0..150 {
                show(&at, &node);
                let moves = at.legal_moves();
                if moves.is_empty() {
                    break;
                }
                let m = moves[random.below(moves.len())];
                at.play_unchecked(m);
                node = node.play(Code::of(m));
            }
        }
    }

    /// Against shakmaty.
    #[test]
    fn what_is_carried_along_equals_what_is_computed_anew() {
        let mut passants = 0;
        walk(200, |at, node| {
            let anew = Node::new(at);
            assert_eq!((&node.board, node.roles), (&anew.board, anew.roles));
            assert_eq!(
                (node.key, node.rights, node.en_passant),
                (anew.key, anew.rights, anew.en_passant),
            );
            assert_eq!((node.clock, node.checkers), (at.halfmoves(), at.checkers()));
            assert_eq!(node.is_bare(), at.is_insufficient_material());
            assert_eq!(
                node.position().map(|p| p.board().clone()),
                Some(at.board().clone())
            );
            passants += u32::from(node.en_passant.is_some());
        });
        assert!(passants > 20, "{passants}");
    }

    #[test]
    fn passing_gives_the_other_side_the_move() {
        walk(40, |at, node| {
            if let Ok(passed) = at.clone().swap_turn() {
                let anew = Node::new(&passed);
                let next = node.null_move();
                assert_eq!(
                    (next.key, next.turn, next.checkers),
                    (anew.key, anew.turn, anew.checkers)
                );
            }
        });
    }
}
