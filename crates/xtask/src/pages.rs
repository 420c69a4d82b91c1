//! Building the pages: each is one HTML file with its program inside.
//!
//! A crate becomes wasm and glue script (cargo, `crates/glue`, wasm-opt, esbuild). They
//! are packed with the style sheet into the thin page of `web/`, which itself
//! has only the style it needs before its program is there. Each step runs
//! only when what goes into it has changed, and waits for no tool that it does not use.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

use crate::archive;
use crate::guide;
use crate::pack::pack;
use crate::setup;
use crate::shell::{
    self, Done, command, copy, dist, giving_way, output, read, read_bytes, root, run, side_by_side,
    target, write,
};
use crate::stamp::when_stale;
use crate::template::fill;
use crate::words;

/// Bytes that a student's file with one puzzle may have.
const STUDENT_BUDGET: usize = 148_200;

/// The same for the demo lesson of twelve puzzles, and for the element's script.
const LESSON_BUDGET: usize = 200_000;
const ELEMENT_BUDGET: usize = 141_400;

/// The rooms of the core.
pub const CORE: &[&str] = &[
    "crates/model",
    "crates/prove",
    "crates/tables",
    "crates/search",
    "crates/play",
    "crates/check",
    "crates/explain",
    "crates/moments",
    "crates/export",
    "crates/index",
    "crates/keyproof",
];

/// A page to build.
struct Page {
    /// The crate, by its folder in `crates/`.
    app: &'static str,
    /// The cargo profile, and what wasm-opt is asked for.
    profile: &'static str,
    optimise: &'static [&'static str],
    /// Builds the standard library with it, with panics that only stop: a
    /// fifteenth of the student's file. The compiler calls both unstable, so
    /// it is told that this compiler is meant.
    lean: bool,
    /// Every room that the crate is built from, in lists.
    rooms: &'static [&'static [&'static str]],
    /// The thin page in `web/`.
    template: &'static str,
    /// The style sheets of its program in `web/`, in order.
    styles: &'static [&'static str],
    /// The scripts in `web/` that are packed with its program's.
    beside: &'static [&'static str],
    /// The scripts in `web/` that start it.
    boot: &'static [&'static str],
    /// The file in `dist/`.
    name: &'static str,
}

impl Page {
    /// What the crate is called in the workspace.
    fn package(&self) -> String {
        format!("keyproof-{}", self.app)
    }
}

const STUDENT: Page = Page {
    app: "widget",
    profile: "student",
    // What gives the smallest file once packed, not the smallest wasm: a
    // function inlined into its only caller saves bytes and costs patterns, and
    // control flow that is taken apart and put together anew has more of them.
    optimise: &[
        "-ocimfs",
        "14",
        "--flatten",
        "--rereloop",
        "-Oz",
        "-Oz",
        "--low-memory-unused",
        "--skip-pass=local-cse",
        "--skip-pass=memory-packing",
        "--strip-producers",
        "--strip-target-features",
    ],
    lean: true,
    rooms: &[&[
        "crates/model",
        "crates/prove",
        "crates/play",
        "crates/board",
        "crates/widget",
    ]],
    template: "web/student.html",
    styles: &[BASE, "web/book.css", "web/student.css"],
    beside: &["web/draw.js", "web/attend.js"],
    boot: &["web/student.js"],
    name: "student.html",
};

const AUTHOR: Page = Page {
    app: "author",
    profile: "author",
    optimise: QUICK,
    lean: false,
    rooms: &[
        CORE,
        &[
            "crates/certify",
            "crates/second",
            "crates/board",
            "crates/tongues",
            "crates/desk",
            "crates/author",
            "crates/guide",
            "web/guide",
            words::LOCALES,
        ],
    ],
    template: "web/author.html",
    styles: &["web/book.css", "web/guide.css", "web/author.css"],
    beside: &["web/draw.js"],
    boot: &["web/author.js"],
    name: "keyproof.html",
};

/// What wasm-opt is asked for where speed counts. More than that costs a minute and a half,
/// and the page is larger once it is packed.
pub const QUICK: &[&str] = &["-O1", "--low-memory-unused"];

/// A panic stops the program without a word: nobody could read it.
const LEAN: &str = " -Zunstable-options -Cpanic=immediate-abort -Zlocation-detail=none -Zfmt-debug=none \
    -Ctarget-feature=-reference-types";

