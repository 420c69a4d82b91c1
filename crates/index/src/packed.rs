//! An index as bytes, so that a collection need not be read again.
//!
//! Little-endian: a mark, the counts, then hashes, places, moves and beginnings
//! as they lie in memory, then the start positions as FEN and the headers, each
//! text behind its length. It restores as fast as it can be copied.

use super::{END, Header, Index};
use model::notation::fen;

/// Names the format and its version.
const MARK: &[u8; 8] = b"kpseen01";

/// Bytes of an index, 14 a position and what its headers take.
pub fn write(index: &Index) -> Vec<u8> {
    let mut out = Vec::with_capacity(64 + index.bytes() + index.header_bytes());
    out.extend(MARK);
    let counts = [index.hashes.len(), index.begins.len(), index.starts.len()];
    for count in counts {
        out.extend((count as u32).to_le_bytes());
    }
    index
        .hashes
        .iter()
        .for_each(|h| out.extend(h.to_le_bytes()));
    index
        .places
        .iter()
        .for_each(|p| out.extend(p.to_le_bytes()));
    index.steps.iter().for_each(|s| out.extend(s.to_le_bytes()));
    index
        .begins
        .iter()
        .for_each(|b| out.extend(b.to_le_bytes()));
    for (game, start) in &index.starts {
        out.extend(game.to_le_bytes());
        text(&mut out, &fen::write(start));
    }
    for h in &index.headers {
        for part in [&h.white, &h.black, &h.event, &h.date, &h.result] {
            text(&mut out, part);
        }
    }
    out
}

/// Whether bytes begin as an index does.
pub fn begins(bytes: &[u8]) -> bool {
    bytes.starts_with(MARK)
}

/// The index that [`write()`] put away; `None` for other or damaged bytes.
pub fn read(bytes: &[u8]) -> Option<Index> {
    let mut from = Bytes(bytes.strip_prefix(MARK)?);
    let (positions, games, starts) = (from.number()?, from.number()?, from.number()?);
    let index = Index {
        hashes: from.numbers(positions, u64::from_le_bytes)?,
        places: from.numbers(positions, u32::from_le_bytes)?,
        steps: from.numbers(positions, u16::from_le_bytes)?,
        begins: from.numbers(games, u32::from_le_bytes)?,
        starts: (0..starts)
            .map(|_| {
                let game = from.number()? as u32;
                Some((game, Box::new(fen::read(&from.text()?).ok()?)))
            })
            .collect::<Option<_>>()?,
        headers: (0..games)
            .map(|_| {
                Some(Header {
                    white: from.text()?,
                    black: from.text()?,
                    event: from.text()?,
                    date: from.text()?,
                    result: from.text()?,
                })
            })
            .collect::<Option<_>>()?,
    };
    (from.0.is_empty() && holds(&index)).then_some(index)
}

/// Whether every lookup stays inside the index.
fn holds(index: &Index) -> bool {
    let positions = index.steps.len();
    let begins = &index.begins;
    let ends = begins.iter().skip(1).map(|&b| b as usize);
    let ends = ends.chain([positions]);
    index.hashes.is_sorted()
        && index
            .places
            .iter()
            .all(|&place| (place as usize) < positions)
        && begins.first().is_none_or(|&first| first == 0)
        && begins.is_empty() == (positions == 0)
        && std::iter::zip(begins, ends)
            .all(|(&begin, end)| (begin as usize) < end && index.steps.get(end - 1) == Some(&END))
        && index.starts.is_sorted_by(|a, b| a.0 < b.0)
}

fn text(out: &mut Vec<u8>, text: &str) {
    out.extend((text.len() as u32).to_le_bytes());
    out.extend(text.as_bytes());
}

struct Bytes<'a>(&'a [u8]);

impl Bytes<'_> {
    fn take(&mut self, count: usize) -> Option<&[u8]> {
        let (taken, rest) = self.0.split_at_checked(count)?;
        self.0 = rest;
        Some(taken)
    }

    fn number(&mut self) -> Option<usize> {
        let taken = self.take(4)?;
        Some(u32::from_le_bytes(taken.try_into().ok()?) as usize)
    }

    fn numbers<const N: usize, T>(
        &mut self,
        count: usize,
        of: impl Fn([u8; N]) -> T,
    ) -> Option<Vec<T>> {
        let taken = self.take(count.checked_mul(N)?)?;
        let (chunks, _) = taken.as_chunks::<N>();
        Some(chunks.iter().map(|chunk| of(*chunk)).collect())
    }

    fn text(&mut self) -> Option<String> {
        let length = self.number()?;
        Some(str::from_utf8(self.take(length)?).ok()?.to_owned())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Builder;
    use model::pgn_read;

    fn index() -> Index {
        let text = "[White \"Pell, Orla\"]\n[Event \"Caf\u{e9}\"]\n\n1. e4 e5 2. Nf3 1-0\n
[SetUp \"1\"]\n[FEN \"7k/P7/8/8/8/8/8/K7 w - - 0 1\"]\n\n1. a8=Q+ Kg7 *\n
[Black \"Tarn\"]\n\n1. d4 0-1\n";
        let mut builder = Builder::new();
        for game in pgn_read::read(text) {
            builder.add(&game.draft).unwrap();
        }
        builder.index()
    }

    #[test]
    fn an_index_comes_back_as_it_was() {
        let index = index();
        let bytes = write(&index);
        assert!(begins(&bytes) && !begins(b"[Event"));
        assert_eq!(read(&bytes).as_ref(), Some(&index));
        let empty = Builder::new().index();
        assert_eq!(read(&write(&empty)), Some(empty));
    }

    #[test]
    fn damaged_bytes_are_no_index_or_one_that_can_be_asked() {
        let bytes = write(&index());
        for cut in 0..bytes.len() {
            assert_eq!(read(&bytes[..cut]), None);
        }
        let start = shakmaty::Chess::default();
        for at in 0..bytes.len() {
            let mut damaged = bytes.clone();
            damaged[at] ^= 0x15;
            if let Some(index) = read(&damaged) {
                let _ = index.summary(&start, None, 9);
            }
        }
    }
}
