//! The language that the desk speaks. What is said to students is in the
//! language of each puzzle, whatever the desk speaks.

use keyproof::tongue::Tongue;

use super::Desk;
use crate::message::{Effect, Notice};

impl Desk {
    /// The same desk, speaking this.
    pub fn speaking(mut self, tongue: Tongue) -> Desk {
        self.page.tongue = tongue;
        self
    }
    /// What the desk speaks.
    pub fn tongue(&self) -> Tongue {
        self.page.tongue
    }
    /// Speaks the language of this tag from now on.
    pub(super) fn speak(&mut self, tag: &str) -> Vec<Effect> {
        self.page.tongue = keyproof_tongues::of(tag);
        self.page.tongue.speak();
        self.look_anew();
        self.hold_anew();
        self.page.notices.iter_mut().for_each(Notice::say_anew);
        vec![Effect::Speak(self.page.tongue.tag())]
    }
}

#[cfg(test)]
mod tests {
    use keyproof::check::thousands;
    use keyproof::notation::pgn_write;

    use super::super::tests::{PAGE, bring, desk, movetext, run};
    use super::*;
    use crate::message::{
        CheckMsg, EditMsg, GameMsg, GiveOutMsg, ListMsg, Msg, PageMsg, Purpose, Scope,
    };
    use crate::wire::Post;
    use crate::work::SheetId;

    /// Two rooks, with a cook. A position of our own.
    const COOKED: &str =
        "[FEN \"7k/8/8/8/8/8/R7/1R2K3 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Ra7 Kg8 2. Rb8# *\n";

    fn speak(desk: &mut Desk, tag: &str) -> Vec<Effect> {
        run(desk, Msg::Page(PageMsg::Speak(tag.into())))
    }
    fn open(desk: &Desk) -> SheetId {
        desk.work().open.expect("an open puzzle")
    }
    /// Head and evidence of the verdict, and the findings.
    fn judgement(desk: &Desk) -> Vec<String> {
        desk.tongue().speaks(|| {
            let (_, model) = desk.opened().expect("an open puzzle");
            let words = model.verdict();
            let findings = model.report.findings.iter().map(|f| f.message.clone());
            let head = [words.head.to_owned(), words.evidence];
            head.into_iter().chain(findings).collect()
        })
    }

    #[test]
    fn verdict_and_findings_follow_the_language() {
        let mut desk = desk();
        bring(&mut desk, COOKED);
        let nodes = thousands(desk.opened().unwrap().1.report.nodes);
        let english = judgement(&desk);
        assert_eq!(english[0], "Unsound");
        let rests_on = format!("1 fault; proved, {nodes} positions; checked by a second, ");
        assert!(english[1].starts_with(&rests_on), "{english:?}");
        assert_eq!(
            english[2],
            "1.Rb7 mates in 2 moves as well, and is not listed."
        );
        let effects = speak(&mut desk, "de");
        assert!(matches!(effects[..], [Effect::Speak("de")]), "{effects:?}");
        let german = judgement(&desk);
        assert_eq!(german[0], "Inkorrekt");
        assert!(german[1].starts_with("1 Fehler; bewiesen, "), "{german:?}");
        assert_eq!(
            german[2],
            "Auch 1.Tb7 setzt in 2 Zügen matt und ist nicht angegeben."
        );
        assert!(!desk.is_checking(open(&desk)), "nothing is asked twice");
        speak(&mut desk, "en");
        assert_eq!(judgement(&desk), english);
    }

    #[test]
    fn every_sheet_that_is_looked_at_follows() {
        let mut desk = desk();
        bring(&mut desk, &COOKED.repeat(3));
        speak(&mut desk, "fr");
        for sheet in desk.work().sheets.clone() {
            let model = desk.model(sheet.id).expect("a small desk");
            let message = &model.report.findings[0].message;
            assert!(message.contains("Tb7"), "{message}");
            assert!(model.is_of(&sheet));
        }
    }

    #[test]
    fn what_is_told_afterwards_is_in_the_language() {
        let mut desk = desk();
        bring(&mut desk, COOKED);
        speak(&mut desk, "de-AT");
        let id = open(&desk);
        run(&mut desk, Msg::List(ListMsg::Remove(id)));
        let notice = desk.notices().last().expect("a notice");
        assert_eq!(notice.text, "Aufgabe 1 wurde entfernt.");
        assert_eq!(notice.offers[0].0, "Rückgängig");
    }

