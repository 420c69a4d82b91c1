//! Texts on one line, and as they were.

/// A text on one line.
pub fn coded(text: &str) -> String {
    let text = text.replace('\\', "\\\\").replace('\r', "\\r");
    text.replace('\n', "\\n").replace('\t', "\\t")
}

/// What [`coded`] wrote.
pub fn decoded(line: &str) -> String {
    let mut text = String::with_capacity(line.len());
    let mut chars = line.chars();
    while let Some(c) = chars.next() {
        text.push(match c {
            '\\' => match chars.next() {
                Some('r') => '\r',
                Some('n') => '\n',
                Some('t') => '\t',
                Some(other) => other,
                None => break,
            },
            c => c,
        });
    }
    text
}
