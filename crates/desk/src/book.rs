//! The solution tree as a chess book prints it: rows of moves, each branch on
//! its own row, indented under the move it branches from. How it looks is left
//! to the views.

use keyproof::resolved::Resolved;
use std::collections::{HashMap, HashSet};
use std::rc::Rc;

use keyproof::draft::{Draft, MoveFault, NodeId, Resolution};
use keyproof::mention::Mentions;
use keyproof::notation::moves;
use keyproof::puzzle::Role;
use keyproof::tongue::{phrase, tr};
use shakmaty::{Chess, Color, Position};

use crate::glyphs;
use crate::work::{drawn, joined, words};

/// One move as printed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Printed {
    pub node: NodeId,
    /// `1.` or `1...`; empty where a book leaves it out.
    pub number: String,
    /// SAN where the move is legal, else as typed.
    pub text: String,
    /// `!`, `?`, `!!` and so on; other glyphs as `$n`.
    pub glyphs: String,
    /// `None` where the move cannot be played.
    pub role: Option<Role>,
    /// The first of its siblings.
    pub first: bool,
    /// Only tries stand before it among its siblings.
    pub foremost: bool,
    /// Words before and after the move.
    pub before: String,
    pub words: String,
    /// Marks on the board after it.
    pub marks: usize,
    /// Why the move cannot be played.
    pub fault: Option<MoveFault>,
}

/// A row: moves up to the next branch.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BookRow {
    /// Branches above.
    pub depth: usize,
    pub moves: Vec<Printed>,
    /// The row it branches from, or that of the line which goes on in it.
    above: Option<usize>,
    /// Whether a line goes on in it behind side lines.
    pub goes_on: bool,
    /// Moves after its first, in it and in the rows that belong to it.
    pub after: usize,
    /// The row after the last that belongs to it.
    end: usize,
}

impl BookRow {
    /// The move that a fold leaves.
    pub fn head(&self) -> &Printed {
        &self.moves[0]
    }
}

/// Trees of more moves have their side lines folded at first.
const LONG: usize = 300;

/// Trees of no more moves are seen at a glance.
const FEW: usize = 20;

/// The whole tree in rows.
#[derive(Clone, Debug, Default)]
pub struct Book {
    rows: Vec<Rc<BookRow>>,
    /// The row of each node.
    row_of: Vec<Option<usize>>,
    moves: usize,
}

/// A row as it is shown.
#[derive(Clone, Debug)]
pub struct Shown<'a> {
    pub row: &'a Rc<BookRow>,
    /// Its place among all rows.
    pub place: usize,
    /// Only the first of its moves is shown.
    pub folded: bool,
}

