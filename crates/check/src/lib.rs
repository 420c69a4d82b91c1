//! The checker: is every claim of a puzzle right?
//!
//! Checking is split so that pages and command line can spread it over
//! workers: [`questions`] lists what must still be proved, any [`Judge`] answers
//! them into a [`Known`], and [`report`] judges the draft by what
//! is known. Each kind of finding has a module of its own with its detection,
//! its message, its mends and its tests.

#![deny(missing_docs)]

mod ambiguous_variation;
mod calibrated;
pub mod chance;
mod cook;
pub mod corpus;
mod defences;
mod dual;
mod empty_mention;
pub mod exchange;
mod failing_answer;
mod failing_refutation;
mod fill;
mod illegal_move;
mod illegal_position;
mod judge;
mod missing_stipulation;
mod no_solution;
mod opinion;
mod point;
mod provable;
mod runs_on;
mod short_solution;
pub mod signs;
mod survey;
mod threat;
mod unanswered_defence;
mod undecided;
mod unfinished_solution;
mod unfit_question;
mod words;
mod working_try;

#[cfg(test)]
mod aims;
#[cfg(test)]
mod gains;
#[cfg(test)]
mod steady;
#[cfg(test)]
mod trial;

pub use defences::{Defence, Fall, Met, defences};
pub use fill::{Filling, fill};
pub use judge::{Judge, TABLE_BYTES};
pub use model::puzzle::Margins;
pub use opinion::{Disagreement, Second, checked};
pub use play::claim::{Against, Claim, Opinion, ReadClaim, Unreached};
pub use play::goal::{Goal, met};
pub use play::known::{Answer, Chance, Evidence, Known, Question, Ruling};
pub use undecided::say_to_students;

use std::slice;

use model::draft::{Draft, Edit, NodeId};
use model::puzzle::{DraftFault, Posed, Puzzle, Role};
use model::resolved::Resolved;
pub use model::tongue::thousands;
use model::tongue::tr;
pub use point::{plies as plies_to_point, settled};
use prove::Watch;
use survey::{Survey, survey};

/// The kinds of finding. Their snake-case names are part of the command
/// line's interface.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "snake_case")
)]
pub enum Kind {
    /// The position cannot be played from.
    IllegalPosition,
    /// It is not said what the solver must do.
    MissingStipulation,
    /// A move cannot be read or played.
    IllegalMove,
    /// The listed solution does not do what is asked.
    NoSolution,
    /// What is asked is done in fewer moves than it says.
    ShortSolution,
    /// A first move that is not listed does what is asked as well.
    Cook,
    /// A side line without a mark: accepted, or a try.
    AmbiguousVariation,
    /// A listed try does what is asked.
    WorkingTry,
    /// The reply given against a try does not save the other side.
    FailingRefutation,
    /// A reply is not answered.
    UnansweredDefence,
    /// A listed answer does not do what is asked.
    FailingAnswer,
    /// A line stops before its end.
    UnfinishedSolution,
    /// More than one move does what is asked where one should.
    Dual,
    /// A line that goes on when its point is made.
    RunsOn,
    /// Words that mention a move that is not there.
    EmptyMention,
    /// A move between the margins, or not decided within the budget.
    Undecided,
    /// The prover and the checker do not agree.
    Disagreement,
    /// A gain is proved where a win is searched.
    Provable,
    /// A question that does not fit the moves that are written.
    UnfitQuestion,
}

