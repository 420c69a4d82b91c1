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
            Second::Accepted { positions: 1 } => {
                tr("checked by a second, independent program").into()
            }
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
        Some(Opinion::Accepted { positions: 1 }) => {
            tr("one position, checked a second time").into()
        }
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::draft;
    use crate::{Judge, Margins, check, claims, report_puzzle};
    use model::aim::Gain;
    use model::notation::fen;
    use model::resolved::Resolved;
    use prove::Unwatched;

    fn accepted(positions: usize) -> Second {
        Second::Accepted { positions }
    }

    fn against() -> Against {
        Against::Itself {
            fen: "8/8/8/8/8/8/8/8 w - - 0 1".to_owned(),
            mv: "a1a2".to_owned(),
        }
    }

    #[test]
    fn what_speaks_against_it_outweighs_the_rest() {
        let doubt = Second::Against(Box::new(Disagreement {
            claim: claim(Goal::Forced(Aim::Mate, 2)),
            against: against(),
        }));
        let broke = Second::Unreached(Unreached::Broke("it stopped".to_owned()));
        let order = [
            Second::Nothing,
            accepted(2),
            Second::Skipped,
            broke,
            Second::Waiting,
            doubt,
        ];
        for (i, less) in order.iter().enumerate() {
            for more in &order[i + 1..] {
                assert_eq!(&less.clone().and(more.clone()), more);
                assert_eq!(&more.clone().and(less.clone()), more);
            }
        }
        assert_eq!(accepted(2).and(accepted(5)), accepted(7));
        let first = Second::Unreached(Unreached::Budget);
        assert_eq!(first.clone().and(order[3].clone()), first);
    }

    /// Bishop or rook goes in the way.
    const SOUND: &str = "[FEN \"6k1/5ppp/3r4/8/8/7b/R7/R5K1 w - - 0 1\"]\n[Stipulation \"#3\"]\n\n1. Ra8+ Bc8 (1... Rd8 2. Rxd8#) 2. Rxc8+ Rd8 3. Rxd8# *";
    const UNSOUND: &str =
        "[FEN \"6k1/5ppp/8/8/8/8/8/R2R2K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n1. Ra8# *";

    /// The report of a puzzle of which everything is known, where the checker says so of
    /// the claims it rests on, one after the other; it is still to be asked of the others.
    fn heard(text: &str, says: &[Opinion]) -> (Report, Vec<Claim>) {
        let (draft, mut known) = (draft(text), Known::default());
        known.want_second();
        check(&draft, &mut known, &mut Judge::new(1 << 20), &mut Unwatched);
        let puzzle = Resolved::of(&draft).into_puzzle().expect("a puzzle");
        let rests_on = claims(&puzzle, &known);
        for (claim, says) in rests_on.iter().zip(says) {
            known.hear(claim, says.clone());
        }
        let report = report_puzzle(&puzzle, &known);
        (report, claims(&puzzle, &known))
    }

    fn says(positions: usize) -> Opinion {
        Opinion::Accepted { positions }
    }

    #[test]
    fn a_sound_verdict_waits_until_all_that_it_rests_on_is_accepted() {
        let (waiting, open) = heard(SOUND, &[]);
        assert_eq!(waiting.verdict, Soundness::Undecided);
        assert_eq!(
            (waiting.second, waiting.findings.len()),
            (Second::Waiting, 0)
        );
        assert!(open.len() > 2);
        let (part, rest) = heard(SOUND, &[says(1), says(10)]);
        assert_eq!((part.second, &rest[..]), (Second::Waiting, &open[2..]));
        let all: Vec<Opinion> = (0..open.len()).map(|i| says(10 + i)).collect();
        let (whole, none) = heard(SOUND, &all);
        assert_eq!((whole.verdict, none.len()), (Soundness::Sound, 0));
        assert_eq!(
            whole.second,
            accepted((0..open.len()).map(|i| 10 + i).sum())
        );
    }

    #[test]
    fn what_could_not_be_checked_is_told_where_it_stands() {
        let count = heard(SOUND, &[]).1.len();
        let mut opinions = vec![says(1); count];
        opinions[1] = Opinion::Unreached(Unreached::Budget);
        let (report, _) = heard(SOUND, &opinions);
        assert_eq!(report.verdict, Soundness::Undecided);
        assert_eq!(report.second, Second::Unreached(Unreached::Budget));
        let [finding] = &report.findings[..] else {
            panic!("{:?}", report.findings);
        };
        assert_eq!(
            (finding.kind, finding.weight),
            (Kind::Undecided, Weight::Open)
        );
        assert_ne!(finding.node, NodeId::ROOT);
        assert_eq!(
            finding.message,
            "Proved by one program; not checked a second time: the budget did not reach."
        );
        opinions[0] = Opinion::Unreached(Unreached::Budget);
        assert_eq!(heard(SOUND, &opinions).0.findings[0].node, NodeId::ROOT);
    }

    #[test]
    fn only_a_disagreement_changes_a_verdict_that_is_not_sound() {
        for (opinions, second) in [
            (vec![], Second::Waiting),
            (
                vec![Opinion::Unreached(Unreached::Budget)],
                Second::Unreached(Unreached::Budget),
            ),
        ] {
            let (report, _) = heard(UNSOUND, &opinions);
            assert_eq!(
                (report.verdict, report.second),
                (Soundness::Unsound, second)
            );
            assert_eq!(report.findings.len(), 1);
        }
        let (report, _) = heard(UNSOUND, &[Opinion::Against(against())]);
        assert_eq!(report.verdict, Soundness::Undecided);
        let kinds: Vec<Kind> = report.findings.iter().map(|f| f.kind).collect();
        assert_eq!(kinds, [Kind::Disagreement]);
        let Second::Against(found) = report.second else {
            panic!("{:?}", report.second);
        };
        assert_eq!(found.against, against());
    }

    #[test]
    fn where_nobody_wants_it_nothing_waits() {
        let (draft, mut known) = (draft(SOUND), Known::default());
        let report = check(&draft, &mut known, &mut Judge::new(1 << 20), &mut Unwatched);
        assert_eq!(
            (report.verdict, report.second),
            (Soundness::Sound, Second::Skipped)
        );
    }

    /// A mate that a move loses to, and that could not be checked, leaves the search.
    #[test]
    fn a_search_stands_without_the_mates_in_it() {
        let margins = Margins {
            right: 200,
            wrong: 100,
        };
        let (mut open, mut known) = (Vec::new(), Known::default());
        known.want_second();
        let unreached = Opinion::Unreached(Unreached::Budget);
        let mut stands =
            |goal, opinion| stands(&known, goal, opinion, || Some(claim(goal)), &mut open);
        let (win, mate) = (Goal::Win(margins), Goal::Forced(Aim::Mate, 2));
        assert_eq!(stands(win, Some(&unreached)), Second::Nothing);
        let told = Second::Unreached(Unreached::Budget);
        assert_eq!(stands(mate, Some(&unreached)), told);
        assert_eq!(stands(win, None), Second::Waiting);
        assert_eq!(open, [claim(win)]);
    }

    fn claim(goal: Goal) -> Claim {
        Claim {
            fen: "6k1/5ppp/8/8/8/8/8/R2R2K1 w - - 0 1".to_owned(),
            goal,
            n: 2,
            holds: vec![("a1a8".to_owned(), 1), ("d1d8".to_owned(), 1)],
            fails: vec!["g1f1".to_owned()],
            drawn: Vec::new(),
            shortest: true,
        }
    }

    #[test]
    fn a_claim_is_told_by_what_it_says_of_the_moves() {
        let mate = claim(Goal::Forced(Aim::Mate, 2));
        assert_eq!(
            told(&mate),
            "Mate is forced by: Ra8# (in 1), Rd8# (in 1).\nMate in 2 is not forced by: Kf1."
        );
        let start = fen::read(&mate.fen).expect("a position");
        let gain = Claim {
            holds: Vec::new(),
            ..claim(Goal::Forced(Aim::Gain(Gain::at(9, &start)), 2))
        };
        assert_eq!(
            told(&gain),
            "It is won by: none.\nIn 2 moves it is not won by: Kf1."
        );
        let drawn = Claim {
            holds: Vec::new(),
            fails: Vec::new(),
            drawn: vec!["d1d7".to_owned(), "g1g2".to_owned()],
            ..mate.clone()
        };
        assert_eq!(told(&drawn), "A draw is held by force by: Rd7, Kg2.");
        let both = Claim {
            drawn: drawn.drawn.clone(),
            ..mate
        };
        assert_eq!(told(&both).lines().count(), 3);
    }

    #[test]
    fn a_text_to_send_has_the_question_and_what_each_program_says() {
        let text = |claim: &Claim, against| {
            let claim = claim.clone();
            Disagreement { claim, against }.text()
        };
        let mate = claim(Goal::Forced(Aim::Mate, 2));
        let whole = text(&mate, against());
        let lines: Vec<&str> = whole.lines().collect();
        assert!(lines[0].contains(env!("CARGO_PKG_VERSION")), "{whole}");
        assert_eq!(
            lines[1..],
            [
                "",
                "Position: 6k1/5ppp/8/8/8/8/8/R2R2K1 w - - 0 1",
                "Question: which moves force mate, in 2 moves or fewer?",
                "",
                "The first program:",
                "Mate is forced by: Ra8# (in 1), Rd8# (in 1).",
                "Mate in 2 is not forced by: Kf1.",
                "",
                "The second program:",
                "Asked again, the program that found this answers otherwise: in 8/8/8/8/8/8/8/8 w - - 0 1 the move a1a2 does not do what it must.",
            ]
        );
        let asks = |claim: &Claim| {
            let text = text(claim, against());
            text.lines().nth(3).expect("a question").to_owned()
        };
        let start = fen::read(&mate.fen).expect("a position");
        assert_eq!(
            asks(&claim(Goal::Forced(Aim::Gain(Gain::at(9, &start)), 2))),
            "Question: which moves win the queen, in 2 moves or fewer?"
        );
        let none = Claim {
            holds: Vec::new(),
            ..mate.clone()
        };
        let drawn = Claim {
            drawn: vec!["d1d7".to_owned()],
            ..none.clone()
        };
        assert_eq!(asks(&drawn), "Question: which moves hold a draw by force?");
        // Mates are asked for as well, or nothing but them.
        let both = Claim {
            drawn: drawn.drawn.clone(),
            ..mate.clone()
        };
        assert_eq!([asks(&both), asks(&none)], [asks(&mate), asks(&mate)]);
        let rejects = Against::Checker {
            line: 3,
            text: "2 w a1a8#".to_owned(),
            reason: "it is not mate".to_owned(),
        };
        assert!(text(&mate, rejects).ends_with(
            "The checker rejects line 3 of the proof, \u{201c}2 w a1a8#\u{201d}: it is not mate.\n"
        ));
    }

    #[test]
    fn how_far_it_is_checked_is_said_in_words() {
        let accepted_so_many = accepted(1_200).words();
        assert_eq!(
            accepted_so_many,
            format!(
                "checked by a second, independent program, {} positions",
                thousands(1_200)
            )
        );
        assert_eq!(Second::Nothing.words(), "");
        assert_eq!(
            Second::Waiting.words(),
            "being checked by a second, independent program"
        );
        let budget = Opinion::Unreached(Unreached::Budget);
        assert_eq!(
            accepted(1).words(),
            "checked by a second, independent program"
        );
        let few = [
            (Some(says(12)), "12 positions, checked a second time"),
            (None, "being checked a second time"),
            (Some(budget), "by one program"),
        ];
        for (opinion, words) in few {
            assert_eq!(checked(opinion.as_ref(), true), words);
        }
        assert_eq!(checked(None, false), "by one program");
    }
}
