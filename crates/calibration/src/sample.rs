//! What was measured, as it lies in files: a line of JSON for each position.

use std::fs;
use std::path::PathBuf;

use keyproof::check::Margins;
use keyproof::check::signs::SIGNS;
use serde::{Deserialize, Serialize};

/// A position with its reference and the rulings on it.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Measured {
    pub seed: u64,
    pub number: usize,
    pub fen: String,
    /// Nodes of the reference.
    pub reference: u64,
    /// The best lines: the first move and its value in hundredths of a pawn, the
    /// best first.
    pub lines: Vec<(String, i32)>,
    pub rulings: Vec<Ruled>,
}

/// A ruling on one of the lines' first moves.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Ruled {
    /// Which line.
    pub line: usize,
    pub task: Task,
    pub effort: u8,
    pub called: Called,
    /// What the search showed of itself; `None` where it is proved, by table, or
    /// open.
    pub signs: Option<[i32; SIGNS]>,
    /// Nodes spent on the question, shared among its moves.
    pub nodes: u64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Task {
    Best,
    Win,
    Draw,
}

impl Task {
    /// The margins that a puzzle has by itself.
    pub fn margins(self) -> Margins {
        let (right, wrong) = match self {
            Task::Best => (-20, -100),
            Task::Win => (200, 100),
            Task::Draw => (-50, -200),
        };
        Margins { right, wrong }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Called {
    Right,
    Wrong,
    Open,
}

impl Measured {
    /// Where the reference puts a move.
    pub fn truth(&self, task: Task, line: usize) -> Called {
        let margins = task.margins();
        let zero = match task {
            Task::Best => self.lines[0].1,
            _ => 0,
        };
        let value = self.lines[line].1 - zero;
        if value >= margins.right {
            Called::Right
        } else if value < margins.wrong {
            Called::Wrong
        } else {
            Called::Open
        }
    }

    /// Whether the reference has a called move on the far side of the other margin.
    pub fn is_wrong(&self, ruled: &Ruled) -> bool {
        let truth = self.truth(ruled.task, ruled.line);
        matches!(
            (ruled.called, truth),
            (Called::Right, Called::Wrong) | (Called::Wrong, Called::Right)
        )
    }
}

/// # Errors
/// The file that cannot be read, and where.
pub fn read(files: &[PathBuf]) -> Result<Vec<Measured>, String> {
    let mut all = Vec::new();
    for file in files {
        let text = fs::read_to_string(file).map_err(|e| format!("{}: {e}", file.display()))?;
        for (i, line) in text.lines().enumerate() {
            match serde_json::from_str(line) {
                Ok(measured) => all.push(measured),
                // The last line may have been broken off.
                Err(_) if i + 1 == text.lines().count() => {}
                Err(e) => return Err(format!("{}, line {}: {e}", file.display(), i + 1)),
            }
        }
    }
    if all.is_empty() {
        return Err("nothing is measured yet".into());
    }
    Ok(all)
}
