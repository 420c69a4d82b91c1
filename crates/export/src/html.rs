//! Text in HTML.

/// Text for HTML, in content and in quoted attributes.
pub(crate) fn escape(words: &str) -> String {
    text(words).replace('"', "&quot;").replace('\'', "&#39;")
}

/// What [`escape`] made is the text again.
pub(crate) fn unescape(html: &str) -> String {
    let signs = [
        ("&lt;", "<"),
        ("&gt;", ">"),
        ("&quot;", "\""),
        ("&#39;", "'"),
        ("&amp;", "&"),
    ];
    let text = html.to_owned();
    signs
        .iter()
        .fold(text, |text, (escaped, sign)| text.replace(escaped, sign))
}

/// Whether a document has a place for a character. Neither HTML nor XML 1.0 has one for
/// control characters other than white space (XML 1.0, 2.2; HTML, 13.1.4).
pub(crate) fn has_place(c: char) -> bool {
    match c {
        '\t' | '\n' | '\r' => true,
        '\u{fffe}' | '\u{ffff}' => false,
        c => !c.is_control(),
    }
}

/// Text for HTML, in content alone, where quotes need no escape. What a document has no
/// place for is left out.
pub(crate) fn text(words: &str) -> String {
    let mut escaped = String::with_capacity(words.len());
    for c in words.chars().filter(|&c| has_place(c)) {
        match c {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            c => escaped.push(c),
        }
    }
    escaped
}

#[cfg(test)]
mod tests {
    use super::{escape, text, unescape};

    #[test]
    fn what_is_escaped_comes_back() {
        for words in ["Tom & <Jo>", "\"Qf7#\" isn't &lt;", "&amp;amp;", ""] {
            assert_eq!(unescape(&escape(words)), words);
            assert_eq!(unescape(&text(words)), words);
        }
    }

    #[test]
    fn what_a_document_has_no_place_for_is_left_out() {
        let words = "a\u{0}b\u{1b}[31m\u{9b}c\u{7f}\u{ffff}\n\td";
        assert_eq!(escape(words), "ab[31mc\n\td");
    }
}
