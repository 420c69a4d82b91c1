//! Threats: what the side that just moved would carry out if the other side passed.
//! Nobody may pass in check, so then there is nothing to show.
//!
//! A threat is a move that, after the pass, forces mate within [`LONGEST_MATE`] moves,
//! or a [gain](prove::gain) within [`LONGEST_GAIN`]. Both are proved (`found`). A gain
//! is nobody's threat if it costs more than it brings: if after it the other side mates
//! within two moves, or, where it stands at once, wins all of it back within two.
//! Moves that mate on the same square as soon, and moves that take the same man at once,
//! are one threat.
//!
//! Every legal reply is then tried against each (`table`). A threat *stands* after a
//! reply if one of its moves still mates as soon, or still gains more than a third. What
//! is slower than at once does not stand after a reply that loses as much at once to
//! another move, which did not win it before: that is the reply's own fault.
//!
//! Threats are told that are *independent*: each of them is left standing by some reply
//! that parries all the others. Of two that then always take what the other may take, the
//! greater is told. What a threat nets is what it nets then, so that no threat is praised
//! for what another wins.

use shakmaty::{Chess, Move, Position, Role};

use super::Proof;
use super::analyst::Analyst;
use check::Evidence;
use model::tongue::{phrase, say, tr};
use model::transform::passed;
use prove::Watch;
#[cfg(doc)]
use prove::gain::EVERYTHING;

mod found;
mod table;
mod telling;

pub(super) use found::brings;
pub(super) use telling::least;

/// What the side that just moved threatens.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Threats {
    /// The side to move is in check: it cannot pass.
    InCheck,
    /// The game is over.
    None,
    /// The threats, the greatest first; empty if there is none. Their lines
    /// start from `from`, the position after the pass.
    Shown {
        /// The position with the other side to move.
        from: Box<Chess>,
        /// What is threatened, the worst first.
        threats: Vec<Threat>,
        /// What each legal reply leaves standing, of which that is decided; empty
        /// without threats.
        replies: Vec<Reply>,
    },
}

/// One threat.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Threat {
    /// What it does.
    pub kind: ThreatKind,
    /// Starts with the threatened move; legal after the pass.
    pub line: Vec<Move>,
    /// What it nets after a reply that parries all the others, in pawns; [`EVERYTHING`]
    /// where it mates.
    pub net: u8,
    /// One sentence.
    pub sentence: String,
    /// What it rests on.
    pub evidence: Evidence,
    /// The claim about the position after the pass.
    pub proof: Option<Proof>,
}

/// A reply to all threats.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reply {
    /// The move.
    pub mv: Move,
    /// Of each threat, whether it stands after the reply.
    pub stands: Vec<bool>,
    /// Whether it parries them all, and by its own fault loses something else at once.
    pub loses: bool,
}

/// What a threat brings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ThreatKind {
    /// Mate in so many moves.
    Mate(u8),
    /// A man of this kind.
    Wins(Role),
    /// A man of this kind, which has no square to go to.
    Traps(Role),
    /// A rook for a bishop or a knight.
    WinsExchange,
    /// A pawn promotes.
    Promotes,
    /// Something, though what is taken is paid for with nearly as much.
    Gains,
}

/// Longest mate that is looked for as a threat, in moves.
const LONGEST_MATE: u8 = 3;

/// Longest gain that is looked for as a threat, in moves.
pub(super) const LONGEST_GAIN: u8 = 2;

/// The most threats that are told.
const MOST: usize = 4;

impl ThreatKind {
    /// In a word, for data.
    pub(super) fn code(self) -> &'static str {
        match self {
            ThreatKind::Mate(_) => "mate",
            ThreatKind::Wins(_) => "wins",
            ThreatKind::Traps(_) => "traps",
            ThreatKind::WinsExchange => "exchange",
            ThreatKind::Promotes => "promotes",
            ThreatKind::Gains => "gains",
        }
    }
}

impl Threats {
    /// The threats, none where there is nothing to show.
    pub fn all(&self) -> &[Threat] {
        match self {
            Threats::Shown { threats, .. } => threats,
            _ => &[],
        }
    }

    /// The replies that parry every threat; none where there is nothing to parry.
    pub fn defences(&self) -> Vec<Move> {
        let Threats::Shown { replies, .. } = self else {
            return Vec::new();
        };
        let parries = replies.iter().filter(|r| !r.stands.contains(&true));
        parries.map(|reply| reply.mv).collect()
    }

    /// All in one sentence: "Two threats: 2.Bxh7+ wins a pawn, and 2.b4 traps
    /// the knight."
    pub fn sentence(&self) -> String {
        match self {
            Threats::InCheck => {
                tr("No threat to be shown: the side to move is in check.").to_owned()
            }
            Threats::None => tr("No threat to be shown: the game is over.").to_owned(),
            Threats::Shown { threats, .. } => match &threats[..] {
                [] => tr("Nothing is threatened.").to_owned(),
                [one] => say!("The threat: {threat}", threat = one.sentence),
                several => {
                    let parts: Vec<String> = several
                        .iter()
                        .map(|t| t.sentence.trim_end_matches('.').to_owned())
                        .collect();
                    let (last, rest) = parts.split_last().expect("several");
                    let text = match rest.len() {
                        1 => phrase!("Two threats: {threats}, and {last}.", "threats last"),
                        2 => phrase!("Three threats: {threats}, and {last}.", "threats last"),
                        _ => phrase!("Four threats: {threats}, and {last}.", "threats last"),
                    };
                    say!(text, threats = rest.join(", "), last = last)
                }
            },
        }
    }
}

impl Analyst {
    /// What the side that is not to move threatens.
    pub fn threats(&mut self, position: &Chess, watch: &mut dyn Watch) -> Threats {
        if position.is_game_over() {
            return Threats::None;
        }
        let Some(from) = passed(position) else {
            return Threats::InCheck;
        };
        let finding = self.found(&from, watch);
        let table = self.table(position, &from, &finding, watch);
        let told = self.independent(&table, watch);
        let mut threats: Vec<(Threat, usize)> = Vec::new();
        for &i in &told {
            let others: Vec<usize> = told.iter().copied().filter(|&j| j != i).collect();
            threats.push((self.told(&table, i, &others, watch), i));
        }
        threats.sort_by_key(|(threat, _)| (u8::MAX - threat.net, threat.line.len()));
        let replies = match told.is_empty() {
            true => Vec::new(),
            false => {
                let told: Vec<usize> = threats.iter().map(|(_, i)| *i).collect();
                self.replies(&table, &told, &finding, watch)
            }
        };
        Threats::Shown {
            from: Box::new(from),
            threats: threats.into_iter().map(|(threat, _)| threat).collect(),
            replies,
        }
    }
}

#[cfg(test)]
mod tests;
