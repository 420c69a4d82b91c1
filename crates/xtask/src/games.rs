//! Games that the search plays against itself: to learn its network from, and
//! to compare it with an earlier version. Playing is left to `crates/train`.

use std::path::{Path, PathBuf};

use crate::revision::{built, checked_out};
use crate::shell::{Done, cargo, command, output, read, read_bytes, root, run, target, write};

/// What `train` takes if nothing else is said: seconds of games on every core.
const SECONDS: u64 = 3600;
/// Nodes a move in the games of the reference, and in those of the network
/// learnt from them.
const NODES: [&str; 2] = ["500", "800"];
/// Positions to learn the reference evaluation from before the games, and
/// those that go on being learnt beside them, so that it is not forgotten.
const SPREAD: [&str; 2] = ["40000000", "4000000"];
/// How each network is learnt: epochs, rate, and what the result counts.
const LEARNT: [[&str; 3]; 3] = [
    ["3", "2e-3", "0"],
    ["24", "1e-3", "0.2"],
    ["24", "1e-3", "0.3"],
];
const NETWORK: &str = "crates/search/src/network.bin";

/// Plays games, learns from them, checks what was learnt against the program's
/// own arithmetic, and puts it where the search finds it.
pub fn train(args: &[&str]) -> Done {
    let seconds = match args {
        [] => SECONDS,
        ["--seconds", number] => number
            .parse()
            .map_err(|_| format!("--seconds takes a number, not {number:?}"))?,
        _ => return Err("train [--seconds N]".into()),
    };
    let python = python()?;
    let built = build()?;
    let folder = target().join("train");
    std::fs::create_dir_all(&folder).map_err(|fault| format!("{}: {fault}", folder.display()))?;
    let file = |name: &str| folder.join(name);
    let cores = std::thread::available_parallelism().map_or(1, |n| n.get());
    let cores = cores.to_string();
    let play = |to: &Path, nodes: &str, seed: &str, network: Option<&Path>| {
        let mut play = command(&built.join("selfplay").to_string_lossy());
        play.arg(to)
            .args(["seconds", &(seconds / 2).to_string(), nodes, &cores, seed])
            .args(network);
        run(&mut play)
    };
    let spread = |to: &Path, count: &str, seed: &str, games: &Path| {
        run(command(&built.join("spread").to_string_lossy())
            .arg(to)
            .args([count, &cores, seed])
            .arg(games))
    };
    let learn = |to: &Path, how: [&str; 3], start: &Path, from: &[&Path]| {
        run(command(&python)
            .current_dir(root())
            .args(["crates/train/train.py", "learn"])
            .arg(to)
            .args(how)
            .arg(start)
            .args(from))
    };
    let (games, wide, some) = (file("games.bin"), file("wide.bin"), file("some.bin"));
    play(&games, NODES[0], "1", None)?;
    spread(&wide, SPREAD[0], "2", &games)?;
    spread(&some, SPREAD[1], "4", &games)?;
    let (first, second, third) = (file("first.net"), file("second.net"), file("third.net"));
    learn(&first, LEARNT[0], Path::new("-"), &[&wide])?;
    learn(&second, LEARNT[1], &first, &[&games, &some])?;
    let more = file("more.bin");
    play(&more, NODES[1], "3", Some(&second))?;
    learn(&third, LEARNT[2], &second, &[&games, &more, &some])?;
    agree(&python, &built, &third, &more)?;
    std::fs::copy(&third, root().join(NETWORK)).map_err(|fault| fault.to_string())?;
    println!("{NETWORK} is new: compare it by `cargo xtask campaign match`, then commit it");
    Ok(())
}

/// Whether the program and NumPy make the same of a network, on some positions.
fn agree(python: &str, built: &Path, network: &Path, games: &Path) -> Done {
    let some = games.with_extension("some");
    let bytes = read_bytes(games)?;
    write(&some, &bytes[..bytes.len().min(40 * 1000)])?;
    let own = output(
        command(&built.join("values").to_string_lossy())
            .arg(network)
            .arg(&some),
    );
    let other = output(
        command(python)
            .current_dir(root())
            .args(["crates/train/train.py", "check"])
            .arg(network)
            .arg(&some),
    );
    match own.is_some() && own == other {
        true => Ok(()),
        false => Err("the program and train.py make different things of the network".into()),
    }
}

/// The programs of `crates/train`.
fn build() -> Result<PathBuf, String> {
    run(cargo().args([
        "build",
        "--quiet",
        "--release",
        "--package",
        "keyproof-train",
    ]))?;
    Ok(target().join("release"))
}

fn python() -> Result<String, String> {
    let python = std::env::var("KEYPROOF_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    match output(command(&python).args(["-c", "import torch, numpy"])) {
        Some(_) => Ok(python),
        None => Err(format!(
            "learning needs PyTorch and NumPy: {python} -m pip install torch numpy"
        )),
    }
}

/// A match of the search as it stands against that of an earlier revision, in
/// games from paired openings.
pub fn compare(args: &[&str]) -> Done {
    let usage = "campaign match REVISION [GAMES [ms|nodes N [SEED]]]";
    let [revision, rest @ ..] = args else {
        return Err(usage.into());
    };
    let standard = ["2000", "ms", "20", "1"];
    if rest.len() > standard.len() {
        return Err(usage.into());
    }
    let mut how = standard;
    how[..rest.len()].copy_from_slice(rest);
    let [games, unit, number, seed] = how;
    let programs = build()?;
    let new = player(root(), &target())?;
    let old = player(&checked_out(revision)?, &built())?;
    let cores = std::thread::available_parallelism().map_or(1, |n| n.get());
    run(command(&programs.join("matches").to_string_lossy())
        .arg(new)
        .arg(old)
        .args([games, unit, number, &cores.to_string(), seed]))
}

/// Builds the player of a checkout. One that has none yet gets this one's;
/// where the search was part of the core, under the names that it had there.
fn player(checkout: &Path, target: &Path) -> Result<PathBuf, String> {
    let (package, folder) = match checkout.join("crates/search").is_dir() {
        true => ("keyproof-search", "crates/search/examples"),
        false => ("keyproof", "crates/keyproof/examples"),
    };
    let file = checkout.join(folder).join("player.rs");
    if !file.is_file() {
        let text = read(&root().join("crates/search/examples/player.rs"))?;
        let text = match package {
            "keyproof" => text
                .replace("keyproof_search::", "keyproof::search::")
                .replace("use prove::", "use keyproof::prove::"),
            _ => text,
        };
        write(&file, text)?;
    }
    run(cargo()
        .current_dir(checkout)
        .args(["build", "--quiet", "--release", "--package", package])
        .args(["--example", "player", "--target-dir"])
        .arg(target))?;
    Ok(target.join("release/examples/player"))
}
