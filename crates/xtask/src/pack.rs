//! Packing: bytes as small as they get, as printable text.
//!
//! One raw LZMA stream, which `web/unpack.js` reads: a tenth smaller than the
//! best deflate for wasm. [`crate::letters`] turns it into text.

use liblzma::stream::{Action, Filters, LzmaOptions, Status, Stream};

use crate::letters;

/// Packs bytes into letters.
pub fn pack(bytes: &[u8]) -> Result<String, String> {
    squeeze(bytes)
        .map(|packed| letters::write(&packed))
        .map_err(|fault| format!("cannot pack: {fault}"))
}

/// The smallest that packing comes to with any of [`NICE`], tried side by side.
fn squeeze(bytes: &[u8]) -> Result<Vec<u8>, liblzma::stream::Error> {
    let tries: Vec<_> = std::thread::scope(|scope| {
        let tries = NICE.map(|nice| scope.spawn(move || squeezed(bytes, nice)));
        let done = tries.into_iter().map(|packing| packing.join());
        done.map(|packed| packed.expect("packing does not panic"))
            .collect()
    });
    let packed = tries.into_iter().collect::<Result<Vec<_>, _>>()?;
    let smallest = packed.into_iter().min_by_key(Vec::len);
    Ok(smallest.unwrap_or_default())
}

/// Lengths of a repetition that end the search for a longer one: which of them
/// packs best is chance.
const NICE: [u32; 5] = [128, 160, 192, 224, 273];

/// Raw LZMA with the settings that `web/unpack.js` takes for granted.
fn squeezed(bytes: &[u8], nice: u32) -> Result<Vec<u8>, liblzma::stream::Error> {
    let mut options = LzmaOptions::new_preset(9 | EXTREME)?;
    let whole = u32::try_from(bytes.len()).unwrap_or(u32::MAX);
    options
        .dict_size(whole.clamp(4096, 1 << 26))
        .nice_len(nice)
        .literal_context_bits(4)
        .literal_position_bits(0)
        .position_bits(0);
    let mut filters = Filters::new();
    filters.lzma1(&options);
    let mut stream = Stream::new_raw_encoder(&filters)?;
    let mut packed = Vec::with_capacity(bytes.len() + 1024);
    loop {
        let read = stream.total_in() as usize;
        let status = stream.process_vec(&bytes[read..], &mut packed, Action::Finish)?;
        if status == Status::StreamEnd {
            return Ok(packed);
        }
        packed.reserve(bytes.len() / 2 + 1024);
    }
}

/// The library's flag for trying harder.
const EXTREME: u32 = 1 << 31;

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write;
    use std::process::{Command, Stdio};

    /// Unpacks with `web/unpack.js` in Node.
    fn unpacked(packed: &[u8], size: usize) -> Vec<u8> {
        let script = concat!(
            include_str!("../../../web/unpack.js"),
            "const packed = require('fs').readFileSync(0);",
            "process.stdout.write(unpack(packed, Number(process.argv[1])));",
        );
        let mut node = Command::new("node")
            .args(["-e", script, &size.to_string()])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("Node runs");
        let mut input = node.stdin.take().unwrap();
        input.write_all(packed).unwrap();
        drop(input);
        node.wait_with_output().unwrap().stdout
    }

    fn assert_comes_back(bytes: &[u8]) {
        let packed = squeeze(bytes).unwrap();
        assert!(
            unpacked(&packed, bytes.len()) == bytes,
            "{} bytes did not come back",
            bytes.len()
        );
    }

    #[test]
    fn what_is_packed_comes_back() {
        assert_comes_back(b"");
        assert_comes_back(b"a");
        let text = include_bytes!("pages.rs");
        assert_comes_back(text);
        let mut seed = 7u32;
        let mut noise = || {
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (seed >> 24) as u8
        };
        // Noise, matches near and far, and runs longer than one match holds.
        let mut mixed: Vec<u8> = (0..70_000).map(|_| noise()).collect();
        mixed.extend(vec![0; 5_000]);
        mixed.extend_from_within(100..3_000);
        mixed.extend(text);
        mixed.extend_from_within(60_000..69_000);
        assert_comes_back(&mixed);
    }
}
