//! Threats told, held against brute force with another library: `tests/threats` has the
//! positions and, as a file, what `tests/outside/threats.py` found there.
//!
//! Half of the positions, chosen by a checksum, is held back (see
//! `tests/threats/README.md`), and some were added once the rules stood: of those
//! nothing is printed but totals.

use std::collections::HashMap;
use std::time::Instant;

use keyproof::explain::{Analyst, Reply, Threat, ThreatKind, Threats};
use keyproof::notation::{fen, moves};
use keyproof::prove::Unwatched;
use keyproof_bench::TABLE;
use serde_json::Value;

use super::checksum;
use crate::Setting;
use crate::print::{heading, percentile, short};

const CHECKED: &str = "tests/threats/checked.jsonl";
/// Positions that were added once the rules stood.
const ADDED: &str = "tests/threats/added.jsonl";

/// A position and what brute force found in it.
struct Truth {
    fen: String,
    source: String,
    moves: Vec<(String, Force)>,
    threats: Vec<Wanted>,
    /// Each reply with what it leaves of `moves`, in their order.
    left: HashMap<String, Vec<u64>>,
}

#[derive(Clone, Copy, PartialEq)]
enum Force {
    Mate(u64),
    Gain { net: u64, length: u64, dear: bool },
}

/// An independent threat: any of the moves will do.
struct Wanted {
    moves: Vec<String>,
    mates: bool,
    quiet: bool,
}

/// What was told of one position.
struct Told<'a> {
    truth: &'a Truth,
    threats: Vec<Threat>,
    replies: Vec<Reply>,
    ms: f64,
}

pub fn run(setting: &Setting) -> Result<(), String> {
    heading("Threats told, and found by brute force");
    let (all, added) = (truths(CHECKED)?, truths(ADDED)?);
    let step = setting.of(1, 10);
    let tell = |all| -> Result<Vec<Told>, String> {
        let all: &[Truth] = all;
        all.iter().step_by(step).map(told).collect()
    };
    let (told, added) = (tell(&all)?, tell(&added)?);
    println!(
        "positions  number  threats  told    quiet   told    right   table   several  whole   milliseconds"
    );
    for (what, held_back) in [("built on", false), ("held back", true)] {
        let some: Vec<&Told> = told
            .iter()
            .filter(|t| t.truth.held_back() == held_back)
            .collect();
        line(what, &some);
    }
    line("added", &added.iter().collect::<Vec<_>>());
    for source in ["own", "random", "self-play", "published"] {
        let some: Vec<&Told> = told
            .iter()
            .filter(|t| t.truth.source.starts_with(source))
            .collect();
        line(source, &some);
    }
    for one in told.iter().filter(|t| !t.truth.held_back()) {
        faults(one);
    }
    Ok(())
}

impl Truth {
    fn read(line: &str) -> Option<Truth> {
        let all: Value = serde_json::from_str(line).ok()?;
        let text = |value: &Value| value.as_str().map(str::to_owned);
        let texts =
            |value: &Value| -> Option<Vec<String>> { value.as_array()?.iter().map(text).collect() };
        let moves = all["moves"].as_object()?.iter().map(|(uci, what)| {
            let force = match what["mate"].as_u64() {
                Some(n) => Force::Mate(n),
                None => Force::Gain {
                    net: what["net"].as_u64()?,
                    length: what["length"].as_u64()?,
                    dear: what["dear"].as_bool()?,
                },
            };
            Some((uci.clone(), force))
        });
        let threats = all["threats"].as_array()?.iter().map(|threat| {
            Some(Wanted {
                moves: texts(&threat["moves"])?,
                mates: threat["mate"].is_u64(),
                quiet: threat["quiet"].as_bool()?,
            })
        });
        let mut left = HashMap::new();
        for row in all["rows"].as_array()? {
            let values = row["left"].as_array()?.iter().map(Value::as_u64);
            let values: Option<Vec<u64>> = values.collect();
            for reply in row["replies"].as_array()? {
                left.insert(text(reply)?, values.clone()?);
            }
        }
        Some(Truth {
            fen: text(&all["fen"])?,
            source: text(&all["source"])?,
            moves: moves.collect::<Option<_>>()?,
            threats: threats.collect::<Option<_>>()?,
            left,
        })
    }

