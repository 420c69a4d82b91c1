//! All that is said about a puzzle, gathered as plain data: for the authoring
//! page, whose workers find it out, and for the published file, which carries
//! it.

mod gist;

use shakmaty::{Chess, Color, Move, Position, Square};

use super::analyst::played;
use super::failing::Failure;
use super::scene::landing;
use super::threats::ThreatKind;
use super::{Allure, Analyst, Difficulty, Proof, Reason, Threat, Threats, Won};
pub use gist::{About, Said};
use play::published::Why;

use check::exchange::best_capture;
use check::{Answer, Goal, Known, Ruling, plies_to_point};
use model::draft::NodeId;
use model::marks::{LineKind, Mark};
use model::notation::{fen, moves};
use model::puzzle::{Posed, Puzzle, Role};
use model::tongue::{Speech, plural, say, tr};
use prove::Watch;
use search::{Line, Value};

/// What must be known of a puzzle to explain it, as plain data. Two puzzles
/// with the same inquiry have the same explanation.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Inquiry {
    /// The position.
    pub fen: String,
    /// What is asked of its moves.
    pub goal: Goal,
    /// The author's main line, in UCI, carried on to its point if it stops
    /// before.
    pub line: Vec<String>,
    /// What is known of the solver's moves at each of his turns on that line,
    /// the first one first.
    pub answers: Vec<Answer>,
    /// The author's tries, each with its refutation, in UCI.
    pub tries: Vec<Vec<String>>,
    /// How the students of the puzzle are spoken to.
    pub speech: Speech,
}

/// All that is said about a puzzle.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Explanation {
    /// The chief of it, in at most five sentences, in the order in which a coach would
    /// say them.
    #[cfg_attr(feature = "serde", serde(default))]
    pub gist: Vec<Said>,
    /// Why each wrong first move fails.
    pub failures: Vec<Failed>,
    /// The wrong first moves that tempt, the most tempting first.
    pub tries: Vec<Tempts>,
    /// The line that `whys` is about, in UCI.
    pub line: Vec<String>,
    /// Why the main line works, and what the key threatens.
    pub whys: Vec<Why>,
    /// What the other side threatens before the first move, in a sentence.
    pub standing: String,
    /// The same one by one, and what each first move leaves of it.
    #[cfg_attr(feature = "serde", serde(default))]
    pub before: Told,
    /// What the key threatens, and what each defence leaves of it.
    #[cfg_attr(feature = "serde", serde(default))]
    pub after: Told,
    /// What the key is proved to win: one of `whys`.
    #[cfg_attr(feature = "serde", serde(default))]
    pub won: Option<Won>,
    /// How hard the puzzle is.
    pub difficulty: Difficulty,
}

/// Threats, told one by one.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Told {
    /// The greatest first.
    pub threats: Vec<Threatened>,
    /// The legal replies, those together that leave the same standing, and first those
    /// that leave least and lose nothing else.
    pub replies: Vec<Replies>,
}

/// A threat.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Threatened {
    /// What it does: `mate`, `wins`, `traps`, `exchange`, `promotes` or `gains`.
    #[cfg_attr(feature = "serde", serde(default))]
    pub kind: String,
    /// The move in SAN.
    pub san: String,
    /// In UCI, from the position after a pass.
    pub line: Vec<String>,
    /// The moves in which it mates; `None` where it gains.
    pub mate: Option<u8>,
    /// What it nets, in pawns; 0 where it mates.
    pub net: u8,
    /// What it does, in a sentence.
    pub sentence: String,
    /// Names of the squares of its moves' ends.
    #[cfg_attr(feature = "serde", serde(default))]
    pub arrows: Vec<[String; 2]>,
    /// What it rests on, in the position after the pass.
    #[cfg_attr(feature = "serde", serde(default))]
    pub proof: Option<Proof>,
}

/// Replies that leave the same threats standing.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Replies {
    /// Of each threat, whether it stands.
    pub stands: Vec<bool>,
    /// Whether they parry all, and lose something else at once.
    #[cfg_attr(feature = "serde", serde(default))]
    pub loses: bool,
    /// In SAN.
    pub moves: Vec<String>,
}

