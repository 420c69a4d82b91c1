//! Reads the files of `web/locales` (by a link, so that they are packaged), each language into one text with the same order: a
//! new language is a new file. A table of references to single texts would be larger, and
//! packs badly.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::{env, fs};

/// English texts and what they are in the language, by the part of the file.
type Parts = BTreeMap<String, BTreeMap<String, String>>;

fn main() {
    let folder = Path::new("locales");
    println!("cargo::rerun-if-changed={}", folder.display());
    let entries = fs::read_dir(folder).expect("the folder of languages");
    let mut files: Vec<PathBuf> = entries.map(|e| e.expect("a file").path()).collect();
    files.sort();
    let files: Vec<(String, Parts)> = files.iter().map(|file| read(file)).collect();
    let mut tables = String::from("Locales {\n");
    for part in PARTS {
        let all = files.iter().filter_map(|(_, parts)| parts.get(part));
        let english: BTreeSet<&str> = all
            .flat_map(|texts| texts.keys().map(String::as_str))
            .collect();
        writeln!(tables, "{part}: {},", joined(english.iter().copied())).expect("text");
        writeln!(tables, "{part}_in: &[").expect("text");
        for (_, parts) in &files {
            let texts = parts.get(part);
            let text = |english: &&str| {
                texts
                    .and_then(|t| t.get(*english))
                    .map_or("", String::as_str)
            };
            writeln!(tables, "{},", joined(english.iter().map(text))).expect("text");
        }
        tables.push_str("],\n");
    }
    let tags: Vec<&String> = files.iter().map(|(tag, _)| tag).collect();
    writeln!(tables, "tags: &{tags:?} }}").expect("text");
    let out = PathBuf::from(env::var_os("OUT_DIR").expect("the folder to write to"));
    fs::write(out.join("locales.rs"), tables).expect("the tables can be written");
}

/// The parts of a file.
const PARTS: [&str; 2] = ["student", "other"];

/// A file's tag, which it is named by, and what it says.
fn read(file: &Path) -> (String, Parts) {
    let text = fs::read_to_string(file).expect("a file that can be read");
    let parts = toml::from_str(&text).unwrap_or_else(|fault| panic!("{}: {fault}", file.display()));
    let tag = file.file_stem().expect("a name").to_string_lossy();
    (tag.into_owned(), parts)
}

/// Texts as one literal, with a NUL between them: written so that no digit behind it
/// makes it look like an octal escape.
fn joined<'a>(texts: impl Iterator<Item = &'a str>) -> String {
    let texts: Vec<&str> = texts.collect();
    assert!(texts.iter().all(|text| !text.contains('\0')), "{texts:?}");
    let escaped = texts.iter().map(|text| text.escape_debug().to_string());
    format!("\"{}\"", escaped.collect::<Vec<_>>().join("\\x00"))
}
