//! Empty mention: the author's words mention a move that is not there, as
//! `<reply>` at the end of a line. Students would read the brackets.

use super::words::path;
use super::{Finding, Kind, Mend, Weight};
use model::draft::{Draft, Edit, NodeId};
use model::mention::Mentions;
use model::resolved::Resolved;
use model::tongue::say;

pub fn find(resolved: &Resolved) -> Vec<Finding> {
    let mentions = Mentions::new(resolved);
    let mut found = Vec::new();
    let words = mentions.words().into_iter();
    for (node, words) in words.filter(|(_, words)| words.contains('<')) {
        for name in mentions.empty(words, node) {
            found.push(Finding {
                kind: Kind::EmptyMention,
                weight: Weight::Remark,
                node,
                path: path(resolved, node),
                moves: Vec::new(),
                line: Vec::new(),
                message: say!(
                    "The words \"{words}\" mention <{mention}>, and there is no such move.",
                    words = shortened(words),
                    mention = name,
                ),
                mends: mends(resolved.draft(), node, words, name),
            });
        }
    }
    found
}

fn shortened(words: &str) -> String {
    const LONGEST: usize = 80;
    match words.chars().count() > LONGEST {
        true => words.chars().take(LONGEST).chain(['\u{2026}']).collect(),
        false => words.to_owned(),
    }
}

/// Takes the mention out of a comment; a tag is left to its field.
fn mends(draft: &Draft, node: NodeId, words: &str, name: &str) -> Vec<Mend> {
    let without = |comments: &[String]| -> Option<Vec<String>> {
        let place = comments.iter().position(|text| text == words)?;
        let mut comments = comments.to_vec();
        let mention = format!("<{name}>");
        let left = words.replacen(&mention, "", 1);
        comments[place] = left.split_whitespace().collect::<Vec<_>>().join(" ");
        comments.retain(|text| !text.is_empty());
        Some(comments)
    };
    let edit = draft.node(node).and_then(|found| {
        let after = without(&found.after).map(|comments| Edit::SetAfter { node, comments });
        let before = || without(&found.before).map(|comments| Edit::SetBefore { node, comments });
        after.or_else(before)
    });
    let label = say!("Take <{mention}> out", mention = name);
    let mend = edit.map(|edit| Mend {
        label,
        edits: vec![edit],
    });
    mend.into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::shortened;
    use crate::trial::{draft, kinds, mended, report};
    use crate::{Finding, Kind, Soundness};
    use model::draft::{Draft, Edit};
    use model::resolved::Resolved;

    fn check(draft: &Draft) -> Vec<Finding> {
        super::find(&Resolved::of(draft))
    }

    const ROOKS: &str = "[FEN \"7k/8/8/8/8/8/RR6/K7 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Ra7 (1. Rb7) 1... Kg8 2. Rb8# {Mate WORDS} *";

    #[test]
    fn a_mention_of_nothing_is_remarked_on_and_taken_out() {
        let text = ROOKS.replace("WORDS", "after <reply> now.");
        let report = report(&text);
        let found = kinds(&report)
            .iter()
            .filter(|k| **k == Kind::EmptyMention)
            .count();
        assert_eq!(found, 1, "{:?}", report.findings);
        let finding = report
            .findings
            .iter()
            .find(|f| f.kind == Kind::EmptyMention)
            .unwrap();
        assert_eq!(
            finding.message,
            "The words \"Mate after <reply> now.\" mention <reply>, and there is no such move."
        );
        let after = mended(&text, Kind::EmptyMention, 0);
        assert!(!kinds(&after).contains(&Kind::EmptyMention));
    }

    #[test]
    fn a_mention_of_a_move_is_none() {
        let report = report(&ROOKS.replace("WORDS", "by <move> after <key>, I <3 it."));
        assert!(!kinds(&report).contains(&Kind::EmptyMention));
        assert_ne!(report.verdict, Soundness::Undecided);
    }

    #[test]
    fn long_words_are_cut_where_they_are_told() {
        assert_eq!(shortened(&"a".repeat(80)), "a".repeat(80));
        let cut = format!("{}\u{2026}", "a".repeat(80));
        assert_eq!(shortened(&"a".repeat(81)), cut);
        assert_eq!(shortened(&"a".repeat(90)), cut);
    }

    #[test]
    fn what_is_left_of_the_words_stays() {
        let edits = |words: &str| {
            let draft = draft(&ROOKS.replace("{Mate WORDS}", words));
            let finding = check(&draft).remove(0);
            finding.mends[0].edits.clone()
        };
        let after = |words: &str, comments: &[&str]| {
            let edits = edits(words);
            let Edit::SetAfter { comments: set, .. } = &edits[0] else {
                panic!("{edits:?}");
            };
            assert_eq!(set, comments);
        };
        after(
            "{Well done.} {Mate after <reply> now.}",
            &["Well done.", "Mate after now."],
        );
        after("{Well done.} {<reply>}", &["Well done."]);
    }
}
