//! Hints as they might be written, for the author to take: what the key does, which man
//! moves, and where it goes.

use keyproof::explain::{Explanation, ReasonKind};
use keyproof::notation::moves;
use keyproof::tongue::{say, tr};
use shakmaty::{Chess, Position, Role};

/// The drafts, each telling more than the one before; none where nothing is explained.
/// Says them in the language that is spoken, which must be that of the explanation.
pub fn drafts(position: &Chess, explanation: &Explanation) -> Vec<String> {
    let key = explanation.line.first();
    let Some(key) = key.and_then(|uci| moves::read_uci(position, uci)) else {
        return vec![];
    };
    let mut after = position.clone();
    after.play_unchecked(key);
    let no_ideas = [
        ReasonKind::OnlyMove,
        ReasonKind::MoveOrder,
        ReasonKind::ParriedThreat,
        ReasonKind::QuietMove,
    ]
    .map(ReasonKind::title);
    let mut ideas = explanation
        .whys
        .iter()
        .filter(|why| why.at == 0 && !why.threat && !no_ideas.contains(&&why.title[..]));
    let idea = match ideas.next() {
        Some(why) => say!("The idea: {theme}.", theme = why.title),
        None if after.is_check() => tr("Look at the checks.").to_owned(),
        None if key.is_capture() => tr("Look at what may be taken.").to_owned(),
        None => tr("Neither a check nor a capture.").to_owned(),
    };
    if key.is_castle() {
        return vec![idea, tr("The king and a rook move together.").to_owned()];
    }
    let man = match key.role() {
        Role::Pawn => tr("It is a move of the pawn."),
        Role::Knight => tr("It is a move of the knight."),
        Role::Bishop => tr("It is a move of the bishop."),
        Role::Rook => tr("It is a move of the rook."),
        Role::Queen => tr("It is a move of the queen."),
        Role::King => tr("It is a move of the king."),
    };
    let square = key.to().to_string();
    vec![
        idea,
        man.to_owned(),
        say!("It goes to {square}.", square = square),
    ]
}