impl Book {
    /// Prints the tree, with the roles of its moves. In a `game` the main line
    /// goes on below the side lines, as far to the left as before; in a puzzle
    /// all replies to a move stand one below the other.
    pub fn new(resolved: &Resolved, game: bool, role: &dyn Fn(NodeId) -> Option<Role>) -> Book {
        let (draft, resolution) = (resolved.draft(), resolved.resolution());
        let mut book = Book {
            row_of: vec![None; resolution.steps.len()],
            ..Book::default()
        };
        let faults = resolution.faults.iter().map(|(node, fault)| (*node, fault));
        let page = Page {
            draft,
            resolution,
            role,
            faults: faults.collect(),
            mentions: Mentions::new(resolved),
        };
        let mut rows: Vec<BookRow> = Vec::new();
        let from_root = page.children(NodeId::ROOT);
        let first = match game {
            true => &from_root[..from_root.len().min(1)],
            false => from_root,
        };
        let mut starts: Vec<Start> = Vec::new();
        starts.extend(first.iter().rev().map(|&node| Start::side(node, 0, None)));
        while let Some(start) = starts.pop() {
            let place = rows.len();
            let (moves, nodes) = page.row(&start, place, game, &mut starts);
            for node in nodes {
                if let Some(row) = book.row_of.get_mut(node.0 as usize) {
                    *row = Some(place);
                }
            }
            book.moves += moves.len();
            rows.push(BookRow {
                depth: start.depth,
                after: moves.len() - 1,
                moves,
                above: start.above,
                goes_on: start.goes_on,
                end: place + 1,
            });
        }
        for place in (0..rows.len()).rev() {
            if let Some(above) = rows[place].above {
                let (moves, end) = (rows[place].after + 1, rows[place].end);
                rows[above].after += moves;
                rows[above].end = rows[above].end.max(end);
            }
        }
        book.rows = rows.into_iter().map(Rc::new).collect();
        book
    }
    /// Prints the words of some moves anew; nothing else changed.
    pub fn reword(&mut self, resolved: &Resolved, nodes: &[NodeId]) {
        let (draft, mentions) = (resolved.draft(), Mentions::new(resolved));
        for &id in nodes {
            let (Some(node), Some(place)) = (draft.node(id), self.row(id)) else {
                continue;
            };
            let row = Rc::make_mut(&mut self.rows[place]);
            let Some(at) = row.moves.iter().position(|m| m.node == id) else {
                continue;
            };
            row.moves[at].before = mentions.fill(&joined(&node.before), id);
            row.moves[at].words = mentions.fill(&words(node), id);
            row.moves[at].marks = drawn(node).len();
            let fresh = !row.moves[at].words.is_empty();
            if let Some(next) = row.moves.get_mut(at + 1) {
                next.number = number(resolved.position(id), fresh);
            }
        }
    }
    /// How many moves the tree has.
    pub fn moves(&self) -> usize {
        self.moves
    }
    /// The place of a move's row.
    pub fn row(&self, node: NodeId) -> Option<usize> {
        *self.row_of.get(node.0 as usize)?
    }
    /// A move as printed.
    pub fn printed(&self, node: NodeId) -> Option<&Printed> {
        let row = &self.rows[self.row(node)?];
        row.moves.iter().find(|m| m.node == node)
    }
    /// The first move of the line that a move stands in.
    pub fn head(&self, node: NodeId) -> Option<&Printed> {
        let row = &self.rows[self.row(node)?];
        let first = row.above.filter(|_| row.goes_on);
        Some(first.map_or(row, |first| &self.rows[first]).head())
    }
    /// Whether a row is folded unless the author said otherwise: side lines of
    /// long trees are.
    pub fn folds(&self, head: &Printed) -> bool {
        self.moves > LONG && !head.first
    }
    /// Whether there is enough of it for folding to help.
    pub fn can_fold(&self) -> bool {
        self.moves > FEW && self.rows.len() > 1
    }
    /// The rows to show, in order. `folded` tells of a first move whether what
    /// follows it is folded; the way to `at` is open all the same.
    pub fn shown(&self, at: NodeId, folded: &dyn Fn(&Printed) -> bool) -> Vec<Shown<'_>> {
        let here = self.row(at);
        let way = std::iter::successors(here, |&row| self.rows[row].above);
        let way: HashSet<usize> = way.collect();
        let mut shown = Vec::new();
        let mut place = 0;
        while let Some(row) = self.rows.get(place) {
            // At its first move one stands before the fold.
            let passes = way.contains(&place) && row.head().node != at;
            let folds = row.after > 0 && !row.goes_on && !passes && folded(row.head());
            shown.push(Shown {
                row,
                place,
                folded: folds,
            });
            place = if folds { row.end } else { place + 1 };
        }
        shown
    }
    /// Whether a move stands below the first move of a row.
    pub fn is_below(&self, node: NodeId, head: NodeId) -> bool {
        let (Some(own), Some(row)) = (self.row(node), self.row(head)) else {
            return false;
        };
        node != head && (row..self.rows[row].end).contains(&own)
    }
    /// Whether a move is hidden by the fold of a row.
    pub fn hides(&self, shown: &Shown, node: NodeId) -> bool {
        shown.folded && self.is_below(node, shown.row.head().node)
    }
}

/// A role in the trade's words, to be looked up. `first`: the first of its siblings; `shared`:
/// in a helpmate, where nobody answers.
pub fn role_word(role: Role, first: bool, shared: bool) -> &'static str {
    match role {
        Role::Key | Role::Continuation if shared && first => phrase("solution"),
        Role::Key | Role::Continuation if shared => phrase("another solution"),
        Role::Key if first => phrase("key"),
        Role::Continuation if first => phrase("answer"),
        Role::Key | Role::Continuation => phrase("also accepted"),
        Role::Try => phrase("try"),
        Role::Defence => phrase("defence"),
        Role::Refutation => phrase("refutation"),
        Role::Unclear => phrase("accepted or a try?"),
        Role::Aside => phrase("aside"),
    }
}