/// What every build depends on.
const COMMON: &[&str] = &[
    "Cargo.toml",
    "Cargo.lock",
    "crates/glue",
    "crates/xtask/src/pages.rs",
];

/// What every page is packed with, beside its own.
const PACKING: &[&str] = &[
    "crates/xtask/src/pack.rs",
    "crates/xtask/src/letters.rs",
    "crates/xtask/src/words.rs",
    BASE,
    START[0],
    START[1],
];

/// The style of a page before its program is there, and the scripts that
/// unpack it.
const BASE: &str = "web/paper.css";
const START: [&str; 2] = ["web/unpack.js", "web/start.js"];

/// The script of the element, and what it is made of beside the student's page.
pub const ELEMENT: &str = "keyproof-lesson.js";
const ELEMENT_BOOT: &[&str] = &["web/element.js"];

/// What rustc takes for granted in a wasm engine, for wasm-opt.
pub const FEATURES: &str = "--enable-bulk-memory --enable-multivalue --enable-mutable-globals \
    --enable-nontrapping-float-to-int --enable-reference-types --enable-sign-ext";

/// The browsers that the student's page is for: Chrome and Edge, Firefox, Safari.
#[cfg(test)]
const BROWSERS: [u32; 3] = [91, 89, 15];

/// What the student's program uses of WebAssembly beside its first version, as
/// wasm-opt names it, and the versions of those browsers that first had it (the table
/// of webassembly.org/features, from memory). The build holds the program to it.
const STUDENT_FEATURES: [(&str, [u32; 3]); 5] = [
    ("bulk-memory", [75, 79, 15]),
    ("multivalue", [85, 78, 14]),
    ("mutable-globals", [74, 61, 13]),
    ("nontrapping-float-to-int", [75, 64, 15]),
    ("sign-ext", [74, 62, 15]),
];

/// How esbuild minifies scripts and styles.
const MINIFY: &str = "--minify --target=es2022 --charset=utf8 --log-level=warning";

/// Builds both pages and the command, and holds the sizes to their budgets.
pub fn build_all() -> Done {
    build_pages()?;
    build_command()?;
    guide::build()?;
    hold_budget()
}

/// Builds both pages, their programs side by side, and lays the source beside.
pub fn build_pages() -> Done {
    side_by_side([&packing_tools, &|| {
        setup::for_compiling()?;
        side_by_side([&|| build_parts(&STUDENT), &|| build_parts(&AUTHOR)])
    }])?;
    build_student()?;
    let student = dist().join(STUDENT.name);
    build(&AUTHOR, Some(&student))?;
    archive::source()
}

/// What makes pages of programs is fetched and compiled, once, while the programs are;
/// whoever asks waits for it.
pub fn packing_tools() -> Done {
    static TOOLS: OnceLock<Done> = OnceLock::new();
    let glue = || run(shell::cargo().args(["build", "--quiet", "--package", "keyproof-glue"]));
    TOOLS
        .get_or_init(|| side_by_side([&setup::for_packing, &glue]))
        .clone()
}

/// Builds the page that published files are made from.
pub fn build_student() -> Done {
    side_by_side([&packing_tools, &|| {
        setup::for_compiling()?;
        build_parts(&STUDENT)
    }])?;
    build(&STUDENT, None)?;
    let product = dist().join(ELEMENT);
    let mut inputs = [COMMON, PACKING, STUDENT.styles, ELEMENT_BOOT].concat();
    inputs.extend(STUDENT.rooms.concat());
    inputs.extend(STUDENT.beside);
    when_stale(ELEMENT, &inputs, &product, || put_element(&product))?;
    println!(
        "{:<20} {:>10}",
        format!("dist/{ELEMENT}"),
        kb(read_bytes(&product)?.len())
    );
    Ok(())
}

/// The student's program as a script that any page may load: it defines the
/// element, and nothing else of its own is seen.
fn put_element(product: &Path) -> Done {
    let (letters, lengths) = packed(&parts(&STUDENT)?)?;
    // What a script's text would have to escape stands as what it need not; `element.js`
    // reads it so.
    let letters = letters.replace('"', "<").replace('\\', "\u{7f}");
    let boot = minified(&[&START[..], ELEMENT_BOOT].concat(), "js")?;
    let source = source(str::to_owned).replace("*/", "");
    write(
        product,
        format!(
            "/* Keyproof {}, GPL-3.0-or-later, without any warranty; {source} */\n(()=>{{const PACKED=\"{letters}\",PARTS=\"{lengths}\";{boot}}})();\n",
            env!("CARGO_PKG_VERSION")
        ),
    )
}

