//! Writing PGN in the standard's export format, lines under 80 columns.
//!
//! What the format cannot hold is put into what it can, so that no word is
//! lost: a `}` inside a comment becomes `｝` (U+FF5D), and a typed move that no
//! reader could take for a move becomes a comment.

use std::borrow::Cow;
use std::num::NonZeroU32;

use shakmaty::{Chess, Color, Position};

use crate::comment::{is_blank, words};
use crate::draft::{Draft, NodeId, RESULTS, Resolution};
use crate::notation::{fen, moves};
use crate::resolved::Resolved;

/// Writes one game, ending in an empty line. Legal moves are written in SAN;
/// a move that is not legal is written as typed, so nothing is lost.
pub fn write(draft: &Draft) -> String {
    written(draft, &draft.resolve())
}

/// [`write()`] of a draft that has been tried on the board.
pub fn write_resolved(resolved: &Resolved) -> String {
    written(resolved.draft(), resolved.resolution())
}

fn written(draft: &Draft, resolution: &Resolution) -> String {
    let mut out = String::new();
    for (name, value) in all_tags(draft) {
        out.push_str(&format!("[{name} \"{}\"]\n", escaped(&value)));
    }
    out.push('\n');
    let mut lines = Lines::new(out);
    write_moves(draft, resolution, &mut lines);
    lines.token(result(draft));
    lines.out.push_str("\n\n");
    lines.out
}

/// The result as exported.
pub(crate) fn result(draft: &Draft) -> &str {
    let known = RESULTS.contains(&draft.result.as_str());
    if known { &draft.result } else { "*" }
}

/// The tags as exported, roster tags with unknown values left out, in the
/// order of the export format.
pub(crate) fn tags(draft: &Draft) -> Vec<(String, Cow<'_, str>)> {
    let mut tags = all_tags(draft);
    tags.retain(|(name, value)| {
        let unknown = ROSTER.iter().find(|(n, _)| n == name).map(|(_, v)| *v);
        name != "Result" && Some(value.as_ref()) != unknown
            || name == "Result" && !RESULTS.contains(&value.as_ref())
    });
    tags
}

/// The comments written before a move: only where a variation starts.
pub(crate) fn words_before(draft: &Draft, id: NodeId) -> Vec<String> {
    let Some(node) = draft.node(id).filter(|_| !follows_directly(draft, id)) else {
        return Vec::new();
    };
    shown(&node.before)
}

/// The comments written after a move: its commands in front, and at the end those
/// before its continuation.
pub(crate) fn words_after(draft: &Draft, id: NodeId) -> Vec<String> {
    let Some(node) = draft.node(id) else {
        return Vec::new();
    };
    let next = node.children.first().and_then(|&c| draft.node(c));
    let before_next = next.map_or(&[][..], |n| &n.before);
    let mut comments = shown(&node.after);
    comments.extend(shown(before_next));
    if node.commands.is_empty() {
        return comments;
    }
    let commands = node.commands.join(" ");
    match comments.first_mut() {
        Some(first) => first.insert_str(0, &(commands + " ")),
        None => comments.push(commands),
    }
    comments
}

/// Comments as exported, empty ones left out.
fn shown(comments: &[String]) -> Vec<String> {
    let words = comments.iter().map(|comment| words(comment));
    words.filter(|words| !words.is_empty()).collect()
}

/// The seven tag roster with its unknown values (PGN standard 8.1.1).
const ROSTER: [(&str, &str); 7] = [
    ("Event", "?"),
    ("Site", "?"),
    ("Date", "????.??.??"),
    ("Round", "?"),
    ("White", "?"),
    ("Black", "?"),
    ("Result", "*"),
];

