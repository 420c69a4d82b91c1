//! The tasks for whoever hosts the wasm (`host.mjs`), without generated glue.
//!
//! A task goes in through memory that `room` gives, `run` does it, and what
//! came of it is read from the memory that `told` points at.

use std::cell::RefCell;

use crate::{Host, Tasks};

#[link(wasm_import_module = "host")]
unsafe extern "C" {
    safe fn now() -> f64;
    safe fn go_on(nodes: f64, share: f32) -> i32;
}

struct Outside;

impl Host for Outside {
    fn now(&self) -> f64 {
        now()
    }

    fn go_on(&self, nodes: u64, share: f32) -> bool {
        go_on(nodes as f64, share) != 0
    }
}

#[derive(Default)]
struct State {
    tasks: Tasks,
    task: Vec<u8>,
    told: String,
}

thread_local! {
    static STATE: RefCell<State> = RefCell::default();
}

/// Room for a task of so many bytes.
#[unsafe(no_mangle)]
pub extern "C" fn room(bytes: usize) -> *mut u8 {
    STATE.with_borrow_mut(|state| {
        state.task = vec![0; bytes];
        state.task.as_mut_ptr()
    })
}

/// Does the task; gives the length of what is told.
#[unsafe(no_mangle)]
pub extern "C" fn run() -> usize {
    STATE.with_borrow_mut(|state| {
        let task = String::from_utf8_lossy(&state.task).into_owned();
        state.told = match state.tasks.run(&task, &Outside) {
            Ok(outcome) => format!("{}\t{}\t{}", outcome.ms, outcome.nodes, outcome.answer),
            Err(fault) => format!("fault\t{fault}"),
        };
        state.told.len()
    })
}

/// Where what is told stands: milliseconds, nodes and answer, or `fault` and a
/// sentence, with tabs between.
#[unsafe(no_mangle)]
pub extern "C" fn told() -> *const u8 {
    STATE.with_borrow(|state| state.told.as_ptr())
}
