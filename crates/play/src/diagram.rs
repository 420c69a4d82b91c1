//! Printed diagrams: the board and men of this project as SVG.
//!
//! Units are those of the drawing: a square is [`SQUARE`] wide, and the origin
//! is the board's upper left corner. Colours are the custom properties
//! `--paper`, `--ink`, `--man-light` and `--man-dark` of the page around, with
//! print colours where it sets none; marks add `--accent`. What moves, and what tells
//! a state, is left to the board component.

use std::fmt::Write as _;

use model::marks::{LineKind, Mark};
use shakmaty::{Board, Color, File, Piece, Rank, Square};

/// The side of a square.
pub const SQUARE: i32 = 45;

/// The side of the board.
const SIDE: i32 = 8 * SQUARE;

/// How far apart the lines of the hatching are along a rank; two squares hold a whole
/// number of them, so that all dark squares look alike.
const HATCH: i32 = 6;

/// The view box of a whole diagram: the board with its rules and coordinates.
pub const VIEW_BOX: &str = "-21 -8 390 390";

/// Upper left corner of a square, in drawing units.
pub fn corner(square: Square, black_below: bool) -> (i32, i32) {
    let (file, rank) = (square.file() as i32, square.rank() as i32);
    let (column, row) = if black_below {
        (7 - file, rank)
    } else {
        (file, 7 - rank)
    };
    (column * SQUARE, row * SQUARE)
}

/// The drawing of a man as SVG elements in a 0 0 45 45 view box, without the
/// `svg` element: a halo of paper, the body, and the lines inside it.
pub fn man(piece: Piece) -> &'static str {
    let drawings = match piece.color {
        Color::White => &WHITE,
        Color::Black => &BLACK,
    };
    drawings[piece.role as usize - 1]
}

/// The outline of a [`man`], and the lines inside it, as paths of the commands M, L, H, V,
/// C and Z alone.
pub fn outline(piece: Piece) -> (&'static str, &'static str) {
    // The halo, which comes first, has the outline as well.
    let paths = man(piece).split(" d=\"").skip(2);
    let mut paths = paths.filter_map(|rest| Some(rest.split_once('"')?.0));
    let mut next = || paths.next().unwrap_or_default();
    (next(), next())
}

/// The empty board as SVG elements: hatched squares, double rule and
/// coordinates. `id` makes an id inside unique on the page and must be a plain
/// word.
pub fn field(id: &str, black_below: bool) -> String {
    let mut svg = String::with_capacity(4500);
    let _ = write!(
        svg,
        "<g fill=\"none\" stroke=\"var(--ink,#1f1b16)\"><rect x=\"-5\" y=\"-5\" width=\"370\" height=\"370\" \
         fill=\"var(--paper,#fff)\" stroke-width=\"2\"/><rect x=\"-1\" y=\"-1\" width=\"362\" height=\"362\" \
         stroke-width=\".9\"/></g><clipPath id=\"{id}-dark\"><path d=\""
    );
    for square in Square::ALL.into_iter().filter(|s| s.is_dark()) {
        let (x, y) = corner(square, false);
        let _ = write!(svg, "M{x} {y}h45v45h-45z");
    }
    let _ = write!(
        svg,
        "\"/></clipPath><path class=\"kp-hatch\" clip-path=\"url(#{id}-dark)\" stroke=\"var(--ink,#1f1b16)\" \
         stroke-width=\".8\" d=\""
    );
    for along in (HATCH..2 * SIDE).step_by(HATCH as usize) {
        let (near, far) = ends(along);
        let _ = write!(svg, "M{near} {far}L{far} {near}");
    }
    svg.push_str(
        "\"/><g fill=\"var(--ink,#1f1b16)\" font-size=\"12.5\" font-family=\"Georgia,'Times New Roman',serif\" \
         text-anchor=\"middle\">",
    );
    for step in 0..8 {
        let (x, _) = corner(
            Square::from_coords(File::new(step), Rank::First),
            black_below,
        );
        let (_, y) = corner(Square::from_coords(File::A, Rank::new(step)), black_below);
        let _ = write!(
            svg,
            "<text x=\"{}.5\" y=\"379\">{}</text><text x=\"-13.5\" y=\"{}\">{}</text>",
            x + 22,
            File::new(step).char(),
            y + 27,
            Rank::new(step).char()
        );
    }
    svg.push_str("</g>");
    svg
}