impl Told {
    fn of(position: &Chess, threats: &Threats) -> Told {
        let Threats::Shown {
            from,
            threats,
            replies,
        } = threats
        else {
            return Told::default();
        };
        let threats = threats.iter().map(|threat| Threatened {
            kind: threat.kind.code().to_owned(),
            san: moves::shown(from, threat.line[0]),
            line: threat.line.iter().map(|&mv| moves::uci(mv)).collect(),
            mate: match threat.kind {
                ThreatKind::Mate(n) => Some(n),
                _ => None,
            },
            net: match threat.kind {
                ThreatKind::Mate(_) => 0,
                _ => threat.net,
            },
            sentence: threat.sentence.clone(),
            arrows: ends(threat.line.iter().step_by(2), from.turn()),
            proof: threat.proof.clone(),
        });
        let mut groups: Vec<Replies> = Vec::new();
        for reply in replies {
            let san = moves::shown(position, reply.mv);
            let alike = |g: &&mut Replies| g.stands == reply.stands && g.loses == reply.loses;
            match groups.iter_mut().find(alike) {
                Some(group) => group.moves.push(san),
                None => groups.push(Replies {
                    stands: reply.stands.clone(),
                    loses: reply.loses,
                    moves: vec![san],
                }),
            }
        }
        groups.sort_by_key(|g| {
            let left = g.stands.iter().filter(|&&stands| stands).count();
            (left, g.loses, g.stands.clone())
        });
        Told {
            threats: threats.collect(),
            replies: groups,
        }
    }
}

impl Threatened {
    /// Its marks on the board.
    pub fn marks(&self) -> Vec<Mark> {
        let square = |name: &String| name.parse::<Square>().ok();
        let lines = self.arrows.iter().filter_map(|[from, to]| {
            Some(Mark::Line {
                from: square(from)?,
                to: square(to)?,
                kind: LineKind::Threat,
            })
        });
        lines.collect()
    }

    /// What it nets, as "worth 9 pawns"; empty where it mates.
    pub fn worth(&self) -> String {
        match self.net {
            0 => String::new(),
            net => say!(
                "worth {worth}",
                worth = plural!(usize::from(net), "one pawn", "{n} pawns")
            ),
        }
    }
}

impl Replies {
    /// Whether they parry all and lose nothing else at once.
    pub fn defends(&self) -> bool {
        !self.loses && !self.stands.contains(&true)
    }

    /// Which threats they parry, by their numbers: "parries both", "parries 1, 3"; and
    /// whether that costs something else.
    pub fn parries(&self) -> String {
        match self.loses {
            true => say!(
                "{parries}, but loses something else at once",
                parries = self.parried()
            ),
            false => self.parried(),
        }
    }

    fn parried(&self) -> String {
        let numbers = (1..).zip(&self.stands).filter(|(_, stands)| !**stands);
        let numbers: Vec<String> = numbers.map(|(number, _)| number.to_string()).collect();
        match (self.stands.len(), numbers.len()) {
            (1, 1) => tr("parries it").to_owned(),
            (1, _) => tr("does not parry it").to_owned(),
            (2, 2) => tr("parries both").to_owned(),
            (2, 0) => tr("parries neither").to_owned(),
            (all, some) if all == some => tr("parries all").to_owned(),
            (_, 0) => tr("parries none").to_owned(),
            _ => say!("parries {threats}", threats = numbers.join(", ")),
        }
    }
}

/// Names of the squares of the moves' ends.
fn ends<'a>(moves: impl Iterator<Item = &'a Move>, side: Color) -> Vec<[String; 2]> {
    let ends =
        moves.filter_map(|&mv| Some([mv.from()?.to_string(), landing(mv, side).to_string()]));
    ends.collect()
}

/// Why a wrong first move fails.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Failed {
    /// The move and what refutes it, in UCI.
    pub line: Vec<String>,
    /// Of [`super::FailureKind`].
    pub code: String,
    /// Why it fails, in a sentence.
    pub sentence: String,
    /// What that rests on, where it is proved: about the position after the move.
    #[cfg_attr(feature = "serde", serde(default))]
    pub proof: Option<Proof>,
}

/// What makes a wrong first move tempting.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Tempts {
    /// The move in SAN.
    pub san: String,
    /// The natural rules it follows.
    pub allures: Vec<Allure>,
    /// Depths, in plies, at which it looks good.
    pub looks_good: u8,
    /// The depth, in plies, at which it shows its fault, if it did.
    pub shows_at: Option<u8>,
    /// The move and what refutes it, in UCI.
    pub line: Vec<String>,
    /// Why it fails, in a sentence.
    pub sentence: String,
    /// What that rests on, as of [`Failed`].
    #[cfg_attr(feature = "serde", serde(default))]
    pub proof: Option<Proof>,
}

