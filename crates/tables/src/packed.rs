//! The values of a table as they are kept: in deflated blocks, each inflated when
//! a position in it is first asked for.

use std::sync::OnceLock;

use miniz_oxide::inflate;

/// Values in a block.
pub(super) const BLOCK: usize = 1 << 15;

/// The values of a table in blocks, those of Black to move first.
pub(super) struct Packed {
    bytes: Vec<u8>,
    /// Where each block begins, and where the last one ends.
    bounds: Vec<usize>,
    blocks: Vec<OnceLock<Option<Vec<u8>>>>,
    entries: usize,
}

impl Packed {
    /// Values in the blocks of `bytes` that `bounds` tells: where each begins, and
    /// where the last one ends. `entries` are the values of one side.
    pub fn new(bytes: Vec<u8>, bounds: Vec<usize>, entries: usize) -> Packed {
        Packed {
            blocks: (1..bounds.len()).map(|_| OnceLock::new()).collect(),
            bytes,
            bounds,
            entries,
        }
    }

    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// The value at a place; `None` if the block cannot be inflated. Where
    /// there is no legal position, any value.
    pub fn value(&self, side: usize, index: usize) -> Option<u8> {
        let block = side * self.entries.div_ceil(BLOCK) + index / BLOCK;
        let values = self.blocks[block].get_or_init(|| self.block(block));
        values.as_ref()?.get(index % BLOCK).copied()
    }

    /// All values, without the marks at what is no position.
    pub fn unpacked(&self) -> Option<[Vec<u8>; 2]> {
        let half = self.entries.div_ceil(BLOCK);
        let side = |blocks: std::ops::Range<usize>| {
            let mut values = Vec::with_capacity(self.entries);
            for block in blocks {
                values.extend(self.block(block)?);
            }
            (values.len() == self.entries).then_some(values)
        };
        Some([side(0..half)?, side(half..2 * half)?])
    }

    fn block(&self, block: usize) -> Option<Vec<u8>> {
        let deflated = self.bytes.get(self.bounds[block]..self.bounds[block + 1])?;
        inflate::decompress_to_vec_with_limit(deflated, BLOCK).ok()
    }
}
