//! The walls of the house: what the code map of `DEVELOPERS.md` allows each
//! crate, held against what cargo and the sources say.

mod source;

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;
use source::{Sources, circles};

/// Crates that speak to a browser, by how their names begin.
const BROWSER: [&str; 6] = ["wasm-bindgen", "web-sys", "js-sys", "gloo", "yew", "idb"];

/// Parts of the standard library that read a clock, files, or what else is
/// outside.
const OUTSIDE: [&str; 5] = ["time", "fs", "net", "env", "process"];

/// What the student's page must never carry.
const NOT_FOR_STUDENTS: [&str; 7] = [
    "tables", "search", "check", "explain", "moments", "export", "keyproof",
];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// By room: what the code map allows it to use.
fn code_map() -> BTreeMap<String, BTreeSet<String>> {
    let text = std::fs::read_to_string(root().join("DEVELOPERS.md")).expect("DEVELOPERS.md");
    let rows = text
        .lines()
        .filter_map(|line| line.strip_prefix("| `crates/"));
    let map: BTreeMap<_, _> = rows
        .map(|row| {
            let cells: Vec<&str> = row.split(" |").collect();
            let name = cells[0].trim_end_matches('`').to_owned();
            let uses = cells.get(2).unwrap_or_else(|| panic!("{row}"));
            let uses = uses.split(',').map(|name| name.trim().to_owned());
            (name, uses.filter(|name| !name.is_empty()).collect())
        })
        .collect();
    assert!(map.len() > 15, "{map:?}");
    map
}

/// The workspace as cargo resolves it for a browser and for this project's machines.
struct Workspace {
    metadata: Value,
}

impl Workspace {
    fn read() -> Workspace {
        let output = Command::new(env!("CARGO"))
            .args([
                "metadata",
                "--format-version",
                "1",
                "--locked",
                "--all-features",
            ])
            .args(["--filter-platform", "wasm32-unknown-unknown"])
            .args(["--filter-platform", "x86_64-unknown-linux-gnu"])
            .current_dir(root())
            .output()
            .expect("cargo");
        let errors = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "{errors}");
        let metadata = serde_json::from_slice(&output.stdout).expect("metadata");
        Workspace { metadata }
    }

    fn packages(&self) -> &[Value] {
        self.metadata["packages"].as_array().expect("packages")
    }

    /// Our crates by their folders: the name of each package, and its manifest.
    fn rooms(&self) -> BTreeMap<String, &Value> {
        let ours = self.packages().iter().filter(|p| p["source"].is_null());
        ours.filter_map(|package| {
            let manifest = Path::new(package["manifest_path"].as_str()?);
            let folder = manifest.parent()?;
            let room = folder.file_name()?.to_str()?.to_owned();
            folder
                .parent()?
                .ends_with("crates")
                .then_some((room, package))
        })
        .collect()
    }

    /// The packages that one is built of, itself left out, by name.
    fn built_of(&self, package: &Value) -> BTreeSet<&str> {
        let nodes = self.metadata["resolve"]["nodes"].as_array().expect("nodes");
        let used = |id: &Value| {
            let node = nodes.iter().find(|node| node["id"] == *id).expect("a node");
            let uses = node["deps"].as_array().expect("deps").iter();
            uses.filter(|dep| {
                let mut kinds = dep["dep_kinds"].as_array().expect("kinds").iter();
                kinds.any(|kind| kind["kind"].is_null())
            })
        };
        let mut found = BTreeSet::new();
        let mut todo = vec![&package["id"]];
        while let Some(id) = todo.pop() {
            for dep in used(id) {
                if found.insert(dep["pkg"].as_str().expect("an id")) {
                    todo.push(&dep["pkg"]);
                }
            }
        }
        let built = self.packages().iter();
        built
            .filter(|p| found.contains(p["id"].as_str().expect("an id")))
            .map(|p| p["name"].as_str().expect("a name"))
            .collect()
    }

    /// The rooms of which the core and the desk are made, and what libraries do.
    fn plain(&self) -> Vec<String> {
        let rooms = self.rooms();
        let built = self.built_of(rooms["desk"]);
        let inside = |name: &&String| built.contains(rooms[*name]["name"].as_str().expect("name"));
        let mut plain: Vec<String> = rooms.keys().filter(inside).cloned().collect();
        plain.extend(["desk", "tasks"].map(str::to_owned));
        for name in ["model", "keyproof", "certify", "second"] {
            assert!(plain.iter().any(|room| room == name), "{plain:?}");
        }
        plain
    }
}

