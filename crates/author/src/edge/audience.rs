//! The audience's window: opened, told what to show, and found again. It is a page of
//! its own, without a program but `audience.js`, so it is there at once and needs no
//! network; messages go both ways, since a page from disk may not reach into another.

use std::cell::RefCell;
use std::rc::Rc;

use gloo::events::EventListener;
use js_sys::{Array, Object, Reflect};
use keyproof::tongue::{say, tr};
use shakmaty::Board;
use wasm_bindgen::prelude::*;
use web_sys::{Blob, BlobPropertyBag, MessageEvent, Url, Window};
use yew::Callback;

use super::page;
use crate::dom::{document, window};
use crate::view::audience::{margin, picture, words};
use desk::message::{Msg, TalkMsg};
use desk::remote::{self, Field};
use desk::talk::{Margin, Shown};

const SCRIPT: &str = concat!(
    include_str!("../../../../web/draw.js"),
    include_str!("../../../../web/audience.js")
);
const NAME: &str = "keyproof-audience";
/// Where the token is kept that both windows know.
const TOKEN: &str = "keyproof-audience";

/// Milliseconds without a word from the window, after which it is given its page anew.
const SILENCE: f64 = 3_000.0;

/// The audience's window.
pub struct Audience {
    state: Rc<RefCell<State>>,
    _listener: EventListener,
}

struct State {
    token: String,
    window: Option<Window>,
    /// It was told that the window is there.
    there: bool,
    /// When it said something last.
    heard: f64,
    /// What it is to show, and that as a message with its number.
    shown: Option<(Shown, Margin)>,
    message: JsValue,
    seen: u32,
}

impl Audience {
    /// Listens for it, also for one that was opened before the page was loaded anew.
    pub fn listen(link: &Callback<Msg>) -> Audience {
        let token = page::kept_here(TOKEN).unwrap_or_else(|| {
            let token = format!("{:016x}", page::seed());
            page::keep_here(TOKEN, Some(&token));
            token
        });
        let state = Rc::new(RefCell::new(State {
            token,
            window: None,
            there: false,
            heard: 0.0,
            shown: None,
            message: JsValue::UNDEFINED,
            seen: 0,
        }));
        let hears = state.clone();
        let link = link.clone();
        let listener = EventListener::new(&window(), "message", move |event| {
            let event: &MessageEvent = event.unchecked_ref();
            let Some(msgs) = hears.borrow_mut().hear(event) else {
                return;
            };
            msgs.into_iter().for_each(|msg| link.emit(Msg::Talk(msg)));
        });
        Audience {
            state,
            _listener: listener,
        }
    }
    /// Opens it, or gives the one that is open its page anew.
    pub fn open(&self) {
        let mut state = self.state.borrow_mut();
        let Ok(url) = state.page() else { return };
        let size = match wide() {
            true => "popup,width=1920,height=1080",
            false => "popup,width=1280,height=720",
        };
        let opened = window().open_with_url_and_target_and_features(&url, NAME, size);
        state.window = opened.ok().flatten();
        state.heard = js_sys::Date::now();
    }
    pub fn close(&self) {
        if let Some(window) = self.state.borrow_mut().window.take() {
            // Where the browser keeps it open, it stays with its last picture.
            let _ = window.close();
        }
    }
    /// Tells it what to show, if that is something else; and sees whether it is still
    /// there. Nothing is shown where no talk is held.
    pub fn show(&self, shown: Option<(Shown, Margin)>) -> Option<TalkMsg> {
        let mut state = self.state.borrow_mut();
        if state.shown != shown {
            state.tell(shown);
        }
        state.tend()
    }
}

/// Whether the screen holds a window of the size that recordings have, with its frame.
fn wide() -> bool {
    let screen = Reflect::get(&window(), &"screen".into());
    let width = screen.and_then(|screen| Reflect::get(&screen, &"availWidth".into()));
    width.is_ok_and(|width| width.as_f64().is_some_and(|width| width > 1920.0))
}

