//! Hints as they might be written, for the author to take.

use keyproof::explain::{Explanation, ReasonKind};
use keyproof::moments;
use keyproof::notation::moves;
use shakmaty::Chess;

/// The drafts, each telling more than the one before; none where nothing is explained.
/// Says them in the language that is spoken, which must be that of the explanation.
pub fn drafts(position: &Chess, explanation: &Explanation) -> Vec<String> {
    let key = explanation.line.first();
    let Some(key) = key.and_then(|uci| moves::read_uci(position, uci)) else {
        return vec![];
    };
    let no_idea = |title: &str| {
        let mut kinds = ReasonKind::ALL.iter();
        let none = |kind: &&ReasonKind| !kind.is_theme() || **kind == ReasonKind::QuietMove;
        kinds.any(|kind| none(&kind) && kind.title() == title)
    };
    let mut ideas = explanation.whys.iter();
    let idea = ideas.find(|why| why.at == 0 && !why.threat && !no_idea(&why.title));
    moments::hints(position, key, idea.map(|why| &why.title[..]))
}
