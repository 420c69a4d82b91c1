//! Knowing what is stale: a stamp holds a hash of everything that went into a
//! product, so a step runs again only when its inputs changed.

use std::collections::hash_map::DefaultHasher;
use std::hash::{Hash, Hasher};
use std::path::{Path, PathBuf};

use crate::shell::{Done, root, target, write};

/// Runs `step` unless its product exists and was made from the same inputs.
/// `inputs` are files and folders below the project's top folder; what is
/// missing there counts as missing and is no error.
pub fn when_stale(
    name: &str,
    inputs: &[&str],
    product: &Path,
    step: impl FnOnce() -> Done,
) -> Done {
    let stamp = target().join("stamps").join(name);
    let now = format!("{:016x}", hash(inputs)?);
    if product.exists() && std::fs::read_to_string(&stamp).is_ok_and(|then| then == now) {
        return Ok(());
    }
    step()?;
    write(&stamp, now)
}

fn hash(inputs: &[&str]) -> Result<u64, String> {
    let mut files: Vec<PathBuf> = Vec::new();
    let mut folders: Vec<PathBuf> = inputs.iter().map(|input| root().join(input)).collect();
    while let Some(path) = folders.pop() {
        if path.is_dir() {
            let entries =
                std::fs::read_dir(&path).map_err(|fault| format!("{}: {fault}", path.display()))?;
            folders.extend(entries.flatten().map(|entry| entry.path()));
        } else if path.is_file() {
            files.push(path);
        }
    }
    files.sort();
    let mut hasher = DefaultHasher::new();
    for file in files {
        file.strip_prefix(root()).unwrap_or(&file).hash(&mut hasher);
        std::fs::read(&file)
            .map_err(|fault| format!("{}: {fault}", file.display()))?
            .hash(&mut hasher);
    }
    Ok(hasher.finish())
}
