//! The targets for a fuzzer guided by coverage. Which one is run is said in the
//! environment, since libFuzzer reads the arguments: `KEYPROOF_FUZZ` names it, and its
//! seeds are laid into the folder that `KEYPROOF_SEEDS` names. `list` prints the names.

#![no_main]

use std::sync::OnceLock;

use fuzz::{TARGETS, Target};
use libfuzzer_sys::fuzz_target;

fn chosen() -> Target {
    static CHOSEN: OnceLock<Target> = OnceLock::new();
    *CHOSEN.get_or_init(|| {
        let name = std::env::var("KEYPROOF_FUZZ").unwrap_or_default();
        let found = TARGETS.into_iter().find(|target| target.name == name);
        let names: Vec<&str> = TARGETS.iter().map(|target| target.name).collect();
        if name == "list" {
            println!("{}", names.join("\n"));
            std::process::exit(0);
        }
        found.unwrap_or_else(|| panic!("KEYPROOF_FUZZ names a target: {}", names.join(", ")))
    })
}

fn begin() {
    let seeds = (chosen().seeds)();
    let Some(folder) = std::env::var_os("KEYPROOF_SEEDS").map(std::path::PathBuf::from) else {
        return;
    };
    for (number, seed) in seeds.into_iter().enumerate() {
        let file = folder.join(format!("seed-{number}"));
        std::fs::write(&file, seed).unwrap_or_else(|fault| panic!("{}: {fault}", file.display()));
    }
}

fuzz_target!(init: { begin() }, |bytes: &[u8]| (chosen().run)(bytes));