impl Explanation {
    /// All that it says is proved, to be put to the checker; then [`Explanation::settle`]
    /// says what came of that.
    pub fn proofs(&mut self) -> impl Iterator<Item = &mut Proof> {
        let won = self.won.iter_mut().map(|won| &mut won.proof);
        let failures = self.failures.iter_mut().filter_map(|f| f.proof.as_mut());
        let tries = self.tries.iter_mut().filter_map(|t| t.proof.as_mut());
        let threats = self
            .before
            .threats
            .iter_mut()
            .chain(&mut self.after.threats);
        let threats = threats.filter_map(|t| t.proof.as_mut());
        won.chain(failures).chain(tries).chain(threats)
    }

    /// Says what the checker said where that is part of a sentence.
    pub fn settle(&mut self) {
        if let Some(Won { sentence, proof }) = &self.won {
            let of_it = |why: &&mut Why| !why.threat && why.sentence.starts_with(sentence);
            if let Some(why) = self.whys.iter_mut().find(of_it) {
                why.sentence = format!("{sentence} {}", proof.sentence());
            }
        }
    }
}

/// Plies of a searched line that are explained, where it does not mate: what lies further
/// on is one of many ways that the game may take.
const EXPLAINED: usize = 7;

impl Inquiry {
    /// The inquiry about the best line of a search, as what answers "find the best move";
    /// `answer` judges all first moves by that.
    pub fn of_best(position: &Chess, best: &Line, answer: Answer) -> Inquiry {
        let plies = match best.value {
            Value::Cp(_) => EXPLAINED,
            Value::MateIn(_) | Value::MatedIn(_) => best.moves.len(),
        };
        let shown = best.moves.iter().take(plies);
        Inquiry {
            fen: fen::write(position),
            goal: answer.question.goal,
            line: shown.map(|&mv| moves::uci(mv)).collect(),
            answers: vec![answer],
            tries: Vec::new(),
            speech: Speech::default(),
        }
    }

    /// The inquiry about a puzzle; `None` until every first move is judged, if
    /// the key does not hold, or where no side opposes the solver.
    pub fn of(puzzle: &Puzzle, known: &Known) -> Option<Inquiry> {
        let start = puzzle.start();
        let goal = Goal::of(puzzle);
        if goal.shared() || known.rulings(start, goal).len() < start.legal_moves().len() {
            return None;
        }
        let mut line = Vec::new();
        let mut answers = Vec::new();
        let (mut turn, mut asked) = (NodeId::ROOT, goal);
        while let Some(accepted) = puzzle.accepted(turn).next() {
            let position = puzzle.position(turn);
            let ruling = known.ruling(position, asked, puzzle.node(accepted).mv)?;
            if !ruling.holds() {
                break;
            }
            answers.push(known.answer(position, asked));
            let (defence, next) = (puzzle.children(accepted).first(), asked.next());
            match (defence, next) {
                (Some(&defence), Some(next)) => {
                    line.push(puzzle.node(accepted).mv);
                    line.push(puzzle.node(defence).mv);
                    (turn, asked) = (defence, next);
                }
                _ => {
                    // A best move by itself shows little of why it is best.
                    let plies = match asked {
                        Goal::Best(_) if line.is_empty() => SHOWN,
                        _ => plies_to_point(position, ruling.line(), asked),
                    };
                    line.extend(ruling.line().iter().take(plies));
                    break;
                }
            }
        }
        // Asked about a move that fails, there need be no key.
        let about_one = puzzle.posed() == Posed::YesNo && line.is_empty();
        if about_one {
            answers.push(known.answer(start, goal));
        }
        let tries = puzzle.with_role(NodeId::ROOT, Role::Try).map(|tried| {
            let mut line = vec![moves::uci(puzzle.node(tried).mv)];
            let refutation = puzzle.with_role(tried, Role::Refutation).next();
            line.extend(refutation.map(|r| moves::uci(puzzle.node(r).mv)));
            line
        });
        (about_one || !line.is_empty()).then(|| Inquiry {
            fen: fen::write(start),
            goal,
            line: line.iter().map(|&mv| moves::uci(mv)).collect(),
            answers,
            tries: tries.collect(),
            speech: Speech::of(|name| puzzle.tag(name)),
        })
    }
}

