//! Text in HTML.

/// Text for HTML, in content and in quoted attributes.
pub(crate) fn escape(words: &str) -> String {
    text(words).replace('"', "&quot;").replace('\'', "&#39;")
}

/// Text for HTML, in content alone, where quotes need no escape.
pub(crate) fn text(words: &str) -> String {
    let mut escaped = String::with_capacity(words.len());
    for c in words.chars() {
        match c {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            c => escaped.push(c),
        }
    }
    escaped
}
