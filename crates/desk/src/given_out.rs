//! A student's file that comes back to the desk: the games in it, with the marks that
//! publishing keeps apart from their words.

use keyproof::draft::{Draft, Edit, NodeId};
use keyproof::marks;
use keyproof::notation::pgn_read::{self, Game};
use keyproof::publish::{self, read_marks};
use keyproof::resolved::Resolved;
use shakmaty::Position;

/// The games of a student's file; `None` if the text is none.
pub fn games(text: &str) -> Option<Vec<Game>> {
    let lesson = publish::held(text, "keyproof-lesson")?;
    let answers = publish::held(text, "keyproof-answers").unwrap_or_default();
    let mut games = pgn_read::read(&lesson);
    for game in &mut games {
        mark(&mut game.draft, &answers);
    }
    Some(games)
}

/// Puts the marks back to the words of the moves after which they stand.
fn mark(draft: &mut Draft, answers: &str) {
    let resolved = Resolved::of(draft);
    for node in std::iter::once(NodeId::ROOT).chain(draft.walk()) {
        let (Some(position), Some(words)) = (resolved.position(node), draft.node(node)) else {
            continue;
        };
        let drawn = read_marks(answers, position.board());
        if drawn.is_empty() {
            continue;
        }
        let comments = marks::joined(words.after.clone(), &drawn);
        // The node is there, and a comment may be anything.
        let _ = draft.apply(&Edit::SetAfter { node, comments });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use keyproof::check::Known;
    use keyproof::notation::pgn_write;
    use keyproof::publish::{Item, student_page};

    const TEMPLATE: &str = "<main><!--keyproof:still--></main><pre id=\"keyproof-lesson\" hidden><!--keyproof:lesson--></pre><pre id=\"keyproof-answers\" hidden><!--keyproof:answers--></pre><!--keyproof:language--><!--keyproof:title-->";

    #[test]
    fn what_was_given_out_comes_back() {
        let pgn = "[Event \"Tom & <Jo>\"]\n[FEN \"6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n{Look.} {Board: ring g8.} 1. Ra8# {\"Mate\" & over.} {Board: arrow a8 to g8.} (1. Ra7 $2 {No.}) *\n";
        let draft = pgn_read::read(pgn).remove(0).draft;
        let resolved = Resolved::of(&draft);
        let known = Known::default();
        let item = Item {
            resolved: &resolved,
            known: &known,
            explanation: None,
        };
        let page = student_page(TEMPLATE, "x", "en", &[item]).unwrap();
        let lesson = publish::held(&page, "keyproof-lesson").unwrap();
        assert!(!lesson.contains("Board:"), "marks go apart: {lesson}");
        let back = games(&page).unwrap();
        assert_eq!(back.len(), 1);
        assert!(back[0].faults.is_empty());
        assert_eq!(pgn_write::write(&back[0].draft), pgn_write::write(&draft));
        assert!(games(pgn).is_none());
    }
}
