//! Telling the other tabs that something was written. A browser without such a
//! channel loses nothing: what is in the store is read again when the page comes
//! into sight.

use gloo::events::EventListener;
use web_sys::BroadcastChannel;
use yew::Callback;

use desk::message::{Msg, StoreMsg};

const NAME: &str = "keyproof";

/// The channel to the other tabs, for as long as it is kept.
pub struct Tabs {
    channel: Option<BroadcastChannel>,
    _listener: Option<EventListener>,
}

impl Tabs {
    pub fn listen(link: &Callback<Msg>) -> Tabs {
        let channel = BroadcastChannel::new(NAME).ok();
        let link = link.clone();
        let listener = channel.as_ref().map(|channel| {
            EventListener::new(channel, "message", move |_| {
                link.emit(Msg::Store(StoreMsg::LookElsewhere))
            })
        });
        Tabs {
            channel,
            _listener: listener,
        }
    }
    pub fn tell(&self) {
        if let Some(channel) = &self.channel {
            // Who does not hear it reads again when he is looked at.
            let _ = channel.post_message(&"written".into());
        }
    }
}