impl Kind {
    /// The name in snake case, as the command line prints it.
    pub fn name(self) -> &'static str {
        match self {
            Kind::IllegalPosition => "illegal_position",
            Kind::MissingStipulation => "missing_stipulation",
            Kind::IllegalMove => "illegal_move",
            Kind::NoSolution => "no_solution",
            Kind::ShortSolution => "short_solution",
            Kind::Cook => "cook",
            Kind::AmbiguousVariation => "ambiguous_variation",
            Kind::WorkingTry => "working_try",
            Kind::FailingRefutation => "failing_refutation",
            Kind::UnansweredDefence => "unanswered_defence",
            Kind::FailingAnswer => "failing_answer",
            Kind::UnfinishedSolution => "unfinished_solution",
            Kind::Dual => "dual",
            Kind::RunsOn => "runs_on",
            Kind::EmptyMention => "empty_mention",
            Kind::Undecided => "undecided",
            Kind::Disagreement => "disagreement",
            Kind::Provable => "provable",
            Kind::UnfitQuestion => "unfit_question",
        }
    }

    /// The kind in words, as the page shows it.
    pub fn title(self) -> &'static str {
        match self {
            Kind::IllegalPosition => tr("illegal position"),
            Kind::MissingStipulation => tr("stipulation missing"),
            Kind::IllegalMove => tr("illegal move"),
            Kind::NoSolution => tr("no solution"),
            Kind::ShortSolution => tr("short solution"),
            Kind::Cook => tr("cook"),
            Kind::AmbiguousVariation => tr("ambiguous variation"),
            Kind::WorkingTry => tr("try that works"),
            Kind::FailingRefutation => tr("refutation that fails"),
            Kind::UnansweredDefence => tr("unanswered defence"),
            Kind::FailingAnswer => tr("answer that fails"),
            Kind::UnfinishedSolution => tr("unfinished solution"),
            Kind::Dual => tr("dual"),
            Kind::RunsOn => tr("line that runs on"),
            Kind::EmptyMention => tr("mention of no move"),
            Kind::Undecided => tr("undecided"),
            Kind::Disagreement => tr("disagreement of our programs"),
            Kind::Provable => tr("proof found"),
            Kind::UnfitQuestion => tr("question that does not fit"),
        }
    }
}

/// A fault makes a puzzle unsound; a remark does not; an open point leaves
/// it undecided.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "snake_case")
)]
pub enum Weight {
    /// The puzzle is unsound.
    Fault,
    /// To be looked at; the puzzle is sound.
    Remark,
    /// Something is undecided.
    Open,
}

/// A change that removes a finding, with a label for its button.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Mend {
    /// What the offer says.
    pub label: String,
    /// What it does to the draft, in order.
    pub edits: Vec<Edit>,
}

/// One finding of the checker.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Finding {
    /// What is wrong.
    pub kind: Kind,
    /// How much it counts.
    pub weight: Weight,
    /// The node at which the finding stands (the position in which `moves`
    /// are played).
    pub node: NodeId,
    /// The moves from the start to that node, in UCI.
    pub path: Vec<String>,
    /// The moves at fault at that node, in UCI (as typed, for an illegal
    /// move); empty where the position itself is at fault.
    pub moves: Vec<String>,
    /// A line from that node that shows the fault, in UCI.
    pub line: Vec<String>,
    /// One sentence, moves in SAN.
    pub message: String,
    /// Ways to mend it, the likeliest first.
    pub mends: Vec<Mend>,
}

/// The verdict on a puzzle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "snake_case")
)]
pub enum Soundness {
    /// Every claim holds.
    Sound,
    /// Some claim does not hold.
    Unsound,
    /// Some claim is open, and none is known not to hold.
    Undecided,
}

/// What the checker found.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Report {
    /// What follows of it all.
    pub verdict: Soundness,
    /// Faults first, then open points, then remarks; within each, in reading
    /// order.
    pub findings: Vec<Finding>,
    /// Nodes the prover spent on all that is known.
    pub nodes: u64,
    /// Verdicts this puzzle needs: those known, and all raised so far.
    pub answered: usize,
    /// How many questions there are.
    pub asked: usize,
    /// What the independent checker says of it.
    pub second: Second,
}

impl Report {
    /// Whether its solution is begun rather than wrong: it stops before its point or
    /// leaves defences unanswered, and has no fault but that, or a first move that is
    /// still to be listed.
    pub fn is_unfinished(&self) -> bool {
        let faults = || self.findings.iter().filter(|f| f.weight == Weight::Fault);
        let missing =
            |f: &Finding| matches!(f.kind, Kind::UnfinishedSolution | Kind::UnansweredDefence);
        faults().any(missing) && faults().all(|f| missing(f) || f.kind == Kind::Cook)
    }
}

/// A puzzle examined by what is known.
pub struct Examination {
    /// What is wrong, and the verdict.
    pub report: Report,
    /// What it still raises, as [`questions`] lists it.
    pub questions: Vec<Question>,
    /// What is still to be put to the checker, as [`claims`] lists it.
    pub claims: Vec<Claim>,
    /// What meets each legal reply.
    pub replies: Replied,
}

/// What was found about the replies to each accepted move of a puzzle.
#[derive(Default)]
pub struct Replied(Vec<survey::Replies>);

impl Replied {
    /// [`defences`], without going through the puzzle once more. Puzzle and
    /// known are those that were examined.
    pub fn defences(&self, puzzle: &Puzzle, known: &Known, node: NodeId) -> Option<Vec<Fall>> {
        let replies = self.0.iter().find(|replies| replies.node == node)?;
        Some(defences::falls(puzzle, known, replies))
    }
}

