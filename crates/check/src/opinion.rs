//! The second opinion: what the independent checker says of the mates, gains and draws by
//! force that a verdict rests on, and what follows for a report. What is put to it is a
//! [`Claim`]; putting it there is left to whoever has a checker.

use std::collections::HashSet;

use model::aim::Aim;
use model::draft::NodeId;
use model::notation::moves;
use model::puzzle::Puzzle;
use model::tongue::{marked, phrase, say, thousands, tr};
use play::claim::{Against, Claim, Opinion, Unreached};
use shakmaty::Move;

use super::survey::Rests;
use super::words::Site;
use super::{Finding, Goal, Kind, Known, Report, Soundness, Weight};

/// A claim that our two programs do not agree about.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Disagreement {
    /// What our prover claims.
    pub claim: Claim,
    /// What the checker says against it.
    pub against: Against,
}

/// How a report stands with the checker.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "snake_case")
)]
pub enum Second {
    /// Nothing in it could be checked a second time.
    #[default]
    Nothing,
    /// Nobody wants it checked a second time.
    Skipped,
    /// Not all that it rests on is checked yet.
    Waiting,
    /// All that it rests on was accepted.
    Accepted {
        /// How many it looked at.
        positions: usize,
    },
    /// Something that it rests on could not be checked.
    Unreached(Unreached),
    /// The two programs disagree: what it says is not to be believed.
    Against(Box<Disagreement>),
}

impl Disagreement {
    /// A text to keep or to send: the position, the question, and what each of
    /// the two programs says.
    pub fn text(&self) -> String {
        let claim = &self.claim;
        [
            say!(
                "Keyproof {version}: two of its programs disagree. Do not give this puzzle out; please send this text to whoever gave you Keyproof.",
                version = env!("CARGO_PKG_VERSION"),
            ),
            String::new(),
            say!("Position: {fen}", fen = claim.fen),
            match claim.aim() {
                _ if !claim.drawn.is_empty() && claim.holds.is_empty() => {
                    tr("Question: which moves hold a draw by force?").into()
                }
                Aim::Gain(gain) => say!(
                    "Question: which moves win {what}, in {n} moves or fewer?",
                    what = gain.what(),
                    n = claim.n.to_string(),
                ),
                _ => say!(
                    "Question: which moves force mate, in {n} moves or fewer?",
                    n = claim.n.to_string(),
                ),
            },
            String::new(),
            tr("The first program:").into(),
            told(claim),
            String::new(),
            tr("The second program:").into(),
            spoken_against(&self.against),
            String::new(),
        ]
        .join("\n")
    }
}

impl Second {
    /// What an opinion about a claim comes to.
    pub fn of(claim: &Claim, opinion: &Opinion) -> Second {
        match opinion {
            Opinion::Accepted { positions } => Second::Accepted {
                positions: *positions,
            },
            Opinion::Unreached(why) => Second::Unreached(why.clone()),
            Opinion::Against(against) => Second::Against(Box::new(Disagreement {
                claim: claim.clone(),
                against: against.clone(),
            })),
        }
    }

    /// The two together: what speaks against either, else what is still to come.
    pub fn and(self, other: Second) -> Second {
        match (self, other) {
            (Second::Accepted { positions: a }, Second::Accepted { positions: b }) => {
                Second::Accepted { positions: a + b }
            }
            (a, b) if b.rank() > a.rank() => b,
            (a, _) => a,
        }
    }

    fn rank(&self) -> u8 {
        match self {
            Second::Nothing => 0,
            Second::Accepted { .. } => 1,
            Second::Skipped => 2,
            Second::Unreached(_) => 3,
            Second::Waiting => 4,
            Second::Against(_) => 5,
        }
    }

    /// In words, to follow a verdict; empty where nothing could be checked.
    pub fn words(&self) -> String {
        match self {
            Second::Nothing => String::new(),
            Second::Skipped => tr("not checked a second time, as you asked").into(),
            Second::Waiting => tr("being checked by a second, independent program").into(),
            Second::Accepted { positions } => say!(
                "checked by a second, independent program, {n} positions",
                n = thousands(*positions as u64),
            ),
            Second::Unreached(why) => not_checked(why),
            Second::Against(_) => tr("our two programs disagree: do not give this out").into(),
        }
    }
}

/// How far a proof is checked, in a few words; `waits` says that what was not asked will be.
pub fn checked(opinion: Option<&Opinion>, waits: bool) -> String {
    match opinion {
        Some(Opinion::Accepted { positions }) => say!(
            "{n} positions, checked a second time",
            n = thousands(*positions as u64),
        ),
        None if waits => tr("being checked a second time").into(),
        _ => tr("by one program").into(),
    }
}

/// What the checker says of all that a report rests on, and what is still to be
/// put to it.
pub(super) fn second(known: &Known, rests_on: &[Rests]) -> (Second, Vec<Claim>, NodeId) {
    let mut asked = HashSet::new();
    let (mut second, mut open, mut at) = (Second::Nothing, Vec::new(), NodeId::ROOT);
    for (position, goal, node) in rests_on {
        if !asked.insert((position, goal)) {
            continue;
        }
        let claim = || known.claim(position, *goal);
        let mut this = stands(
            known,
            *goal,
            known.opinion(position, *goal),
            claim,
            &mut open,
        );
        // The mates that moves lose to where none is asked for.
        for claim in known.losses(position, *goal) {
            let opinion = known.heard(&claim);
            this = stands(known, *goal, opinion, || Some(claim), &mut open).and(this);
        }
        if this.rank() > second.rank() {
            at = *node;
        }
        second = second.and(this);
    }
    (second, open, at)
}

