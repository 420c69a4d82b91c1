//! The guide as plain pages, `dist/guide`: one file for each, with no script.

use keyproof_guide::{Block, Inline, PAGES, Page, Place};

use crate::shell::{Done, dist, read, root, write};
use crate::template::fill;

const TEMPLATE: &str = "web/guide.html";
const STYLES: [&str; 2] = ["web/paper.css", "web/guide.css"];

/// Writes all pages.
pub fn build() -> Done {
    let template = read(&root().join(TEMPLATE))?;
    let styles: Result<Vec<String>, String> =
        STYLES.iter().map(|file| read(&root().join(file))).collect();
    let style = format!("<style>\n{}</style>", styles?.concat());
    for page in PAGES {
        let file = dist().join("guide").join(format!("{}.html", page.name));
        write(&file, whole(&template, &style, page)?)?;
    }
    println!("dist/guide/          {:>10} pages", PAGES.len());
    Ok(())
}

/// A page in the template.
fn whole(template: &str, style: &str, page: &Page) -> Result<String, String> {
    let title = format!("Keyproof: {}", page.title);
    let body = format!("<h1>{}</h1>\n{}", text(page.title), blocks(page.blocks));
    let others = if page.name == PAGES[0].name {
        String::new()
    } else {
        others(page)
    };
    let mut whole = template.to_owned();
    for (mark, content) in [
        ("title", text(&title)),
        ("style", style.to_owned()),
        ("page", body),
        ("pages", others),
    ] {
        whole = fill(&whole, mark, &content).map_err(|fault| format!("{TEMPLATE}: {fault}"))?;
    }
    Ok(whole)
}

/// Links to all pages, this one apart.
fn others(this: &Page) -> String {
    let entry = |page: &Page| match page.name == this.name {
        true => format!("<li aria-current=\"page\">{}</li>\n", text(page.title)),
        false => format!(
            "<li><a href=\"{}.html\">{}</a></li>\n",
            page.name,
            text(page.title)
        ),
    };
    let entries: String = PAGES[1..].iter().map(entry).collect();
    format!("<nav aria-label=\"All pages\"><ol>\n{entries}</ol></nav>")
}

fn blocks(blocks: &[Block]) -> String {
    blocks.iter().map(|part| block(part) + "\n").collect()
}

fn block(block: &Block) -> String {
    match block {
        Block::Heading {
            anchor,
            text: words,
        } => {
            format!("<h2 id=\"{}\">{}</h2>", text(anchor), text(words))
        }
        Block::Paragraph(inlines) => element("p", &words(inlines)),
        Block::Code(lines) => element("pre", &element("code", &text(lines))),
        Block::List { numbered, items } => {
            let items = items
                .iter()
                .map(|item| element("li", blocks(item).trim_end()));
            element(
                if *numbered { "ol" } else { "ul" },
                &items.collect::<String>(),
            )
        }
        Block::Table { head, rows } => {
            let row = |kind: &str, cells: &[&[Inline]]| {
                let cells: String = cells
                    .iter()
                    .map(|cell| element(kind, &words(cell)))
                    .collect();
                element("tr", &cells)
            };
            let head = element("thead", &row("th", head));
            let rows: String = rows.iter().map(|cells| row("td", cells)).collect();
            element("table", &(head + &element("tbody", &rows)))
        }
    }
}

fn words(inlines: &[Inline]) -> String {
    let of = |inline: &Inline| match inline {
        Inline::Text(words) => text(words),
        Inline::Code(words) => element("code", &text(words)),
        Inline::Emphasis(inlines) => element("em", &words(inlines)),
        Inline::Strong(inlines) => element("strong", &words(inlines)),
        Inline::Link { to, text } => format!("<a href=\"{}\">{}</a>", address(*to), words(text)),
    };
    inlines.iter().map(of).collect()
}

fn address(to: Place) -> String {
    let hash = if to.anchor.is_empty() { "" } else { "#" };
    text(&format!("{}.html{hash}{}", to.page, to.anchor))
}

fn element(name: &str, content: &str) -> String {
    format!("<{name}>{content}</{name}>")
}

/// A text as HTML has it, also in an attribute.
fn text(text: &str) -> String {
    let text = text.replace('&', "&amp;").replace('<', "&lt;");
    text.replace('>', "&gt;").replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_is_never_markup() {
        let page = Page {
            name: "a",
            title: "<b> & \"c\"",
            blocks: &[
                Block::Heading {
                    anchor: "\"x",
                    text: "<i>",
                },
                Block::Code("<script>"),
                Block::Paragraph(&[Inline::Link {
                    to: Place {
                        page: "b",
                        anchor: "\"c",
                    },
                    text: &[Inline::Strong(&[Inline::Text("a < b")])],
                }]),
            ],
        };
        let template = "<!--keyproof:title-->|<!--keyproof:style-->|<!--keyproof:page-->|<!--keyproof:pages-->";
        let whole = whole(template, "", &page).unwrap();
        let (before, _) = whole.split_once("<nav").unwrap();
        assert_eq!(
            before,
            "Keyproof: &lt;b&gt; &amp; &quot;c&quot;||<h1>&lt;b&gt; &amp; &quot;c&quot;</h1>\n\
             <h2 id=\"&quot;x\">&lt;i&gt;</h2>\n<pre><code>&lt;script&gt;</code></pre>\n\
             <p><a href=\"b.html#&quot;c\"><strong>a &lt; b</strong></a></p>\n|"
        );
    }

    #[test]
    fn each_page_fits_the_template() {
        let template = read(&root().join(TEMPLATE)).unwrap();
        for page in PAGES {
            let whole = whole(&template, "", page).unwrap();
            assert!(!whole.contains("<!--keyproof:"), "{}", page.name);
        }
    }

    #[test]
    fn every_chore_named_is_one() {
        let mut named = 0;
        for page in PAGES {
            let html = blocks(page.blocks);
            for rest in html.split("cargo xtask ").skip(1) {
                let chore: String = rest.chars().take_while(char::is_ascii_lowercase).collect();
                assert!(
                    crate::HELP.contains(&format!("cargo xtask {chore}")),
                    "{}: {chore}",
                    page.name
                );
                named += 1;
            }
        }
        assert!(named > 0);
    }
}
