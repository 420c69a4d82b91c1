//! What the speaker draws over the board: strokes of the pencil in three tones, a
//! spotlight on squares of a dimmed board, and a pointer.

use keyproof::marks::{LineKind, Mark};
use shakmaty::Square;

/// What the hand on the board does.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Tool {
    /// Plays moves.
    #[default]
    Move,
    Pencil,
    Spotlight,
    Pointer,
}

/// How dark a stroke is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Tone {
    #[default]
    Accent,
    Ink,
    Faint,
}

/// A mark of the pencil.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stroke {
    pub mark: Mark,
    pub tone: Tone,
}

/// All that is drawn, and with what.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Drawing {
    pub tool: Tool,
    pub kind: LineKind,
    pub tone: Tone,
    pub strokes: Vec<Stroke>,
    /// Squares in the light; the others are dim, if there are any.
    pub lit: Vec<Square>,
    /// Where the pointer is, in squares from the board's upper left corner.
    pub pointer: Option<(f32, f32)>,
}

impl Drawing {
    /// Takes a mark of the hand: a stroke, or light for the squares it goes over. The
    /// same again takes it away.
    pub fn mark(&mut self, mark: Mark) {
        if self.tool == Tool::Spotlight {
            return self.light(&squares(mark));
        }
        let stroke = Stroke {
            mark,
            tone: self.tone,
        };
        let was = self
            .strokes
            .iter()
            .position(|other| other.mark.covers(mark));
        match was.map(|place| self.strokes.remove(place)) {
            Some(same) if same == stroke => {}
            _ => self.strokes.push(stroke),
        }
    }
    fn light(&mut self, squares: &[Square]) {
        let lit = squares.iter().all(|square| self.lit.contains(square));
        self.lit.retain(|square| !squares.contains(square));
        if !lit {
            self.lit.extend(squares);
        }
    }
    /// Wipes the board.
    pub fn wipe(&mut self) {
        self.strokes.clear();
        self.lit.clear();
        self.pointer = None;
    }
}

/// The squares of a mark: those of a line on a rank, file or diagonal, else its ends.
fn squares(mark: Mark) -> Vec<Square> {
    match mark {
        Mark::Ring { square, .. } => vec![square],
        Mark::Line { from, to, .. } => {
            let mut all: Vec<Square> = shakmaty::attacks::between(from, to).into_iter().collect();
            all.extend([from, to]);
            all
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(from: Square, to: Square) -> Mark {
        Mark::Line {
            from,
            to,
            kind: LineKind::Answer,
        }
    }

    #[test]
    fn the_same_stroke_again_goes_and_another_tone_takes_its_place() {
        let mut drawing = Drawing::default();
        drawing.mark(line(Square::A1, Square::A8));
        drawing.tone = Tone::Ink;
        drawing.mark(line(Square::A1, Square::A8));
        assert_eq!(drawing.strokes.len(), 1);
        assert_eq!(drawing.strokes[0].tone, Tone::Ink);
        drawing.mark(line(Square::A1, Square::A8));
        assert!(drawing.strokes.is_empty());
    }

    #[test]
    fn a_line_of_light_is_all_its_squares() {
        let mut drawing = Drawing {
            tool: Tool::Spotlight,
            ..Drawing::default()
        };
        drawing.mark(line(Square::A1, Square::D4));
        assert_eq!(drawing.lit.len(), 4);
        drawing.mark(Mark::Ring {
            square: Square::B2,
            kind: LineKind::Answer,
        });
        assert_eq!(drawing.lit.len(), 3);
        drawing.mark(line(Square::B1, Square::C3));
        assert_eq!(drawing.lit.len(), 4, "c3 was lit already");
        drawing.wipe();
        assert!(drawing.lit.is_empty());
    }
}
