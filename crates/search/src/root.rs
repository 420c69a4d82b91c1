//! What happens at the root: deepening, several lines, mates confirmed.

use shakmaty::{Chess, EnPassantMode, Move, Position, zobrist::Zobrist64};

use super::node::Node;
use super::table::Code;
use super::tree::{INFINITE, MATES, Stopped, Tree};
use super::{Answer, BoundTest, Grade, Limits, Line, MOST_DEPTH, Search, Value};
use prove::{Prover, Unwatched, Verdict, Watch};
use tables::{Outcome, TableResult, Tables};

/// How a place among the best lines changed from depth to depth.
#[derive(Clone, Default)]
struct Trail {
    m: Option<Move>,
    changes: u8,
    values: Vec<i32>,
}

/// Over so many depths, the last ones, a value's swing is measured.
const SWINGING: usize = 4;

impl Trail {
    fn add(&mut self, first: &First) {
        if self.m.is_some_and(|m| m != first.m) {
            self.changes = self.changes.saturating_add(1);
        }
        self.m = Some(first.m);
        self.values.push(first.value);
    }

    fn swing(&self) -> i32 {
        let last = &self.values[self.values.len().saturating_sub(SWINGING)..];
        match (last.iter().max(), last.iter().min()) {
            (Some(most), Some(least)) => most - least,
            _ => 0,
        }
    }
}

/// A first move with what the deepest finished search says of it.
struct First {
    m: Move,
    value: i32,
    depth: u8,
    line: Vec<Move>,
}

pub(super) fn lines(
    search: &mut Search,
    position: &Chess,
    history: &[Chess],
    limits: &Limits,
    watch: &mut dyn Watch,
) -> Vec<Line> {
    let wanted = |m: &Move| limits.moves.as_ref().is_none_or(|only| only.contains(m));
    if let Some(mut moves) = search.tables.best_moves(position, watch) {
        moves.retain(|(m, _)| wanted(m));
        moves.truncate(limits.lines);
        return moves
            .into_iter()
            .map(|(m, result)| from_table(&search.tables, position, m, result))
            .collect();
    }
    if let Some(mut lines) = by_larger(search, position, watch) {
        lines.retain(|line| wanted(&line.moves[0]));
        lines.truncate(limits.lines);
        return lines;
    }
    let root = Node::new(position);
    let mut firsts: Vec<First> = position
        .legal_moves()
        .into_iter()
        .filter(wanted)
        .map(|m| First {
            m,
            value: -INFINITE,
            depth: 0,
            line: vec![m],
        })
        .collect();
    let wanted = limits.lines.min(firsts.len());
    search.table.age();
    search.order.age();
    let keys = keys(history);
    let mut tree = Tree::new(
        &mut search.table,
        &mut search.order,
        &search.in_tree,
        search.evaluation.as_mut(),
        &root,
        &keys,
        watch,
    );
    tree.limit = limits.nodes;
    let mut trails = vec![Trail::default(); wanted];
    'deepening: for depth in 1..=limits.depth.clamp(1, MOST_DEPTH) {
        tree.aim = depth.into();
        for k in 0..wanted {
            if best_of(&mut tree, (position, &root), &mut firsts, k, depth).is_err() {
                break 'deepening;
            }
            // A later line may turn out better by a hair.
            firsts[..=k].sort_by_key(|first| -first.value);
        }
        for (trail, first) in trails.iter_mut().zip(&firsts) {
            trail.add(first);
        }
        let settled = |first: &First| {
            let plies = INFINITE - 1 - first.value.abs();
            first.value.abs() >= MATES && plies <= i32::from(depth)
        };
        if wanted == 0 || firsts[..wanted].iter().all(settled) {
            break;
        }
    }
    let spent = tree.nodes;
    search.nodes += spent;
    firsts.truncate(wanted);
    firsts.retain(|first| first.depth > 0);
    let mates = firsts.iter().filter(|f| f.value.abs() >= MATES).count();
    let each = limits.nodes / 4 / mates.max(1) as u64;
    let before = search.prover.nodes;
    let lines = firsts
        .into_iter()
        .zip(trails)
        .map(|(first, trail)| Line {
            changes: trail.changes,
            swing: trail.swing(),
            ..confirmed(&mut search.prover, position, first, each, watch)
        })
        .collect();
    search.nodes += search.prover.nodes - before;
    lines
}

/// Puts the best of the moves from the `k`-th on in the `k`-th place.
fn best_of(
    tree: &mut Tree,
    root: (&Chess, &Node),
    firsts: &mut [First],
    k: usize,
    depth: u8,
) -> Result<(), Stopped> {
    let guess = firsts[k].value;
    let mut width = 30;
    let (mut alpha, mut beta) = if depth >= 5 && guess.abs() < MATES {
        (guess - width, guess + width)
    } else {
        (-INFINITE, INFINITE)
    };
    loop {
        let value = within(tree, root, firsts, k, depth, alpha, beta)?;
        width *= 3;
        if value <= alpha && alpha > -INFINITE {
            alpha = if width > 1000 {
                -INFINITE
            } else {
                (value - width).max(-INFINITE)
            };
        } else if value >= beta && beta < INFINITE {
            beta = if width > 1000 {
                INFINITE
            } else {
                (value + width).min(INFINITE)
            };
        } else {
            return Ok(());
        }
    }
}

