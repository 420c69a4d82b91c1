//! Strings that want to be something other than text, wherever an author's words go.
//!
//! Sources: the HTML Standard's ways into script (elements, event handler attributes,
//! `javascript:` URLs, `srcdoc`, raw text elements and comments that end early), the
//! CSV and terminal escapes that OWASP and ECMA-48 name, and UAX #9 for the signs that
//! turn the direction of text; from memory.

use keyproof::draft::{Draft, Edit, NodeId};

use crate::parse;

/// What would run or show, if it became part of a page: each sets `window.ran`.
const LIVE: [&str; 26] = [
    "<script>window.ran=1</script>",
    "<SCRIPT SRC=data:,window.ran=1></SCRIPT>",
    "<script type=module>window.ran=1</script>",
    "<img src=x onerror=window.ran=1>",
    "<img src=x onerror='window.ran=1'//",
    "<svg onload=window.ran=1>",
    "<svg><script>window.ran=1</script></svg>",
    "<svg><animate onbegin=window.ran=1 attributeName=x dur=1s>",
    "<math><mtext><style><img src=x onerror=window.ran=1></style></mtext></math>",
    "<iframe srcdoc='<script>parent.ran=1</script>'></iframe>",
    "<iframe src='javascript:parent.ran=1'></iframe>",
    "<object data='data:text/html,<script>parent.ran=1</script>'></object>",
    "<body onload=window.ran=1>",
    "<details open ontoggle=window.ran=1>",
    "<input autofocus onfocus=window.ran=1>",
    "<video><source onerror=window.ran=1></video>",
    "<a href=javascript:window.ran=1 autofocus>press</a>",
    "<form action=javascript:window.ran=1><button>press</button></form>",
    "<meta http-equiv=refresh content='0;url=javascript:window.ran=1'>",
    "<base href=//example.invalid/>",
    "<link rel=stylesheet href=//example.invalid/x.css>",
    "<style>*{display:none}</style>",
    "<template shadowrootmode=open><script>window.ran=1</script></template>",
    "<noscript><p title='</noscript><img src=x onerror=window.ran=1>'>",
    "&lt;script&gt;window.ran=1&lt;/script&gt;",
    "&#60;img src=x onerror=window.ran=1&#62;",
];

/// What might end the place that a text stands in.
const ENDS: [&str; 16] = [
    "",
    "\">",
    "'>",
    "\" onfocus=window.ran=1 autofocus x=\"",
    "-->",
    "</pre>",
    "</script>",
    "</style>",
    "</textarea></title>",
    "</text></svg>",
    "]]>",
    "*/",
    "</li></ol></main></body></html>",
    "`${window.ran=1}`",
    "\\\";window.ran=1;//",
    "<!--",
];

/// What is not markup, and yet no plain text to something.
const OTHERS: [&str; 84] = [
    // Formulas of a spreadsheet.
    "=1+1",
    "=HYPERLINK(\"http://example.invalid\")",
    "=cmd|' /C calc'!A0",
    "+1+1",
    "-1+1",
    "@SUM(1;1)",
    "\t=1+1",
    "\r=1+1",
    "\u{ff1d}1+1",
    "a,b;c\td",
    "\"a\",\"b\"",
    "a\nb",
    // Escapes of a terminal.
    "\u{1b}[31mred\u{1b}[0m",
    "\u{1b}]0;title\u{7}",
    "\u{1b}]8;;http://example.invalid\u{1b}\\link\u{1b}]8;;\u{1b}\\",
    "\u{1b}[2J\u{1b}[H",
    "\u{9b}31mred",
    "\u{9d}0;title\u{9c}",
    "a\u{8}\u{8}\u{8}b",
    "bell\u{7}",
    "form\u{c}feed",
    "null\u{0}byte",
    "delete\u{7f}",
    "one\rtwo",
    // Signs that turn or hide text.
    "\u{202e}txt.exe",
    "\u{2066}inside\u{2069}",
    "\u{202d}left\u{202c}",
    "\u{200f}right",
    "\u{feff}mark",
    "zero\u{200b}width",
    "\u{2028}line\u{2029}paragraph",
    "e\u{301}\u{302}\u{303}\u{304}\u{305}",
    "مرحبا 1.Ra8 عالم",
    "\u{fffe}\u{ffff}",
    // Marks of PGN.
    "}",
    "{",
    "\"]",
    "\\",
    "\\\"",
    "; the rest",
    "%escape",
    "a\n%escape",
    "1. e4 e5 *",
    "[Event \"x\"]",
    "\n\n[Event \"x\"]\n\n1. e4 *",
    "[%clk 0:10:00]",
    "[%x",
    "$1 $255 $999",
    "<reserved>",
    "(1. e4)",
    "1-0",
    // Marks of this program.
    "<!--keyproof:answers-->",
    "<!--keyproof:title-->",
    "<!--keyproof:say-->x<!---->",
    "{move}",
    "{}",
    "{0}",
    "%{move}",
    "{{move}}",
    "@@{move}@@",
    "KEYPROOF",
    // File names and addresses.
    "../../etc/passwd",
    "..\\..\\windows",
    "/dev/null",
    "CON",
    "a/b:c*d?e\"f<g>h|i",
    ".hidden",
    "-rf",
    "--help",
    "$(touch ran)",
    "`touch ran`",
    "; touch ran",
    "| touch ran",
    "file:///etc/passwd",
    "javascript:window.ran=1",
    "data:text/html,<script>window.ran=1</script>",
    "https://example.invalid/x.png",
    // Formats with names in them.
    "%s%n%x",
    "%00",
    "${jndi:x}",
    "__proto__",
    "constructor",
    "null",
    "undefined",
];

