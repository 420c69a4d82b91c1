//! What a published file shows where its program cannot run: each puzzle as a
//! diagram set in type, its task, and a solution to unfold. Small, for every
//! file carries it.

use model::resolved::Resolved;
use std::fmt::Write as _;

use shakmaty::{File, Position, Rank, Square};

use crate::handout;
use crate::html::{escape, text};
use model::puzzle::Puzzle;
use model::tongue::{spoken, tr};

/// A diagram stands on light paper of its own, so that White's men stay light.
const STYLE: &str = "<style>.kp-still{max-width:34em;margin:auto}\
.kp-still table{border:3px double;border-spacing:0;background:#fff;color:#1f1b16;font:1.9em/1 serif;print-color-adjust:exact}\
.kp-still *+td{width:1.25em;height:1.25em;padding:0;text-align:center;text-shadow:0 0 2px #fff,0 0 2px #fff}\
.kp-still :is(tr:nth-child(odd) td:nth-child(odd):not(:first-child),tr:nth-child(2n) td:nth-child(2n))\
{background:repeating-linear-gradient(135deg,#fff 0 4px,#8d8679 4px 5px)}\
.kp-still th{padding:.3em;font:.5em/1 serif}\
@media print{.kp-still{font-size:.8em}.kp-still :is(h2,p){margin:.3em 0}.kp-still table{font-size:1.4em}.kp-still details{display:none}}</style>\n";

/// The puzzles as HTML, one section each, with their style. Drafts that are no
/// puzzle are left out.
pub fn still(drafts: impl Iterator<Item = Resolved>) -> String {
    let mut html = String::from(STYLE);
    for draft in drafts {
        let Ok(puzzle) = draft.into_puzzle() else {
            continue;
        };
        let title = puzzle.tag("Event").filter(|event| *event != "?");
        let language = spoken().tag();
        let _ = write!(html, "<section class=\"kp-still\" lang=\"{language}\">");
        let own = match puzzle.tag("Language") {
            Some(own) if own != language => format!(" lang=\"{}\"", escape(own)),
            _ => String::new(),
        };
        if let Some(title) = title {
            let _ = write!(html, "<h2 dir=\"auto\"{own}>{}</h2>", text(title));
        }
        diagram(&mut html, &puzzle);
        let options = handout::options(&puzzle);
        let _ = write!(
            html,
            "<p class=\"kp-task\">{}{options}</p>",
            text(&puzzle.task())
        );
        for words in puzzle.words() {
            let _ = write!(html, "<p dir=\"auto\"{own}>{}</p>", text(words));
        }
        let _ = write!(html, "<details><summary>{}</summary>", tr("Solution"));
        handout::answers(&mut html, &puzzle);
        html.push_str("</details></section>\n");
    }
    html
}

/// The position as a table of figurines, as the solver sees it.
fn diagram(html: &mut String, puzzle: &Puzzle) {
    let board = puzzle.start().board();
    let order = |i: u32| if puzzle.black_below() { i } else { 7 - i };
    html.push_str("<table>");
    for row in 0..8 {
        let rank = Rank::new(order(row));
        let _ = write!(html, "<tr><th>{}", rank.char());
        for column in 0..8 {
            let square = Square::from_coords(File::new(order(7 - column)), rank);
            html.push_str("<td>");
            if let Some(piece) = board.piece_at(square) {
                let men = piece.color.fold_wb(WHITE, BLACK);
                html.push_str(men[piece.role as usize - 1]);
            }
        }
    }
    html.push_str("<tr><td>");
    for column in 0..8 {
        let _ = write!(html, "<th>{}", File::new(order(7 - column)).char());
    }
    html.push_str("</table>");
}

/// Pawn to king. The black pawn asks to be set as text, since some would draw
/// a coloured picture for it.
const WHITE: [&str; 6] = ["♙", "♘", "♗", "♖", "♕", "♔"];
const BLACK: [&str; 6] = ["♟\u{fe0e}", "♞", "♝", "♜", "♛", "♚"];

#[cfg(test)]
mod tests {
    use super::*;
    use model::pgn_read;

    fn of(text: &str) -> String {
        let games = pgn_read::read(text);
        still(games.iter().map(|game| Resolved::of(&game.draft)))
    }

    #[test]
    fn a_puzzle_is_a_diagram_with_its_task_and_a_solution_to_unfold() {
        let html = of(
            "[Event \"A <door>\"]\n[FEN \"6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n{Look.} 1. Ra8# {So & no other.} (1. Ra7 $2 h6) *\n\n[Event \"A game\"]\n\n1. e4 *\n",
        );
        assert_eq!(html.matches("<section").count(), 1);
        assert!(html.contains("<h2 dir=\"auto\">A &lt;door&gt;</h2>"));
        assert!(html.contains("<tr><th>8<td><td><td><td><td><td><td>♚<td><tr>"));
        assert!(html.contains("<tr><th>1<td>♖<td><td><td><td><td><td>♔<td><tr><td><th>a<th>b"));
        assert!(
            html.contains("White to move and mate in one.")
                && html.contains("<p dir=\"auto\">Look.</p>")
        );
        let (_, solution) = html.split_once("<details>").unwrap();
        assert!(solution.contains("<b>1.Ra8#</b> <span dir=\"auto\">So &amp; no other.</span>"));
    }

    #[test]
    fn the_solver_has_his_side_below() {
        let html = of(
            "[FEN \"r2r2k1/8/8/8/8/8/5PPP/6K1 b - - 0 1\"]\n[Stipulation \"#1\"]\n\n1... Ra1# *",
        );
        assert!(html.contains("<table><tr><th>1<td><td>♔<td>"));
        assert!(html.contains("<tr><td><th>h<th>g"));
    }
}