/// Publishes every demo puzzle on its own and all together, and fails if a file
/// or the element's script is larger than it may be.
pub fn hold_budget() -> Done {
    let puzzles = demo_puzzles()?;
    let mut largest = 0;
    for (i, puzzle) in puzzles.iter().enumerate() {
        largest = largest.max(published(puzzle, &format!("{}", i + 1))?);
    }
    let lesson = published(&puzzles.concat(), "all")?;
    let element = read_bytes(&dist().join(ELEMENT))?.len();
    let mut over = Vec::new();
    for (what, size, budget) in [
        ("one puzzle, the largest", largest, STUDENT_BUDGET),
        ("a lesson of twelve", lesson, LESSON_BUDGET),
        ("the element's script", element, ELEMENT_BUDGET),
    ] {
        println!("{what:<23} {:>10}   (of {})", kb(size), kb(budget));
        if size > budget {
            over.push(what);
        }
    }
    match over.as_slice() {
        [] => Ok(()),
        over => Err(format!("over budget: {}", over.join(", "))),
    }
}

/// The size of the student's file with these puzzles.
fn published(puzzles: &str, name: &str) -> Result<usize, String> {
    let source = target().join(format!("budget/{name}.pgn"));
    let page = source.with_extension("html");
    write(&source, puzzles.as_bytes())?;
    let keyproof = dist().join("keyproof");
    let mut publish = command(&keyproof.to_string_lossy());
    output(publish.arg("publish").arg(&source).arg("-o").arg(&page))
        .ok_or_else(|| format!("{} cannot be published", source.display()))?;
    Ok(read_bytes(&page)?.len())
}

/// The puzzles of the demo lesson, one PGN game each.
fn demo_puzzles() -> Result<Vec<String>, String> {
    let lesson = read(&root().join("puzzles/thursday-night.pgn"))?;
    let games = lesson.split("\n\n[").enumerate();
    Ok(games
        .map(|(i, game)| if i == 0 { game.to_owned() } else { format!("[{game}") } + "\n")
        .collect())
}

/// Builds the `keyproof` command, which carries the student's page, and puts
/// it beside the pages.
pub fn build_command() -> Done {
    run(given_out(&mut shell::cargo())?.args([
        "build",
        "--quiet",
        "--release",
        "--package",
        "keyproof-cli",
    ]))?;
    let built = target().join("given/release/keyproof");
    copy(&built, &dist().join("keyproof"))?;
    println!("dist/keyproof        {:>10}", kb(read_bytes(&built)?.len()));
    Ok(())
}

/// Builds a page's program, if what goes into it has changed.
fn build_parts(page: &Page) -> Done {
    let inputs = [&page.rooms.concat()[..], COMMON].concat();
    when_stale(page.app, &inputs, &parts_dir(page).join("app.wasm"), || {
        make_parts(page)
    })
}

fn build(page: &Page, student: Option<&Path>) -> Done {
    build_parts(page)?;
    let product = dist().join(page.name);
    let mut inputs = [
        &page.rooms.concat()[..],
        COMMON,
        PACKING,
        page.styles,
        page.boot,
        &[page.template],
    ]
    .concat();
    inputs.extend(page.beside);
    if student.is_some() {
        inputs.extend(STUDENT.beside);
        inputs.extend(STUDENT.rooms.concat());
        inputs.extend([STUDENT.styles, &[STUDENT.template]].concat());
    }
    when_stale(page.name, &inputs, &product, || {
        put_together(page, student, &product)
    })?;
    print_sizes(page, &product)
}

/// Where the parts of a page are made.
fn parts_dir(page: &Page) -> PathBuf {
    target().join("pages").join(page.app)
}

