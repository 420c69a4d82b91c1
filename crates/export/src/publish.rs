//! The student's file: one page, self-contained, with the puzzles as readable
//! text, what was proved about them, and why.

use model::resolved::Resolved;
use play::published::{WORDS, Why};
use shakmaty::Move;

use crate::html::{escape, has_place, text, unescape};
use crate::still::still;
use explain::Explanation;
use model::aim::Aim;
use model::draft::{Edit, NodeId};
use model::marks;
use model::mention;
use model::notation::moves;
use model::pgn_write;
use model::puzzle::{Puzzle, Role};
use model::tongue::{phrase, say, spoken, thousands, tr};
use play::goal::Goal;
use play::known::{Known, Ruling};

pub use play::published::{Published, read_answers, read_marks};

/// The tag with the author's own labels, which no student's file carries.
pub const LABELS: &str = "Labels";

/// One puzzle to publish with what is known of it.
pub struct Item<'a> {
    /// The puzzle as it was typed and tried.
    pub resolved: &'a Resolved,
    /// What was proved and searched of it.
    pub known: &'a Known,
    /// Why the key works and every other first move fails.
    pub explanation: Option<&'a Explanation>,
}

/// The text that the student's page holds in the element of this id; `None` where it has
/// none.
pub fn held(page: &str, id: &str) -> Option<String> {
    let head = format!("<pre id=\"{id}\" hidden>");
    let (_, rest) = page.split_once(&head)?;
    let (text, _) = rest.split_once("</pre>")?;
    Some(unescape(text))
}

/// Fills the student's page. `template` is the built page of the widget
/// crate, which holds the marks `<!--keyproof:language-->`,
/// `<!--keyproof:title-->`, `<!--keyproof:still-->`, `<!--keyproof:lesson-->`
/// and `<!--keyproof:answers-->` once each. What stands between `<!--keyproof:say-->` and `<!---->` is said in the language that is
/// spoken, which the page's program speaks too. All text is escaped: nothing an
/// author typed becomes markup.
///
/// # Errors
/// Names the mark that the template lacks.
pub fn student_page(
    template: &str,
    title: &str,
    language: &str,
    items: &[Item],
) -> Result<String, String> {
    let games: Vec<&Resolved> = items.iter().map(|item| item.resolved).collect();
    page_of_games(template, title, language, &games, items)
}

/// [`student_page`] for games of which some are lessons. `items` are the
/// puzzles in them, in order: what [`model::lesson::excerpts`] cuts out.
///
/// # Errors
/// Names the mark that the template lacks.
pub fn page_of_games(
    template: &str,
    title: &str,
    language: &str,
    games: &[&Resolved],
    items: &[Item],
) -> Result<String, String> {
    let lesson = lesson_text(games);
    let fills = [
        ("language", escape(language)),
        ("title", escape(title)),
        ("still", still_of(items)),
        ("lesson", text(&lesson)),
        ("answers", text(&answers_text(games, items))),
    ];
    let template = said(template);
    let mut page = String::with_capacity(template.len() + lesson.len());
    let mut rest = template.as_str();
    let mut left: Vec<_> = fills
        .iter()
        .map(|(name, text)| (format!("<!--keyproof:{name}-->"), text))
        .collect();
    while !left.is_empty() {
        let found = left
            .iter()
            .enumerate()
            .filter_map(|(i, (mark, _))| Some((rest.find(mark)?, i)))
            .min();
        let Some((at, i)) = found else {
            return Err(format!("The page template lacks the mark {}.", left[0].0));
        };
        let (mark, text) = left.remove(i);
        page.push_str(&rest[..at]);
        page.push_str(text);
        rest = &rest[at + mark.len()..];
    }
    page.push_str(rest);
    Ok(page)
}

/// The page with its own sentences in the language that is spoken.
fn said(template: &str) -> String {
    let mut parts = template.split("<!--keyproof:say-->");
    let mut page = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let (sentence, rest) = part.split_once("<!---->").unwrap_or((part, ""));
        let told = PAGE.iter().find(|told| **told == sentence);
        page.push_str(&told.map_or(sentence.into(), |told| escape(tr(told))));
        page.push_str(rest);
    }
    page
}

