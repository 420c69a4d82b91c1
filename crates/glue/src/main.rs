//! `keyproof-glue PROGRAM.wasm FOLDER NAME KIND` writes `NAME.js` and `NAME_bg.wasm` into the
//! folder: the script that stands between a page and its program, and the program as
//! that script calls it. The kind is `page` for a page that has no modules, or `web` for
//! an ES module. wasm-bindgen's own library does it, in the very version that
//! the pages are built with. It is a program of its own, apart from `xtask`, so that
//! it can be compiled while the pages are.

use std::process::ExitCode;

use wasm_bindgen_cli_support::Bindgen;

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
    bindgen
        .and_then(|bindgen| bindgen.generate(folder))
        .map_err(|fault| format!("{fault:#}"))
}
