//! FEN in and out, and in words what is wrong with a position.
//!
//! Reading is lenient about form (missing clocks, blanks) and strict about
//! chess: what is accepted can be played by the rules. Composed positions that
//! no game can reach (a third queen beside eight pawns, three checkers) are
//! accepted, since every rule still has a meaning there.

use std::num::NonZeroU32;

use shakmaty::{
    Bitboard, Board, CastlingMode, CastlingSide, Chess, Color, EnPassantMode, File, Piece,
    PositionError, Rank, Role, Setup, Square, fen::Fen,
};

use super::excerpt;
use crate::short::joined;
use crate::tongue::{phrase, plural, say, tr};

/// A FEN that cannot be played from. What is wrong with it is told on demand, so
/// that the student's page need not carry it.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct FenFault {
    /// The text as given.
    pub text: String,
}

impl FenFault {
    /// One sentence per fault, all at once: "White has no king."
    pub fn reasons(&self) -> Vec<String> {
        let mut reasons = Vec::new();
        read_into(&self.text, &mut reasons);
        reasons
    }
}

/// Where faults are noted.
trait Faults {
    fn note(&mut self, reason: impl FnOnce() -> String);
    fn none(&self) -> bool;
}

impl Faults for Vec<String> {
    fn note(&mut self, reason: impl FnOnce() -> String) {
        self.push(reason());
    }
    fn none(&self) -> bool {
        self.is_empty()
    }
}

/// Only whether there are any.
impl Faults for bool {
    fn note(&mut self, _reason: impl FnOnce() -> String) {
        *self = true;
    }
    fn none(&self) -> bool {
        !*self
    }
}

/// Reads a FEN of four to six fields (missing clocks are taken as `0 1`).
/// With fewer fields, White is to move, nobody may castle, and there is no
/// en passant square.
///
/// # Errors
/// The text, which tells all that is wrong with it.
pub fn read(text: &str) -> Result<Chess, FenFault> {
    read_into(text, &mut false).ok_or_else(|| FenFault {
        text: text.to_owned(),
    })
}

fn read_into(text: &str, reasons: &mut impl Faults) -> Option<Chess> {
    let setup = read_fields(text, reasons);
    reasons.none().then(|| play_from(setup, reasons)).flatten()
}

/// Writes a position as a FEN; the en passant square only where a capture is
/// legal.
pub fn write(position: &Chess) -> String {
    Fen::from_position(position, EnPassantMode::Legal).to_string()
}

/// The most men a side can have. Also what keeps the number of moves in any
/// accepted position within what the rules library can list.
const MOST_MEN: usize = 16;

fn read_fields(text: &str, reasons: &mut impl Faults) -> Setup {
    let mut fields = text.split_whitespace();
    let mut setup = Setup::empty();
    match fields.next() {
        Some(field) => setup.board = read_board(field, reasons),
        None => reasons.note(|| tr("There is no position: the text is empty.").into()),
    }
    if let Some(field) = fields.next() {
        match field {
            "w" | "W" => setup.turn = Color::White,
            "b" | "B" => setup.turn = Color::Black,
            _ => reasons.note(|| {
                say!(
                    "The side to move is given as `{text}`: it should be `w` or `b`.",
                    text = excerpt(field),
                )
            }),
        }
    }
    if let Some(field) = fields.next() {
        read_castling(field, &mut setup, reasons);
    }
    if let Some(field) = fields.next().filter(|&field| field != "-") {
        match field.parse::<Square>() {
            Ok(square) => setup.ep_square = Some(square),
            Err(_) => reasons.note(|| say!(
                "The en passant square is given as `{text}`: it should be a square such as `e6`, or `-`.",
                text = excerpt(field),
            )),
        }
    }
    if let Some(field) = fields.next().filter(|&field| field != "-") {
        match field.parse() {
            Ok(count) => setup.halfmoves = count,
            Err(_) => reasons.note(|| say!(
                "The count of moves without capture or pawn move is given as `{text}`: it should be a number.",
                text = excerpt(field),
            )),
        }
    }
    if let Some(field) = fields.next().filter(|&field| field != "-") {
        match field.parse::<u32>() {
            Ok(number) => setup.fullmoves = NonZeroU32::new(number).unwrap_or(NonZeroU32::MIN),
            Err(_) => reasons.note(|| {
                say!(
                    "The move number is given as `{text}`: it should be a number.",
                    text = excerpt(field),
                )
            }),
        }
    }
    let rest: Vec<&str> = fields.collect();
    if !rest.is_empty() {
        reasons.note(|| {
            say!(
                "More text follows the six fields of the FEN: `{text}`.",
                text = excerpt(&rest.join(" ")),
            )
        });
    }
    setup
}

