//! A student's account as a line that any message carries: what he did, exact enough
//! to be read back, and checked against damage.
//!
//! The line is `[keyproof1 …]`, whose letters are base64 (RFC 4648, the alphabet for
//! addresses, no padding) of: the check sum (CRC-32 as of ISO 3309, 4 bytes, the low
//! ones first) of what follows it; the [`key`] of the lesson (4 bytes, the same way);
//! the name, a line feed, and what was kept (UTF-8). Spaces and line breaks that a
//! message puts into the letters do not matter.

/// What a student gives to the coach.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Account {
    /// The student's name or initials; may be empty.
    pub name: String,
    /// Which lesson it is of.
    pub key: u32,
    /// The work, as the student's page keeps it.
    pub kept: String,
}

/// Why a text gives no account.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AccountFault {
    /// It holds no line of an account.
    Missing,
    /// The line is cut off or was changed.
    Damaged,
}

const OPENS: &str = "[keyproof1 ";
const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";

impl Account {
    /// The line.
    pub fn write(&self) -> String {
        let mut bytes = vec![0; 4];
        bytes.extend(self.key.to_le_bytes());
        // A name is one line.
        bytes.extend(self.name.replace('\n', " ").bytes());
        bytes.push(b'\n');
        bytes.extend(self.kept.bytes());
        let sum = check_sum(&bytes[4..]).to_le_bytes();
        bytes[..4].copy_from_slice(&sum);
        let mut line = String::from(OPENS);
        let (mut held, mut bits) = (0u32, 0);
        for byte in bytes {
            held = held << 8 | u32::from(byte);
            bits += 8;
            while bits >= 6 {
                bits -= 6;
                line.push(letter(held >> bits));
            }
        }
        if bits > 0 {
            line.push(letter(held << (6 - bits)));
        }
        line.push(']');
        line
    }

    /// Reads the first line of an account in a text.
    ///
    /// # Errors
    /// If there is none, or it is not as it was written.
    pub fn read(text: &str) -> Result<Account, AccountFault> {
        let (_, rest) = text.split_once(OPENS).ok_or(AccountFault::Missing)?;
        let (letters, _) = rest.split_once(']').ok_or(AccountFault::Damaged)?;
        let mut bytes = Vec::new();
        let (mut held, mut bits) = (0u32, 0);
        for letter in letters.bytes().filter(|b| !b.is_ascii_whitespace()) {
            let value = LETTERS.iter().position(|&other| other == letter);
            held = held << 6 | value.ok_or(AccountFault::Damaged)? as u32;
            bits += 6;
            if bits >= 8 {
                bits -= 8;
                bytes.push((held >> bits) as u8);
            }
        }
        let number = |from: usize| -> Option<u32> {
            Some(u32::from_le_bytes(
                bytes.get(from..from + 4)?.try_into().ok()?,
            ))
        };
        let (sum, key) = (number(0), number(4));
        let (Some(sum), Some(key)) = (sum, key) else {
            return Err(AccountFault::Damaged);
        };
        if sum != check_sum(&bytes[4..]) {
            return Err(AccountFault::Damaged);
        }
        let told = std::str::from_utf8(&bytes[8..]).map_err(|_| AccountFault::Damaged)?;
        let (name, kept) = told.split_once('\n').ok_or(AccountFault::Damaged)?;
        Ok(Account {
            name: name.to_owned(),
            key,
            kept: kept.to_owned(),
        })
    }
}

/// Tells one lesson from another by its text, as `recall` of web/attend.js does.
pub fn key(lesson: &str) -> u32 {
    lesson.encode_utf16().fold(5381, |key: u32, unit| {
        key.wrapping_mul(33).wrapping_add(u32::from(unit))
    })
}

fn letter(six: u32) -> char {
    char::from(LETTERS[six as usize & 63])
}

fn check_sum(bytes: &[u8]) -> u32 {
    let mut sum = !0;
    for &byte in bytes {
        sum ^= u32::from(byte);
        for _ in 0..8 {
            sum = sum >> 1 ^ (0xedb8_8320 & (sum & 1).wrapping_neg());
        }
    }
    !sum
}

#[cfg(test)]
mod tests {
    use super::*;

    fn account() -> Account {
        Account {
            name: "Zoë".into(),
            key: key("[Event \"Thursday\"]"),
            kept: "0 0=1:Qe7? Qe8+ Rxe8#\n3 0=0s\n".into(),
        }
    }

    #[test]
    fn a_line_is_read_back_from_a_message() {
        let line = account().write();
        assert_eq!(Account::read(&line), Ok(account()));
        let wrapped: Vec<&str> = line
            .as_bytes()
            .chunks(30)
            .map(|c| std::str::from_utf8(c).unwrap())
            .collect();
        // The first break must not fall into the opening.
        let message = format!("Hello!\n{}\nBye", wrapped.join("\n"));
        assert_eq!(Account::read(&message), Ok(account()));
        for name in ["", "A\nB"] {
            let other = Account {
                name: name.into(),
                ..account()
            };
            let read = Account::read(&other.write()).unwrap();
            assert_eq!(
                (read.name, read.kept),
                (name.replace('\n', " "), account().kept)
            );
        }
    }

    #[test]
    fn whatever_letter_is_changed_lost_or_added_is_noticed() {
        let line = account().write();
        for at in OPENS.len()..line.len() - 1 {
            let (before, after) = (&line[..at], &line[at + 1..]);
            let other = if line[at..].starts_with('A') {
                "B"
            } else {
                "A"
            };
            for changed in [
                [before, other, after].concat(),
                [before, after].concat(),
                [before, other, &line[at..]].concat(),
            ] {
                let read = Account::read(&changed);
                // The last letter has bits that mean nothing.
                let same = at + 2 == line.len() && read == Ok(account());
                assert!(same || read == Err(AccountFault::Damaged), "{changed}");
            }
        }
        assert_eq!(Account::read("[keyproof1 AAAA"), Err(AccountFault::Damaged));
        assert_eq!(Account::read("nothing"), Err(AccountFault::Missing));
    }

    /// The check value of CRC-32 over the digits 1 to 9 (ISO 3309, as the catalogue of
    /// parametrised CRC algorithms has it), and the first vector of RFC 4648, 10.
    #[test]
    fn check_sum_and_letters_are_the_standards() {
        assert_eq!(check_sum(b"123456789"), 0xcbf4_3926);
        let letters: String = [0o31, 0o46, 0o75, 0o57].map(letter).iter().collect();
        assert_eq!(letters, "Zm9v", "BASE64(\"foo\")");
    }
}
