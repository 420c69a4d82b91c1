//! Running programs and finding folders, for all chores.

use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// A chore is done, or a sentence tells why not.
pub type Done = Result<(), String>;

/// The top folder of the project.
pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .ancestors()
        .nth(2)
        .expect("crates/xtask lies two folders deep")
}

/// Where tools live that belong to this clone alone.
pub fn tools() -> PathBuf {
    root().join(".tools")
}

/// Where built pages go.
pub fn dist() -> PathBuf {
    root().join("dist")
}

/// Where cargo puts what it builds.
pub fn target() -> PathBuf {
    match std::env::var_os("CARGO_TARGET_DIR") {
        Some(dir) => root().join(dir),
        None => root().join("target"),
    }
}

/// A command that runs in the project's top folder and finds this clone's own
/// tools first.
pub fn command(program: &str) -> Command {
    let mut command = Command::new(program);
    command.current_dir(root()).env("PATH", search_path());
    command
}

/// The same, for a program that leaves the processor to whatever else is being made;
/// where the machine has no `nice`, like any other.
pub fn giving_way(program: &str) -> Command {
    if !has("nice") {
        return command(program);
    }
    let mut command = command("nice");
    command.args(["-n", "10", program]);
    command
}

/// The cargo that runs this program.
pub fn cargo() -> Command {
    command(&cargo_program())
}

/// Where that cargo is.
pub fn cargo_program() -> String {
    std::env::var("CARGO").unwrap_or_else(|_| "cargo".into())
}

/// Runs a command to its end, its output shown.
pub fn run(command: &mut Command) -> Done {
    let shown = words(command);
    eprintln!("$ {shown}");
    match command.status() {
        Ok(status) if status.success() => Ok(()),
        Ok(status) => Err(format!("`{shown}` failed ({status})")),
        Err(fault) => Err(format!("`{shown}` cannot be started: {fault}")),
    }
}

/// Runs a command that uses the network, and once more if it fails.
pub fn run_twice(mut make: impl FnMut() -> Command) -> Done {
    run(&mut make()).or_else(|fault| {
        eprintln!("{fault}; trying once more");
        std::thread::sleep(std::time::Duration::from_secs(3));
        run(&mut make())
    })
}

/// Does chores side by side, and tells the first that failed.
pub fn side_by_side<const N: usize>(chores: [&(dyn Fn() -> Done + Sync); N]) -> Done {
    std::thread::scope(|scope| {
        let running = chores.map(|chore| scope.spawn(chore));
        running
            .into_iter()
            .map(|chore| {
                chore
                    .join()
                    .unwrap_or_else(|_| Err("a chore broke down".into()))
            })
            .fold(Ok(()), Result::and)
    })
}

/// What a command prints, if it can be run and succeeds.
pub fn output(command: &mut Command) -> Option<String> {
    let output = command.stderr(Stdio::null()).output().ok()?;
    output
        .status
        .success()
        .then(|| String::from_utf8_lossy(&output.stdout).trim().to_owned())
}

/// Whether a program is found, in this clone's tools or on the machine.
pub fn has(program: &str) -> bool {
    std::env::split_paths(&search_path()).any(|dir| dir.join(program).is_file())
}

/// Reads a text file.
pub fn read(path: &Path) -> Result<String, String> {
    std::fs::read_to_string(path).map_err(|fault| format!("{}: {fault}", path.display()))
}

/// Reads a file.
pub fn read_bytes(path: &Path) -> Result<Vec<u8>, String> {
    std::fs::read(path).map_err(|fault| format!("{}: {fault}", path.display()))
}

/// Writes a file, and the folder it lies in where that is missing.
pub fn write(path: &Path, content: impl AsRef<[u8]>) -> Done {
    let parent = path.parent().unwrap_or(root());
    std::fs::create_dir_all(parent)
        .and_then(|()| std::fs::write(path, content))
        .map_err(|fault| format!("{}: {fault}", path.display()))
}

/// Copies a file, into a folder that is made where it is missing.
pub fn copy(from: &Path, to: &Path) -> Done {
    let parent = to.parent().unwrap_or(root());
    std::fs::create_dir_all(parent)
        .and_then(|()| std::fs::copy(from, to))
        .map(|_| ())
        .map_err(|fault| format!("{} to {}: {fault}", from.display(), to.display()))
}

fn search_path() -> OsString {
    let own = [tools().join("node/node_modules/.bin"), tools().join("bin")];
    let machine = std::env::var_os("PATH").unwrap_or_default();
    std::env::join_paths(own.into_iter().chain(std::env::split_paths(&machine)))
        .expect("folders without a colon in their name")
}

fn words(command: &Command) -> String {
    let program = Path::new(command.get_program());
    let name = program.file_name().unwrap_or(command.get_program());
    std::iter::once(name)
        .chain(command.get_args())
        .map(|word| word.to_string_lossy().into_owned())
        .collect::<Vec<_>>()
        .join(" ")
}
