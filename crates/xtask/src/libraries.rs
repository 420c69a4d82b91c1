//! The libraries for other languages: what is given out, and its tests, which see it as
//! whoever installs it does.

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::pages;
use crate::setup;
use crate::shell::{Done, command, dist, read, read_bytes, root, run, target, write};
use crate::stamp::when_stale;

/// Builds the wheel, which carries the student's page, into `dist/`.
pub fn wheel() -> Done {
    setup::for_wheels()?;
    pages::build_student()?;
    forget_wheels()?;
    let mut maturin = command(&setup::python().with_file_name("maturin").to_string_lossy());
    run(pages::given_out(&mut maturin)?
        .args(["build", "--quiet", "--release", "--locked", "--out"])
        .arg(dist())
        .args(["--manifest-path", "crates/python/Cargo.toml"]))?;
    println!("{}", made()?.display());
    Ok(())
}

/// The wheel in `dist/`.
pub fn made() -> Result<PathBuf, String> {
    let found = wheels()?.pop();
    found.ok_or_else(|| "there is no wheel in dist".to_owned())
}

fn wheels() -> Result<Vec<PathBuf>, String> {
    let folder = dist();
    let entries = std::fs::read_dir(&folder);
    let entries = entries.map_err(|fault| format!("{}: {fault}", folder.display()))?;
    let paths = entries.flatten().map(|entry| entry.path());
    Ok(paths
        .filter(|path| path.extension().is_some_and(|end| end == "whl"))
        .collect())
}

/// Removes earlier wheels, so that the one that is there is the one that was built.
fn forget_wheels() -> Done {
    for wheel in wheels()? {
        std::fs::remove_file(&wheel).map_err(|fault| format!("{}: {fault}", wheel.display()))?;
    }
    Ok(())
}

/// Installs the wheel into a clean environment and runs its tests there.
fn test_python() -> Result<PathBuf, String> {
    wheel()?;
    let python = installed()?;
    run(in_environment(&python).args(["-m", "unittest", "discover", "-s", "crates/python/tests"]))?;
    Ok(python)
}

/// A Python that has the wheel, and sees nothing of the sources.
pub fn python() -> Result<Command, String> {
    wheel()?;
    Ok(in_environment(&installed()?))
}

/// The Python of an environment with the wheel, made anew for each wheel, and what its
/// tests are held against.
fn installed() -> Result<PathBuf, String> {
    environment("wheel", &[TYPEGUARD, DASK])
}

/// The Python of an environment with the wheel, PyPI `chess` and these packages.
fn environment(name: &str, packages: &[&str]) -> Result<PathBuf, String> {
    let environment = target().join(name);
    let python = environment.join("bin/python");
    let wheel = made()?;
    let inputs = [&*wheel.to_string_lossy(), "crates/xtask/src/libraries.rs"];
    when_stale(name, &inputs, &python, || {
        run(command("python3")
            .args(["-m", "venv", "--clear"])
            .arg(&environment))?;
        let chess = setup::python_chess_dir();
        run(command(&python.to_string_lossy())
            .args(["-m", "pip", "install", "--quiet"])
            .args(packages)
            .args([&wheel, &chess]))
    })?;
    Ok(python)
}

/// The example for Spark, with Spark, which is half a gigabyte and takes Java.
pub fn test_spark() -> Done {
    setup::for_spark()?;
    wheel()?;
    pages::build_command()?;
    let python = environment("spark", &SPARK)?;
    run(in_environment(&python).arg("crates/python/tests/test_spark.py"))
}

/// Builds the npm package, which carries the element's script, into `dist/npm`.
pub fn package() -> Done {
    setup::for_packages()?;
    pages::build_student()?;
    let built = target().join("npm/pkg");
    run(command("wasm-pack")
        .args(["build", "crates/npm", "--mode", "no-install", "--no-pack"])
        .args(["--target", "web", "--out-name", "core", "--out-dir"])
        .arg(&built)
        .args(["--", "--locked"])
        .env("RUSTFLAGS", pages::without_paths()?))?;
    put_package(&built, &dist().join("npm"))
}

