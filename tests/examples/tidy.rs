//! Rewrites PGN files in export format: `cargo run -p keyproof-tests
//! --example tidy -- puzzles/*.pgn`.

use keyproof::notation::pgn_write;

fn main() {
    for file in std::env::args().skip(1) {
        let games = keyproof_tests::games(file.as_ref());
        let text: String = games.iter().map(pgn_write::write).collect();
        std::fs::write(&file, text).unwrap_or_else(|e| panic!("{file}: {e}"));
    }
}
