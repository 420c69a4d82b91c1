//! From answers to a moment: what it asks, what kinds of moment it is, and what
//! that makes it worth.

use model::aim::Aim;
use shakmaty::{Chess, Move, Position};

use super::ask::{Look, MOST_ACCEPTED, MOST_PRAISED, points};
use super::course::Course;
use super::goal::{ENOUGH, GENEROUS, LOSING, MATES};
use super::offer::{SACRIFICE, daring, offered};
use super::progress::{Asked, PLAIN, Progress, pointless};
use super::promise::Promise;
use super::study::{Study, Tempting, right};
use super::{Accepted, Kind, Moment, Played};
use check::exchange::exchange_gain;
use check::{Evidence, Goal, Known, Ruling};
use explain::Allure;
use model::notation::fen;
use model::notation::moves::{self, Named};
use model::puzzle::Stipulation;
use search::Value;

/// What is said of a moment whose key takes back or wins material at first sight.
pub(super) const PLAIN_TO_SEE: &str = "plain to see";
/// What the game's move must cost the other side for a chance.
const CHANCE: i32 = 150;
/// Plies before a moment that make a row, all of them forced or forcing.
const ROW: usize = 4;
/// Points of temptation of a natural move: it looks good at two depths and
/// follows a rule, say.
const TEMPTING: u32 = 5;

/// The moments known so far, in the order of the plies asked about. What those around
/// it make of one is left to [`super::moments`].
pub fn all(course: &Course, progress: &Progress) -> Vec<Moment> {
    let Some(values) = progress.values(course) else {
        return Vec::new();
    };
    let asked = progress.to_ask_about(course, &values);
    let moment = |asked: &Asked| moment(course, progress, &values, asked);
    asked.iter().filter_map(moment).collect()
}

/// The moment that is asked about, as far as it is known; `None` if it is none.
fn moment(course: &Course, progress: &Progress, values: &[i32], asked: &Asked) -> Option<Moment> {
    let Asked { ply, goal, .. } = *asked;
    let look = progress.look(ply)?;
    let (claim, study) = progress.claim(ply)?;
    let study = study.as_ref()?;
    let at = course.plies.get(ply)?;
    let position = &at.before;
    let mut known = Known::default();
    known.learn(claim);
    let rulings = known.rulings(position, goal);
    let right = right(rulings, at.played);
    let played_right = right.iter().any(|(mv, _)| *mv == at.played);
    let praised = played_right && at.daring;
    let most = if praised { MOST_PRAISED } else { MOST_ACCEPTED };
    if pointless(goal, claim, at.played) || !(1..=most).contains(&right.len()) {
        return None;
    }
    let scene = Scene {
        course,
        ply,
        position,
        look,
        study,
        promise: asked.promise,
        key: right[0].0,
    };
    if scene.needs_no_asking(goal, played_right) {
        return None;
    }
    let open = rulings.iter().filter(|(_, ruling)| ruling.is_open());
    let mut moment = Moment {
        ply,
        node: at.at,
        fen: fen::write(position),
        turn: position.turn().into(),
        number: position.fullmoves().get(),
        kinds: Vec::new(),
        stipulation: stipulation(goal).to_string(),
        margins: margins(goal),
        value: look.lines[0].value,
        accepted: right
            .iter()
            .map(|(mv, ruling)| Accepted {
                named: Named::new(position, *mv),
                line: ruling.line().iter().map(|&m| moves::uci(m)).collect(),
            })
            .collect(),
        played: Played {
            named: Named::new(position, at.played),
            right: played_right,
            value: scene.seen(&moves::uci(at.played)),
            cost: match played_right {
                true => 0,
                false => Progress::cost(values, ply),
            },
        },
        study: study.clone(),
        evidence: weakest(&right)?,
        open: open.map(|(mv, _)| Named::new(position, *mv)).collect(),
        worth: 0,
        because: Vec::new(),
    };
    let before = ply.checked_sub(1);
    let chance = before.is_some_and(|before| Progress::cost(values, before) >= CHANCE);
    scene.weigh(&mut moment, goal, chance);
    Some(moment)
}