/// The lines of the hatching: each leads from a point so far right and so far down to
/// the one that is so far down and so far right. They go across the whole board, to be
/// cut to the dark squares, and are no pattern: a browser that draws a pattern once and
/// repeats the picture has it uneven wherever a pixel is no whole unit.
pub fn hatching() -> impl Iterator<Item = (i32, i32)> {
    (HATCH..2 * SIDE).step_by(HATCH as usize).map(ends)
}

/// Where the line ends that begins so far along the upper and right edges.
fn ends(along: i32) -> (i32, i32) {
    ((along - SIDE).max(0), along.min(SIDE))
}

/// A whole diagram as a standalone SVG text. `id` makes its ids
/// unique on the page; `black_below` turns the board. Marks need [`MARKS_STYLE`].
pub fn diagram(board: &Board, id: &str, black_below: bool, drawn: &[Mark]) -> String {
    let mut svg = String::with_capacity(16_000);
    let _ = write!(
        svg,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"{VIEW_BOX}\">"
    );
    svg.push_str(&field(id, black_below));
    men(&mut svg, board, black_below);
    svg.push_str(&marks(drawn, black_below));
    svg.push_str("</svg>");
    svg
}

/// Adds the men of a board, each in a group at its square.
pub fn men(svg: &mut String, board: &Board, black_below: bool) {
    for (square, piece) in board.iter() {
        let (x, y) = corner(square, black_below);
        let _ = write!(
            svg,
            "<g transform=\"translate({x} {y})\">{}</g>",
            man(piece)
        );
    }
}

/// How [`marks`] are drawn where no style sheet of the pages does it: solid for an
/// answer, dashed for a try, dotted for a threat, each on a halo of paper. The
/// colour is the property `--accent`.
pub const MARKS_STYLE: &str = ".kp-answer path,.kp-try path,.kp-threat path{fill:none;stroke:var(--accent,#8c2a1c);stroke-width:2.6;\
stroke-linecap:round;stroke-linejoin:round}.kp-try path{stroke-dasharray:8 6}\
.kp-threat path{stroke-dasharray:.1 5.6;stroke-width:3}\
.kp-try .kp-head,.kp-threat .kp-head{stroke-dasharray:none}\
g .kp-halo{stroke:var(--paper,#fff);stroke-width:5.5;stroke-dasharray:none}";

/// Marks, which lie over the men, as SVG elements whose classes say how their lines
/// are drawn; see [`MARKS_STYLE`].
pub fn marks(marks: &[Mark], black_below: bool) -> String {
    const RING: &str = "M2.5 22.5a20 20 0 1 0 40 0a20 20 0 1 0-40 0";
    let class = |kind: LineKind| match kind {
        LineKind::Answer => "kp-answer",
        LineKind::Try => "kp-try",
        LineKind::Threat => "kp-threat",
    };
    let mut svg = String::new();
    for mark in marks {
        match *mark {
            Mark::Ring { square, kind } => shape(&mut svg, square, black_below, class(kind), RING),
            Mark::Line { from, to, kind } => {
                let (shaft, head) = line(from, to, black_below);
                let _ = write!(
                    svg,
                    "<g class=\"{}\"><path class=\"kp-halo\" d=\"{shaft}{head}\"/><path d=\"{shaft}\"/>\
                     <path class=\"kp-head\" d=\"{head}\"/></g>",
                    class(kind)
                );
            }
        }
    }
    svg
}

/// A shape drawn on a square, with a halo of paper under it.
pub fn shape(svg: &mut String, square: Square, black_below: bool, class: &str, path: &str) {
    let (x, y) = corner(square, black_below);
    let _ = write!(
        svg,
        "<g class=\"{class}\" transform=\"translate({x} {y})\"><path class=\"kp-halo\" d=\"{path}\"/>\
         <path d=\"{path}\"/></g>"
    );
}

/// A line between the middles of two squares: its shaft and its open head, as
/// paths of the commands M and L. Whole units do, and spare the code that writes fractions.
pub fn line(from: Square, to: Square, black_below: bool) -> (String, String) {
    let middle = |square| {
        let (x, y) = corner(square, black_below);
        (x as f32 + 22.5, y as f32 + 22.5)
    };
    let ((x, y), (u, v)) = (middle(from), middle(to));
    let length = ((u - x) * (u - x) + (v - y) * (v - y)).sqrt().max(1.0);
    let (dx, dy) = ((u - x) / length, (v - y) / length);
    let point = |text: &mut String, letter: char, x: f32, y: f32| {
        let _ = write!(text, "{letter}{} {}", x as i32, y as i32);
    };
    let (tip_x, tip_y) = (u - 7.0 * dx, v - 7.0 * dy);
    let (back_x, back_y) = (tip_x - 10.0 * dx, tip_y - 10.0 * dy);
    let (mut shaft, mut head) = (String::new(), String::new());
    point(&mut shaft, 'M', x + 12.0 * dx, y + 12.0 * dy);
    point(&mut shaft, 'L', tip_x, tip_y);
    point(&mut head, 'M', back_x - 6.0 * dy, back_y + 6.0 * dx);
    point(&mut head, 'L', tip_x, tip_y);
    point(&mut head, 'L', back_x + 6.0 * dy, back_y - 6.0 * dx);
    (shaft, head)
}

