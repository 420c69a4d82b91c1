//! The talk that is held at the desk.

use keyproof::tongue::tr;

use super::Desk;
use crate::message::{Effect, GiveOutMsg, ListMsg, Msg, TalkMsg};
use crate::talk::{Part, Script, Shown, Talk, Tool};
use crate::work::SheetId;

/// Milliseconds between the ticks of a talk.
const TICK: u32 = 1000;

/// Milliseconds between the moves of a line on the audience's board.
const PACE: u32 = 1000;

/// The talk, and the time.
#[derive(Default)]
pub(super) struct Talking {
    talk: Option<Talk>,
    /// A talk of an earlier loading of the page, until its puzzle is there.
    recalled: Option<Box<Talk>>,
    /// The audience's window is there.
    audience: bool,
    /// The browser's time in milliseconds.
    now: u64,
    /// The number of the talk, and of the line on its board.
    held: u32,
    line: u32,
}

impl Desk {
    /// What time it is, in milliseconds of the browser's.
    pub fn tell_time(&mut self, now: u64) {
        self.talking.now = now;
    }
    /// The talk that is held, with its script.
    pub fn talk(&self) -> Option<(&Talk, Script<'_>)> {
        let talk = self.talking.talk.as_ref()?;
        let (sheet, model) = self.opened().filter(|(sheet, _)| sheet.id == talk.sheet)?;
        Some((talk, Script::of(sheet, model)?))
    }
    /// What the audience sees now.
    pub fn shown(&self) -> Option<Shown> {
        let (talk, script) = self.talk()?;
        let tongue = keyproof_tongues::of_game(&script.sheet.draft);
        Some(tongue.speaks(|| Shown::of(talk, &script, self.talking.now)))
    }
    /// The talk as it is kept while the page is loaded anew.
    pub fn kept_talk(&self) -> Option<&Talk> {
        self.talking
            .talk
            .as_ref()
            .or(self.talking.recalled.as_deref())
    }
    /// Whether the audience's window is there.
    pub fn has_audience(&self) -> bool {
        self.talking.audience
    }
    /// How long the talk has lasted.
    pub fn talk_used(&self) -> String {
        let talk = self.talking.talk.as_ref();
        talk.map_or_else(String::new, |talk| talk.clock.used(self.talking.now))
    }
    /// Takes a recalled talk up once its puzzle lies open, and leaves one whose puzzle
    /// is gone.
    pub(super) fn talk_on(&mut self) -> Vec<Effect> {
        if let Some(talk) = &self.talking.talk
            && self.document.work.open != Some(talk.sheet)
        {
            return self.leave_talk();
        }
        let wanted = self.talking.recalled.as_ref().map(|talk| talk.sheet);
        let Some(sheet) = wanted.filter(|&id| self.document.work.sheet(id).is_some()) else {
            return vec![];
        };
        let mut effects = self.open(sheet);
        self.talking.talk = self.talking.recalled.take().map(|talk| *talk);
        if let Some((talk, script)) = self.talk() {
            let spot = script.settle(talk.spot);
            self.talking
                .talk
                .iter_mut()
                .for_each(|talk| talk.spot = spot);
        }
        effects.push(self.tick_anew());
        effects
    }

