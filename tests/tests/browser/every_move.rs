//! Every legal move at every solver's node that a student can reach, in every
//! puzzle of `puzzles/`, played in the page and compared: with a fresh proof (or
//! search) by the core, and, where something must be forced, with brute force.
//!
//! Source: the rules of the PyPI package `chess` 1.11.2, and every legal move
//! tried to the end (`tests/outside/brute_aims.py`).

use keyproof::resolved::Resolved;
use std::collections::{BTreeMap, BTreeSet};

use keyproof::check::{Goal, Known, Ruling};
use keyproof::draft::Draft;
use keyproof::notation::{fen, moves};
use keyproof::prove::{Prover, Unwatched, Verdict};
use keyproof::puzzle::Stipulation;
use keyproof_tests::browser::{Browser, browse, file_url};
use keyproof_tests::{reference, title};
use serde::Deserialize;
use serde_json::json;
use shakmaty::{Chess, Move, Position};

use crate::{publish, whole_lesson_as_moves};

/// What the page answered to a move.
#[derive(Debug, Deserialize)]
struct Told {
    tone: String,
    text: String,
    /// Once all is played out: the men, as `Ke1 ra8` in order, and whether it
    /// is solved.
    men: String,
    solved: bool,
}

/// Plays each of the moves in the position that a path of the solver's moves
/// leads to, through the line in which a move is typed.
const PLAY: &str = "
const [number, path, moves] = arguments;
const line = deep('.kp-typed input')[0];
const press = (what) => deep(`[data-do='${what}']`)[0].click();
// A click beside the board ends what is being shown.
const end = () => deep('.kp-verdict')[0].click();
const type = (move) => {
  line.value = move;
  line.dispatchEvent(new KeyboardEvent('keydown', { key: 'Enter', bubbles: true, composed: true, cancelable: true }));
  if (line.value) throw new Error(`${move} stays in the line`);
};
const letters = { pawn: 'p', knight: 'n', bishop: 'b', rook: 'r', queen: 'q', king: 'k' };
const men = () => deep('[role=grid] [data-square]').map((cell) => {
  const [, color, man] = cell.getAttribute('aria-label').match(/, (white|black) (\\w+)/) ?? [];
  return man && (color === 'white' ? letters[man].toUpperCase() : letters[man]) + cell.dataset.square;
}).filter(Boolean).sort().join(' ');
const again = () => {
  press('restart');
  for (const move of path) { type(move); end(); }
};
press(number);
again();
return moves.map((move) => {
  type(move);
  const block = deep('.kp-verdict > div')[0];
  const told = { tone: block.className, text: block.querySelector('span').textContent };
  end();
  told.men = men();
  told.solved = deep('.kp-turn')[0].textContent.includes('Solved');
  if (told.tone === 'kp-right') again();
  return told;
});";

/// A solver's node that the page can be brought to: the solver's moves that
/// lead there, and all positions after those.
struct Node {
    path: Vec<String>,
    position: Chess,
    goal: Goal,
    /// After each right move on the way: the position, and what is asked next.
    answered: Vec<(Chess, Goal)>,
}

/// A node that was played through: what was asked, and which moves the page
/// took.
struct Played {
    stipulation: Stipulation,
    position: Chess,
    right: BTreeSet<String>,
}

#[test]
fn every_legal_move_is_judged_rightly() {
    browse("every-move", async |browser| {
        let drafts = whole_lesson_as_moves();
        let file = publish(&drafts, &browser.folder.join("all.html"));
        browser.go(&file_url(&file)).await;
        browser.until_open().await;
        let mut forced = Vec::new();
        let mut judged = 0;
        for (number, draft) in drafts.iter().enumerate() {
            judged += play_through(&browser, number, draft, &mut forced).await;
        }
        browser.assert_no_errors().await;
        assert!(judged > 1500, "only {judged} moves in {}", drafts.len());
        against_brute_force(&forced);
        println!(
            "{judged} moves judged, {} nodes by brute force",
            forced.len()
        );
    });
}

