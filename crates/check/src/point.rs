//! Whether a line has made its point, so that it may stop there. Whether the
//! moves that lead there are right is left to the survey.

use shakmaty::{Chess, EnPassantMode, Move, Position, Role};

use super::{Evidence, Goal, Ruling};
use crate::exchange::{exchange_gain, worth};
use model::draft::NodeId;
use model::puzzle::Puzzle;
use model::tongue::tr;

/// What a line has reached.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Point {
    /// Whatever the other side plays now, it ends as was to be forced.
    Forced,
    /// Material by the margin, with nothing left to take or to promote.
    Material,
    /// An ending that a table knows.
    Table,
    /// A position that stood on the board before.
    Repetition,
    /// A best move needs nothing after it.
    Best,
}

impl Point {
    /// The point as the end of a sentence.
    pub fn words(self) -> &'static str {
        match self {
            Point::Forced | Point::Best => tr("nothing more is asked"),
            Point::Material => tr("there is nothing left to take or to promote"),
            Point::Table => tr("the table knows the rest"),
            Point::Repetition => tr("the position repeats"),
        }
    }
}

/// The point made by an accepted move of the tree; `goal` is what is asked of
/// the solver's next move.
pub fn made(puzzle: &Puzzle, node: NodeId, goal: Goal, ruling: Option<&Ruling>) -> Option<Point> {
    if goal.forced().is_none() && ruling.and_then(Ruling::evidence) == Some(Evidence::Table) {
        return Some(Point::Table);
    }
    if stands(goal, ruling) {
        return Some(Point::Forced);
    }
    if repeats(puzzle, node, goal) {
        return Some(Point::Repetition);
    }
    reached(puzzle.position(node), goal)
}

/// Whether a move has reached what was to be forced, as a gain that stands, so that
/// nothing more is asked after it.
pub fn stands(goal: Goal, ruling: Option<&Ruling>) -> bool {
    goal.stands(ruling.and_then(Ruling::length))
}

/// Whether the position at a node stood on the board before, where that is a
/// point.
pub fn repeats(puzzle: &Puzzle, node: NodeId, goal: Goal) -> bool {
    let here = puzzle.position(node);
    let mut at = node;
    while matches!(goal, Goal::Draw(_)) && at != NodeId::ROOT {
        at = puzzle.node(at).parent;
        if same(puzzle.position(at), here) {
            return true;
        }
    }
    false
}

/// How many plies of a line from `position`, the solver to move, it takes to
/// make the point: up to the solver's move that makes it, else all up to his
/// last.
pub fn plies(position: &Chess, line: &[Move], goal: Goal) -> usize {
    let all = line.len() - usize::from(line.len().is_multiple_of(2) && !line.is_empty());
    if goal.forced().is_some() {
        return line.len();
    }
    let mut at = position.clone();
    let mut seen = vec![at.clone()];
    for (i, &mv) in line[..all].iter().enumerate() {
        at.play_unchecked(mv);
        let drawn = matches!(goal, Goal::Draw(_)) && seen.iter().any(|p| same(p, &at));
        let few = at.board().occupied().count() <= 4;
        if i % 2 == 0 && (drawn || few || reached(&at, goal).is_some()) {
            return i + 1;
        }
        seen.push(at.clone());
    }
    all
}

/// Whether a line may stop at this position, the other side to move, by what
/// the board shows.
pub fn settled(position: &Chess, goal: Goal) -> bool {
    reached(position, goal).is_some()
}

/// The point that a position shows by itself, the other side to move.
fn reached(position: &Chess, goal: Goal) -> Option<Point> {
    match goal {
        Goal::Best(_) => Some(Point::Best),
        Goal::Win(margins) | Goal::Draw(margins) => {
            quietly_ahead(position, margins.right).then_some(Point::Material)
        }
        Goal::Forced(..) => {
            let replies = position.legal_moves();
            let ended = |&reply: &Move| {
                let mut after = position.clone();
                after.play_unchecked(reply);
                goal.ended(&after)
            };
            (!replies.is_empty() && replies.iter().all(ended)).then_some(Point::Forced)
        }
    }
}

