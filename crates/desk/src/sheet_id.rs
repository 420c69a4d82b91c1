//! The names of puzzles.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Deserializer, Serialize, Serializer, de};

/// Names a puzzle wherever it lies: on this desk, removed from it, in another
/// tab, in the store, in a backup. Written as sixteen hexadecimal digits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct SheetId(pub u64);

impl fmt::Display for SheetId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:016x}", self.0)
    }
}

impl FromStr for SheetId {
    type Err = std::num::ParseIntError;

    fn from_str(text: &str) -> Result<SheetId, Self::Err> {
        u64::from_str_radix(text, 16).map(SheetId)
    }
}

impl Serialize for SheetId {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for SheetId {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<SheetId, D::Error> {
        let text = String::deserialize(from)?;
        text.parse().map_err(de::Error::custom)
    }
}
