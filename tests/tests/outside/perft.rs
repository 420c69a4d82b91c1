//! Perft: how many sequences of n moves a position has. Checks FEN reading
//! and the rules underneath everything else.

use keyproof_tests::reference;
use shakmaty::perft;

use crate::position;

/// Source: the PGN initial position's counts as published in every perft
/// suite (from memory); depth 5 is the last one that takes no time.
#[test]
fn initial_position() {
    let start = position("rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1");
    for (depth, count) in [(1, 20), (2, 400), (3, 8902), (4, 197_281), (5, 4_865_609)] {
        assert_eq!(perft(&start, depth), count, "depth {depth}");
    }
}

/// Source: `examples/perft/tricky.perft` in the source distribution of the
/// PyPI package `chess` 1.11.2, its positions with standard castling.
#[test]
fn tricky_positions() {
    let text = reference::file("examples/perft/tricky.perft");
    let mut checked = 0;
    for entry in entries(&text).filter(|e| e.id.starts_with("pos-")) {
        let start = position(entry.epd);
        for &(depth, count) in entry.counts.iter().filter(|(_, count)| *count < 5_000_000) {
            assert_eq!(perft(&start, depth), count, "{}, depth {depth}", entry.id);
            checked += 1;
        }
    }
    assert!(checked >= 15, "only {checked} counts in the file");
}

/// Source: `examples/perft/random.perft` in the same distribution, every
/// twentieth position, up to a hundred thousand sequences.
#[test]
fn random_positions() {
    let text = reference::file("examples/perft/random.perft");
    let mut checked = 0;
    for entry in entries(&text).step_by(20) {
        let start = position(entry.epd);
        for &(depth, count) in entry.counts.iter().filter(|(_, count)| *count < 100_000) {
            assert_eq!(perft(&start, depth), count, "{}, depth {depth}", entry.id);
            checked += 1;
        }
    }
    assert!(checked >= 600, "only {checked} counts in the file");
}

struct Entry<'a> {
    id: &'a str,
    epd: &'a str,
    counts: Vec<(u32, u64)>,
}

/// The entries of a perft file: `id`, `epd` and `perft DEPTH COUNT` lines.
fn entries(text: &str) -> impl Iterator<Item = Entry<'_>> {
    text.split("\nid ").skip(1).map(|block| {
        let mut lines = block.lines();
        let id = lines.next().unwrap_or_default().trim();
        let mut entry = Entry {
            id,
            epd: "",
            counts: Vec::new(),
        };
        for line in lines {
            if let Some(epd) = line.strip_prefix("epd ") {
                entry.epd = epd.trim();
            } else if let Some(count) = line.strip_prefix("perft ") {
                let (depth, count) = count.trim().split_once(' ').expect("depth and count");
                entry.counts.push((
                    depth.parse().expect("a depth"),
                    count.trim().parse().expect("a count"),
                ));
            }
        }
        entry
    })
}
