//! The text of a comment as files have it.

/// A comment in the form in which it is exported.
pub(crate) fn words(comment: &str) -> String {
    flow(comment).replace('}', "｝")
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

/// Blanks that may be broken or joined; a no-break space is not one.
pub(crate) fn is_blank(c: char) -> bool {
    matches!(c, ' ' | '\t' | '\r' | '\n' | '\u{b}' | '\u{c}')
}
