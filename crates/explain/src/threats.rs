//! Threats: what the side that just moved would play if the other side
//! passed. Nobody may pass in check, so then there is nothing to show.
//!
//! A threat of mate is exact. Any other is searched in the position after the
//! pass, and counts only if its line shows what it wins. A capture must leave
//! its side no worse off than it is against the best reply, where several
//! things may be attacked at once. A move that wins later must be the best and
//! leave it better: others may only wait for the best.

use shakmaty::{Chess, Move, Position, Role};

use super::analyst::{Analyst, evidence, hundredths, pass};
use super::failing::{Toll, promoted, quiet};
use super::scene::{Scene, name};
use super::trapped;
use check::Evidence;
use check::exchange::worth;
use model::notation::moves;
use model::tongue::{Phrase, phrase, say, tr};
use prove::{Verdict, Watch};
use search::{Limits, Line};

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
        from: Box<Chess>,
        threats: Vec<Threat>,
    },
}

/// One threat.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Threat {
    pub kind: ThreatKind,
    /// Starts with the threatened move; legal after the pass.
    pub line: Vec<Move>,
    /// One sentence.
    pub sentence: String,
    pub evidence: Evidence,
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
}

/// Longest mate that is looked for as a threat, in moves.
const LONGEST_MATE: u8 = 3;

/// The most threats that are told.
const MOST: usize = 3;

/// Lines that are searched for threats.
const LINES: usize = 5;

/// What the line of a threat must win, in hundredths of a pawn.
const GAIN: i32 = 100;

/// By so much a threat may leave its side worse off than against the best
/// reply, in hundredths of a pawn: searches are not exact.
const SLACK: i32 = 50;

impl Threats {
    /// The threats, none where there is nothing to show.
    pub fn all(&self) -> &[Threat] {
        match self {
            Threats::Shown { threats, .. } => threats,
            _ => &[],
        }
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
                        _ => phrase!("Three threats: {threats}, and {last}.", "threats last"),
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
        let Some(from) = pass(position) else {
            return Threats::InCheck;
        };
        let threats = match self.threatened_mates(&from, watch) {
            mates if mates.is_empty() => self.other_threats(position, &from, watch),
            mates => mates,
        };
        Threats::Shown {
            from: Box::new(from),
            threats,
        }
    }

    /// All moves that mate soonest.
    fn threatened_mates(&mut self, from: &Chess, watch: &mut dyn Watch) -> Vec<Threat> {
        let mate = self.prover().mate(from, LONGEST_MATE, watch);
        let Ok(Some((_, Verdict::Forces { length, .. }))) = mate else {
            return Vec::new();
        };
        let judged = self.prover().judge(from, length, None, watch);
        let mut mates = Vec::new();
        for (_, verdict) in judged {
            if let Verdict::Forces { length, line } = verdict {
                mates.push(threat(
                    ThreatKind::Mate(length),
                    from,
                    line,
                    Evidence::Proved,
                ));
            }
        }
        mates.truncate(MOST);
        mates
    }

    fn other_threats(
        &mut self,
        position: &Chess,
        from: &Chess,
        watch: &mut dyn Watch,
    ) -> Vec<Threat> {
        let Some(now) = self.best(position, None, watch) else {
            return Vec::new();
        };
        let now = -hundredths(now.value);
        let limits = Limits {
            lines: LINES,
            ..Limits::nodes(self.budget * LINES as u64 / 2)
        };
        let lines = self.search.lines(from, &[], &limits, watch);
        let mut threats: Vec<Threat> = Vec::new();
        let mut prey = Vec::new();
        for (i, line) in lines.into_iter().enumerate() {
            let value = hundredths(line.value);
            let at_once = line.moves[0].is_capture() || line.moves[0].is_promotion();
            let least = now + if at_once { -SLACK } else { GAIN };
            let counts = value >= least && (at_once || i == 0);
            if !counts || threats.len() == MOST {
                continue;
            }
            let Some((kind, moves, taken)) = self.point(from, &line, watch) else {
                continue;
            };
            if !prey.contains(&taken) {
                prey.push(taken);
                threats.push(threat(kind, from, moves, evidence(&line)));
            }
        }
        threats
    }

