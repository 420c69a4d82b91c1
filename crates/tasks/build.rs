//! Puts the built student's page into the command, if it has been built.

use std::path::Path;

fn main() {
    let folder = std::env::var("CARGO_MANIFEST_DIR").expect("set by cargo");
    let page = Path::new(&folder).join("../../dist/student.html");
    let text = if page.is_file() {
        format!("Some(include_str!({:?}))", page.display().to_string())
    } else {
        "None".to_owned()
    };
    let out = std::env::var("OUT_DIR").expect("set by cargo");
    std::fs::write(Path::new(&out).join("student_page.rs"), text).expect("OUT_DIR can be written");
    println!("cargo::rerun-if-changed=build.rs");
    println!("cargo::rerun-if-changed={}", page.display());
}
