//! The static value of a position: material and squares, tapered by phase,
//! with pawns, mobility, king safety and the chances of winning at all.

use shakmaty::attacks::{
    bishop_attacks, king_attacks, knight_attacks, pawn_attacks, queen_attacks, rook_attacks,
};
use shakmaty::{Bitboard, Board, Color, Rank, Role, Square};

use super::node::Node;
use super::squares::{self, FULL_PHASE, Score};

/// The pair of bishops. Source: Larry Kaufman, "The Evaluation of Material
/// Imbalances", Chess Life 1999 (half a pawn; from memory).
const BISHOP_PAIR: i32 = 50;
const TEMPO: i32 = 10;

/// Centipawns from the side to move.
pub(super) fn evaluate(node: &Node) -> i32 {
    let board = &node.board;
    let mut score = squares::score(board);
    for color in Color::ALL {
        let side = Side::new(board, color);
        let sign = color.fold_wb(1, -1);
        let mut own = Score::default();
        side.pawns(&mut own);
        side.pieces(&mut own);
        side.shelter(&mut own);
        score.middle += sign * own.middle;
        score.end += sign * own.end;
    }
    let phase = squares::phase(board).min(FULL_PHASE);
    let mut value = (score.middle * phase + score.end * (FULL_PHASE - phase)) / FULL_PHASE;
    value += mop_up(board, value);
    value += node.turn.fold_wb(TEMPO, -TEMPO);
    value = value * winnable(board, value) / 64;
    node.turn.fold_wb(value, -value)
}

/// One side of the board, with what several terms need.
struct Side<'b> {
    board: &'b Board,
    color: Color,
    us: Bitboard,
    them: Bitboard,
    our_pawns: Bitboard,
    their_pawns: Bitboard,
    king: Square,
    their_king: Square,
}