    pub(super) fn update_talk(&mut self, msg: TalkMsg) -> Vec<Effect> {
        match msg {
            TalkMsg::Begin => return self.begin_talk(),
            TalkMsg::Recall(talk) => {
                self.talking.recalled = Some(talk);
                return vec![];
            }
            TalkMsg::AudienceIs(there) => {
                self.talking.audience = there;
                return vec![];
            }
            _ if self.talking.talk.is_none() => return vec![],
            TalkMsg::Leave => return self.leave_talk(),
            TalkMsg::Escape => {
                if self.talk().is_some_and(|(talk, _)| talk.aside().is_none()) {
                    return self.leave_talk();
                }
                self.on_talk(|talk, _| talk.come_back());
            }
            TalkMsg::Step(forward) => return self.step_talk(forward),
            TalkMsg::Audience(open) => return vec![Effect::Audience(open)],
            TalkMsg::Tick(held) if held == self.talking.held => return vec![self.tick()],
            TalkMsg::Tick(_) => {}
            TalkMsg::CopyMoments => return vec![Effect::Copy(self.moments_told())],
            TalkMsg::SaveMoments => {
                return vec![Effect::Download {
                    name: "moments.txt".into(),
                    kind: "text/plain",
                    text: self.moments_told(),
                }];
            }
            TalkMsg::PlayOn(line) => {
                if line == self.talking.line {
                    self.on_talk(|talk, _| talk.play_on());
                    return self.line_on();
                }
            }
            msg => return self.in_talk(msg),
        }
        vec![]
    }
    /// Judges anew what was suggested, once more is known.
    pub(super) fn judge_anew(&mut self) -> Vec<Effect> {
        let Some((_, script)) = self.talk() else {
            return vec![];
        };
        let tongue = keyproof_tongues::of_game(&script.sheet.draft);
        let mut another = false;
        tongue.speaks(|| self.on_talk(|talk, script| another = talk.judge_anew(script)));
        match another {
            true => self.line_on(),
            false => vec![],
        }
    }
    /// What changes the talk alone.
    fn in_talk(&mut self, msg: TalkMsg) -> Vec<Effect> {
        let now = self.talking.now;
        let Some((_, script)) = self.talk() else {
            return vec![];
        };
        let tongue = keyproof_tongues::of_game(&script.sheet.draft);
        let shows = matches!(
            msg,
            TalkMsg::Play(_) | TalkMsg::Suggest(_) | TalkMsg::Judge(_) | TalkMsg::Show(_)
        );
        tongue.speaks(|| {
            self.on_talk(|talk, script| match msg {
                TalkMsg::Go(spot) => talk.go(script, spot, now),
                TalkMsg::NextQuestion => {
                    if let Some(next) = script.next_question(talk.spot) {
                        talk.go(script, next, now);
                    }
                }
                TalkMsg::Play(mv) => talk.play(script, mv),
                TalkMsg::Suggest(mv) => talk.suggest(script, mv),
                TalkMsg::Judge(place) => talk.judge(script, place),
                TalkMsg::Count(place, more) => talk.count(place, more),
                TalkMsg::Show(ready) => talk.show(script, ready),
                TalkMsg::Return => talk.come_back(),
                TalkMsg::Tool(tool) => {
                    let again = talk.drawing.tool == tool;
                    talk.drawing.tool = if again { Tool::Move } else { tool };
                    talk.drawing.pointer = None;
                }
                TalkMsg::Kind(kind) => talk.drawing.kind = kind,
                TalkMsg::Tone(tone) => talk.drawing.tone = tone,
                TalkMsg::Mark(mark) => talk.drawing.mark(mark),
                TalkMsg::Point(at) => talk.drawing.pointer = at,
                TalkMsg::Wipe => talk.drawing.wipe(),
                TalkMsg::Switch(switch) => talk.switch(switch),
                TalkMsg::Limit(limit) => talk.clock.limit = limit,
                TalkMsg::Clock => talk.clock.toggle(now),
                TalkMsg::Margin(margin) => talk.margin = margin,
                TalkMsg::CountFromNow => talk.clock.count_from(now),
                TalkMsg::Note => {
                    let name = match talk.spot.part {
                        Part::Game => script.heading(talk.spot.at),
                        _ => format!(
                            "{} {}",
                            script.heading(talk.spot.at),
                            script.name(talk.spot)
                        ),
                    };
                    talk.clock.note(now, name);
                }
                _ => {}
            });
        });
        match shows {
            true => self.line_on(),
            false => vec![],
        }
    }
    fn on_talk(&mut self, act: impl FnOnce(&mut Talk, &Script)) {
        let Some(mut talk) = self.talking.talk.take() else {
            return;
        };
        let opened = self.opened().filter(|(sheet, _)| sheet.id == talk.sheet);
        if let Some(script) = opened.and_then(|(sheet, model)| Script::of(sheet, model)) {
            act(&mut talk, &script);
        }
        self.talking.talk = Some(talk);
    }
    fn begin_talk(&mut self) -> Vec<Effect> {
        let now = self.talking.now;
        let begun = self.opened().and_then(|(sheet, model)| {
            let script = Script::of(sheet, model)?;
            let tongue = keyproof_tongues::of_game(&sheet.draft);
            Some(tongue.speaks(|| Talk::begin(&script, now)))
        });
        let Some(talk) = begun else {
            self.refuse(|| {
                tr("There is nothing to talk about yet: the position is not legal.").into()
            });
            return vec![];
        };
        self.talking.talk = Some(talk);
        self.page.listing = false;
        self.page.guide = None;
        let mut effects = self.happen(Msg::GiveOut(GiveOutMsg::PreviewEnd));
        effects.push(self.tick_anew());
        effects.push(Effect::Focus("talk"));
        effects
    }
    fn leave_talk(&mut self) -> Vec<Effect> {
        self.talking.talk = None;
        self.talking.held += 1;
        vec![
            Effect::Audience(false),
            Effect::Focus("move-here"),
            Effect::Focus("talk-begin"),
        ]
    }
    /// One step; from the end of a puzzle to the one that stands beside it.
    fn step_talk(&mut self, forward: bool) -> Vec<Effect> {
        let now = self.talking.now;
        let Some((_, script)) = self.talk() else {
            return vec![];
        };
        let tongue = keyproof_tongues::of_game(&script.sheet.draft);
        let mut stepped = false;
        tongue.speaks(|| {
            self.on_talk(|talk, script| stepped = talk.step(script, forward, now));
        });
        if stepped {
            return vec![];
        }
        match self.beside(if forward { 1 } else { -1 }) {
            Some(next) => self.talk_turns_to(next, !forward),
            None => vec![],
        }
    }
    fn talk_turns_to(&mut self, next: SheetId, last: bool) -> Vec<Effect> {
        let Some(mut talk) = self.talking.talk.take() else {
            return vec![];
        };
        let now = self.talking.now;
        let effects = self.happen(Msg::List(ListMsg::Open(next)));
        if let Some((sheet, model)) = self.opened()
            && let Some(script) = Script::of(sheet, model)
        {
            let tongue = keyproof_tongues::of_game(&sheet.draft);
            tongue.speaks(|| talk.turn_to(&script, last, now));
        }
        self.talking.talk = Some(talk);
        effects
    }
    /// Has the line on the board play on.
    fn line_on(&mut self) -> Vec<Effect> {
        self.talking.line += 1;
        let plays = |talk: &Talk| talk.aside().is_some_and(|aside| aside.plays());
        match self.talking.talk.as_ref().is_some_and(plays) {
            true => vec![Effect::After(
                PACE,
                Msg::Talk(TalkMsg::PlayOn(self.talking.line)),
            )],
            false => vec![],
        }
    }
    fn moments_told(&self) -> String {
        let talk = self.talking.talk.as_ref();
        talk.map_or_else(String::new, |talk| talk.clock.chapters())
    }
    fn tick_anew(&mut self) -> Effect {
        self.talking.held += 1;
        self.tick()
    }
    fn tick(&self) -> Effect {
        Effect::After(TICK, Msg::Talk(TalkMsg::Tick(self.talking.held)))
    }
}

