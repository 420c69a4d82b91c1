//! What follows from a puzzle as it lies on the desk: its moves tried on the
//! board, its roles, what is known of it, and the checker's report.

use std::rc::Rc;

use keyproof::check::{self, Answer, Known, Question, Report, Soundness, Weight, thousands};
use keyproof::draft::{Draft, Edit, NodeId, Resolution};
use keyproof::explain::{Explanation, Inquiry};
use keyproof::puzzle::{DraftFault, MOST_MOVES, Puzzle, Role, Stipulation};
use shakmaty::{Chess, Color, Move, Position};

use crate::book::{self, Row};
use crate::findings::{self, Group};
use crate::grade;
use crate::lesson::{self, Lesson};
use crate::work::{Sheet, told};

/// A puzzle looked at.
pub struct Look {
    sheet: Rc<Sheet>,
    pub resolution: Resolution,
    /// The puzzle, if the draft is one.
    pub puzzle: Option<Puzzle>,
    /// The lesson, if the draft is one.
    pub lesson: Option<Lesson>,
    /// Whether it is a game of which nothing is asked yet.
    pub bare_game: bool,
    pub known: Known,
    pub report: Report,
    pub questions: Vec<Question>,
    pub rows: Vec<Row>,
    pub groups: Vec<Group>,
    /// What there is to explain, once every claim is judged.
    pub inquiry: Option<Inquiry>,
    /// Explanations, each with what it answers.
    pub explained: Vec<(Inquiry, Explanation)>,
}

/// The verdict in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VerdictWords {
    pub soundness: Soundness,
    /// "Sound", "Unsound", "Undecided".
    pub head: &'static str,
    /// What it rests on: "proved, 34,512 positions".
    pub evidence: String,
}