fn read_board(field: &str, reasons: &mut impl Faults) -> Board {
    let mut board = Board::empty();
    let ranks: Vec<&str> = field.split('/').collect();
    if ranks.len() != 8 {
        reasons.note(|| {
            plural!(
                ranks.len(),
                "The board has {n} rank: it should have 8, with `/` between them.",
                "The board has {n} ranks: it should have 8, with `/` between them.",
            )
        });
    }
    let names = (1..=8).rev().map(Some).chain(std::iter::repeat(None));
    for (text, number) in ranks.iter().zip(names) {
        let Some(number) = number else { break };
        let rank = Rank::new(number - 1);
        let mut squares = 0;
        for letter in text.chars() {
            if let Some(empty) = letter.to_digit(10).filter(|d| (1..=8).contains(d)) {
                squares += empty;
                continue;
            }
            let square = File::try_from(squares as i32)
                .ok()
                .map(|file| Square::from_coords(file, rank));
            match (Piece::from_char(letter), square) {
                (Some(piece), Some(square)) => board.set_piece_at(square, piece),
                (Some(_), None) => {}
                (None, Some(square)) => reasons.note(|| say!(
                    "`{letter}` on {square} stands for no man: White's are K Q R B N P, Black's k q r b n p, and 1 to 8 count empty squares.",
                    letter = letter.to_string(),
                    square = square.to_string(),
                )),
                (None, None) => reasons.note(|| say!(
                    "`{letter}` on rank {rank} stands for no man: White's are K Q R B N P, Black's k q r b n p, and 1 to 8 count empty squares.",
                    letter = letter.to_string(),
                    rank = number.to_string(),
                )),
            }
            squares += 1;
        }
        if squares != 8 {
            reasons.note(|| {
                let count = plural!(squares as usize, "{n} square", "{n} squares");
                say!(
                    "Rank {rank} (`{text}`) has {squares}: it should have 8.",
                    rank = number.to_string(),
                    text = excerpt(text),
                    squares = count,
                )
            });
        }
    }
    board
}

fn read_castling(field: &str, setup: &mut Setup, reasons: &mut impl Faults) {
    if field == "-" {
        return;
    }
    for letter in field.chars() {
        let (color, side) = match letter {
            'K' => (Color::White, CastlingSide::KingSide),
            'Q' => (Color::White, CastlingSide::QueenSide),
            'k' => (Color::Black, CastlingSide::KingSide),
            'q' => (Color::Black, CastlingSide::QueenSide),
            _ => {
                reasons.note(|| say!(
                    "The castling rights are given as `{text}`: they should be some of `KQkq`, or `-`.",
                    text = excerpt(field),
                ));
                return;
            }
        };
        let file = match side {
            CastlingSide::KingSide => File::H,
            CastlingSide::QueenSide => File::A,
        };
        setup
            .castling_rights
            .add(Square::from_coords(file, color.backrank()));
    }
}

fn play_from(setup: Setup, reasons: &mut impl Faults) -> Option<Chess> {
    position_faults(&setup, reasons);
    let (turn, ep_square) = (setup.turn, setup.ep_square);
    match setup
        .position::<Chess>(CastlingMode::Standard)
        .or_else(PositionError::ignore_too_much_material)
    {
        Ok(position) if reasons.none() => return Some(position),
        Ok(_) => {}
        Err(error) => match (error.ignore_impossible_check(), ep_square) {
            (Ok(position), None) if reasons.none() => return Some(position),
            (Ok(_), None) => {}
            (Ok(_), Some(square)) => reasons.note(|| say!(
                "The en passant square {square} is impossible: {side}'s king could not be in this check after a pawn's double step.",
                square = square.to_string(),
                side = name(turn),
            )),
            (Err(error), _) if reasons.none() => {
                reasons.note(|| {
                    let error = error.to_string();
                    say!("The position cannot be played: {error}.", error = error)
                });
            }
            (Err(_), _) => {}
        },
    }
    None
}

fn position_faults(setup: &Setup, reasons: &mut impl Faults) {
    let board = &setup.board;
    for color in Color::ALL {
        let side = name(color);
        match (board.kings() & board.by_color(color)).count() {
            0 => reasons.note(|| say!("{side} has no king.", side = side)),
            1 => {}
            n => reasons.note(|| say!("{side} has {n} kings.", side = side, n = n.to_string())),
        }
        let men = board.by_color(color).count();
        if men > MOST_MEN {
            reasons.note(|| {
                say!(
                    "{side} has {n} men: a side has at most {most}.",
                    side = side,
                    n = men.to_string(),
                    most = MOST_MEN.to_string(),
                )
            });
        }
    }
    for square in board.pawns() & Bitboard::BACKRANKS {
        let color = Color::from_white(board.white().contains(square));
        reasons.note(|| {
            say!(
                "A {man} stands on {square}: no pawn can stand on the first or the last rank.",
                man = pawn(color),
                square = square.to_string(),
            )
        });
    }
    if let Some(king) = board.king_of(!setup.turn) {
        let checkers = board.attacks_to(king, setup.turn, board.occupied());
        if checkers.any() {
            reasons.note(|| {
                say!(
                    "{side} is to move, but {other}'s king on {king} stands in check from {squares}.",
                    side = name(setup.turn),
                    other = name(!setup.turn),
                    king = king.to_string(),
                    squares = squares(checkers),
                )
            });
        }
    }
    castling_faults(setup, reasons);
    if let Some(square) = setup.ep_square {
        en_passant_fault(setup, square, reasons);
    }
}