#[test]
fn each_crate_uses_what_the_code_map_allows() {
    let workspace = Workspace::read();
    let rooms = workspace.rooms();
    let by_path: BTreeMap<&str, &String> = rooms
        .iter()
        .map(|(room, package)| (package["name"].as_str().expect("a name"), room))
        .collect();
    let mut used = BTreeMap::new();
    for (room, package) in &rooms {
        let deps = package["dependencies"].as_array().expect("dependencies");
        let built = deps.iter().filter(|dep| dep["kind"].is_null());
        let ours = built.filter_map(|dep| by_path.get(dep["name"].as_str()?));
        let ours: BTreeSet<String> = ours.map(|room| (*room).clone()).collect();
        used.insert(room.clone(), ours);
    }
    assert_eq!(used, code_map(), "left: Cargo.toml, right: DEVELOPERS.md");
}

#[test]
fn the_students_page_carries_nothing_that_searches_or_checks() {
    let workspace = Workspace::read();
    let rooms = workspace.rooms();
    let built = workspace.built_of(rooms["widget"]);
    for room in NOT_FOR_STUDENTS {
        let name = rooms[room]["name"].as_str().expect("a name");
        assert!(!built.contains(name), "the widget is built of {name}");
    }
}

#[test]
fn the_checker_of_certificates_uses_nothing_of_ours() {
    let workspace = Workspace::read();
    let certify = workspace.rooms()["certify"];
    let deps = certify["dependencies"].as_array().expect("dependencies");
    let names: Vec<&str> = deps.iter().filter_map(|dep| dep["name"].as_str()).collect();
    assert_eq!(names, ["shakmaty"]);
}

#[test]
fn core_and_desk_ask_for_no_browser() {
    let workspace = Workspace::read();
    let rooms = workspace.rooms();
    for room in workspace.plain() {
        let deps = rooms[&room]["dependencies"].as_array().expect("deps");
        let mut names = deps.iter().filter_map(|dep| dep["name"].as_str());
        let found = names.find(|name| BROWSER.iter().any(|browser| name.starts_with(browser)));
        assert_eq!(found, None, "in {room}");
    }
}

#[test]
fn core_and_desk_read_no_clock_and_no_file() {
    for room in Workspace::read().plain() {
        let sources = Sources::of(&root().join("crates").join(&room));
        for (module, path) in sources.paths() {
            let outside = path[0] == "std" && path.get(1).is_some_and(|p| OUTSIDE.contains(&&**p));
            assert!(!outside, "{room}: {} in {module:?}", path.join("::"));
        }
    }
}

#[test]
fn no_import_goes_in_a_circle() {
    let workspace = Workspace::read();
    let mut found = Vec::new();
    for room in workspace.rooms().keys() {
        let sources = Sources::of(&root().join("crates").join(room));
        let circles = circles(&sources).into_iter();
        found.extend(circles.map(|circle| format!("{room}: {circle}")));
    }
    assert!(found.is_empty(), "\n{}", found.join("\n"));
}

#[test]
fn a_view_does_not_import_the_edge() {
    let sources = Sources::of(&root().join("crates/author"));
    let mut seen = 0;
    for (module, path) in sources.paths() {
        if module.first().is_some_and(|first| first == "view") {
            seen += 1;
            assert!(
                !path.iter().any(|name| name == "edge"),
                "{module:?}: {path:?}"
            );
        }
    }
    assert!(seen > 100, "{seen} paths in views");
}

/// A function is read as a whole: it has less than 80 lines. The search alone has longer
/// ones, where parts would need most of what the whole knows.
#[test]
fn no_function_is_long() {
    let mut long = Vec::new();
    for room in Workspace::read().rooms().keys().filter(|r| *r != "search") {
        let sources = Sources::of(&root().join("crates").join(room));
        let functions = sources.functions().filter(|(_, lines)| *lines >= 80);
        long.extend(functions.map(|(name, lines)| format!("{lines} {room}{name}")));
    }
    long.sort();
    assert!(long.is_empty(), "{long:#?}");
}

