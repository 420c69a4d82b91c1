//! Setting up a position: what each control does to it, and how it reads as
//! FEN. Whether the position is legal is left to [`keyproof::notation::fen`].

use std::num::NonZeroU32;
use std::str::FromStr;

use keyproof::notation::fen;
use keyproof::transform;
use shakmaty::fen::Fen;
use shakmaty::{Bitboard, CastlingSide, Color, Piece, Role, Square};

/// The largest number that a clock is set to.
const MOST_CLOCK: u32 = 9_999;

/// A position being set up, legal or not.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Setup {
    /// The FEN as typed or as made by the controls.
    pub text: String,
    /// The position as far as the text can be read.
    pub position: shakmaty::Setup,
}

/// One thing done to a position.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SetupChange {
    Put(Square, Option<Piece>),
    Carry(Square, Square),
    Turn(Color),
    Castling(Color, CastlingSide, bool),
    EnPassant(Option<Square>),
    /// Half moves since a capture or a pawn's move.
    HalfmoveClock(u32),
    /// The number of the move to be played.
    MoveNumber(u32),
    /// Left and right exchanged.
    Mirror,
    /// White's men become Black's, and the other way round.
    SwapColours,
    /// All men moved by so many files and ranks.
    Shift(i32, i32),
    Clear,
    Initial,
    Text(String),
}

impl Setup {
    /// The position of a FEN, or the empty board if it cannot be read.
    pub fn of(text: Option<&str>) -> Setup {
        match text {
            None => Setup::from_position(shakmaty::Setup::default()),
            Some(text) => Setup {
                text: text.to_owned(),
                position: parse(text).unwrap_or_else(shakmaty::Setup::empty),
            },
        }
    }
    /// The position with a change made.
    pub fn change(&self, change: &SetupChange) -> Setup {
        let mut position = self.position.clone();
        match *change {
            SetupChange::Put(square, Some(piece)) => position.board.set_piece_at(square, piece),
            SetupChange::Put(square, None) => position.board.discard_piece_at(square),
            SetupChange::Carry(from, to) => {
                if from != to
                    && let Some(piece) = position.board.remove_piece_at(from)
                {
                    position.board.set_piece_at(to, piece);
                }
            }
            SetupChange::Turn(turn) => {
                position.turn = turn;
                position.ep_square = None;
            }
            SetupChange::Castling(color, side, on) => {
                let rook = rook_home(color, side);
                position.castling_rights.set(rook, on);
            }
            SetupChange::EnPassant(square) => position.ep_square = square,
            SetupChange::HalfmoveClock(n) => position.halfmoves = n.min(MOST_CLOCK),
            SetupChange::MoveNumber(n) => {
                position.fullmoves = NonZeroU32::new(n.min(MOST_CLOCK)).unwrap_or(NonZeroU32::MIN);
            }
            SetupChange::Mirror => position = transform::mirrored(&position),
            SetupChange::SwapColours => position = transform::colours_swapped(&position),
            SetupChange::Shift(files, ranks) => {
                position = transform::shifted(&position, files, ranks).unwrap_or(position);
            }
            SetupChange::Clear => {
                position = shakmaty::Setup {
                    turn: position.turn,
                    ..shakmaty::Setup::empty()
                }
            }
            SetupChange::Initial => position = shakmaty::Setup::default(),
            SetupChange::Text(ref text) => {
                return Setup {
                    text: text.clone(),
                    position: parse(text).unwrap_or(position),
                };
            }
        }
        position.castling_rights &= self.castling_kept(&position);
        if position
            .ep_square
            .is_some_and(|s| !en_passant_squares(&position).contains(&s))
        {
            position.ep_square = None;
        }
        Setup::from_position(position)
    }
    /// What is wrong with the position, a sentence each.
    pub fn faults(&self) -> Vec<String> {
        fen::read(&self.text)
            .err()
            .map_or_else(Vec::new, |f| f.reasons())
    }
    /// Whether king and rook stand so that the right to castle can be given.
    pub fn can_castle(&self, color: Color, side: CastlingSide) -> bool {
        castle_stands(&self.position.board, color, side)
    }
    /// Whether all men can be moved by so many files and ranks.
    pub fn can_shift(&self, files: i32, ranks: i32) -> bool {
        let board = &self.position.board;
        !board.occupied().is_empty() && transform::shifted(&self.position, files, ranks).is_some()
    }
    pub fn castles(&self, color: Color, side: CastlingSide) -> bool {
        self.position
            .castling_rights
            .contains(rook_home(color, side))
    }
    /// Squares on which an en passant capture could be given.
    pub fn en_passant_squares(&self) -> Vec<Square> {
        en_passant_squares(&self.position)
    }
    fn from_position(position: shakmaty::Setup) -> Setup {
        let text = Fen::try_from_setup(position.clone())
            .unwrap_or_else(|lossy| lossy.ignore())
            .to_string();
        Setup { text, position }
    }
    fn castling_kept(&self, position: &shakmaty::Setup) -> Bitboard {
        let mut kept = Bitboard::EMPTY;
        for color in Color::ALL {
            for side in [CastlingSide::KingSide, CastlingSide::QueenSide] {
                if castle_stands(&position.board, color, side) {
                    kept.add(rook_home(color, side));
                }
            }
        }
        kept
    }
}

fn parse(text: &str) -> Option<shakmaty::Setup> {
    Fen::from_str(text.trim()).ok().map(Fen::into_setup)
}

fn home_rank(color: Color) -> shakmaty::Rank {
    color.fold_wb(shakmaty::Rank::First, shakmaty::Rank::Eighth)
}

