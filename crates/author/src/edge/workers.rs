//! The page's side of the workers: starts them from the page's own program,
//! carries questions and answers, ends and restarts them.

use std::collections::HashMap;

use js_sys::{Array, Object, Reflect};
use wasm_bindgen::prelude::*;
use web_sys::{Blob, BlobPropertyBag, ErrorEvent, MessageEvent, Url, Worker};
use yew::Callback;

use super::{boot_part, endings, words};
use desk::collection;
use desk::message::{CheckMsg, GameMsg, Msg};
use desk::wire::{Order, Post, Told};

#[wasm_bindgen]
extern "C" {
    /// Starts a worker from the address of its script (`web/author.js`).
    #[wasm_bindgen(js_namespace = keyproof, js_name = startWorker, catch)]
    fn start_worker(url: &str) -> Result<Worker, JsValue>;
}

/// The workers of the page.
pub struct Workers {
    source: String,
    start: JsValue,
    running: HashMap<Post, Running>,
    link: Callback<Msg>,
}

struct Running {
    worker: Worker,
    _told: Closure<dyn FnMut(MessageEvent)>,
    _broke: Closure<dyn FnMut(ErrorEvent)>,
}

impl Drop for Running {
    fn drop(&mut self) {
        self.worker.set_onmessage(None);
        self.worker.set_onerror(None);
        self.worker.terminate();
    }
}

/// As many workers as there are cores.
pub fn cores() -> usize {
    let cores = web_sys::window().map_or(1.0, |w| w.navigator().hardware_concurrency());
    (cores as usize).clamp(1, 16)
}

impl Workers {
    /// Starts `count` workers.
    ///
    /// # Errors
    /// What the browser says against it.
    pub fn start(count: usize, link: Callback<Msg>) -> Result<Workers, JsValue> {
        let text = boot_part("workerSource")?;
        let bag = BlobPropertyBag::new();
        bag.set_type("text/javascript");
        let blob = Blob::new_with_str_sequence_and_options(&Array::of1(&text), &bag)?;
        let start = Object::new();
        Reflect::set(&start, &"module".into(), &boot_part("module")?)?;
        let mut workers = Workers {
            source: Url::create_object_url_with_blob(&blob)?,
            start: start.into(),
            running: HashMap::new(),
            link,
        };
        let judges = (0..count).map(Post::Judge);
        for post in judges.chain([Post::Explain]) {
            workers.start_anew(post)?;
        }
        Ok(workers)
    }
    /// Carries out an order.
    ///
    /// # Errors
    /// What the browser says against it.
    pub fn carry_out(&mut self, order: Order) -> Result<(), JsValue> {
        match order {
            Order::Ask(post, ask) => {
                let ask = serde_wasm_bindgen::to_value(&ask)?;
                if !self.running.contains_key(&post) {
                    self.start_anew(post)?;
                }
                self.running[&post].worker.post_message(&ask)
            }
            Order::Restart(post) => self.start_anew(post),
            Order::End(post) => {
                self.running.remove(&post);
                Ok(())
            }
        }
    }
    /// Ends the worker of a post, if there is one, and starts another.
    fn start_anew(&mut self, post: Post) -> Result<(), JsValue> {
        self.running.remove(&post);
        let running = self.run(post)?;
        self.running.insert(post, running);
        Ok(())
    }

    /// Hands the files with endgame tables to all that answer questions.
    ///
    /// # Errors
    /// What the browser says against it.
    pub fn hand_endings(&self) -> Result<(), JsValue> {
        for (_, running) in self.running.iter().filter(|(post, _)| has_tables(**post)) {
            endings::hand_to(&running.worker)?;
        }
        Ok(())
    }

    fn run(&self, post: Post) -> Result<Running, JsValue> {
        let worker = start_worker(&self.source)?;
        let link = self.link.clone();
        let told = Closure::<dyn FnMut(MessageEvent)>::new(move |event: MessageEvent| {
            match serde_wasm_bindgen::from_value::<Told>(event.data()) {
                Ok(told) => {
                    if let Some(msg) = message(post, told) {
                        link.emit(msg);
                    }
                }
                Err(fault) => link.emit(broke(post, fault.to_string())),
            }
        });
        let link = self.link.clone();
        let breaks = Closure::<dyn FnMut(ErrorEvent)>::new(move |event: ErrorEvent| {
            event.prevent_default();
            link.emit(broke(post, words(&event.message().into())));
        });
        worker.set_onmessage(Some(told.as_ref().unchecked_ref()));
        worker.set_onerror(Some(breaks.as_ref().unchecked_ref()));
        worker.post_message(&self.start)?;
        if has_tables(post) {
            endings::hand_to(&worker)?;
        }
        Ok(Running {
            worker,
            _told: told,
            _broke: breaks,
        })
    }
}

/// Whether a worker looks into endgame tables.
fn has_tables(post: Post) -> bool {
    matches!(post, Post::Judge(_) | Post::Explain)
}

/// What the page hears of a worker.
fn message(post: Post, told: Told) -> Option<Msg> {
    Some(match (post, told) {
        (post, Told::Ready) => Msg::Check(CheckMsg::Ready(post)),
        (Post::Judge(seat), Told::Progress { ticket, nodes }) => Msg::Check(CheckMsg::Progress {
            seat,
            ticket,
            nodes,
        }),
        (Post::Judge(seat), Told::Done { ticket, answer }) => Msg::Check(CheckMsg::Answered {
            seat,
            ticket,
            answer,
        }),
        (
            Post::Judge(seat),
            Told::Sought {
                ticket,
                answer,
                millis,
            },
        ) => Msg::Game(GameMsg::Sought {
            seat,
            ticket,
            answer: answer.map(Box::new),
            millis,
        }),
        (Post::Judge(_), Told::Endings(endings)) => {
            Msg::Check(CheckMsg::Endings(desk::endings::Event::Opened(endings)))
        }
        (_, Told::Earlier(told)) => Msg::Game(GameMsg::Earlier(collection::Event::Told(told))),
        (_, Told::Second { ticket, heard }) => Msg::Check(CheckMsg::SecondDone { ticket, heard }),
        (
            _,
            Told::Explained {
                ticket,
                explanation,
            },
        ) => Msg::Check(CheckMsg::Explained {
            ticket,
            explanation,
        }),
        _ => return None,
    })
}

fn broke(post: Post, why: String) -> Msg {
    Msg::Check(CheckMsg::Broke { post, why })
}
