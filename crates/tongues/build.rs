//! A new language is a new file: then the crate is built anew.

fn main() {
    println!("cargo::rerun-if-changed=../../web/locales");
}
