//! The list of keys and commands, and what is looked for in it.

use super::Desk;
use super::commands::{self, Command};
use crate::message::Effect;

/// What is typed, and which of the commands found is picked.
#[derive(Clone, Debug, Default)]
pub struct Finder {
    pub typed: String,
    /// The place among the commands found.
    pub at: usize,
}

impl Desk {
    /// The list, where it is open: what is typed, what is found, and the place
    /// of the one picked.
    pub fn finder(&self) -> Option<(&Finder, Vec<Command>)> {
        let finder = self.page.finder.as_ref()?;
        Some((finder, commands::found(self, &finder.typed)))
    }
    pub fn is_finding(&self) -> bool {
        self.page.finder.is_some()
    }
    pub(super) fn open_finder(&mut self, open: bool) -> Vec<Effect> {
        let was = self.page.finder.is_some();
        self.page.finder = open.then(Finder::default);
        match (was, open) {
            (false, true) => vec![Effect::KeepFocus, Effect::Focus("finder")],
            (true, false) => vec![Effect::FocusBack],
            _ => vec![],
        }
    }
    pub(super) fn find(&mut self, typed: String) {
        let Some(finder) = &mut self.page.finder else {
            return;
        };
        *finder = Finder { typed, at: 0 };
        self.pick_from(0, 1);
    }
    /// Picks the next command that can be done, downwards (1) or upwards (-1).
    pub(super) fn pick(&mut self, by: isize) -> Vec<Effect> {
        if let Some(finder) = &self.page.finder {
            let from = finder.at as isize + by;
            self.pick_from(from, by);
        }
        vec![Effect::InSight("finder-here")]
    }
    fn pick_from(&mut self, from: isize, by: isize) {
        let Some((_, found)) = self.finder() else {
            return;
        };
        let count = found.len() as isize;
        let mut places = (0..count).map(|step| (from + step * by).rem_euclid(count));
        let place = places.find(|&place| found[place as usize].msg.is_some());
        if let (Some(place), Some(finder)) = (place, &mut self.page.finder) {
            finder.at = place as usize;
        }
    }
    pub(super) fn do_picked(&mut self) -> Vec<Effect> {
        let picked = self.page.finder.as_ref().map(|finder| finder.at);
        picked.map_or_else(Vec::new, |at| self.do_found(at))
    }
    /// Does what was found at a place.
    pub(super) fn do_found(&mut self, place: usize) -> Vec<Effect> {
        let found = self.finder().map(|(_, found)| found);
        let msg = found.and_then(|mut found| {
            (place < found.len())
                .then(|| found.swap_remove(place).msg)
                .flatten()
        });
        let Some(msg) = msg else {
            return vec![];
        };
        let mut effects = self.open_finder(false);
        effects.extend(self.happen(msg));
        effects
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::message::{ListMsg, Msg, PageMsg};

    fn found(desk: &Desk) -> Vec<String> {
        let (_, found) = desk.finder().unwrap();
        found.into_iter().map(|c| c.words).collect()
    }

    #[test]
    fn a_command_is_found_and_done() {
        let mut desk = Desk::new(0);
        let opened = desk.update(Msg::Page(PageMsg::Finder(true)));
        assert!(matches!(
            opened[..],
            [Effect::KeepFocus, Effect::Focus("finder")]
        ));
        desk.update(Msg::Page(PageMsg::Find("new puz".into())));
        assert_eq!(found(&desk), ["New puzzle"]);
        let done = desk.update(Msg::Page(PageMsg::DoFound(0)));
        assert!(matches!(done[0], Effect::FocusBack));
        assert!(desk.finder().is_none());
        assert_eq!(desk.work().sheets.len(), 1);
    }

    #[test]
    fn what_is_picked_is_done_though_it_stands_lower_than_before() {
        let mut desk = Desk::new(0);
        desk.update(Msg::List(ListMsg::New));
        desk.update(Msg::Page(PageMsg::Finder(true)));
        let picked = |desk: &Desk| desk.finder().unwrap().0.at;
        desk.update(Msg::Page(PageMsg::Find("t".into())));
        let before = picked(&desk);
        desk.update(Msg::Page(PageMsg::Find("typed".into())));
        assert_ne!(picked(&desk), before);
        let done = desk.update(Msg::Page(PageMsg::DoPicked));
        let goes = |effect: &Effect| matches!(effect, Effect::Focus("typed-move"));
        assert!(done.iter().any(goes));
        assert!(desk.finder().is_none());
    }

    #[test]
    fn picking_skips_what_cannot_be_done() {
        let mut desk = Desk::new(0);
        desk.update(Msg::Page(PageMsg::Finder(true)));
        let able = |desk: &Desk| {
            let (finder, found) = desk.finder().unwrap();
            found[finder.at].msg.is_some()
        };
        desk.update(Msg::Page(PageMsg::Find("".into())));
        for by in [1, 1, 1, -1, -1, -1, -1] {
            assert!(able(&desk));
            desk.update(Msg::Page(PageMsg::Pick(by)));
        }
        desk.update(Msg::Page(PageMsg::Find("redo".into())));
        assert!(!able(&desk));
        desk.update(Msg::Page(PageMsg::DoFound(0)));
        assert!(desk.finder().is_some());
        desk.update(Msg::Page(PageMsg::Finder(false)));
        assert!(desk.finder().is_none());
    }
}