/// The sentences of the student's page itself.
const PAGE: [&str; 5] = [
    phrase(
        "The puzzles and their words belong to their author. The program that judges your moves is Keyproof, free software under the",
    ),
    phrase("version 3 or any later (GPL-3.0-or-later), without any warranty;"),
    phrase("whoever gave you this file owes you its source."),
    phrase("its source is at"),
    phrase(
        "Your moves cannot be judged here: the program needs scripts and WebAssembly, which this browser lacks or the page around forbids. Open the file by itself in a newer browser: Chrome or Edge 91, Firefox 89, Safari 15, or any later.",
    ),
];

/// The element that shows games in any page which has loaded the element's
/// script: games and items as for [`page_of_games`].
pub fn element(games: &[&Resolved], items: &[Item]) -> String {
    format!(
        "<keyproof-lesson>\n{}<pre hidden>{}</pre>\n<pre hidden>{}</pre>\n</keyproof-lesson>\n",
        still_of(items),
        text(&lesson_text(games)),
        text(&answers_text(games, items))
    )
}

/// The games as text as students get them: without what is the author's alone, without
/// the marks on the board, which the answers carry, and with the moves that the words
/// mention filled in, and with blanks for what no page can hold: control characters, and
/// returns, which a browser reads as line ends. Its [`play::account::key`] is what accounts of the
/// lesson carry, so it must be what the page reads, to the letter.
pub fn lesson_text(games: &[&Resolved]) -> String {
    let write = |resolved: &&Resolved| {
        let mut game = marks::without(&mention::filled(resolved));
        let edit = Edit::SetTag {
            name: LABELS.into(),
            value: None,
        };
        game.apply(&edit).expect("setting a tag needs no node");
        pgn_write::write_resolved(&resolved.in_words_of(game))
    };
    let text: String = games.iter().map(write).collect();
    // A blank each, so that nothing comes to stand at the beginning of a line.
    let held = |c| if has_place(c) && c != '\r' { c } else { ' ' };
    text.chars().map(held).collect()
}

fn still_of(items: &[Item]) -> String {
    let filled = items.iter().map(|item| {
        let words = mention::filled(item.resolved);
        item.resolved.in_words_of(words)
    });
    still(filled)
}

/// What the file knows of its games: their marks first, then what was proved;
/// and what its page says in another language.
fn answers_text(games: &[&Resolved], items: &[Item]) -> String {
    let answers = (marks::published(games) + &write_answers(items)).replace(WORDS, " ");
    match spoken().carried() {
        "" => answers,
        words => format!("{answers}{WORDS}{words}"),
    }
}

/// Says in a student's page that its mates are checked: that certificates of
/// all of them were accepted by a checker that set up so many `positions`.
pub fn checked(page: &str, positions: usize) -> String {
    let positions = thousands(positions as u64);
    before(
        page,
        "</footer>",
        &format!(
            "<p>{}</p>\n",
            escape(&say!(
                "Checked: a program that shares nothing with the one that found these solutions went through their proofs, {positions} positions in all, and accepted every step.",
                positions = positions,
            ))
        ),
    )
}

/// As [`checked`], with the certificates in the page. Another program finds
/// them in the element `keyproof-certificates`.
pub fn with_certificates(page: &str, certificates: &str, positions: usize) -> String {
    let carried = format!(
        "<script type=\"text/plain\" id=\"keyproof-certificates\">\n{}</script>\n",
        text(certificates)
    );
    let page = before(&checked(page, positions), "</body>", &carried);
    before(
        &page,
        "</footer>",
        &format!(
            "<p>{}</p>\n",
            escape(&say!(
                "This file carries the proofs; {command} goes through them once more.",
                command = "keyproof verify",
            ))
        ),
    )
}

/// Text before the last such tag. What authors typed is escaped, so that one is
/// the page's own.
fn before(page: &str, tag: &str, text: &str) -> String {
    let at = page.rfind(tag).unwrap_or(page.len());
    [&page[..at], text, &page[at..]].concat()
}

