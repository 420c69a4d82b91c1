//! The program's source as one file.

use std::path::Path;

use crate::shell::{Done, command, copy, dist, output, root, run, target};

/// What the source is called, beside the author's page, which names it.
pub const NAME: &str = "keyproof-source.tar.gz";

/// Writes the source of what is committed, the same bytes wherever it is done, and all
/// that is needed to build the pages again: `Cargo.lock` names the libraries. Without
/// a repository (in an unpacked source) there is nothing to write it from.
pub fn source() -> Done {
    let inside = output(command("git").args(["rev-parse", "--show-toplevel"]));
    if inside.is_none_or(|top| Path::new(&top) != root()) {
        eprintln!("no git repository: {NAME} is not written");
        return Ok(());
    }
    let prefix = format!("--prefix=keyproof-{}/", env!("CARGO_PKG_VERSION"));
    let packed = target().join(NAME);
    run(command("git")
        .args(["archive", "--format=tar.gz", &prefix, "-o"])
        .arg(&packed)
        .arg("HEAD"))?;
    copy(&packed, &dist().join(NAME))
}

#[cfg(test)]
mod tests {
    use std::process::Command;

    use super::*;

    #[test]
    fn the_authors_page_names_it() {
        let page = std::fs::read_to_string(root().join("web/author.html")).expect("the page");
        assert!(page.contains(&format!("href=\"{NAME}\"")));
    }

    /// Read by tar, the source holds what git keeps.
    #[test]
    fn the_source_is_what_is_committed() {
        let tracked = output(command("git").args(["ls-tree", "-r", "--name-only", "HEAD"]));
        let Some(tracked) = tracked else {
            return;
        };
        source().expect("an archive");
        let list = Command::new("tar")
            .arg("tzf")
            .arg(dist().join(NAME))
            .output()
            .expect("tar");
        let list = String::from_utf8(list.stdout).expect("names");
        let prefix = format!("keyproof-{}/", env!("CARGO_PKG_VERSION"));
        let mut packed: Vec<&str> = list
            .lines()
            .filter(|name| !name.ends_with('/') && *name != "pax_global_header")
            .map(|name| name.strip_prefix(&prefix).expect("one folder"))
            .collect();
        let mut tracked: Vec<&str> = tracked.lines().collect();
        packed.sort_unstable();
        tracked.sort_unstable();
        assert_eq!(packed, tracked);
    }
}
