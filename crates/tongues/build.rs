//! Reads the files of `web/locales` into tables: a new language is a new file.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::{env, fs};

/// English texts and what they are in the language, by the part of the file.
type Parts = BTreeMap<String, BTreeMap<String, String>>;

fn main() {
    let folder = Path::new("../../web/locales");
    println!("cargo::rerun-if-changed={}", folder.display());
    let entries = fs::read_dir(folder).expect("the folder of languages");
    let mut files: Vec<PathBuf> = entries.map(|e| e.expect("a file").path()).collect();
    files.sort();
    let mut tables = String::from("&[\n");
    for file in files {
        let text = fs::read_to_string(&file).expect("a file that can be read");
        let parts: Parts =
            toml::from_str(&text).unwrap_or_else(|fault| panic!("{}: {fault}", file.display()));
        let tag = file.file_stem().expect("a name").to_string_lossy();
        writeln!(tables, "Locale {{ tag: {tag:?}, student: &[").expect("text");
        list(&parts, "student", &mut tables);
        tables.push_str("], other: &[\n");
        list(&parts, "other", &mut tables);
        tables.push_str("] },\n");
    }
    tables.push(']');
    let out = PathBuf::from(env::var_os("OUT_DIR").expect("the folder to write to"));
    fs::write(out.join("locales.rs"), tables).expect("the tables can be written");
}

/// A part of a file as pairs, sorted by the English text.
fn list(parts: &Parts, name: &str, tables: &mut String) {
    for pair in parts.get(name).into_iter().flatten() {
        writeln!(tables, "{pair:?},").expect("text");
    }
}
