//! Inside a worker: takes questions, proves, and tells how far it is; or writes
//! a proof out and puts it to the independent checker; or explains a puzzle;
//! or looks into the author's earlier games.

use std::cell::RefCell;
use std::rc::Rc;

use keyproof::check::{Answer, Judge, Question};
use keyproof::explain::Analyst;
use keyproof::moments;
use keyproof::prove::{Prover, Watch};
use keyproof::tables::{Material, Tables};
use keyproof_second::{put, put_explained, put_studied};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::spawn_local;
use web_sys::{DedicatedWorkerGlobalScope, MessageEvent};

use super::{earlier, endings, tables};
use desk::endings::Endings;
use desk::wire::{Ask, Told};

/// Bytes of a worker's table.
const TABLE: usize = keyproof::check::TABLE_BYTES;
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
    let tables = judge.tables().clone();
    let judge = Rc::new(RefCell::new(judge));
    let teller = scope.clone();
    let held = earlier::Held::default();
    let listen = Closure::<dyn FnMut(MessageEvent)>::new(move |event: MessageEvent| {
        if let Some(told) = endings::take(&event.data(), &tables) {
            tell(&teller, &Told::Endings(told));
        } else if let Ok(ask) = serde_wasm_bindgen::from_value::<Ask>(event.data()) {
            let answer = answer(
                ask,
                judge.clone(),
                tables.clone(),
                held.clone(),
                teller.clone(),
            );
            spawn_local(answer);
        }
    });
    scope.set_onmessage(Some(listen.as_ref().unchecked_ref()));
    listen.forget();
    tell(&scope, &Told::Ready);
    spawn_local(async {
        // Where it cannot be done, it is tried again another time.
        let _ = tables::tidy().await;
    });
}

/// Answers one question. The page asks the next when this one is answered, so
/// nothing else holds the judge; but files with endgame tables may come while it is
/// held, which is why the tables (a clone, sharing what the judge's have) come beside
/// it.
#[allow(clippy::await_holding_refcell_ref)]
async fn answer(
    ask: Ask,
    judge: Rc<RefCell<Judge>>,
    endgames: Tables,
    held: earlier::Held,
    scope: DedicatedWorkerGlobalScope,
) {
    let watch = |ticket| Teller {
        scope: scope.clone(),
        ticket,
        last: js_sys::Date::now(),
    };
    match ask {
        Ask::Question {
            ticket,
            question,
            budget,
        } => {
            let Ok(mut judge) = judge.try_borrow_mut() else {
                return;
            };
            judge.set_budget(Some(budget));
            let (answer, endings) = judged(&question, &mut judge, &mut watch(ticket)).await;
            drop(judge);
            if let Some(endings) = endings {
                tell(&scope, &Told::Endings(endings));
            }
            tell(&scope, &Told::Done { ticket, answer });
        }
        Ask::Seek { ticket, question } => {
            let began = js_sys::Date::now();
            let tongue = keyproof_tongues::of_question(&question);
            let answer = tongue.speaks(|| {
                let mut answer = moments::answer_with(&question, &endgames, &mut watch(ticket))?;
                put_studied(&mut answer, &mut watch(ticket));
                Some(answer)
            });
            let millis = js_sys::Date::now() - began;
            let told = Told::Sought {
                ticket,
                answer,
                millis,
            };
            tell(&scope, &told);
        }
        Ask::Second {
            ticket,
            claims,
            budget,
        } => {
            let mut prover = Prover::new(TABLE / 2);
            prover.budget = Some(budget);
            let claims = claims.into_iter();
            let heard = claims.map(|claim| put(claim, &mut prover, &mut watch(ticket)));
            let heard = heard.collect();
            tell(&scope, &Told::Second { ticket, heard });
        }
        Ask::Earlier { language, ask } => {
            // This worker is asked for nothing else.
            keyproof_tongues::of(&language).speak();
            earlier::answer(ask, held, |told| tell(&scope, &Told::Earlier(told))).await;
        }
        Ask::Explain { ticket, inquiry } => {
            let tongue = keyproof_tongues::of_inquiry(&inquiry);
            let explanation = tongue.speaks(|| {
                let mut analyst = Analyst::with_tables(TABLE, endgames);
                let mut told = analyst.explain(&inquiry, &mut watch(ticket));
                put_explained(&mut told, &mut watch(ticket));
                Box::new(told)
            });
            let told = Told::Explained {
                ticket,
                explanation,
            };
            tell(&scope, &told);
        }
    }
}

/// The answer to a question, with the endgame tables that the browser keeps, and what
/// became of files with endings, if that changed.
async fn judged(
    question: &Question,
    judge: &mut Judge,
    watch: &mut Teller,
) -> (Answer, Option<Endings>) {
    tables::load(judge.tables(), &question.fen).await;
    let known: Vec<Material> = judge.tables().materials().collect();
    let faults = judge.tables().faults();
    let answer = judge.answer(question, watch);
    tables::keep(judge.tables(), &known).await;
    (answer, endings::changed(judge.tables(), &faults))
}

fn tell(scope: &DedicatedWorkerGlobalScope, told: &Told) {
    let value = serde_wasm_bindgen::to_value(told).expect("plain data");
    scope
        .post_message(&value)
        .expect("plain data can be posted");
}