    fn held_back(&self) -> bool {
        checksum(&self.fen).is_multiple_of(2)
    }

    fn force(&self, uci: &str) -> Option<Force> {
        self.moves
            .iter()
            .find_map(|(known, force)| (known == uci).then_some(*force))
    }

    /// The most that a reply leaves of a move, or of one that does the same: mates as
    /// soon on its square, or takes at once on it. As a share: 1 if all of it.
    fn stands(&self, uci: &str, reply: &str) -> bool {
        let Some(force) = self.force(uci) else {
            return false;
        };
        let alike = |(other, does): &(String, Force)| {
            let at_once = matches!(does, Force::Mate(_) | Force::Gain { length: 1, .. });
            let dear = matches!(does, Force::Gain { dear: true, .. });
            let kind = match (force, *does) {
                (Force::Mate(n), Force::Mate(m)) => n == m,
                (Force::Gain { length, .. }, Force::Gain { .. }) => length == 1,
                _ => false,
            };
            other == uci || at_once && !dear && kind && other.get(2..4) == uci.get(2..4)
        };
        let Some(left) = self.left.get(reply) else {
            return false;
        };
        std::iter::zip(&self.moves, left).any(|(mv, &value)| {
            alike(mv)
                && match mv.1 {
                    Force::Mate(_) => value > 0,
                    Force::Gain { net, .. } => value > net / 3,
                }
        })
    }

    /// Whether some reply leaves the first standing and none of the others.
    fn alone(&self, uci: &str, others: &[String]) -> bool {
        self.left.keys().any(|reply| {
            self.stands(uci, reply) && !others.iter().any(|other| self.stands(other, reply))
        })
    }
}

impl Told<'_> {
    fn found(&self, wanted: &Wanted) -> bool {
        self.threats.iter().any(|threat| {
            mates(threat).is_some() == wanted.mates && wanted.moves.contains(&first(threat))
        })
    }

    /// Whether what is told is so, and a threat of its own; `None` if it is nobody's
    /// threat, since it costs too much.
    fn right(&self, threat: &Threat) -> Option<bool> {
        let uci = first(threat);
        let said = match (self.truth.force(&uci), mates(threat)) {
            (Some(Force::Gain { dear: true, .. }), _) => return None,
            (Some(Force::Mate(n)), Some(told)) => n == told,
            (Some(Force::Gain { net, .. }), None) => {
                let told = u64::from(threat.net);
                told == net || told < net && self.leaves(&uci, told)
            }
            _ => false,
        };
        let others: Vec<String> = self
            .threats
            .iter()
            .map(first)
            .filter(|o| *o != uci)
            .collect();
        Some(said && self.truth.alone(&uci, &others))
    }

    /// Whether some reply leaves just so much of a move.
    fn leaves(&self, uci: &str, net: u64) -> bool {
        let at = self.truth.moves.iter().position(|(known, _)| known == uci);
        at.is_some_and(|at| self.truth.left.values().any(|left| left[at] == net))
    }

    /// Of the table's cells of threats that are right, those that are so, and all, those
    /// that are left open among them.
    fn cells(&self) -> (usize, usize) {
        let (mut same, mut all) = (0, 0);
        for (i, threat) in self.threats.iter().enumerate() {
            if self.right(threat) != Some(true) {
                continue;
            }
            for reply in self.truth.left.keys() {
                let stands = self.truth.stands(&first(threat), reply);
                let told = self.replies.iter().find(|r| moves::uci(r.mv) == *reply);
                all += 1;
                same += usize::from(told.is_some_and(|told| told.stands[i] == stands));
            }
        }
        (same, all)
    }
}

