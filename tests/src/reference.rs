//! The reference library that outside checks compare with: the source
//! distribution of the PyPI package `chess` 1.11.2, which `cargo xtask setup`
//! puts into `.tools/`. A check that needs it fails with a clear message when
//! it is missing; none passes by leaving itself out.

use std::io::Write;
use std::path::PathBuf;
use std::process::{Command, Stdio};

use crate::root;

/// The folder of the source distribution.
pub fn dir() -> PathBuf {
    let dir = root().join(".tools/chess-1.11.2");
    assert!(
        dir.join("chess/__init__.py").is_file(),
        "{} is missing: run `cargo xtask setup` first",
        dir.display()
    );
    dir
}

/// A text file of the source distribution.
pub fn file(name: &str) -> String {
    let path = dir().join(name);
    std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

/// Runs a Python script of `tests/outside/` with the library in reach, gives
/// it `input` on standard input, and returns what it prints. It must succeed.
///
/// `KEYPROOF_PYTHON` names the Python to use; `python3` is the default.
pub fn python(script: &str, args: &[&str], input: &str) -> String {
    let (printed, code) = python_code(script, args, input);
    assert_eq!(code, 0, "{script} failed:\n{printed}");
    printed
}

/// As [`python`], with the code that the script exits with.
pub fn python_code(script: &str, args: &[&str], input: &str) -> (String, i32) {
    let python = std::env::var("KEYPROOF_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let mut child = Command::new(&python)
        .arg(root().join("tests/outside").join(script))
        .args(args)
        .env("PYTHONPATH", dir())
        .env("PYTHONDONTWRITEBYTECODE", "1")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap_or_else(|e| {
            panic!(
                "{python} cannot be started ({e}): \
                 run `cargo xtask setup`, or set KEYPROOF_PYTHON"
            )
        });
    let mut stdin = child.stdin.take().expect("a pipe");
    let input = input.to_owned();
    let feeder = std::thread::spawn(move || stdin.write_all(input.as_bytes()));
    let output = child.wait_with_output().expect("a running child");
    let ended = output.status;
    let code = ended
        .code()
        .unwrap_or_else(|| panic!("{script} failed: {ended}"));
    feeder
        .join()
        .expect("a thread that does not panic")
        .unwrap_or_else(|e| panic!("{script} did not read its input: {e}"));
    let printed = String::from_utf8(output.stdout).expect("UTF-8 from Python");
    (printed, code)
}
