//! What stands around the work: notices, the list of commands, the guide, and the
//! language of the page.

use keyproof::tongue::Tongue;

use super::Desk;
use super::finder::Finder;
use super::guide::Guide;
use crate::leaf::Leaf;
use crate::message::{Effect, Notice, Offers, PageMsg, Weight};

/// The page around the work.
pub(super) struct Page {
    pub notices: Vec<Notice>,
    /// The number of the last notice, or of the last line that was shown.
    pub last_token: u32,
    pub finder: Option<Finder>,
    pub guide: Option<Guide>,
    pub leaf: Leaf,
    /// The list of puzzles lies over the leaf.
    pub listing: bool,
    pub tongue: Tongue,
}

impl Page {
    pub fn new() -> Page {
        Page {
            notices: Vec::new(),
            last_token: 0,
            finder: None,
            guide: None,
            leaf: Leaf::default(),
            listing: false,
            tongue: Tongue::ENGLISH,
        }
    }
    /// A number that was not given out before.
    pub fn token(&mut self) -> u32 {
        self.last_token += 1;
        self.last_token
    }
    /// Drops what was told about the state before this change: undo would undo
    /// something else now.
    pub fn drop_passing_notices(&mut self) {
        self.notices.iter_mut().for_each(Notice::pass);
        self.notices.retain(Notice::stays);
    }
    /// Adds a notice. What says it is kept, to say it in another language.
    pub fn notice(&mut self, weight: Weight, said: impl Fn() -> (String, Offers) + 'static) {
        let notice = Notice::new(self.token(), weight, said);
        self.notices.retain(|n| n.text != notice.text);
        self.notices.push(notice);
    }
}

impl Desk {
    pub fn notices(&self) -> &[Notice] {
        &self.page.notices
    }

    pub(super) fn update_page(&mut self, msg: PageMsg) -> Vec<Effect> {
        match msg {
            PageMsg::Speak(tag) => self.speak(&tag),
            PageMsg::Focus(id) => self.go_to_field(id),
            PageMsg::Leaf(leaf) => {
                self.turn_to(leaf);
                vec![]
            }
            PageMsg::LeafAt(number) => {
                self.turn_to_number(number);
                vec![]
            }
            PageMsg::Listing(on) => {
                self.page.listing = on;
                self.class.open &= !on;
                vec![]
            }
            PageMsg::Finder(open) => self.open_finder(open),
            PageMsg::Guide(turn) => self.turn_guide(turn),
            PageMsg::Find(typed) => {
                self.find(typed);
                vec![]
            }
            PageMsg::Pick(by) => self.pick(by),
            PageMsg::DoFound(place) => self.do_found(place),
            PageMsg::DoPicked => self.do_picked(),
            PageMsg::Dismiss(id) => {
                self.page.notices.retain(|n| n.id != id);
                vec![]
            }
        }
    }

    /// Has notices put away that are read in passing.
    pub(super) fn fade_on(&mut self) -> Vec<Effect> {
        let notices = self.page.notices.iter_mut();
        let fading = notices.filter_map(|notice| notice.fades().then_some(notice.id));
        fading.map(Effect::Fade).collect()
    }
    pub(super) fn tell(
        &mut self,
        text: impl Fn() -> String + 'static,
        offers: impl Fn() -> Offers + 'static,
    ) {
        self.page.drop_passing_notices();
        self.page.notice(Weight::News, move || (text(), offers()));
    }
    /// Tells why something was not done.
    pub(super) fn refuse(&mut self, text: impl Fn() -> String + 'static) {
        self.page
            .notice(Weight::Refusal, move || (text(), Vec::new()));
    }
    /// Tells of something that stays wrong.
    pub(super) fn warn(
        &mut self,
        text: impl Fn() -> String + 'static,
        offers: impl Fn() -> Offers + 'static,
    ) {
        self.page
            .notice(Weight::Trouble, move || (text(), offers()));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::message::{EditMsg, Msg};

    fn fading(desk: &mut Desk) -> usize {
        let effects = desk.update(Msg::Edit(EditMsg::FieldLeft));
        let fades = |effect: &&Effect| matches!(effect, Effect::Fade(_));
        effects.iter().filter(fades).count()
    }

    #[test]
    fn what_is_read_in_passing_goes_and_what_is_wrong_stays() {
        let mut desk = Desk::new(0);
        desk.tell(|| "Done.".into(), super::super::undo);
        assert_eq!(fading(&mut desk), 1);
        assert_eq!(fading(&mut desk), 0, "it is asked for once");
        desk.refuse(|| "Not done.".into());
        assert_eq!(fading(&mut desk), 1);
        desk.warn(|| "Wrong.".into(), Vec::new);
        desk.tell(|| "Done, and lost.".into(), super::super::backup);
        assert_eq!(fading(&mut desk), 0, "what offers more is waited for");
    }
}
