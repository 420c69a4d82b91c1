//! Diagrams at the sizes in which they are printed. The lines of their hatching are
//! [`APART`] points apart at every size: that is a whole number of dots at 72, 96, 144
//! and 600 dots an inch, so that the dark squares are even where there are few dots as
//! well. On a screen a board is as large as its window, and its hatching goes by its
//! squares: [`diagram::hatching`].

use std::fmt::Write as _;

use model::marks::Mark;
use play::diagram;
use shakmaty::Board;

/// How far apart the lines are along a rank, in points.
const APART: f32 = 3.0;
/// How thick they are, in points: they and the paper have a tone as on the screen.
const THICK: f32 = 0.4;
/// A diagram with its coordinates, in units of the drawing: see [`diagram::VIEW_BOX`].
pub const DRAWN: f32 = 390.0;

/// A size, by the lines of the hatching on two squares: a whole number, so that all dark
/// squares look alike.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Size(u8);

impl Size {
    pub const LARGE: Size = Size(19);
    pub const MIDDLE: Size = Size(17);
    pub const SMALL: Size = Size(11);

    /// How wide the diagram is, in points.
    pub fn side(self) -> f32 {
        APART * DRAWN / self.step()
    }

    /// How far apart the lines are, in units of the drawing.
    pub fn step(self) -> f32 {
        2.0 * diagram::SQUARE as f32 / f32::from(self.0)
    }

    /// How thick they are, in steps.
    pub fn thick(self) -> f32 {
        THICK / APART
    }

    /// The lines in steps: each leads from a point so far right and so far down to the one
    /// that is so far down and so far right.
    pub fn lines(self) -> impl Iterator<Item = (u16, u16)> {
        let side = 4 * u16::from(self.0);
        (1..2 * side).map(move |along| (along.saturating_sub(side), along.min(side)))
    }

    /// [`diagram::diagram`] with this hatching.
    pub fn diagram(self, board: &Board, id: &str, black_below: bool, marks: &[Mark]) -> String {
        let svg = diagram::diagram(board, id, black_below, marks);
        let hatching = svg.split_once("<path class=\"kp-hatch\"");
        let around = hatching.and_then(|(before, rest)| Some((before, rest.split_once("/>")?.1)));
        let Some((before, after)) = around else {
            return svg;
        };
        let mut anew = format!(
            "{before}<g clip-path=\"url(#{id}-dark)\"><path class=\"kp-hatch\" transform=\"scale({})\" \
             stroke=\"var(--ink,#1f1b16)\" stroke-width=\"{:.3}\" d=\"",
            self.step(),
            self.thick()
        );
        for (near, far) in self.lines() {
            let _ = write!(anew, "M{near} {far}L{far} {near}");
        }
        anew.push_str("\"/></g>");
        anew.push_str(after);
        anew
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ALL: [Size; 3] = [Size::LARGE, Size::MIDDLE, Size::SMALL];

    /// CSS has 72 points and 96 pixels an inch (CSS Values 4, 6.2).
    #[test]
    fn lines_are_whole_dots_apart() {
        for size in ALL {
            let apart = size.step() * size.side() / DRAWN;
            for dots in [72.0, 96.0, 144.0, 600.0] {
                let dots = apart * dots / 72.0;
                assert!((dots - dots.round()).abs() < 1e-3, "{size:?}: {dots}");
            }
        }
    }

    #[test]
    fn a_diagram_keeps_all_but_its_hatching() {
        let board = Board::new();
        for size in ALL {
            let plain = diagram::diagram(&board, "d1", false, &[]);
            let hatched = size.diagram(&board, "d1", false, &[]);
            let [of_plain, of_hatched] = [&plain, &hatched].map(|svg| svg.matches('L').count());
            let lines = of_hatched + diagram::hatching().count() - of_plain;
            assert_eq!(lines, size.lines().count());
            assert_eq!(hatched.matches("kp-hatch").count(), 1);
            let men = |svg: &str| svg[svg.find("font-size").expect("coordinates")..].to_owned();
            assert_eq!(men(&hatched), men(&plain));
        }
    }

    /// The same part of every dark square is dark: two squares on, there is a line again.
    #[test]
    fn dark_squares_look_alike() {
        for size in ALL {
            let squares = 2.0 * diagram::SQUARE as f32 / size.step();
            assert!((squares - squares.round()).abs() < 1e-4, "{size:?}");
            let side = 8.0 * diagram::SQUARE as f32 / size.step();
            let last = size.lines().map(|(_, far)| far).max();
            assert_eq!(last.map(f32::from), Some(side.round()));
        }
    }
}
