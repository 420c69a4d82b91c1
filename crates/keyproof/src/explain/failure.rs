//! Why a wrong move fails: the kinds of failure, the code in which a published
//! file carries one, and its sentence. Finding the kind is
//! [`super::failing`]'s. The student's page links this module, so it searches
//! nothing and writes nothing but strings.
//!
//! A code is a letter and what the kind names: `m2` mate in 2, `lq` loses the
//! queen, `ef8` the king escapes to f8.

use shakmaty::{Chess, Color, Move, Position, Role, Square};

use super::scene::name;
use crate::check::Goal;
use crate::notation::moves;
use crate::prove::Aim;

/// Why a wrong move fails.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum FailureKind {
    /// The other side mates in so many of its moves, 1 for a reply that mates.
    Mated(u8),
    /// The other side's attack ends in a mate that was searched, not proved.
    Attacked,
    /// A man of this kind is lost for less or for nothing.
    Loses(Role),
    /// A rook is lost for a bishop or a knight.
    LosesExchange,
    /// The other side promotes on this square.
    Promotes(Square),
    /// The move, or the other side's best line, ends in stalemate.
    Stalemates,
    /// The other side checks for ever.
    Perpetual,
    /// The position comes again and again.
    Repeats,
    /// What was won is no longer won.
    Slips,
    /// The other side wins.
    Lost,
    /// Less than the best move brings.
    Weaker,
    /// Forces what is asked, but only in so many moves.
    Slower(u8),
    /// The king of the other side gets out of the check, or of the mate that
    /// was threatened, to this square.
    Escapes(Square),
    /// The check, or the threat of mate (on this square, if at once), is
    /// parried by the reply.
    Parried(Option<Square>),
    /// No check, and nothing that is threatened in time.
    Idle,
    /// Mates, where something else is asked.
    Mates,
    /// Does not force what is asked; nothing nearer can be said.
    Unforced,
}

/// Roles that a code may name, and their letters.
const LETTERS: [(char, Role); 5] = [
    ('q', Role::Queen),
    ('r', Role::Rook),
    ('b', Role::Bishop),
    ('n', Role::Knight),
    ('p', Role::Pawn),
];

impl FailureKind {
    /// The code in the published file: letters and digits only, 1 to 4 of
    /// them.
    pub fn encode(self) -> String {
        let letter = match self {
            FailureKind::Mated(_) => 'm',
            FailureKind::Attacked => 'a',
            FailureKind::Loses(_) => 'l',
            FailureKind::LosesExchange => 'x',
            FailureKind::Promotes(_) => 'q',
            FailureKind::Stalemates => 's',
            FailureKind::Perpetual => 'c',
            FailureKind::Repeats => 'r',
            FailureKind::Slips => 'd',
            FailureKind::Lost => 'o',
            FailureKind::Weaker => 'w',
            FailureKind::Slower(_) => 't',
            FailureKind::Escapes(_) => 'e',
            FailureKind::Parried(_) => 'p',
            FailureKind::Idle => 'n',
            FailureKind::Mates => 'g',
            FailureKind::Unforced => 'f',
        };
        let mut code = String::from(letter);
        match self {
            FailureKind::Mated(n) | FailureKind::Slower(n) => push_number(&mut code, n),
            FailureKind::Loses(role) => code.extend(
                LETTERS
                    .iter()
                    .filter(|(_, named)| *named == role)
                    .map(|(letter, _)| *letter),
            ),
            FailureKind::Promotes(square)
            | FailureKind::Escapes(square)
            | FailureKind::Parried(Some(square)) => push_square(&mut code, square),
            _ => {}
        }
        code
    }

    /// Reads a code back; `None` if it is none.
    pub fn decode(code: &str) -> Option<FailureKind> {
        let mut letters = code.chars();
        let letter = letters.next()?;
        let rest = letters.as_str();
        let number = || rest.parse::<u8>().ok().filter(|&n| n > 0);
        let square = || rest.parse::<Square>().ok();
        let plain = |kind| rest.is_empty().then_some(kind);
        match letter {
            'm' => number().map(FailureKind::Mated),
            't' => number().map(FailureKind::Slower),
            'l' => LETTERS
                .iter()
                .find(|(letter, _)| rest.len() == 1 && rest.starts_with(*letter))
                .map(|(_, role)| FailureKind::Loses(*role)),
            'q' => square().map(FailureKind::Promotes),
            'e' => square().map(FailureKind::Escapes),
            'p' if rest.is_empty() => Some(FailureKind::Parried(None)),
            'p' => square().map(|square| FailureKind::Parried(Some(square))),
            'a' => plain(FailureKind::Attacked),
            'x' => plain(FailureKind::LosesExchange),
            's' => plain(FailureKind::Stalemates),
            'c' => plain(FailureKind::Perpetual),
            'r' => plain(FailureKind::Repeats),
            'd' => plain(FailureKind::Slips),
            'o' => plain(FailureKind::Lost),
            'w' => plain(FailureKind::Weaker),
            'n' => plain(FailureKind::Idle),
            'g' => plain(FailureKind::Mates),
            'f' => plain(FailureKind::Unforced),
            _ => None,
        }
    }

