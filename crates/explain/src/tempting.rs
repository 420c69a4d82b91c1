//! Tempting tries: wrong moves that look good, to a shallow search or to a
//! natural rule, with the depth at which each shows its fault.
//!
//! Every legal move is valued at each depth from 1 on by a search that knows
//! nothing of greater depths. A move looks good at a depth if its value is
//! within [`CLOSE`] of the best there; it shows its fault at the depth from
//! which on it lies at least [`FAULT`] under the best (the swing by depth of
//! Biswas and Regan 2015).

use shakmaty::{Chess, Color, Move, Position, Role};

use super::analyst::{Analyst, hundredths, played};
use super::failing::{Failure, comes_back};
use super::scene::landing;
use check::exchange::{best_capture, exchange_gain, worth};
use check::{Goal, Ruling};
use model::tongue::tr;
use prove::{Aim, Watch};
use search::{Limits, Search, Value};

/// A natural rule that a move follows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "snake_case")
)]
pub enum Allure {
    /// Takes back on the square of the last capture.
    Recapture,
    /// Takes something.
    Capture,
    /// Gives check.
    Check,
    /// Promotes.
    Promotion,
    /// Takes a man that could be taken with gain out of danger.
    Saves,
    /// Guards a man that could be taken with gain.
    Supports,
    /// A first move of a knight or bishop from its home rank, or castling.
    Develops,
}

impl Allure {
    /// The rule in words: "takes back".
    pub fn title(self) -> &'static str {
        match self {
            Allure::Recapture => tr("takes back"),
            Allure::Capture => tr("takes"),
            Allure::Check => tr("gives check"),
            Allure::Promotion => tr("promotes"),
            Allure::Saves => tr("saves an attacked man"),
            Allure::Supports => tr("guards an attacked man"),
            Allure::Develops => tr("develops"),
        }
    }
}

/// A wrong move that tempts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tempting {
    /// The move.
    pub mv: Move,
    /// The natural rules it follows.
    pub allures: Vec<Allure>,
    /// Depths, in plies, at which it looks good.
    pub looks_good: u8,
    /// The depth, in plies, from which on it lies clearly under the best;
    /// `None` if it never did within the budget.
    pub shows_at: Option<u8>,
    /// How tempting, in points; the tries come in falling order of it.
    pub temptation: u32,
    /// Why it fails.
    pub failure: Failure,
}

/// The tempting tries of a position, and what they were seen by.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Tries {
    /// The most tempting first.
    pub tries: Vec<Tempting>,
    /// How it looks at each depth.
    pub depths: Depths,
}

/// The values of moves at every depth.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Depths {
    /// The moves, the most tempting first.
    pub moves: Vec<Move>,
    /// `values[d - 1][i]`: of `moves[i]` at depth `d` plies, in hundredths of
    /// a pawn for the side to move, clamped to `MOST`. Complete depths only.
    pub values: Vec<Vec<i32>>,
}

/// Values beyond this are all the same to the eye.
pub const MOST: i32 = 1_000;

/// Within this of the best a move looks good, in hundredths of a pawn.
pub const CLOSE: i32 = 50;

/// So far under the best a move shows its fault.
pub const FAULT: i32 = 100;

/// The deepest look, in plies, and what it may cost in all moves together, in
/// budgets for one move.
const DEEPEST: u8 = 10;
const BUDGETS: u64 = 6;

/// The most tries that are handed out.
const MOST_TRIES: usize = 8;

/// The least temptation of a try that follows a natural rule, and of one that
/// follows none: it must look good at three depths.
const LEAST: u32 = 2;
const UNRULED: u32 = 6;

impl Depths {
    /// How many depths are complete.
    pub fn depth(&self) -> u8 {
        u8::try_from(self.values.len()).unwrap_or(u8::MAX)
    }

    fn best(&self, depth: usize) -> i32 {
        self.values[depth].iter().copied().max().unwrap_or(0)
    }

    /// At how many depths a move looks good before it shows its fault, and
    /// the depth at which it does.
    pub fn of(&self, mv: Move) -> (u8, Option<u8>) {
        let Some(i) = self.moves.iter().position(|&m| m == mv) else {
            return (0, None);
        };
        let under = |d: usize| self.best(d) - self.values[d][i];
        let clear = (0..self.values.len())
            .rev()
            .take_while(|&d| under(d) >= FAULT)
            .last();
        let close = (0..self.values.len())
            .filter(|&d| under(d) <= CLOSE)
            .count();
        let depth = |d: usize| u8::try_from(d + 1).unwrap_or(u8::MAX);
        (u8::try_from(close).unwrap_or(u8::MAX), clear.map(depth))
    }
}

