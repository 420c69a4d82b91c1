//! Being asked to stop: what is done is written, what is begun is given up.

use std::process;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::Duration;

use keyproof::prove::Watch;

use crate::output::{Outcome, remark};

static ASKED: AtomicBool = AtomicBool::new(false);

/// How long what is begun may take to be given up.
const GRACE: Duration = Duration::from_secs(5);

/// From now on, an interrupt asks to stop. A second one, and work that does not heed
/// the first (such as waiting for input), ends the program at once.
pub fn listen() {
    let heard = ctrlc::set_handler(|| {
        if ASKED.swap(true, Ordering::Relaxed) {
            process::exit(Outcome::Stopped as i32);
        }
        thread::spawn(|| {
            thread::sleep(GRACE);
            process::exit(Outcome::Stopped as i32);
        });
    });
    // Where there are no signals, an interrupt ends the program as it always did.
    let _ = heard;
}

/// Stops all work, since nobody can have what it would bring.
pub fn ask() {
    ASKED.store(true, Ordering::Relaxed);
}

/// Whether to stop.
pub fn asked() -> bool {
    ASKED.load(Ordering::Relaxed)
}

/// How a run ended that may have been asked to stop, which it says.
pub fn ended(outcome: Outcome, keeping: bool) -> Outcome {
    if !asked() {
        return outcome;
    }
    remark(match keeping {
        true => "stopped: what is done is kept, and the same command goes on from there",
        false => "stopped: what is above is done",
    });
    Outcome::Stopped
}

/// Goes on until it is asked to stop.
pub struct Unasked;

impl Watch for Unasked {
    fn go_on(&mut self, _nodes: u64, _share: f32) -> bool {
        !asked()
    }
}