    #[test]
    fn what_was_told_before_is_told_in_the_language_too() {
        let mut desk = desk();
        bring(&mut desk, COOKED);
        let id = open(&desk);
        run(&mut desk, Msg::List(ListMsg::Remove(id)));
        let told = |desk: &Desk| {
            let notices = desk.notices().iter().map(|notice| {
                let offers = notice.offers.iter().map(|(words, _)| words.clone());
                (notice.text.clone(), offers.collect::<Vec<_>>())
            });
            notices.collect::<Vec<_>>()
        };
        let english = ("Puzzle 1 was removed.".to_owned(), vec!["Undo".to_owned()]);
        assert_eq!(told(&desk), std::slice::from_ref(&english));
        speak(&mut desk, "de");
        let german = "Aufgabe 1 wurde entfernt.".to_owned();
        assert_eq!(told(&desk), [(german, vec!["Rückgängig".to_owned()])]);
        speak(&mut desk, "en");
        assert_eq!(told(&desk), [english]);

        // Two that are alike, and a text that is no game.
        bring(&mut desk, &COOKED.repeat(2));
        let came = |text: &str| {
            Msg::List(ListMsg::Pasted {
                text: text.into(),
                in_tree: false,
            })
        };
        run(&mut desk, came("no game"));
        let english = told(&desk);
        assert_eq!(english.len(), 2, "{english:?}");
        assert!(
            english[1].0.contains("found in the pasted text."),
            "{english:?}"
        );
        speak(&mut desk, "fr");
        let french = told(&desk);
        assert!(
            french[0].0.contains("2 problèmes sont arrivés"),
            "{french:?}"
        );
        assert!(french[0].0.contains("(identique"), "{french:?}");
        assert!(french[1].0.contains("le texte collé"), "{french:?}");
        for (offers, before) in french.iter().zip(&english).map(|(f, e)| (&f.1, &e.1)) {
            assert_eq!(offers.len(), before.len());
            assert!(offers.iter().zip(before).all(|(f, e)| f != e), "{offers:?}");
        }
        speak(&mut desk, "en");
        assert_eq!(told(&desk), english);
        // Undo, which would undo something else by now, does not come back, and nor
        // does what was refused.
        run(&mut desk, Msg::List(ListMsg::New));
        speak(&mut desk, "de");
        let undoes = |(_, offer): &(String, Msg)| matches!(offer, Msg::Edit(EditMsg::Undo));
        assert_eq!(desk.notices().len(), 1);
        assert!(!desk.notices().iter().any(|n| n.offers.iter().any(undoes)));
    }

    #[test]
    fn the_first_puzzle_speaks_to_students_as_the_page_does() {
        let mut desk = desk();
        speak(&mut desk, "de");
        let language = |desk: &Desk| {
            let (sheet, _) = desk.opened().expect("an open puzzle");
            sheet.draft.tag("Language").map(str::to_owned)
        };
        run(&mut desk, Msg::List(ListMsg::New));
        assert_eq!(language(&desk).as_deref(), Some("de"));
        speak(&mut desk, "fr");
        run(&mut desk, Msg::List(ListMsg::NewGame));
        assert_eq!(language(&desk).as_deref(), Some("de"), "as the open one");
        bring(&mut desk, COOKED);
        assert_eq!(language(&desk), None, "as it came");
        run(&mut desk, Msg::List(ListMsg::New));
        assert_eq!(language(&desk), None, "as the open one");
    }

    #[test]
    fn undo_does_not_touch_the_language() {
        let mut desk = desk();
        bring(&mut desk, COOKED);
        run(&mut desk, Msg::Edit(EditMsg::Undo));
        let redo = desk.can_redo();
        speak(&mut desk, "de");
        assert_eq!((desk.can_undo(), desk.can_redo()), (false, redo));
        run(&mut desk, Msg::Edit(EditMsg::Redo));
        assert_eq!(desk.tongue().tag(), "de");
        assert_eq!(judgement(&desk)[0], "Inkorrekt");
        run(&mut desk, Msg::Edit(EditMsg::Undo));
        assert_eq!(desk.tongue().tag(), "de");
    }

    #[test]
    fn what_is_held_stays_held_and_says_why_in_the_language() {
        let mut desk = desk();
        bring(&mut desk, COOKED);
        run(&mut desk, Msg::GiveOut(GiveOutMsg::Publish(Scope::Open)));
        let held = |desk: &Desk| desk.held().map(|(purpose, why)| (purpose, why.to_vec()));
        let purpose = Purpose::File(Scope::Open);
        let english = held(&desk);
        assert_eq!(
            english,
            Some((purpose, vec!["Puzzle 1 is unsound.".into()]))
        );
        let effects = speak(&mut desk, "de");
        assert!(
            !effects
                .iter()
                .any(|effect| matches!(effect, Effect::FetchTemplate(_)))
        );
        let german = vec!["Aufgabe 1 ist inkorrekt.".into()];
        assert_eq!(held(&desk), Some((purpose, german)));
    }

    #[test]
    fn the_choice_is_gone_to_by_its_name_in_each_language() {
        for (tag, typed) in [("en", "language page"), ("de", "Sprache Seite")] {
            let mut desk = desk().speaking(keyproof_tongues::of(tag));
            desk.update(Msg::Page(PageMsg::Finder(true)));
            desk.update(Msg::Page(PageMsg::Find(typed.into())));
            let effects = desk.update(Msg::Page(PageMsg::DoFound(0)));
            let gone = |effect: &Effect| matches!(effect, Effect::Focus("tongue"));
            assert!(effects.iter().any(gone), "{tag}: {effects:?}");
        }
    }

