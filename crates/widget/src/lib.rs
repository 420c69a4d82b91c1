//! The page of the student: the puzzles of one published file, each move
//! judged at once.
//!
//! [`study`] is the whole of the page's state and what changes it, in plain
//! Rust; `view` draws it into the page that `page` sets up. Judging is left to
//! `play::session`, the board to `keyproof_board`. There is no framework
//! here: with one the published file would be too large.

pub mod answered;
pub mod event;
mod page;
pub mod reading;
pub mod solution;
pub mod stage;
pub mod study;
mod view;
pub mod viewpoint;
mod words;
pub mod work;

pub use page::mount;

/// The page allocates little; the usual allocator would be a thirtieth of it.
#[cfg(target_arch = "wasm32")]
#[global_allocator]
static ALLOCATOR: lol_alloc::AssumeSingleThreaded<lol_alloc::FreeListAllocator> =
    unsafe { lol_alloc::AssumeSingleThreaded::new(lol_alloc::FreeListAllocator::new()) };