/// What was proved or searched about the tree's own positions, and why, as
/// compact text for the published file. A line `puzzle I` opens the answers of
/// the I-th puzzle; then one line per position: the path to it (UCI, `-` at the
/// start), and each judged move with what shows it: `e2e4=3` mates in 3 (half moves in
/// a helpmate),
/// `e2e4=` meets another goal, `e2e4!d7d5` is refuted by d7d5 and the moves
/// after it (nothing after `!` when no reply is needed), `e2e4!d7d5;lq` the
/// same with the code of its failure. After the first position, mates in two or
/// fewer are left out: judging them takes no time. Last come `line`, the main
/// line, and the sentences about it: `why` or `threat`, the number of the solver's move, squares and arrows (`-`
/// for none), the reason's name and the text.
pub fn write_answers(items: &[Item]) -> String {
    let mut text = String::new();
    for (i, item) in items.iter().enumerate() {
        let Ok(puzzle) = item.resolved.puzzle() else {
            continue;
        };
        text.push_str(&format!("puzzle {i}\n"));
        for (node, goal) in turns(puzzle) {
            let position = puzzle.position(node);
            let judged = item.known.rulings(position, goal);
            // What is left out is proved by the page itself, when it is asked.
            if judged.is_empty() || !item.known.is_believed(position, goal) {
                continue;
            }
            text.push_str(&path(puzzle, node));
            let explained = item.explanation.filter(|_| node == NodeId::ROOT);
            for (mv, ruling) in judged {
                write_ruling(&mut text, *mv, ruling, goal, explained);
            }
            text.push('\n');
        }
        if let Some(explanation) = item.explanation.filter(|e| !e.whys.is_empty()) {
            text.push_str(&format!("line {}\n", explanation.line.join(",")));
            for why in &explanation.whys {
                write_why(&mut text, why);
            }
        }
    }
    text
}

fn write_ruling(
    text: &mut String,
    mv: Move,
    ruling: &Ruling,
    goal: Goal,
    explained: Option<&Explanation>,
) {
    let mv = moves::uci(mv);
    match ruling {
        Ruling::Holds {
            length: Some(n), ..
        } => text.push_str(&format!(" {mv}={n}")),
        Ruling::Holds { length: None, .. } => text.push_str(&format!(" {mv}=")),
        Ruling::Fails { line, .. } => {
            let failed = explained.and_then(|e| e.failures.iter().find(|f| f.line[0] == mv));
            if let Some(failed) = failed {
                let rest = failed.line[1..].join(",");
                text.push_str(&format!(" {mv}!{rest};{}", failed.code));
                return;
            }
            let shown = match goal.forced() {
                Some(_) => 2,
                None => SHOWN_PLIES,
            };
            let rest = line.iter().take(shown).skip(1);
            let rest: Vec<String> = rest.map(|&m| moves::uci(m)).collect();
            text.push_str(&format!(" {mv}!{}", rest.join(",")));
        }
        Ruling::Open { .. } => {}
    }
}

fn write_why(text: &mut String, why: &Why) {
    let or_none = |list: String| if list.is_empty() { "-".into() } else { list };
    let arrows: Vec<String> = why.arrows.iter().map(|ends| ends.concat()).collect();
    text.push_str(&format!(
        "{} {} {} {} {}: {}\n",
        if why.threat { "threat" } else { "why" },
        why.at,
        or_none(why.squares.join(",")),
        or_none(arrows.join(",")),
        why.title,
        why.sentence.replace('\n', " ")
    ));
}

/// Plies of a searched refutation that are published.
const SHOWN_PLIES: usize = 6;

fn path(puzzle: &Puzzle, node: NodeId) -> String {
    let path: Vec<String> = puzzle.path(node).into_iter().map(moves::uci).collect();
    if path.is_empty() {
        "-".to_owned()
    } else {
        path.join(",")
    }
}

/// Positions of the accepted tree with the solver to move whose answers are
/// published.
fn turns(puzzle: &Puzzle) -> Vec<(NodeId, Goal)> {
    let mut turns = Vec::new();
    let mut todo = vec![(NodeId::ROOT, Goal::of(puzzle))];
    while let Some((node, goal)) = todo.pop() {
        // What is asked first is answered with its reasons.
        let explained = node == NodeId::ROOT && !goal.shared();
        let quick = matches!(goal, Goal::Forced(aim, _) if !matches!(aim, Aim::Gain(_)))
            && goal.pairs_left().is_some_and(|n| n <= 2);
        if !explained && quick {
            continue;
        }
        turns.push((node, goal));
        for accepted in puzzle.accepted(node) {
            let Some(next) = goal.next() else { continue };
            if goal.shared() {
                todo.push((accepted, next));
            } else {
                let defences = puzzle.with_role(accepted, Role::Defence);
                todo.extend(defences.map(|defence| (defence, next)));
            }
        }
    }
    turns
}