impl Analyst {
    /// Explains a puzzle. What does not read is left unsaid.
    pub fn explain(&mut self, inquiry: &Inquiry, watch: &mut dyn Watch) -> Explanation {
        let Ok(start) = fen::read(&inquiry.fen) else {
            return Explanation::default();
        };
        let goal = inquiry.goal;
        let mut known = Known::default();
        for answer in &inquiry.answers {
            known.learn(answer);
        }
        let line = moves::read_ucis(&start, &inquiry.line);
        let mut judged = known.rulings(&start, goal).to_vec();
        for (mv, ruling) in &mut judged {
            let own = inquiry
                .tries
                .iter()
                .map(|tried| moves::read_ucis(&start, tried));
            let own = own.into_iter().find(|tried| tried.first() == Some(mv));
            if let (Ruling::Fails { line, .. }, Some(own)) = (ruling, own)
                && own.len() > 1
                && line.get(..own.len()) != Some(&own)
            {
                *line = own;
            }
        }
        let failures = self.failures(&start, goal, &judged, watch);
        let tries = self.tries(&start, goal, &judged, None, watch);
        let difficulty = self.difficulty(&start, goal, &line, &judged, &tries, watch);
        let around = self.around(&start, &line, watch);
        let reasons = self.reasons(&start, goal, &line, &known, &around, watch);
        let mut whys: Vec<Why> = reasons.iter().map(why).collect();
        let (mut told, mut won) = (Told::default(), None);
        if let Some(&key) = line.first() {
            let wins = match goal.forced() {
                Some(_) => None,
                None => self.won(&start, key, watch),
            };
            if let Some(wins) = wins {
                whys.extend(gain(&start, &wins));
                won = wins.proof.map(|proof| Won {
                    sentence: wins.sentence,
                    proof,
                });
            }
            let after = played(&start, key);
            told = Told::of(&after, &around.after);
            if !is_taken_back(&after, key) {
                whys.extend(threat(&around.after));
            }
        }
        let mut explanation = Explanation {
            gist: Vec::new(),
            failures: failures.iter().map(failed).collect(),
            tries: tries
                .tries
                .iter()
                .map(|tried| Tempts {
                    san: moves::shown(&start, tried.mv),
                    allures: tried.allures.clone(),
                    looks_good: tried.looks_good,
                    shows_at: tried.shows_at,
                    line: failed(&tried.failure).line,
                    sentence: tried.failure.sentence.clone(),
                    proof: tried.failure.proof.clone(),
                })
                .collect(),
            line: line.iter().map(|&mv| moves::uci(mv)).collect(),
            whys,
            standing: around.before.sentence(),
            before: Told::of(&start, &around.before),
            after: told,
            won,
            difficulty,
        };
        let side = moves::side_name(!start.turn());
        let wins = explanation.won.as_ref().map(|won| &won.sentence[..]);
        explanation.gist = gist::of(&explanation, &reasons, goal.forced().is_some(), wins, side);
        explanation
    }
}

fn why(reason: &Reason) -> Why {
    let arrows = reason.arrows.iter();
    Why {
        at: u8::try_from(reason.at).unwrap_or(u8::MAX),
        threat: false,
        title: reason.kind.title().to_owned(),
        sentence: reason.sentence.clone(),
        squares: reason.squares.iter().map(Square::to_string).collect(),
        arrows: arrows
            .map(|(from, to)| [from.to_string(), to.to_string()])
            .collect(),
    }
}

/// What the key is proved to win.
fn gain(start: &Chess, won: &Threat) -> Option<Why> {
    let proof = won.proof.as_ref()?;
    Some(Why {
        at: 0,
        threat: false,
        title: match won.kind {
            ThreatKind::Mate(_) => tr("mate"),
            _ => tr("gain"),
        }
        .to_owned(),
        sentence: format!("{} {}", won.sentence, proof.sentence()),
        squares: Vec::new(),
        arrows: ends(won.line.iter().step_by(2), start.turn()),
    })
}

/// Whether the key takes a man, and may be taken back with profit: what it threatens
/// besides is nothing that one would begin with.
fn is_taken_back(after: &Chess, key: Move) -> bool {
    let landing = landing(key, !after.turn());
    key.is_capture() && best_capture(after.board(), landing, after.turn()) > 0
}

