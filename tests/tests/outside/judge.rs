//! The checker against brute force: seeded positions with authors' trees, some
//! complete, some with moves left out, some with wrong claims, judged by the
//! core and by `tests/outside/brute.py`, which knows nothing of the core. No
//! difference is allowed, neither in keys and lengths nor in findings.
//!
//! Source: the rules of the PyPI package `chess` 1.11.2, and every legal move
//! tried to the end.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use keyproof::check::Kind;
use keyproof::draft::{Draft, Edit, NodeId};
use keyproof::notation::{fen, moves, pgn_write};
use keyproof::prove::{Prover, Unwatched, Verdict};
use keyproof_tests::{check, games, parse, pgn_files, reference, snake_case, title};
use serde::Deserialize;
use shakmaty::{Chess, Move, Position};

use crate::length;

/// Puzzles compared.
const PUZZLES: usize = 250;

/// What brute force says about one puzzle.
#[derive(Deserialize)]
struct Judged {
    keys: BTreeMap<String, u8>,
    /// Kind, weight, path, move.
    findings: Vec<(String, String, Vec<String>, String)>,
}

impl Judged {
    fn summaries(&self) -> Vec<String> {
        let or_none = |text: String| {
            if text.is_empty() {
                "-".to_owned()
            } else {
                text
            }
        };
        let mut lines: Vec<String> = self
            .findings
            .iter()
            .map(|(kind, weight, path, mv)| {
                format!(
                    "{weight} {kind} {} {}",
                    or_none(path.join(".")),
                    or_none(mv.clone())
                )
            })
            .collect();
        lines.sort();
        lines
    }
}

#[test]
fn seeded_puzzles_are_judged_alike() {
    let mut random = Random(0x6b65_7970_726f_6f66);
    let drafts: Vec<Draft> = (0..PUZZLES).map(|i| puzzle(&mut random, i)).collect();
    let counts = compare(&drafts);
    for kind in [
        "fault no_solution",
        "fault cook",
        "remark dual",
        "fault dual",
        "fault short_solution",
        "remark short_solution",
        "fault unanswered_defence",
        "remark unanswered_defence",
        "fault failing_answer",
        "fault working_try",
        "fault failing_refutation",
        "fault ambiguous_variation",
        "fault unfinished_solution",
    ] {
        let count = counts.get(kind).copied().unwrap_or(0);
        assert!(count >= 5, "{kind} came up {count} times only: {counts:?}");
    }
}

/// The corpus and the demo lesson a second time, as far as they are puzzles.
#[test]
fn corpus_and_lesson_are_judged_alike() {
    let files = pgn_files("tests/corpus")
        .into_iter()
        .chain(pgn_files("puzzles"));
    let drafts: Vec<Draft> = files
        .flat_map(|file| games(&file))
        .filter(|draft| {
            let resolution = draft.resolve();
            let stipulation = draft.tag("Stipulation").unwrap_or_default();
            resolution.start.is_ok()
                && resolution.faults.is_empty()
                && stipulation
                    .strip_prefix('#')
                    .is_some_and(|n| n.parse().is_ok_and(|n: u8| n > 0))
        })
        .collect();
    assert!(drafts.len() >= 40, "only {} puzzles", drafts.len());
    compare(&drafts);
}