/// The same for tests, in a moment: of the program that cargo builds for tests, by the
/// library that the pages are built with, without wasm-pack and without optimising.
pub fn quick_package() -> Result<PathBuf, String> {
    pages::build_student()?;
    let folder = target().join("alike/plain");
    run(crate::shell::cargo()
        .args(["build", "--quiet", "--package", "keyproof-npm"])
        .args(["--target", "wasm32-unknown-unknown"])
        .env("RUSTFLAGS", "")
        .env("CARGO_TARGET_DIR", &folder))?;
    let program = folder.join("wasm32-unknown-unknown/debug/keyproof_npm.wasm");
    pages::packing_tools()?;
    let built = target().join("npm/quick");
    run(
        command(&target().join("debug/keyproof-glue").to_string_lossy())
            .args([&program, &built])
            .args(["core", "web"]),
    )?;
    let package = target().join("npm/keyproof");
    put_package(&built, &package)?;
    Ok(package)
}

/// Puts the package together from script and program as wasm-bindgen made them.
fn put_package(built: &Path, package: &Path) -> Done {
    let from = root().join("crates/npm/package");
    for name in ["index.js", "index.d.ts", "lesson.d.ts", "README.md"] {
        write(&package.join(name), read_bytes(&from.join(name))?)?;
    }
    for name in ["core.js", "core_bg.wasm"] {
        write(&package.join(name), read_bytes(&built.join(name))?)?;
    }
    write(
        &package.join("LICENSE"),
        read_bytes(&root().join("LICENSE"))?,
    )?;
    let lesson = read_bytes(&dist().join("keyproof-lesson.js"))?;
    write(&package.join("lesson.js"), lesson)?;
    let paper = read(&from.join("package.json"))?;
    let paper = paper.replace("\"VERSION\"", concat!('"', env!("CARGO_PKG_VERSION"), '"'));
    write(&package.join("package.json"), paper)?;
    let size = read_bytes(&package.join("core_bg.wasm"))?.len();
    println!(
        "{}: its program has {:.1} MB",
        package.display(),
        size as f64 / 1e6
    );
    Ok(())
}

/// What of the workspace is for other Rust programs, beside the rooms of the core.
const CRATES: [&str; 4] = ["certify", "second", "tongues", "tasks"];

/// Makes packages of the crates that are for others, as a registry would take them, and
/// compiles each as whoever gets it would.
pub fn crates() -> Done {
    let core = pages::CORE
        .iter()
        .filter_map(|room| room.strip_prefix("crates/"));
    let mut package = crate::shell::cargo();
    package.args(["package", "--quiet", "--locked", "--allow-dirty"]);
    for name in core.chain(CRATES) {
        match name {
            "keyproof" => package.args(["--package", name]),
            part => package.args(["--package", &format!("keyproof-{part}")]),
        };
    }
    run(&mut package)
}

/// Runs the package's tests under Node, and holds its types to what is called.
fn test_node() -> Result<PathBuf, String> {
    let package = quick_package()?;
    run(command("node")
        .args(["--test", "crates/npm/tests/"])
        .env("KEYPROOF_PACKAGE", &package))?;
    let typed = target().join("npm/types.mts");
    write(
        &typed,
        read_bytes(&root().join("crates/npm/tests/types.ts"))?,
    )?;
    run(command("tsc")
        .args([
            "--noEmit", "--strict", "--module", "nodenext", "--target", "es2022",
        ])
        .args(["--lib", "es2022,dom"])
        .arg(&typed))?;
    Ok(package)
}

/// All of them, and that the guide's table is true in each language.
pub fn test() -> Done {
    let python = test_python()?;
    let package = test_node()?;
    crates()?;
    pages::build_command()?;
    run(crate::shell::cargo()
        .args(["test", "--package", "keyproof-tests", "--test", "libraries"])
        .env("KEYPROOF_PYTHON", python)
        .env("KEYPROOF_PACKAGE", package))
}

/// Checks types at run time.
const TYPEGUARD: &str = "typeguard==4.6.1";
/// Spreads work over machines, for the examples.
const DASK: &str = "dask[distributed]==2026.8.0";
/// The same for lines that are piped, and what it hands frames of.
const SPARK: [&str; 3] = ["pyspark==4.3.0", "pandas==2.3.3", "pyarrow==26.0.1"];

/// A Python program that sees nothing of the sources.
fn in_environment(python: &Path) -> Command {
    let mut command = command(&python.to_string_lossy());
    command
        .current_dir(root())
        .env("PYTHONDONTWRITEBYTECODE", "1")
        .env_remove("PYTHONPATH");
    command
}