    /// What a line wins, the line up to there, and on which square the man
    /// that is won stood after the pass.
    fn point(
        &mut self,
        from: &Chess,
        line: &Line,
        watch: &mut dyn Watch,
    ) -> Option<(ThreatKind, Vec<Move>, Option<shakmaty::Square>)> {
        let mut moves = line.moves.clone();
        let mut last = after(from, &moves);
        while !quiet(&last) && moves.len() < MOST_PLIES {
            let next = self.glance(&last, watch)?;
            last.play_unchecked(next);
            moves.push(next);
        }
        let point = (1..=moves.len())
            .find(|&p| -Toll::of(&moves[..p]).net >= GAIN && quiet(&after(from, &moves[..p])))?;
        moves.truncate(point);
        let won = -Toll::of(&moves).net;
        if promoted(from, &moves, !from.turn()).is_some() {
            let at = moves.iter().step_by(2).position(|mv| mv.is_promotion())? * 2;
            return Some((
                ThreatKind::Promotes,
                moves[..=at].to_vec(),
                moves[at].from(),
            ));
        }
        // Seen from the other side, what is won is lost.
        let role = Toll::of(&moves).prize()?;
        let at = (0..moves.len())
            .step_by(2)
            .find(|&i| moves[i].capture() == Some(role))?;
        let kind = match role {
            Role::Rook if won < worth(Role::Knight) => ThreatKind::WinsExchange,
            role if won < worth(role) - worth(Role::Pawn) => return None,
            role => ThreatKind::Wins(role),
        };
        let square = came_from(&moves, at);
        moves = at_once(from, &moves[..=at]);
        let scene = Scene::new(from, &moves);
        let kind = match kind {
            ThreatKind::Wins(role) if at > 0 && trapped::traps(&scene, 0, square) => {
                ThreatKind::Traps(role)
            }
            kind => kind,
        };
        Some((kind, moves, Some(square)))
    }
}

const MOST_PLIES: usize = 12;

/// The line with what lies between the first reply and the last move left
/// out, where the board allows it.
fn at_once(from: &Chess, line: &[Move]) -> Vec<Move> {
    if let [first, reply, .., last] = *line {
        let short = [first, reply, last];
        let mut at = from.clone();
        let legal = short.into_iter().all(|mv| {
            let legal = at.is_legal(mv);
            if legal {
                at.play_unchecked(mv);
            }
            legal
        });
        if legal {
            return short.to_vec();
        }
    }
    line.to_vec()
}

fn after(from: &Chess, line: &[Move]) -> Chess {
    let mut at = from.clone();
    for &mv in line {
        at.play_unchecked(mv);
    }
    at
}