impl Desk {
    /// Whether the speaker's window shows what the audience sees, and nothing else.
    pub fn talks_alone(&self) -> bool {
        self.talk().is_some_and(|(talk, _)| talk.switches.alone)
    }
}

#[cfg(test)]
mod tests {
    use std::rc::Rc;

    use keyproof::notation::moves;
    use serde_json::{from_str, to_string};
    use shakmaty::Position;

    use super::super::tests::{bring, desk, run};
    use super::*;
    use crate::example;
    use crate::message::{CheckMsg, EditMsg};
    use crate::talk::{Ready, Spot, Switch, Verdict};
    use crate::wire::Post;
    use crate::work::Work;

    fn tell(desk: &mut Desk, msg: TalkMsg) -> Vec<Effect> {
        desk.update(Msg::Talk(msg))
    }
    fn spot(desk: &Desk) -> Spot {
        desk.talk().expect("a talk").0.spot
    }
    fn shown(desk: &Desk) -> Shown {
        desk.shown().expect("a talk")
    }
    /// A desk with this on it, proved and explained.
    fn with(pgn: &str) -> Desk {
        let mut desk = desk();
        bring(&mut desk, pgn);
        run(&mut desk, Msg::Check(CheckMsg::Ready(Post::Explain)));
        desk
    }
    fn of_lesson() -> Desk {
        let mut desk = desk();
        bring(&mut desk, example::LESSON);
        begun(desk)
    }
    fn begun(mut desk: Desk) -> Desk {
        desk.tell_time(1_000);
        tell(&mut desk, TalkMsg::Begin);
        desk
    }
    /// Steps on until something is asked.
    fn to_question(desk: &mut Desk) {
        while !spot(desk).part.asks() {
            tell(desk, TalkMsg::Step(true));
        }
    }
    fn suggest(desk: &mut Desk, san: &str) -> Vec<Effect> {
        let (talk, script) = desk.talk().expect("a talk");
        let turn = script.turn(talk.spot).expect("something to find");
        let mv = moves::read(&turn.position, san).expect("a legal move");
        tell(desk, TalkMsg::Suggest(mv))
    }
    /// Lets the line on the board play to its end.
    fn play_out(desk: &mut Desk, effects: Vec<Effect>) {
        let mut due = effects;
        while let Some(Effect::After(_, msg)) = due.pop() {
            due = desk.update(msg);
        }
    }

