//! The author's desk: its state, what can happen to it and what it asks of the
//! browser, in plain Rust. Knows no browser, and is tested without one.
//!
//! [`desk::Desk`] is the state, [`message::Msg`] what can happen,
//! [`message::Effect`] what is asked of the browser.

pub mod alike;
pub mod asking;
pub mod backup;
pub mod book;
pub mod card;
pub mod class;
pub mod coded;
pub mod collection;
pub mod defences;
pub mod desk;
pub mod earlier;
pub mod endings;
pub mod example;
pub mod explaining;
pub mod findings;
pub mod given_out;
pub mod glyphs;
pub mod grade;
pub mod hints;
pub mod history;
pub mod intake;
pub mod keeping;
pub mod keys;
pub mod lane;
pub mod leaf;
pub mod lesson;
pub mod merge;
pub mod message;
pub mod names;
pub mod next;
pub mod proof;
pub mod proving;
pub mod remote;
pub mod saved;
pub mod second;
pub mod seek;
pub mod setup;
pub mod sheet_id;
pub mod shelf;
pub mod storage;
pub mod talk;
pub mod view_model;
pub mod wire;
pub mod work;
pub mod wrong;
