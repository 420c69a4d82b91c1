//! Moves mentioned in an author's words by what they are rather than by name:
//! `<key>`, `<move>`, `<reply>`. A mention is filled in when the words are shown
//! or given out, so that it follows when the move changes.
//!
//! | mention | stands for |
//! |---|---|
//! | `<move>` | the move the words belong to |
//! | `<before>` | the move before it |
//! | `<reply>` | the first move listed after it |
//! | `<line>` | all of the first line listed after it |
//! | `<key>` | the first move asked for, here or last in a lesson |
//!
//! Task, hints and the like belong to the position asked about: there `<reply>`
//! is the key. What is no mention, such as `<3`, stays as it is, and so does a
//! mention of a move that is not there, which the checker remarks on.

use shakmaty::{Chess, Move, Position};

use crate::draft::{Draft, Edit, Node, NodeId};
use crate::lesson;
use crate::notation::moves;
use crate::resolved::Resolved;

/// What can be mentioned.
pub const NAMES: [&str; 5] = ["move", "before", "reply", "line", "key"];

/// The moves of one draft as its words may mention them.
pub struct Mentions<'a> {
    resolved: &'a Resolved,
    /// Where a lesson asks, each with the ending of its own tags: `_17b`.
    asked: Vec<(NodeId, String)>,
}

/// A part of a text.
enum Part<'t> {
    Plain(&'t str),
    /// The name in a mention.
    Mention(&'t str),
}

impl<'a> Mentions<'a> {
    /// Of a draft.
    pub fn new(resolved: &'a Resolved) -> Mentions<'a> {
        let moments = match lesson::is_lesson(resolved.draft()) {
            true => lesson::moments(resolved).unwrap_or_default(),
            false => Vec::new(),
        };
        let asked = moments.iter().map(|m| (m.node, m.place.own_tag("")));
        Mentions {
            resolved,
            asked: asked.collect(),
        }
    }

    /// Words that belong to a node, with every mention of a move that is there
    /// filled in.
    pub fn fill(&self, words: &str, node: NodeId) -> String {
        if !words.contains('<') {
            return words.to_owned();
        }
        let mut filled = String::with_capacity(words.len());
        for part in parts(words) {
            match part {
                Part::Plain(text) => filled.push_str(text),
                Part::Mention(name) => match self.mentioned(name, node) {
                    Some(text) => filled.push_str(&text),
                    None => filled.extend(["<", name, ">"]),
                },
            }
        }
        filled
    }

    /// The mentions in words that belong to a node for which no move is there.
    pub fn empty<'t>(&self, words: &'t str, node: NodeId) -> Vec<&'t str> {
        let parts = parts(words).into_iter();
        parts
            .filter_map(|part| match part {
                Part::Mention(name) if self.mentioned(name, node).is_none() => Some(name),
                _ => None,
            })
            .collect()
    }

    /// All words of the draft: the node they belong to, and the text. Of the
    /// tags, those a student reads.
    pub fn words(&self) -> Vec<(NodeId, &'a str)> {
        let tags = self.resolved.draft().tags().iter();
        let mut all: Vec<(NodeId, &str)> = tags
            .filter(|(name, _)| is_words(name))
            .map(|(name, value)| (self.belongs(name), value.as_str()))
            .collect();
        for (id, node) in self.nodes() {
            let both = node.before.iter().chain(&node.after);
            all.extend(both.map(|text| (id, text.as_str())));
        }
        all
    }

    fn nodes(&self) -> impl Iterator<Item = (NodeId, &'a Node)> {
        let ids = std::iter::once(NodeId::ROOT).chain(self.resolved.draft().walk());
        ids.filter_map(|id| Some((id, self.resolved.draft().node(id)?)))
    }

    /// The position that a tag is about.
    fn belongs(&self, tag: &str) -> NodeId {
        let own = self.asked.iter().find(|(_, end)| tag.ends_with(end));
        own.map_or(NodeId::ROOT, |(node, _)| *node)
    }

    fn mentioned(&self, name: &str, node: NodeId) -> Option<String> {
        match name {
            "move" => self.named(node),
            "before" => self.named(self.parent(node)?),
            "reply" => self.named(self.first(node)?),
            "key" => self.named(self.key(self.asked_at(node))?),
            "line" => {
                let start = self.resolved.position(node)?;
                let line = self.line(node);
                (!line.is_empty()).then(|| numbered(start, &line))
            }
            _ => None,
        }
    }

    /// The move at a node, with its number.
    fn named(&self, node: NodeId) -> Option<String> {
        let step = self.resolved.step(node)?;
        let before = self.resolved.position(self.parent(node)?)?;
        Some(numbered(before, &[step.mv]))
    }

    fn line(&self, node: NodeId) -> Vec<Move> {
        let steps = std::iter::successors(self.first(node), |&at| self.first(at));
        let steps = steps.map_while(|at| self.resolved.step(at));
        steps.map(|step| step.mv).collect()
    }

    /// The first move listed after a node that is not known to be poor.
    fn key(&self, node: NodeId) -> Option<NodeId> {
        let children = &self.resolved.draft().node(node)?.children;
        let mut listed = children.iter().copied();
        listed.find(|&child| {
            self.resolved
                .draft()
                .node(child)
                .is_some_and(|n| !n.is_poor())
        })
    }

    /// Where the question stands that was asked last before a node.
    fn asked_at(&self, node: NodeId) -> NodeId {
        let mut at = node;
        while at != NodeId::ROOT && !self.asked.iter().any(|(asked, _)| *asked == at) {
            at = self.parent(at).unwrap_or(NodeId::ROOT);
        }
        at
    }

    fn parent(&self, node: NodeId) -> Option<NodeId> {
        let parent = self.resolved.draft().node(node)?.parent;
        (node != NodeId::ROOT).then_some(parent)
    }

    fn first(&self, node: NodeId) -> Option<NodeId> {
        self.resolved.draft().node(node)?.children.first().copied()
    }
}