impl Side<'_> {
    fn new(board: &Board, color: Color) -> Side<'_> {
        let us = board.by_color(color);
        let them = board.by_color(!color);
        Side {
            board,
            color,
            us,
            them,
            our_pawns: us & board.pawns(),
            their_pawns: them & board.pawns(),
            king: board.king_of(color).expect("a king"),
            their_king: board.king_of(!color).expect("a king"),
        }
    }

    fn pawns(&self, own: &mut Score) {
        for pawn in self.our_pawns {
            let file = pawn.file();
            let files = beside(pawn);
            let ahead = ahead(self.color, pawn);
            let column = Bitboard::from_file(file);
            if (self.our_pawns & column & ahead).any() {
                own.middle -= 8;
                own.end -= 15;
            }
            if (self.our_pawns & files).is_empty() {
                own.middle -= 12;
                own.end -= 12;
            }
            if self.is_passed(pawn) {
                self.passed(pawn, own);
            }
        }
    }

    /// No pawn ahead on its own file, and none of theirs beside that.
    fn is_passed(&self, pawn: Square) -> bool {
        let ahead = ahead(self.color, pawn);
        let column = Bitboard::from_file(pawn.file());
        (self.their_pawns & (beside(pawn) | column) & ahead).is_empty()
            && (self.our_pawns & column & ahead).is_empty()
    }

    fn passed(&self, pawn: Square, own: &mut Score) {
        const MIDDLE: [i32; 8] = [0, 2, 5, 10, 25, 50, 90, 0];
        const END: [i32; 8] = [0, 8, 12, 25, 45, 80, 130, 0];
        // Two side by side hold each other: on the sixth they beat a rook.
        const TOGETHER: [i32; 8] = [0, 0, 5, 12, 30, 100, 160, 0];
        let rank = self.color.fold_wb(pawn.rank(), pawn.rank().flip_vertical());
        let rank = rank as usize;
        own.middle += MIDDLE[rank];
        own.end += END[rank];
        let partners = king_attacks(pawn) & beside(pawn) & self.our_pawns;
        if partners.into_iter().any(|p| self.is_passed(p)) {
            own.middle += TOGETHER[rank] / 2;
            own.end += TOGETHER[rank];
        }
        let Some(stop) = pawn.offset(self.color.fold_wb(8, -8)) else {
            return;
        };
        let weight = rank as i32 - 1;
        let theirs = self.their_king.distance(stop) as i32;
        let ours = self.king.distance(stop) as i32;
        own.end += weight * (3 * theirs - 2 * ours);
        if self.them.contains(stop) {
            own.end -= END[rank] / 3;
        } else if (self.them & !self.board.pawns() & !self.board.kings()).is_empty() {
            // Nobody but the king can catch it.
            let goal =
                Square::from_coords(pawn.file(), self.color.fold_wb(Rank::Eighth, Rank::First));
            let steps = 7 - rank as i32;
            if self.their_king.distance(goal) as i32 > steps + 1 {
                own.end += 250;
            }
        }
    }

    fn pieces(&self, own: &mut Score) {
        let occupied = self.board.occupied();
        let ring = king_attacks(self.their_king);
        let feared = pawns_attack(!self.color, self.their_pawns);
        let free = !self.us & !feared;
        let mut attackers = 0;
        let mut weight = 0;
        let mut press = |reach: Bitboard, unit: i32| {
            let hits = (reach & ring).count() as i32;
            if hits > 0 {
                attackers += 1;
                weight += unit * hits;
            }
        };
        for knight in self.us & self.board.knights() {
            let reach = knight_attacks(knight);
            let moves = (reach & free).count() as i32;
            own.middle += 4 * (moves - 4);
            own.end += 4 * (moves - 4);
            press(reach, 2);
            if rank_of(self.color, knight) >= 3
                && (pawn_attacks(!self.color, knight) & self.our_pawns).any()
                && (beside(knight) & ahead(self.color, knight) & self.their_pawns).is_empty()
            {
                own.middle += 20;
                own.end += 10;
            }
        }
        for bishop in self.us & self.board.bishops() {
            let reach = bishop_attacks(bishop, occupied);
            let moves = (reach & free).count() as i32;
            own.middle += 5 * (moves - 6);
            own.end += 5 * (moves - 6);
            press(reach, 2);
        }
        for rook in self.us & self.board.rooks() {
            let reach = rook_attacks(rook, occupied);
            let moves = (reach & free).count() as i32;
            own.middle += 2 * (moves - 7);
            own.end += 4 * (moves - 7);
            press(reach, 3);
            let column = Bitboard::from_file(rook.file());
            if (column & self.our_pawns).is_empty() {
                own.middle += if (column & self.their_pawns).is_empty() {
                    25
                } else {
                    12
                };
                own.end += 6;
            }
        }
        for queen in self.us & self.board.queens() {
            let reach = queen_attacks(queen, occupied);
            let moves = (reach & free).count() as i32;
            own.middle += moves - 13;
            own.end += 2 * (moves - 13);
            press(reach, 5);
        }
        if attackers >= 2 {
            let units = weight.min(40);
            own.middle += units * units / 5 + attackers * 4;
        }
        let threatened = pawns_attack(self.color, self.our_pawns)
            & self.them
            & !self.board.pawns()
            & !self.board.kings();
        own.middle += 30 * threatened.count() as i32;
        own.end += 30 * threatened.count() as i32;
        let bishops = self.us & self.board.bishops();
        if (bishops & Bitboard::LIGHT_SQUARES).any() && (bishops & Bitboard::DARK_SQUARES).any() {
            own.middle += BISHOP_PAIR;
            own.end += BISHOP_PAIR;
        }
    }

    /// Pawns before the king, and open files beside it, while there is a
    /// queen to use them.
    fn shelter(&self, own: &mut Score) {
        if (self.them & self.board.queens()).is_empty() {
            return;
        }
        let files = Bitboard::from_file(self.king.file()) | beside(self.king);
        let before = files & ahead(self.color, self.king);
        let near = before & (king_attacks(self.king) | shift(self.color, king_attacks(self.king)));
        own.middle += 9 * (near & self.our_pawns).count() as i32;
        let open = [-1, 0, 1]
            .into_iter()
            .filter_map(|step| self.king.file().offset(step))
            .map(Bitboard::from_file)
            .filter(|&file| (file & self.our_pawns).is_empty());
        for file in open {
            own.middle -= if (file & self.their_pawns).is_empty() {
                22
            } else {
                14
            };
        }
    }
}

