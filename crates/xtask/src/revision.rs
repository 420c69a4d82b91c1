//! An earlier revision of the project, checked out beside this one.

use std::path::PathBuf;

use crate::shell::{command, output, run, target, tools};

/// Where what earlier revisions are built to lies, apart from what this one is.
pub fn built() -> PathBuf {
    target().join("revisions/target")
}

/// A copy of a revision, named as git names them, with this one's tools.
///
/// # Errors
/// Git knows no such revision, or cannot check it out.
pub fn checked_out(revision: &str) -> Result<PathBuf, String> {
    let commit = format!("{revision}^{{commit}}");
    let short = output(command("git").args(["rev-parse", "--short", "--verify", &commit]));
    let short = short.ok_or_else(|| format!("git knows no revision {revision}"))?;
    let folder = target().join("revisions").join(short);
    if !folder.is_dir() {
        run(command("git")
            .args(["worktree", "add", "--force", "--detach"])
            .arg(&folder)
            .arg(revision))?;
    }
    let own = folder.join(".tools");
    if tools().is_dir() && !own.exists() {
        std::os::unix::fs::symlink(tools(), &own)
            .map_err(|fault| format!("{}: {fault}", own.display()))?;
    }
    Ok(folder)
}