impl Look {
    /// Looks at a puzzle with what is known of it.
    pub fn new(sheet: Rc<Sheet>, known: Known) -> Look {
        let draft = &sheet.draft;
        let resolution = draft.resolve();
        let made = Puzzle::from_draft(draft, &resolution);
        let readable = match &made {
            Ok(_) => None,
            Err(faults) => playable(draft, faults),
        };
        let lesson = Lesson::of(draft, &resolution);
        let bare_game = lesson::is_bare_game(draft);
        let puzzle = made.as_ref().ok().or(readable.as_ref());
        let role = |node| match &lesson {
            Some(lesson) => lesson.role(node),
            None if bare_game => None,
            None => puzzle.map(|puzzle| puzzle.node(node).role),
        };
        let rows = book::rows(draft, &resolution, &role);
        let mut look = Look {
            resolution,
            puzzle: made.ok().filter(|_| lesson.is_none()),
            lesson,
            bare_game,
            known,
            report: Report {
                verdict: Soundness::Undecided,
                findings: Vec::new(),
                nodes: 0,
                answered: 0,
                asked: 0,
            },
            questions: Vec::new(),
            rows,
            groups: Vec::new(),
            inquiry: None,
            explained: Vec::new(),
            sheet,
        };
        look.judge();
        look
    }
    /// Whether it can be posed to a student.
    pub fn can_be_posed(&self) -> bool {
        self.puzzle.is_some() || self.lesson.as_ref().is_some_and(Lesson::can_be_posed)
    }
    /// Takes in what is known from elsewhere, where nothing is known yet.
    pub fn take(&mut self, known: Known) {
        if self.known.nodes() == 0 {
            self.known = known;
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
    /// Takes an answer in.
    pub fn learn(&mut self, answer: &Answer) {
        self.known.learn(answer);
        self.judge();
    }
    /// Forgets what was left undecided, so that it is asked again.
    pub fn forget_undecided(&mut self) {
        self.known.forget_undecided();
        self.judge();
    }
    /// Whether both sides of the puzzle's moves are the solver's.
    pub fn shared(&self) -> bool {
        let puzzle = self.puzzle.as_ref();
        puzzle.is_some_and(|puzzle| puzzle.stipulation().shared())
    }
    /// The role of a move, if it can be played.
    pub fn role(&self, node: NodeId) -> Option<Role> {
        self.rows
            .iter()
            .flat_map(|r| &r.moves)
            .find(|m| m.node == node)
            .and_then(|m| m.role)
    }
    /// The move that leads to a node.
    pub fn mv(&self, node: NodeId) -> Option<Move> {
        self.resolution
            .steps
            .get(node.0 as usize)?
            .as_ref()
            .map(|s| s.mv)
    }
    pub fn position(&self, node: NodeId) -> Option<&Chess> {
        self.resolution.position(node)
    }
    /// The side that solves; White while the position is not legal.
    pub fn solver(&self) -> Color {
        self.resolution
            .start
            .as_ref()
            .map_or(Color::White, |p| p.turn())
    }
    /// The verdict in words.
    pub fn verdict(&self) -> VerdictWords {
        let report = &self.report;
        if let Some(words) = self.game_words() {
            return words;
        }
        let tally = |weight: Weight, one: &str, many: &str| {
            let n = report
                .findings
                .iter()
                .filter(|f| f.weight == weight)
                .count();
            match n {
                0 => None,
                1 => Some(format!("1 {one}")),
                n => Some(format!("{n} {many}")),
            }
        };
        let head = match report.verdict {
            Soundness::Sound => "Sound",
            Soundness::Unsound => "Unsound",
            Soundness::Undecided => "Undecided",
        };
        let asked = self.lesson.iter().flat_map(|lesson| &lesson.asked);
        let asked = asked.filter_map(|asked| asked.puzzle.as_ref());
        let puzzles: Vec<&Puzzle> = self.puzzle.iter().chain(asked).collect();
        let rests_on = (report.answered > 0 && !puzzles.is_empty()).then(|| {
            let grade = grade::words_of_all(&puzzles, &self.known);
            format!("{grade}, {} positions", thousands(report.nodes))
        });
        let mut parts = vec![
            tally(Weight::Fault, "fault", "faults"),
            tally(Weight::Open, "open point", "open points"),
            tally(Weight::Remark, "remark", "remarks"),
        ];
        let place = if report.verdict == Soundness::Sound {
            0
        } else {
            parts.len()
        };
        parts.insert(
            place,
            rests_on.filter(|_| report.verdict != Soundness::Undecided),
        );
        let parts: Vec<String> = parts.into_iter().flatten().collect();
        VerdictWords {
            soundness: report.verdict,
            head,
            evidence: parts.join("; "),
        }
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
                words("Unsound", faults.join(" "))
            }
            Some(lesson) if lesson.asked.is_empty() && !illegal => {
                words("A lesson", "it asks nothing yet".into())
            }
            None if self.bare_game && illegal => {
                words("A game", "not all of it can be played".into())
            }
            None if self.bare_game => words("A game", "it asks nothing yet".into()),
            _ => None,
        }
    }

    fn judge(&mut self) {
        let draft = &self.sheet.draft;
        if let Some(lesson) = &mut self.lesson {
            self.report = lesson.judge(draft, &self.known);
            self.groups = findings::groups(&self.report.findings, draft, &self.resolution);
            self.questions = lesson.questions(&self.known);
            return;
        }
        self.report = check::report(draft, &self.known);
        if self.bare_game {
            self.report
                .findings
                .retain(|finding| finding.kind != check::Kind::MissingStipulation);
            if self.report.findings.is_empty() {
                self.report.verdict = Soundness::Undecided;
            }
        }
        self.groups = findings::groups(&self.report.findings, draft, &self.resolution);
        self.questions = self
            .puzzle
            .as_ref()
            .map_or_else(Vec::new, |p| check::questions(p, &self.known));
        let puzzle = self.puzzle.as_ref().filter(|_| self.questions.is_empty());
        self.inquiry = puzzle.and_then(|p| Inquiry::of(p, &self.known));
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
                value: Some(Stipulation::Mate(MOST_MOVES).to_string()),
            },
        };
        // A move below one already removed is gone; that is as well.
        let _ = rest.apply(&edit);
    }
    let resolution = rest.resolve();
    Puzzle::from_draft(&rest, &resolution).ok()
}