    #[test]
    fn two_keys_carry_through_everything_and_back() {
        let mut desk = begun(with(example::LESSON));
        let mut there = vec![spot(&desk)];
        loop {
            tell(&mut desk, TalkMsg::Step(true));
            if there.last() == Some(&spot(&desk)) {
                break;
            }
            there.push(spot(&desk));
        }
        let games = |spot: &&Spot| spot.part == Part::Game;
        assert_eq!(there.iter().filter(games).count(), 10, "nine half moves");
        let question = there
            .iter()
            .position(|spot| spot.part == Part::Question)
            .unwrap();
        let parts: Vec<Part> = there[question..]
            .iter()
            .map(|spot| spot.part)
            .take(4)
            .collect();
        assert_eq!(
            parts,
            [Part::Question, Part::Hint(0), Part::Answer(1), Part::Why(0)]
        );
        let asked = |spot: &&Spot| spot.part == Part::Question;
        assert_eq!(there.iter().filter(asked).count(), 2);
        for earlier in there.iter().rev().skip(1) {
            tell(&mut desk, TalkMsg::Step(false));
            assert_eq!(spot(&desk), *earlier);
        }
    }

    #[test]
    fn the_audience_sees_task_and_clock_at_a_question_and_nothing_of_the_answer() {
        let mut desk = begun(with(example::LESSON));
        let start = shown(&desk);
        assert_eq!(start.title, "Tomas Brill \u{2013} Gus Harrowell");
        assert_eq!((start.task, start.clock), (None, None));
        to_question(&mut desk);
        desk.tell_time(46_000);
        let asked = shown(&desk);
        assert_eq!(
            asked.task.as_deref(),
            Some("White to move and mate in one.")
        );
        assert_eq!(asked.clock, Some(("0:45".into(), false)));
        assert!(asked.hints.is_empty() && asked.line.is_none() && asked.reason.is_none());
        tell(&mut desk, TalkMsg::Step(true));
        assert_eq!(shown(&desk).hints.len(), 1);
        assert_eq!(shown(&desk).clock, Some(("0:45".into(), false)));
        tell(&mut desk, TalkMsg::Step(true));
        let answered = shown(&desk);
        assert_eq!(answered.line.as_deref(), Some("4.Qxf7#"));
        assert_eq!((answered.task, answered.clock), (None, None));
        assert!(answered.mate);
        tell(&mut desk, TalkMsg::Step(true));
        let (title, sentence) = shown(&desk).reason.expect("a reason");
        assert!(!title.is_empty() && sentence.ends_with('.'), "{sentence}");
    }

    #[test]
    fn a_refutation_stays_until_the_speaker_goes_on() {
        let mut desk = of_lesson();
        tell(&mut desk, TalkMsg::NextQuestion);
        tell(&mut desk, TalkMsg::NextQuestion);
        let question = spot(&desk);
        let before = shown(&desk).board;
        let effects = suggest(&mut desk, "Bc5");
        play_out(&mut desk, effects);
        let refuted = shown(&desk);
        let said = refuted.said.clone().expect("a verdict");
        assert_eq!(said.verdict, Some(Verdict::Wrong));
        assert!(said.text.contains("Qxf7#"), "{}", said.text);
        assert_eq!(
            said.words,
            ["Bringing men out was the right idea last week."]
        );
        assert!(refuted.mate, "the refutation was played");
        desk.tell_time(600_000);
        let held = desk.talking.held;
        tell(&mut desk, TalkMsg::Tick(held));
        assert!(shown(&desk).mate, "it stays");
        tell(&mut desk, TalkMsg::Step(true));
        assert_eq!((spot(&desk), shown(&desk).board), (question, before));

        suggest(&mut desk, "Nxh5");
        let right = shown(&desk).said.expect("a verdict");
        assert_eq!(right.verdict, Some(Verdict::Right));
        tell(&mut desk, TalkMsg::Step(true));
        assert_eq!(
            spot(&desk).part,
            Part::Answer(1),
            "no hint after the answer"
        );
    }

