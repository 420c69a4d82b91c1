//! `keyproof-glue PROGRAM.wasm FOLDER NAME KIND` writes `NAME.js` and `NAME_bg.wasm` into the
//! folder: the script that stands between a page and its program, and the program as
//! that script calls it. The kind is `page` for a page that has no modules, or `web` for
//! an ES module. wasm-bindgen's own library does it, in the very version that the pages
//! are built with; in a page the two then call each other by short names, where its names
//! have a print of each: a seventieth of the student's file. It is a program of its own,
//! apart from `xtask`, so that it can be compiled while the pages are.

use std::collections::BTreeMap;
use std::path::Path;
use std::process::ExitCode;

use wasm_bindgen_cli_support::{Bindgen, Output};

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [program, folder, name, kind] = args.as_slice() else {
        eprintln!("usage: keyproof-glue PROGRAM.wasm FOLDER NAME page|web");
        return ExitCode::FAILURE;
    };
    match write(program, folder, name, kind) {
        Ok(()) => ExitCode::SUCCESS,
        Err(fault) => {
            eprintln!("keyproof-glue: {program}: {fault}");
            ExitCode::FAILURE
        }
    }
}

/// Writes script and program.
fn write(program: &str, folder: &str, name: &str, kind: &str) -> Result<(), String> {
    let mut bindgen = Bindgen::new();
    bindgen.input_path(program).out_name(name).typescript(false);
    let bindgen = match kind {
        "page" => bindgen.no_modules(true),
        "web" => bindgen.web(true),
        other => return Err(format!("no such kind of script: {other}")),
    };
    let output = bindgen.and_then(|bindgen| bindgen.generate_output());
    let mut output = output.map_err(|fault| format!("{fault:#}"))?;
    let short = match kind {
        "page" => shorten(&mut output),
        _ => BTreeMap::new(),
    };
    output.emit(folder).map_err(|fault| format!("{fault:#}"))?;
    let script = Path::new(folder).join(format!("{name}.js"));
    std::fs::read_to_string(&script)
        .and_then(|text| std::fs::write(&script, renamed(&text, &short)))
        .map_err(|fault| format!("{}: {fault}", script.display()))
}

/// Gives short names to what the program asks of the script, and to what it has for the
/// script alone; tells them by the long ones. What our own scripts call keeps its name.
fn shorten(output: &mut Output) -> BTreeMap<String, String> {
    let mut short = BTreeMap::new();
    let mut rename = |name: &mut String| {
        let next = letters(short.len());
        let given = short.entry(std::mem::take(name)).or_insert(next);
        name.clone_from(given);
    };
    let program = output.wasm_mut();
    for asked in program.imports.iter_mut() {
        rename(&mut asked.name);
    }
    for had in program.exports.iter_mut() {
        if had.name.starts_with("__") || had.name.starts_with("wasm_bindgen") {
            rename(&mut had.name);
        }
    }
    short
}

/// The name of a number: a to z, then aa to zz, and so on.
fn letters(number: usize) -> String {
    let last = char::from(b'a' + (number % 26) as u8);
    match number / 26 {
        0 => last.to_string(),
        rest => letters(rest - 1) + &last.to_string(),
    }
}

/// A script in which some names are others.
fn renamed(script: &str, names: &BTreeMap<String, String>) -> String {
    let in_name = |c: char| c.is_alphanumeric() || c == '_' || c == '$';
    let mut text = String::with_capacity(script.len());
    let mut rest = script;
    while let Some(start) = rest.find(in_name) {
        let (before, from) = rest.split_at(start);
        let (name, after) = from.split_at(from.find(|c| !in_name(c)).unwrap_or(from.len()));
        text.push_str(before);
        text.push_str(names.get(name).map_or(name, String::as_str));
        rest = after;
    }
    text + rest
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_names_are_renamed() {
        let names = [("__get_1f", "a"), ("__get", "b")];
        let names = names.map(|(long, short)| (long.to_owned(), short.to_owned()));
        let script = "x={__get_1f:y,\"__get\":z};é.__get_1f();__get_1f2(my__get)";
        assert_eq!(
            renamed(script, &names.into()),
            "x={a:y,\"b\":z};é.a();__get_1f2(my__get)"
        );
    }

    #[test]
    fn each_number_has_a_name_of_its_own() {
        assert_eq!(
            [0, 25, 26, 27, 701, 702].map(letters),
            ["a", "z", "aa", "ab", "zz", "aaa"]
        );
        let all: std::collections::BTreeSet<String> = (0..2000).map(letters).collect();
        assert_eq!(all.len(), 2000);
    }
}
