//! What is given out: page, element, command, wheel and npm package, and the source that
//! whoever gives them out must be able to give as well.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::shell::{Done, command, copy, dist, output, read, root, run, target, tools, write};
use crate::{archive, libraries, pages, setup};

/// The file with the sums of all others, as `sha256sum --check` reads it.
const SUMS: &str = "SHA256SUMS";

/// Builds all and lays what is given out into `dist/release`, with its checksums.
///
/// # Errors
/// Changes that are not committed: the source would not be that of the program.
pub fn release() -> Done {
    all_is_committed()?;
    pages::build_all()?;
    libraries::wheel()?;
    libraries::package()?;
    let release = dist().join("release");
    if release.exists() {
        std::fs::remove_dir_all(&release)
            .map_err(|fault| format!("{}: {fault}", release.display()))?;
    }
    let built = ["keyproof.html", pages::ELEMENT, "keyproof", archive::NAME];
    let mut given_out: Vec<PathBuf> = built.iter().map(|name| dist().join(name)).collect();
    given_out.extend([libraries::made()?, root().join("LICENSE")]);
    for path in given_out {
        copy(&path, &release.join(path.file_name().unwrap_or_default()))?;
    }
    run(command("npm")
        .args(["pack", "--silent", "--pack-destination"])
        .args([&release, &dist().join("npm")]))?;
    let sums = sums(&release)?;
    write(&release.join(SUMS), &sums)?;
    print!("dist/release\n{sums}");
    Ok(())
}

fn all_is_committed() -> Done {
    let changes = output(command("git").args(["status", "--porcelain"]));
    let changes = changes.ok_or("a release is made of a git repository, and this is none")?;
    match changes.is_empty() {
        true => Ok(()),
        false => Err(format!(
            "a release is made of what is committed, and this is not:\n{changes}"
        )),
    }
}

/// The sums of all files of a folder, by name.
fn sums(folder: &Path) -> Result<String, String> {
    let entries =
        std::fs::read_dir(folder).map_err(|fault| format!("{}: {fault}", folder.display()))?;
    let mut names: Vec<_> = entries.flatten().map(|entry| entry.file_name()).collect();
    names.sort();
    let sums = output(command("sha256sum").args(names).current_dir(folder));
    Ok(sums.ok_or("sha256sum cannot be run")? + "\n")
}

/// Makes the release of what is committed twice, of two clones in folders of their own, and
/// compares them byte by byte. Both take the tools of this clone.
///
/// # Errors
/// The files that differ.
pub fn twice() -> Done {
    all_is_committed()?;
    let apart = target().join("twice");
    forget(&apart)?;
    // Both before either is built: what is committed meanwhile is another source.
    let clones = ["a", "another/and-longer"].map(|folder| apart.join(folder));
    for clone in &clones {
        run(command("git")
            .args(["clone", "--quiet", "--no-hardlinks"])
            .args([root(), clone]))?;
        if tools().is_dir() {
            run(command("cp")
                .arg("-r")
                .args([&tools(), &clone.join(".tools")]))?;
        }
    }
    let mut made = Vec::new();
    for clone in &clones {
        run(Command::new("cargo")
            .args(["xtask", "release"])
            .current_dir(clone)
            .env_remove("CARGO_TARGET_DIR"))?;
        made.push(by_name(&read(&clone.join("dist/release").join(SUMS))?));
    }
    let differ: Vec<&str> = (made[0].iter())
        .filter(|(name, sum)| made[1].get(*name) != Some(*sum))
        .map(|(name, _)| name.as_str())
        .collect();
    if made[0].len() == made[1].len() && differ.is_empty() {
        println!("{} files are the same in both clones", made[0].len());
        return forget(&apart);
    }
    Err(format!(
        "these differ, or are in one alone: {}; see {}",
        differ.join(", "),
        apart.display()
    ))
}

/// Sums by the names of the files.
fn by_name(sums: &str) -> BTreeMap<String, String> {
    let lines = sums.lines().filter_map(|line| line.split_once("  "));
    lines
        .map(|(sum, name)| (name.to_owned(), sum.to_owned()))
        .collect()
}

/// Holds `deny.toml` against all libraries with cargo-deny: licences, what is here twice,
/// where it comes from; and advisories, where a database of them lies on this machine.
///
/// # Errors
/// What cargo-deny finds.
pub fn deny() -> Done {
    setup::deny()?;
    let check = |what: &[&str]| {
        let mut deny = command("cargo-deny");
        deny.args(["--locked", "--offline", "check"]);
        run(deny.args(what))
    };
    check(&["licenses", "bans", "sources"])?;
    let database = pages::cargo_home()?.join("advisory-dbs");
    if database.is_dir() {
        return check(&["advisories"]);
    }
    println!(
        "advisories are not looked up: there is no {} (`cargo deny fetch` brings it)",
        database.display()
    );
    Ok(())
}

fn forget(folder: &Path) -> Done {
    match folder.exists() {
        true => std::fs::remove_dir_all(folder)
            .map_err(|fault| format!("{}: {fault}", folder.display())),
        false => Ok(()),
    }
}