/// Report, questions and replies of a puzzle in one go.
pub fn examine(puzzle: &Puzzle, known: &Known) -> Examination {
    let survey = survey(puzzle, known);
    let (report, claims) = report_survey(puzzle, known, &survey);
    Examination {
        report,
        claims,
        questions: raised(puzzle, known, &survey),
        replies: Replied(survey.replies),
    }
}

/// The questions a puzzle still raises beyond what is known, in order of
/// weight. More may follow once these are answered; none left means that
/// [`report`] is final.
pub fn questions(puzzle: &Puzzle, known: &Known) -> Vec<Question> {
    raised(puzzle, known, &survey(puzzle, known))
}

/// What is open, and where nothing is, what could be proved besides.
fn raised(puzzle: &Puzzle, known: &Known, survey: &Survey) -> Vec<Question> {
    if survey.open.is_empty() {
        return Vec::from_iter(provable::question(puzzle, survey, known));
    }
    survey.open.clone()
}

/// What of a puzzle's verdict is still to be put to the independent checker,
/// the first moves first, where what is known [wants it](Known::want_second);
/// nothing before every question is answered.
pub fn claims(puzzle: &Puzzle, known: &Known) -> Vec<Claim> {
    examine(puzzle, known).claims
}

/// Judges a draft by what is known. Drafts that are no puzzle are unsound,
/// with all their faults.
pub fn report(resolved: &Resolved, known: &Known) -> Report {
    match resolved.puzzle() {
        Ok(puzzle) => {
            let mut report = report_puzzle(puzzle, known);
            report.findings.extend(mentions(resolved));
            report
        }
        Err(_) => report_faults(resolved),
    }
}

/// What is wrong with the words of a draft.
pub fn mentions(resolved: &Resolved) -> Vec<Finding> {
    empty_mention::find(resolved)
}

/// The report of a draft that is no puzzle; that of one that is has no findings.
pub fn report_faults(resolved: &Resolved) -> Report {
    let finding = |fault: &DraftFault| match fault {
        DraftFault::IllegalPosition(fault) => illegal_position::finding(resolved, fault),
        DraftFault::MissingStipulation => missing_stipulation::finding(resolved, None),
        DraftFault::UnknownStipulation(text) => missing_stipulation::finding(resolved, Some(text)),
        DraftFault::IllegalMove(id, fault) => illegal_move::finding(resolved, *id, fault),
    };
    let faults = resolved.puzzle().err().unwrap_or_default();
    Report {
        verdict: Soundness::Unsound,
        findings: faults.iter().map(finding).collect(),
        nodes: 0,
        answered: 0,
        asked: 0,
        second: Second::Nothing,
    }
}

/// Judges a puzzle by what is known.
pub fn report_puzzle(puzzle: &Puzzle, known: &Known) -> Report {
    report_survey(puzzle, known, &survey(puzzle, known)).0
}

/// The report, and what is still to be put to the checker.
fn report_survey(puzzle: &Puzzle, known: &Known, survey: &Survey) -> (Report, Vec<Claim>) {
    let mut findings = findings(puzzle, survey);
    findings.sort_by_key(|f| match f.weight {
        Weight::Fault => 0,
        Weight::Open => 1,
        Weight::Remark => 2,
    });
    let has = |weight| findings.iter().any(|f: &Finding| f.weight == weight);
    let verdict = if has(Weight::Fault) {
        Soundness::Unsound
    } else if has(Weight::Open) || !survey.open.is_empty() {
        Soundness::Undecided
    } else {
        Soundness::Sound
    };
    let asked = survey.answered + survey.unanswered;
    let mut report = Report {
        verdict,
        findings,
        nodes: known.nodes(),
        answered: survey.answered,
        asked,
        second: Second::Nothing,
    };
    if !survey.open.is_empty() {
        return (report, Vec::new());
    }
    let (mut second, mut claims, mut at) = opinion::second(known, &survey.rests_on);
    // A line that is still to be mended comes first.
    let line = |f: &Finding| matches!(f.kind, Kind::UnfinishedSolution | Kind::RunsOn);
    if verdict == Soundness::Sound && !report.findings.iter().any(line) {
        report
            .findings
            .extend(provable::held(puzzle, survey, known));
        let Some((finding, goal)) = provable::find(puzzle, survey, known) else {
            return (opinion::weigh(puzzle, report, second, at), claims);
        };
        report.findings.push(finding);
        // The verdict rests on it only if it speaks against our programs.
        let gain = (puzzle.start().clone(), goal, NodeId::ROOT);
        let (proof, more, _) = opinion::second(known, slice::from_ref(&gain));
        claims.extend(more);
        if matches!(proof, Second::Against(_)) {
            (second, at) = (second.and(proof), NodeId::ROOT);
        }
    }
    (opinion::weigh(puzzle, report, second, at), claims)
}