/// Where the man taken by the move at `at` stood at the start of the line.
fn came_from(line: &[Move], at: usize) -> shakmaty::Square {
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

fn threat(kind: ThreatKind, from: &Chess, line: Vec<Move>, evidence: Evidence) -> Threat {
    let number = from.fullmoves().get();
    let (text, n, man) = match kind {
        ThreatKind::Mate(1) => (Phrase::marked("{move}"), 1, ""),
        ThreatKind::Mate(n) => (phrase!("{move} mates in {n}", "move n man"), n, ""),
        ThreatKind::Wins(role) => (phrase!("{move} wins {man}", "move n man"), 0, a_man(role)),
        ThreatKind::Traps(role) => (phrase!("{move} traps {man}", "move n man"), 0, name(role)),
        ThreatKind::WinsExchange => (phrase!("{move} wins the exchange", "move n man"), 0, ""),
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
        sentence,
        evidence,
    }
}

/// "the queen", "a rook", as what is won.
fn a_man(role: Role) -> &'static str {
    tr(match role {
        Role::Pawn => phrase("a pawn"),
        Role::Knight => phrase("a knight"),
        Role::Bishop => phrase("a bishop"),
        Role::Rook => phrase("a rook"),
        Role::Queen | Role::King => phrase("the queen"),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use model::notation::fen;
    use prove::Unwatched;

    fn threats(position: &str) -> Threats {
        let position = fen::read(position).unwrap();
        let threats = Analyst::new(4 << 20).threats(&position, &mut Unwatched);
        if let Threats::Shown { from, threats } = &threats {
            for threat in threats {
                let mut at = (**from).clone();
                for &mv in &threat.line {
                    assert!(at.is_legal(mv), "{threat:?}");
                    at.play_unchecked(mv);
                }
                if let ThreatKind::Mate(_) = threat.kind {
                    assert!(at.is_checkmate(), "{threat:?}");
                }
            }
        }
        threats
    }

    #[test]
    fn a_threat_of_mate_is_exact() {
        let threats = threats("6k1/5ppp/8/8/8/8/7P/3R2K1 b - - 0 1");
        assert_eq!(threats.sentence(), "The threat: 2.Rd8#.");
        assert_eq!(threats.all()[0].evidence, Evidence::Proved);
    }

    #[test]
    fn nothing_is_threatened_in_check() {
        let threats = threats("3R2k1/5pp1/7p/8/8/8/7P/6K1 b - - 0 1");
        assert_eq!(threats, Threats::InCheck);
        assert!(threats.sentence().contains("in check"));
    }

    #[test]
    fn nothing_is_threatened_when_the_game_is_over() {
        let mated = threats("3R2k1/5ppp/8/8/8/8/7P/6K1 b - - 0 1");
        assert_eq!(mated, Threats::None);
        assert!(mated.sentence().contains("over"));
    }

    #[test]
    fn en_passant_is_no_threat_of_the_side_that_just_pushed() {
        let threats = threats("4k3/p7/p7/8/3pP3/8/P7/4K3 b - e3 0 1");
        assert!(
            threats.all().iter().all(|t| !t.line[0].is_en_passant()),
            "{threats:?}"
        );
    }

    #[test]
    fn two_threats_are_told_together() {
        let threats = threats("r4rk1/1p3ppp/8/n7/1P4b1/7P/P4PP1/R4RK1 b - - 0 1");
        assert_eq!(threats.all().len(), 2);
        assert!(
            threats.sentence().starts_with("Two threats: 2."),
            "{}",
            threats.sentence()
        );
        let kinds: Vec<ThreatKind> = threats.all().iter().map(|t| t.kind).collect();
        assert!(kinds.contains(&ThreatKind::Wins(Role::Knight)));
        assert!(kinds.contains(&ThreatKind::Wins(Role::Bishop)));
    }

    /// Pawns cover b3 and c4, the knight's own men hold b7 and c6.
    #[test]
    fn a_piece_about_to_be_trapped_is_named() {
        let threats = threats("r4rk1/1p3ppp/2p5/n7/8/3P4/PP3PPP/R4RK1 b - - 0 1");
        assert_eq!(
            threats.all().first().map(|t| t.kind),
            Some(ThreatKind::Traps(Role::Knight)),
            "{threats:?}"
        );
        assert_eq!(threats.sentence(), "The threat: 2.b4 traps the knight.");
        let line = &threats.all()[0].line;
        assert!(line.len() == 3 && line[2].capture() == Some(Role::Knight));
    }

    #[test]
    fn a_guarded_man_is_not_threatened() {
        let threats = threats("r4rk1/pp3ppp/2n5/8/4N3/8/PP3PPP/2R2RK1 b - - 0 1");
        assert_eq!(threats.sentence(), "Nothing is threatened.");
    }
}