fn rook_home(color: Color, side: CastlingSide) -> Square {
    let file = match side {
        CastlingSide::KingSide => shakmaty::File::H,
        CastlingSide::QueenSide => shakmaty::File::A,
    };
    Square::from_coords(file, home_rank(color))
}

fn castle_stands(board: &shakmaty::Board, color: Color, side: CastlingSide) -> bool {
    let king = Square::from_coords(shakmaty::File::E, home_rank(color));
    board.piece_at(king)
        == Some(Piece {
            color,
            role: Role::King,
        })
        && board.piece_at(rook_home(color, side))
            == Some(Piece {
                color,
                role: Role::Rook,
            })
}

fn en_passant_squares(position: &shakmaty::Setup) -> Vec<Square> {
    let (pawn_rank, passed_rank, from_rank) = position.turn.fold_wb(
        (
            shakmaty::Rank::Fifth,
            shakmaty::Rank::Sixth,
            shakmaty::Rank::Seventh,
        ),
        (
            shakmaty::Rank::Fourth,
            shakmaty::Rank::Third,
            shakmaty::Rank::Second,
        ),
    );
    let pawn = Piece {
        color: !position.turn,
        role: Role::Pawn,
    };
    shakmaty::File::ALL
        .into_iter()
        .filter(|&file| {
            position
                .board
                .piece_at(Square::from_coords(file, pawn_rank))
                == Some(pawn)
                && position
                    .board
                    .piece_at(Square::from_coords(file, passed_rank))
                    .is_none()
                && position
                    .board
                    .piece_at(Square::from_coords(file, from_rank))
                    .is_none()
        })
        .map(|file| Square::from_coords(file, passed_rank))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const KINGS: &str = "4k3/8/8/8/8/8/8/R3K2R w KQ - 0 1";

    #[test]
    fn each_control_shows_in_the_fen() {
        let bare = Setup::of(Some("8/8/8/8/8/8/8/8 w - - 0 1"));
        let king = bare.change(&SetupChange::Put(Square::E1, Some(Color::White.king())));
        assert_eq!(king.text, "8/8/8/8/8/8/8/4K3 w - - 0 1");
        let carried = king.change(&SetupChange::Carry(Square::E1, Square::E2));
        assert_eq!(carried.text, "8/8/8/8/8/8/4K3/8 w - - 0 1");
        let black = carried.change(&SetupChange::Turn(Color::Black));
        assert_eq!(black.text, "8/8/8/8/8/8/4K3/8 b - - 0 1");
        let cleared = black.change(&SetupChange::Clear);
        assert_eq!(cleared.text, "8/8/8/8/8/8/8/8 b - - 0 1");
    }

    #[test]
    fn castling_goes_with_king_and_rook() {
        let setup = Setup::of(Some(KINGS));
        assert!(setup.castles(Color::White, CastlingSide::KingSide));
        let off = setup.change(&SetupChange::Castling(
            Color::White,
            CastlingSide::KingSide,
            false,
        ));
        assert_eq!(off.text, "4k3/8/8/8/8/8/8/R3K2R w Q - 0 1");
        let gone = setup.change(&SetupChange::Put(Square::A1, None));
        assert_eq!(gone.text, "4k3/8/8/8/8/8/8/4K2R w K - 0 1");
        assert!(!gone.can_castle(Color::White, CastlingSide::QueenSide));
    }

    #[test]
    fn en_passant_needs_a_pawn_that_passed() {
        let setup = Setup::of(Some("4k3/8/8/3pP3/8/8/8/4K3 w - - 0 1"));
        assert_eq!(setup.en_passant_squares(), [Square::D6]);
        let given = setup.change(&SetupChange::EnPassant(Some(Square::D6)));
        assert_eq!(given.text, "4k3/8/8/3pP3/8/8/8/4K3 w - d6 0 1");
        let turned = given.change(&SetupChange::Turn(Color::Black));
        assert_eq!(turned.text, "4k3/8/8/3pP3/8/8/8/4K3 b - - 0 1");
    }

    #[test]
    fn clocks_and_turns_of_the_board_show_in_the_fen() {
        let setup = Setup::of(Some(KINGS));
        let late = setup
            .change(&SetupChange::HalfmoveClock(7))
            .change(&SetupChange::MoveNumber(31));
        assert_eq!(late.text, "4k3/8/8/8/8/8/8/R3K2R w KQ - 7 31");
        let black = late.change(&SetupChange::SwapColours);
        assert_eq!(black.text, "r3k2r/8/8/8/8/8/8/4K3 b kq - 7 31");
        let mirrored = late.change(&SetupChange::Mirror);
        assert_eq!(mirrored.text, "3k4/8/8/8/8/8/8/R2K3R w - - 7 31");
        assert!(!setup.can_shift(0, 1) && !setup.can_shift(1, 0));
        let bare = Setup::of(Some("8/8/8/8/8/4K3/8/8 w - - 0 1"));
        let up = bare.change(&SetupChange::Shift(0, 1));
        assert_eq!(up.text, "8/8/8/8/4K3/8/8/8 w - - 0 1");
        assert_eq!(bare.change(&SetupChange::Shift(0, 9)), bare);
    }

    #[test]
    fn half_typed_text_leaves_the_men_where_they_are() {
        let setup = Setup::of(Some(KINGS));
        let half = setup.change(&SetupChange::Text("4k3/8/8".into()));
        assert_eq!(half.text, "4k3/8/8");
        assert_eq!(half.position, setup.position);
        assert!(!half.faults().is_empty());
    }

    #[test]
    fn faults_are_told() {
        assert!(Setup::of(Some(KINGS)).faults().is_empty());
        let setup = Setup::of(Some("8/8/8/8/8/8/8/4K3 w - - 0 1"));
        assert!(!setup.faults().is_empty());
    }
}
