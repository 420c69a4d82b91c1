//! The guide beside the work: where it is open, and what is looked for in it.

use keyproof_guide::{Found, Page, Place};

use super::Desk;
use crate::message::{Effect, Part, Turn};

/// The guide, where it is open.
#[derive(Clone, Debug)]
pub struct Guide {
    /// The part that it was asked about last, which gets the focus back.
    asked: Part,
    at: Place,
    typed: String,
    /// Shown is what was found, not the page.
    finding: bool,
}

impl Guide {
    fn about(part: Part) -> Guide {
        Guide {
            asked: part,
            at: part.place(),
            typed: String::new(),
            finding: false,
        }
    }
    /// Where it is open.
    pub fn at(&self) -> Place {
        self.at
    }
    /// The page that is open.
    pub fn page(&self) -> &'static Page {
        keyproof_guide::page(self.at.page).unwrap_or(&keyproof_guide::PAGES[0])
    }
    /// The words that are looked for.
    pub fn typed(&self) -> &str {
        &self.typed
    }
    /// What is found of the words typed.
    pub fn found(&self) -> Vec<Found> {
        keyproof_guide::find(&self.typed)
    }
    /// Whether what is found is shown, and not the page.
    pub fn is_finding(&self) -> bool {
        self.finding
    }
}

/// The id of the heading that one was led to.
pub const HERE: &str = "guide-here";

/// The id of the field for words to look for.
pub const SEARCH: &str = "guide-search";

impl Desk {
    /// The guide, where it is open.
    pub fn guide(&self) -> Option<&Guide> {
        self.page.guide.as_ref()
    }
    pub(super) fn turn_guide(&mut self, turn: Turn) -> Vec<Effect> {
        if let Turn::About(part) = turn {
            self.page.guide = Some(Guide::about(part));
            return vec![Effect::Focus(HERE)];
        }
        let Some(guide) = &mut self.page.guide else {
            return vec![];
        };
        match turn {
            Turn::About(_) => vec![],
            Turn::To(place) => {
                guide.at = place;
                guide.finding = false;
                vec![Effect::Focus(HERE)]
            }
            Turn::Find(typed) => {
                guide.finding = !typed.trim().is_empty();
                guide.typed = typed;
                vec![]
            }
            Turn::Findings => {
                guide.finding = true;
                vec![Effect::Focus(SEARCH)]
            }
            Turn::Close => {
                let asked = guide.asked;
                self.page.guide = None;
                // The part may be gone; the desk is always there.
                let buttons = [Part::Desk.button(), asked.button()];
                buttons.map(Effect::Focus).into()
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::message::{EditMsg, ListMsg, Msg, PageMsg};

    fn focused(effects: &[Effect]) -> Vec<&str> {
        let id = |effect: &Effect| match effect {
            Effect::Focus(id) => *id,
            other => panic!("{other:?}"),
        };
        effects.iter().map(id).collect()
    }

    fn turn(desk: &mut Desk, turn: Turn) -> Vec<Effect> {
        desk.update(Msg::Page(PageMsg::Guide(turn)))
    }

    #[test]
    fn each_part_has_its_place_and_its_button() {
        let mut buttons = Vec::new();
        for part in Part::ALL {
            assert!(keyproof_guide::has(part.place()), "{part:?}");
            assert!(!buttons.contains(&part.button()), "{part:?}");
            buttons.push(part.button());
        }
    }

    #[test]
    fn it_opens_where_it_is_asked_and_gives_the_focus_back() {
        let mut desk = Desk::new(0);
        assert!(desk.guide().is_none());
        let opened = turn(&mut desk, Turn::About(Part::Reasons));
        assert_eq!(focused(&opened), [HERE]);
        let guide = desk.guide().unwrap();
        assert_eq!(guide.page().name, "check");
        assert_eq!(guide.at().anchor, "why-it-works");

        let to = Place {
            page: "keep",
            anchor: "",
        };
        assert_eq!(focused(&turn(&mut desk, Turn::To(to))), [HERE]);
        assert_eq!(desk.guide().unwrap().page().name, "keep");

        let closed = turn(&mut desk, Turn::Close);
        assert_eq!(focused(&closed), ["about-desk", "about-reasons"]);
        assert!(desk.guide().is_none());
        assert!(turn(&mut desk, Turn::Close).is_empty());
    }

    #[test]
    fn what_is_found_stays_while_one_reads_it() {
        let mut desk = Desk::new(0);
        turn(&mut desk, Turn::About(Part::Desk));
        turn(&mut desk, Turn::Find("stubborn".into()));
        let guide = desk.guide().unwrap();
        assert!(guide.is_finding());
        let place = guide.found()[0].place;
        turn(&mut desk, Turn::To(place));
        let guide = desk.guide().unwrap();
        assert_eq!((guide.at(), guide.is_finding()), (place, false));
        assert_eq!(focused(&turn(&mut desk, Turn::Findings)), [SEARCH]);
        let guide = desk.guide().unwrap();
        assert_eq!((guide.typed(), guide.is_finding()), ("stubborn", true));
        turn(&mut desk, Turn::Find(" ".into()));
        assert!(!desk.guide().unwrap().is_finding());
    }

    #[test]
    fn reading_is_nothing_to_undo() {
        let mut desk = Desk::new(0);
        turn(&mut desk, Turn::About(Part::GiveOut));
        turn(&mut desk, Turn::Find("handout".into()));
        turn(&mut desk, Turn::Close);
        assert!(!desk.can_undo());
        desk.update(Msg::List(ListMsg::New));
        turn(&mut desk, Turn::About(Part::GiveOut));
        desk.update(Msg::Edit(EditMsg::Undo));
        assert!(desk.work().sheets.is_empty());
        assert!(desk.guide().is_some());
    }
}
