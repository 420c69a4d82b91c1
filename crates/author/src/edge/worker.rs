//! Inside a worker: takes questions, proves, and tells how far it is.

use keyproof::check::Judge;
use keyproof::prove::Watch;
use wasm_bindgen::prelude::*;
use web_sys::{DedicatedWorkerGlobalScope, MessageEvent};

use crate::wire::{Ask, Told};

/// Bytes of a worker's table.
const TABLE: usize = 32 << 20;
/// Milliseconds between two tellings of progress.
const PACE: f64 = 250.0;

struct Teller {
    scope: DedicatedWorkerGlobalScope,
    ticket: u32,
    last: f64,
}

impl Watch for Teller {
    fn go_on(&mut self, nodes: u64, _share: f32) -> bool {
        let now = js_sys::Date::now();
        if now - self.last >= PACE {
            self.last = now;
            let ticket = self.ticket;
            tell(&self.scope, &Told::Progress { ticket, nodes });
        }
        true
    }
}

/// Waits for questions, for as long as the worker lives.
pub fn start() {
    let scope: DedicatedWorkerGlobalScope = js_sys::global().unchecked_into();
    let mut judge = Judge::new(TABLE);
    let teller = scope.clone();
    let listen = Closure::<dyn FnMut(MessageEvent)>::new(move |event: MessageEvent| {
        let Ok(ask) = serde_wasm_bindgen::from_value::<Ask>(event.data()) else {
            return;
        };
        judge.set_budget(Some(ask.budget));
        let mut watch = Teller {
            scope: teller.clone(),
            ticket: ask.ticket,
            last: js_sys::Date::now(),
        };
        let answer = judge.answer(&ask.question, &mut watch);
        tell(
            &teller,
            &Told::Done {
                ticket: ask.ticket,
                answer,
            },
        );
    });
    scope.set_onmessage(Some(listen.as_ref().unchecked_ref()));
    listen.forget();
    tell(&scope, &Told::Ready);
}

fn tell(scope: &DedicatedWorkerGlobalScope, told: &Told) {
    let value = serde_wasm_bindgen::to_value(told).expect("plain data");
    scope
        .post_message(&value)
        .expect("plain data can be posted");
}
