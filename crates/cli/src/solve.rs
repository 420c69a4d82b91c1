//! `keyproof solve`: every first move that forces mate, selfmate or stalemate,
//! and every helpmate.

use std::io::Write;
use std::path::Path;

use keyproof::check::Second;
use keyproof::notation::moves;
use keyproof::prove::Aim;
use keyproof::puzzle::Stipulation;
use keyproof_tasks::{
    Branch, Certified, Solution, SolveOptions, Status, cores, position, solve_position,
};
use shakmaty::{Chess, Position};

use crate::arguments::Solve;
use crate::certificate::{self, folder_of};
use crate::check::{Counting, disagreement, means};
use crate::output::{self, BOLD, FAINT, Outcome, Trouble, counted};

/// Judges every legal first move and prints those that force the aim in time.
pub fn run(task: &Solve) -> Result<Outcome, Trouble> {
    let position = position(&task.fen)?;
    let (mut solution, asked) = solve(&position, task)?;
    let mut certified = true;
    if let Second::Against(found) = &solution.second {
        let folder = folder_of(task.certificate.as_deref().unwrap_or(Path::new("-")));
        let file = folder.join("solve-disagreement.txt");
        let file = certificate::write_disagreement(&file, found)?;
        output::complain(&disagreement(&solution.fen, &file));
    }
    if let (Some(file), Some(asked)) = (&task.certificate, asked) {
        match asked {
            Ok(proof) => solution.certificate = Some(Some(certificate::write(&proof, file)?)),
            Err(sentence) => {
                output::complain(&sentence);
                solution.certificate = Some(None);
                certified = false;
            }
        }
    }
    output::print(task.json, &solution, |out| {
        describe(out, &position, task.claim(), &solution)
    })?;
    Ok(match solution.status {
        Status::Proved if certified => Outcome::Sound,
        Status::Proved | Status::Refuted | Status::Unknown => Outcome::Unsound,
    })
}

type Solved = (Solution, Option<Result<Certified, String>>);

fn solve(position: &Chess, task: &Solve) -> Result<Solved, Trouble> {
    let bar = output::progress(position.legal_moves().len(), "first move");
    let options = SolveOptions {
        tree: task.tree,
        reasons: task.reasons,
        nodes: Some(task.effort.nodes),
        unchecked: task.unchecked,
        certificate: task.certificate.is_some(),
    };
    let follow = Counting(bar.clone());
    let solved = solve_position(position, task.asked(), &options, &means(cores(), &follow));
    bar.finish_and_clear();
    Ok(solved?)
}

/// What came of it, in a line.
fn headline(position: &Chess, (aim, n): (Aim, u8), solution: &Solution) -> String {
    let proved = match solution.second {
        Second::Accepted { .. } => "proved",
        _ => "proved by one program",
    };
    match solution.status {
        _ if matches!(solution.second, Second::Against(_)) => {
            format!("undecided: {}", solution.second.words())
        }
        Status::Proved if aim == Aim::Helpmate => {
            let lines = solution.keys.iter().map(|key| key.lines.len()).sum();
            let more = solution.keys.iter().any(|key| key.more);
            let least = if more { "at least " } else { "" };
            format!("{proved}: {least}{}", counted(lines, "solution"))
        }
        Status::Proved => format!("{proved}: {}", counted(solution.keys.len(), "key")),
        Status::Refuted if position.legal_moves().is_empty() => format!(
            "refuted: {:?} is {}",
            position.turn(),
            if position.is_check() {
                "mated"
            } else {
                "stalemated"
            },
        ),
        Status::Refuted if aim == Aim::Helpmate => {
            format!("refuted: there is no helpmate in {} or fewer", aim.count(n))
        }
        Status::Refuted if aim == Aim::Mate => {
            format!("refuted: no first move mates in {n} or fewer")
        }
        Status::Refuted if matches!(aim, Aim::Gain(_)) => {
            format!("refuted: no first move wins {} in {n} or fewer", aim.what())
        }
        Status::Refuted => format!(
            "refuted: no first move forces {} in {n} or fewer",
            aim.noun()
        ),
        Status::Unknown => "unknown: the budget did not settle it".into(),
    }
}

fn describe(
    out: &mut impl Write,
    position: &Chess,
    (aim, n): (Aim, u8),
    solution: &Solution,
) -> std::io::Result<()> {
    let headline = headline(position, (aim, n), solution);
    writeln!(
        out,
        "{BOLD}{} {headline}{BOLD:#}",
        Stipulation::Forced(aim, n)
    )?;
    for key in &solution.keys {
        for line in &key.lines {
            let line = moves::line(position, line, 1);
            writeln!(
                out,
                "  {:<8} {} in {}   {FAINT}{line}{FAINT:#}",
                key.named.san,
                aim.noun(),
                aim.count(key.length)
            )?;
        }
        if key.more {
            writeln!(out, "  {:<8} and more", key.named.san)?;
        }
        if key.by_checks {
            writeln!(
                out,
                "    found by checks alone, each reply tried; it may mate sooner"
            )?;
        }
        for reason in &key.reasons {
            writeln!(out, "    {}: {}", reason.kind, reason.sentence)?;
        }
        if let Some(tree) = &key.tree {
            describe_tree(out, tree, position.turn().is_white())?;
        }
    }
    if !solution.undecided.is_empty() {
        writeln!(out, "  undecided: {}", solution.undecided.join(" "))?;
    }
    if let Some(Some(written)) = &solution.certificate {
        writeln!(out, "  {}", certificate::line(written))?;
    }
    let words = solution.second.words();
    if !words.is_empty() {
        writeln!(out, "  {FAINT}{words}{FAINT:#}")?;
    }
    writeln!(out, "{FAINT}{} nodes{FAINT:#}", solution.nodes)
}

/// The tree as indented lines, one per defence.
fn describe_tree(
    out: &mut impl Write,
    tree: &[Branch],
    solver_is_white: bool,
) -> std::io::Result<()> {
    let mut open: Vec<(usize, &Branch)> = tree.iter().rev().map(|branch| (1, branch)).collect();
    while let Some((depth, branch)) = open.pop() {
        let indent = "    ".repeat(depth);
        let (defence, answer) = match solver_is_white {
            true => (
                format!("{depth}...{}", branch.defence.san),
                format!("{}.", depth + 1),
            ),
            false => (
                format!("{}.{}", depth + 1, branch.defence.san),
                format!("{}...", depth + 1),
            ),
        };
        match &branch.answer {
            Some(reply) => writeln!(out, "{indent}{defence}  {answer}{}", reply.named.san)?,
            None if branch.ends => writeln!(out, "{indent}{defence}")?,
            None => writeln!(out, "{indent}{defence}  (not settled within the budget)")?,
        }
        open.extend(branch.tree.iter().rev().map(|branch| (depth + 1, branch)));
    }
    Ok(())
}
