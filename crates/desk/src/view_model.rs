//! What follows from a puzzle as it lies on the desk: its moves tried on the
//! board, its roles, what is known of it, and the checker's report.

use keyproof::aim::Aim;
use keyproof::resolved::Resolved;
use std::cell::RefCell;
use std::rc::Rc;

use keyproof::check::{
    self, Answer, Claim, Goal, Known, Question, Replied, Report, Second, Soundness, Weight,
    thousands,
};
use keyproof::draft::{Draft, Edit, NodeId};
use keyproof::explain::{Explanation, Inquiry};
use keyproof::mention::Mentions;
use keyproof::puzzle::{DraftFault, MOST_MOVES, Puzzle, Role, Stipulation};
use keyproof::tongue::{decimal, phrase, plural, say, tr};
use shakmaty::{Chess, Color, Move, Position};

use crate::asking;
use crate::book::Book;
use crate::defences::{self, Fallen};
use crate::findings::{self, Group};
use crate::grade;
use crate::lesson::{self, Lesson};
use crate::work::{Sheet, told};
use keyproof_second::Heard;

/// The defences to a move, where the checker comes to it.
type Falls = Option<Rc<[Fallen]>>;

/// A tree of so many moves is judged again at every answer, one of twice as many
/// at every second.
const JUDGED_AT_ONCE: usize = 50;

/// A puzzle looked at.
pub struct ViewModel {
    sheet: Rc<Sheet>,
    pub resolved: Resolved,
    /// The lesson, if the draft is one.
    pub lesson: Option<Lesson>,
    /// Whether it is a game of which nothing is asked yet.
    pub bare_game: bool,
    pub known: Known,
    pub report: Report,
    pub questions: Vec<Question>,
    /// What is still to be put to the independent checker.
    pub claims: Vec<Claim>,
    pub book: Book,
    pub groups: Vec<Group>,
    /// What there is to explain, once every claim is judged.
    pub inquiry: Option<Inquiry>,
    /// Explanations, each with what it answers.
    pub explained: Vec<(Inquiry, Explanation)>,
    replied: Replied,
    /// The defences that were looked at last, until the next judgement.
    defences: RefCell<Option<(NodeId, Falls)>>,
    /// Answers since the last judgement.
    unjudged: usize,
    /// The verdict in words, once it was asked for.
    spoken: RefCell<Option<VerdictWords>>,
    /// The question that was named last.
    named: RefCell<Option<(Question, Option<String>)>>,
}

/// The verdict in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VerdictWords {
    pub soundness: Soundness,
    /// "Sound", "Unsound", "Undecided", or what it is instead, such as "A game".
    pub head: &'static str,
    /// What it rests on: "proved, 34,512 positions".
    pub evidence: String,
}