/// A draft with every mention filled in, as it is given out.
pub fn filled(resolved: &Resolved) -> Draft {
    let draft = resolved.draft();
    let mut filled = draft.clone();
    let mentions = Mentions::new(resolved);
    let mut edits = Vec::new();
    for (name, value) in draft.tags() {
        if is_words(name) && value.contains('<') {
            let value = Some(mentions.fill(value, mentions.belongs(name)));
            let name = name.clone();
            edits.push(Edit::SetTag { name, value });
        }
    }
    for (node, found) in mentions.nodes() {
        let fill = |words: &Vec<String>| -> Option<Vec<String>> {
            let mentions_some = words.iter().any(|text| text.contains('<'));
            let filled = words.iter().map(|text| mentions.fill(text, node));
            mentions_some.then(|| filled.collect())
        };
        edits.extend(fill(&found.before).map(|comments| Edit::SetBefore { node, comments }));
        edits.extend(fill(&found.after).map(|comments| Edit::SetAfter { node, comments }));
    }
    for edit in &edits {
        // A node of the same tree cannot be missing.
        let _ = filled.apply(edit);
    }
    filled
}

/// Whether a tag holds words for the student, in which moves may be mentioned.
fn is_words(tag: &str) -> bool {
    ["Task", "Hint", "Wrong", "Closing"]
        .iter()
        .any(|name| tag.starts_with(name))
}

fn numbered(before: &Chess, line: &[Move]) -> String {
    moves::line(before, line, before.fullmoves().get())
}

fn parts(words: &str) -> Vec<Part<'_>> {
    let mut parts = Vec::new();
    let mut rest = words;
    let mut plain = 0;
    while let Some(open) = rest[plain..].find('<').map(|at| plain + at) {
        let inside = &rest[open + 1..];
        let name = NAMES.iter().find_map(|name| {
            let after = inside.strip_prefix(name)?.strip_prefix('>')?;
            Some((&inside[..name.len()], after))
        });
        match name {
            Some((name, after)) => {
                parts.push(Part::Plain(&rest[..open]));
                parts.push(Part::Mention(name));
                rest = after;
                plain = 0;
            }
            None => plain = open + 1,
        }
    }
    parts.push(Part::Plain(rest));
    parts
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{pgn_read, pgn_write};

    fn draft(pgn: &str) -> Draft {
        pgn_read::read(pgn).remove(0).draft
    }
    fn text(pgn: &str) -> String {
        let text = pgn_write::write(&filled(&Resolved::of(&draft(pgn))));
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    const STAIRS: &str = "[FEN \"7k/8/8/8/8/8/RR6/K7 w - - 0 1\"]\n[Stipulation \"#2\"]\n[Hint1 \"Not <before>, and <key> wins.\"]\n\n{Begin with <reply>.} 1. Ra7 {After <move> comes <line>. I <3 it.} (1. Kb1 $2 {<move>, not <key>? <reply>!} Kg7) 1... Kg8 {The answer to <before> is <move>.} 2. Rb8# {<reply>} *";

    #[test]
    fn moves_are_filled_in_where_they_stand() {
        let text = text(STAIRS);
        for part in [
            "[Hint1 \"Not <before>, and 1.Ra7 wins.\"]",
            "{Begin with 1.Ra7.}",
            "{After 1.Ra7 comes 1...Kg8 2.Rb8#. I <3 it.}",
            "{1.Kb1, not 1.Ra7? 1...Kg7!}",
            "{The answer to 1.Ra7 is 1...Kg8.}",
            "{<reply>}",
        ] {
            assert!(text.contains(part), "{part} in {text}");
        }
    }

    #[test]
    fn a_mention_follows_its_move() {
        let mut changed = draft(STAIRS);
        let key = changed.node(NodeId::ROOT).unwrap().children[0];
        let text = "Rb7".into();
        changed.apply(&Edit::SetMove { node: key, text }).unwrap();
        let text = pgn_write::write(&filled(&Resolved::of(&changed)));
        assert!(text.contains("Begin with 1.Rb7."), "{text}");
    }

    #[test]
    fn what_is_not_there_is_named() {
        let draft = draft(STAIRS);
        let resolved = Resolved::of(&draft);
        let mentions = Mentions::new(&resolved);
        let empty: Vec<&str> = mentions
            .words()
            .into_iter()
            .flat_map(|(node, words)| mentions.empty(words, node))
            .collect();
        assert_eq!(empty, ["before", "reply"]);
    }

    #[test]
    fn in_a_lesson_the_key_is_that_of_the_moment() {
        let text = text(
            "[Moments \"2w #1\"]\n[Hint1_2w \"Think of <key>.\"]\n\n1. e4 {<key>} e5 2. Nf3 $2 {Missing <key>.} (2. Qh5 $1) 2... Nc6 *",
        );
        assert!(text.contains("Think of 2.Qh5."), "{text}");
        assert!(text.contains("Missing 2.Qh5."), "{text}");
        assert!(text.contains("{1.e4}"), "{text}");
    }

    #[test]
    fn brackets_of_any_kind_are_no_trouble() {
        for words in [
            "<",
            "<<",
            "a < b",
            "<key",
            "<<key>",
            "\u{e9}<\u{e9}>",
            "<keys>",
        ] {
            let draft = draft("1. e4 *");
            let resolved = Resolved::of(&draft);
            let filled = Mentions::new(&resolved).fill(words, NodeId::ROOT);
            assert_eq!(filled, words.replace("<key>", "1.e4"));
        }
    }
}