    /// The sentence. `line` is legal from `position` and starts with the wrong
    /// move, of which `goal` was asked; `number` is that move's.
    pub fn sentence(self, position: &Chess, line: &[Move], goal: Goal, number: u32) -> String {
        let Some((&first, rest)) = line.split_first() else {
            return String::new();
        };
        let mut text = moves::line(position, &[first], number);
        let Ok(after) = position.clone().play(first) else {
            return text;
        };
        let told = Told {
            number: number + u32::from(position.turn().is_black()),
            check: after.is_check(),
            after,
            rest,
            goal,
        };
        told.push(self, &mut text);
        text.push('.');
        text
    }
}

/// What a sentence tells of: the position after the wrong move, and the rest
/// of the line.
struct Told<'a> {
    after: Chess,
    rest: &'a [Move],
    goal: Goal,
    /// That of the reply.
    number: u32,
    check: bool,
}

impl Told<'_> {
    fn push(&self, kind: FailureKind, text: &mut String) {
        let last = matches!(self.goal, Goal::Mate(1));
        match kind {
            FailureKind::Mated(1) => self.with_line(text, " runs into "),
            FailureKind::Mated(n) => {
                text.push_str(" allows mate in ");
                push_number(text, n);
                self.with_line(text, ": ");
            }
            FailureKind::Attacked => self.with_line(text, " runs into a mating attack: "),
            FailureKind::Loses(role) => {
                text.push_str(if role == Role::Queen {
                    " loses the "
                } else {
                    " loses a "
                });
                text.push_str(name(role));
                self.with_line(text, ": ");
            }
            FailureKind::LosesExchange => self.with_line(text, " loses the exchange: "),
            FailureKind::Promotes(_) => self.with_line(text, " lets a pawn through: "),
            FailureKind::Stalemates if self.rest.is_empty() => text.push_str(" is stalemate"),
            FailureKind::Stalemates => self.with_line(text, " allows stalemate: "),
            FailureKind::Perpetual => self.with_line(text, " allows perpetual check: "),
            FailureKind::Repeats => self.with_line(text, " allows a draw by repetition: "),
            FailureKind::Slips if self.rest.is_empty() => {
                text.push_str(" leaves too little to win with");
            }
            FailureKind::Slips => self.with_line(text, " lets the win slip: "),
            FailureKind::Lost => self.with_line(text, " loses: "),
            FailureKind::Weaker => self.with_line(text, " is weaker: "),
            FailureKind::Slower(n) => {
                text.push_str(" takes too long");
                self.with_line(text, ": ");
                text.push_str(", and ");
                text.push_str(self.noun());
                text.push_str(" comes only in ");
                push_number(text, n);
                text.push_str(" moves");
            }
            FailureKind::Escapes(square) if last => {
                text.push_str(" is not mate: the king goes to ");
                push_square(text, square);
                self.with_line(text, ", ");
            }
            FailureKind::Escapes(_) => {
                self.with_line(text, " lets the king out: ");
                self.in_vain(text);
            }
            FailureKind::Parried(_) if last => {
                self.with_line(text, " is not mate: ");
                text.push_str(" parries the check");
            }
            FailureKind::Parried(_) if self.check => {
                self.with_line(text, " is met by ");
                self.in_vain(text);
            }
            FailureKind::Parried(threat) => {
                text.push_str(" threatens mate");
                if let Some(square) = threat {
                    text.push_str(" on ");
                    push_square(text, square);
                }
                self.with_line(text, ", but ");
                text.push_str(" parries it");
            }
            FailureKind::Idle if last => text.push_str(" is not mate: it gives no check"),
            FailureKind::Idle => {
                text.push_str(" threatens no ");
                text.push_str(self.noun());
                text.push_str(" in time");
                self.with_line(text, ": ");
                self.in_vain(text);
            }
            FailureKind::Mates => {
                text.push_str(" gives mate");
                if let Some((aim, _)) = self.goal.forced().filter(|(aim, _)| *aim != Aim::Mate) {
                    text.push_str(", not ");
                    text.push_str(aim.noun());
                }
            }
            FailureKind::Unforced => self.unforced(text),
        }
    }

    fn unforced(&self, text: &mut String) {
        match self.goal.forced() {
            Some((Aim::Selfmate, 0 | 1)) => {
                text.push_str(" does not make ");
                text.push_str(side(self.after.turn()));
                text.push_str(" mate");
            }
            Some((Aim::Stalemate, 1)) if !self.check && !self.rest.is_empty() => {
                text.push_str(" is not stalemate: ");
                text.push_str(side(self.after.turn()));
                text.push_str(" has ");
                return self.with_line(text, "");
            }
            Some((aim, 1)) => {
                text.push_str(" is not ");
                text.push_str(aim.end());
            }
            Some((Aim::Helpmate, n)) => {
                text.push_str(" does not help: no mate is left in ");
                if n == 2 {
                    text.push_str("one half move");
                } else {
                    push_number(text, n - 1);
                    text.push_str(" half moves");
                }
            }
            _ => {
                text.push(' ');
                text.push_str(&self.goal.missed());
            }
        }
        self.with_line(text, ": ");
    }

    /// `before` and the rest of the line, where there is one.
    fn with_line(&self, text: &mut String, before: &str) {
        if !self.rest.is_empty() {
            text.push_str(before);
            text.push_str(&moves::line(&self.after, self.rest, self.number));
        }
    }

    /// ", and there is no mate in 2".
    fn in_vain(&self, text: &mut String) {
        if let Some((aim, n)) = self.goal.forced() {
            text.push_str(", and there is no ");
            text.push_str(aim.noun());
            text.push_str(" in ");
            push_number(text, n);
        }
    }

    fn noun(&self) -> &'static str {
        self.goal.forced().map_or("win", |(aim, _)| aim.noun())
    }
}