/// All of them, 500, each once.
pub fn strings() -> Vec<String> {
    let live = ENDS
        .iter()
        .flat_map(|end| LIVE.iter().map(move |live| format!("{end}{live}")));
    live.chain(OTHERS.map(str::to_owned)).collect()
}

/// The tags of a puzzle that hold an author's words.
const TAGS: [&str; 16] = [
    "Event",
    "Site",
    "Date",
    "Round",
    "White",
    "Black",
    "Annotator",
    "Task",
    "Hint1",
    "Hint2",
    "Closing",
    "WrongIdle",
    "WrongEscapes",
    "Themes",
    "Labels",
    "Source",
];

/// Puzzles, each a mate in one with a try, with the strings in every field that takes
/// words: the tags above, and comments before and after the moves.
pub fn puzzles(strings: &[String]) -> Vec<Draft> {
    const PUZZLE: &str = r##"
[SetUp "1"]
[FEN "6k1/5ppp/8/8/8/8/8/R3K3 w - - 0 1"]
[Stipulation "#1"]

1. Ra8# (1. Ra7 $2 1... Kf8) *"##;
    let fields = TAGS.len() + 5;
    strings
        .chunks(fields)
        .map(|words| {
            let mut draft = parse(PUZZLE, "a mate in one").remove(0);
            for edit in edits(&draft, words) {
                draft.apply(&edit).expect("an edit of what is there");
            }
            draft
        })
        .collect()
}

/// Puts words into a puzzle's fields, one each.
fn edits(draft: &Draft, words: &[String]) -> Vec<Edit> {
    let first = &draft.node(NodeId::ROOT).expect("a start").children;
    let (key, wrong) = (first[0], first[1]);
    let reply = draft.node(wrong).expect("a try").children[0];
    let mut words = words.iter().cloned();
    let tags = TAGS
        .iter()
        .zip(&mut words)
        .map(|(name, word)| Edit::SetTag {
            name: (*name).to_owned(),
            value: Some(word),
        });
    let mut edits: Vec<Edit> = tags.collect();
    let after = [NodeId::ROOT, key, wrong, reply]
        .into_iter()
        .zip(&mut words);
    edits.extend(after.map(|(node, word)| Edit::SetAfter {
        node,
        comments: vec![word],
    }));
    edits.extend(words.next().map(|word| Edit::SetBefore {
        node: wrong,
        comments: vec![word],
    }));
    edits
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn there_are_five_hundred() {
        let strings = strings();
        let different: std::collections::HashSet<_> = strings.iter().collect();
        assert_eq!((strings.len(), different.len()), (500, 500));
    }

    #[test]
    fn each_stands_in_a_field() {
        let words: Vec<String> = (0..500).map(|i| format!("word{i}")).collect();
        let puzzles = puzzles(&words);
        for word in &words {
            let stands = puzzles.iter().any(|draft| {
                let tags = draft.tags().iter().any(|(_, value)| value == word);
                tags || [NodeId::ROOT].into_iter().chain(draft.walk()).any(|id| {
                    let node = draft.node(id).expect("a move");
                    node.before.contains(word) || node.after.contains(word)
                })
            });
            assert!(stands, "{word}");
        }
    }
}