impl ViewModel {
    /// Looks at a puzzle with what is known of it.
    pub fn new(sheet: Rc<Sheet>, mut known: Known) -> ViewModel {
        known.want_second();
        let draft = &sheet.draft;
        let resolved = Resolved::of(draft);
        let made = resolved.puzzle();
        let lesson = Lesson::of(&resolved);
        let bare_game = lesson::is_bare_game(draft);
        let readable = match made {
            Err(faults) if lesson.is_none() && !bare_game => playable(draft, faults),
            _ => None,
        };
        let puzzle = made.ok().or(readable.as_ref());
        let role = |node| match &lesson {
            Some(lesson) => lesson.role(node),
            None if bare_game => None,
            None => puzzle.map(|puzzle| puzzle.node(node).role),
        };
        let game = bare_game || lesson.is_some();
        let book = Book::new(&resolved, game, &role);
        let mut model = ViewModel {
            resolved,
            lesson,
            bare_game,
            known,
            report: Report {
                verdict: Soundness::Undecided,
                findings: Vec::new(),
                nodes: 0,
                answered: 0,
                asked: 0,
                second: Second::Nothing,
            },
            questions: Vec::new(),
            claims: Vec::new(),
            book,
            groups: Vec::new(),
            inquiry: None,
            explained: Vec::new(),
            replied: Replied::default(),
            defences: RefCell::default(),
            unjudged: 0,
            spoken: RefCell::default(),
            named: RefCell::default(),
            sheet,
        };
        model.judge();
        model
    }
    /// Whether a try is marked among the moves after a node.
    pub fn has_try(&self, node: NodeId) -> bool {
        let children = self.sheet.draft.node(node);
        let mut children = children.into_iter().flat_map(|node| &node.children);
        children.any(|&child| self.role(child) == Some(Role::Try))
    }
    /// The puzzle, if the draft is one and no lesson.
    pub fn puzzle(&self) -> Option<&Puzzle> {
        self.resolved
            .puzzle()
            .ok()
            .filter(|_| self.lesson.is_none())
    }
    /// Looks at a later state of the same puzzle. Where only words changed, the
    /// moves need no second look.
    pub fn again(self, sheet: Rc<Sheet>) -> ViewModel {
        match sheet.draft.reworded(&self.sheet.draft) {
            Some(nodes) => self.reworded(sheet, &nodes),
            None => ViewModel {
                explained: self.explained,
                ..ViewModel::new(sheet, self.known)
            },
        }
    }
    fn reworded(mut self, sheet: Rc<Sheet>, nodes: &[NodeId]) -> ViewModel {
        let before = std::mem::replace(&mut self.sheet, sheet);
        let draft = &self.sheet.draft;
        for &id in nodes {
            let Some(node) = draft.node(id) else { continue };
            self.resolved.reword(id, node);
            if let Some(lesson) = &mut self.lesson {
                lesson.reword(id, node);
            }
        }
        self.book.reword(&self.resolved, nodes);
        // A move that is neither right nor wrong is settled by having words.
        let has_words = |draft: &Draft, id| draft.node(id).is_some_and(|n| !n.after.is_empty());
        let settles = |&id: &NodeId| {
            has_words(&before.draft, id) != has_words(draft, id)
                && self.role(id) == Some(Role::Unclear)
        };
        if nodes.iter().any(settles) {
            self.judge();
        } else {
            self.read_words();
        }
        self
    }
    /// Whether it can be posed to a student.
    pub fn can_be_posed(&self) -> bool {
        self.puzzle().is_some() || self.lesson.as_ref().is_some_and(Lesson::can_be_posed)
    }
    /// Takes in what is known from elsewhere, where nothing is known yet.
    pub fn take(&mut self, known: Known) {
        if self.known.nodes() == 0 {
            self.known = known;
            self.known.want_second();
            self.forget_undecided();
        }
    }
    /// The puzzle that was looked at.
    pub fn sheet(&self) -> &Rc<Sheet> {
        &self.sheet
    }
    /// Whether this is still the puzzle that was looked at.
    pub fn is_of(&self, sheet: &Rc<Sheet>) -> bool {
        Rc::ptr_eq(&self.sheet, sheet)
    }
    /// Why the key works and other moves fail, if that is known of the puzzle as
    /// it lies there.
    pub fn explanation(&self) -> Option<&Explanation> {
        self.explanation_of(self.inquiry.as_ref())
    }
    /// What there is to tell where the author stands: the start of the puzzle
    /// or the moment, and why its key works, once that is known.
    pub fn told_at(&self, at: NodeId) -> Option<(NodeId, Option<&Explanation>)> {
        let (root, inquiry) = match &self.lesson {
            None => (NodeId::ROOT, self.inquiry.as_ref()?),
            Some(lesson) => (at, lesson.at(at)?.inquiry.as_ref()?),
        };
        Some((root, self.explanation_of(Some(inquiry))))
    }
    /// What answers an inquiry.
    pub fn explanation_of(&self, inquiry: Option<&Inquiry>) -> Option<&Explanation> {
        let mut explained = self.explained.iter();
        let answered = explained.find(|(answered, _)| Some(answered) == inquiry);
        answered.map(|(_, explanation)| explanation)
    }
    /// What there is to explain that is not explained yet.
    pub fn unexplained(&self) -> impl Iterator<Item = &Inquiry> {
        self.inquiries()
            .filter(|inquiry| self.explanation_of(Some(inquiry)).is_none())
    }
    /// Takes an explanation in. Those that nothing asks for any more go.
    pub fn explain(&mut self, inquiry: Inquiry, explanation: Explanation) {
        let mut explained = std::mem::take(&mut self.explained);
        explained.retain(|(old, _)| *old != inquiry && self.inquiries().any(|asked| asked == old));
        explained.push((inquiry, explanation));
        self.explained = explained;
    }
    fn inquiries(&self) -> impl Iterator<Item = &Inquiry> {
        let asked = self.lesson.iter().flat_map(|lesson| &lesson.asked);
        let asked = asked.filter_map(|asked| asked.inquiry.as_ref());
        self.inquiry.iter().chain(asked)
    }
    /// Whether there is something to explain that is not explained yet.
    pub fn wants_explaining(&self) -> bool {
        self.unexplained().next().is_some()
    }
    /// Takes an answer in. Judging a long tree takes a while, so there it waits
    /// for more answers, until [`Self::catch_up`] or until nothing is left to ask.
    pub fn learn(&mut self, answer: &Answer) {
        self.known.learn(answer);
        self.unjudged += 1;
        let question = &answer.question;
        self.questions.retain_mut(|other| {
            if (&other.fen, other.goal) != (&question.fen, question.goal) {
                return true;
            }
            let any = other.moves.is_empty();
            other.moves.retain(|mv| !question.moves.contains(mv));
            match any {
                true => !question.moves.is_empty(),
                false => !other.moves.is_empty(),
            }
        });
        if self.questions.is_empty() || self.unjudged * JUDGED_AT_ONCE > self.book.moves() {
            self.judge();
        }
    }
    /// Takes in what the independent checker said.
    pub fn hear(&mut self, heard: &[Heard]) {
        for Heard { claim, opinion, .. } in heard {
            self.known.hear(claim, opinion.clone());
        }
        self.judge();
    }
    /// What is claimed of the first moves of each mate, each gain of material and each draw
    /// that is held by force, of the puzzle or of the lesson's moments.
    pub fn first_claims(&self) -> Vec<Claim> {
        let certified = |puzzle: &&Puzzle| {
            matches!(
                puzzle.stipulation(),
                Stipulation::Forced(Aim::Mate | Aim::Gain(_), _) | Stipulation::Draw
            )
        };
        let puzzles = self.puzzles().filter(certified);
        puzzles
            .filter_map(|puzzle| self.known.claim(puzzle.start(), Goal::of(puzzle)))
            .collect()
    }
    /// Judges by answers that came since the last judgement.
    pub fn catch_up(&mut self) {
        if self.unjudged > 0 {
            self.judge();
        }
    }
    /// Forgets what was left undecided, so that it is asked again.
    pub fn forget_undecided(&mut self) {
        self.known.forget_undecided();
        self.judge();
    }
    /// Whether both sides of the puzzle's moves are the solver's.
    pub fn shared(&self) -> bool {
        let puzzle = self.puzzle();
        puzzle.is_some_and(|puzzle| puzzle.stipulation().shared())
    }
    /// The role of a move, if it can be played.
    pub fn role(&self, node: NodeId) -> Option<Role> {
        self.book.printed(node)?.role
    }
    /// The defences to an accepted move, by the answer they fall to; `None` where
    /// the checker does not come.
    pub fn defences(&self, node: NodeId) -> Falls {
        let mut kept = self.defences.borrow_mut();
        if let Some((of, falls)) = &*kept
            && *of == node
        {
            return falls.clone();
        }
        let puzzle = self.puzzle().filter(|_| !self.shared());
        let falls = puzzle.and_then(|puzzle| {
            let falls = self.replied.defences(puzzle, &self.known, node)?;
            Some(defences::fallen(puzzle.position(node), falls))
        });
        *kept = Some((node, falls.clone()));
        falls
    }
    /// The move that leads to a node.
    pub fn mv(&self, node: NodeId) -> Option<Move> {
        self.resolved.step(node).map(|step| step.mv)
    }
    pub fn position(&self, node: NodeId) -> Option<&Chess> {
        self.resolved.position(node)
    }
    /// The side that solves; White while the position is not legal.
    pub fn solver(&self) -> Color {
        let start = self.resolved.start();
        start.map_or(Color::White, |position| position.turn())
    }
    /// The puzzle, or those of the lesson.
    fn puzzles(&self) -> impl Iterator<Item = &Puzzle> {
        let asked = self.lesson.iter().flat_map(|lesson| &lesson.asked);
        let asked = asked.filter_map(|asked| asked.puzzle());
        self.puzzle().into_iter().chain(asked)
    }
    /// A question in words.
    pub fn name(&self, question: &Question) -> Option<String> {
        let mut named = self.named.borrow_mut();
        if let Some((of, words)) = &*named
            && of == question
        {
            return words.clone();
        }
        let words = asking::words_of_all(self.puzzles(), question);
        *named = Some((question.clone(), words.clone()));
        words
    }
    /// The verdict in words.
    pub fn verdict(&self) -> VerdictWords {
        let mut spoken = self.spoken.borrow_mut();
        spoken.get_or_insert_with(|| self.speak()).clone()
    }