/// Drives a bare king to the edge and the kings together.
pub(super) fn mop_up(board: &Board, value: i32) -> i32 {
    if value == 0 {
        return 0;
    }
    let winner = if value > 0 {
        Color::White
    } else {
        Color::Black
    };
    let bare = board.by_color(!winner).count() == 1;
    if !bare || (board.pawns()).any() {
        return 0;
    }
    let (Some(ours), Some(theirs)) = (board.king_of(winner), board.king_of(!winner)) else {
        return 0;
    };
    let off = |n: i32| (2 * n - 7).abs() / 2;
    let edge = off(theirs.file() as i32) + off(theirs.rank() as i32);
    let mut bonus = 20 * edge + 8 * (7 - ours.distance(theirs) as i32);
    let bishops = board.by_color(winner) & board.bishops();
    if (board.by_color(winner) & board.knights()).any() && bishops.count() == 1 {
        let light = (bishops & Bitboard::LIGHT_SQUARES).any();
        let corners = if light {
            [Square::A8, Square::H1]
        } else {
            [Square::A1, Square::H8]
        };
        let near = corners.map(|c| c.distance(theirs)).into_iter().min();
        bonus += 30 * (7 - near.unwrap_or(0) as i32);
    }
    if winner.is_white() { bonus } else { -bonus }
}

/// How much of an advantage counts, in 64ths: little when the stronger side
/// has no pawn and less than a rook more, half with bishops of opposite
/// colours and nothing else.
pub(super) fn winnable(board: &Board, value: i32) -> i32 {
    let stronger = if value > 0 {
        Color::White
    } else {
        Color::Black
    };
    let us = board.by_color(stronger);
    let pieces = |side: Bitboard| -> i32 {
        [Role::Knight, Role::Bishop, Role::Rook, Role::Queen]
            .into_iter()
            .map(|role| super::table::worth(role) * (side & board.by_role(role)).count() as i32)
            .sum()
    };
    if (us & board.pawns()).is_empty() {
        let (ours, theirs) = (pieces(us), pieces(board.by_color(!stronger)));
        if ours <= 330 {
            return 0;
        }
        if ours == 2 * 320
            && (us & board.knights()).count() == 2
            && board.by_color(!stronger).count() == 1
        {
            return 0;
        }
        if ours - theirs <= 330 {
            return 10;
        }
    }
    let bishops = board.bishops();
    let others = board.knights() | board.rooks() | board.queens();
    if others.is_empty()
        && (bishops & board.white()).count() == 1
        && (bishops & board.black()).count() == 1
        && (bishops & Bitboard::LIGHT_SQUARES).count() == 1
    {
        return 32;
    }
    64
}

fn rank_of(color: Color, square: Square) -> usize {
    color.fold_wb(square.rank(), square.rank().flip_vertical()) as usize
}

/// The files beside a square's own.
fn beside(square: Square) -> Bitboard {
    let file = square.file();
    [-1, 1]
        .into_iter()
        .filter_map(|step| file.offset(step))
        .fold(Bitboard::EMPTY, |set, f| set | Bitboard::from_file(f))
}

/// All squares on the ranks before a square, as `color` goes.
fn ahead(color: Color, square: Square) -> Bitboard {
    let rank = u32::from(square.rank());
    let above = if rank == 7 {
        0
    } else {
        !0_u64 << (8 * (rank + 1))
    };
    let below = !(!0_u64 << (8 * rank));
    Bitboard(color.fold_wb(above, below))
}

fn shift(color: Color, set: Bitboard) -> Bitboard {
    Bitboard(color.fold_wb(set.0 << 8, set.0 >> 8))
}

/// All squares that these pawns attack.
fn pawns_attack(color: Color, pawns: Bitboard) -> Bitboard {
    const NOT_A: u64 = 0xfefe_fefe_fefe_fefe;
    const NOT_H: u64 = 0x7f7f_7f7f_7f7f_7f7f;
    let Bitboard(set) = pawns;
    Bitboard(color.fold_wb(
        (set & NOT_A) << 7 | (set & NOT_H) << 9,
        (set & NOT_A) >> 9 | (set & NOT_H) >> 7,
    ))
}