macro_rules! drawn {
    ($fill:literal, $line:literal, $body:literal, $lines:literal) => {
        concat!(
            "<g stroke-linejoin=\"round\" stroke-linecap=\"round\"><path fill=\"var(--paper,#fff)\" \
             stroke=\"var(--paper,#fff)\" stroke-width=\"5.5\" d=\"",
            $body,
            "\"/><path fill=\"",
            $fill,
            "\" stroke=\"var(--ink,#1f1b16)\" stroke-width=\"1.5\" d=\"",
            $body,
            "\"/><path fill=\"none\" stroke=\"",
            $line,
            "\" stroke-width=\"1.3\" d=\"",
            $lines,
            "\"/></g>"
        )
    };
}

macro_rules! men {
    ($($body:literal, $lines:literal;)*) => {
        const WHITE: [&str; 6] = [$(drawn!("var(--man-light,#fff)", "var(--man-dark,#1f1b16)", $body, $lines)),*];
        const BLACK: [&str; 6] = [$(drawn!("var(--man-dark,#1f1b16)", "var(--man-light,#fff)", $body, $lines)),*];
    };
}

// Pawn, knight, bishop, rook, queen, king: the outline, then the lines inside.
men! {
    "M22.5 9.5C25.7 9.5 28 11.8 28 14.8C28 16.7 27.1 18.3 25.7 19.3L29 21.2V23.2H26.3 \
     C26.8 28 28.4 31.6 31.9 34.2C33.2 35.2 33.8 36.5 33.8 38V41H11.2V38 \
     C11.2 36.5 11.8 35.2 13.1 34.2C16.6 31.6 18.2 28 18.7 23.2H16V21.2L19.3 19.3 \
     C17.9 18.3 17 16.7 17 14.8C17 11.8 19.3 9.5 22.5 9.5Z",
    "M19.6 23.2H25.4M12.6 37.2H32.4";
    "M11.6 41V38.8C11.6 37.2 12.4 36 13.8 35.2C13.8 31.4 15.6 28.8 18.8 26.6 \
     C20.2 25.6 21 24.5 21.2 23.2C19.6 24.3 17.8 24.8 15.8 24.8C14.8 26.5 13.6 27.9 12 28.6 \
     C10.4 29.2 8.9 28.4 8.2 26.8C7.5 25.1 7.9 23.3 9.1 21.7C10.7 19.5 12.1 17.5 12.8 15 \
     C13.2 13.3 14.2 11.9 15.7 10.9L15.9 5.4L20.2 9C28.6 9.4 34.6 16.8 34.6 27 \
     C34.6 30.2 34 33 32.8 35.2C34.2 36 35 37.2 35 38.8V41Z",
    "M16.2 15.4L17.4 15.3M10.6 24.9L10.9 24.6M22.6 12.4C27.8 14.6 30.8 20 30.6 27.4M24.6 19.4 \
     C26.2 21.8 26.8 24.6 26.6 28M14.8 35.2H31.8M13 37.6H33.6";
    "M22.5 4.2C24 4.2 25.2 5.4 25.2 6.9C25.2 7.9 24.7 8.7 23.9 9.2 \
     C28.6 12.6 31.4 17 31.4 21.4C31.4 24.4 30 26.8 27.6 28.2L29.8 29.8V31.8H27.6 \
     C28.2 33.2 29.8 34.4 32.2 35.2C33.8 35.8 34.8 36.8 34.8 38.4V41H10.2V38.4 \
     C10.2 36.8 11.2 35.8 12.8 35.2C15.2 34.4 16.8 33.2 17.4 31.8H15.2V29.8L17.4 28.2 \
     C15 26.8 13.6 24.4 13.6 21.4C13.6 17 16.4 12.6 21.1 9.2C20.3 8.7 19.8 7.9 19.8 6.9 \
     C19.8 5.4 21 4.2 22.5 4.2Z",
    "M27.4 13.2L22.8 19.6M18.2 28.2H26.8M18.2 31.8H26.8M11.6 37.4H33.4";
    "M11 8H16.4V11.6H19.8V8H25.2V11.6H28.6V8H34V15.4L30.6 18.8L31.6 32.4L35 36V41H10V36 \
     L13.4 32.4L14.4 18.8L11 15.4Z",
    "M12.2 15.4H32.8M15.4 18.8H29.6M14.4 32.4H30.6M11.4 36.6H33.6M22.5 23V27.6";
    "M22.5 3.8C23.9 3.8 25 4.9 25 6.3C25 7.2 24.5 8 23.8 8.4L27.2 16.6L33.4 9.8L33 18.4 \
     L39.4 14.6L32.2 29L33.6 31.6H31.4C31.6 33.4 32.6 34.6 34 35.6 \
     C35.2 36.4 35.8 37.2 35.8 38.6V41H9.2V38.6C9.2 37.2 9.8 36.4 11 35.6 \
     C12.4 34.6 13.4 33.4 13.6 31.6H11.4L12.8 29L5.6 14.6L12 18.4L11.6 9.8L17.8 16.6L21.2 8.4 \
     C20.5 8 20 7.2 20 6.3C20 4.9 21.1 3.8 22.5 3.8Z",
    "M13.6 29H31.4M14.4 31.6H30.6M11.4 24.6C18 22.2 27 22.2 33.6 24.6M10.8 37.2H34.2";
    "M20.9 2.6H24.1V5H26.8V8.2H24.1V10.8C28.8 11.1 32.4 12.2 35 14.2L31.4 29L33.4 31.6H31.2 \
     C31.4 33.4 32.4 34.6 33.8 35.6C35 36.4 35.6 37.2 35.6 38.6V41H9.4V38.6 \
     C9.4 37.2 10 36.4 11.2 35.6C12.6 34.6 13.6 33.4 13.8 31.6H11.6L13.6 29L10 14.2 \
     C12.6 12.2 16.2 11.1 20.9 10.8V8.2H18.2V5H20.9Z",
    "M10.8 15.4C17.6 12.8 27.4 12.8 34.2 15.4M14.4 29H30.6M14.6 31.6H30.4M17.2 18.6L18.2 25.8 \
     M22.5 17.8V26M27.8 18.6L26.8 25.8M11 37.2H34";
}