/// The stipulation that asks a goal.
fn stipulation(goal: Goal) -> Stipulation {
    match (goal.forced(), goal) {
        (Some((aim, n)), _) => Stipulation::Forced(aim, n),
        (None, Goal::Win(_)) => Stipulation::Win,
        (None, Goal::Draw(_)) => Stipulation::Draw,
        (None, _) => Stipulation::Best,
    }
}

/// The margins of a goal in pawns, where they are not the usual ones.
fn margins(goal: Goal) -> Option<String> {
    let (Goal::Win(set) | Goal::Draw(set) | Goal::Best(set)) = goal else {
        return None;
    };
    let pawns = |hundredths: i32| f64::from(hundredths) / 100.0;
    (set != stipulation(goal).margins())
        .then(|| format!("{:.2} {:.2}", pawns(set.right), pawns(set.wrong)))
}

/// How the least sure of the accepted moves is known.
fn weakest(right: &[&(Move, Ruling)]) -> Option<Evidence> {
    let sure = |evidence: &Evidence| match evidence {
        Evidence::Proved | Evidence::Drawn => (2, 0),
        Evidence::Table => (1, 0),
        Evidence::Searched { depth, .. } => (0, *depth),
    };
    right
        .iter()
        .filter_map(|(_, r)| r.evidence())
        .min_by_key(sure)
}

/// A position of the game with what was seen there, and its key.
struct Scene<'a> {
    course: &'a Course,
    ply: usize,
    position: &'a Chess,
    look: &'a Look,
    study: &'a Study,
    promise: Promise,
    key: Move,
}