fn first(threat: &Threat) -> String {
    moves::uci(threat.line[0])
}

fn mates(threat: &Threat) -> Option<u64> {
    match threat.kind {
        ThreatKind::Mate(n) => Some(u64::from(n)),
        _ => None,
    }
}

fn truths(file: &str) -> Result<Vec<Truth>, String> {
    let text = std::fs::read_to_string(file).map_err(|e| format!("{file}: {e}"))?;
    text.lines()
        .map(|line| Truth::read(line).ok_or_else(|| format!("{file}: {line}")))
        .collect()
}

fn told(truth: &Truth) -> Result<Told<'_>, String> {
    let position = fen::read(&truth.fen).map_err(|_| format!("no position: {}", truth.fen))?;
    let begin = Instant::now();
    let threats = Analyst::new(TABLE).threats(&position, &mut Unwatched);
    let ms = begin.elapsed().as_secs_f64() * 1e3;
    let (threats, replies) = match threats {
        Threats::Shown {
            threats, replies, ..
        } => (threats, replies),
        _ => (Vec::new(), Vec::new()),
    };
    Ok(Told {
        truth,
        threats,
        replies,
        ms,
    })
}

fn line(what: &str, some: &[&Told]) {
    let share = |part: usize, all: usize| match all {
        0 => "-".to_owned(),
        _ => format!("{:.1} %", 100.0 * part as f64 / all as f64),
    };
    let (mut wanted, mut found, mut quiet, mut quietly) = (0, 0, 0, 0);
    let (mut said, mut right, mut same, mut cells) = (0, 0, 0, 0);
    let (mut several, mut whole) = (0, 0);
    for one in some {
        let threats = &one.truth.threats;
        let told = threats.iter().filter(|w| one.found(w));
        wanted += threats.len();
        found += told.clone().count();
        quiet += threats.iter().filter(|w| w.quiet).count();
        quietly += told.clone().filter(|w| w.quiet).count();
        if threats.len() > 1 {
            several += 1;
            whole += usize::from(told.count() == threats.len());
        }
        let judged: Vec<bool> = one.threats.iter().filter_map(|t| one.right(t)).collect();
        said += judged.len();
        right += judged.iter().filter(|&&right| right).count();
        let (some, all) = one.cells();
        same += some;
        cells += all;
    }
    let times: Vec<f64> = some.iter().map(|one| one.ms).collect();
    println!(
        "{what:9}  {:6}  {wanted:7}  {:6}  {quiet:6}  {:6}  {:6}  {:6}  {several:7}  {:6}  {} / {} / {}",
        some.len(),
        share(found, wanted),
        share(quietly, quiet),
        share(right, said),
        share(same, cells),
        share(whole, several),
        short(percentile(&times, 50)),
        short(percentile(&times, 95)),
        short(percentile(&times, 100)),
    );
}

/// What is missed or wrong in a position that is built on.
fn faults(one: &Told) {
    let missed = one.truth.threats.iter().filter(|w| !one.found(w));
    let missed: Vec<&str> = missed.map(|w| &w.moves[0][..]).collect();
    let wrong = one.threats.iter().filter(|t| one.right(t) == Some(false));
    let wrong: Vec<&str> = wrong.map(|t| &t.sentence[..]).collect();
    let dear = one.threats.iter().filter(|t| one.right(t).is_none());
    let dear: Vec<&str> = dear.map(|t| &t.sentence[..]).collect();
    let (same, cells) = one.cells();
    if missed.is_empty() && wrong.is_empty() && dear.is_empty() && same == cells {
        return;
    }
    println!("  {} ({})", one.truth.fen, one.truth.source);
    for (what, list) in [("missed", missed), ("wrong", wrong), ("dear", dear)] {
        if !list.is_empty() {
            println!("      {what}: {}", list.join(" "));
        }
    }
    if same < cells {
        println!("      table: {} of {cells} cells differ", cells - same);
    }
}
