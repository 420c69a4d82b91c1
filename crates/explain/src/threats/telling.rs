//! A threat in words: what it does, and a line that shows it.

use shakmaty::{Chess, Move, Position, Role, Square};

use super::found::{Force, Found, brings};
use super::table::{Table, same};
use super::{LONGEST_GAIN, LONGEST_MATE, Threat, ThreatKind};
use crate::analyst::{Analyst, played};
use crate::scene::Scene;
use crate::toll::Toll;
use crate::{Proof, Won, trapped};
use check::Evidence;
use model::men;
use model::notation::moves;
use model::tongue::{Phrase, phrase, say};
use prove::gain::EVERYTHING;
use prove::{Verdict, Watch};

impl Analyst {
    /// One of the threats, with what it does when the others are parried.
    pub(super) fn told(
        &mut self,
        table: &Table,
        one: usize,
        others: &[usize],
        watch: &mut dyn Watch,
    ) -> Threat {
        let (from, found) = (table.from, &table.found[one]);
        if let Force::Mate(n) = found.force {
            let proof = Proof::mate(from, found.line[0], n);
            let line = found.line.clone();
            return threat(ThreatKind::Mate(n), from, line, EVERYTHING, Some(proof));
        }
        let alone = self.by_itself(table, one, others, watch);
        let mut line = None;
        if !others.is_empty() && !found.at_once() {
            line = alone.best.iter().find_map(|&(reply, mv)| {
                let after = played(table.before, reply);
                self.shown(from, &after, mv, alone.net, watch)
            });
        }
        let line = line.unwrap_or_else(|| found.line.clone());
        let (kind, line) = point(from, line, alone.net);
        let proof = found.proof(from, line[0], alone.net);
        threat(kind, from, line, alone.net, proof)
    }

    /// The line of a gain in another position, as far as it can be played here too;
    /// `None` if not to the end.
    fn shown(
        &mut self,
        from: &Chess,
        other: &Chess,
        mv: Move,
        net: u8,
        watch: &mut dyn Watch,
    ) -> Option<Vec<Move>> {
        let gain = self.gains(other, &[mv], LONGEST_GAIN, watch).pop()?;
        let line = if gain.k == net {
            gain.line
        } else {
            return None;
        };
        let mut at = from.clone();
        let mut here = Vec::new();
        for mv in line {
            let mv = same(&at, mv)?;
            at.play_unchecked(mv);
            here.push(mv);
        }
        Some(here)
    }

    /// What a move is proved to win, whatever is replied, as a threat after no pass
    /// would be told: mate, or material. `None` where it cannot be said in a word.
    pub(crate) fn won(
        &mut self,
        position: &Chess,
        mv: Move,
        watch: &mut dyn Watch,
    ) -> Option<Threat> {
        let mates = self
            .prover()
            .judge(position, LONGEST_MATE, Some(&[mv]), watch);
        if let Some((_, Verdict::Forces { length, line })) = mates.into_iter().next() {
            let proof = Proof::mate(position, mv, length);
            let kind = ThreatKind::Mate(length);
            return Some(threat(kind, position, line, EVERYTHING, Some(proof)));
        }
        let mut within = |n| self.gains(position, &[mv], n, watch).pop();
        let gain = within(LONGEST_GAIN).or_else(|| within(LONGEST_WIN))?;
        let (kind, line) = point(position, gain.line, gain.k);
        let told = !matches!(kind, ThreatKind::Gains | ThreatKind::Mate(_));
        let proof = Proof::gain(position, mv, gain.k, gain.length, gain.k);
        told.then(|| threat(kind, position, line, gain.k, Some(proof)))
    }

    /// What a move is proved to win, in a sentence.
    pub fn wins(&mut self, position: &Chess, mv: Move, watch: &mut dyn Watch) -> Option<Won> {
        let won = self.won(position, mv, watch)?;
        Some(Won {
            sentence: won.sentence,
            proof: won.proof?,
        })
    }
}

impl Found {
    /// The claim that a move of its nets so much after the pass; `None` if another does.
    fn proof(&self, from: &Chess, mv: Move, net: u8) -> Option<Proof> {
        let Force::Gain(n) = self.force else {
            return None;
        };
        let nets = |&&(own, most): &&(Move, u8)| own == mv && most >= net;
        self.moves.iter().find(nets)?;
        Some(Proof::gain(from, mv, net, n, net))
    }
}