/// What the key threatens, where it is not a check.
fn threat(threats: &Threats) -> Option<Why> {
    let Threats::Shown {
        from, threats: all, ..
    } = threats
    else {
        return None;
    };
    let first = all.iter().filter_map(|threat| threat.line.first());
    let arrows = ends(first, from.turn());
    (!arrows.is_empty()).then(|| Why {
        at: 0,
        threat: true,
        title: tr("threat").to_owned(),
        sentence: threats.sentence(),
        squares: Vec::new(),
        arrows,
    })
}

/// Plies of a best move's line that are looked at for its reasons.
const SHOWN: usize = 3;

fn failed(failure: &Failure) -> Failed {
    Failed {
        line: failure.line.iter().map(|&mv| moves::uci(mv)).collect(),
        code: failure.kind.encode(),
        sentence: failure.sentence.clone(),
        proof: failure.proof.clone(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use check::{Against, Judge, Opinion, check};
    use model::pgn_read;
    use model::resolved::Resolved;
    use prove::Unwatched;

    fn explained(text: &str) -> (Puzzle, Explanation) {
        let draft = pgn_read::read(text).remove(0).draft;
        let puzzle = Resolved::of(&draft).into_puzzle().expect("a puzzle");
        let mut known = Known::default();
        assert_eq!(Inquiry::of(&puzzle, &known), None);
        check(&draft, &mut known, &mut Judge::new(1 << 20), &mut Unwatched);
        let inquiry = Inquiry::of(&puzzle, &known).expect("all first moves are judged");
        let explanation = Analyst::new(1 << 20).explain(&inquiry, &mut Unwatched);
        (puzzle, explanation)
    }

    /// The knight forks king and queen; the other check is a try.
    const FORK: &str = "[FEN \"6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1\"]\n[Stipulation \"+\"]\n\n1. Nf6+ (1. Nb6 $2 Qd1#) *";

    #[test]
    fn every_wrong_first_move_gets_a_line_and_a_reason() {
        let (puzzle, explanation) = explained(FORK);
        let legal = puzzle.start().legal_moves().len();
        assert_eq!(explanation.failures.len(), legal - 1);
        for failed in &explanation.failures {
            let line = moves::read_ucis(puzzle.start(), &failed.line);
            assert_eq!(line.len(), failed.line.len());
            assert!(super::super::FailureKind::decode(&failed.code).is_some());
            assert!(!failed.sentence.is_empty());
        }
        let own = explanation.failures.iter().find(|f| f.line[0] == "d5b6");
        assert_eq!(own.expect("the try").line[1], "d7d1");
    }

    /// Where the answer is no, there is no key, and why the move fails is told all the
    /// same.
    #[test]
    fn a_no_is_explained() {
        let no = FORK
            .replace("+\"]\n\n", "+\"]\n[Question \"yes or no\"]\n\n")
            .replace("1. Nf6+ (1. Nb6 $2 Qd1#)", "1. Nb6 $2 Qd1#");
        let (_, explanation) = explained(&no);
        assert!(explanation.whys.is_empty() && explanation.line.is_empty());
        let own = explanation.failures.iter().find(|f| f.line[0] == "d5b6");
        assert_eq!(own.expect("the move asked about").line[1], "d7d1");
    }

    #[test]
    fn the_key_is_explained_though_the_author_stops_there() {
        let (puzzle, explanation) = explained(FORK);
        let fork = explanation.whys.iter().find(|w| w.title == "fork");
        let fork = fork.unwrap_or_else(|| panic!("{:?}", explanation.whys));
        assert_eq!((fork.at, fork.threat), (0, false));
        assert!(fork.arrows.contains(&["f6".to_owned(), "d7".to_owned()]));
        assert_eq!(
            explanation.difficulty.legal as usize,
            puzzle.start().legal_moves().len()
        );
    }

    #[test]
    fn a_win_says_what_is_proved_to_be_won() {
        let (_, explanation) = explained(FORK);
        let gain = explanation.whys.iter().find(|w| w.title == "gain");
        let gain = gain.unwrap_or_else(|| panic!("{:?}", explanation.whys));
        assert_eq!(
            gain.sentence,
            "1.Nf6+ wins the queen (1.Nf6+ Kg7 2.Nxd7). Proved: material worth 9 pawns, within 2 moves against every reply and after all exchanges; by one program."
        );
    }

    /// Each is about the position in which the other side, or after a pass the same, is to
    /// move, and says so until the checker was asked.
    #[test]
    fn what_is_proved_of_tries_and_threats_is_a_claim() {
        let (_, mut told) = explained(FORK);
        let own = told.failures.iter().find(|f| f.line[0] == "d5b6");
        let proof = own
            .and_then(|failed| failed.proof.as_ref())
            .expect("a mate");
        assert!(
            proof
                .claim
                .fen
                .starts_with("6k1/3q1p1p/1N6/8/8/8/5PPP/6K1 b")
        );
        assert_eq!(proof.claim.holds, [("d7d1".to_owned(), 1)]);
        assert_eq!(proof.words(), "proved: mate in 1; by one program");
        let threat = &told.before.threats[0];
        let proof = threat.proof.as_ref().expect("a gain");
        assert_eq!(
            proof.words(),
            "proved: material worth 3 pawns at once; by one program"
        );
        assert!(proof.claim.fen.contains(" b "), "{}", proof.claim.fen);
        // What the checker says is told, and what it refuses is not called proved.
        for proof in told.proofs() {
            assert!(proof.claim.read().is_some(), "{:?}", proof.claim);
            proof.opinion = Some(Opinion::Accepted { positions: 1_234 });
        }
        told.settle();
        let gain = told
            .whys
            .iter()
            .find(|w| w.title == "gain")
            .expect("a gain");
        let checked = "; 1,234 positions, checked a second time.";
        assert!(gain.sentence.ends_with(checked), "{}", gain.sentence);
        let against = Against::Itself {
            fen: String::new(),
            mv: String::new(),
        };
        for proof in told.proofs() {
            proof.opinion = Some(Opinion::Against(against.clone()));
        }
        told.settle();
        let gain = told
            .whys
            .iter()
            .find(|w| w.title == "gain")
            .expect("a gain");
        assert!(!gain.sentence.contains("roved"), "{}", gain.sentence);
        assert!(
            !told.before.threats[0]
                .proof
                .as_ref()
                .unwrap()
                .words()
                .contains("proved")
        );
    }

    #[test]
    fn a_quiet_key_comes_with_its_threat() {
        let (_, explanation) = explained(
            "[FEN \"7k/p7/P4K2/8/8/8/8/1R6 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Kg6 (1. Kf7 $1 Kh7 2. Rh1#) 1... Kg8 2. Rb8# *",
        );
        let threat = explanation.whys.iter().find(|w| w.threat);
        let threat = threat.unwrap_or_else(|| panic!("{:?}", explanation.whys));
        assert_eq!(threat.arrows, [["b1".to_owned(), "b8".to_owned()]]);
    }

    #[test]
    fn replies_say_which_threats_they_parry() {
        let parries = |stands: &[bool]| {
            let replies = Replies {
                stands: stands.to_vec(),
                loses: false,
                moves: Vec::new(),
            };
            replies.parries()
        };
        assert_eq!(parries(&[false]), "parries it");
        assert_eq!(parries(&[true]), "does not parry it");
        assert_eq!(parries(&[false, false]), "parries both");
        assert_eq!(parries(&[true, true]), "parries neither");
        assert_eq!(parries(&[true, false]), "parries 2");
        assert_eq!(parries(&[false, true, false]), "parries 1, 3");
        assert_eq!(parries(&[false; 3]), "parries all");
        assert_eq!(parries(&[true; 3]), "parries none");
    }

    /// The queen mates, and a pawn takes the other queen.
    #[test]
    fn threats_come_one_by_one_with_kind_worth_and_marks() {
        let position = fen::read("5rk1/pp3ppp/2n5/2q5/1P6/3Q4/P1B2PPP/6K1 b - - 0 1").unwrap();
        let threats = Analyst::new(1 << 20).threats(&position, &mut Unwatched);
        let told = Told::of(&position, &threats);
        let all: Vec<(&str, String, usize)> = told
            .threats
            .iter()
            .map(|t| (&t.kind[..], t.worth(), t.marks().len()))
            .collect();
        assert_eq!(
            all,
            [
                ("mate", String::new(), 1),
                ("wins", "worth 9 pawns".to_owned(), 1)
            ]
        );
        assert_eq!(told.threats[1].arrows, [["b4".to_owned(), "c5".to_owned()]]);
        assert_eq!(told.replies[0].parries(), "parries both");
    }
}