fn castling_faults(setup: &Setup, reasons: &mut impl Faults) {
    for rook in setup.castling_rights {
        let color = if rook.rank() == Rank::First {
            Color::White
        } else {
            Color::Black
        };
        let king = Square::from_coords(File::E, color.backrank());
        let stands = |square, role: Role| setup.board.piece_at(square) == Some(role.of(color));
        if stands(king, Role::King) && stands(rook, Role::Rook) {
            continue;
        }
        let fault = if rook.file() == File::H {
            phrase!(
                "{side} cannot have the right to castle on the king's side: that needs the king on {king} and a rook on {rook}.",
                "side king rook"
            )
        } else {
            phrase!(
                "{side} cannot have the right to castle on the queen's side: that needs the king on {king} and a rook on {rook}.",
                "side king rook"
            )
        };
        reasons.note(|| {
            say!(
                fault,
                side = name(color),
                king = king.to_string(),
                rook = rook.to_string()
            )
        });
    }
}

fn en_passant_fault(setup: &Setup, square: Square, reasons: &mut impl Faults) {
    let mover = !setup.turn;
    if square.rank() != setup.turn.relative_rank(Rank::Sixth) {
        return reasons.note(|| {
            say!(
                "The en passant square {square} is impossible: with {side} to move it lies on rank {rank}.",
                square = square.to_string(),
                side = name(setup.turn),
                rank = setup.turn.fold_wb("6", "3"),
            )
        });
    }
    let step = mover.fold_wb(8, -8);
    let (Some(from), Some(to)) = (square.offset(-step), square.offset(step)) else {
        return;
    };
    if setup.board.piece_at(to) != Some(Role::Pawn.of(mover)) {
        return reasons.note(|| {
            say!(
                "The en passant square {square} is impossible: there is no {man} on {to}.",
                square = square.to_string(),
                man = pawn(mover),
                to = to.to_string(),
            )
        });
    }
    let occupied = setup.board.occupied();
    if occupied.contains(square) || occupied.contains(from) {
        reasons.note(|| say!(
            "The en passant square {square} is impossible: the pawn on {to} came over {from} and {square}, and these must be empty.",
            square = square.to_string(),
            to = to.to_string(),
            from = from.to_string(),
        ));
    }
}

fn squares(set: Bitboard) -> String {
    let names: Vec<String> = set.into_iter().map(|s| s.to_string()).collect();
    joined(&names, tr(" and "))
}

fn name(color: Color) -> &'static str {
    tr(color.fold_wb("White", "Black"))
}