/// Judges drafts both ways, and counts what was found by weight and kind.
fn compare(drafts: &[Draft]) -> BTreeMap<String, usize> {
    let pgn: String = drafts.iter().map(pgn_write::write).collect();
    let judged: Vec<Judged> =
        serde_json::from_str(&reference::python("brute.py", &["-"], &pgn)).expect("JSON");
    assert_eq!(judged.len(), drafts.len());
    let mut wrong = String::new();
    let mut counts = BTreeMap::new();
    for (draft, judged) in drafts.iter().zip(&judged) {
        let found = by_move(draft);
        for line in &found {
            let kind = line.split(' ').take(2).collect::<Vec<_>>().join(" ");
            *counts.entry(kind).or_default() += 1;
        }
        let keys = keys(draft);
        if keys != judged.keys || found != judged.summaries() {
            let _ = write!(
                wrong,
                "{}\n{}core:  {keys:?} {found:?}\nbrute: {:?} {:?}\n\n",
                title(draft),
                pgn_write::write(draft),
                judged.keys,
                judged.summaries()
            );
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
    counts
}

/// The core's findings about moves, once for each move at fault. What it finds of
/// the author's words is no matter of the rules.
fn by_move(draft: &Draft) -> Vec<String> {
    let mut lines = Vec::new();
    let findings = check(draft).findings.into_iter();
    for finding in findings.filter(|finding| finding.kind != Kind::EmptyMention) {
        let weight = snake_case(&finding.weight);
        let kind = snake_case(&finding.kind);
        let path = match finding.path.as_slice() {
            [] => "-".to_owned(),
            path => path.join("."),
        };
        let moves = match finding.moves.as_slice() {
            [] => vec!["-".to_owned()],
            moves => moves.to_vec(),
        };
        lines.extend(
            moves
                .iter()
                .map(|mv| format!("{weight} {kind} {path} {mv}")),
        );
    }
    lines.sort();
    lines
}

fn keys(draft: &Draft) -> BTreeMap<String, u8> {
    let resolution = draft.resolve();
    let start = resolution.start.expect("a legal position");
    let n = draft.tag("Stipulation").expect("a stipulation")[1..]
        .parse()
        .expect("a number");
    judge(&start, n)
        .into_iter()
        .filter_map(|(mv, length)| Some((moves::uci(mv), length?)))
        .collect()
}

/// Every legal move with the length of the mate it forces, if any.
fn judge(position: &Chess, n: u8) -> Vec<(Move, Option<u8>)> {
    Prover::new(1 << 20)
        .judge(position, n, None, &mut Unwatched)
        .into_iter()
        .map(|(mv, verdict): (Move, Verdict)| (mv, length(&verdict)))
        .collect()
}

/// A seeded puzzle: a position with few men and a tree as an author might
/// leave it.
fn puzzle(random: &mut Random, number: usize) -> Draft {
    let (position, n) = loop {
        let n = [1, 1, 2, 2, 2, 2, 3][random.below(7)];
        let men = if n == 3 { 5 } else { 10 };
        let Some(position) = random_position(random, men) else {
            continue;
        };
        let solved = judge(&position, n)
            .iter()
            .any(|(_, length)| length.is_some());
        if solved || random.chance(4) {
            break (position, n);
        }
    };
    let mut draft = Draft::new();
    let mut tag = |name: &str, value: String| {
        let edit = Edit::SetTag {
            name: name.to_owned(),
            value: Some(value),
        };
        draft.apply(&edit).expect("a tag can be set");
    };
    tag("Event", format!("Seeded puzzle {number}"));
    tag("FEN", fen::write(&position));
    tag("SetUp", "1".to_owned());
    tag("Stipulation", format!("#{n}"));
    if random.chance(25) {
        tag("Uniqueness", "every move".to_owned());
    }
    if random.chance(15) {
        tag("Question", "threat".to_owned());
    }
    if !random.chance(3) {
        Author {
            draft: &mut draft,
            random,
        }
        .turn(NodeId::ROOT, &position, n, false);
    }
    let again = parse(&pgn_write::write(&draft), title(&draft));
    assert!(
        again.len() == 1 && again[0] == draft,
        "{}",
        pgn_write::write(&draft)
    );
    draft
}

/// Writes solution trees with the faults that authors make.
struct Author<'a> {
    draft: &'a mut Draft,
    random: &'a mut Random,
}

impl Author<'_> {
    /// The solver's moves at a node, `n` moves left.
    fn turn(&mut self, at: NodeId, position: &Chess, n: u8, below_try: bool) {
        let judged = judge(position, n);
        let (mut good, mut bad): (Vec<Move>, Vec<Move>) = (Vec::new(), Vec::new());
        for (mv, length) in judged {
            if length.is_some() {
                good.push(mv)
            } else {
                bad.push(mv)
            }
        }
        self.random.shuffle(&mut good);
        self.random.shuffle(&mut bad);
        let main = if !good.is_empty() && self.random.chance(85) {
            good.pop()
        } else {
            bad.pop()
        };
        let Some(main) = main.or_else(|| good.pop()) else {
            return;
        };
        if self.random.chance(5) {
            self.a_try(at, position, main, n);
        } else {
            let glyphs: &[u8] = if self.random.chance(30) { &[1] } else { &[] };
            self.accepted(at, position, main, n, glyphs, below_try);
        }
        if below_try {
            return;
        }
        for mv in good {
            match self.random.below(100) {
                0..60 => {
                    let glyph = [1, 3, 7, 8][self.random.below(4)];
                    self.accepted(at, position, mv, n, &[glyph], below_try);
                }
                60..70 => self.a_try(at, position, mv, n),
                70..76 => self.unclear(at, position, mv),
                _ => {}
            }
        }
        for mv in bad.into_iter().take(3) {
            match self.random.below(100) {
                0..50 => self.a_try(at, position, mv, n),
                50..58 => self.accepted(at, position, mv, n, &[1], below_try),
                58..64 => self.unclear(at, position, mv),
                _ => {}
            }
        }
    }

    fn accepted(
        &mut self,
        at: NodeId,
        position: &Chess,
        mv: Move,
        n: u8,
        glyphs: &[u8],
        below_try: bool,
    ) {
        let (node, after) = self.add(at, position, mv, glyphs);
        if n == 1 || self.random.chance(6) {
            return;
        }
        let mut defences: Vec<Move> = after.legal_moves().into_iter().collect();
        self.random.shuffle(&mut defences);
        let share = [30, 60, 90, 100][self.random.below(4)];
        for defence in defences.into_iter().take(8) {
            if !self.random.chance(share) {
                continue;
            }
            let (reply, then) = self.add(node, &after, defence, &[]);
            if !self.random.chance(6) {
                self.turn(reply, &then, n - 1, below_try);
            }
        }
    }

    fn a_try(&mut self, at: NodeId, position: &Chess, mv: Move, n: u8) {
        let glyph = [2, 4, 6][self.random.below(3)];
        let (node, after) = self.add(at, position, mv, &[glyph]);
        let mut replies: Vec<Move> = after.legal_moves().into_iter().collect();
        self.random.shuffle(&mut replies);
        if self.random.chance(60) {
            let real = Prover::new(1 << 20).refutations(&after, n - 1, &mut Unwatched);
            replies.extend(real.expect("no budget").first());
        }
        let Some(reply) = replies.pop() else {
            return;
        };
        if self.random.chance(80) {
            let (refutation, then) = self.add(node, &after, reply, &[]);
            if self.random.chance(20) {
                let next = then.legal_moves().first().copied();
                next.map(|next| self.add(refutation, &then, next, &[]));
            }
        }
        if n > 1 && self.random.chance(30) {
            for defence in replies.into_iter().take(2).filter(|&r| r != reply) {
                let (answered, then) = self.add(node, &after, defence, &[2]);
                if self.random.chance(90) {
                    self.turn(answered, &then, n - 1, true);
                }
            }
        }
    }

    /// A side line that says neither whether it is accepted nor a try.
    fn unclear(&mut self, at: NodeId, position: &Chess, mv: Move) {
        let glyphs: &[u8] = [&[][..], &[5], &[1, 2]][self.random.below(3)];
        let (node, after) = self.add(at, position, mv, glyphs);
        if let Some(&reply) = after.legal_moves().first() {
            self.add(node, &after, reply, &[]);
        }
    }

    fn add(&mut self, at: NodeId, position: &Chess, mv: Move, glyphs: &[u8]) -> (NodeId, Chess) {
        let line = Edit::AddLine {
            at,
            moves: vec![moves::san(position, mv)],
            nags: glyphs.to_vec(),
        };
        let node = self.draft.apply(&line).expect("a legal move can be added");
        let mut after = position.clone();
        after.play_unchecked(mv);
        (node, after)
    }
}