impl Analyst {
    /// The value of every legal move at each depth, as deep as the budget
    /// allows. Where mate is asked, only a mate in time has the greatest value;
    /// where values mean nothing, as in a selfmate, there are none.
    pub fn depths(&mut self, position: &Chess, goal: Goal, watch: &mut dyn Watch) -> Depths {
        let mut search = Search::with_tables(self.table_bytes / 4, self.search.tables.clone());
        let mut depths = Depths {
            moves: position.legal_moves().into_iter().collect(),
            values: Vec::new(),
        };
        let in_time = match goal.forced() {
            None | Some((Aim::Gain(_), _)) => None,
            Some((Aim::Mate, n)) => Some(u16::from(n)),
            Some(_) => return depths,
        };
        let most = self.budget * BUDGETS;
        let all = depths.moves.len();
        for depth in 1..=DEEPEST {
            let left = most.saturating_sub(search.nodes);
            let limits = Limits {
                nodes: left,
                depth,
                lines: all,
                moves: None,
            };
            let lines = search.lines(position, &[], &limits, watch);
            // A position that a table knows has depth 0: what is seen at a
            // glance is all there is.
            let complete =
                lines.len() == all && lines.iter().all(|l| l.depth >= depth || l.depth == 0);
            if !complete || left == 0 {
                break;
            }
            let value = |mv: &Move| {
                let line = lines.iter().find(|l| l.moves[0] == *mv);
                line.map_or(-MOST, |l| seen(l.value, in_time))
            };
            depths.values.push(depths.moves.iter().map(value).collect());
        }
        self.search.nodes += search.nodes;
        depths
    }

    /// The wrong moves that tempt, the most tempting first. `judged` tells
    /// which moves fail; `last` is the move that led to the position, if any. A move after
    /// which the position comes back is no try: nothing is lost by it.
    pub fn tries(
        &mut self,
        position: &Chess,
        goal: Goal,
        judged: &[(Move, Ruling)],
        last: Option<Move>,
        watch: &mut dyn Watch,
    ) -> Tries {
        let depths = self.depths(position, goal, watch);
        let mut found: Vec<(u32, &(Move, Ruling))> = judged
            .iter()
            .filter(|(_, ruling)| ruling.fails())
            .map(|entry| (temptation(position, entry.0, last, &depths), entry))
            .filter(|(temptation, (mv, _))| {
                let ruled = !allures(position, *mv, last).is_empty();
                *temptation >= if ruled { LEAST } else { UNRULED }
            })
            .collect();
        found.sort_by_key(|(temptation, _)| std::cmp::Reverse(*temptation));
        found.truncate(MOST_TRIES);
        let tries = found
            .into_iter()
            .filter_map(|(temptation, (mv, ruling))| {
                let (looks_good, shows_at) = depths.of(*mv);
                let alone = [*mv];
                let line = if ruling.line().is_empty() {
                    &alone
                } else {
                    ruling.line()
                };
                let failure = self.failure(position, goal, line, watch);
                let loses = goal.forced().is_some() || !comes_back(position, &failure.line);
                loses.then(|| Tempting {
                    mv: *mv,
                    allures: allures(position, *mv, last),
                    looks_good,
                    shows_at,
                    temptation,
                    failure,
                })
            })
            .collect();
        Tries { tries, depths }
    }
}

/// A value as the eye takes it; `in_time` are the moves in which mate is asked.
fn seen(value: Value, in_time: Option<u16>) -> i32 {
    let most = match (value, in_time) {
        (Value::MateIn(n), Some(most)) if n <= most => MOST,
        (_, Some(_)) => MOST - FAULT,
        (_, None) => MOST,
    };
    hundredths(value).clamp(-MOST, most)
}

/// Two points for each depth at which the move looks good, one for each
/// natural rule, and one more for a capture that wins by counting alone. What
/// looks good at no depth and is lost by counting tempts nobody.
fn temptation(position: &Chess, mv: Move, last: Option<Move>, depths: &Depths) -> u32 {
    let (looks_good, _) = depths.of(mv);
    let rules = allures(position, mv, last).len() as u32;
    let counted = exchange_gain(position.board(), mv);
    if looks_good == 0 && counted < 0 {
        return 0;
    }
    let wins = mv.is_capture() && counted > 0;
    2 * u32::from(looks_good) + rules + u32::from(wins)
}

/// The natural rules that a legal move follows.
pub fn allures(position: &Chess, mv: Move, last: Option<Move>) -> Vec<Allure> {
    let after = played(position, mv);
    let mut found = Vec::new();
    if mv.is_capture() {
        let back = last.is_some_and(|l| l.is_capture() && l.to() == mv.to());
        found.push(if back {
            Allure::Recapture
        } else {
            Allure::Capture
        });
    }
    if after.is_check() {
        found.push(Allure::Check);
    }
    if mv.is_promotion() {
        found.push(Allure::Promotion);
    }
    let us = position.turn();
    let (before, then) = (position.board(), after.board());
    let to = landing(mv, us);
    if let Some(from) = mv.from()
        && mv.role() != Role::King
        && best_capture(before, from, !us) > 0
        && best_capture(then, to, !us) == 0
    {
        found.push(Allure::Saves);
    }
    let supports = before.by_color(us).into_iter().any(|square| {
        Some(square) != mv.from()
            && before.role_at(square) != Some(Role::King)
            && best_capture(before, square, !us) > 0
            && then.color_at(square) == Some(us)
            && best_capture(then, square, !us) == 0
            && then.attacks_from(to).contains(square)
    });
    if supports {
        found.push(Allure::Supports);
    }
    if develops(mv, us) {
        found.push(Allure::Develops);
    }
    found
}