/// Builds the crate: `app.js` and `app.wasm` in the page's folder.
fn make_parts(page: &Page) -> Done {
    let dir = parts_dir(page);
    let wasm = dir.join("app.wasm");
    let glue = dir.join("app.js");
    let mut flags = without_paths()?;
    // The author's program is longer on its way, and one core waits at the end of it.
    let with = if page.lean { giving_way } else { command };
    let mut cargo = with(&shell::cargo_program());
    cargo
        .args(["build", "--quiet", "--lib", "--package", &page.package()])
        .args(["--target", "wasm32-unknown-unknown", "--profile"])
        .arg(page.profile);
    if page.lean {
        flags.push_str(LEAN);
        cargo.env("RUSTC_BOOTSTRAP", "1").args([
            "-Zbuild-std=std,panic_abort",
            "-Zbuild-std-features=optimize_for_size",
        ]);
    }
    run(cargo.env("RUSTFLAGS", flags))?;
    packing_tools()?;
    let built = format!("wasm32-unknown-unknown/{}", page.profile);
    let program = format!("{}.wasm", page.package().replace('-', "_"));
    run(
        command(&target().join("debug/keyproof-glue").to_string_lossy())
            .arg(target().join(built).join(program))
            .arg(dir.join("pkg"))
            .args(["app", "page"]),
    )?;
    run(with("wasm-opt")
        .args(page.optimise)
        .args(FEATURES.split(' '))
        .arg(dir.join("pkg/app_bg.wasm"))
        .arg("-o")
        .arg(&wasm))?;
    if page.lean {
        uses_no_more(&wasm)?;
    }
    run(command("esbuild")
        .arg(dir.join("pkg/app.js"))
        .args(MINIFY.split(' '))
        .arg(format!("--outfile={}", glue.display())))
}

/// Refuses a program that uses more of WebAssembly than [`STUDENT_FEATURES`].
fn uses_no_more(wasm: &Path) -> Done {
    let enabled = STUDENT_FEATURES.map(|(name, _)| format!("--enable-{name}"));
    run(command("wasm-opt")
        .arg("--mvp-features")
        .args(enabled)
        .arg(wasm)
        .args(["-o", "/dev/null"]))
}

/// Has a command build with cargo what this machine runs and others get: without its
/// folders, without names of functions, and in a folder of its own, since with other flags
/// everything is compiled anew.
///
/// # Errors
/// If cargo or rustc cannot be found.
pub fn given_out(command: &mut Command) -> Result<&mut Command, String> {
    Ok(command
        .env("RUSTFLAGS", without_paths()?)
        .env("CARGO_PROFILE_RELEASE_STRIP", "symbols")
        .env("CARGO_TARGET_DIR", target().join("given")))
}

/// Flags that keep this machine's folders out of what is published: panics
/// name source files.
pub fn without_paths() -> Result<String, String> {
    let sysroot =
        output(command("rustc").args(["--print", "sysroot"])).ok_or("rustc is missing")?;
    let registries = cargo_home()?.join("registry/src");
    let mut folders = vec![
        format!("{sysroot}/lib/rustlib/src/rust/library/"),
        format!("{}/", root().display()),
        format!("{}/", target().display()),
    ];
    if let Ok(sources) = std::fs::read_dir(registries) {
        folders.extend(
            sources
                .flatten()
                .map(|dir| format!("{}/", dir.path().display())),
        );
    }
    let flags = folders
        .iter()
        .map(|folder| format!("--remap-path-prefix={folder}="));
    Ok(flags.collect::<Vec<_>>().join(" "))
}

/// Where cargo keeps what it fetches.
pub fn cargo_home() -> Result<PathBuf, String> {
    let named = std::env::var_os("CARGO_HOME").map(PathBuf::from);
    let usual = || std::env::home_dir().map(|home| home.join(".cargo"));
    named
        .or_else(usual)
        .ok_or_else(|| "neither CARGO_HOME nor HOME is set".to_owned())
}

/// What a page unpacks: glue script, style sheet, wasm.
fn parts(page: &Page) -> Result<[Vec<u8>; 3], String> {
    let dir = parts_dir(page);
    let mut script = read_bytes(&dir.join("app.js"))?;
    script.extend(minified(page.beside, "js")?.into_bytes());
    Ok([
        script,
        minified(page.styles, "css")?.into_bytes(),
        read_bytes(&dir.join("app.wasm"))?,
    ])
}

