//! The words of a page that changes its language by itself: what is marked in it,
//! and what that is in the files of `web/locales`.

use std::collections::BTreeMap;

use crate::shell::{read, root};

/// The files of the languages.
pub const LOCALES: &str = "web/locales";

/// What stands between these is said in each language, one paragraph below the
/// other.
const EACH: [&str; 2] = ["<!--keyproof:each-->", "<!---->"];

/// A language by its tag, and what the English texts are in it.
type Locales = BTreeMap<String, BTreeMap<String, String>>;

/// All languages but English.
pub fn locales() -> Result<Locales, String> {
    let dir = root().join(LOCALES);
    let files = std::fs::read_dir(&dir).map_err(|fault| format!("{LOCALES}: {fault}"))?;
    let mut locales = Locales::new();
    for file in files.flatten() {
        let path = file.path();
        let tag = path.file_stem().unwrap_or_default().to_string_lossy();
        let parts: Locales =
            toml::from_str(&read(&path)?).map_err(|fault| format!("{LOCALES}/{tag}: {fault}"))?;
        locales.insert(tag.into_owned(), parts.into_values().flatten().collect());
    }
    Ok(locales)
}

/// What the marked texts of a page are in each language, as JSON.
///
/// # Errors
/// A text that a language lacks.
pub fn table(page: &str, locales: &Locales) -> Result<String, String> {
    let marked = |mark: &str, end: char| {
        let after = page.split(mark).skip(1);
        let texts = after.filter_map(|rest| rest.split(end).next());
        texts.map(str::to_owned).collect::<Vec<_>>()
    };
    let texts = [marked("data-say>", '<'), marked("data-refused=\"", '"')].concat();
    let mut languages = Vec::new();
    for tag in locales.keys() {
        let pairs = texts.iter().map(|english| {
            let text = said(english, tag, locales)?;
            Ok(format!("{}:{}", quoted(english), quoted(text)))
        });
        let pairs: Vec<String> = pairs.collect::<Result<_, String>>()?;
        languages.push(format!("{}:{{{}}}", quoted(tag), pairs.join(",")));
    }
    Ok(format!("{{{}}}", languages.join(",")))
}

/// The page with the texts that must be said in each language at once.
///
/// # Errors
/// A text that a language lacks.
pub fn said_in_each(page: &str, locales: &Locales) -> Result<String, String> {
    let mut parts = page.split(EACH[0]);
    let mut out = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let (english, rest) = part
            .split_once(EACH[1])
            .ok_or("a text to be said in each language does not end")?;
        out.push_str(&format!("<p lang=\"en\">{english}</p>"));
        for tag in locales.keys() {
            let text = said(english, tag, locales)?;
            out.push_str(&format!("<p lang=\"{tag}\">{text}</p>"));
        }
        out.push_str(rest);
    }
    Ok(out)
}

fn said<'a>(english: &str, tag: &str, locales: &'a Locales) -> Result<&'a str, String> {
    let text = locales[tag].get(english);
    let lacking = || format!("{LOCALES}/{tag}.toml lacks {english:?}");
    text.map(String::as_str).ok_or_else(lacking)
}

fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn some() -> Locales {
        let words = [("Wait", "Warten"), ("No \\ \"", "Kein \\ \"")];
        let words = words.map(|(english, text)| (english.to_owned(), text.to_owned()));
        Locales::from([("de".to_owned(), BTreeMap::from(words))])
    }

    #[test]
    fn what_is_marked_is_in_the_table() {
        let page = "<main data-refused=\"Wait\"><p data-say>No \\ \"</p></main>";
        assert_eq!(
            table(page, &some()).as_deref(),
            Ok(r#"{"de":{"No \\ \"":"Kein \\ \"","Wait":"Warten"}}"#)
        );
        let unknown = table("<p data-say>Go</p>", &some());
        assert!(unknown.unwrap_err().contains("de.toml lacks \"Go\""));
    }

    #[test]
    fn what_no_script_can_change_is_said_in_each_language() {
        let page = "<noscript><!--keyproof:each-->Wait<!----></noscript>";
        assert_eq!(
            said_in_each(page, &some()).as_deref(),
            Ok("<noscript><p lang=\"en\">Wait</p><p lang=\"de\">Warten</p></noscript>")
        );
    }
}