fn develops(mv: Move, us: Color) -> bool {
    let home = us.relative_rank(shakmaty::Rank::First);
    let minor = worth(mv.role()) == worth(Role::Knight);
    mv.is_castle() || minor && mv.from().is_some_and(|s| s.rank() == home) && mv.to().rank() != home
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::FailureKind;
    use check::{Judge, Known, Margins, Question};
    use model::notation::{fen, moves};
    use prove::Unwatched;

    fn shown(position: &str, mv: &str, last: Option<Move>) -> Vec<Allure> {
        let position = fen::read(position).unwrap();
        let mv = moves::read(&position, mv).unwrap();
        allures(&position, mv, last)
    }

    #[test]
    fn natural_rules_are_seen() {
        let open = "4k3/8/8/3p4/4P3/8/8/2B1K1N1 w - - 0 1";
        assert_eq!(shown(open, "exd5", None), [Allure::Capture, Allure::Saves]);
        assert_eq!(shown(open, "e5", None), [Allure::Saves]);
        assert_eq!(shown(open, "Nf3", None), [Allure::Develops]);
        assert_eq!(shown(open, "Kd2", None), []);
        let support = "4k3/8/8/3p4/4P3/8/8/4K1N1 w - - 0 1";
        assert!(!shown(support, "Nf3", None).contains(&Allure::Supports));
        assert_eq!(
            shown("4k3/8/8/3p4/4P3/8/8/2N1K3 w - - 0 1", "Nd3", None),
            [Allure::Develops]
        );
    }

    fn tempting(position: &str, goal: Goal, mv: &str) -> (Tempting, Tries) {
        let start = fen::read(position).unwrap();
        let mut known = Known::default();
        let question = Question::about(&start, goal, &start.legal_moves());
        known.learn(&Judge::new(4 << 20).answer(&question, &mut Unwatched));
        let judged = known.rulings(&start, goal);
        let seen = Analyst::new(4 << 20).tries(&start, goal, judged, None, &mut Unwatched);
        let mv = moves::read(&start, mv).unwrap();
        let found = seen.tries.iter().find(|t| t.mv == mv).cloned();
        (found.unwrap_or_else(|| panic!("{judged:?} {seen:?}")), seen)
    }

    /// The pawn on a7 is free to look at, but the queen leaves the rook alone
    /// against mate.
    #[test]
    fn a_poisoned_pawn_tempts_and_shows_at_once() {
        let goal = Goal::Draw(Margins {
            right: -50,
            wrong: -200,
        });
        let (pawn, seen) = tempting("3r2k1/p4ppp/4q3/8/Q7/8/5PPP/3R2K1 w - - 0 1", goal, "Qxa7");
        assert_eq!(pawn.allures, [Allure::Capture]);
        assert_eq!((pawn.looks_good, pawn.shows_at), (0, Some(1)));
        assert_eq!(pawn.failure.sentence, "1.Qxa7 runs into 1...Rxd1#.");
        let falling = seen.tries.windows(2);
        assert!(
            falling
                .into_iter()
                .all(|t| t[0].temptation >= t[1].temptation)
        );
    }

    /// The pawn on h2 costs the bishop: g3 shuts it in and the king comes.
    #[test]
    fn a_trap_shows_only_deeper() {
        let goal = Goal::Best(Margins {
            right: -20,
            wrong: -100,
        });
        let (pawn, seen) = tempting("6k1/pp3p2/3b4/8/8/8/PP3PPP/5K2 b - - 0 1", goal, "Bxh2");
        assert_eq!(pawn.allures, [Allure::Capture]);
        assert!(pawn.looks_good >= 2, "{pawn:?}");
        let shows_at = pawn.shows_at.unwrap_or_else(|| panic!("{seen:?}"));
        assert!((3..=7).contains(&shows_at), "{pawn:?}");
        assert_eq!(pawn.failure.kind, FailureKind::Loses(Role::Bishop));
        assert!(
            pawn.failure
                .sentence
                .starts_with("1...Bxh2 loses a bishop: 2.g3"),
            "{}",
            pawn.failure.sentence
        );
    }

    #[test]
    fn depths_tell_when_a_move_looks_good_and_when_it_shows() {
        let start = fen::read("4k3/8/8/8/8/8/8/4K2R w K - 0 1").unwrap();
        let moves: Vec<Move> = start.legal_moves().into_iter().take(2).collect();
        let depths = Depths {
            moves: moves.clone(),
            values: vec![vec![0, 90], vec![0, 10], vec![0, -200], vec![0, -150]],
        };
        assert_eq!(depths.of(moves[1]), (2, Some(3)));
        assert_eq!(depths.of(moves[0]), (3, None));
    }
}
