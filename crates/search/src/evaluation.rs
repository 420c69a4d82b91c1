//! What gives positions their static values: the network that was learnt, or
//! the reference, made by hand.

use super::evaluate::evaluate;
use super::node::Node;

/// Gives positions their static values, without looking ahead.
///
/// A tree says where it goes, so that values can be worked out from what a
/// move changes.
pub(super) trait Evaluation {
    /// A tree begins at `root`, ply 0.
    fn start(&mut self, root: &Node);

    /// A move led from the position at hand one ply up to `next`.
    fn enter(&mut self, ply: usize, next: &Node);

    /// Centipawns for the side to move at `node`, the position last entered at
    /// this ply.
    fn value(&mut self, ply: usize, node: &Node) -> i32;
}

/// The evaluation made by hand, which works out each position anew.
pub(super) struct Reference;

impl Evaluation for Reference {
    fn start(&mut self, _root: &Node) {}

    fn enter(&mut self, _ply: usize, _next: &Node) {}

    fn value(&mut self, _ply: usize, node: &Node) -> i32 {
        evaluate(node)
    }
}
