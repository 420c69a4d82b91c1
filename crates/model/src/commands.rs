//! Commands in comments, `[%name value]`: what programs write into a game for
//! other programs, such as the clock times `clk` and `emt` of the PGN supplement
//! (2001; from memory). They stay with their move and in its file, and are no
//! words: nobody is shown them.

use crate::comment;

/// A comment without its commands, and these: one inside another before that. What
/// comes of taking one out is looked at too, so that nothing more would be found in the
/// words that are left.
pub fn split(comment: &str) -> (String, Vec<String>) {
    let mut words = String::with_capacity(comment.len());
    let mut commands = Vec::new();
    // Where in `words` something begins that is a command if it ends.
    let mut begun: Vec<usize> = Vec::new();
    let mut rest = comment.char_indices().peekable();
    while let Some((at, c)) = rest.next() {
        let after = &comment[at + c.len_utf8()..];
        match c {
            '[' => {
                let name = after.strip_prefix('%').unwrap_or_default();
                if !name.starts_with(|c: char| c.is_ascii_alphabetic()) {
                    begun.clear();
                } else {
                    begun.push(words.len());
                }
            }
            '\n' => begun.clear(),
            ']' => {
                if let Some(start) = begun.pop() {
                    commands.push([&words[start..], "]"].concat());
                    words.truncate(start);
                    words.truncate(words.trim_end_matches(' ').len());
                    if words.is_empty() {
                        while rest.next_if(|&(_, c)| c == ' ').is_some() {}
                    } else if !after.is_empty() && !after.starts_with(char::is_whitespace) {
                        words.push(' ');
                    }
                    continue;
                }
            }
            _ => {}
        }
        words.push(c);
    }
    (words, commands)
}

/// Takes the commands out of comments and adds them to `commands`; comments of
/// commands alone go. A comment is looked at as it will be written, so that what
/// is broken over two lines is a command now and not only when it is read again.
pub(crate) fn take(comments: Vec<String>, commands: &mut Vec<String>) -> Vec<String> {
    let mut kept = Vec::with_capacity(comments.len());
    for text in comments {
        let (words, found) = split(&comment::words(&text));
        if found.is_empty() {
            kept.push(text);
            continue;
        }
        commands.extend(found);
        if !words.trim().is_empty() {
            kept.push(words);
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::{Edit, NodeId};
    use crate::{pgn_read, pgn_write};

    #[test]
    fn commands_are_taken_out_of_words() {
        for (comment, words, commands) in [
            ("Only words.", "Only words.", &[][..]),
            ("[%clk 0:10:00]", "", &["[%clk 0:10:00]"]),
            ("[%clk 0:10:00] Quiet.", "Quiet.", &["[%clk 0:10:00]"]),
            ("Quiet. [%emt 0:00:05]", "Quiet.", &["[%emt 0:00:05]"]),
            (
                "One[%a 1]two [%b] three",
                "One two three",
                &["[%a 1]", "[%b]"],
            ),
            (
                "A [% sign], a [%clk without end",
                "A [% sign], a [%clk without end",
                &[],
            ),
            ("[%10] of [it]", "[%10] of [it]", &[]),
            ("[%a [%b] c] d", "d", &["[%b]", "[%a c]"]),
            ("[%a [b] c]", "[%a [b] c]", &[]),
            ("[%a[%b", "[%a[%b", &[]),
        ] {
            let (left, found) = split(comment);
            assert_eq!(
                (left.as_str(), &found[..]),
                (
                    words,
                    &commands.iter().map(|c| c.to_string()).collect::<Vec<_>>()[..]
                ),
                "{comment}"
            );
            assert_eq!(split(&left).1, [""; 0], "{comment}");
        }
    }

    const GAME: &str = "{[%clk 0:15:00]} 1. e4 {[%clk 0:14:58] The usual.} e5 (1... c5 {[%clk 0:14:00]} 2. Nf3) 2. Nf3 {[%clk 0:14:40]} *\n";

    #[test]
    fn commands_are_kept_with_their_moves_and_are_no_words() {
        let draft = pgn_read::read(GAME).remove(0).draft;
        let all: Vec<NodeId> = std::iter::once(NodeId::ROOT).chain(draft.walk()).collect();
        let words: Vec<&String> = all
            .iter()
            .filter_map(|&id| draft.node(id))
            .flat_map(|node| node.before.iter().chain(&node.after))
            .collect();
        assert_eq!(words, ["The usual."]);
        let written = pgn_write::write(&draft);
        let flowing = written.replace('\n', " ");
        assert!(
            flowing.contains("1. e4 {[%clk 0:14:58] The usual.} 1... e5"),
            "{written}"
        );
        assert!(flowing.contains("c5 {[%clk 0:14:00]}"), "{written}");
        let again = pgn_read::read(&written).remove(0).draft;
        assert_eq!(again, draft);
        assert_eq!(pgn_write::write(&again), written);
    }

    #[test]
    fn what_is_typed_over_two_lines_is_taken_as_it_will_be_read() {
        let mut draft = pgn_read::read(GAME).remove(0).draft;
        let e4 = draft.walk()[0];
        let comments = vec!["[%a\nb] A [%c }] brace.".to_owned()];
        draft.apply(&Edit::SetAfter { node: e4, comments }).unwrap();
        let node = draft.node(e4).unwrap();
        assert_eq!(node.after, ["A brace."]);
        assert_eq!(node.commands, ["[%clk 0:14:58]", "[%a b]", "[%c ｝]"]);
        let again = pgn_read::read(&pgn_write::write(&draft)).remove(0);
        assert_eq!(again.faults, []);
        assert_eq!(again.draft, draft);
    }

    #[test]
    fn words_may_be_written_anew_without_losing_commands() {
        let mut draft = pgn_read::read(GAME).remove(0).draft;
        let e4 = draft.walk()[0];
        let comments = vec!["Better words.".to_owned()];
        draft.apply(&Edit::SetAfter { node: e4, comments }).unwrap();
        assert!(pgn_write::write(&draft).contains("{[%clk 0:14:58] Better words.}"));
    }
}