    fn speak(&self) -> VerdictWords {
        let report = &self.report;
        if let Some(words) = self.game_words().or_else(|| self.begun_words()) {
            return words;
        }
        let tally = |weight: Weight, one, many| {
            let n = report
                .findings
                .iter()
                .filter(|f| f.weight == weight)
                .count();
            (n > 0).then(|| plural!(n, one, many))
        };
        let puzzles: Vec<&Puzzle> = self.puzzles().collect();
        let mates =
            |puzzle: &&Puzzle| matches!(puzzle.stipulation(), Stipulation::Forced(Aim::Mate, _));
        let waits = report.second == Second::Waiting
            && report.verdict == Soundness::Undecided
            && report.findings.iter().all(|f| f.weight == Weight::Remark);
        let unfinished = report.is_unfinished();
        let head = match report.verdict {
            _ if unfinished => tr("Not finished yet"),
            _ if waits && puzzles.iter().all(mates) => tr("Proved, being checked"),
            _ if waits => tr("Being checked"),
            Soundness::Sound => tr("Sound"),
            Soundness::Unsound => tr("Unsound"),
            Soundness::Undecided => tr("Undecided"),
        };
        let mut parts = vec![
            tally(
                Weight::Fault,
                phrase!("{n} fault", "n"),
                phrase!("{n} faults", "n"),
            ),
            tally(
                Weight::Open,
                phrase!("{n} open point", "n"),
                phrase!("{n} open points", "n"),
            ),
            tally(
                Weight::Remark,
                phrase!("{n} remark", "n"),
                phrase!("{n} remarks", "n"),
            ),
        ];
        let place = if report.verdict == Soundness::Sound {
            0
        } else {
            parts.len()
        };
        parts.insert(
            place,
            self.rests_on(&puzzles)
                .filter(|_| report.verdict != Soundness::Undecided),
        );
        let checked = report.second.words();
        let checked = match self.lesson.is_some() && !checked.is_empty() {
            true => say!("the mates {checked}", checked = checked),
            false => checked,
        };
        parts.push((!checked.is_empty()).then_some(checked));
        let parts: Vec<String> = parts.into_iter().flatten().collect();
        VerdictWords {
            soundness: match unfinished {
                true => Soundness::Undecided,
                false => report.verdict,
            },
            head,
            evidence: parts.join("; "),
        }
    }

