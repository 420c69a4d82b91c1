//! Bringing a moment that was found into the game it was found in, so that the
//! lesson asks there.

use model::resolved::Resolved;
use shakmaty::Move;

use crate::Moment as Found;
use crate::spoilers::remove_spoilers;
use model::draft::{Draft, Edit, NodeId};
use model::lesson::{Moment, Place, asking, moments};
use model::notation::moves;
use model::puzzle::{Puzzle, Role, Stipulation};

/// The game with a question at a moment that was found, and what it asks there.
/// `puzzle` is what was made of the moment ([`crate::puzzle`]): its
/// moves become variations, marked as what they are; the game's own move is
/// marked if it is wrong; words come behind the author's own, but none that tell
/// the answer to a later question; hints, margins, task and themes become tags of the
/// moment's own. The game's line stays as it is. `others` are the other moments that were found: the
/// words of those brought before give nothing away either, so the order does not
/// matter.
/// `None` if the moment is none of this game, if the game's own move is told to be neither
/// right nor wrong, or if the tag of the moments has faults.
pub fn bring(
    game: &Draft,
    found: &Found,
    puzzle: &Draft,
    others: &[Found],
) -> Option<(Draft, Moment)> {
    let (resolved, pattern) = (Resolved::of(game), Resolved::of(puzzle));
    let position = resolved.position(found.node)?;
    let stipulation = Stipulation::read(&found.stipulation)?;
    let moment = Moment {
        place: Place::of(position),
        node: found.node,
        stipulation,
        turns: match stipulation.forced() {
            Some((_, n)) => n,
            None => turns(&resolved, &pattern, found.node),
        },
    };
    let mut asked = moments(&resolved).ok()?;
    asked.retain(|other| other.node != moment.node);
    asked.push(moment);
    asked.sort_by_key(|m| (m.place.number, m.place.side.is_black()));

    if tells_of_the_games_move(found, pattern.puzzle().ok()?) {
        return None;
    }
    let mut draft = graft(&resolved, found, &pattern, others)?;
    mark_the_games_move(&mut draft, found);
    let all: Vec<&Found> = others.iter().chain([found]).collect();
    remove_spoilers(&mut draft, &asked, &all);
    draft.apply(&asking(&asked)).ok()?;
    for (name, value) in puzzle.tags() {
        let its_own = name.starts_with("Hint")
            || matches!(name.as_str(), "Margins" | "Task" | "Themes" | "Difficulty");
        let name = moment.place.own_tag(name);
        if its_own && draft.tag(&name).is_none() {
            draft.set_tag(&name, Some(value));
        }
    }
    Some((draft, moment))
}

/// The solver's moves for which the game goes the puzzle's way, at least 1.
fn turns(game: &Resolved, puzzle: &Resolved, from: NodeId) -> u8 {
    let next = |line: &Resolved, at: NodeId| {
        let first = *line.draft().node(at)?.children.first()?;
        Some((first, line.step(first)?.mv))
    };
    let (mut at, mut beside, mut plies) = (from, NodeId::ROOT, 0u8);
    while let (Some(here), Some(there)) = (next(game, at), next(puzzle, beside))
        && here.1 == there.1
        && plies < u8::MAX
    {
        plies += 1;
        (at, beside) = (here.0, there.0);
    }
    plies.div_ceil(2).max(1)
}

/// Whether the puzzle has words at the game's move that say it is neither right nor
/// wrong: at the first move of a line there is no saying that.
fn tells_of_the_games_move(found: &Found, puzzle: &Puzzle) -> bool {
    let played = moves::read_uci(puzzle.start(), &found.played.named.uci);
    let listed = played.and_then(|mv| puzzle.child(NodeId::ROOT, mv));
    listed.is_some_and(|id| puzzle.node(id).role == Role::Unclear)
}

/// The game with the moves of a puzzle below the moment's node. A defence that stands
/// where another moment asks is a try there.
fn graft(game: &Resolved, found: &Found, pattern: &Resolved, others: &[Found]) -> Option<Draft> {
    let mut draft = game.draft().clone();
    let (puzzle, roles) = (pattern.draft(), pattern.puzzle().ok()?);
    let mut todo = vec![(NodeId::ROOT, found.node)];
    while let Some((from, to)) = todo.pop() {
        for (i, &child) in puzzle.node(from)?.children.iter().enumerate() {
            let Some(step) = pattern.step(child) else {
                continue;
            };
            let node = puzzle.node(child)?;
            let listed = draft.node(to)?.children.clone();
            let plays = |&other: &NodeId| game.step(other).is_some_and(|there| there.mv == step.mv);
            let there = listed.iter().copied().find(plays);
            let at = match there {
                Some(at) => at,
                None => draft
                    .apply(&Edit::AddLine {
                        at: to,
                        moves: vec![node.text.clone()],
                        nags: node.nags.clone(),
                    })
                    .ok()?,
            };
            let role = roles.node(child).role;
            let accepted = matches!(role, Role::Key | Role::Continuation);
            let right = accepted && (i == 0 || from == NodeId::ROOT);
            let fails = role == Role::Defence && is_wrong(others, to, step.mv);
            let aside = listed.first().is_some_and(|&main| main != at);
            let copy = draft.node_mut(at).ok()?;
            if !copy.nags.iter().any(|nag| matches!(nag, 1..=8)) {
                if right && aside {
                    copy.nags.insert(0, GOOD);
                } else if node.is_poor() {
                    copy.nags.clone_from(&node.nags);
                } else if fails && aside {
                    copy.nags.insert(0, POOR);
                }
            }
            let fresh = node.after.iter().filter(|text| !copy.after.contains(text));
            let fresh: Vec<String> = fresh.cloned().collect();
            copy.after.extend(fresh);
            todo.push((child, at));
        }
    }
    Some(draft)
}

/// Whether a move is wrong where one of these moments asks.
fn is_wrong(moments: &[Found], at: NodeId, mv: Move) -> bool {
    let Some(asked) = moments.iter().find(|moment| moment.node == at) else {
        return false;
    };
    let uci = moves::uci(mv);
    let mut accepted = asked.accepted.iter();
    !accepted.any(|accepted| accepted.named.uci == uci)
        && !asked.open.iter().any(|open| open.uci == uci)
}

/// Marks the move that was played as wrong, if it is known to be.
fn mark_the_games_move(draft: &mut Draft, found: &Found) {
    let uci = &found.played.named.uci;
    let open = found.open.iter().any(|open| open.uci == *uci);
    if found.played.right || open {
        return;
    }
    let played = draft
        .node(found.node)
        .and_then(|node| node.children.first().copied());
    let Some(Ok(node)) = played.map(|played| draft.node_mut(played)) else {
        return;
    };
    if !node.is_poor() {
        node.nags.retain(|nag| !matches!(nag, 1 | 3 | 7 | 8));
        node.nags.insert(0, POOR);
    }
}

/// Glyphs of the PGN standard: a good move, a poor one.
const GOOD: u8 = 1;
const POOR: u8 = 2;