/// A legal position with at most `most` men, often with castling rights, an
/// en passant capture or a pawn about to promote; `None` if the draw failed.
fn random_position(random: &mut Random, most: usize) -> Option<Chess> {
    let mut board = [None; 64];
    let mut put = |square: usize, man: char| {
        let free = board[square].is_none();
        let pawn = matches!(man, 'P' | 'p');
        if free && (!pawn || (8..56).contains(&square)) {
            board[square] = Some(man);
        }
        free
    };
    let white = random.chance(50);
    let mut castling = String::new();
    let mut en_passant = "-".to_owned();
    match random.below(6) {
        0 => {
            put(4, 'K');
            put(7, 'R');
            put(0, 'R');
            castling.push_str("KQ");
        }
        1 => {
            let file = 1 + random.below(6);
            put(32 + file, 'p');
            put(32 + file - 1, 'P');
            en_passant = format!("{}6", (b'a' + file as u8) as char);
        }
        2 => {
            let file = random.below(8);
            put(48 + file, 'P');
        }
        _ => {}
    }
    if castling.is_empty() {
        put(random.below(64), 'K');
    }
    let edge = [
        0, 1, 2, 3, 4, 5, 6, 7, 8, 15, 24, 31, 48, 55, 56, 57, 58, 60, 62, 63,
    ];
    put(
        if random.chance(80) {
            edge[random.below(edge.len())]
        } else {
            random.below(64)
        },
        'k',
    );
    let men = ['Q', 'R', 'B', 'N', 'P'];
    let count = 2 + random.below(most.saturating_sub(4).max(1));
    for i in 0..count {
        let man = men[random.below(men.len())];
        let ours = i < 2 || random.chance(45);
        put(
            random.below(64),
            if ours { man } else { man.to_ascii_lowercase() },
        );
    }
    let ranks: Vec<String> = (0..8)
        .rev()
        .map(|rank| placement(&board[8 * rank..8 * rank + 8]))
        .collect();
    let castling = if castling.is_empty() {
        "-".to_owned()
    } else {
        castling
    };
    let text = format!("{} w {castling} {en_passant} 0 1", ranks.join("/"));
    let text = if white { text } else { flipped(&text) };
    let position = fen::read(&text).ok()?;
    (!position.is_game_over()).then_some(position)
}