/// What a role means, in a sentence. `first` and `shared` as for [`role_word`].
pub fn role_meaning(role: Role, first: bool, shared: bool) -> Option<&'static str> {
    Some(match role {
        Role::Key | Role::Continuation if shared => return None,
        Role::Key if first => tr("The key: the first move, which does what is asked."),
        Role::Try => tr("A try: a tempting move that fails. Its refutation follows it."),
        Role::Defence => {
            tr("A defence: a reply of the other side. The solver\u{2019}s answer follows it.")
        }
        Role::Refutation => tr("The refutation: the reply that makes the move before it fail."),
        _ => return None,
    })
}

/// Glyphs as a book prints them.
pub fn printed_glyphs(nags: &[u8]) -> String {
    let mut text = String::new();
    for &nag in nags {
        match glyphs::sign(nag) {
            Some(sign) => {
                if nag > 9 {
                    text.push(' ');
                }
                text.push_str(sign);
            }
            None => {
                text.push_str(" $");
                text.push_str(&nag.to_string());
            }
        }
    }
    text
}

/// What a move's role may be set to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Claim {
    /// The move is right.
    Accepted,
    /// The move is wrong (a try); of a reply to a try, that it is to be
    /// answered.
    Fails,
    /// No glyph: the first of its siblings is right, a reply refutes.
    Plain,
}

/// The glyphs of a move with another claim; glyphs that claim nothing stay.
pub fn claim(nags: &[u8], claim: Claim) -> Vec<u8> {
    let fits = |nag: &u8| match claim {
        Claim::Accepted => matches!(nag, 1 | 3 | 7 | 8),
        Claim::Fails => matches!(nag, 2 | 4 | 6),
        Claim::Plain => false,
    };
    let claims = |nag: &u8| matches!(nag, 1 | 2 | 3 | 4 | 6 | 7 | 8);
    let mut kept: Vec<u8> = nags
        .iter()
        .copied()
        .filter(|n| !claims(n) || fits(n))
        .collect();
    if claim != Claim::Plain && !kept.iter().any(fits) {
        kept.insert(0, if claim == Claim::Accepted { 1 } else { 2 });
    }
    kept
}

/// A row to be printed.
struct Start {
    node: NodeId,
    depth: usize,
    above: Option<usize>,
    goes_on: bool,
}

impl Start {
    /// Of a line beside another.
    fn side(node: NodeId, depth: usize, above: Option<usize>) -> Start {
        Start {
            node,
            depth,
            above,
            goes_on: false,
        }
    }
}

/// The number before a move; `fresh`: a book gives Black's as well.
fn number(before: Option<&Chess>, fresh: bool) -> String {
    match before {
        Some(p) if p.turn() == Color::White => format!("{}.", p.fullmoves()),
        Some(p) if fresh => format!("{}...", p.fullmoves()),
        _ => String::new(),
    }
}

/// What moves are printed from.
struct Page<'a> {
    draft: &'a Draft,
    resolution: &'a Resolution,
    role: &'a dyn Fn(NodeId) -> Option<Role>,
    faults: HashMap<NodeId, &'a MoveFault>,
    mentions: Mentions<'a>,
}