fn within(
    tree: &mut Tree,
    root: (&Chess, &Node),
    firsts: &mut [First],
    k: usize,
    depth: u8,
    mut alpha: i32,
    beta: i32,
) -> Result<i32, Stopped> {
    let full = i32::from(depth);
    let mut best = -INFINITE;
    let total = firsts.len();
    let (position, root) = root;
    for i in k..total {
        tree.share = i as f32 / total as f32;
        let m = firsts[i].m;
        let code = Code::of(m);
        let value = if i == k {
            tree.root_move(root, code, (alpha, beta), full)?
        } else {
            let late = i >= k + 3 && depth >= 3 && !root.is_loud(code);
            let less = i32::from(late) * (1 + i32::from(i >= k + 8 && depth >= 6));
            let mut value = tree.root_move(root, code, (alpha, alpha + 1), full - less)?;
            if value > alpha && less > 0 {
                value = tree.root_move(root, code, (alpha, alpha + 1), full)?;
            }
            if value > alpha && value < beta {
                value = tree.root_move(root, code, (alpha, beta), full)?;
            }
            value
        };
        best = best.max(value);
        if value > alpha {
            let first = &mut firsts[i];
            first.value = value;
            first.depth = depth;
            first.line = tree.line(position, m);
            firsts[k..=i].rotate_right(1);
            alpha = value;
            if value >= beta {
                break;
            }
        }
    }
    Ok(best)
}

/// The line as it is handed out; a mate is handed to the prover.
fn confirmed(
    prover: &mut Prover,
    position: &Chess,
    first: First,
    nodes: u64,
    watch: &mut dyn Watch,
) -> Line {
    let First {
        m,
        value,
        depth,
        line,
    } = first;
    let plies = INFINITE - 1 - value.abs();
    let moves = u16::try_from((plies + 1) / 2).unwrap_or(0);
    let mut after = position.clone();
    after.play_unchecked(m);
    let searched = |value| Line {
        moves: line.clone(),
        value,
        depth,
        grade: Grade::Searched,
        changes: 0,
        swing: 0,
    };
    prover.budget = Some(nodes);
    let n = u8::try_from(moves).unwrap_or(u8::MAX);
    if value >= MATES {
        if let Some((_, Verdict::Forces { length, line })) =
            prover.judge(position, n, Some(&[m]), watch).pop()
        {
            return Line {
                moves: line,
                value: Value::MateIn(length.into()),
                grade: Grade::Proved,
                ..searched(Value::MateIn(moves))
            };
        }
        searched(Value::MateIn(moves))
    } else if value <= -MATES {
        if let Ok(Some((_, Verdict::Forces { length, line }))) = prover.mate(&after, n, watch) {
            return Line {
                moves: std::iter::once(m).chain(line).collect(),
                value: Value::MatedIn(length.into()),
                grade: Grade::Proved,
                ..searched(Value::MatedIn(moves))
            };
        }
        searched(Value::MatedIn(moves))
    } else {
        let ends = after.is_stalemate() || after.is_insufficient_material();
        Line {
            grade: if ends { Grade::Proved } else { Grade::Searched },
            ..searched(Value::Cp(value))
        }
    }
}

/// All moves of a position that tables for more men know, the best first. They
/// tell no distance to mate: what is decided counts [`DECIDED`].
fn by_larger(search: &mut Search, position: &Chess, watch: &mut dyn Watch) -> Option<Vec<Line>> {
    let tables = &mut search.tables;
    tables.exact(position, watch)?;
    let moves = tables.exact_moves(position, watch)?;
    let best = tables.best(position);
    let mut lines: Vec<Line> = moves
        .into_iter()
        .map(|(m, exact)| Line {
            moves: played_on(tables, position, m),
            value: Value::Cp(match exact.outcome {
                Outcome::Win => DECIDED,
                Outcome::Draw => 0,
                Outcome::Loss => -DECIDED,
            }),
            depth: 0,
            grade: Grade::Table,
            changes: 0,
            swing: 0,
        })
        .collect();
    lines.sort_by_key(|line| match line.value {
        Value::Cp(value) => (-value, Some(line.moves[0]) != best),
        _ => (0, false),
    });
    Some(lines)
}

/// What a decided ending counts, in hundredths of a pawn.
const DECIDED: i32 = 1_000;

/// Moves that are shown of a line by tables for more men.
const SHOWN: usize = 12;

