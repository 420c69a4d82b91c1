//! Threats: what the side that just moved would carry out if the other side passed.
//! Nobody may pass in check, so then there is nothing to show.
//!
//! A threat is a move that, after the pass, forces mate within [`LONGEST_MATE`] moves,
//! or a [gain](prove::gain) within [`LONGEST_GAIN`]. Both are proved. Moves that take
//! the same man, in the end, are one threat, told by the one that gains most.
//!
//! Every legal reply is then tried against each. A threat *stands* after a reply if one
//! of its moves still mates as soon, or still gains: a pawn where a pawn is at stake,
//! else more than a third. Threats are told that are *independent*: each of them is
//! left standing by some reply that parries all the others. So a move that only waits
//! for what is threatened anyway is none of its own.
//!
//! A gain says nothing of what comes after it, so one that a search values lower than
//! the position as it is, is not told: it costs more than it brings.

use shakmaty::{Chess, Move, Position, Role, Square};

use super::analyst::{Analyst, hundredths, pass, played};
use super::failing::Toll;
use super::scene::{Scene, name};
use super::trapped;
use check::Evidence;
use check::exchange::worth;
use model::notation::moves;
use model::tongue::{Phrase, phrase, say, tr};
use prove::gain::EVERYTHING;
use prove::{Aim, Verdict, Watch};
use search::Kept;

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
        /// What each legal reply leaves standing; empty without threats.
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
    /// What it nets, in pawns; [`EVERYTHING`] where it mates.
    pub net: u8,
    /// One sentence.
    pub sentence: String,
    /// What it rests on.
    pub evidence: Evidence,
}

/// A reply to all threats.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reply {
    /// The move.
    pub mv: Move,
    /// Of each threat, whether it stands after the reply.
    pub stands: Vec<bool>,
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
const LONGEST_GAIN: u8 = 2;

/// The most threats that are told.
const MOST: usize = 4;

/// The most that are tried against every reply.
const MOST_TRIED: usize = 12;

/// Gains beyond this are not told apart: two queens.
const MOST_NET: u8 = 18;

/// By so much a threat may leave its side worse off than against the best
/// reply, in hundredths of a pawn: searches are not exact.
const SLACK: i32 = 50;

/// A gain is told unless a search of so small a share of the budget shows what it
/// costs.
const SHARE_OF_DOUBT: u64 = 4;

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

/// A threat as it is found: moves that carry it out, the best first.
struct Found {
    threat: Threat,
    /// What it takes in the end stood there after the pass; of a mate, where the man
    /// arrives.
    prey: Square,
    moves: Vec<Move>,
}

/// A move that gains.
struct Gain {
    mv: Move,
    net: u8,
    length: u8,
    line: Vec<Move>,
    /// The reply that holds it to that.
    held_by: Option<Move>,
}

impl Gain {
    fn new(mv: Move) -> Gain {
        Gain {
            mv,
            net: 0,
            length: 0,
            line: Vec::new(),
            held_by: None,
        }
    }
}

impl Found {
    /// Whether it cannot be said in a word what it wins. It is then often another
    /// threat that pays for it, so it is told only if there is no other.
    fn is_vague(&self) -> bool {
        self.threat.kind == ThreatKind::Gains
    }

    /// How much of it must be left after a reply for it to stand.
    fn stake(&self) -> u8 {
        self.threat.net / 3 + 1
    }