/// How one claim stands with the checker; one that it has not heard is put to `open`.
fn stands(
    known: &Known,
    goal: Goal,
    opinion: Option<&Opinion>,
    claim: impl FnOnce() -> Option<Claim>,
    open: &mut Vec<Claim>,
) -> Second {
    match opinion {
        _ if !known.wants_second() => claim().map_or(Second::Nothing, |_| Second::Skipped),
        None => claim().map_or(Second::Nothing, |claim| {
            open.push(claim);
            Second::Waiting
        }),
        // A search stands without the mates in it.
        Some(Opinion::Unreached(_)) if goal.forced().is_none() => Second::Nothing,
        Some(Opinion::Accepted { positions }) => Second::Accepted {
            positions: *positions,
        },
        Some(opinion) => claim().map_or(Second::Nothing, |c| Second::of(&c, opinion)),
    }
}

/// A report in the light of what the checker says.
pub(super) fn weigh(puzzle: &Puzzle, mut report: Report, second: Second, at: NodeId) -> Report {
    match &second {
        Second::Nothing | Second::Accepted { .. } | Second::Skipped => {}
        Second::Waiting if report.verdict == Soundness::Sound => {
            report.verdict = Soundness::Undecided;
        }
        Second::Unreached(why) if report.verdict == Soundness::Sound => {
            report.verdict = Soundness::Undecided;
            report.findings.insert(0, unreached(puzzle, at, why));
        }
        Second::Waiting | Second::Unreached(_) => {}
        Second::Against(against) => {
            report.verdict = Soundness::Undecided;
            report.findings = vec![disagreement(puzzle, at, against)];
        }
    }
    report.second = second;
    report
}

fn unreached(puzzle: &Puzzle, node: NodeId, why: &Unreached) -> Finding {
    let message = say!("Proved by one program; {why}.", why = not_checked(why));
    let site = Site {
        puzzle,
        node,
        moves: &[],
        line: &[],
    };
    site.finding(Kind::Undecided, Weight::Open, message, Vec::new())
}

fn disagreement(puzzle: &Puzzle, node: NodeId, found: &Disagreement) -> Finding {
    let message = say!(
        "Our two programs disagree: do not give this out. {what}",
        what = spoken_against(&found.against),
    );
    let site = Site {
        puzzle,
        node,
        moves: &[],
        line: &[],
    };
    site.finding(Kind::Disagreement, Weight::Open, message, Vec::new())
}

/// What the claim says, in a sentence for each kind of move.
fn told(claim: &Claim) -> String {
    let Some(read) = claim.read() else {
        return tr("The position or a move of it is not legal.").into();
    };
    let san = |&mv: &Move| moves::san(&read.position, mv);
    let keys = read.holds.iter();
    let keys: Vec<String> = keys
        .map(|(mv, length)| say!("{move} (in {n})", move = san(mv), n = length.to_string()))
        .collect();
    let fails: Vec<String> = read.fails.iter().map(san).collect();
    let or_none = |names: Vec<String>| match names.is_empty() {
        true => tr("none").to_owned(),
        false => names.join(", "),
    };
    let (does, does_not) = match read.aim {
        Aim::Gain(_) => (
            phrase!("It is won by: {moves}.", "moves n"),
            phrase!("In {n} moves it is not won by: {moves}.", "moves n"),
        ),
        _ => (
            phrase!("Mate is forced by: {moves}.", "moves n"),
            phrase!("Mate in {n} is not forced by: {moves}.", "moves n"),
        ),
    };
    let n = claim.n.to_string();
    let mut told = Vec::new();
    if !read.drawn.is_empty() {
        let drawn: Vec<String> = read.drawn.iter().map(san).collect();
        told.push(say!(
            "A draw is held by force by: {moves}.",
            moves = drawn.join(", "),
        ));
    }
    if told.is_empty() || !keys.is_empty() {
        told.push(say!(does, moves = or_none(keys), n = n.clone()));
        told.push(say!(does_not, moves = or_none(fails), n = n));
    }
    told.join("\n")
}

/// What speaks against it, in a sentence.
fn spoken_against(against: &Against) -> String {
    match against {
        Against::Itself { fen, mv } => say!(
            "Asked again, the program that found this answers otherwise: in {fen} the move {move} does not do what it must.",
            fen = fen,
            move = mv,
        ),
        Against::Checker { line, text, reason } => say!(
            "The checker rejects line {line} of the proof, \u{201c}{text}\u{201d}: {reason}.",
            line = line.to_string(),
            text = text,
            reason = reason,
        ),
    }
}

fn not_checked(why: &Unreached) -> String {
    match why {
        Unreached::Budget => tr("not checked a second time: the budget did not reach").into(),
        Unreached::Broke(what) => say!(
            "not checked a second time: its worker broke down ({what})",
            what = marked(what),
        ),
    }
}