/// A move, and how the tables for more men play on.
fn played_on(tables: &Tables, position: &Chess, m: Move) -> Vec<Move> {
    let mut line = vec![m];
    let mut at = position.clone();
    at.play_unchecked(m);
    while line.len() < SHOWN
        && let Some(next) = tables.best(&at)
    {
        line.push(next);
        at.play_unchecked(next);
    }
    line
}

/// The line of a move whose result a table knows: both sides play best.
fn from_table(tables: &Tables, position: &Chess, m: Move, result: TableResult) -> Line {
    let mut line = vec![m];
    let mut at = position.clone();
    at.play_unchecked(m);
    while result != TableResult::Draw && line.len() < usize::from(u8::MAX) {
        let next = at.legal_moves().into_iter().min_by_key(|&m| {
            let mut after = at.clone();
            after.play_unchecked(m);
            match tables.made(&after) {
                Some(TableResult::Loss(n)) => i32::from(n),
                Some(TableResult::Win(n)) => 2000 - i32::from(n),
                _ => 1000,
            }
        });
        let Some(next) = next else { break };
        line.push(next);
        at.play_unchecked(next);
    }
    Line {
        moves: line,
        value: match result {
            TableResult::Win(n) => Value::MateIn(n),
            TableResult::Draw => Value::Cp(0),
            TableResult::Loss(n) => Value::MatedIn(n),
        },
        depth: 0,
        grade: Grade::Table,
        changes: 0,
        swing: 0,
    }
}

pub(super) fn at_least(
    search: &mut Search,
    position: &Chess,
    history: &[Chess],
    mv: Move,
    bound: i32,
    nodes: u64,
    watch: &mut dyn Watch,
) -> Answer {
    let mut answer = Answer {
        outcome: BoundTest::Unknown,
        depth: 0,
        since: 0,
        changes: 0,
        moves: vec![mv],
        nodes: 0,
        grade: Grade::Searched,
    };
    if !position.is_legal(mv) {
        return answer;
    }
    if let Some(moves) = search.tables.best_moves(position, watch) {
        let result = moves.into_iter().find(|(m, _)| *m == mv);
        let result = result.map_or(TableResult::Draw, |(_, result)| result);
        let line = from_table(&search.tables, position, mv, result);
        let keeps = match line.value {
            Value::MateIn(_) => true,
            Value::Cp(value) => value >= bound,
            Value::MatedIn(_) => false,
        };
        answer.outcome = if keeps {
            BoundTest::Keeps
        } else {
            BoundTest::Fails
        };
        answer.moves = line.moves;
        answer.grade = Grade::Table;
        return answer;
    }
    if let Some(lines) = by_larger(search, position, watch) {
        let line = lines.into_iter().find(|line| line.moves[0] == mv);
        let line = line.expect("every legal move has its line");
        let keeps = matches!(line.value, Value::Cp(value) if value >= bound);
        answer.outcome = if keeps {
            BoundTest::Keeps
        } else {
            BoundTest::Fails
        };
        answer.moves = line.moves;
        answer.grade = Grade::Table;
        return answer;
    }
    let root = Node::new(position);
    let keys = keys(history);
    search.table.age();
    let mut tree = Tree::new(
        &mut search.table,
        &mut search.order,
        &search.in_tree,
        search.evaluation.as_mut(),
        &root,
        &keys,
        watch,
    );
    tree.limit = nodes;
    for depth in 1..=MOST_DEPTH {
        tree.aim = depth.into();
        tree.share = tree.nodes as f32 / nodes.max(1) as f32;
        let Ok(value) = tree.root_move(&root, Code::of(mv), (bound - 1, bound), depth.into())
        else {
            break;
        };
        let outcome = if value >= bound {
            BoundTest::Keeps
        } else {
            BoundTest::Fails
        };
        if outcome != answer.outcome {
            answer.changes += u8::from(answer.outcome != BoundTest::Unknown);
            answer.outcome = outcome;
            answer.since = depth;
        }
        answer.depth = depth;
        answer.moves = tree.line(position, mv);
        let plies = INFINITE - 1 - value.abs();
        if value.abs() >= MATES && plies <= i32::from(depth) {
            break;
        }
    }
    answer.nodes = tree.nodes;
    search.nodes += tree.nodes;
    answer
}

pub(super) fn quiet_value(search: &mut Search, position: &Chess) -> Option<i32> {
    // What takes longer than that is not quiet.
    const NODES: u64 = 200;
    let (root, mut watch) = (Node::new(position), Unwatched);
    search.table.age();
    let mut tree = Tree::new(
        &mut search.table,
        &mut search.order,
        &search.in_tree,
        search.evaluation.as_mut(),
        &root,
        &[],
        &mut watch,
    );
    tree.limit = NODES;
    tree.quiet_value(&root)
}

fn keys(history: &[Chess]) -> Vec<u64> {
    history
        .iter()
        .map(|position| {
            let Zobrist64(key) = position.zobrist_hash(EnPassantMode::Legal);
            key
        })
        .collect()
}