fn side(color: Color) -> &'static str {
    if color.is_white() { "White" } else { "Black" }
}

fn push_number(text: &mut String, n: u8) {
    if n >= 10 {
        push_number(text, n / 10);
    }
    text.push(char::from(b'0' + n % 10));
}

fn push_square(text: &mut String, square: Square) {
    text.push(square.file().char());
    text.push(square.rank().char());
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::notation::fen;

    const EVERY: [FailureKind; 19] = [
        FailureKind::Mated(12),
        FailureKind::Attacked,
        FailureKind::Loses(Role::Queen),
        FailureKind::Loses(Role::Pawn),
        FailureKind::LosesExchange,
        FailureKind::Promotes(Square::E1),
        FailureKind::Stalemates,
        FailureKind::Perpetual,
        FailureKind::Repeats,
        FailureKind::Slips,
        FailureKind::Lost,
        FailureKind::Weaker,
        FailureKind::Slower(3),
        FailureKind::Escapes(Square::F8),
        FailureKind::Parried(None),
        FailureKind::Parried(Some(Square::H7)),
        FailureKind::Idle,
        FailureKind::Mates,
        FailureKind::Unforced,
    ];

    #[test]
    fn codes_are_read_back() {
        for kind in EVERY {
            let code = kind.encode();
            assert!(code.len() <= 4 && code.bytes().all(|b| b.is_ascii_alphanumeric()));
            assert_eq!(FailureKind::decode(&code), Some(kind), "{code}");
        }
    }

    #[test]
    fn what_is_no_code_is_refused() {
        for text in [
            "", "m", "m0", "m999", "l", "lk", "e", "ez9", "sx", "?", "pp",
        ] {
            assert_eq!(FailureKind::decode(text), None, "{text}");
        }
    }

    fn told(kind: FailureKind, position: &str, line: &str, goal: Goal) -> String {
        let start = fen::read(position).unwrap();
        let mut at = start.clone();
        let mut played = Vec::new();
        for text in line.split_whitespace() {
            let mv = moves::read(&at, text).unwrap();
            at.play_unchecked(mv);
            played.push(mv);
        }
        kind.sentence(&start, &played, goal, 1)
    }

    #[test]
    fn sentences_name_the_move_and_the_reply() {
        let back_rank = "3r2k1/5ppp/8/8/8/8/4QPPP/6K1 w - - 0 1";
        assert_eq!(
            told(FailureKind::Mated(1), back_rank, "Qb2 Rd1#", Goal::Mate(2)),
            "1.Qb2 runs into 1...Rd1#."
        );
        let room = "7k/8/5K2/8/8/8/8/R7 w - - 0 1";
        assert_eq!(
            told(
                FailureKind::Escapes(Square::G8),
                room,
                "Ra8 Kh7",
                Goal::Mate(2)
            ),
            "1.Ra8+ lets the king out: 1...Kh7, and there is no mate in 2."
        );
        assert_eq!(
            told(FailureKind::Idle, room, "Ra2", Goal::Mate(1)),
            "1.Ra2 is not mate: it gives no check."
        );
        let black = "k7/8/1q6/8/8/8/8/K7 b - - 0 1";
        assert_eq!(
            told(FailureKind::Stalemates, black, "Qb3", Goal::Mate(2)),
            "1...Qb3 is stalemate."
        );
        assert_eq!(
            told(FailureKind::Slower(3), black, "Qb4 Ka2", Goal::Mate(2)),
            "1...Qb4 takes too long: 2.Ka2, and mate comes only in 3 moves."
        );
    }
}