/// Whether the side that just moved is ahead in material, with no capture,
/// check or promotion that would change it.
fn quietly_ahead(position: &Chess, ahead: i32) -> bool {
    let board = position.board();
    let count = |side| -> i32 {
        let men = board.by_color(side).into_iter();
        men.filter_map(|s| board.role_at(s))
            .filter(|role| *role != Role::King)
            .map(worth)
            .sum()
    };
    let lead = count(!position.turn()) - count(position.turn());
    let loud = |mv: Move| mv.is_promotion() || mv.is_capture() && exchange_gain(board, mv) > 0;
    lead >= ahead && !position.is_check() && !position.legal_moves().into_iter().any(loud)
}

/// The same men on the same squares, the same side to move, the same rights.
fn same(a: &Chess, b: &Chess) -> bool {
    a.board() == b.board()
        && a.turn() == b.turn()
        && a.castles().castling_rights() == b.castles().castling_rights()
        && a.ep_square(EnPassantMode::Legal) == b.ep_square(EnPassantMode::Legal)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::draft;
    use model::aim::Aim;
    use model::notation::{fen, moves};
    use model::puzzle::Margins;
    use model::resolved::Resolved;

    fn position(text: &str) -> Chess {
        fen::read(text).unwrap_or_else(|_| panic!("{text}"))
    }

    fn margins(right: i32) -> Margins {
        Margins { right, wrong: -500 }
    }

    fn is_settled(text: &str, right: i32) -> bool {
        settled(&position(text), Goal::Win(margins(right)))
    }

    #[test]
    fn material_counts_from_the_margin_on() {
        // A knight and three pawns against two.
        let ahead = "6k1/5p1p/8/8/8/8/3N1PPP/6K1 b - - 0 1";
        assert!(is_settled(ahead, 400));
        assert!(!is_settled(ahead, 401));
    }

    #[test]
    fn nothing_is_settled_while_there_is_something_to_take_to_promote_or_to_parry() {
        // The bishop takes the knight for nothing, or is taken for it.
        let hangs = "6k1/5p1p/8/8/1b6/8/3N1PPP/6K1 b - - 0 1";
        assert!(!is_settled(hangs, 100));
        assert!(is_settled(&hangs.replace("3N1PPP/6K1", "3NKPPP/8"), 100));
        let queens = "6k1/5ppp/8/8/8/8/p4NPP/6K1 b - - 0 1";
        assert!(!is_settled(queens, 100));
        let not_yet = queens.replace("8/p4NPP", "p7/5NPP");
        assert!(is_settled(&not_yet, 100));
        let check = "6k1/5p1p/5N2/8/8/8/5PPP/6K1 b - - 0 1";
        assert!(!is_settled(check, 100));
        assert!(is_settled(&check.replace("5N2/8", "8/5N2"), 100));
    }

    #[test]
    fn a_best_move_needs_nothing_after_it() {
        assert!(settled(&Chess::default(), Goal::Best(margins(-20))));
    }

    #[test]
    fn where_every_reply_ends_it_nothing_more_is_asked() {
        // White has made the king take the queen with mate.
        let mates = "8/8/8/8/8/8/3Q2PP/2rk3K b - - 0 1";
        let asked = Goal::Forced(Aim::Selfmate, 0);
        assert!(settled(&position(mates), asked));
        assert!(!settled(&position(&mates.replace("2rk3K", "3k3K")), asked));
        let stalemate = "k7/2Q5/8/8/8/8/8/7K b - - 0 1";
        assert!(!settled(&position(stalemate), asked));
        assert!(!settled(&position(mates), Goal::Forced(Aim::Helpmate, 1)));
    }

    /// Plies of a line up to its point, from a position, for a goal.
    fn counted(start: &str, line: &[&str], goal: Goal) -> usize {
        let start = position(start);
        let read = line.iter().map(|&mv| mv.to_owned());
        let line = moves::read_ucis(&start, &read.collect::<Vec<_>>());
        plies(&start, &line, goal)
    }

    #[test]
    fn a_line_is_cut_where_a_move_of_the_solvers_makes_the_point() {
        let fork = "6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1";
        let line = ["d5f6", "g8g7", "f6d7", "h7h6", "g2g3"];
        let (won, never) = (Goal::Win(margins(400)), Goal::Win(margins(2_000)));
        assert_eq!(counted(fork, &line, won), 3);
        assert_eq!(counted(fork, &line, never), 5);
        assert_eq!(
            counted(fork, &line[..4], never),
            3,
            "the last is the solver's"
        );
        assert_eq!(counted(fork, &line[..1], never), 1);
        assert_eq!(counted(fork, &[], never), 0);
        assert_eq!(counted(fork, &line[..2], Goal::Forced(Aim::Mate, 2)), 2);
    }

    #[test]
    fn a_line_is_cut_where_so_few_men_are_left_that_a_table_knows_them() {
        let never = Goal::Win(margins(2_000));
        let taken = "4k3/8/8/8/8/p7/8/R3K1n1 w - - 0 1";
        assert_eq!(counted(taken, &["a1a3", "e8e7", "a3a7"], never), 1);
        // The king takes the last but four, and the solver's next move stops there.
        let takes = "8/8/4k3/4P3/8/p7/8/R3K3 w - - 0 1";
        let line = ["a1a2", "e6e5", "a2a3", "e5e4", "a3a4"];
        assert_eq!(counted(takes, &line, never), 3);
    }

    const PERPETUAL: &str = "6k1/6p1/8/7Q/8/8/qr6/7K w - - 0 1";

    #[test]
    fn a_draw_is_cut_where_the_position_repeats() {
        let line = ["h5e8", "g8h7", "e8h5", "h7g8", "h5e8", "g8h7", "e8h5"];
        assert_eq!(counted(PERPETUAL, &line, Goal::Draw(margins(-50))), 5);
        assert_eq!(counted(PERPETUAL, &line, Goal::Win(margins(-50))), 7);
    }

    #[test]
    fn a_position_of_the_tree_repeats_where_it_stood_above() {
        let text = format!(
            "[FEN \"{PERPETUAL}\"]\n[Stipulation \"=\"]\n\n1. Qe8+ Kh7 2. Qh5+ Kg8 3. Qe8+ *"
        );
        let draft = draft(&text);
        let puzzle = Resolved::of(&draft).into_puzzle().expect("a puzzle");
        let told = |goal: Goal| -> Vec<bool> {
            let all = draft.walk().into_iter();
            all.map(|node| repeats(&puzzle, node, goal)).collect()
        };
        let draw = Goal::Draw(margins(-50));
        assert_eq!(told(draw), [false, false, false, true, true]);
        assert_eq!(told(Goal::Win(margins(-50))), [false; 5]);
        let last = *draft.walk().last().expect("a move");
        assert_eq!(made(&puzzle, last, draw, None), Some(Point::Repetition));
    }

    /// FIDE Laws, 9.2.3: the rights to castle and to take in passing count.
    #[test]
    fn the_same_men_on_the_same_squares_may_be_another_position() {
        let rights = "4k3/8/8/8/8/8/8/R3K3 w Q - 0 1";
        let alike = |a: &str, b: &str| same(&position(a), &position(b));
        assert!(alike(rights, &rights.replace("0 1", "4 3")));
        assert!(!alike(rights, &rights.replace("w Q", "w -")));
        assert!(!alike(rights, &rights.replace("w Q", "b Q")));
        assert!(!alike(
            rights,
            &rights.replace("R3K3", "1R2K3").replace('Q', "-")
        ));
        let passing = "4k3/8/8/8/3pP3/8/8/4K3 b - e3 0 1";
        assert!(!alike(passing, &passing.replace("e3", "-")));
        let nobody = "4k3/8/8/8/4P3/8/8/4K3 b - e3 0 1";
        assert!(alike(nobody, &nobody.replace("e3", "-")));
    }

    #[test]
    fn what_a_table_knows_of_a_search_is_its_point() {
        let text = "[FEN \"8/8/3k4/8/4K3/4P3/8/8 w - - 0 1\"]\n[Stipulation \"+\"]\n\n1. Kd4 *";
        let draft = draft(text);
        let puzzle = Resolved::of(&draft).into_puzzle().expect("a puzzle");
        let node = draft.walk()[0];
        let ruling = |evidence| Ruling::Holds {
            length: None,
            line: vec![puzzle.node(node).mv],
            evidence,
        };
        let goal = Goal::Win(margins(1_000));
        let point = |goal, evidence| made(&puzzle, node, goal, Some(&ruling(evidence)));
        assert_eq!(point(goal, Evidence::Table), Some(Point::Table));
        assert_eq!(point(goal, Evidence::Proved), None);
        assert_eq!(point(Goal::Forced(Aim::Mate, 2), Evidence::Table), None);
    }
}