fn placement(rank: &[Option<char>]) -> String {
    let mut text = String::new();
    let mut empty = 0;
    for square in rank {
        match square {
            Some(man) => {
                if empty > 0 {
                    text.push_str(&empty.to_string());
                }
                empty = 0;
                text.push(*man);
            }
            None => empty += 1,
        }
    }
    if empty > 0 {
        text.push_str(&empty.to_string());
    }
    text
}

/// The same position with the sides exchanged.
fn flipped(fen: &str) -> String {
    let fields: Vec<&str> = fen.split(' ').collect();
    let swap = |text: &str| -> String {
        text.chars()
            .map(|c| {
                if c.is_ascii_uppercase() {
                    c.to_ascii_lowercase()
                } else {
                    c.to_ascii_uppercase()
                }
            })
            .collect()
    };
    let board: Vec<String> = fields[0].rsplit('/').map(swap).collect();
    let en_passant = fields[3].replace('6', "3");
    format!("{} b {} {en_passant} 0 1", board.join("/"), swap(fields[2]))
}

/// A seeded generator (SplitMix64, Steele, Lea and Flood 2014).
struct Random(u64);

impl Random {
    fn draw(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn below(&mut self, end: usize) -> usize {
        (self.draw() % end as u64) as usize
    }

    fn chance(&mut self, percent: usize) -> bool {
        self.below(100) < percent
    }

    fn shuffle<T>(&mut self, items: &mut [T]) {
        for i in (1..items.len()).rev() {
            items.swap(i, self.below(i + 1));
        }
    }
}