/// Packs the parts into the thin page. The author's carries the student's, and
/// what its own texts are in each language.
fn put_together(page: &Page, student: Option<&Path>, product: &Path) -> Done {
    let mut program = element("parts", &parts(page)?)?;
    let mut text = read(&root().join(page.template))?;
    if student.is_none() {
        text = fill(&text, "source", &source(said))?;
    }
    if let Some(student) = student {
        let table = words::table(&text, &words::locales()?)?;
        text = words::said_in_each(&text, &words::locales()?)?;
        program.push_str(&format!(
            "<script type=\"application/json\" id=\"keyproof-words\">{table}</script>\n"
        ));
        program.push_str(&element("student", &[read_bytes(student)?])?);
    }
    program.push_str(&format!(
        "<script>{}</script>",
        minified(&[&START[..], page.boot].concat(), "js")?
    ));
    let style = format!("<style>{}</style>", minified(&[BASE], "css")?);

    for (mark, content) in [
        ("version", env!("CARGO_PKG_VERSION")),
        ("style", &style),
        ("program", &program),
    ] {
        text = fill(&text, mark, content).map_err(|fault| format!("{}: {fault}", page.template))?;
    }
    write(product, text)
}

/// Where the program's source is, as a clause for the imprint: the
/// `repository` of Cargo.toml, once there is one. `said` marks what is translated.
fn source(said: impl Fn(&str) -> String) -> String {
    match env!("CARGO_PKG_REPOSITORY") {
        "" => said("whoever gave you this file owes you its source."),
        url => format!("{} <a href=\"{url}\">{url}</a>.", said("its source is at")),
    }
}

/// A sentence of the page, which publishing says in the puzzle's language.
fn said(sentence: &str) -> String {
    format!("<!--keyproof:say-->{sentence}<!---->")
}

/// Parts packed into an element from which `web/start.js` reads them.
fn element(name: &str, parts: &[Vec<u8>]) -> Result<String, String> {
    let (letters, lengths) = packed(parts)?;
    Ok(format!(
        "<script type=\"text/plain\" id=\"keyproof-{name}\" data-parts=\"{lengths}\">{letters}</script>\n",
    ))
}

/// Parts as letters, and their lengths as `web/start.js` takes them.
fn packed(parts: &[Vec<u8>]) -> Result<(String, String), String> {
    let lengths: Vec<String> = parts.iter().map(|part| part.len().to_string()).collect();
    Ok((pack(&parts.concat())?, lengths.join(" ")))
}

/// Files of `web/` joined and minified by esbuild. Refuses text that would end
/// the element it is put into.
fn minified(files: &[&str], kind: &str) -> Result<String, String> {
    let mut joined = String::new();
    for file in files {
        joined.push_str(&read(&root().join(file))?);
        joined.push('\n');
    }
    let from = target().join(format!("pages/joined.{kind}"));
    let to = target().join(format!("pages/minified.{kind}"));
    write(&from, joined)?;
    run(command("esbuild")
        .arg(&from)
        .args(MINIFY.split(' '))
        .arg(format!("--outfile={}", to.display())))?;
    let mut text = read(&to)?;
    if kind == "css" {
        // Values of properties of our own are left as they are written.
        text = text.replace(": ", ":");
    }
    if text.contains("</s") {
        return Err(format!("{files:?} must not contain the text \"</s\""));
    }
    Ok(text.trim_end().to_owned())
}

fn print_sizes(page: &Page, product: &Path) -> Done {
    let dir = parts_dir(page);
    let size = |path: &Path| read_bytes(path).map(|bytes| kb(bytes.len()));
    println!(
        "{:<20} {:>10}   (of wasm {} and script {})",
        format!("dist/{}", page.name),
        size(product)?,
        size(&dir.join("app.wasm"))?,
        size(&dir.join("app.js"))?,
    );
    Ok(())
}

fn kb(bytes: usize) -> String {
    format!("{:.1} KB", bytes as f64 / 1000.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The page and the guide name the browsers that have all that is used. The
    /// policy is the older word for the older of them: `'wasm-unsafe-eval'` came with
    /// Chrome 97, Firefox 102 and Safari 16 (from memory), and what does not know it
    /// goes by `'unsafe-eval'`.
    #[test]
    fn the_browsers_that_are_named_have_what_the_student_needs() {
        for (feature, since) in STUDENT_FEATURES {
            let has = since
                .iter()
                .zip(BROWSERS)
                .all(|(&first, named)| first <= named);
            assert!(has, "{feature}");
        }
        let [chrome, firefox, safari] = BROWSERS;
        let named = format!("Chrome or Edge {chrome}, Firefox {firefox}, Safari {safari}");
        for file in ["web/student.html", "web/guide/give-out.md"] {
            let text = read(&root().join(file)).unwrap();
            let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(text.contains(&named), "{file}");
        }
        let page = read(&root().join(STUDENT.template)).unwrap();
        assert!(page.contains("'unsafe-eval' 'wasm-unsafe-eval'"));
    }
}
