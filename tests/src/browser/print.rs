//! Pages as they are printed. WebKit's driver neither prints nor shows how it would.

use base64::Engine as _;
use miniz_oxide::inflate::decompress_to_vec_zlib;
use serde_json::json;
use thirtyfour::common::print::PrintParameters;

use super::{Browser, Engine};

impl Browser {
    /// Shows the page in the style that it has in print.
    pub async fn as_printed(&self) {
        match self.engine {
            Engine::Chromium => {
                self.devtools("Emulation.setEmulatedMedia", json!({ "media": "print" }))
                    .await;
            }
            Engine::Firefox => {
                let set = "gBrowser.selectedBrowser.browsingContext.mediumOverride = 'print'; arguments[0]();";
                self.in_firefox(set, vec![]).await;
            }
            Engine::WebKit => panic!("{}", Engine::NO_PRINT),
        }
    }

    /// The page as it is printed, a PDF document.
    pub async fn printed(&self) -> Vec<u8> {
        let data = match self.engine {
            Engine::Chromium => {
                let wanted = json!({ "preferCSSPageSize": true });
                let told = self.devtools("Page.printToPDF", wanted).await;
                told["data"].as_str().expect("a document").to_owned()
            }
            Engine::Firefox => {
                let told = self.driver.print_page_base64(PrintParameters::default());
                told.await.expect("a document")
            }
            Engine::WebKit => panic!("{}", Engine::NO_PRINT),
        };
        let bytes = base64::engine::general_purpose::STANDARD.decode(data);
        bytes.expect("base64")
    }
}

/// How many pages a PDF document has: its objects of `/Type /Page` (ISO 32000-1, 7.7.3.3),
/// which Chromium writes as they are and Firefox into packed streams (7.5.7).
pub fn pages(pdf: &[u8]) -> usize {
    // What is packed in another way, as pictures are, is no object.
    let packed = after(pdf, b"stream\n").into_iter();
    let packed = packed.filter_map(|from| decompress_to_vec_zlib(from).ok());
    let texts = std::iter::once(pdf.to_vec()).chain(packed);
    let starts = texts.map(|text| {
        let pages = after(&text, b"/Type /Page").into_iter();
        pages.filter(|rest| !rest.starts_with(b"s")).count()
    });
    starts.sum()
}

/// What stands after each place of a mark.
fn after<'a>(text: &'a [u8], mark: &[u8]) -> Vec<&'a [u8]> {
    let places = text.windows(mark.len()).enumerate();
    let places = places.filter(|(_, found)| found == &mark);
    places.map(|(at, _)| &text[at + mark.len()..]).collect()
}
