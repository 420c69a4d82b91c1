//! Marks drawn over a board: lines and rings.

pub use model::marks::{LineKind, Mark};
use play::published::Why;
use shakmaty::Square;

/// The marks of a reason: dotted for what is threatened, solid for what is
/// done.
pub fn marks(why: &Why) -> Vec<Mark> {
    let kind = if why.threat {
        LineKind::Threat
    } else {
        LineKind::Answer
    };
    let square = |name: &String| name.parse::<Square>().ok();
    let rings = why.squares.iter().filter_map(square);
    let rings = rings.map(|square| Mark::Ring { square, kind });
    let lines = why.arrows.iter().filter_map(|[from, to]| {
        let (from, to) = (square(from)?, square(to)?);
        Some(Mark::Line { from, to, kind })
    });
    rings.chain(lines).collect()
}
