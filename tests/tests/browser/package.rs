//! The npm package in a page of somebody's own, made with a bundler (npm `esbuild`).

use std::path::PathBuf;
use std::process::Command;

use keyproof_tests::browser::{Server, browse};
use keyproof_tests::root;

/// The package as the tests build it.
fn package() -> PathBuf {
    let target = std::env::var_os("CARGO_TARGET_DIR").map_or("target".into(), PathBuf::from);
    let package = root().join(target).join("npm/keyproof");
    assert!(package.is_dir(), "run `cargo xtask test libraries` first");
    package
}

#[test]
fn a_bundled_page_checks_in_a_worker_and_shows_the_element() {
    browse("package", async |browser| {
        let from = root().join("crates/npm/tests/page");
        for name in ["index.html", "main.js", "worker.js"] {
            std::fs::copy(from.join(name), browser.folder.join(name)).expect("a file");
        }
        let modules = browser.folder.join("node_modules");
        std::fs::create_dir_all(&modules).expect("a folder");
        std::os::unix::fs::symlink(package(), modules.join("keyproof")).expect("a link");
        let own = root().join(".tools/node/node_modules/.bin/esbuild");
        let esbuild = if own.is_file() { own } else { "esbuild".into() };
        let bundled = Command::new(esbuild)
            .args([
                "main.js",
                "worker.js",
                "--bundle",
                "--format=esm",
                "--minify",
            ])
            .args(["--loader:.wasm=file", "--external:node:*", "--outdir=built"])
            .current_dir(&browser.folder)
            .output()
            .expect("esbuild runs");
        let told = String::from_utf8_lossy(&bundled.stderr);
        assert!(bundled.status.success(), "{told}");

        let server = Server::start(&browser.folder);
        browser.go(&server.url("index.html")).await;
        browser.until_text("#verdicts", "sound, unsound").await;
        browser.until_text("#fault", "Refused: cook").await;
        browser.until_text(".kp-task", "mate in 2").await;
    });
}
