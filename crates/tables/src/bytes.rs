//! A table as bytes: a mark with a version, the material's name, the values in
//! deflated blocks, a checksum over all of it.
//!
//! A table read from bytes stays as it is: a block is inflated when a position
//! in it is first asked for.

use miniz_oxide::deflate;

use super::layout::{ILLEGAL, Layout, Table, Values};
use super::material::Material;
use super::packed::{BLOCK, Packed};

/// The version of the format. Another one reads none of these bytes.
pub const FORMAT: u32 = 2;

const MARK: &[u8] = b"keyproof table 2\n";

/// How hard to deflate, of 10: more takes much time and saves little.
const EFFORT: u8 = 1;

/// Why bytes are no table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LoadFault {
    /// Not made by this version, or of another material.
    Foreign,
    /// Cut short or changed.
    Damaged,
}

impl std::fmt::Display for LoadFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            LoadFault::Foreign => "this is no endgame table of this version",
            LoadFault::Damaged => "the endgame table is damaged",
        })
    }
}

impl std::error::Error for LoadFault {}

pub(super) fn write(material: Material, table: &Table) -> Vec<u8> {
    let values = match &table.values {
        Values::Whole(values) => values,
        Values::Packed(packed) => return packed.bytes().to_vec(),
    };
    let blocks: Vec<Vec<u8>> = values
        .iter()
        .flat_map(|values| values.chunks(BLOCK))
        .map(|values| deflate::compress_to_vec(&filled(values), EFFORT))
        .collect();
    let mut bytes = MARK.to_vec();
    bytes.extend(material.to_string().bytes());
    bytes.push(b'\n');
    for block in &blocks {
        bytes.extend((block.len() as u32).to_le_bytes());
    }
    bytes.extend(blocks.iter().flatten());
    bytes.extend(checksum(&bytes).to_le_bytes());
    bytes
}

pub(super) fn read(bytes: Vec<u8>) -> Result<(Material, Table), LoadFault> {
    let rest = bytes.strip_prefix(MARK).ok_or(LoadFault::Foreign)?;
    let (summed, sum) = bytes.split_last_chunk::<8>().ok_or(LoadFault::Damaged)?;
    if checksum(summed) != u64::from_le_bytes(*sum) {
        return Err(LoadFault::Damaged);
    }
    let name = rest.split(|&b| b == b'\n').next().unwrap_or_default();
    let material = std::str::from_utf8(name)
        .ok()
        .and_then(Material::read)
        .ok_or(LoadFault::Damaged)?;
    let layout = Layout::new(material);
    let entries = layout.entries();
    let count = 2 * entries.div_ceil(BLOCK);
    let start = MARK.len() + name.len() + 1;
    let lengths = bytes.get(start..start + 4 * count);
    let mut end = start + 4 * count;
    let mut bounds = vec![end];
    for length in lengths.ok_or(LoadFault::Damaged)?.chunks_exact(4) {
        end += u32::from_le_bytes([length[0], length[1], length[2], length[3]]) as usize;
        bounds.push(end);
    }
    if end != summed.len() {
        return Err(LoadFault::Damaged);
    }
    let values = Values::Packed(Packed::new(bytes, bounds, entries));
    Ok((material, Table { layout, values }))
}

/// What is no position takes the value before it, which is deflated better.
fn filled(values: &[u8]) -> Vec<u8> {
    let mut last = 0;
    let fill = |&value: &u8| {
        if value != ILLEGAL {
            last = value;
        }
        last
    };
    values.iter().map(fill).collect()
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
