//! What a board looks like, as SVG text: the men, the states of squares and the
//! marks. Only our own drawings; nothing that an author typed passes here.

use std::fmt::Write as _;

use model::notation::moves::landing;
use model::tongue::{phrase, say, tr};
use play::diagram;
use shakmaty::{Board, CastlingSide, Color, Move, Piece, Square};

use crate::Mark;

/// A man that came from elsewhere: its square and the way back in drawing units.
pub type Glide = (Square, (i32, i32));

/// The states of squares, told by shape.
#[derive(Default)]
pub struct States<'a> {
    /// In brackets.
    pub last: Option<Move>,
    /// In a double ring.
    pub check: Option<Square>,
    /// In a frame.
    pub held: Option<Square>,
    /// With corner ticks.
    pub targets: Vec<Square>,
    pub marks: &'a [Mark],
}

/// A man's name: "white knight".
pub fn name(piece: Piece) -> &'static str {
    const NAMES: [[&str; 6]; 2] = [
        [
            phrase("white pawn"),
            phrase("white knight"),
            phrase("white bishop"),
            phrase("white rook"),
            phrase("white queen"),
            phrase("white king"),
        ],
        [
            phrase("black pawn"),
            phrase("black knight"),
            phrase("black bishop"),
            phrase("black rook"),
            phrase("black queen"),
            phrase("black king"),
        ],
    ];
    tr(NAMES[usize::from(piece.color == Color::Black)][piece.role as usize - 1])
}

/// What a move does to the other side's king.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    None,
    Check,
    Mate,
}

/// The move that led to a position, in words for a screen reader: "white rook
/// from a1 takes a8, check".
pub fn spoken(mv: Move, board: &Board, ending: Ending) -> String {
    let to = landing(mv);
    let (man, from) = match (board.piece_at(to), mv.from()) {
        (Some(man), Some(from)) => (man, from.to_string()),
        _ => return String::new(),
    };
    let moved = name(Piece {
        role: mv.role(),
        color: man.color,
    });
    let text = match (mv.castling_side(), mv.is_capture()) {
        (Some(CastlingSide::KingSide), _) => {
            phrase!("{man} castles king\u{2019}s side", "man from to")
        }
        (Some(CastlingSide::QueenSide), _) => {
            phrase!("{man} castles queen\u{2019}s side", "man from to")
        }
        (None, false) => phrase!("{man} from {from} to {to}", "man from to"),
        (None, true) => phrase!("{man} from {from} takes {to}", "man from to"),
    };
    let mut words = say!(text, man = moved, from = from, to = to.to_string());
    if mv.is_en_passant() {
        words = say!("{move} en passant", move = words);
    }
    if mv.is_promotion() {
        words = say!("{move}, promotes to {man}", move = words, man = name(man));
    }
    match ending {
        Ending::None => words,
        Ending::Check => say!("{move}, check", move = words),
        Ending::Mate => say!("{move}, mate", move = words),
    }
}

/// A man in an SVG element of its own.
pub fn lone_man(piece: Piece) -> String {
    let mut svg = String::from("<svg viewBox=\"0 0 45 45\" aria-hidden=\"true\">");
    svg.push_str(diagram::man(piece));
    svg.push_str("</svg>");
    svg
}

/// The man of a square, or nothing. `serial` tells two drawings of the same glide apart.
pub fn man(
    board: &Board,
    square: Square,
    black_below: bool,
    glides: &[Glide],
    serial: u32,
) -> String {
    let mut svg = String::new();
    let Some(piece) = board.piece_at(square) else {
        return svg;
    };
    let (x, y) = diagram::corner(square, black_below);
    let _ = write!(svg, "<g transform=\"translate({x} {y})\">");
    match glides.iter().find(|(to, _)| *to == square) {
        Some((_, (dx, dy))) => {
            let _ = write!(
                svg,
                "<g class=\"kp-glide\" data-glide=\"{serial}\" style=\"--dx:{dx}px;--dy:{dy}px\">{}</g>",
                diagram::man(piece)
            );
        }
        None => svg.push_str(diagram::man(piece)),
    }
    svg.push_str("</g>");
    svg
}

