//! Measures the core and prints the figures for a person to read, as ratios
//! wherever two things can be measured in one run.
//!
//! `keyproof-bench PART WASM [--quick]`, run from the project's top folder;
//! `cargo xtask bench` builds what it needs. WASM is this crate compiled for
//! the browser.

mod engine;
mod part;
mod print;

use std::process::ExitCode;

/// What a part is told.
pub struct Setting {
    /// This crate as wasm.
    pub wasm: String,
    /// Small samples.
    pub quick: bool,
}

impl Setting {
    /// A size of sample: the whole, or the small one.
    pub fn of(&self, whole: usize, small: usize) -> usize {
        if self.quick { small } else { whole }
    }
}

fn main() -> ExitCode {
    let mut args: Vec<String> = std::env::args().skip(1).collect();
    let quick = args.iter().any(|arg| arg == "--quick");
    args.retain(|arg| arg != "--quick");
    let done = match &args[..] {
        [part, wasm] => part::run(
            part,
            &Setting {
                wasm: wasm.clone(),
                quick,
            },
        ),
        _ => Err("keyproof-bench PART WASM [--quick]".to_owned()),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(fault) => {
            eprintln!("keyproof-bench: {fault}");
            ExitCode::FAILURE
        }
    }
}
