//! Diagrams as files: the drawing of [`play::diagram`] as an SVG document that
//! needs nothing around it. Its colours are written out, since programs other
//! than browsers know no custom properties. Making an image of points of it is
//! left to others.

use std::fmt::Write as _;

use shakmaty::Board;

use model::marks::Mark;
use play::diagram;

/// What a picture shows.
#[derive(Clone, Copy, Debug)]
pub struct Picture<'a> {
    /// The men, and where they stand.
    pub board: &'a Board,
    /// Whether Black's first rank is at the bottom.
    pub black_below: bool,
    /// Whether files and ranks are named at the edge.
    pub coordinates: bool,
    /// Drawn over the men.
    pub marks: &'a [Mark],
    /// For those who cannot see it, as plain text.
    pub title: &'a str,
}

/// The side of a picture in drawing units.
const SIDE: [u16; 2] = [376, 390];

impl Picture<'_> {
    /// The SVG document, square.
    pub fn svg(&self) -> String {
        let side = SIDE[usize::from(self.coordinates)];
        let view_box = match self.coordinates {
            true => diagram::VIEW_BOX.to_owned(),
            false => format!("-8 -8 {side} {side}"),
        };
        let mut svg = String::with_capacity(24_000);
        let _ = write!(
            svg,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{side}\" height=\"{side}\" viewBox=\"{view_box}\">\
             <title>{}</title>",
            crate::html::escape(self.title)
        );
        if !self.marks.is_empty() {
            let _ = write!(svg, "<style>{}</style>", diagram::MARKS_STYLE);
        }
        let paper = view_box.splitn(3, ' ').collect::<Vec<_>>();
        let _ = write!(
            svg,
            "<path fill=\"#fff\" d=\"M{} {}h{side}v{side}h-{side}z\"/>",
            paper[0], paper[1]
        );
        let field = diagram::field("board", self.black_below);
        svg.push_str(match self.coordinates {
            true => &field,
            false => without_coordinates(&field),
        });
        diagram::men(&mut svg, self.board, self.black_below);
        svg.push_str(&diagram::marks(self.marks, self.black_below));
        svg.push_str("</svg>\n");
        written_out(&svg)
    }
}

/// The field up to the letters at its edge, which come last.
fn without_coordinates(field: &str) -> &str {
    &field[..field.rfind("<g ").unwrap_or(field.len())]
}

/// The colours that `var(--name,colour)` falls back to, in its place.
fn written_out(svg: &str) -> String {
    let mut out = String::with_capacity(svg.len());
    let mut parts = svg.split("var(");
    out.push_str(parts.next().unwrap_or(""));
    for part in parts {
        match part.split_once(')') {
            Some((named, rest)) => {
                out.push_str(named.split_once(',').map_or("", |(_, colour)| colour));
                out.push_str(rest);
            }
            None => out.push_str(part),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn picture<'a>(board: &'a Board, marks: &'a [Mark]) -> Picture<'a> {
        Picture {
            board,
            black_below: false,
            coordinates: true,
            marks,
            title: "Pell & Tarn <1>",
        }
    }

    #[test]
    fn the_document_is_well_formed_and_needs_nothing_around_it() {
        let board = Board::new();
        let marks = ["e2e4-", "f7"].map(|mark| Mark::read_short(mark).expect("a mark"));
        for coordinates in [true, false] {
            for black_below in [true, false] {
                let svg = Picture {
                    coordinates,
                    black_below,
                    ..picture(&board, &marks)
                }
                .svg();
                let read =
                    roxmltree::Document::parse(&svg).unwrap_or_else(|e| panic!("{e}\n{svg}"));
                let root = read.root_element();
                assert_eq!(root.tag_name().name(), "svg");
                assert_eq!(root.attribute("width"), root.attribute("height"));
                let texts = root
                    .descendants()
                    .filter(|n| n.has_tag_name(("http://www.w3.org/2000/svg", "text")));
                assert_eq!(texts.count(), if coordinates { 16 } else { 0 });
                let title = root.descendants().find(|n| n.tag_name().name() == "title");
                assert_eq!(title.and_then(|t| t.text()), Some("Pell & Tarn <1>"));
                let is_mark = |n: &roxmltree::Node| {
                    n.attribute("class")
                        .is_some_and(|class| class != "kp-hatch")
                };
                let (marked, others): (Vec<_>, Vec<_>) = root.children().partition(is_mark);
                let men = others.iter().filter(|n| n.has_attribute("transform"));
                assert_eq!((men.count(), marked.len()), (32, marks.len()));
                assert!(!svg.contains("var(") && svg.contains("stroke-dasharray:8 6"));
            }
        }
    }

    #[test]
    fn colours_are_written_out() {
        assert_eq!(
            written_out("a=\"var(--ink,#111)\" b=\"var(--paper,#fff)\""),
            "a=\"#111\" b=\"#fff\""
        );
        assert!(!picture(&Board::empty(), &[]).svg().contains("<style>"));
    }
}
