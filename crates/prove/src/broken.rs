//! A prover broken on purpose, for the tests that hold the second opinion to its
//! word: flips one answer about a mate, a gain or a draw in so many. No build that is shipped has
//! the feature.

use std::sync::atomic::{AtomicU64, Ordering::Relaxed};

use shakmaty::Move;

use super::Verdict;
use super::corpus::Seeded;

static SEED: AtomicU64 = AtomicU64::new(0);
static ONE_IN: AtomicU64 = AtomicU64::new(0);
static ANSWERS: AtomicU64 = AtomicU64::new(0);
static FLIPPED: AtomicU64 = AtomicU64::new(0);

/// From now on one answer in `one_in` is flipped; with 0 none. The seed says which.
pub fn break_down(seed: u64, one_in: u64) {
    SEED.store(seed, Relaxed);
    ONE_IN.store(one_in, Relaxed);
    ANSWERS.store(0, Relaxed);
    FLIPPED.store(0, Relaxed);
}

/// Answers flipped since.
pub fn flipped() -> u64 {
    FLIPPED.load(Relaxed)
}

/// Whether the next answer is to be flipped.
pub(super) fn flips() -> bool {
    let one_in = ONE_IN.load(Relaxed);
    if one_in == 0 {
        return false;
    }
    let answer = ANSWERS.fetch_add(1, Relaxed);
    let mut random = Seeded::new(SEED.load(Relaxed) << 32 ^ answer);
    let flips = random.below(one_in as usize) == 0;
    FLIPPED.fetch_add(u64::from(flips), Relaxed);
    flips
}

/// The verdict on a move, or its contrary.
pub(super) fn verdict(mv: Move, n: u8, verdict: Verdict) -> Verdict {
    match verdict {
        Verdict::Unknown { .. } => verdict,
        _ if !flips() => verdict,
        Verdict::Forces { .. } => Verdict::Fails { line: vec![mv] },
        Verdict::Fails { .. } => Verdict::Forces {
            length: n,
            line: vec![mv],
        },
    }
}

/// Whether some move mates, or the contrary; `first` is any legal move.
pub(super) fn mate(
    first: Option<Move>,
    n: u8,
    found: Option<(Move, Verdict)>,
) -> Option<(Move, Verdict)> {
    if !flips() {
        return found;
    }
    match (found, first) {
        (None, Some(mv)) => Some((
            mv,
            Verdict::Forces {
                length: n,
                line: vec![mv],
            },
        )),
        _ => None,
    }
}
