//! A student at work.
//!
//! What is asked of a move ([`goal`]), what is known of it ([`known`]), a
//! student's way through a puzzle ([`session`]) and a lesson ([`walk`]), the
//! sentence on a wrong move ([`failure`]), the board as a drawing ([`diagram`]),
//! reading a published file ([`published`]), and the account of the work for the
//! coach ([`account`]). The student's page is made of this and of no room that
//! searches, checks or explains.

#![deny(missing_docs)]

pub mod account;
pub mod claim;
pub mod diagram;
pub mod failure;
pub mod goal;
pub mod known;
mod mark;
pub mod published;
pub mod session;
pub mod walk;