/// Plays every move of one puzzle, and returns how many they were.
async fn play_through(
    browser: &Browser,
    number: usize,
    draft: &Draft,
    forced: &mut Vec<Played>,
) -> usize {
    let puzzle = Resolved::of(draft).into_puzzle().expect("a puzzle");
    let mut fresh = Known::default();
    if Goal::of(&puzzle).forced().is_none() {
        let mut judge = keyproof::check::Judge::new(16 << 20);
        keyproof::check::check(draft, &mut fresh, &mut judge, &mut Unwatched);
    }
    let passed = puzzle.start().fullmoves().get() - 1;
    let mut todo = vec![Node {
        path: Vec::new(),
        position: puzzle.start().clone(),
        goal: Goal::of(&puzzle),
        answered: Vec::new(),
    }];
    let mut seen = BTreeSet::new();
    let mut judged = 0;
    while let Some(node) = todo.pop() {
        if !seen.insert((fen::write(&node.position), format!("{:?}", node.goal))) {
            continue;
        }
        let legal = node.position.legal_moves();
        let typed: Vec<String> = legal.iter().map(|&mv| moves::uci(mv)).collect();
        let told = browser
            .script(PLAY, vec![json!(number), json!(node.path), json!(typed)])
            .await;
        let told: Vec<Told> = serde_json::from_value(told).expect("what the page told");
        assert_eq!(told.len(), legal.len());
        let expected = verdicts(&node, &fresh);
        let mut right = BTreeSet::new();
        for (&mv, told) in legal.iter().zip(&told) {
            let at = format!(
                "{}, {} after {:?}: {told:?}",
                title(draft),
                moves::uci(mv),
                node.path
            );
            let first = node.position.fullmoves().get() - passed;
            let name = moves::line(&node.position, &[mv], first);
            assert!(told.text.starts_with(&name), "{at}");
            let wanted = match expected[&moves::uci(mv)] {
                Some(true) => "kp-right",
                Some(false) => "kp-wrong",
                None => "kp-plain",
            };
            assert_eq!(told.tone, wanted, "{at}");
            if told.tone == "kp-right" {
                right.insert(moves::uci(mv));
                if !told.solved {
                    todo.push(node.then(mv, &told.men).unwrap_or_else(|| panic!("{at}")));
                }
            } else {
                assert_eq!(told.men, men(&node.position), "{at}");
            }
        }
        judged += legal.len();
        if let Some((aim, n)) = node.goal.forced() {
            forced.push(Played {
                stipulation: Stipulation::Forced(aim, n),
                position: node.position,
                right,
            });
        }
    }
    judged
}

impl Node {
    /// The node that the page is at once a right move and what follows it are
    /// played out, by the men that stand there.
    fn then(&self, mv: Move, stand: &str) -> Option<Node> {
        let mut path = self.path.clone();
        path.push(moves::uci(mv));
        let after = self.position.clone().play(mv).expect("a legal move");
        let mut answered = self.answered.clone();
        let node = |position: Chess, goal: Goal, answered: Vec<(Chess, Goal)>| Node {
            path: path.clone(),
            position,
            goal,
            answered,
        };
        let next = self.goal.next();
        if self.goal.shared() {
            // Another solution branches off where a helpmate began.
            let mut all = self.answered.clone();
            all.push((self.position.clone(), self.goal));
            if let Some(goal) = next.filter(|_| men(&after) == stand) {
                return Some(node(after, goal, all));
            }
            let (position, goal) = all.iter().find(|(position, _)| men(position) == stand)?;
            return Some(node(position.clone(), *goal, all.clone()));
        }
        answered.extend(next.map(|goal| (after, goal)));
        let found = answered.iter().rev().find_map(|(after, goal)| {
            let replies = after.legal_moves();
            let mut positions = replies
                .iter()
                .map(|&reply| after.clone().play(reply).expect("a legal move"));
            let position = positions.find(|position| men(position) == stand)?;
            Some((position, *goal))
        });
        let (position, goal) = found?;
        Some(node(position, goal, answered))
    }
}

/// Whether each legal move at a node is right, by the core, asked afresh.
fn verdicts(node: &Node, fresh: &Known) -> BTreeMap<String, Option<bool>> {
    if let Some((aim, n)) = node.goal.forced() {
        return Prover::new(16 << 20)
            .judge_aim(aim, &node.position, n, None, &mut Unwatched)
            .into_iter()
            .map(|(mv, verdict)| {
                let right = match verdict {
                    Verdict::Forces { .. } => true,
                    Verdict::Fails { .. } => false,
                    Verdict::Unknown { .. } => panic!("undecided without a budget"),
                };
                (moves::uci(mv), Some(right))
            })
            .collect();
    }
    let ruled = |mv: Move| fresh.ruling(&node.position, node.goal, mv);
    node.position
        .legal_moves()
        .into_iter()
        .map(|mv| {
            let right = match ruled(mv) {
                Some(Ruling::Holds { .. }) => Some(true),
                Some(Ruling::Fails { .. }) => Some(false),
                Some(Ruling::Open { .. }) | None => None,
            };
            (moves::uci(mv), right)
        })
        .collect()
}

/// Compares what the page took with brute force.
fn against_brute_force(forced: &[Played]) {
    #[derive(Deserialize)]
    struct Judged {
        keys: BTreeMap<String, u8>,
    }
    let input: String = forced
        .iter()
        .map(|played| format!("{} {}\n", played.stipulation, fen::write(&played.position)))
        .collect();
    let printed = reference::python("brute_aims.py", &[], &input);
    let judged: Vec<Judged> = serde_json::from_str(&printed).expect("JSON");
    assert_eq!(judged.len(), forced.len());
    for (played, judged) in forced.iter().zip(judged) {
        let keys: BTreeSet<String> = judged.keys.into_keys().collect();
        let at = format!("{} {}", played.stipulation, fen::write(&played.position));
        assert_eq!(played.right, keys, "{at}");
    }
}

/// The men of a position as the script above names them.
fn men(position: &Chess) -> String {
    let mut men: Vec<String> = position
        .board()
        .iter()
        .map(|(square, piece)| format!("{}{square}", piece.char()))
        .collect();
    men.sort();
    men.join(" ")
}