impl State {
    fn hear(&mut self, event: &MessageEvent) -> Option<Vec<TalkMsg>> {
        let data = event.data();
        let part = |name: &str| Reflect::get(&data, &name.into()).ok();
        if part("keyproof")?.as_string()? != self.token {
            return None;
        }
        let source: Window = event.source()?.unchecked_into();
        let mut msgs = Vec::new();
        if self.window.as_ref() != Some(&source) {
            self.window = Some(source);
        }
        self.heard = js_sys::Date::now();
        if !std::mem::replace(&mut self.there, true) {
            msgs.push(TalkMsg::AudienceIs(true));
        }
        match part("key").and_then(|key| key.as_string()) {
            Some(key) => msgs.extend(remote::meaning(&key, Field::None)),
            None if part("seen")?.as_f64()? != f64::from(self.seen) => self.send(),
            None => {}
        }
        Some(msgs)
    }
    fn tell(&mut self, shown: Option<(Shown, Margin)>) {
        self.seen = self.seen.wrapping_add(1);
        let before = self.shown.take();
        if let Some((now, margin)) = &shown {
            let before = before.as_ref().map(|(shown, _)| &shown.board);
            self.message = self.message_of(now, *margin, before);
        }
        self.shown = shown;
        self.send();
    }
    fn message_of(&self, shown: &Shown, colour: Margin, before: Option<&Board>) -> JsValue {
        let lines = words(shown).into_iter();
        let lines: Array = lines
            .map(|(class, text)| Array::of2(&class.into(), &text.into()))
            .collect();
        let message = Object::new();
        let board = picture(shown, before.filter(|b| **b != shown.board), self.seen);
        for (name, value) in [
            ("keyproof", JsValue::from(&self.token)),
            ("seen", self.seen.into()),
            ("language", shown.language.into()),
            ("title", shown.title.clone().into()),
            ("margin", margin(colour).into()),
            ("board", board.into()),
            ("words", lines.into()),
        ] {
            // A new object takes whatever is put into it.
            let _ = Reflect::set(&message, &name.into(), &value);
        }
        message.into()
    }
    fn send(&self) {
        if let Some(window) = self.window.as_ref().filter(|_| self.shown.is_some()) {
            // What is gone does not hear; it says hello when it is there again.
            let _ = window.post_message(&self.message, "*");
        }
    }
    /// Sees whether the window is there. One that was loaded anew without its page is
    /// given it again.
    fn tend(&mut self) -> Option<TalkMsg> {
        let window = self.window.as_ref()?;
        if window.closed().unwrap_or(true) {
            (self.window, self.there) = (None, false);
            return Some(TalkMsg::AudienceIs(false));
        }
        let now = js_sys::Date::now();
        if self.shown.is_some() && now - self.heard > SILENCE {
            self.heard = now;
            if let Ok(url) = self.page() {
                // The location of another page may be set, though not read.
                let _ = window.location().replace(&url);
            }
        }
        None
    }
    /// The page of the window, as an address of the browser's own.
    fn page(&self) -> Result<String, JsValue> {
        let mut style = String::new();
        let sheets = document().query_selector_all("style")?;
        for i in 0..sheets.length() {
            style.extend(sheets.get(i).and_then(|sheet| sheet.text_content()));
        }
        let title = say!("{name}: the audience\u{2019}s window", name = "Keyproof");
        let wait = tr("The talk begins in a moment.");
        let page = format!(
            "<!doctype html><meta charset=utf-8><title>{title}</title><style>{style}</style>\
             <body class=audience data-token={}><div class=\"audience-board kp-board\"></div>\
             <div class=audience-words><p>{wait}</p></div><script>{SCRIPT}</script>",
            self.token
        );
        let bag = BlobPropertyBag::new();
        bag.set_type("text/html;charset=utf-8");
        let parts = Array::of1(&page.into());
        Url::create_object_url_with_blob(&Blob::new_with_str_sequence_and_options(&parts, &bag)?)
    }
}