    #[test]
    fn a_choice_is_told_with_its_moves_and_a_no_is_shown_by_what_refutes_it() {
        let choice = "[FEN \"6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n[Hint1 \"-\"]\n[Question \"choice\"]\n\n1. Ra8# (1. Ra7 $2) *";
        let mut desk = Desk::new(0);
        bring(&mut desk, choice);
        let mut desk = begun(desk);
        to_question(&mut desk);
        assert_eq!(
            shown(&desk).task.as_deref(),
            Some(
                "White to move and mate in one. Which of these moves? a)\u{a0}1.Ra7 b)\u{a0}1.Ra8#"
            )
        );
        let no = "[FEN \"6k1/5pp1/8/8/8/8/8/R5K1 w - - 0 1\"]\n[Stipulation \"#2\"]\n[Question \"yes or no\"]\n\n1. Ra8+ $2 Kh7 *";
        let mut desk = Desk::new(0);
        bring(&mut desk, no);
        let mut desk = begun(desk);
        to_question(&mut desk);
        tell(&mut desk, TalkMsg::Step(true));
        tell(&mut desk, TalkMsg::Step(true));
        assert_eq!(shown(&desk).line.as_deref(), Some("1.Ra8+ Kh7"));
    }

    #[test]
    fn what_nothing_is_known_of_is_not_judged() {
        let mut desk = Desk::new(0);
        bring(&mut desk, example::LESSON);
        tell(&mut desk, TalkMsg::Begin);
        to_question(&mut desk);
        let mut sans = Vec::new();
        let (talk, script) = desk.talk().unwrap();
        let turn = script.turn(talk.spot).unwrap();
        for mv in turn.position.legal_moves() {
            sans.push(moves::san(&turn.position, mv));
        }
        for san in sans {
            suggest(&mut desk, &san);
            let said = shown(&desk).said.expect("a word on it");
            assert_eq!(said.verdict, Some(Verdict::NotJudged), "{san}");
        }
    }

    #[test]
    fn suggestions_are_counted_and_shown_where_wished() {
        let mut desk = of_lesson();
        to_question(&mut desk);
        tell(&mut desk, TalkMsg::Switch(Switch::Collects));
        suggest(&mut desk, "Nf3");
        suggest(&mut desk, "Qxf7");
        for _ in 0..6 {
            tell(&mut desk, TalkMsg::Count(0, true));
        }
        tell(&mut desk, TalkMsg::Count(1, true));
        tell(&mut desk, TalkMsg::Count(1, false));
        assert!(shown(&desk).counts.is_empty() && shown(&desk).said.is_none());
        tell(&mut desk, TalkMsg::Switch(Switch::Counts));
        assert_eq!(shown(&desk).counts, ["Nf3: 7", "Qxf7#: 1"]);
        tell(&mut desk, TalkMsg::Count(1, false));
        assert_eq!(shown(&desk).counts, ["Nf3: 7"]);
        tell(&mut desk, TalkMsg::Step(true));
        assert_eq!(shown(&desk).counts, ["Nf3: 7"], "a hint changes nothing");
        tell(&mut desk, TalkMsg::Judge(0));
        assert_eq!(shown(&desk).said.unwrap().verdict, Some(Verdict::Wrong));
    }

    /// A suggestion of a move that was made before is one more, as a press is.
    #[test]
    fn whoever_suggests_the_same_is_counted_too() {
        let mut desk = of_lesson();
        to_question(&mut desk);
        for san in ["Nf3", "Nf3", "Qxf7", "Nf3"] {
            suggest(&mut desk, san);
            tell(&mut desk, TalkMsg::Return);
        }
        tell(&mut desk, TalkMsg::Judge(0));
        tell(&mut desk, TalkMsg::Switch(Switch::Counts));
        assert_eq!(shown(&desk).counts, ["Nf3: 3", "Qxf7#: 1"]);
    }