#[cfg(test)]
mod tests {
    use super::*;
    use check::{Judge, check};
    use explain::{Analyst, Inquiry};
    use model::aim::Gain;
    use model::notation::moves::read_uci;
    use model::pgn_read;
    use prove::Unwatched;
    use shakmaty::Position;

    const TEMPLATE: &str = "<html lang=\"<!--keyproof:language-->\"><title><!--keyproof:title--></title><main><!--keyproof:still--></main><pre><!--keyproof:lesson--></pre><pre><!--keyproof:answers--></pre>";
    const PUZZLE: &str = "[FEN \"8/8/8/8/8/2K5/1R6/k7 w - - 0 1\"]\n[Stipulation \"#3\"]\n\n1. Rb8 {</pre><script>alert(1)</script> <!--keyproof:answers-->} Ka2 2. Rb7 *";

    #[test]
    fn what_authors_type_never_becomes_markup() {
        let draft = pgn_read::read(PUZZLE).remove(0).draft;
        let known = Known::default();
        let page = student_page(
            TEMPLATE,
            "<b>",
            "en",
            &[Item {
                resolved: &Resolved::of(&draft),
                known: &known,
                explanation: None,
            }],
        )
        .unwrap();
        assert!(page.contains("<title>&lt;b&gt;</title>"));
        assert!(!page.contains("<script>"));
        assert!(page.contains("&lt;!--keyproof:answers--&gt;"));
    }

    /// The desk knows the lesson of an account by this text, the page by what it reads.
    #[test]
    fn a_lessons_text_is_what_its_page_holds() {
        let mut draft = pgn_read::read(PUZZLE).remove(0).draft;
        for (name, value) in [("Event", "A\u{1}b\u{9b}c\rd"), ("Hint1", "\u{ffff}")] {
            let (name, value) = (name.into(), Some(value.into()));
            draft.apply(&Edit::SetTag { name, value }).unwrap();
        }
        let comments = vec!["One.\n\n\u{2}[Event \"two\"]".into()];
        let node = NodeId::ROOT;
        draft.apply(&Edit::SetAfter { node, comments }).unwrap();
        let resolved = Resolved::of(&draft);
        let template = TEMPLATE.replacen("<pre>", "<pre id=\"lesson\" hidden>", 1);
        let page = page_of_games(&template, "", "en", &[&resolved], &[]).unwrap();
        let text = lesson_text(&[&resolved]);
        assert_eq!(held(&page, "lesson").as_ref(), Some(&text));
        assert_eq!(text.find(|c: char| c.is_control() && c != '\n'), None);
        assert_eq!(pgn_read::read(&text).len(), 1, "{text}");
    }

    #[test]
    fn certificates_stand_in_an_element_of_their_own() {
        let page = "<pre>&lt;/footer&gt;</pre><footer></footer></body>";
        let page = with_certificates(page, "a#\n", 12);
        assert!(page.contains(" id=\"keyproof-certificates\">\na#\n</script>\n</body>"));
        let (before, sentence) = page.split_once("<footer><p>").unwrap();
        assert_eq!(before, "<pre>&lt;/footer&gt;</pre>");
        assert!(sentence.contains("12 positions") && sentence.contains("carries the proofs"));
    }

    #[test]
    fn that_mates_are_checked_is_said_without_the_proofs_as_well() {
        let page = checked("<footer><p>Imprint.</p></footer></body>", 1204);
        assert!(
            page.starts_with("<footer><p>Imprint.</p><p>Checked: "),
            "{page}"
        );
        assert!(page.contains("1,204 positions") && !page.contains("certificates"));
    }

    #[test]
    fn the_element_holds_readable_text_and_its_answers() {
        let draft = pgn_read::read(PUZZLE).remove(0).draft;
        let resolved = Resolved::of(&draft);
        let item = Item {
            resolved: &resolved,
            known: &Known::default(),
            explanation: None,
        };
        let element = element(&[&resolved], &[item]);
        assert!(element.contains("<pre hidden>[Event") && element.contains("<table>"));
        assert!(element.contains("&lt;script&gt;"));
        assert!(element.contains("<pre hidden>puzzle 0\n") && !element.contains("<script"));
    }