fn all_tags(draft: &Draft) -> Vec<(String, Cow<'_, str>)> {
    let mut tags: Vec<(String, Cow<str>)> = Vec::new();
    for (name, value) in draft.tags() {
        let name = tag_name(name);
        let value = match name.as_str() {
            "SetUp" if draft.start_fen().is_some() => continue,
            "FEN" => export_fen(value),
            "Result" if RESULTS.contains(&value.as_str()) => Cow::Borrowed(result(draft)),
            _ => Cow::Borrowed(value.as_str()),
        };
        tags.push((name, value));
    }
    if draft.start_fen().is_some() {
        tags.push(("SetUp".into(), "1".into()));
    }
    for (name, unknown) in ROSTER {
        if tags.iter().all(|(n, _)| n != name) {
            let value = if name == "Result" {
                result(draft)
            } else {
                unknown
            };
            tags.push((name.into(), value.into()));
        }
    }
    let rank = |name: &str| {
        ROSTER
            .iter()
            .position(|(n, _)| *n == name)
            .unwrap_or(ROSTER.len())
    };
    tags.sort_by(|(a, _), (b, _)| rank(a).cmp(&rank(b)).then_with(|| a.cmp(b)));
    tags
}

/// A full FEN stays as typed, a shortened one is completed.
fn export_fen(text: &str) -> Cow<'_, str> {
    if text.split_whitespace().count() < 6
        && let Ok(position) = fen::read(text)
    {
        return Cow::Owned(fen::write(&position));
    }
    Cow::Borrowed(text)
}

/// Names are letters, digits and underscores (PGN standard 8.1.1); anything
/// else becomes an underscore.
fn tag_name(name: &str) -> String {
    let mut name: String = name
        .chars()
        .map(|c| {
            if c.is_alphanumeric() || c == '_' {
                c
            } else {
                '_'
            }
        })
        .collect();
    if name.is_empty() {
        name.push('_');
    }
    name
}