fn pawn(color: Color) -> &'static str {
    tr(color.fold_wb("white pawn", "black pawn"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use shakmaty::Position;

    fn reasons(text: &str) -> Vec<String> {
        read(text).expect_err(text).reasons()
    }

    #[test]
    fn a_fen_of_one_to_six_fields() {
        let start = "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR";
        for text in [
            format!("{start} w KQkq - 0 1"),
            format!("{start} w KQkq - 0"),
            format!("{start} w KQkq -"),
            format!("  {start}   w  KQkq - - -  "),
            format!("{start} w KQkq - 0 0"),
        ] {
            let position = read(&text).expect(&text);
            assert_eq!(write(&position), format!("{start} w KQkq - 0 1"));
        }
        for text in [start.to_owned(), format!("{start} w")] {
            assert_eq!(write(&read(&text).unwrap()), format!("{start} w - - 0 1"));
        }
        let late = "8/8/8/4k3/8/8/8/4K2R b K - 12 60";
        assert_eq!(write(&read(late).unwrap()), late);
    }

    #[test]
    fn the_en_passant_square_is_written_where_a_capture_is_legal() {
        let after_e4 = "rnbqkbnr/pppppppp/8/8/4P3/8/PPPP1PPP/RNBQKBNR b KQkq e3 0 1";
        assert!(write(&read(after_e4).unwrap()).contains(" - 0 1"));
        let legal = "4k3/8/8/3pP3/8/8/8/4K3 w - d6 0 1";
        assert_eq!(write(&read(legal).unwrap()), legal);
        let pinned = "4k3/8/8/K2pP2r/8/8/8/8 w - d6 0 1";
        assert!(write(&read(pinned).unwrap()).contains(" - 0 1"));
    }

    #[test]
    fn all_faults_of_form_at_once() {
        assert_eq!(
            reasons("9/ppp/xkK/8/8/8/8 g KX e9 a b c"),
            [
                "The board has 7 ranks: it should have 8, with `/` between them.",
                "`9` on a8 stands for no man: White's are K Q R B N P, Black's k q r b n p, and 1 to 8 count empty squares.",
                "Rank 8 (`9`) has 1 square: it should have 8.",
                "Rank 7 (`ppp`) has 3 squares: it should have 8.",
                "`x` on a6 stands for no man: White's are K Q R B N P, Black's k q r b n p, and 1 to 8 count empty squares.",
                "Rank 6 (`xkK`) has 3 squares: it should have 8.",
                "The side to move is given as `g`: it should be `w` or `b`.",
                "The castling rights are given as `KX`: they should be some of `KQkq`, or `-`.",
                "The en passant square is given as `e9`: it should be a square such as `e6`, or `-`.",
                "The count of moves without capture or pawn move is given as `a`: it should be a number.",
                "The move number is given as `b`: it should be a number.",
                "More text follows the six fields of the FEN: `c`.",
            ]
        );
        assert_eq!(reasons(" "), ["There is no position: the text is empty."]);
        assert_eq!(
            reasons("8/8/8/8/8/8/8/ppppppppk w"),
            ["Rank 1 (`ppppppppk`) has 9 squares: it should have 8."]
        );
    }

    #[test]
    fn all_faults_of_the_position_at_once() {
        assert_eq!(
            reasons("P6k/8/8/8/8/8/8/pK5K w KQ e6 0 1"),
            [
                "White has 2 kings.",
                "A black pawn stands on a1: no pawn can stand on the first or the last rank.",
                "A white pawn stands on a8: no pawn can stand on the first or the last rank.",
                "White cannot have the right to castle on the queen's side: that needs the king on e1 and a rook on a1.",
                "White cannot have the right to castle on the king's side: that needs the king on e1 and a rook on h1.",
                "The en passant square e6 is impossible: there is no black pawn on e5.",
            ]
        );
        assert_eq!(
            reasons("8/8/8/8/8/8/8/8 w - - 0 1"),
            ["White has no king.", "Black has no king."]
        );
    }

    #[test]
    fn the_side_that_has_moved_is_not_in_check() {
        // FIDE Laws 3.9.2: no move may leave one's own king attacked.
        assert_eq!(
            reasons("4k3/8/8/8/8/8/8/K3R3 w - - 0 1"),
            ["White is to move, but Black's king on e8 stands in check from e1."]
        );
    }

    #[test]
    fn impossible_en_passant_squares() {
        let fault = |text| reasons(text).join(" ");
        assert_eq!(
            fault("4k3/8/8/4p3/8/8/8/4K3 w - e3 0 1"),
            "The en passant square e3 is impossible: with White to move it lies on rank 6."
        );
        assert_eq!(
            fault("4k3/4b3/8/4p3/8/8/8/4K3 w - e6 0 1"),
            "The en passant square e6 is impossible: the pawn on e5 came over e7 and e6, and these must be empty."
        );
        assert_eq!(
            fault("4k3/8/8/4p3/8/3n4/8/4K3 w - e6 0 1"),
            "The en passant square e6 is impossible: White's king could not be in this check after a pawn's double step."
        );
    }

    #[test]
    fn composed_positions_that_no_game_reaches_are_playable() {
        for (text, moves) in [
            // Three queens beside eight pawns.
            ("k7/8/8/8/8/8/PPPPPPPP/KQQQ4 w - - 0 1", None),
            // Three checkers: the king steps to d1, f1 or takes on e2.
            ("4k3/8/8/8/8/3n1n2/4r3/4K3 w - - 0 1", Some(3)),
            // Three more, a rook and a bishop among them: e2 and f2 are free.
            ("4k3/8/8/8/8/2b2n2/8/r3K3 w - - 0 1", Some(2)),
        ] {
            let position = read(text).expect(text);
            let legal = position.legal_moves();
            if let Some(count) = moves {
                assert_eq!(legal.len(), count, "{text}");
            }
            for mv in legal {
                let after = position.clone().play(mv).expect(text);
                let again = read(&write(&after)).expect(text);
                assert_eq!(again, after, "{text}");
            }
        }
        let crowd = "k7/8/8/8/8/Q7/PPPPPPPP/KQQQQQQQ b - - 0 1";
        assert_eq!(reasons(crowd), ["White has 17 men: a side has at most 16."]);
    }
}