    /// After 1.Kg6 the rook mates on b8 whatever Black does; nothing is listed.
    const UNANSWERED: &str = "[FEN \"7k/p7/5K2/8/8/8/8/1R6 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Kg6 (1. Kf7 $1 Kh7 2. Rh1#) *";

    /// What is written into a puzzle and what is given out, on a desk that
    /// speaks this.
    fn given_out(tag: &str, text: &str) -> (String, String, String) {
        let mut desk = desk().speaking(keyproof_tongues::of(tag));
        bring(&mut desk, text);
        run(&mut desk, Msg::Check(CheckMsg::Fill));
        let page = desk.student_page(PAGE, Scope::Open).expect("a page");
        let handout = run(
            &mut desk,
            Msg::GiveOut(GiveOutMsg::SaveHandout(Scope::Open, 4)),
        );
        let [Effect::Download { name, text, .. }] = &handout[..] else {
            panic!("{handout:?}")
        };
        (movetext(&desk), page, format!("{name}\n{text}"))
    }

    #[test]
    fn words_of_puzzles_stay_in_their_own_language() {
        let english = given_out("en", UNANSWERED);
        assert!(
            english.0.contains("{The same answers 1..."),
            "{}",
            english.0
        );
        assert_eq!(given_out("de", UNANSWERED), english);
        let french =
            UNANSWERED.replace("[Stip", "[Language \"fr\"]\n[Pieces \"figurines\"]\n[Stip");
        let told = given_out("de", &french);
        assert_eq!(told, given_out("es", &french));
        assert!(told.0.contains("{La même réponse"), "{}", told.0);
        assert!(told.1.starts_with("frUn problème d’échecs"), "{}", told.1);
    }

    /// A game of our own making: White has mate on f7 and develops a knight.
    const OVERLOOKED: &str =
        "[Event \"Board four\"]\n\n1. e4 e5 2. Bc4 Nc6 3. Qh5 Nf6 4. Nf3 Nxh5 *\n";

    #[test]
    fn reasons_are_asked_for_again_when_the_game_has_another_language() {
        let mut desk = desk();
        bring(&mut desk, OVERLOOKED);
        run(&mut desk, Msg::Game(GameMsg::Seek));
        let told = |desk: &Desk| {
            let seek = desk.seeking().expect("a search");
            let found = seek.found.iter().find(|m| m.number == 4).expect("a moment");
            (found.study.tries[0].sentence.clone(), seek.tally())
        };
        let (english, (answered, asked)) = told(&desk);
        assert!(english.starts_with("4.Nf3 "), "{english}");
        assert_eq!(answered, asked);
        let speak = |value: &str| {
            Msg::Edit(EditMsg::Tag {
                name: "Language".into(),
                value: value.into(),
            })
        };
        run(&mut desk, speak("de"));
        let (kept, (answered, asked)) = told(&desk);
        assert_eq!(kept, english);
        assert!(0 < answered && answered < asked, "{answered} of {asked}");
        run(&mut desk, speak(""));
        assert_eq!(told(&desk), (english, (asked, asked)));
        run(&mut desk, speak("de"));
        run(&mut desk, Msg::Game(GameMsg::Seek));
        let (german, tally) = told(&desk);
        assert!(german.starts_with("4.Sf3 "), "{german}");
        assert_eq!(tally, (asked, asked));
    }

    #[test]
    fn what_a_search_writes_into_a_game_is_in_the_games_language() {
        let asked = |tag: &str, game: &str| {
            let mut desk = desk().speaking(keyproof_tongues::of(tag));
            bring(&mut desk, game);
            run(&mut desk, Msg::Game(GameMsg::Seek));
            let found = &desk.seeking().unwrap().found;
            let ply = found.iter().find(|m| m.number == 4).unwrap().ply;
            run(&mut desk, Msg::Game(GameMsg::AskFound(ply)));
            run(&mut desk, Msg::Game(GameMsg::PuzzleOf(ply)));
            run(&mut desk, Msg::Check(CheckMsg::Ready(Post::Explain)));
            let sheets = desk.work().sheets.iter();
            let texts = sheets.map(|sheet| pgn_write::write(&sheet.draft));
            (texts.collect::<Vec<_>>(), desk.hint_drafts())
        };
        let english = asked("en", OVERLOOKED);
        assert_eq!(english.0.len(), 2);
        assert_eq!(english.1[1], "It is a queen move.");
        assert_eq!(asked("es", OVERLOOKED), english);
        let german = format!("[Language \"de\"]\n{OVERLOOKED}");
        let (texts, drafts) = asked("es", &german);
        assert_eq!(drafts[1], "Es ist ein Damenzug.");
        // Words and hints are offered beside the text, not written into it.
        for text in texts {
            assert!(!text.contains("[Hint") && !text.contains('{'), "{text}");
        }
    }
}
