//! Makes the table of the guide's pages out of `web/guide`.

#[path = "src/model.rs"]
mod model;
#[path = "src/read.rs"]
#[allow(dead_code)]
mod read;

use std::path::Path;

use model::{Block, Inline, Page, Place};

const GUIDE: &str = "../../web/guide";

fn main() {
    println!("cargo::rerun-if-changed={GUIDE}");
    println!("cargo::rerun-if-changed=src/model.rs");
    println!("cargo::rerun-if-changed=src/read.rs");
    let pages = read::folder(Path::new(GUIDE)).unwrap_or_else(|fault| {
        println!("cargo::error=the guide: {fault}");
        std::process::exit(1)
    });
    let table = format!("pub static PAGES: &[Page] = {};\n", list(&pages, page));
    let out = std::env::var("OUT_DIR").expect("cargo names a folder");
    std::fs::write(Path::new(&out).join("pages.rs"), table).expect("the folder can be written to");
}

/// A list of what `write` writes, as Rust has it.
fn list<T>(items: &[T], write: impl Fn(&T) -> String) -> String {
    let items: Vec<String> = items.iter().map(write).collect();
    format!("&[{}]", items.join(","))
}

fn page(page: &Page) -> String {
    let Page {
        name,
        title,
        blocks,
    } = page;
    format!(
        "Page{{name:{name:?},title:{title:?},blocks:{}}}\n",
        list(blocks, block)
    )
}

fn block(block: &Block) -> String {
    match block {
        Block::Heading { anchor, text } => {
            format!("Block::Heading{{anchor:{anchor:?},text:{text:?}}}")
        }
        Block::Paragraph(inlines) => format!("Block::Paragraph({})", words(inlines)),
        Block::Code(text) => format!("Block::Code({text:?})"),
        Block::List { numbered, items } => {
            let items = list(items, |item| list(item, self::block));
            format!("Block::List{{numbered:{numbered},items:{items}}}")
        }
        Block::Table { head, rows } => {
            let cells = |row: &&[&[Inline]]| list(row, |cell| words(cell));
            format!(
                "Block::Table{{head:{},rows:{}}}",
                cells(head),
                list(rows, cells)
            )
        }
    }
}

fn words(inlines: &[Inline]) -> String {
    list(inlines, inline)
}

fn inline(inline: &Inline) -> String {
    match inline {
        Inline::Text(text) => format!("Inline::Text({text:?})"),
        Inline::Code(text) => format!("Inline::Code({text:?})"),
        Inline::Emphasis(inlines) => format!("Inline::Emphasis({})", words(inlines)),
        Inline::Strong(inlines) => format!("Inline::Strong({})", words(inlines)),
        Inline::Link {
            to: Place { page, anchor },
            text,
        } => {
            let to = format!("Place{{page:{page:?},anchor:{anchor:?}}}");
            format!("Inline::Link{{to:{to},text:{}}}", words(text))
        }
    }
}
