//! Immune piece: after the solver's move the other side may take a man with profit, as
//! far as the captures on its square tell; the line does not, and whoever takes it is
//! mated by force, or loses more than he took: proved for two moves, else searched, and
//! searched again deeper.

use shakmaty::{Chess, Move, Position, Role, Square};

use super::analyst::{Analyst, played};
use super::scene::{Immune, Scene, capital};
use super::{Reason, ReasonKind};
use check::exchange::{best_capture, worth};
use model::men;
use model::notation::moves;
use model::tongue::say;
use model::worth::balance;
use prove::{Aim, Gain, Verdict, Watch};

pub fn find(scene: &Scene, at: usize, found: &mut Vec<Reason>) {
    let Some(Immune { square, line }) = &scene.facts(at).immune else {
        return;
    };
    let after = scene.after(at);
    let number = u32::from(after.fullmoves());
    let sentence = capital(&say!(
        "{man} cannot be taken: {line}.",
        man = men::on(after.board(), *square),
        line = moves::line(after, line, number),
    ));
    let taker = line[0].from();
    found.push(scene.reason(
        ReasonKind::ImmunePiece,
        at,
        sentence,
        vec![*square],
        taker.map(|from| (from, *square)).into_iter().collect(),
    ));
}

/// The longest mate, and the longest gain, that a capture is answered by.
const LONGEST: u8 = 2;

impl Analyst {
    /// The most valuable of the solver's men that may be taken after his move number
    /// `at`, if it is immune; after later moves the man that moved alone, since the
    /// others were told of.
    pub(super) fn immune(
        &mut self,
        scene: &Scene,
        at: usize,
        watch: &mut dyn Watch,
    ) -> Option<Immune> {
        let (after, reply) = (scene.after(at), scene.reply(at));
        if after.is_check() {
            return None;
        }
        let (board, taker) = (after.board(), after.turn());
        let offered = |square: &Square| {
            let role = board.role_at(*square);
            (at == 0 || *square == scene.landing(at))
                && role != Some(Role::Pawn)
                && best_capture(board, *square, taker) >= 2 * worth(Role::Pawn)
        };
        let mut offers: Vec<Square> = board.by_color(!taker).into_iter().filter(offered).collect();
        offers.sort_by_key(|&square| -board.role_at(square).map_or(0, worth));
        let square = offers.into_iter().next()?;
        let captures: Vec<Move> = after
            .legal_moves()
            .into_iter()
            .filter(|mv| mv.is_capture() && mv.to() == square && !mv.is_promotion())
            .collect();
        if captures.is_empty() || reply.is_some_and(|reply| reply.to() == square) {
            return None;
        }
        let mut shown: Option<Vec<Move>> = None;
        for capture in captures {
            let line = self.punished(after, capture, watch)?;
            // The answer to the best capture by the least man is told.
            let least = |line: &Vec<Move>| worth(line[0].role());
            if shown.as_ref().is_none_or(|old| least(&line) < least(old)) {
                shown = Some(line);
            }
        }
        shown.map(|line| Immune { square, line })
    }

    /// The capture and what punishes it, to mate or to where the gain stands.
    fn punished(
        &mut self,
        after: &Chess,
        capture: Move,
        watch: &mut dyn Watch,
    ) -> Option<Vec<Move>> {
        let taken = played(after, capture);
        if taken.is_game_over() {
            return None;
        }
        let mate = self.prover().force(Aim::Mate, &taken, LONGEST, watch);
        let answer = match mate {
            Ok(Some(mate)) => Some(mate),
            // A pawn more than before the capture.
            _ => {
                let from = balance(after.board(), !after.turn());
                let gain = Aim::Gain(Gain { k: 1, from });
                let gains = self.prover_of_gains();
                gains.force(gain, &taken, LONGEST, watch).ok().flatten()
            }
        };
        match answer {
            Some((_, Verdict::Forces { line, .. })) => Some([vec![capture], line].concat()),
            _ => self.costs(after, capture, watch),
        }
    }
}
