//! Everything that reads bytes of strangers, as targets of a fuzzer. A target takes any
//! bytes and must come back: a panic is a fault, and so is what its assertions refuse,
//! mostly that what was read, written and read again is the same.
//!
//! `cargo xtask campaign fuzz` runs them guided by coverage, for as many runs as is wished;
//! `cargo test -p keyproof-fuzz` runs what is kept under `tests/fuzz`, and some thousand
//! blind mutations of the seeds.

#![deny(missing_docs)]

mod choices;
mod files;
mod journeys;
mod texts;

pub use choices::Choices;

/// Something that reads bytes.
#[derive(Clone, Copy)]
pub struct Target {
    /// As it is called on the command line and under `tests/fuzz`.
    pub name: &'static str,
    /// Reads any bytes, and panics if that comes to something it should not.
    pub run: fn(&[u8]),
    /// Bytes to begin with.
    pub seeds: fn() -> Vec<Vec<u8>>,
}

/// All targets.
pub const TARGETS: [Target; 20] = [
    target("pgn", texts::pgn, texts::games),
    target("stream", texts::stream, texts::games),
    target("fen", texts::position, texts::fens),
    target("epd", texts::record, texts::records),
    target("move", texts::typed_move, texts::typed_moves),
    target("tags", texts::tags, texts::tag_values),
    target("words", texts::words, texts::comments),
    target("certificate", files::certificate, files::certificates),
    target("backup", files::backup, files::backups),
    target("stored", files::stored, files::records),
    target("progress", files::progress, files::kept),
    target("account", files::account, files::accounts),
    target("published", files::published, files::pages),
    target("index", files::index, files::indexes),
    target("wire", files::wire, files::messages),
    target("network", files::network, files::patches),
    target("table", files::table, files::patches),
    target("syzygy", files::syzygy, files::endings),
    target("edits", journeys::edits, journeys::seeds),
    target("merge", journeys::merge, journeys::seeds),
];

const fn target(name: &'static str, run: fn(&[u8]), seeds: fn() -> Vec<Vec<u8>>) -> Target {
    Target { name, run, seeds }
}
