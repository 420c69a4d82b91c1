//! Before and after: the same measurements of an earlier revision and of this one, in
//! one run, laid beside each other figure by figure.

use std::process::{Command, Stdio};

use crate::bench;
use crate::revision::{built, checked_out};
use crate::shell::{Done, cargo};

/// What asks for it on the command line, before the revision.
const BEFORE: &str = "--before=";

/// Runs the measurements, of an earlier revision first if one is named.
pub fn run(args: &[&str]) -> Done {
    let Some(revision) = args.iter().find_map(|arg| arg.strip_prefix(BEFORE)) else {
        return bench::run_parts(args);
    };
    let rest: Vec<&str> = args
        .iter()
        .copied()
        .filter(|arg| !arg.starts_with(BEFORE))
        .collect();
    let folder = checked_out(revision)?;
    let mut earlier = cargo();
    earlier.current_dir(folder).env("CARGO_TARGET_DIR", built());
    let before = told(&mut earlier, &rest).map_err(|fault| format!("{revision}: {fault}"))?;
    let now = told(&mut cargo(), &rest)?;
    println!("Before is {revision}. Lines without a mark are the same in both.\n");
    for line in compared(&before, &now) {
        println!("{line}");
    }
    Ok(())
}

/// What the measurements of a checkout print.
fn told(cargo: &mut Command, args: &[&str]) -> Result<String, String> {
    let output = cargo
        .args(["xtask", "bench"])
        .args(args)
        .stderr(Stdio::inherit())
        .output()
        .map_err(|fault| format!("cargo cannot be started: {fault}"))?;
    match output.status.success() {
        true => Ok(String::from_utf8_lossy(&output.stdout).into_owned()),
        false => Err(format!("the measurements failed ({})", output.status)),
    }
}

/// The lines of both, in the order of the later: one whose figures changed with the
/// change of each, and what only one of them has. Lines belong together that differ in
/// figures alone.
fn compared(before: &str, now: &str) -> Vec<String> {
    let mut left: Vec<&str> = before.lines().collect();
    let mut told = Vec::new();
    for line in now.lines() {
        let shape = shape(line);
        let Some(at) = left.iter().position(|then| self::shape(then) == shape) else {
            told.push(format!("new     {line}"));
            continue;
        };
        let then = left.remove(at);
        if then == line {
            told.push(format!("        {line}"));
        } else {
            told.push(format!("before  {then}"));
            told.push(format!("now     {line}{}", changes(then, line)));
        }
    }
    let gone = left.iter().filter(|line| !line.trim().is_empty());
    told.extend(gone.map(|line| format!("gone    {line}")));
    told
}

/// A line without its figures, and without how wide its columns are.
fn shape(line: &str) -> String {
    let mut shape = String::new();
    for word in line.split_whitespace() {
        let mut in_figure = false;
        for c in word.chars() {
            let figure = c.is_ascii_digit() || (in_figure && matches!(c, '.' | ','));
            if !figure {
                shape.push(c);
            } else if !in_figure {
                shape.push('#');
            }
            in_figure = figure;
        }
        shape.push(' ');
    }
    shape
}

/// By how much each figure of a line changed, in the order of the line; nothing for
/// those that did not.
fn changes(before: &str, now: &str) -> String {
    let pairs = figures(before).into_iter().zip(figures(now));
    let changed = pairs.filter(|(then, now)| then != now);
    let told = changed.map(|(then, now)| match then == 0.0 {
        true => format!("{then} to {now}"),
        false => format!("{:+.1} %", 100.0 * (now - then) / then),
    });
    let told = told.collect::<Vec<_>>().join(", ");
    match told.is_empty() {
        true => told,
        false => format!("   ({told})"),
    }
}

/// The figures of a line; a comma parts thousands.
fn figures(line: &str) -> Vec<f64> {
    let parts = line.split(|c: char| !c.is_ascii_digit() && !matches!(c, '.' | ','));
    parts
        .map(|part| {
            part.trim_matches(|c| matches!(c, '.' | ','))
                .replace(',', "")
        })
        .filter_map(|part| part.parse().ok())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_changed_is_told_figure_by_figure() {
        let before = "Sizes\npuzzle 147.1 KB (of 200.0 KB)\nnodes 1,000 in 2 ms\nold line";
        let now = "Sizes\npuzzle  148.571 KB (of 200.0 KB)\nnodes 1,000 in 2 ms\nfound 3";
        let told = compared(before, now);
        assert_eq!(
            told,
            [
                "        Sizes",
                "before  puzzle 147.1 KB (of 200.0 KB)",
                "now     puzzle  148.571 KB (of 200.0 KB)   (+1.0 %)",
                "        nodes 1,000 in 2 ms",
                "new     found 3",
                "gone    old line",
            ]
        );
    }

    #[test]
    fn lines_of_one_shape_go_together_in_their_order() {
        let told = compared("a 1\na 2", "a 1\na 4");
        assert_eq!(
            told,
            ["        a 1", "before  a 2", "now     a 4   (+100.0 %)"]
        );
        assert_eq!(compared("x 0 y", "x 5 y")[1], "now     x 5 y   (0 to 5)");
    }

    #[test]
    fn thousands_and_fractions_are_one_figure() {
        assert_eq!(figures("1,234.5 of 20, and 3."), [1234.5, 20.0, 3.0]);
        assert_eq!(shape("at 1,234.5:  20"), shape("at 7: 3"));
    }
}
