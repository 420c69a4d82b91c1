//! Parried threat: what the other side threatens first of all, which is proved, it no longer
//! threatens after the move. The move takes the man that would have carried it out, takes
//! away the piece that would have been captured, guards it or the square of the mate, or
//! shuts the line. Said of the first move only, and not where it forces mate.

use shakmaty::attacks::between;
use shakmaty::{Move, Position, Role, Square};

use super::scene::{Parried, Scene, guards};
use super::threats::Threats;
use super::{Reason, ReasonKind};
use check::exchange::{best_capture, captured};
use model::men;
use model::notation::moves;
use model::tongue::say;

pub fn find(scene: &Scene, at: usize, found: &mut Vec<Reason>) {
    let parried = scene.facts(at).parried.as_ref();
    found.extend(parried.and_then(|threat| told(scene, at, threat)));
}

fn told(scene: &Scene, at: usize, threat: &Parried) -> Option<Reason> {
    let attacker = threat.mv.from()?;
    let target = captured(threat.mv).unwrap_or(threat.mv.to());
    let (before, after) = (scene.before(at).board(), scene.after(at).board());
    let (mv, landing) = (scene.mv(at), scene.landing(at));
    let shown = scene.san(at);
    let object = match before.piece_at(target) {
        Some(_) => men::on(before, target),
        None => target.to_string(),
    };
    let aims = vec![(attacker, target)];
    let (sentence, squares, arrows): (String, Vec<Square>, Vec<(Square, Square)>) =
        if captured(mv) == Some(attacker) {
            let sentence = say!(
                "{move} takes the man that threatened {threat}.",
                move = shown,
                threat = threat.shown,
            );
            (sentence, vec![attacker], aims)
        } else if mv.from() == Some(target) && is_safe(scene, at) {
            let sentence = say!("{move} brings {man} to safety.", move = shown, man = object);
            (sentence, vec![landing], aims)
        } else if between(attacker, target).contains(landing) {
            let sentence = say!(
                "{move} shuts the line of {man} to {square}.",
                move = shown,
                man = men::on(before, attacker),
                square = target.to_string(),
            );
            (sentence, vec![landing], aims)
        } else if after.piece_at(target) == before.piece_at(target)
            && guards(after, landing, target)
            && !guards(before, mv.from()?, target)
        {
            let sentence = say!("{move} guards {object}.", move = shown, object = object);
            (sentence, vec![target], vec![(landing, target)])
        } else {
            return None;
        };
    Some(scene.reason(ReasonKind::ParriedThreat, at, sentence, squares, arrows))
}

/// Whether the man that moved is a piece that nobody takes with profit now.
fn is_safe(scene: &Scene, at: usize) -> bool {
    let board = scene.after(at).board();
    let landing = scene.landing(at);
    board.role_at(landing) != Some(Role::Pawn) && best_capture(board, landing, !scene.solver) == 0
}

/// The greatest threat of the other side before a move of the solver's, if that move
/// parries it.
pub fn by(mv: Move, threats: &Threats) -> Option<Parried> {
    let Threats::Shown {
        from,
        threats,
        replies,
    } = threats
    else {
        return None;
    };
    let reply = replies.iter().find(|reply| reply.mv == mv)?;
    let stands = *reply.stands.first()?;
    let first = *threats.first()?.line.first()?;
    (!stands).then(|| Parried {
        mv: first,
        shown: moves::line(from, &[first], u32::from(from.fullmoves())),
    })
}