    /// What was suggested before the puzzle was checked is judged once it is, and gets
    /// its reason once that is known; on the board as well.
    #[test]
    fn what_was_suggested_early_is_judged_later() {
        let mut desk = Desk::new(1);
        bring(&mut desk, example::LESSON);
        let mut desk = begun(desk);
        to_question(&mut desk);
        let effects = suggest(&mut desk, "Nf3");
        play_out(&mut desk, effects);
        let verdicts = |desk: &Desk| {
            let (talk, _) = desk.talk().unwrap();
            let said = talk.aside().and_then(|aside| aside.said.clone());
            (talk.suggested()[0].verdict, said.unwrap().verdict)
        };
        let both = |verdict| (Some(verdict), Some(verdict));
        assert_eq!(verdicts(&desk), both(Verdict::NotJudged));

        run(&mut desk, Msg::Check(CheckMsg::Ready(Post::Judge(0))));
        assert_eq!(verdicts(&desk), both(Verdict::Wrong));
        let plain = shown(&desk).said.unwrap().text;
        let played = |desk: &Desk| desk.talk().unwrap().0.aside().unwrap().at;
        assert_eq!(played(&desk), 1);

        for effect in run(&mut desk, Msg::Check(CheckMsg::Ready(Post::Explain))) {
            if let Effect::After(PACE, msg @ Msg::Talk(TalkMsg::PlayOn(_))) = effect {
                desk.update(msg);
            }
        }
        assert_eq!(played(&desk), 2, "what refutes it");
        let explained = shown(&desk).said.unwrap();
        assert_ne!(explained.text, plain);
        let (talk, script) = desk.talk().unwrap();
        let told = script.question(talk.spot.at).unwrap().told.unwrap();
        let failures = told.failures.iter();
        assert!(
            failures
                .map(|failed| &failed.sentence)
                .any(|sentence| *sentence == explained.text),
            "{}",
            explained.text
        );

        // A page that is checked anew knows nothing at first, and takes nothing back.
        let kept = to_string(desk.kept_talk().unwrap()).unwrap();
        let mut anew = Desk::new(1);
        tell(&mut anew, TalkMsg::Recall(from_str(&kept).unwrap()));
        anew.document.work = Work {
            sheets: vec![Rc::clone(&desk.work().sheets[0])],
            ..Work::new()
        };
        anew.look_again();
        anew.update(Msg::Check(CheckMsg::Ready(Post::Judge(0))));
        let suggested = anew.talk().unwrap().0.suggested()[0].verdict;
        assert_eq!(suggested, Some(Verdict::Wrong));
    }

    #[test]
    fn what_if_is_left_by_one_key() {
        let mut desk = of_lesson();
        to_question(&mut desk);
        let before = (spot(&desk), shown(&desk).board);
        tell(&mut desk, TalkMsg::Switch(Switch::WhatIf));
        for san in ["Nf3", "Nxh5", "O-O"] {
            let (talk, script) = desk.talk().unwrap();
            let mv = moves::read(&talk.position(&script), san).unwrap();
            tell(&mut desk, TalkMsg::Play(mv));
        }
        assert_eq!(shown(&desk).line.as_deref(), Some("4.Nf3 Nxh5 5.O-O"));
        assert!(desk.talk().unwrap().0.suggested().is_empty());
        tell(&mut desk, TalkMsg::Step(false));
        assert_eq!(shown(&desk).line.as_deref(), Some("4.Nf3 Nxh5"));
        tell(&mut desk, TalkMsg::Return);
        assert_eq!((spot(&desk), shown(&desk).board), before);
        tell(&mut desk, TalkMsg::Escape);
        assert!(desk.talk().is_none());
        assert!(!desk.can_undo() || desk.work().sheets.len() == 1);
    }

    #[test]
    fn lines_are_ready_to_be_shown() {
        let mut desk = with(example::PGN);
        tell(&mut desk, TalkMsg::Begin);
        let (talk, script) = desk.talk().unwrap();
        let tempting = script.tempting(talk.spot.at);
        let queen = |(line, _): &(Vec<_>, _)| {
            moves::san(&script.question(0).unwrap().puzzle.start().clone(), line[0]) == "Qd4"
        };
        let place = tempting
            .iter()
            .position(queen)
            .expect("the author\u{2019}s try");
        let effects = tell(&mut desk, TalkMsg::Show(Ready::Tempting(place)));
        play_out(&mut desk, effects);
        assert!(shown(&desk).line.unwrap().starts_with("1.Qd4 Kb5"));
        tell(&mut desk, TalkMsg::Return);
        let threats = desk.talk().unwrap().1.question(0).unwrap().told.unwrap();
        let mates = threats.after.threats.len();
        for n in 0..mates {
            tell(&mut desk, TalkMsg::Show(Ready::After(n)));
            assert!(shown(&desk).said.is_some_and(|said| !said.text.is_empty()));
        }
    }

