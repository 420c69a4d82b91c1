//! Why a task could not be done.

use std::fmt;

use crate::row::Row;

/// Why a task could not be done.
#[derive(Debug)]
pub enum Trouble {
    /// Input that cannot be read; a sentence that names the place.
    Input(String),
    /// Puzzles that are not given out, each with what is wrong with it.
    Refused(Vec<Row>),
    /// Whoever follows has stopped it.
    Stopped,
}

impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            Trouble::Input(sentence) => f.write_str(sentence),
            Trouble::Refused(rows) => {
                f.write_str("not given out: ")?;
                for (i, row) in rows.iter().enumerate() {
                    let stop = if i == 0 { "" } else { "; " };
                    let verdict = row.verdict_name();
                    write!(f, "{stop}{} ({}) is {verdict}", row.title, row.number())?;
                    if let Some(finding) = row.findings.first() {
                        write!(f, ": {}", finding.message)?;
                    }
                }
                Ok(())
            }
            Trouble::Stopped => f.write_str("stopped"),
        }
    }
}

impl std::error::Error for Trouble {}

impl From<String> for Trouble {
    fn from(sentence: String) -> Trouble {
        Trouble::Input(sentence)
    }
}