    /// What the verdict rests on, in words.
    fn rests_on(&self, puzzles: &[&Puzzle]) -> Option<String> {
        let report = &self.report;
        let twice = matches!(report.second, Second::Accepted { .. });
        (report.answered > 0 && !puzzles.is_empty()).then(|| {
            let grade = grade::words_of_all(puzzles, &self.known, twice);
            let chance = grade::chance(puzzles, &self.known).map(|c| decimal(&c.percent()));
            say!(
                match chance {
                    Some(_) => {
                        phrase!(
                            "{grade}, at most {chance} % of such rulings wrong, {n} positions",
                            "grade n chance"
                        )
                    }
                    None => phrase!("{grade}, {n} positions", "grade n chance"),
                },
                grade = grade,
                n = thousands(report.nodes),
                chance = chance.unwrap_or_default(),
            )
        })
    }
    /// Of a puzzle that is still being set up no claim is made yet, so nothing is
    /// called unsound.
    fn begun_words(&self) -> Option<VerdictWords> {
        let begun = self.lesson.is_none() && self.sheet.is_begun();
        begun.then(|| VerdictWords {
            soundness: Soundness::Undecided,
            head: match self.resolved.start() {
                Ok(_) => tr("No solution yet"),
                Err(_) => tr("Not set up yet"),
            },
            evidence: String::new(),
        })
    }

