//! Every legal move at every solver's node that a student can reach, in every
//! puzzle of `puzzles/`, played in the page and compared: with a fresh proof (or
//! search) by the core, and, where something must be forced, with brute force.
//!
//! Source: the rules of the PyPI package `chess` 1.11.2, and every legal move
//! tried to the end (`tests/outside/brute_aims.py`). First moves of random puzzles are
//! compared with the brute force of `crates/campaign`, over the rules of shakmaty.

use keyproof::resolved::Resolved;
use std::collections::{BTreeMap, BTreeSet};

use campaign::brute::{self, Brute};
use campaign::by_lines::seeded;
use campaign::strata::{Bounds, Stratum};
use keyproof::check::{self, Goal, Judge, Known, Ruling, Soundness};
use keyproof::draft::Draft;
use keyproof::notation::{fen, moves};
use keyproof::prove::{Aim, Prover, Unwatched, Verdict};
use keyproof::puzzle::Stipulation;
use keyproof_tests::browser::{Browser, browse, file_url};
use keyproof_tests::{reference, title};
use serde::Deserialize;
use serde_json::json;
use shakmaty::{Chess, Move, Position};

use crate::{lay_out, publish, whole_lesson_as_moves};

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
const [line, verdict, turn, grid] = ['.kp-typed input', '.kp-verdict', '.kp-turn', '[role=grid]'].map((part) => deep(part)[0]);
const press = (what) => deep(`[data-do='${what}']`)[0].click();
// A click beside the board ends what is being shown.
const end = () => verdict.click();
const type = (move) => {
  line.value = move;
  line.dispatchEvent(new KeyboardEvent('keydown', { key: 'Enter', bubbles: true, composed: true, cancelable: true }));
  if (line.value) throw new Error(`${move} stays in the line`);
};
const letters = { pawn: 'p', knight: 'n', bishop: 'b', rook: 'r', queen: 'q', king: 'k' };
const men = () => [...grid.querySelectorAll('[data-square]')].map((cell) => {
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
  const block = verdict.querySelector('div');
  const told = { tone: block.className, text: block.querySelector('span').textContent };
  end();
  told.men = men();
  told.solved = turn.textContent.includes('Solved');
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
        let mut judge = Judge::new(16 << 20);
        check::check(draft, &mut fresh, &mut judge, &mut Unwatched);
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

/// First moves of random puzzles that are played at least.
const FIRST_MOVES: usize = 10_000;

/// What is asked of random positions, and how rich they may be.
const ASKED: [(Aim, u8, Bounds); 6] = [
    (Aim::Mate, 2, rich(40)),
    (Aim::Mate, 1, rich(40)),
    (Aim::Mate, 2, rich(40)),
    (Aim::Mate, 3, rich(20)),
    (Aim::Selfmate, 2, rich(20)),
    (Aim::Stalemate, 2, rich(20)),
];

const fn rich(most: usize) -> Bounds {
    Bounds {
        moves: most,
        replies: most,
    }
}

/// Puzzles that lie in one file: a longer list takes the page longer to draw.
const IN_A_FILE: usize = 12;

/// A sound puzzle of a random position, and its key.
struct Found {
    draft: Draft,
    known: Known,
    position: Chess,
    asked: (Aim, u8),
}

/// Sound puzzles of random positions of every stratum that the prover's campaign has, all
/// their first moves played in the page, and compared with the brute force of the campaign.
/// `KEYPROOF_SEED=N` asks for other positions.
#[test]
fn first_moves_of_random_sound_puzzles_are_judged_rightly() {
    browse("random-moves", async |browser| {
        let mut drawn = Drawn::new();
        let (mut judged, mut puzzles) = (0, 0);
        while judged < FIRST_MOVES {
            let found: Vec<Found> = drawn.by_ref().take(IN_A_FILE).collect();
            let drafts: Vec<Draft> = found.iter().map(|f| f.draft.clone()).collect();
            let known: Vec<_> = found.iter().map(|f| (f.known.clone(), None)).collect();
            let file = lay_out(&drafts, &known, &browser.folder.join("random.html"));
            browser.go(&file_url(&file)).await;
            browser.script("localStorage.clear();", vec![]).await;
            browser.reload().await;
            browser.until_open().await;
            for (number, found) in found.iter().enumerate() {
                judged += play_first_moves(&browser, number, found).await;
            }
            puzzles += found.len();
        }
        browser.assert_no_errors().await;
        println!(
            "{judged} first moves of {puzzles} puzzles of {} positions",
            drawn.looked_at
        );
    });
}

/// Plays every first move of one puzzle, and returns how many they were.
async fn play_first_moves(browser: &Browser, number: usize, found: &Found) -> usize {
    let legal = found.position.legal_moves();
    let typed: Vec<String> = legal.iter().map(|&mv| moves::uci(mv)).collect();
    let told = browser.script(PLAY, vec![json!(number), json!([]), json!(typed)]);
    let told: Vec<Told> = serde_json::from_value(told.await).expect("what the page told");
    assert_eq!(told.len(), legal.len());
    for (&mv, told) in legal.iter().zip(&told) {
        let right = match by_brute_force(found, mv) {
            true => "kp-right",
            false => "kp-wrong",
        };
        let at = || format!("{}, {}: {told:?}", title(&found.draft), moves::uci(mv));
        assert_eq!(told.tone, right, "{}", at());
        assert!(
            told.text
                .starts_with(&moves::line(&found.position, &[mv], 1)),
            "{}",
            at()
        );
    }
    legal.len()
}

/// Whether a first move does what is asked, every move tried to the end.
fn by_brute_force(found: &Found, mv: Move) -> bool {
    let (aim, n) = found.asked;
    let after = brute::played(&found.position, mv);
    let mut brute = Brute::new(u64::MAX);
    let right = match aim {
        Aim::Mate => brute.wins(&after, n - 1),
        Aim::Selfmate => brute.selfmates(&after, n),
        Aim::Stalemate => brute.stalemates(&after, n),
        Aim::Helpmate | Aim::Gain(_) => unreachable!("it is not asked"),
    };
    right.expect("no limit")
}

/// Sound puzzles, drawn from the strata by turns.
struct Drawn {
    seed: u64,
    looked_at: usize,
}

impl Drawn {
    fn new() -> Drawn {
        let seed = std::env::var("KEYPROOF_SEED").ok();
        let seed = seed.map_or(1, |seed| seed.parse().expect("a number"));
        Drawn { seed, looked_at: 0 }
    }
}

impl Iterator for Drawn {
    type Item = Found;

    fn next(&mut self) -> Option<Found> {
        loop {
            let i = self.looked_at;
            self.looked_at += 1;
            let stratum = Stratum::ALL[i % Stratum::ALL.len()];
            let round = i / Stratum::ALL.len();
            let (aim, n, most) = ASKED[round % ASKED.len()];
            let mut random = seeded(stratum, self.seed, round as u64);
            let position = stratum.draw(&mut random, aim, most);
            let name = format!("{} {i}", stratum.name());
            if let Some(found) = sound(&name, position, aim, n) {
                return Some(found);
            }
        }
    }
}

/// The puzzle that a position is, its solution filled in, if it is a sound one.
fn sound(name: &str, position: Chess, aim: Aim, n: u8) -> Option<Found> {
    let mut prover = Prover::new(1 << 20);
    let verdicts = prover.judge_aim(aim, &position, n, None, &mut Unwatched);
    let mut keys = verdicts
        .into_iter()
        .filter_map(|(mv, verdict)| match verdict {
            Verdict::Forces { .. } => Some(mv),
            _ => None,
        });
    let (key, None) = (keys.next()?, keys.next()) else {
        return None;
    };
    let text = format!(
        "[Event \"{name}\"]\n[FEN \"{}\"]\n[Stipulation \"{}\"]\n\n{} *\n",
        fen::write(&position),
        Stipulation::Forced(aim, n),
        moves::line(&position, &[key], position.fullmoves().get()),
    );
    let mut draft = keyproof_tests::parse(&text, name).remove(0);
    let (mut known, mut judge) = (Known::default(), Judge::new(1 << 20));
    loop {
        let report = check::check(&draft, &mut known, &mut judge, &mut Unwatched);
        let filling = check::fill(&Resolved::of(&draft), &known);
        for question in &filling.questions {
            known.learn(&judge.answer(question, &mut Unwatched));
        }
        match filling.draft {
            Some(filled) => draft = filled,
            None if !filling.questions.is_empty() => {}
            None if report.verdict == Soundness::Sound => break,
            None => return None,
        }
    }
    Some(Found {
        draft,
        known,
        position,
        asked: (aim, n),
    })
}
