//! Thin pages, and what is put in the place of their marks.

/// Puts `content` in the place of a mark, which must stand there once.
pub fn fill(text: &str, mark: &str, content: &str) -> Result<String, String> {
    let mark = format!("<!--keyproof:{mark}-->");
    match text.split(&mark).collect::<Vec<_>>().as_slice() {
        [before, after] => Ok([before, content, after].concat()),
        [_] => Err(format!("the mark {mark} is missing")),
        parts => Err(format!(
            "the mark {mark} stands there {} times",
            parts.len() - 1
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::fill;

    #[test]
    fn a_mark_is_filled_once_and_only_once() {
        assert_eq!(fill("a<!--keyproof:x-->b", "x", "-").as_deref(), Ok("a-b"));
        assert!(fill("ab", "x", "-").unwrap_err().contains("missing"));
        let twice = "<!--keyproof:x--><!--keyproof:x-->";
        assert!(fill(twice, "x", "-").unwrap_err().contains("2 times"));
    }
}