/// Longest gain of a key that is looked for where a shorter one is not found, in moves.
const LONGEST_WIN: u8 = 3;

/// What a line gains, and the line up to there.
fn point(from: &Chess, mut line: Vec<Move>, net: u8) -> (ThreatKind, Vec<Move>) {
    let last = line.iter().fold(from.clone(), |at, &mv| played(&at, mv));
    if last.is_checkmate() {
        // A gain in all but one defence, which is mated.
        return (ThreatKind::Gains, line);
    }
    if let Some(at) = line.iter().step_by(2).position(|mv| mv.is_promotion()) {
        line.truncate(2 * at + 1);
        return (ThreatKind::Promotes, line);
    }
    let Some((role, at)) = prize(&line, net) else {
        return (ThreatKind::Gains, line);
    };
    let prey = came_from(&line, at);
    line.truncate(at + 1);
    let kind = match role {
        Role::Rook if net == 2 => ThreatKind::WinsExchange,
        role if at > 0 && trapped::traps(&Scene::new(from, &line), 0, prey) => {
            ThreatKind::Traps(role)
        }
        role => ThreatKind::Wins(role),
    };
    (kind, line)
}

/// The man that a line wins, and which of its moves takes him; `None` where he is paid
/// for.
fn prize(line: &[Move], net: u8) -> Option<(Role, usize)> {
    let won = |role: Role| net >= least(role, net);
    let first = line[0].capture().filter(|&role| won(role));
    if brings(line[0]) > net / 2
        && let Some(role) = first
    {
        return Some((role, 0));
    }
    // Seen from the other side, what is won is lost.
    let role = Toll::of(line).prize().filter(|&role| won(role))?;
    let mut ours = (0..line.len()).step_by(2);
    let at = ours.find(|&i| line[i].capture() == Some(role))?;
    Some((role, at))
}

/// The least that a man must bring to be called won: for less he is paid for.
pub(crate) fn least(role: Role, net: u8) -> u8 {
    match role {
        Role::Pawn | Role::King => 1,
        Role::Knight | Role::Bishop => 2,
        Role::Rook if net == 2 => 2,
        Role::Rook | Role::Queen => 3,
    }
}

/// Where the man taken by the move at `at` stood at the start of the line.
fn came_from(line: &[Move], at: usize) -> Square {
    let mut square = line[at].to();
    for mv in line[..at].iter().rev() {
        if mv.to() == square
            && let Some(from) = mv.from()
        {
            square = from;
        }
    }
    square
}

fn threat(
    kind: ThreatKind,
    from: &Chess,
    line: Vec<Move>,
    net: u8,
    proof: Option<Proof>,
) -> Threat {
    let number = from.fullmoves().get();
    let (text, n, man) = match kind {
        ThreatKind::Mate(1) => (Phrase::marked("{move}"), 1, ""),
        ThreatKind::Mate(n) => (phrase!("{move} mates in {n}", "move n man"), n, ""),
        ThreatKind::Wins(role) => (
            phrase!("{move} wins {man}", "move n man"),
            0,
            men::one(role),
        ),
        ThreatKind::Traps(role) => (
            phrase!("{move} traps {man}", "move n man"),
            0,
            men::the(role),
        ),
        ThreatKind::WinsExchange => (phrase!("{move} wins the exchange", "move n man"), 0, ""),
        ThreatKind::Gains => (phrase!("{move} wins material", "move n man"), 0, ""),
        ThreatKind::Promotes if line.len() == 1 => {
            (phrase!("{move} promotes", "move n man"), 0, "")
        }
        ThreatKind::Promotes => (phrase!("{move} brings a pawn through", "move n man"), 0, ""),
    };
    let mut sentence = say!(
        text,
        move = moves::line(from, &line[..1], number),
        n = n.to_string(),
        man = man,
    );
    if line.len() > 1 && !matches!(kind, ThreatKind::Traps(_)) {
        sentence.push_str(&format!(" ({})", moves::line(from, &line, number)));
    }
    sentence.push('.');
    Threat {
        kind,
        line,
        net,
        sentence,
        evidence: Evidence::Proved,
        proof,
    }
}