/// Checks a draft from start to end, adding to what is known. Stops early,
/// with an undecided report, when `watch` cancels.
pub fn check(draft: &Draft, known: &mut Known, judge: &mut Judge, watch: &mut dyn Watch) -> Report {
    let resolved = Resolved::of(draft);
    let Ok(puzzle) = resolved.puzzle() else {
        return report_faults(&resolved);
    };
    known.limit_effort(Judge::most_effort(judge.budget()));
    loop {
        let open = questions(puzzle, known);
        if open.is_empty() {
            break;
        }
        for question in open {
            known.learn(&judge.answer(&question, watch));
            if !watch.go_on(judge.nodes(), 0.0) {
                return report(&resolved, known);
            }
        }
    }
    report(&resolved, known)
}

/// Whether the author lists no first move that might be accepted, and needs one.
fn no_key(puzzle: &Puzzle) -> bool {
    let listed = puzzle.children(NodeId::ROOT);
    let asks_about_one = puzzle.posed() == Posed::YesNo && !listed.is_empty();
    !asks_about_one && listed.iter().all(|&c| puzzle.node(c).role == Role::Try)
}

/// Whether a right move that is not listed counts against the puzzle at a node: where
/// the student finds the first move, and later where the author says so.
fn counts_unlisted(puzzle: &Puzzle, node: NodeId) -> bool {
    match node == NodeId::ROOT {
        true => matches!(puzzle.posed(), Posed::Find | Posed::Threat),
        false => puzzle.unique(),
    }
}

