//! A table as bytes: a mark with a version, the material's name, the values
//! in runs, a checksum.

use super::generate::mark_illegal;
use super::layout::{ILLEGAL, Layout, Table};
use super::material::Material;

const MARK: &[u8] = b"keyproof table 1\n";

/// Why bytes are no table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LoadFault {
    /// Not made by this version.
    Foreign,
    /// Cut short or changed.
    Damaged,
}

impl std::fmt::Display for LoadFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            LoadFault::Foreign => "these bytes are no endgame table of this version",
            LoadFault::Damaged => "the endgame table is damaged",
        })
    }
}

impl std::error::Error for LoadFault {}

pub(super) fn write(material: Material, table: &Table) -> Vec<u8> {
    let mut bytes = MARK.to_vec();
    bytes.extend(material.to_string().bytes());
    bytes.push(b'\n');
    for values in &table.values {
        write_runs(values, &mut bytes);
    }
    let sum = checksum(&bytes);
    bytes.extend(sum.to_le_bytes());
    bytes
}

pub(super) fn read(bytes: &[u8]) -> Result<(Material, Table), LoadFault> {
    let rest = bytes.strip_prefix(MARK).ok_or(LoadFault::Foreign)?;
    let (_, sum) = bytes.split_last_chunk::<8>().ok_or(LoadFault::Damaged)?;
    if checksum(&bytes[..bytes.len() - 8]) != u64::from_le_bytes(*sum) {
        return Err(LoadFault::Damaged);
    }
    let rest = &rest[..rest.len() - 8];
    let end = rest.iter().position(|&b| b == b'\n');
    let (name, runs) = rest.split_at(end.ok_or(LoadFault::Damaged)?);
    let material = std::str::from_utf8(name)
        .ok()
        .and_then(Material::read)
        .ok_or(LoadFault::Damaged)?;
    let layout = Layout::new(material);
    let mut runs = runs[1..].iter().copied();
    let mut values = [Vec::new(), Vec::new()];
    for side in &mut values {
        *side = read_runs(&mut runs, layout.entries()).ok_or(LoadFault::Damaged)?;
    }
    if runs.next().is_some() {
        return Err(LoadFault::Damaged);
    }
    mark_illegal(&layout, &mut values);
    Ok((material, Table { layout, values }))
}

/// Each value once, and after two equal ones how many more follow. What is no
/// position takes the value before it, to make the runs longer.
fn write_runs(values: &[u8], bytes: &mut Vec<u8>) {
    let mut filled = 0;
    let mut run: Option<(u8, usize)> = None;
    let mut flush = |run: Option<(u8, usize)>| {
        let Some((value, count)) = run else { return };
        bytes.push(value);
        if count == 1 {
            return;
        }
        bytes.push(value);
        let mut more = count - 2;
        while more >= 128 {
            bytes.push((more % 128) as u8 | 128);
            more /= 128;
        }
        bytes.push(more as u8);
    };
    for &value in values {
        if value != ILLEGAL {
            filled = value;
        }
        match &mut run {
            Some((value, count)) if *value == filled => *count += 1,
            _ => {
                flush(run);
                run = Some((filled, 1));
            }
        }
    }
    flush(run);
}

fn read_runs(bytes: &mut impl Iterator<Item = u8>, entries: usize) -> Option<Vec<u8>> {
    let mut values: Vec<u8> = Vec::with_capacity(entries);
    let mut fresh = true;
    while values.len() < entries {
        let value = bytes.next()?;
        let again = !fresh && values.last() == Some(&value);
        values.push(value);
        fresh = false;
        if again {
            let mut more = 0_usize;
            for shift in (0..).step_by(7) {
                let byte = bytes.next()?;
                more |= usize::from(byte & 127).checked_shl(shift)?;
                if byte < 128 {
                    break;
                }
                if shift > 28 {
                    return None;
                }
            }
            if more > entries - values.len() {
                return None;
            }
            values.resize(values.len() + more, value);
            fresh = true;
        }
    }
    Some(values)
}

/// FNV-1a, over eight bytes at a time.
fn checksum(bytes: &[u8]) -> u64 {
    let mut sum = 0xcbf2_9ce4_8422_2325_u64;
    for chunk in bytes.chunks(8) {
        let mut word = [0; 8];
        word[..chunk.len()].copy_from_slice(chunk);
        sum = (sum ^ u64::from_le_bytes(word)).wrapping_mul(0x0100_0000_01b3);
    }
    sum
}
