//! A position after a pass, or mirrored, with colours swapped, or shifted, legal or not: what
//! belongs to the position (side to move, castling, en passant) goes with it.
//! What is legal afterwards is left to [`crate::notation::fen`].

use shakmaty::{
    Bitboard, Board, Chess, EnPassantMode, File, FromSetup, Position, Rank, Setup, Square,
};

/// The position with the other side to move, as if the side to move passed:
/// no en passant capture is left. `None` where that is illegal, which is when
/// the side to move is in check.
pub fn passed(position: &Chess) -> Option<Chess> {
    let mut setup = position.to_setup(EnPassantMode::Legal);
    if setup.turn.is_black() {
        setup.fullmoves = setup.fullmoves.saturating_add(1);
    }
    setup.turn = !setup.turn;
    setup.ep_square = None;
    Chess::from_setup(setup, position.castles().mode()).ok()
}

/// Left and right exchanged: the a-file becomes the h-file. Rights to castle
/// go, since the king then stands on the d-file.
pub fn mirrored(setup: &Setup) -> Setup {
    let to = |square: Square| square.flip_horizontal();
    Setup {
        board: moved(&setup.board, |square| Some(to(square))),
        castling_rights: Bitboard::EMPTY,
        ep_square: setup.ep_square.map(to),
        ..setup.clone()
    }
}

/// White's men become Black's and Black's White's, the board seen from the
/// other side: the same puzzle for the other side to solve. Side to move,
/// rights to castle and the en passant square turn with it.
pub fn colours_swapped(setup: &Setup) -> Setup {
    let to = |square: Square| square.flip_vertical();
    let mut board = Board::empty();
    for (square, mut piece) in setup.board.clone() {
        piece.color = piece.color.other();
        board.set_piece_at(to(square), piece);
    }
    Setup {
        board,
        turn: setup.turn.other(),
        castling_rights: setup.castling_rights.into_iter().map(to).collect(),
        ep_square: setup.ep_square.map(to),
        ..setup.clone()
    }
}

/// All men moved by so many files to the right and ranks up; `None` where one
/// would leave the board. Rights to castle and to capture en passant go.
pub fn shifted(setup: &Setup, files: i32, ranks: i32) -> Option<Setup> {
    let to = |square: Square| {
        let file = square.file() as i32 + files;
        let rank = square.rank() as i32 + ranks;
        let on = (0..8).contains(&file) && (0..8).contains(&rank);
        on.then(|| Square::from_coords(File::new(file as u32), Rank::new(rank as u32)))
    };
    let board = moved(&setup.board, to);
    (board.occupied().count() == setup.board.occupied().count()).then(|| Setup {
        board,
        castling_rights: Bitboard::EMPTY,
        ep_square: None,
        ..setup.clone()
    })
}

fn moved(board: &Board, to: impl Fn(Square) -> Option<Square>) -> Board {
    let mut moved = Board::empty();
    for (square, piece) in board.clone() {
        if let Some(to) = to(square) {
            moved.set_piece_at(to, piece);
        }
    }
    moved
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::notation::fen;
    use shakmaty::fen::Fen;
    use shakmaty::perft;

    #[test]
    fn a_pass_gives_the_other_side_the_move_and_ends_en_passant() {
        let start = fen::read("4k3/8/8/8/3pP3/8/8/4K3 b - e3 0 7").unwrap();
        let passed = passed(&start).unwrap();
        assert_eq!(fen::write(&passed), "4k3/8/8/8/3pP3/8/8/4K3 w - - 0 8");
    }

    #[test]
    fn nobody_passes_in_check() {
        let start = fen::read("4k3/8/8/8/8/8/8/4RK2 b - - 0 1").unwrap();
        assert!(passed(&start).is_none());
    }

    fn setup(text: &str) -> Setup {
        text.parse::<Fen>().unwrap().into_setup()
    }
    fn text(setup: Setup) -> String {
        Fen::try_from_setup(setup).unwrap().to_string()
    }

    const MIDDLE: &str = "r3k2r/p1p3p1/8/3pP3/8/2N5/PP4Q1/R3K2R w KQq d6 3 20";

    #[test]
    fn colours_are_swapped_with_all_that_belongs_to_them() {
        assert_eq!(
            text(colours_swapped(&setup(MIDDLE))),
            "r3k2r/pp4q1/2n5/8/3Pp3/8/P1P3P1/R3K2R b Qkq d3 3 20"
        );
        let back = colours_swapped(&colours_swapped(&setup(MIDDLE)));
        assert_eq!(text(back), MIDDLE);
    }

    /// The swapped position has as many games of three half moves as the first,
    /// and so has the mirrored one, as long as nobody may castle.
    #[test]
    fn the_rules_see_no_difference() {
        let count = |setup: &Setup| perft(&fen::read(&text(setup.clone())).unwrap(), 3);
        let first = setup(MIDDLE);
        assert_eq!(count(&first), count(&colours_swapped(&first)));
        let mut still = first.clone();
        still.castling_rights = Bitboard::EMPTY;
        assert_eq!(count(&still), count(&mirrored(&first)));
        assert_eq!(fen::read(MIDDLE).unwrap().turn(), first.turn);
    }

    #[test]
    fn nobody_is_shifted_off_the_board() {
        let ends = setup("8/8/4k3/8/8/8/8/K7 w - - 0 1");
        assert!(shifted(&ends, -1, 0).is_none());
        assert!(shifted(&ends, 0, -1).is_none());
        let up = shifted(&ends, 3, 2).unwrap();
        assert_eq!(text(up.clone()), "7k/8/8/8/8/3K4/8/8 w - - 0 1");
        assert!(shifted(&up, 1, 0).is_none());
    }
}
