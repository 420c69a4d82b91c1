//! Exact distances to mate of endgames with few men.

use keyproof::prove::{Unwatched, Verdict};
use keyproof_tests::reference;
use shakmaty::Position;

use crate::{position, prover};

/// The longest mates that are proved here; longer ones take too long for a
/// test.
const LONGEST: i32 = 5;

/// Source: `data/endgame-dm-4.epd` and `endgame-dm-5.epd` in the source
/// distribution of the PyPI package `chess` 1.11.2. `dm` counts full moves to
/// mate by the side to move; a negative count is a mate against it, zero a
/// draw.
#[test]
fn distances_to_mate() {
    let mut won = 0;
    let mut not_sooner = 0;
    for name in ["data/endgame-dm-4.epd", "data/endgame-dm-5.epd"] {
        for (fen, dm) in entries(&reference::file(name)) {
            let position = position(&fen);
            if (1..=LONGEST).contains(&dm) {
                let mate = prover().mate(&position, dm as u8, &mut Unwatched);
                let length = match mate {
                    Ok(Some((_, Verdict::Forces { length, line }))) => {
                        assert_eq!(line.len(), 2 * usize::from(length) - 1, "{fen}");
                        length
                    }
                    other => panic!("{fen}: mate in {dm} not found: {other:?}"),
                };
                assert_eq!(i32::from(length), dm, "{fen}");
                won += 1;
            } else {
                let mate = prover().mate(&position, 3, &mut Unwatched);
                assert_eq!(mate, Ok(None), "{fen}: dm {dm}");
                not_sooner += 1;
            }
        }
    }
    assert!(
        won >= 3 && not_sooner >= 40,
        "{won} won, {not_sooner} not sooner"
    );
}

/// Every reply loses in exactly the distance named (same source).
#[test]
fn distances_for_the_side_that_is_mated() {
    for name in ["data/endgame-dm-4.epd", "data/endgame-dm-5.epd"] {
        for (fen, dm) in entries(&reference::file(name)) {
            let n = -dm;
            if !(1..=LONGEST).contains(&n) {
                continue;
            }
            let position = position(&fen);
            assert!(!position.is_game_over(), "{fen}");
            let n = n as u8;
            assert_eq!(
                prover().refutations(&position, n, &mut Unwatched),
                Ok(vec![]),
                "{fen}"
            );
            assert_eq!(
                prover()
                    .longest_defence(&position, n, &mut Unwatched)
                    .map(|(_, left)| left),
                Some(n),
                "{fen}"
            );
        }
    }
}

/// Entries of an EPD file with an operation `dm`.
fn entries(text: &str) -> Vec<(String, i32)> {
    text.lines()
        .filter_map(|line| {
            let (fen, dm) = line.split_once(" dm ")?;
            let dm = dm.trim_end().strip_suffix(';')?.trim();
            Some((fen.trim().to_owned(), dm.parse().ok()?))
        })
        .collect()
}
