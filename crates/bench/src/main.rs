//! Measures the core and prints the figures for a person to read, as ratios
//! wherever two things can be measured in one run.
//!
//! `keyproof-bench PART WASM [--quick] [--NAME=VALUE...]`, run from the project's top
//! folder; `cargo xtask bench` builds what it needs. WASM is this crate compiled for
//! the browser; the parts that measure natively alone do not read it.

mod engine;
mod part;
mod print;

use std::collections::HashMap;
use std::process::ExitCode;

/// What a part is told.
pub struct Setting {
    /// This crate as wasm.
    pub wasm: String,
    /// Small samples.
    pub quick: bool,
    /// What else is asked of a part, by name.
    pub options: HashMap<String, String>,
}

impl Setting {
    /// A size of sample: the whole, or the small one.
    pub fn of(&self, whole: usize, small: usize) -> usize {
        if self.quick { small } else { whole }
    }

    /// An option that is a number.
    pub fn number(&self, name: &str) -> Result<Option<usize>, String> {
        let number = self.options.get(name).map(|text| {
            let number = text.parse();
            number.map_err(|_| format!("--{name} takes a number, not {text:?}"))
        });
        number.transpose()
    }
}

/// The options among the words of a command, taken out of them.
fn options(args: &mut Vec<String>) -> HashMap<String, String> {
    let option = |arg: &String| {
        let (name, value) = arg.strip_prefix("--")?.split_once('=')?;
        Some((name.to_owned(), value.to_owned()))
    };
    let found = args.iter().filter_map(option).collect();
    args.retain(|arg| option(arg).is_none());
    found
}

fn main() -> ExitCode {
    let mut args: Vec<String> = std::env::args().skip(1).collect();
    let quick = args.iter().any(|arg| arg == "--quick");
    args.retain(|arg| arg != "--quick");
    let options = options(&mut args);
    let done = match &args[..] {
        [part, wasm] => part::run(
            part,
            &Setting {
                wasm: wasm.clone(),
                quick,
                options,
            },
        ),
        _ => Err("keyproof-bench PART WASM [--quick] [--NAME=VALUE...]".to_owned()),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(fault) => {
            eprintln!("keyproof-bench: {fault}");
            ExitCode::FAILURE
        }
    }
}