    #[test]
    fn a_template_without_a_mark_is_refused_by_name() {
        let error = student_page("<!--keyproof:title-->", "", "en", &[]).unwrap_err();
        assert!(error.contains("keyproof:language"));
    }

    #[test]
    fn answers_come_back_as_they_were_proved() {
        come_back(PUZZLE, Goal::Forced(Aim::Mate, 3));
        come_back(
            "[FEN \"4k3/8/8/8/6R1/1K6/1P6/3Q4 w - - 0 1\"]\n[Stipulation \"==3\"]\n\n1. Rg7 *",
            Goal::Forced(Aim::Stalemate, 3),
        );
        come_back(
            "[FEN \"8/k7/8/8/3K4/8/7Q/8 b - - 0 1\"]\n[Stipulation \"h#3\"]\n\n1... Kb6 *",
            Goal::Forced(Aim::Helpmate, 6),
        );
        come_back(
            "[FEN \"6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1\"]\n[Stipulation \"gain 9 in 3\"]\n\n1. Nf6+ *",
            Goal::Forced(Aim::Gain(Gain { k: 9, from: -5 }), 3),
        );
    }

    #[test]
    fn reasons_come_back_as_they_were_found() {
        let draft = pgn_read::read(
            "[FEN \"6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1\"]\n[Stipulation \"+\"]\n\n1. Nf6+ *",
        )
        .remove(0)
        .draft;
        let puzzle = Resolved::of(&draft).into_puzzle().unwrap();
        let mut known = Known::default();
        check(&draft, &mut known, &mut Judge::new(1 << 20), &mut Unwatched);
        let inquiry = Inquiry::of(&puzzle, &known).unwrap();
        let explanation = Analyst::new(1 << 20).explain(&inquiry, &mut Unwatched);
        let text = write_answers(&[Item {
            resolved: &Resolved::of(&draft),
            known: &known,
            explanation: Some(&explanation),
        }]);
        let back = read_answers(&text, std::slice::from_ref(&puzzle)).remove(0);
        assert_eq!(back.whys, explanation.whys);
        let line: Vec<String> = back.line.iter().map(|&mv| moves::uci(mv)).collect();
        assert_eq!(line, explanation.line);
        assert_eq!(back.failures.len(), explanation.failures.len());
        for failed in &explanation.failures {
            let line: Vec<Move> = failed
                .line
                .iter()
                .scan(puzzle.start().clone(), |at, text| {
                    let mv = read_uci(at, text)?;
                    at.play_unchecked(mv);
                    Some(mv)
                })
                .collect();
            let kind = back
                .failures
                .iter()
                .find(|(mv, _)| *mv == line[0])
                .expect("a code")
                .1;
            assert_eq!(kind.encode(), failed.code);
            let ruling = back
                .known
                .ruling(puzzle.start(), Goal::of(&puzzle), line[0]);
            assert_eq!(ruling.expect("a ruling").line(), line);
            assert_eq!(
                kind.sentence(puzzle.start(), &line, Goal::of(&puzzle), 1),
                failed.sentence
            );
        }
    }

    fn come_back(text: &str, goal: Goal) {
        let draft = pgn_read::read(text).remove(0).draft;
        let puzzle = Resolved::of(&draft).into_puzzle().unwrap();
        let mut known = Known::default();
        check(&draft, &mut known, &mut Judge::new(1 << 20), &mut Unwatched);
        let text = write_answers(&[Item {
            resolved: &Resolved::of(&draft),
            known: &known,
            explanation: None,
        }]);
        let back = read_answers(&text, std::slice::from_ref(&puzzle))
            .remove(0)
            .known;
        let judged = known.rulings(puzzle.start(), goal);
        assert_eq!(judged.len(), puzzle.start().legal_moves().len());
        for (mv, ruling) in judged {
            match (ruling, back.ruling(puzzle.start(), goal, *mv)) {
                (Ruling::Holds { length, .. }, Some(Ruling::Holds { length: read, .. })) => {
                    assert_eq!(length, read)
                }
                (Ruling::Fails { line, .. }, Some(Ruling::Fails { line: read, .. })) => {
                    assert_eq!(&line[..line.len().min(2)], read);
                }
                other => panic!("{other:?}"),
            }
        }
    }
}
