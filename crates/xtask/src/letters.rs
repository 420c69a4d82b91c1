//! Bytes as printable text, denser than base64: nine bytes in eleven letters.
//!
//! There are 94 printable ASCII characters, the space among them, that mean nothing to
//! HTML within a script that is none; all but `<`. 94 to the eleventh is just over two
//! to the seventy-second. A byte costs 1.222 letters, where base64 takes 1.333: a tenth of
//! the student's file. `web/start.js` reads it back.

/// Letters of a group, and the bytes in it.
const LETTERS: usize = 11;
const BYTES: usize = 9;

/// The letter of a value below 94. The space stands in for `<`.
fn letter(value: u8) -> char {
    match char::from(b'!' + value) {
        '<' => ' ',
        letter => letter,
    }
}

/// Writes bytes as letters: of each group a number, whose low bytes come first and whose
/// low letters come last. The last group is filled up with zeros.
pub fn write(bytes: &[u8]) -> String {
    let mut text = String::with_capacity((bytes.len() / BYTES + 1) * LETTERS);
    for group in bytes.chunks(BYTES) {
        let mut held = (group.iter().rev()).fold(0u128, |held, &byte| held << 8 | u128::from(byte));
        let mut letters = ['!'; LETTERS];
        for place in letters.iter_mut().rev() {
            *place = letter((held % 94) as u8);
            held /= 94;
        }
        text.extend(letters);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::process::Command;

    /// The bytes of some lengths, as `web/start.js` reads them back in Node.
    #[test]
    fn every_length_comes_back() {
        let mut seed = 1u32;
        let bytes: Vec<u8> = std::iter::repeat_with(|| {
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (seed >> 24) as u8
        })
        .take(60)
        .collect();
        let mut written: Vec<String> = (0..60).map(|length| write(&bytes[..length])).collect();
        written.push(write(&[0xff; 90]));
        let script = concat!(
            include_str!("../../../web/start.js"),
            "process.stdout.write(process.argv.slice(1).map((text) => Buffer.from(read(text)).toString('hex')).join('\\n'));",
        );
        let told = Command::new("node")
            .args(["-e", script, "--"])
            .args(&written)
            .output()
            .expect("node");
        let told = String::from_utf8(told.stdout).unwrap();
        let hex = |bytes: &[u8]| -> String { bytes.iter().map(|b| format!("{b:02x}")).collect() };
        for (length, line) in told.split('\n').enumerate().take(60) {
            let padded = length.next_multiple_of(BYTES);
            let expected = format!("{:0<1$}", hex(&bytes[..length]), 2 * padded);
            assert_eq!(line, expected, "{length} bytes");
        }
        assert_eq!(told.split('\n').next_back(), Some(&*hex(&[0xff; 90])));
    }

    #[test]
    fn nothing_in_it_is_markup() {
        let all: std::collections::BTreeSet<char> = (0..94).map(letter).collect();
        assert_eq!(all.len(), 94);
        assert!(all.iter().all(|l| (' '..='~').contains(l) && *l != '<'));
    }
}
