//! The page's side of the workers: starts them from the page's own program,
//! carries questions and answers, ends and restarts them.

use js_sys::{Array, Object, Reflect};
use keyproof::tongue::spoken;
use wasm_bindgen::prelude::*;
use web_sys::{Blob, BlobPropertyBag, ErrorEvent, MessageEvent, Url, Worker};
use yew::Callback;

use super::{boot_part, endings, words};
use desk::collection;
use desk::explaining;
use desk::message::{CheckMsg, GameMsg, Msg};
use desk::proving::Order;
use desk::second::SecondOrder;
use desk::wire::{Ask, Told};

/// The workers of the page.
pub struct Workers {
    source: String,
    start: JsValue,
    seats: Vec<Option<Running>>,
    /// The worker of the second check, once one was asked for.
    second: Option<Running>,
    /// The worker that explains.
    explainer: Option<Running>,
    /// The worker with the earlier games, once one was asked for.
    earlier: Option<Running>,
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
            seats: Vec::new(),
            second: None,
            explainer: None,
            earlier: None,
            link,
        };
        for seat in 0..count {
            let running = workers.run(Post::Judge(seat))?;
            workers.seats.push(Some(running));
        }
        workers.explainer = Some(workers.run(Post::Explain)?);
        Ok(workers)
    }
    /// Carries out an order.
    ///
    /// # Errors
    /// What the browser says against it.
    pub fn carry_out(&mut self, order: Order) -> Result<(), JsValue> {
        match order {
            Order::Ask { seat, job } => {
                let ask = Ask::Question {
                    ticket: job.ticket,
                    question: job.question,
                    budget: job.budget,
                };
                let value = serde_wasm_bindgen::to_value(&ask)?;
                if let Some(Some(running)) = self.seats.get(seat) {
                    running.worker.post_message(&value)?;
                }
            }
            Order::Seek { seat, errand } => {
                let ask = Ask::Seek {
                    ticket: errand.ticket,
                    question: errand.question,
                };
                let value = serde_wasm_bindgen::to_value(&ask)?;
                if let Some(Some(running)) = self.seats.get(seat) {
                    running.worker.post_message(&value)?;
                }
            }
            Order::Restart { seat } => {
                if seat < self.seats.len() {
                    self.seats[seat] = None;
                    self.seats[seat] = Some(self.run(Post::Judge(seat))?);
                }
            }
        }
        Ok(())
    }
    /// Carries out an order for the second check.
    ///
    /// # Errors
    /// What the browser says against it.
    pub fn second(&mut self, order: SecondOrder) -> Result<(), JsValue> {
        let SecondOrder::Check {
            ticket,
            claims,
            budget,
        } = order
        else {
            self.second = None;
            return Ok(());
        };
        let running = match self.second.take() {
            Some(running) => running,
            None => self.run(Post::Second)?,
        };
        let ask = Ask::Second {
            ticket,
            claims,
            budget,
        };
        running
            .worker
            .post_message(&serde_wasm_bindgen::to_value(&ask)?)?;
        self.second = Some(running);
        Ok(())
    }

    /// Carries out an order to the worker that explains.
    ///
    /// # Errors
    /// What the browser says against it.
    pub fn explain(&mut self, order: explaining::Order) -> Result<(), JsValue> {
        match order {
            explaining::Order::Ask(job) => {
                let ask = Ask::Explain {
                    ticket: job.ticket,
                    inquiry: job.inquiry,
                };
                let value = serde_wasm_bindgen::to_value(&ask)?;
                if let Some(running) = &self.explainer {
                    running.worker.post_message(&value)?;
                }
            }
            explaining::Order::Restart => {
                self.explainer = None;
                self.explainer = Some(self.run(Post::Explain)?);
            }
        }
        Ok(())
    }

    /// Carries out an order about the author's earlier games.
    ///
    /// # Errors
    /// What the browser says against it.
    pub fn earlier(&mut self, order: collection::Order) -> Result<(), JsValue> {
        let ask = match order {
            collection::Order::Ask(ask) => ask,
            collection::Order::End => {
                self.earlier = None;
                return Ok(());
            }
            collection::Order::Forget => {
                self.earlier = None;
                super::earlier::forget();
                return Ok(());
            }
        };
        let running = match self.earlier.take() {
            Some(running) => running,
            None => self.run(Post::Earlier)?,
        };
        let language = spoken().tag().into();
        let value = serde_wasm_bindgen::to_value(&Ask::Earlier { language, ask })?;
        running.worker.post_message(&value)?;
        self.earlier = Some(running);
        Ok(())
    }

    /// Hands the files with endgame tables to all that answer questions.
    ///
    /// # Errors
    /// What the browser says against it.
    pub fn hand_endings(&self) -> Result<(), JsValue> {
        for running in self.seats.iter().chain([&self.explainer]).flatten() {
            endings::hand_to(&running.worker)?;
        }
        Ok(())
    }

    fn run(&self, post: Post) -> Result<Running, JsValue> {
        let worker = Worker::new(&self.source)?;
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
        if matches!(post, Post::Judge(_) | Post::Explain) {
            endings::hand_to(&worker)?;
        }
        Ok(Running {
            worker,
            _told: told,
            _broke: breaks,
        })
    }
}

/// What a worker is for.
#[derive(Clone, Copy)]
enum Post {
    /// Answering questions, in this seat.
    Judge(usize),
    Second,
    Explain,
    /// Looking into the earlier games.
    Earlier,
}

/// What the page hears of a worker.
fn message(post: Post, told: Told) -> Option<Msg> {
    Some(match (post, told) {
        (Post::Judge(seat), Told::Ready) => Msg::Check(CheckMsg::Ready { seat }),
        (Post::Explain, Told::Ready) => Msg::Check(CheckMsg::ExplainerReady),
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
            explanation: Box::new(explanation),
        }),
        _ => return None,
    })
}

fn broke(post: Post, why: String) -> Msg {
    match post {
        Post::Judge(seat) => Msg::Check(CheckMsg::Broke { seat, why }),
        Post::Second => Msg::Check(CheckMsg::SecondBroke(why)),
        Post::Explain => Msg::Check(CheckMsg::ExplainerBroke(why)),
        Post::Earlier => Msg::Game(GameMsg::Earlier(collection::Event::Broke(why))),
    }
}