impl Page<'_> {
    fn children(&self, node: NodeId) -> &[NodeId] {
        let node = self.draft.node(node);
        node.map_or(&[][..], |n| n.children.as_slice())
    }
    /// Prints a row, which ends where lines part, and puts down which rows go on
    /// from there.
    fn row(
        &self,
        start: &Start,
        place: usize,
        game: bool,
        starts: &mut Vec<Start>,
    ) -> (Vec<Printed>, Vec<NodeId>) {
        let (depth, mut node) = (start.depth, start.node);
        let (mut moves, mut nodes): (Vec<Printed>, Vec<NodeId>) = Default::default();
        loop {
            let fresh = moves.last().is_none_or(|m| !m.words.is_empty());
            moves.push(self.print(node, fresh));
            nodes.push(node);
            let parent = self.draft.node(node).map_or(NodeId::ROOT, |n| n.parent);
            let beside = match self.children(parent) {
                [main, beside @ ..] if game && *main == node => beside,
                _ => &[],
            };
            let next = self.children(node);
            let sides = match next {
                _ if !beside.is_empty() => beside,
                &[only] => {
                    node = only;
                    continue;
                }
                &[main, ..] if game => {
                    node = main;
                    continue;
                }
                next => next,
            };
            if !beside.is_empty() {
                starts.extend(next.first().map(|&node| Start {
                    node,
                    depth,
                    above: match start.goes_on {
                        true => start.above,
                        false => Some(place),
                    },
                    goes_on: true,
                }));
            }
            let sides = sides.iter().rev();
            starts.extend(sides.map(|&node| Start::side(node, depth + 1, Some(place))));
            return (moves, nodes);
        }
    }
    fn print(&self, id: NodeId, fresh: bool) -> Printed {
        let Page {
            draft, resolution, ..
        } = self;
        let node = draft.node(id).expect("a node of the walk");
        let step = resolution.steps.get(id.0 as usize).and_then(Option::as_ref);
        let before = resolution.position(node.parent);
        let text = match (before, step) {
            (Some(position), Some(step)) => moves::shown(position, step.mv),
            _ => node.text.clone(),
        };
        let siblings = draft
            .node(node.parent)
            .map_or(&[][..], |p| p.children.as_slice());
        let mut earlier = siblings.iter().take_while(|&&other| other != id);
        Printed {
            node: id,
            number: number(before, fresh),
            text,
            glyphs: printed_glyphs(&node.nags),
            role: step.and_then(|_| (self.role)(id)),
            first: siblings.first() == Some(&id),
            foremost: earlier.all(|&other| (self.role)(other) == Some(Role::Try)),
            before: self.mentions.fill(&joined(&node.before), id),
            words: self.mentions.fill(&words(node), id),
            marks: drawn(node).len(),
            fault: self.faults.get(&id).map(|&fault| fault.clone()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use keyproof::notation::pgn_read;

    fn printed(pgn: &str) -> Vec<(usize, String)> {
        printed_as(false, pgn)
    }
    fn printed_as(game: bool, pgn: &str) -> Vec<(usize, String)> {
        let draft = pgn_read::read(pgn).remove(0).draft;
        let book = Book::new(&Resolved::of(&draft), game, &|_| None);
        let shown = book.shown(NodeId::ROOT, &|_| false);
        shown
            .into_iter()
            .map(|Shown { row, .. }| {
                let moves: Vec<String> = row
                    .moves
                    .iter()
                    .map(|m| format!("{}{}{}", m.number, m.text, m.glyphs))
                    .collect();
                (row.depth, moves.join(" "))
            })
            .collect()
    }

    #[test]
    fn a_line_is_one_row() {
        assert_eq!(
            printed("1. e4 e5 2. Nf3 *"),
            [(0, "1.e4 e5 2.Nf3".to_owned())]
        );
    }

    #[test]
    fn branches_are_rows_under_their_move() {
        assert_eq!(
            printed("1. e4 e5 (1... c5 2. Nf3) (1... e6) 2. f4 (2. d4 $2 exd4) *"),
            [
                (0, "1.e4".to_owned()),
                (1, "1...e5".to_owned()),
                (2, "2.f4".to_owned()),
                (2, "2.d4? exd4".to_owned()),
                (1, "1...c5 2.Nf3".to_owned()),
                (1, "1...e6".to_owned()),
            ]
        );
    }

    #[test]
    fn a_game_goes_on_below_its_side_lines() {
        assert_eq!(
            printed_as(
                true,
                "1. e4 (1. d4 d5 2. c4) e5 (1... c5 2. Nf3 d6 (2... e6) 3. d4) 2. f4 exf4 *"
            ),
            [
                (0, "1.e4".to_owned()),
                (1, "1.d4 d5 2.c4".to_owned()),
                (0, "1...e5".to_owned()),
                (1, "1...c5 2.Nf3 d6".to_owned()),
                (2, "2...e6".to_owned()),
                (1, "3.d4".to_owned()),
                (0, "2.f4 exf4".to_owned()),
            ]
        );
    }

    #[test]
    fn what_cannot_be_played_is_printed_as_typed() {
        assert_eq!(
            printed("1. e4 e5 2. Ke3 Nc6 *"),
            [(0, "1.e4 e5 2.Ke3 Nc6".to_owned())]
        );
    }

    #[test]
    fn claims_replace_each_other_and_nothing_else() {
        assert_eq!(claim(&[], Claim::Accepted), [1]);
        assert_eq!(claim(&[3], Claim::Accepted), [3]);
        assert_eq!(claim(&[1, 14], Claim::Fails), [2, 14]);
        assert_eq!(claim(&[6, 22], Claim::Plain), [22]);
    }
}