    /// In how many moves it is carried out.
    fn length(&self) -> u8 {
        match self.threat.kind {
            ThreatKind::Mate(n) => n,
            _ => LONGEST_GAIN,
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
        let mut found = self.threatened_mates(&from, watch);
        let mates: Vec<Move> = found.iter().flat_map(|f| f.moves.clone()).collect();
        found.extend(self.threatened_gains(position, &from, &mates, watch));
        found.sort_by_key(Found::is_vague);
        found.truncate(MOST_TRIED);
        let replies = self.replies(position, &found, watch);
        let mut told = independent(&replies);
        let vague = told.iter().position(|&i| found[i].is_vague());
        told.truncate(vague.map_or(told.len(), |first| first.max(1)));
        let threats = told.iter().map(|&i| found[i].threat.clone()).collect();
        let replies = match told.is_empty() {
            true => Vec::new(),
            false => replies
                .into_iter()
                .map(|reply| Reply {
                    mv: reply.mv,
                    stands: told.iter().map(|&i| reply.stands[i]).collect(),
                })
                .collect(),
        };
        Threats::Shown {
            from: Box::new(from),
            threats,
            replies,
        }
    }

    /// All moves that mate soonest, by where their man arrives.
    fn threatened_mates(&mut self, from: &Chess, watch: &mut dyn Watch) -> Vec<Found> {
        let mate = self.prover().mate(from, LONGEST_MATE, watch);
        let Ok(Some((_, Verdict::Forces { length, .. }))) = mate else {
            return Vec::new();
        };
        let judged = self.prover().judge(from, length, None, watch);
        let mut found: Vec<Found> = Vec::new();
        for (mv, verdict) in judged {
            let Verdict::Forces { length, line } = verdict else {
                continue;
            };
            match found.iter_mut().find(|f| f.prey == mv.to()) {
                Some(same) => same.moves.push(mv),
                None => found.push(Found {
                    threat: threat(ThreatKind::Mate(length), from, line, EVERYTHING),
                    prey: mv.to(),
                    moves: vec![mv],
                }),
            }
        }
        found
    }

    /// All moves that gain, but those that mate, the greatest gains first; those that
    /// take the same man together.
    fn threatened_gains(
        &mut self,
        position: &Chess,
        from: &Chess,
        mates: &[Move],
        watch: &mut dyn Watch,
    ) -> Vec<Found> {
        let legal = from.legal_moves().into_iter();
        let asked = legal.filter(|mv| !mates.contains(mv)).collect();
        let mut gains = self.gains(from, asked, watch);
        // The soonest of what gains the same, by the least man.
        gains.sort_by_key(|gain| {
            let man = gain.mv.from().and_then(|sq| from.board().role_at(sq));
            (u8::MAX - gain.net, gain.length, man.map_or(0, worth))
        });
        let least = match gains.is_empty() {
            true => None,
            false => self.best(position, None, watch),
        };
        let least = least.map(|now| -hundredths(now.value) - SLACK);
        let mut found: Vec<Found> = Vec::new();
        for gain in gains {
            let (mv, net) = (gain.mv, gain.net);
            let Some((kind, line, prey)) = point(from, gain.line, net) else {
                continue;
            };
            match found.iter_mut().find(|f| f.prey == prey) {
                Some(same) => same.moves.push(mv),
                None if self.costs(from, mv, least, watch) => {}
                None => found.push(Found {
                    threat: threat(kind, from, line, net),
                    prey,
                    moves: vec![mv],
                }),
            }
        }
        found
    }

    /// What each of these moves gains, where it gains anything, against the reply that
    /// holds it to that.
    fn gains(&mut self, from: &Chess, mut left: Vec<Move>, watch: &mut dyn Watch) -> Vec<Gain> {
        let mut gains: Vec<Gain> = Vec::new();
        for net in 1..=MOST_NET {
            let prover = self.prover();
            let judged = prover.judge_gain(from, net, LONGEST_GAIN, Some(&left), watch);
            left.clear();
            for (mv, verdict) in judged {
                let known = gains.iter().position(|gain| gain.mv == mv);
                match (verdict, known) {
                    (Verdict::Forces { length, line }, _) => {
                        gains.extend(known.is_none().then(|| Gain::new(mv)));
                        let i = known.unwrap_or(gains.len() - 1);
                        let gain = &mut gains[i];
                        (gain.net, gain.length, gain.line) = (net, length, line);
                        left.push(mv);
                    }
                    (Verdict::Fails { line }, Some(i)) => gains[i].held_by = line.get(1).copied(),
                    _ => {}
                }
            }
            if left.is_empty() {
                break;
            }
        }
        for gain in &mut gains {
            if let Some(line) = self.defended(from, gain, watch) {
                gain.line = line;
            }
        }
        gains
    }

    /// What a move is proved to win, whatever is replied, as a threat after no pass
    /// would be told; and within how many moves. `None` where it cannot be said in a
    /// word.
    pub(super) fn won(
        &mut self,
        position: &Chess,
        mv: Move,
        watch: &mut dyn Watch,
    ) -> Option<(Threat, u8)> {
        let gain = self.gains(position, vec![mv], watch).pop()?;
        let (kind, line, _) = point(position, gain.line, gain.net)?;
        let told = !matches!(kind, ThreatKind::Gains | ThreatKind::Mate(_));
        told.then(|| (threat(kind, position, line, gain.net), gain.length))
    }

    /// The line of a gain against the reply that holds it to what it nets; `None` where
    /// it stands at once.
    fn defended(&mut self, from: &Chess, gain: &Gain, watch: &mut dyn Watch) -> Option<Vec<Move>> {
        let reply = gain.held_by.filter(|_| gain.length > 1)?;
        let after = played(&played(from, gain.mv), reply);
        let aim = Aim::Gain(prove::Gain::at(gain.net, from));
        let judged = self
            .prover()
            .judge_aim(aim, &after, gain.length - 1, None, watch);
        let lines = judged.into_iter().filter_map(|(_, verdict)| match verdict {
            Verdict::Forces { line, .. } => Some(line),
            _ => None,
        });
        let best = lines.max_by_key(|line| line[0].capture().map_or(0, worth))?;
        Some([gain.mv, reply].into_iter().chain(best).collect())
    }

    /// Whether a search shows that a move leaves its side under `least`.
    fn costs(&mut self, from: &Chess, mv: Move, least: Option<i32>, watch: &mut dyn Watch) -> bool {
        least.is_some_and(|least| {
            let nodes = self.budget / SHARE_OF_DOUBT;
            let answer = self.search.at_least(from, &[], mv, least, nodes, watch);
            answer.kept == Kept::Fails
        })
    }

    /// What every legal reply leaves standing.
    fn replies(&mut self, position: &Chess, found: &[Found], watch: &mut dyn Watch) -> Vec<Reply> {
        if found.is_empty() {
            return Vec::new();
        }
        let legal = position.legal_moves().into_iter();
        legal
            .map(|mv| {
                let after = played(position, mv);
                let stands = found.iter().map(|f| self.stands(&after, f, watch));
                Reply {
                    mv,
                    stands: stands.collect(),
                }
            })
            .collect()
    }

    fn stands(&mut self, after: &Chess, found: &Found, watch: &mut dyn Watch) -> bool {
        let moves: Vec<Move> = found
            .moves
            .iter()
            .filter_map(|mv| same(after, *mv))
            .collect();
        if moves.is_empty() {
            return false;
        }
        let n = found.length();
        let judged = match found.threat.kind {
            ThreatKind::Mate(_) => self.prover().judge(after, n, Some(&moves), watch),
            _ => self
                .prover()
                .judge_gain(after, found.stake(), n, Some(&moves), watch),
        };
        judged
            .iter()
            .any(|(_, verdict)| matches!(verdict, Verdict::Forces { .. }))
    }
}

/// The move of the same man to the same square in another position, where it takes
/// the same.
fn same(position: &Chess, mv: Move) -> Option<Move> {
    position.legal_moves().into_iter().find(|other| {
        other.from() == mv.from()
            && other.to() == mv.to()
            && other.role() == mv.role()
            && other.capture() == mv.capture()
            && other.promotion() == mv.promotion()
    })
}

/// Which threats are told, the greatest being the first: each is left standing by a
/// reply that parries all the others.
fn independent(replies: &[Reply]) -> Vec<usize> {
    let count = replies.first().map_or(0, |reply| reply.stands.len());
    let mut told: Vec<usize> = Vec::new();
    for i in 0..count {
        let mut all = told.clone();
        all.push(i);
        let alone = |one: usize| {
            replies.iter().any(|reply| {
                let stands = |&j: &usize| reply.stands[j];
                stands(&one) && all.iter().filter(|&&j| j != one).all(|j| !stands(j))
            })
        };
        if all.iter().all(|&one| alone(one)) {
            told = all;
        }
        if told.len() == MOST {
            break;
        }
    }
    told
}

/// What a line gains, the line up to there, and on which square the man that is taken
/// stood after the pass.
fn point(from: &Chess, mut line: Vec<Move>, net: u8) -> Option<(ThreatKind, Vec<Move>, Square)> {
    let last = line.iter().fold(from.clone(), |at, &mv| played(&at, mv));
    if last.is_checkmate() {
        // A gain in all but one defence, which is mated.
        let length = u8::try_from(line.len().div_ceil(2)).ok()?;
        let prey = line[0].to();
        return Some((ThreatKind::Mate(length), line, prey));
    }
    if let Some(at) = line.iter().step_by(2).position(|mv| mv.is_promotion()) {
        let (from, prey) = (line[2 * at].from()?, 2 * at);
        line.truncate(prey + 1);
        return Some((ThreatKind::Promotes, line, from));
    }
    // Seen from the other side, what is won is lost.
    let role = Toll::of(&line).prize()?;
    let at = (0..line.len())
        .step_by(2)
        .find(|&i| line[i].capture() == Some(role))?;
    let prey = came_from(&line, at);
    let least = match role {
        Role::Pawn | Role::King => 1,
        Role::Knight | Role::Bishop => 2,
        Role::Rook if net == 2 => 2,
        Role::Rook | Role::Queen => 3,
    };
    if net < least {
        return Some((ThreatKind::Gains, line, prey));
    }
    line.truncate(at + 1);
    let kind = match role {
        Role::Rook if net == 2 => ThreatKind::WinsExchange,
        role if at > 0 && trapped::traps(&Scene::new(from, &line), 0, prey) => {
            ThreatKind::Traps(role)
        }
        role => ThreatKind::Wins(role),
    };
    Some((kind, line, prey))
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

fn threat(kind: ThreatKind, from: &Chess, line: Vec<Move>, net: u8) -> Threat {
    let number = from.fullmoves().get();
    let (text, n, man) = match kind {
        ThreatKind::Mate(1) => (Phrase::marked("{move}"), 1, ""),
        ThreatKind::Mate(n) => (phrase!("{move} mates in {n}", "move n man"), n, ""),
        ThreatKind::Wins(role) => (phrase!("{move} wins {man}", "move n man"), 0, a_man(role)),
        ThreatKind::Traps(role) => (phrase!("{move} traps {man}", "move n man"), 0, name(role)),
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
        if let Threats::Shown { from, threats, .. } = &threats {
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

    /// The queen mates on h7, and the knight hangs.
    #[test]
    fn a_mate_and_a_gain_are_told_side_by_side() {
        let threats = threats("5rk1/5ppp/8/n7/1P6/3Q4/5PPP/1B4K1 b - - 0 1");
        let all: Vec<(ThreatKind, u8)> = threats.all().iter().map(|t| (t.kind, t.net)).collect();
        let wanted = [
            (ThreatKind::Mate(1), EVERYTHING),
            (ThreatKind::Wins(Role::Knight), 3),
        ];
        assert_eq!(all, wanted, "{threats:?}");
    }

    #[test]
    fn a_pawn_that_will_promote_is_a_threat() {
        let threats = threats("6k1/5ppp/8/8/8/8/p4PPP/3K4 w - - 0 1");
        let kinds: Vec<ThreatKind> = threats.all().iter().map(|t| t.kind).collect();
        assert_eq!(kinds, [ThreatKind::Promotes], "{threats:?}");
        assert_eq!(threats.sentence(), "The threat: 1...a1=Q+ promotes.");
    }

    /// Both the bishop and the knight hang. A move that waits for either gains as well,
    /// since one reply cannot save both, and is no third threat.
    #[test]
    fn a_move_that_waits_for_what_hangs_is_no_threat() {
        let threats = threats("r4rk1/1p3ppp/8/n7/1P4b1/7P/P4PP1/R4RK1 b - - 0 1");
        let Threats::Shown {
            threats, replies, ..
        } = &threats
        else {
            panic!("{threats:?}");
        };
        assert_eq!(threats.len(), 2);
        let both: Vec<String> = replies
            .iter()
            .filter(|reply| reply.stands == [false, false])
            .map(|reply| moves::uci(reply.mv))
            .collect();
        assert_eq!(both, ["a5b3"], "the knight shields the bishop's pawn");
        assert!(replies.iter().any(|reply| reply.stands == [true, false]));
        assert!(replies.iter().any(|reply| reply.stands == [false, true]));
    }

    /// The knight takes a rook that is guarded: the exchange, and no more.
    #[test]
    fn the_exchange_is_told_as_what_it_is() {
        let threats = threats("3r2k1/5ppp/3r4/8/4N3/8/5PPP/6K1 b - - 0 1");
        let kinds: Vec<(ThreatKind, u8)> = threats.all().iter().map(|t| (t.kind, t.net)).collect();
        assert_eq!(kinds, [(ThreatKind::WinsExchange, 2)], "{threats:?}");
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