/// Runs every detector over the survey, in reading order of the tree.
fn findings(puzzle: &Puzzle, survey: &Survey) -> Vec<Finding> {
    let mut found = Vec::new();
    if no_key(puzzle) {
        found.push(unfinished_solution::no_key(puzzle, &survey.turns[0]));
    }
    unfit_question::find(puzzle, &survey.turns[0], &mut found);
    for stop in &survey.order {
        match *stop {
            survey::Stop::Turn(i) => {
                let turn = &survey.turns[i];
                no_solution::find(puzzle, turn, &mut found);
                failing_answer::find(puzzle, turn, &mut found);
                cook::find(puzzle, turn, &mut found);
                short_solution::find(puzzle, turn, &mut found);
                dual::find(puzzle, turn, &mut found);
                ambiguous_variation::find(puzzle, turn, &mut found);
                working_try::find(puzzle, turn, &mut found);
                unfinished_solution::tries(puzzle, turn, &mut found);
                undecided::find(puzzle, turn, &mut found);
            }
            survey::Stop::Replies(i) => {
                let replies = &survey.replies[i];
                unfinished_solution::find(puzzle, replies, &mut found);
                unanswered_defence::find(puzzle, replies, &mut found);
                runs_on::find(puzzle, survey, replies, &mut found);
            }
            survey::Stop::Refutation(i) => {
                failing_refutation::find(puzzle, &survey.refutations[i], &mut found);
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{draft, report as checked};
    use prove::Unwatched;

    const KINDS: [Kind; 19] = [
        Kind::IllegalPosition,
        Kind::MissingStipulation,
        Kind::IllegalMove,
        Kind::NoSolution,
        Kind::ShortSolution,
        Kind::Cook,
        Kind::AmbiguousVariation,
        Kind::WorkingTry,
        Kind::FailingRefutation,
        Kind::UnansweredDefence,
        Kind::FailingAnswer,
        Kind::UnfinishedSolution,
        Kind::Dual,
        Kind::RunsOn,
        Kind::EmptyMention,
        Kind::Undecided,
        Kind::Disagreement,
        Kind::Provable,
        Kind::UnfitQuestion,
    ];

    /// The command prints the one, files have the other.
    #[test]
    fn a_kind_has_one_name_and_a_title_of_its_own() {
        assert_eq!(Kind::UnfitQuestion as usize + 1, KINDS.len());
        let mut titles = Vec::new();
        for kind in KINDS {
            let written = serde_json::to_value(kind).expect("a name");
            assert_eq!(written, kind.name());
            assert!(!kind.title().is_empty() && !titles.contains(&kind.title()));
            titles.push(kind.title());
        }
    }

    /// A first move that is still to be listed is no fault of what is begun; a try that
    /// works is one.
    #[test]
    fn a_solution_is_unfinished_that_has_no_fault_but_that() {
        let begun = |fen: &str, claim: &str, moves: &str| {
            let text = format!("[FEN \"{fen}\"]\n[Stipulation \"{claim}\"]\n\n{moves} *");
            let found = checked(&text);
            (trial::kinds(&found), found.is_unfinished())
        };
        let rook = "k7/8/1K6/8/8/8/8/2R5 w - - 0 1";
        let (kinds, unfinished) = begun(rook, "#2", "1. Rd1");
        assert!(unfinished && kinds.contains(&Kind::UnfinishedSolution));
        assert!(kinds.contains(&Kind::Cook), "{kinds:?}");
        let (kinds, unfinished) = begun(rook, "#2", "1. Rd1 (1. Rc8# $2)");
        assert!(kinds.contains(&Kind::UnfinishedSolution));
        assert!(
            !unfinished && kinds.contains(&Kind::WorkingTry),
            "{kinds:?}"
        );
        let rooks = "6k1/5ppp/8/8/8/8/8/R2R2K1 w - - 0 1";
        assert_eq!(begun(rooks, "#1", "1. Ra8#"), (vec![Kind::Cook], false));
        let sound = begun(rooks, "#1", "1. Ra8# (1. Rd8# $1)");
        assert_eq!(sound, (vec![], false));
    }

    /// Black can put bishop or rook in the way; the rook is left out.
    const TWO_LINES: &str = "[FEN \"6k1/5ppp/3r4/8/8/7b/R7/R5K1 w - - 0 1\"]\n[Stipulation \"#3\"]\n\n1. Ra8+ Bc8 2. Rxc8+ Rd8 3. Rxd8# *";

    #[test]
    fn what_is_examined_tells_the_defences_of_each_move() {
        let (draft, mut known) = (draft(TWO_LINES), Known::default());
        check(&draft, &mut known, &mut Judge::new(1 << 20), &mut Unwatched);
        let puzzle = Resolved::of(&draft).into_puzzle().expect("a puzzle");
        let told = |falls: Vec<Fall>| -> Vec<(Met, Option<String>, Vec<Vec<String>>)> {
            let lines = |fall: &Fall| fall.defences.iter().map(|d| d.line.clone()).collect();
            let told = falls
                .into_iter()
                .map(|f| (f.met, f.answer.clone(), lines(&f)));
            told.collect()
        };
        let examined = examine(&puzzle, &known);
        let mut tables = 0;
        for node in draft.walk() {
            let found = examined.replies.defences(&puzzle, &known, node).map(told);
            assert_eq!(found, defences(&puzzle, &known, node).map(told));
            tables += usize::from(found.is_some_and(|found| !found.is_empty()));
        }
        assert_eq!(tables, 2, "after 1.Ra8+ and after 2.Rxc8+");
    }

    #[test]
    fn a_report_counts_what_is_asked_and_what_is_answered() {
        let (draft, mut known) = (draft(TWO_LINES), Known::default());
        let puzzle = Resolved::of(&draft).into_puzzle().expect("a puzzle");
        let raised: usize = questions(&puzzle, &known)
            .iter()
            .map(|question| question.moves.len().max(1))
            .sum();
        let before = report_puzzle(&puzzle, &known);
        assert!(raised > 0);
        assert_eq!((before.answered, before.asked), (0, raised));
        assert_eq!(before.verdict, Soundness::Undecided);
        let after = check(&draft, &mut known, &mut Judge::new(1 << 20), &mut Unwatched);
        assert_eq!(after.answered, after.asked);
        assert!(after.asked >= raised);
    }

    #[test]
    fn what_a_verdict_rests_on_is_put_to_the_checker_once_all_is_answered() {
        let (draft, mut known) = (draft(TWO_LINES), Known::default());
        known.want_second();
        let puzzle = Resolved::of(&draft).into_puzzle().expect("a puzzle");
        assert_eq!(claims(&puzzle, &known), []);
        check(&draft, &mut known, &mut Judge::new(1 << 20), &mut Unwatched);
        let claims = claims(&puzzle, &known);
        let start = model::notation::fen::write(puzzle.start());
        assert_eq!(claims[0].fen, start);
        assert_eq!(claims[0].holds, [("a2a8".to_owned(), 3)]);
        assert!(claims.len() > 1);
    }
}