/// What `deny.toml` has by this name in one of its tables.
fn allowed(table: &str, name: &str) -> Vec<toml::Value> {
    let text = std::fs::read_to_string(root().join("deny.toml")).expect("deny.toml");
    let paper: toml::Table = text.parse().expect("TOML");
    let list = paper[table][name].as_array();
    list.expect("a list").clone()
}

/// Whether a licence, as SPDX writes such expressions, goes together with ours: one of
/// each choice, and all that hold at once.
fn goes_with_ours(expression: &str) -> bool {
    let licences = allowed("licenses", "allow");
    let known = |one: &str| licences.iter().any(|known| known.as_str() == Some(one));
    let plain = expression.replace(" / ", " OR ").replace('/', " OR ");
    let at_once = plain.split(" AND ");
    at_once
        .map(|part| part.trim_matches(['(', ')']))
        .all(|part| part.split(" OR ").any(known))
}

#[test]
fn every_licence_goes_with_ours() {
    assert!(goes_with_ours("(MIT OR Apache-2.0) AND Unicode-3.0"));
    assert!(!goes_with_ours("(MIT OR Apache-2.0) AND SSPL-1.0"));
    let workspace = Workspace::read();
    assert!(workspace.packages().len() > 300);
    for package in workspace.packages() {
        let licence = package["license"].as_str().unwrap_or("none named");
        assert!(goes_with_ours(licence), "{}: {licence}", package["name"]);
    }
}

/// A library may be here in an older version as well where `deny.toml` says for whom; and
/// what it names is here.
#[test]
fn no_library_is_here_twice_without_a_reason() {
    let named = allowed("bans", "skip");
    let mut older = BTreeSet::new();
    for entry in &named {
        assert!(entry["reason"].as_str().expect("a reason").len() > 3);
        older.insert(entry["crate"].as_str().expect("a name").to_owned());
    }
    let workspace = Workspace::read();
    let mut versions: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for package in workspace.packages() {
        let name = package["name"].as_str().expect("a name");
        let version = package["version"].as_str().expect("a version");
        versions.entry(name).or_default().push(version);
    }
    // As a requirement has it: what may be exchanged for it has the same.
    let begins = |version: &str| match version.split('.').collect::<Vec<_>>()[..] {
        ["0", minor, ..] => format!("0.{minor}"),
        [major, ..] => major.to_owned(),
        [] => unreachable!("splitting gives a part"),
    };
    let mut found = BTreeSet::new();
    for (name, versions) in versions.iter().filter(|(_, all)| all.len() > 1) {
        let all = versions.iter().map(|v| format!("{name}@{}", begins(v)));
        let (skipped, kept): (Vec<_>, Vec<_>) = all.partition(|one| older.contains(one));
        assert!(kept.len() <= 1, "{name} is here in {versions:?}");
        found.extend(skipped);
    }
    assert_eq!(found, older, "left: what is here twice, right: deny.toml");
}

/// Nothing comes from anywhere but crates.io.
#[test]
fn every_library_is_from_the_one_registry() {
    for package in Workspace::read().packages() {
        let source = package["source"].as_str();
        let known = "registry+https://github.com/rust-lang/crates.io-index";
        assert!(
            source.is_none_or(|source| source == known),
            "{}",
            package["name"]
        );
    }
}

#[test]
fn each_library_is_here_for_a_reason() {
    let text = std::fs::read_to_string(root().join("DEVELOPERS.md")).expect("DEVELOPERS.md");
    let (_, libraries) = text.split_once("\n## Libraries\n").expect("the libraries");
    let rows = libraries.lines().filter_map(|line| {
        let (names, why) = line.strip_prefix("| ")?.split_once(" | ")?;
        (names.starts_with('`') && why.len() > 10).then_some(names)
    });
    let named: BTreeSet<&str> = rows
        .flat_map(|names| names.split(", ").map(|name| name.trim_matches('`')))
        .collect();
    let workspace = Workspace::read();
    let rooms = workspace
        .packages()
        .iter()
        .filter(|p| p["source"].is_null());
    let used: BTreeSet<&str> = rooms
        .flat_map(|package| package["dependencies"].as_array().expect("dependencies"))
        .filter(|dep| !dep["source"].is_null())
        .map(|dep| dep["name"].as_str().expect("a name"))
        .collect();
    assert_eq!(named, used);
}