/// What lies under the men.
pub fn under(states: &States, black_below: bool) -> String {
    const BRACKETS: &str = "M9 3.5H4V41.5H9M36 3.5H41V41.5H36";
    const TICKS: &str = "M3 11V3H11M34 3H42V11M42 34V42H34M11 42H3V34";
    const FRAME: &str = "M3 3H42V42H3Z";
    const RINGS: &str = "M1.6 22.5a20.9 20.9 0 1 0 41.8 0a20.9 20.9 0 1 0-41.8 0M5 22.5a17.5 17.5 0 1 0 35 0a17.5 17.5 0 1 0-35 0";
    let mut svg = String::new();
    if let Some(mv) = states.last {
        for square in mv.from().into_iter().chain([landing(mv)]) {
            diagram::shape(&mut svg, square, black_below, "kp-last", BRACKETS);
        }
    }
    if let Some(square) = states.check {
        diagram::shape(&mut svg, square, black_below, "kp-check", RINGS);
    }
    if let Some(square) = states.held {
        diagram::shape(&mut svg, square, black_below, "kp-held", FRAME);
    }
    for &square in &states.targets {
        diagram::shape(&mut svg, square, black_below, "kp-target", TICKS);
    }
    svg
}

#[cfg(test)]
mod tests {
    use super::*;
    use model::notation::{fen, moves};
    use shakmaty::{Chess, Position};

    #[test]
    fn men_stand_on_their_squares_and_glide_there() {
        let glides = [(Square::A1, (0, -90))];
        let drawn = |square, serial| man(&Board::new(), square, false, &glides, serial);
        assert!(drawn(Square::E1, 7).starts_with("<g transform=\"translate(180 315)\"><"));
        assert_eq!(drawn(Square::E4, 7), "");
        let rook = drawn(Square::A1, 7);
        assert!(rook.contains("--dx:0px;--dy:-90px"));
        // Only what glides is another drawing the next time.
        assert_ne!(rook, drawn(Square::A1, 8));
        assert_eq!(drawn(Square::E1, 7), drawn(Square::E1, 8));
    }

    #[test]
    fn moves_in_words() {
        let told = |fen: &str, typed: &str| {
            let mut position = fen::read(fen).unwrap();
            let mv = moves::read(&position, typed).unwrap();
            position.play_unchecked(mv);
            let ending = match (position.is_check(), position.is_checkmate()) {
                (_, true) => Ending::Mate,
                (true, false) => Ending::Check,
                (false, false) => Ending::None,
            };
            spoken(mv, position.board(), ending)
        };
        for (fen, typed, words) in [
            (
                "6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1",
                "Ra8",
                "white rook from a1 to a8, mate",
            ),
            (
                "6k1/5p1p/8/8/8/8/8/R5K1 w - - 0 1",
                "Ra8",
                "white rook from a1 to a8, check",
            ),
            (
                "k7/7r/8/7Q/8/8/8/K7 w - - 0 1",
                "Qxh7",
                "white queen from h5 takes h7",
            ),
            (
                "4k3/8/8/3pP3/8/8/8/4K3 w - d6 0 1",
                "exd6",
                "white pawn from e5 takes d6 en passant",
            ),
            (
                "4k3/P7/8/8/8/8/8/4K3 w - - 0 1",
                "a8=Q",
                "white pawn from a7 to a8, promotes to white queen, check",
            ),
            (
                "r3k3/8/8/8/8/8/8/4K3 b q - 0 1",
                "O-O-O",
                "black king castles queen\u{2019}s side",
            ),
        ] {
            assert_eq!(told(fen, typed), words);
        }
    }

    #[test]
    fn each_state_has_a_shape_of_its_own() {
        let position = Chess::default();
        let mv = position.legal_moves()[0];
        let states = States {
            last: Some(mv),
            check: Some(Square::E8),
            held: Some(Square::E2),
            targets: vec![Square::E3, Square::E4],
            marks: &[],
        };
        let svg = under(&states, false);
        for (class, count) in [
            ("kp-last", 2),
            ("kp-check", 1),
            ("kp-held", 1),
            ("kp-target", 2),
        ] {
            assert_eq!(svg.matches(class).count(), count, "{class}");
        }
        let mut shapes: Vec<&str> = svg
            .split("<path d=\"")
            .skip(1)
            .filter_map(|t| t.split('"').next())
            .collect();
        shapes.sort_unstable();
        shapes.dedup();
        assert_eq!(shapes.len(), 4);
    }
}