impl Scene<'_> {
    fn before(&self) -> Option<Move> {
        let ply = self.ply.checked_sub(1)?;
        Some(self.course.plies[ply].played)
    }

    fn takes_back(&self, mv: Move) -> bool {
        mv.is_capture()
            && self
                .before()
                .is_some_and(|b| b.is_capture() && b.to() == mv.to())
    }

    fn gain(&self, mv: Move) -> i32 {
        exchange_gain(self.position.board(), mv)
    }

    fn gives_check(&self, mv: Move) -> bool {
        let mut after = self.position.clone();
        after.play_unchecked(mv);
        after.is_check()
    }

    fn quiet(&self, mv: Move) -> bool {
        !mv.is_capture() && !mv.is_promotion() && !self.position.is_check() && !self.gives_check(mv)
    }

    /// The value of a move by the second pass, if it was seen there.
    fn seen(&self, uci: &str) -> Option<Value> {
        let mut seen = self.look.lines.iter().chain(&self.look.played);
        seen.find(|line| line.moves[0] == uci)
            .map(|line| line.value)
    }

    /// The best value of a move other than the accepted ones that does not
    /// mate.
    fn without_it(&self, goal: Goal) -> i32 {
        let values = self.look.lines.iter().map(|line| points(line.value));
        let others = values.skip(1).filter(|v| match goal {
            Goal::Forced(Aim::Mate, _) => *v < MATES,
            _ => true,
        });
        others.max().unwrap_or(-1000).clamp(-1000, 1000)
    }

    /// A mate that everybody plays, or that a won game can do without.
    fn needs_no_asking(&self, goal: Goal, played_right: bool) -> bool {
        let hidden =
            offered(self.position, self.key) >= SACRIFICE || self.quiet(self.key) || !played_right;
        match goal {
            Goal::Forced(Aim::Mate, 1) => played_right,
            Goal::Forced(Aim::Mate, _) => !hidden && self.without_it(goal) >= 5 * ENOUGH / 2,
            _ => false,
        }
    }

    /// The depth from which on the key looks best, one more than the deepest
    /// look if it never does.
    fn seen_from(&self) -> usize {
        let key = moves::uci(self.key);
        let seen = self.look.sight.iter().rev().take_while(|mv| **mv == key);
        self.look.sight.len() - seen.count() + 1
    }

    /// Plies before this one that were all forced or forcing.
    fn row(&self) -> bool {
        let Some(first) = self.ply.checked_sub(ROW) else {
            return false;
        };
        (first..self.ply).all(|ply| {
            let ply_at = &self.course.plies[ply];
            ply_at.played.is_capture()
                || ply_at.before.is_check()
                || self.course.position(ply + 1).is_check()
                || ply_at.before.legal_moves().len() == 1
        })
    }

    /// The kinds of moment that it is, in the order in which they are told. `chance`: the
    /// other side has just erred. `right`: the game's move is right.
    fn kinds(&self, goal: Goal, chance: bool, right: bool) -> Vec<Kind> {
        let best = points(self.look.lines[0].value).clamp(-1000, 1000);
        let loses = |t: &Tempting| {
            let deep = self.seen(&t.named.uci).map(points);
            natural(t) && deep.or(t.value).is_some_and(|v| v <= LOSING)
        };
        let captures = self.position.capture_moves();
        let tempting = captures.iter().filter(|mv| self.gain(**mv) >= 0).count();
        let dares = daring(self.position, self.key);
        let quiet = self.quiet(self.key);
        let asked = match goal {
            Goal::Win(_) => Kind::Win,
            Goal::Draw(_) => Kind::OnlyMoveHolds,
            Goal::Best(_) => Kind::BestMove,
            _ => Kind::Mate,
        };
        let natural = best > LOSING && self.study.tries.iter().any(loses);
        let kinds = [
            (Kind::NaturalMoveLoses, natural),
            (Kind::MissedByBoth, chance && !right),
            (Kind::Punishment, chance && right),
            (Kind::Brilliant, dares && right),
            (asked, true),
            (Kind::QuietAmongCaptures, quiet && tempting >= 2),
            (Kind::SurpriseAfterRow, (quiet || dares) && self.row()),
        ];
        let kinds = kinds.into_iter().filter(|(_, holds)| *holds);
        kinds.map(|(kind, _)| kind).collect()
    }

    fn weigh(&self, moment: &mut Moment, goal: Goal, chance: bool) {
        let mut kinds = self.kinds(goal, chance, moment.played.right);
        let dares = daring(self.position, self.key);
        let mut because: Vec<(String, i32)> = kinds
            .iter()
            .map(|kind| (kind.title().to_owned(), kind.worth()))
            .collect();
        let mut add = |reason: &str, points: i32| {
            if points != 0 {
                because.push((reason.to_owned(), points));
            }
        };
        let [stake, lost, chance, praise] = self.promise.parts();
        add("what is at stake", stake);
        add("what the game's move gave away", lost);
        add("what the other side gave away", chance);
        add("a daring move", praise);
        add(
            "missed in the game",
            if moment.played.right { 0 } else { 10 },
        );
        let right = moment.accepted.len() as i32;
        let praised = dares && moment.played.right;
        let least = if praised { 0 } else { -6 };
        add("moves that are right", (2 * (2 - right)).max(least));
        let missed = dares && !moment.played.right;
        let given = offered(self.position, self.key);
        let offer = if missed { given / 50 } else { 0 };
        add("a sacrifice", offer.clamp(0, 20));
        add("how deep it lies", (self.seen_from() as i32 - 1).min(5));
        add("natural moves that fail", self.study.tries.len() as i32);
        let certain = !matches!(moment.evidence, Evidence::Searched { .. });
        add("certain", if certain { 5 } else { 0 });
        let plain =
            (self.takes_back(self.key) || self.gain(self.key) >= 100) && self.seen_from() == 1;
        add(PLAIN_TO_SEE, if plain { -PLAIN } else { 0 });
        let unclear = goal == Goal::Best(GENEROUS);
        add("plainer moves do as well", if unclear { -5 } else { 0 });
        let few = self.position.legal_moves().len() <= 3;
        add("hardly any choice", if few { -10 } else { 0 });
        let open = moment.open.len() as i32;
        add("moves undecided", (-open).max(-5));
        kinds.sort_by_key(|kind| -kind.worth());
        moment.kinds = kinds;
        moment.worth = because.iter().map(|(_, points)| points).sum();
        moment.because = because;
    }
}

/// A move that one looks at first: the game's, or one that looks good early on
/// or takes, checks or saves something.
fn natural(attempt: &Tempting) -> bool {
    let forcing = |allure: &Allure| *allure != Allure::Develops && *allure != Allure::Supports;
    attempt.played || attempt.temptation >= TEMPTING && attempt.allures.iter().any(forcing)
}
