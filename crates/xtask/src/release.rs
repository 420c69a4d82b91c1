//! What is given out: the pages, the command, and the source that whoever gives them
//! out must be able to give as well.

use crate::shell::{Done, command, copy, dist, output, root, write};
use crate::{archive, pages};

/// What a release holds, as it lies in `dist/`.
const GIVEN_OUT: [&str; 4] = ["keyproof.html", pages::ELEMENT, "keyproof", archive::NAME];

/// The file with the sums of all others, as `sha256sum --check` reads it.
const SUMS: &str = "SHA256SUMS";

/// Builds all and lays what is given out into `dist/release`, with its checksums.
///
/// # Errors
/// Changes that are not committed: the source would not be that of the program.
pub fn release() -> Done {
    let changes = output(command("git").args(["status", "--porcelain"]));
    let changes = changes.ok_or("a release is made of a git repository, and this is none")?;
    if !changes.is_empty() {
        return Err(format!(
            "a release is made of what is committed, and this is not:\n{changes}"
        ));
    }
    pages::build_all()?;
    let release = dist().join("release");
    if release.exists() {
        std::fs::remove_dir_all(&release)
            .map_err(|fault| format!("{}: {fault}", release.display()))?;
    }
    for name in GIVEN_OUT {
        copy(&dist().join(name), &release.join(name))?;
    }
    copy(&root().join("LICENSE"), &release.join("LICENSE"))?;
    let names = GIVEN_OUT.into_iter().chain(["LICENSE"]);
    let sums = output(command("sha256sum").args(names).current_dir(&release));
    let sums = sums.ok_or("sha256sum cannot be run")?;
    write(&release.join(SUMS), format!("{sums}\n"))?;
    println!("dist/release\n{sums}");
    Ok(())
}