    #[test]
    fn a_talk_is_taken_up_after_the_page_was_loaded_anew() {
        let mut desk = of_lesson();
        to_question(&mut desk);
        suggest(&mut desk, "Nf3");
        tell(&mut desk, TalkMsg::Switch(Switch::Counts));
        let kept = to_string(desk.kept_talk().unwrap()).unwrap();

        let mut anew = Desk::new(0);
        tell(&mut anew, TalkMsg::Recall(from_str(&kept).unwrap()));
        assert!(anew.talk().is_none() && anew.kept_talk().is_some());
        anew.document.work = Work {
            sheets: vec![Rc::clone(&desk.work().sheets[0])],
            ..Work::new()
        };
        anew.look_again();
        run(&mut anew, Msg::Edit(EditMsg::FieldLeft));
        assert_eq!(spot(&anew), spot(&desk));
        assert_eq!(shown(&anew).counts, ["Nf3: 1"]);
    }

    #[test]
    fn the_next_puzzle_follows_and_its_moment_is_noted() {
        let mut desk = of_lesson();
        bring(&mut desk, example::PGN);
        let first = desk.work().sheets[0].id;
        desk.update(Msg::List(ListMsg::Open(first)));
        assert!(desk.talk().is_none(), "another puzzle lay open");
        desk.tell_time(0);
        tell(&mut desk, TalkMsg::Begin);
        desk.tell_time(65_000);
        for _ in 0..60 {
            tell(&mut desk, TalkMsg::Step(true));
        }
        let (talk, script) = desk.talk().unwrap();
        assert_eq!(script.title(), "The quiet queen");
        assert_eq!(talk.spot.at, 0);
        let told = talk.clock.chapters();
        let lines: Vec<&str> = told.lines().collect();
        assert_eq!(lines[0], "0:00 Tomas Brill \u{2013} Gus Harrowell");
        assert_eq!(lines[1], "1:05 4. White to move and mate in one.");
        assert_eq!(lines.len(), 4, "{told}");
    }

    #[test]
    fn keys_of_a_remote_are_keys_of_the_talk() {
        use crate::remote::{Field, KEYS, meaning};
        for key in ["PageDown", "ArrowRight", " "] {
            assert!(
                matches!(meaning(key, Field::None), Some(TalkMsg::Step(true))),
                "{key}"
            );
        }
        for key in ["PageUp", "ArrowLeft"] {
            assert!(
                matches!(meaning(key, Field::None), Some(TalkMsg::Step(false))),
                "{key}"
            );
        }
        assert!(matches!(
            meaning("PageDown", Field::Other),
            Some(TalkMsg::Step(true))
        ));
        for key in [" ", "w", "Enter"] {
            assert!(meaning(key, Field::Other).is_none(), "{key}");
            assert!(meaning(key, Field::Empty).is_none(), "{key}");
        }
        // In an empty field there is nothing to take back, and nowhere to go.
        for (key, step) in [("ArrowLeft", false), ("ArrowRight", true)] {
            assert!(meaning(key, Field::Other).is_none(), "{key}");
            let Some(TalkMsg::Step(forward)) = meaning(key, Field::Empty) else {
                panic!("{key} is a step");
            };
            assert_eq!(forward, step);
        }
        assert!(meaning("Backspace", Field::Other).is_none());
        assert!(matches!(
            meaning("Backspace", Field::Empty),
            Some(TalkMsg::Return)
        ));
        let mut names: Vec<String> = KEYS.iter().map(|key| key.names()).collect();
        let keys: Vec<String> = names
            .iter()
            .flat_map(|n| n.split(", ").map(str::to_owned))
            .collect();
        names = keys.clone();
        names.sort();
        names.dedup();
        assert_eq!(names.len(), keys.len(), "no key means two things");
    }
}
