//! Writing PGN in the standard's export format, lines under 80 columns.
//!
//! What the format cannot hold is put into what it can, so that no word is
//! lost: a `}` inside a comment becomes `｝` (U+FF5D), and a typed move that no
//! reader could take for a move becomes a comment.

use std::borrow::Cow;
use std::num::NonZeroU32;

use shakmaty::{Chess, Color, Position};

use super::{fen, moves};
use crate::draft::{Draft, NodeId, RESULTS, Resolution};

/// Writes one game, ending in an empty line. Legal moves are written in SAN;
/// a move that is not legal is written as typed, so nothing is lost.
pub fn write(draft: &Draft) -> String {
    let mut out = String::new();
    for (name, value) in all_tags(draft) {
        out.push_str(&format!("[{name} \"{}\"]\n", escaped(&value)));
    }
    out.push('\n');
    let resolution = draft.resolve();
    let mut lines = Lines::new(out);
    write_moves(draft, &resolution, &mut lines);
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
    node.before
        .iter()
        .map(|c| words(c))
        .filter(|c| !c.is_empty())
        .collect()
}

/// The comments written after a move, with those before its continuation.
pub(crate) fn words_after(draft: &Draft, id: NodeId) -> Vec<String> {
    let Some(node) = draft.node(id) else {
        return Vec::new();
    };
    let next = node.children.first().and_then(|&c| draft.node(c));
    let before_next = next.map_or(&[][..], |n| &n.before);
    let all = node.after.iter().chain(before_next);
    all.map(|c| words(c)).filter(|c| !c.is_empty()).collect()
}

/// The words of a comment: one blank between them, an empty line between
/// paragraphs.
pub(crate) fn flow(comment: &str) -> String {
    let mut out = String::with_capacity(comment.len());
    let mut blanks = false;
    let mut line_ends = 0;
    let text = comment.trim_matches(is_blank);
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        if is_blank(c) {
            blanks = true;
            let pair = c == '\r' && chars.peek() == Some(&'\n');
            line_ends += u32::from(c == '\n' || c == '\r' && !pair);
            continue;
        }
        if blanks {
            out.push_str(if line_ends > 1 { "\n\n" } else { " " });
            (blanks, line_ends) = (false, 0);
        }
        out.push(c);
    }
    out
}

/// A comment in the form in which it is exported.
fn words(comment: &str) -> String {
    flow(comment).replace('}', "｝")
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
                        numbered = false;
                    }
                    None => numbered |= comments(lines, &[words(&node.text)]),
                }
                for nag in &node.nags {
                    lines.token(&format!("${nag}"));
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
    let whole = !typed.contains(|c: char| c.is_whitespace() || "{}()[];$".contains(c));
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

/// Blanks that may be broken or joined; a no-break space is not one.
fn is_blank(c: char) -> bool {
    matches!(c, ' ' | '\t' | '\r' | '\n' | '\u{b}' | '\u{c}')
}

fn follows_directly(draft: &Draft, id: NodeId) -> bool {
    let parent = draft.node(id).and_then(|n| draft.node(n.parent));
    parent.is_some_and(|p| p.children.first() == Some(&id))
}
