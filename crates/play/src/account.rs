//! A student's account as a line that any message carries: what he did, exact enough
//! to be read back, and checked against damage.
//!
//! The line is `[keyproof1 …]`, whose letters are base64 (RFC 4648, the alphabet for
//! addresses, no padding) of: the check sum (CRC-32 as of ISO 3309, 4 bytes, the low
//! ones first) of what follows it; the [`key`] of the lesson (4 bytes, the same way);
//! the name, a line feed, and what was kept (UTF-8). Spaces, line breaks and the signs
//! of a quotation (`>`) that a message puts into the letters do not matter.
//!
//! What was kept has a line for each game that was begun: its number, a space, and the
//! questions of it as `number=mark`, with commas between; see [`Mark::write`].

pub use crate::mark::{Mark, YES_NO, played};

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

/// How the line begins; a space or a line break follows.
pub const OPENS: &str = "[keyproof1";
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
        let mut line = [OPENS, " "].concat();
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
        let first = all(text).into_iter().next();
        first.map_or(Err(AccountFault::Missing), |(_, read)| read)
    }

    fn of(bytes: &[u8]) -> Option<Account> {
        let number = |from: usize| -> Option<u32> {
            let four = bytes.get(from..from + 4)?;
            Some(u32::from_le_bytes(four.try_into().ok()?))
        };
        let (sum, key) = (number(0)?, number(4)?);
        let told = std::str::from_utf8(&bytes[8..]).ok();
        let (name, kept) = told
            .filter(|_| sum == check_sum(&bytes[4..]))?
            .split_once('\n')?;
        Some(Account {
            name: name.to_owned(),
            key,
            kept: kept.to_owned(),
        })
    }
}

/// Every line of an account in a text, with the byte at which it begins.
pub fn all(text: &str) -> Vec<(usize, Result<Account, AccountFault>)> {
    let found = text.match_indices(OPENS).map(|(at, _)| {
        let rest = &text[at + OPENS.len()..];
        // What a line that was cut off runs into is another's.
        let rest = rest.split(OPENS).next().unwrap_or(rest);
        let line = rest.split_once(']').and_then(|(line, _)| bytes(line));
        let account = line.and_then(|line| Account::of(&line));
        (at, account.ok_or(AccountFault::Damaged))
    });
    found.collect()
}

/// The name in a line of an account that is damaged further on, as far as that can be
/// told. `text` begins with the line.
pub fn name_in(text: &str) -> Option<String> {
    let letters = text.strip_prefix(OPENS)?;
    let end =
        letters.find(|c: char| !between(c) && !c.is_ascii_alphanumeric() && !"-_".contains(c));
    let bytes = bytes(&letters[..end.unwrap_or(letters.len())])?;
    let name = bytes.get(8..)?.split(|&b| b == b'\n').next()?;
    let name = std::str::from_utf8(name).ok()?;
    let told = name.len() + 8 < bytes.len() && !name.contains(char::is_control);
    told.then(|| name.to_owned())
}

/// What may stand between the letters of a line.
fn between(c: char) -> bool {
    c.is_whitespace() || c == '>'
}

/// The bytes that letters stand for; `None` if a letter is none.
fn bytes(letters: &str) -> Option<Vec<u8>> {
    let mut bytes = Vec::new();
    let (mut held, mut bits) = (0u32, 0);
    for letter in letters.chars().filter(|&c| !between(c)) {
        let value = LETTERS
            .iter()
            .position(|&other| char::from(other) == letter)?;
        held = held << 6 | value as u32;
        bits += 6;
        if bits >= 8 {
            bits -= 8;
            bytes.push((held >> bits) as u8);
        }
    }
    Some(bytes)
}

/// Gives each mark in what was kept to `take`, with the number of its game and its own
/// in the game, from 0. What does not read is left out.
pub fn marks(kept: &str, mut take: impl FnMut(usize, usize, Mark)) {
    for line in kept.lines() {
        let Some((game, marks)) = line.split_once(' ') else {
            continue;
        };
        let Ok(game) = game.parse() else { continue };
        for mark in marks.split(',') {
            if let Some((question, mark)) = mark.split_once('=')
                && let (Ok(question), Some(mark)) = (question.parse(), Mark::read(mark))
            {
                take(game, question, mark);
            }
        }
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
        let message = format!("Hello!\n{}\nBye", wrapped.join("\n"));
        assert_eq!(Account::read(&message), Ok(account()));
        let quoted = message
            .replace("\n", "\r\n> > ")
            .replace("keyproof1 ", "keyproof1\n> ");
        assert_eq!(Account::read(&quoted), Ok(account()));
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
    fn all_accounts_of_a_chat_are_read_and_the_damaged_are_named() {
        let other = Account {
            name: "Bo".into(),
            ..account()
        };
        let (whole, cut) = (account().write(), &other.write()[..40]);
        let chat = format!("[10:02] Bo: mine\n{cut}\n{whole}\nand {} ok", other.write());
        let read: Vec<_> = all(&chat).into_iter().map(|(_, read)| read).collect();
        assert_eq!(read, [Err(AccountFault::Damaged), Ok(account()), Ok(other)]);
        let at = chat.find(OPENS).unwrap();
        assert_eq!(name_in(&chat[at..]).as_deref(), Some("Bo"));
        assert_eq!(name_in("[keyproof1 AAAA]"), None);
    }

    #[test]
    fn marks_are_read_by_game_and_question() {
        let mut told = Vec::new();
        let kept = "0 0=1:Qe7? Qe8+,2=0s\nx\n3 0=0h,=,1=y\n";
        marks(kept, |game, question, mark| {
            told.push((game, question, mark.write()));
        });
        assert_eq!(
            told,
            [
                (0, 0, "1:Qe7? Qe8+".into()),
                (0, 2, "0s".into()),
                (3, 0, "0h".into())
            ]
        );
    }

    #[test]
    fn whatever_letter_is_changed_lost_or_added_is_noticed() {
        let line = account().write();
        for at in OPENS.len() + 1..line.len() - 1 {
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