#[cfg(test)]
mod tests {
    use super::*;
    use shakmaty::Role;

    #[test]
    fn corners_follow_the_side_below() {
        assert_eq!(corner(Square::A1, false), (0, 315));
        assert_eq!(corner(Square::H8, false), (315, 0));
        assert_eq!(corner(Square::A1, true), (315, 0));
        assert_eq!(corner(Square::E4, true), (135, 135));
    }

    #[test]
    fn every_man_has_a_drawing_of_its_own() {
        let mut seen: Vec<&str> = vec![];
        for color in Color::ALL {
            for role in Role::ALL {
                let drawing = man(Piece { color, role });
                assert!(!seen.contains(&drawing), "{color:?} {role:?}");
                seen.push(drawing);
            }
        }
        // Spot check of the order: only the king's outline begins with the cross.
        assert!(man(Color::White.king()).contains("M20.9 2.6"));
        assert!(man(Color::Black.pawn()).contains("M22.5 9.5"));
    }

    #[test]
    fn a_diagram_holds_every_man_and_the_hatching_under_its_own_id() {
        let svg = diagram(&Board::new(), "one", false, &[]);
        assert_eq!(svg.matches("<g transform=").count(), 32);
        assert_eq!(svg.matches("h45v45h-45z").count(), 32);
        assert_eq!(svg.matches("one-dark").count(), 2);
        // a1 is dark and stands lower left.
        assert!(svg.contains("M0 315h45"));
    }

    #[test]
    fn coordinates_turn_with_the_board() {
        let first = |svg: &str| {
            svg.split("y=\"379\">")
                .nth(1)
                .and_then(|t| t.chars().next())
        };
        assert_eq!(first(&field("x", false)), Some('a'));
        assert!(field("x", false).contains("x=\"22.5\" y=\"379\">a"));
        assert!(field("x", true).contains("x=\"337.5\" y=\"379\">a"));
    }

    #[test]
    fn a_line_runs_between_the_middles() {
        let svg = marks(
            &[Mark::Line {
                from: Square::A1,
                to: Square::A8,
                kind: LineKind::Try,
            }],
            false,
        );
        assert!(svg.contains("kp-try"));
        // From a little above the middle of a1 to a little below that of a8.
        assert!(svg.contains("d=\"M22 325L22 29\""), "{svg}");
    }
}