/// A tag value for its quotes; a value cannot hold line ends.
fn escaped(value: &str) -> String {
    let mut out = String::with_capacity(value.len());
    for c in value.chars() {
        match c {
            '"' | '\\' => out.extend(['\\', c]),
            '\n' | '\r' => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

enum Task {
    Move { id: NodeId, ply: u32 },
    Line { parent: NodeId, ply: u32 },
    Open,
    Close,
}

fn write_moves(draft: &Draft, resolution: &Resolution, lines: &mut Lines) {
    let (number, turn) = match &resolution.start {
        Ok(start) => (start.fullmoves(), start.turn()),
        Err(_) => (NonZeroU32::MIN, Color::White),
    };
    let first = u64::from(number.get()) * 2 + u64::from(turn.is_black());
    let comments = |lines: &mut Lines, comments: &[String]| {
        comments.iter().for_each(|comment| lines.comment(comment));
        !comments.is_empty()
    };
    let mut numbered = true;
    comments(lines, &words_after(draft, NodeId::ROOT));
    let mut tasks = vec![Task::Line {
        parent: NodeId::ROOT,
        ply: 0,
    }];
    while let Some(task) = tasks.pop() {
        match task {
            Task::Line { parent, ply } => {
                let children = draft.node(parent).map_or(&[][..], |n| &n.children);
                let Some((&main, others)) = children.split_first() else {
                    continue;
                };
                let next = ply + 1;
                tasks.push(Task::Line {
                    parent: main,
                    ply: next,
                });
                for &id in others.iter().rev() {
                    tasks.push(Task::Close);
                    tasks.push(Task::Line {
                        parent: id,
                        ply: next,
                    });
                    tasks.push(Task::Move { id, ply });
                    tasks.push(Task::Open);
                }
                tasks.push(Task::Move { id: main, ply });
            }
            Task::Open => {
                lines.open();
                numbered = true;
            }
            Task::Close => {
                lines.close();
                numbered = true;
            }
            Task::Move { id, ply } => {
                let Some(node) = draft.node(id) else { continue };
                comments(lines, &words_before(draft, id));
                let half_moves = first + u64::from(ply);
                let text = typed_or_san(resolution, node.parent, id, &node.text);
                match text {
                    Some(text) => {
                        if half_moves.is_multiple_of(2) {
                            lines.token(&format!("{}.", half_moves / 2));
                        } else if numbered {
                            lines.token(&format!("{}...", half_moves / 2));
                        }
                        lines.token(&text);
                        for nag in &node.nags {
                            lines.token(&format!("${nag}"));
                        }
                        numbered = false;
                    }
                    None => {
                        let nags = node.nags.iter().map(|nag| format!(" ${nag}"));
                        let text = node.text.clone() + &nags.collect::<String>();
                        numbered |= comments(lines, &shown(&[text]));
                    }
                }
                numbered |= comments(lines, &words_after(draft, id));
            }
        }
    }
}

/// SAN of a legal move, the typed text of another; `None` if no reader could
/// take that for a move.
fn typed_or_san(
    resolution: &Resolution,
    parent: NodeId,
    id: NodeId,
    typed: &str,
) -> Option<String> {
    let step = resolution.steps.get(id.0 as usize)?.as_ref();
    let before: Option<&Chess> = resolution.position(parent);
    if let (Some(step), Some(before)) = (step, before) {
        return Some(moves::san(before, step.mv));
    }
    // Without dashes castling that is not legal would be read as a move's number.
    let typed = match typed {
        "00" => "0-0",
        "000" => "0-0-0",
        typed => typed,
    };
    let (start, end) = typed.split_at(typed.find('(').unwrap_or(typed.len()));
    let end = moves::without_check(end);
    let plain = |c: char| !c.is_whitespace() && !"{}()[];$".contains(c);
    // The one use of parentheses that is read back: `e8(Q)`.
    let whole =
        start.chars().all(plain) && (end.is_empty() || end.len() == 3 && end.ends_with(')'));
    (whole && moves::has_form_of_move(typed)).then(|| typed.to_owned())
}

/// Fills lines of at most 79 characters.
struct Lines {
    out: String,
    column: usize,
    /// Put in front of the next word without a blank: `(` or `{`.
    prefix: String,
}

const WIDTH: usize = 79;

impl Lines {
    fn new(out: String) -> Lines {
        Lines {
            out,
            column: 0,
            prefix: String::new(),
        }
    }

    fn token(&mut self, word: &str) {
        let word = std::mem::take(&mut self.prefix) + word;
        let width = word.chars().count();
        if self.column > 0 {
            if self.column + 1 + width <= WIDTH {
                self.out.push(' ');
                self.column += 1;
            } else {
                self.end_line();
            }
        }
        // In the first column `%` would hide the line and `[` look like a tag.
        if self.column == 0 && word.starts_with(['%', '[']) {
            self.out.push(' ');
            self.column += 1;
        }
        self.out.push_str(&word);
        self.column += width;
    }

    fn comment(&mut self, text: &str) {
        self.prefix.push('{');
        let mut paragraphs = text.split("\n\n").peekable();
        while let Some(paragraph) = paragraphs.next() {
            let mut words = paragraph.split(is_blank).peekable();
            while let Some(word) = words.next() {
                if words.peek().is_none() && paragraphs.peek().is_none() {
                    self.token(&format!("{word}}}"));
                } else {
                    self.token(word);
                }
            }
            if paragraphs.peek().is_some() {
                self.end_line();
                self.end_line();
            }
        }
    }

    fn open(&mut self) {
        self.prefix.push('(');
    }

    fn close(&mut self) {
        if self.prefix.is_empty() && self.column < WIDTH {
            self.out.push(')');
            self.column += 1;
        } else {
            self.token(")");
        }
    }

    fn end_line(&mut self) {
        self.out.push('\n');
        self.column = 0;
    }
}

fn follows_directly(draft: &Draft, id: NodeId) -> bool {
    let parent = draft.node(id).and_then(|n| draft.node(n.parent));
    parent.is_some_and(|p| p.children.first() == Some(&id))
}

/// Equal when tags, moves, glyphs, comments and order are, in the form in
/// which they are exported: ids and places do not count, nor does the order of
/// tags, a tag of the roster that says "unknown", or how the words of a comment
/// are broken into lines.
impl PartialEq for Draft {
    fn eq(&self, other: &Draft) -> bool {
        if result(self) != result(other) || tags(self) != tags(other) {
            return false;
        }
        let mut pairs = vec![(NodeId::ROOT, NodeId::ROOT)];
        while let Some((a, b)) = pairs.pop() {
            let (Some(left), Some(right)) = (self.node(a), other.node(b)) else {
                return false;
            };
            let same = left.text == right.text
                && left.nags == right.nags
                && left.children.len() == right.children.len()
                && words_before(self, a) == words_before(other, b)
                && words_after(self, a) == words_after(other, b);
            if !same {
                return false;
            }
            pairs.extend(
                left.children
                    .iter()
                    .copied()
                    .zip(right.children.iter().copied()),
            );
        }
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::Edit;
    use crate::pgn_read;

    fn rewritten(text: &str) -> String {
        let games = pgn_read::read(text);
        assert_eq!(games.len(), 1);
        write(&games[0].draft)
    }

    /// What follows the tags of a game without any.
    fn moves_of(text: &str) -> String {
        let written = rewritten(text);
        written.split_once("\n\n").unwrap().1.trim_end().to_owned()
    }

    /// The sample of the PGN standard (1994-03-12, 2.3), a game that Fischer
    /// and Spassky played in 1992. Written from memory of the standard.
    const SAMPLE: &str = r#"[Event "F/S Return Match"]
[Site "Belgrade, Serbia JUG"]
[Date "1992.11.04"]
[Round "29"]
[White "Fischer, Robert J."]
[Black "Spassky, Boris V."]
[Result "1/2-1/2"]

1. e4 e5 2. Nf3 Nc6 3. Bb5 a6 4. Ba4 Nf6 5. O-O Be7 6. Re1 b5 7. Bb3 d6 8. c3
O-O 9. h3 Nb8 10. d4 Nbd7 11. c4 c6 12. cxb5 axb5 13. Nc3 Bb7 14. Bg5 b4 15.
Nb1 h6 16. Bh4 c5 17. dxe5 Nxe4 18. Bxe7 Qxe7 19. exd6 Qf6 20. Nbd2 Nxd6 21.
Nc4 Nxc4 22. Bxc4 Nb6 23. Ne5 Rae8 24. Bxf7+ Rxf7 25. Nxf7 Rxe1+ 26. Qxe1 Kxf7
27. Qe3 Qg5 28. Qxg5 hxg5 29. b3 Ke6 30. a3 Kd6 31. axb4 cxb4 32. Ra5 Nd5 33.
f3 Bc8 34. Kf2 Bf5 35. Ra7 g6 36. Ra6+ Kc5 37. Ke1 Nf4 38. g3 Nxh3 39. Kd2 Kb5
40. Rd6 Kc5 41. Ra6 Nf2 42. g4 Bd3 43. Re6 1/2-1/2

"#;

    #[test]
    fn the_sample_of_the_standard_comes_out_as_it_went_in() {
        assert_eq!(rewritten(SAMPLE), SAMPLE);
        let draft = pgn_read::read(SAMPLE).remove(0).draft;
        assert_eq!(draft.resolve().faults, []);
    }

    #[test]
    fn the_roster_first_then_tags_in_order() {
        // PGN standard 8.1.1 and 9.7.
        let fen = "8/8/8/8/8/8/8/K1k5 b - - 3 40";
        let text = format!(
            "[Zeta \"z\"]\n[FEN \"{fen}\"]\n[Black \"B \\\"b\\\"\"]\n[Alpha \"\\\\\"]\n\n*"
        );
        assert_eq!(
            rewritten(&text),
            format!(
                "[Event \"?\"]\n[Site \"?\"]\n[Date \"????.??.??\"]\n[Round \"?\"]\n[White \"?\"]\n\
                 [Black \"B \\\"b\\\"\"]\n[Result \"*\"]\n[Alpha \"\\\\\"]\n[FEN \"{fen}\"]\n\
                 [SetUp \"1\"]\n[Zeta \"z\"]\n\n*\n\n"
            )
        );
        let short = rewritten("[FEN \"8/8/8/8/8/8/8/K1k5 b\"]\n\n*");
        assert!(short.contains("[FEN \"8/8/8/8/8/8/8/K1k5 b - - 0 1\"]"));
        let junk = rewritten("[Result \"White wins\"]\n[FEN \"nothing\"]\n\n*");
        assert!(junk.contains("[Result \"White wins\"]\n[FEN \"nothing\"]\n[SetUp \"1\"]"));
    }

    #[test]
    fn numbers_follow_the_standard() {
        // PGN standard 8.2.2.2: a number before White's moves, and before
        // Black's where a comment or a variation stands between.
        for text in [
            "1. e4 {c} (1. d4) 1... e5 *",
            "1. e4 {c} 1... e5 {d} 2. Nf3 *",
            "1. e4 $1 e5 $2 (1... c5 $6 2. Nf3) 2. Nf3 *",
            "{words} 1. e4 ({so} 1. d4 d5 (1... Nf6 2. c4) 2. c4) ({more} 1. c4) 1... e5 *",
        ] {
            assert_eq!(moves_of(text), text);
        }
        let black = "[FEN \"8/8/8/8/8/8/8/K1k5 b - - 3 40\"]\n\n1. Kc2 2. Ka2 (Ka2 Kc3) Kc3 *";
        assert_eq!(
            moves_of(black),
            "40... Kc2 41. Ka2 (41. Ka2 Kc3) 41... Kc3 *"
        );
    }

    #[test]
    fn legal_moves_in_san_others_as_typed() {
        let text = "1. e2e4 e7-e5 2. ng1f3 nc6 3. Bb5+ Ra9 4. Qh9 (4. O-O) Sf6 *";
        assert_eq!(
            moves_of(text),
            "1. e4 e5 2. Nf3 Nc6 3. Bb5 Ra9 4. Qh9 (4. O-O) 4... Sf6 *"
        );
    }

    #[test]
    fn nothing_an_author_types_breaks_the_text() {
        let mut draft = Draft::new();
        let add = |draft: &mut Draft, at, text: &str| {
            let edit = Edit::AddLine {
                at,
                moves: vec![text.into()],
                nags: vec![],
            };
            draft.apply(&edit).unwrap()
        };
        let e4 = add(&mut draft, NodeId::ROOT, "e4");
        add(&mut draft, e4, "what } now (");
        let words = "% starts a line, {braces} and\n\n[Event \"x\"]\n\n) end".to_owned();
        let comments = vec![words, String::new(), " \n".into()];
        draft.apply(&Edit::SetAfter { node: e4, comments }).unwrap();
        let value = Some("two\nlines \"quoted\" \\".to_owned());
        draft
            .apply(&Edit::SetTag {
                name: "Odd name]".into(),
                value,
            })
            .unwrap();
        let written = write(&draft);
        let games = pgn_read::read(&written);
        assert_eq!(games.len(), 1);
        assert_eq!(games[0].faults, []);
        assert!(written.contains("{what ｝ now (}"), "{written}");
        assert!(written.contains("[Odd_name_ \"two lines \\\"quoted\\\" \\\\\"]"));
        let read = &games[0].draft;
        let e4 = read.node(read.walk()[0]).unwrap();
        assert_eq!(
            e4.after,
            [
                "% starts a line, {braces｝ and\n\n[Event \"x\"]\n\n) end",
                "what ｝ now ("
            ]
        );
    }

    #[test]
    fn lines_stay_under_80_columns() {
        let words = "0123456789 ".repeat(30);
        let long = "x".repeat(200);
        let text =
            format!("1. e4 {{{words}{long} {words}}} (1. d4 {{% {long} % %}}) e5 {{é{words}}}");
        let written = moves_of(&text);
        for line in written.lines() {
            let alone = line.trim().trim_matches(['{', '}', ')']).len() == 200;
            assert!(line.chars().count() < 80 || alone, "{line}");
            assert!(!line.starts_with('%'), "{line}");
            assert!(!line.ends_with(' '), "{line}");
        }
        assert!(written.lines().any(|line| line.chars().count() > 75));
        assert_eq!(moves_of(&written), written);
    }

    #[test]
    fn paragraphs_of_a_comment_stay_apart() {
        let text = "{one two\n\nthree} 1. e4 *";
        assert_eq!(moves_of(text), text);
    }
}