    /// The verdict of a game of which nothing is asked, or of a lesson whose tag
    /// has faults.
    fn game_words(&self) -> Option<VerdictWords> {
        let words = |head, evidence: String| {
            Some(VerdictWords {
                soundness: self.report.verdict,
                head,
                evidence,
            })
        };
        let illegal = !self.report.findings.is_empty();
        match &self.lesson {
            Some(lesson) if !lesson.faults.is_empty() => {
                let faults: Vec<String> = lesson.faults.iter().map(|f| f.to_string()).collect();
                words(tr("Unsound"), faults.join(" "))
            }
            Some(lesson) if lesson.asked.is_empty() && !illegal => {
                words(tr("A lesson"), tr("it asks nothing yet").into())
            }
            None if self.bare_game && illegal => {
                words(tr("A game"), tr("not all of it can be played").into())
            }
            None if self.bare_game => words(tr("A game"), tr("it asks nothing yet").into()),
            _ => None,
        }
    }

    fn judge(&mut self) {
        let draft = &self.sheet.draft;
        self.unjudged = 0;
        self.defences.take();
        self.spoken.take();
        self.inquiry = None;
        if let Some(lesson) = &mut self.lesson {
            let whole = check::report_faults(&self.resolved);
            self.report = lesson.judge(draft, whole, &self.known);
            self.questions = lesson.questions();
            self.claims = lesson.claims();
        } else if let Ok(puzzle) = self.resolved.puzzle() {
            let examined = check::examine(puzzle, &self.known);
            self.report = examined.report;
            self.questions = examined.questions;
            self.claims = examined.claims;
            self.replied = examined.replies;
            let doubted = matches!(self.report.second, Second::Against(_));
            if self.questions.is_empty() && !doubted {
                self.inquiry = Inquiry::of(puzzle, &self.known);
            }
        } else {
            self.report = check::report_faults(&self.resolved);
            if self.bare_game {
                self.report
                    .findings
                    .retain(|finding| finding.kind != check::Kind::MissingStipulation);
                if self.report.findings.is_empty() {
                    self.report.verdict = Soundness::Undecided;
                }
            }
        }
        let students = keyproof_tongues::of_game(&self.sheet.draft);
        students.speaks(|| check::say_to_students(&mut self.report.findings));
        self.read_words();
    }
    /// Words at a node as students read them.
    pub fn filled(&self, words: &str, node: NodeId) -> String {
        let draft = &self.sheet.draft;
        let tongue = keyproof_tongues::of_game(draft);
        tongue.speaks(|| Mentions::new(&self.resolved).fill(words, node))
    }
    /// Remarks on words that mention what is not there, and groups all that was
    /// found.
    fn read_words(&mut self) {
        let found = &mut self.report.findings;
        found.retain(|finding| finding.kind != check::Kind::EmptyMention);
        found.extend(check::mentions(&self.resolved));
        self.groups = findings::groups(found, &self.resolved);
    }
}

/// The stipulation's tag, if it says something that is known.
pub fn stipulation(draft: &Draft) -> Option<Stipulation> {
    Stipulation::read(told(draft, "Stipulation")?)
}

/// What of a faulty draft can be played, as a puzzle, so that its moves have
/// roles while the rest is being mended.
fn playable(draft: &Draft, faults: &[DraftFault]) -> Option<Puzzle> {
    let mut rest = draft.clone();
    for fault in faults {
        let edit = match fault {
            DraftFault::IllegalPosition(_) => return None,
            DraftFault::IllegalMove(node, _) => Edit::Remove { node: *node },
            DraftFault::MissingStipulation | DraftFault::UnknownStipulation(_) => Edit::SetTag {
                name: "Stipulation".into(),
                value: Some(Stipulation::Forced(Aim::Mate, MOST_MOVES).to_string()),
            },
        };
        // A move below one already removed is gone; that is as well.
        let _ = rest.apply(&edit);
    }
    Resolved::of(&rest).into_puzzle().ok()
}
