//! Why a wrong move fails, in words: the kinds of failure, the code in which a
//! published file carries one, and its sentence; the sentence where no kind is known
//! ([`by_line`]); and what the author is told ([`clause`]). Finding the kind is
//! left to others. The student's page links this module, so it searches nothing
//! and writes nothing but strings.
//!
//! A code is a letter and what the kind names: `m2` mate in 2, `lq` loses the
//! queen, `ef8` the king escapes to f8.

mod clause;
mod line;

pub use clause::clause;
pub use line::by_line;

use model::aim::Aim;
use model::notation::moves;
use model::tongue::{Phrase, holes, phrase, say, tr};
use shakmaty::{Chess, Move, Position, Role, Square};

use crate::goal::Goal;

/// What the sentences name.
const HOLES: &str = "move line rest n square aim end side fault";

type Sentence = Phrase<{ holes::set(HOLES) }>;

macro_rules! sentence {
    ($text:literal) => {
        phrase!($text, HOLES)
    };
}

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

    /// The tag with the author's own words for wrong moves of this kind.
    pub fn tag(self) -> &'static str {
        match self {
            FailureKind::Mated(_) | FailureKind::Attacked => "WrongMated",
            FailureKind::Loses(_) | FailureKind::LosesExchange => "WrongLoses",
            FailureKind::Promotes(_) => "WrongPromotes",
            FailureKind::Stalemates => "WrongStalemate",
            FailureKind::Perpetual | FailureKind::Repeats => "WrongRepeats",
            FailureKind::Slips | FailureKind::Lost | FailureKind::Weaker => "WrongWeaker",
            FailureKind::Slower(_) => "WrongSlower",
            FailureKind::Escapes(_) => "WrongEscapes",
            FailureKind::Parried(_) => "WrongParried",
            FailureKind::Idle | FailureKind::Unforced => "WrongIdle",
            FailureKind::Mates => "WrongMates",
        }
    }

    /// The sentence. `line` is legal from `position` and starts with the wrong
    /// move, of which `goal` was asked; `number` is that move's.
    pub fn sentence(self, position: &Chess, line: &[Move], goal: Goal, number: u32) -> String {
        let Some((&first, replies)) = line.split_first() else {
            return String::new();
        };
        let mv = moves::line(position, &[first], number);
        let Ok(after) = position.clone().play(first) else {
            return mv;
        };
        let number = number + u32::from(position.turn().is_black());
        let line = moves::line(&after, replies, number);
        let forced = goal.forced();
        let mut n = String::new();
        let mut square = String::new();
        match self {
            FailureKind::Mated(moves) | FailureKind::Slower(moves) => push_number(&mut n, moves),
            FailureKind::Escapes(to) | FailureKind::Parried(Some(to)) => {
                push_square(&mut square, to);
            }
            _ => {}
        }
        if let (true, Some((aim, left))) = (n.is_empty(), forced) {
            push_number(&mut n, left - u8::from(aim.shared()));
        }
        let asked = Asked {
            goal,
            bare: line.is_empty(),
            check: after.is_check(),
        };
        say!(
            self.text(asked),
            move = mv,
            line = line,
            rest = rest(&line),
            n = n,
            square = square,
            aim = forced.map_or(tr("win"), |(aim, _)| aim.noun()),
            end = forced.map_or("", |(aim, _)| aim.end()),
            side = moves::side_name(after.turn()),
            fault = goal.missed(),
        )
    }

    fn text(self, asked: Asked) -> Sentence {
        let forced = asked.goal.forced();
        let last = matches!(asked.goal, Goal::Forced(Aim::Mate, 1));
        match self {
            FailureKind::Stalemates if asked.bare => sentence!("{move} is stalemate."),
            FailureKind::Slips if asked.bare => sentence!("{move} leaves too little to win with."),
            FailureKind::Idle if last => sentence!("{move} is not mate: it gives no check."),
            FailureKind::Mates if forced.is_some_and(|(aim, _)| aim != Aim::Mate) => {
                sentence!("{move} gives mate, not {aim}.")
            }
            FailureKind::Mates => sentence!("{move} gives mate."),
            FailureKind::Unforced => asked.unforced(),
            _ if asked.bare => asked.unforced(),
            FailureKind::Mated(1) => sentence!("{move} runs into {line}."),
            FailureKind::Mated(_) => sentence!("{move} allows mate in {n}: {line}."),
            FailureKind::Attacked => sentence!("{move} runs into a mating attack: {line}."),
            FailureKind::Loses(Role::Pawn) => sentence!("{move} loses a pawn: {line}."),
            FailureKind::Loses(Role::Knight) => sentence!("{move} loses a knight: {line}."),
            FailureKind::Loses(Role::Bishop) => sentence!("{move} loses a bishop: {line}."),
            FailureKind::Loses(Role::Rook) => sentence!("{move} loses a rook: {line}."),
            FailureKind::Loses(_) => sentence!("{move} loses the queen: {line}."),
            FailureKind::LosesExchange => sentence!("{move} loses the exchange: {line}."),
            FailureKind::Promotes(_) => sentence!("{move} lets a pawn through: {line}."),
            FailureKind::Stalemates => sentence!("{move} allows stalemate: {line}."),
            FailureKind::Perpetual => sentence!("{move} allows perpetual check: {line}."),
            FailureKind::Repeats => sentence!("{move} allows a draw by repetition: {line}."),
            FailureKind::Slips => sentence!("{move} lets the win slip: {line}."),
            FailureKind::Lost => sentence!("{move} loses: {line}."),
            FailureKind::Weaker => sentence!("{move} is weaker: {line}."),
            FailureKind::Slower(_) => {
                sentence!("{move} takes too long: {line}, and {aim} comes only in {n} moves.")
            }
            FailureKind::Escapes(_) if last => {
                sentence!("{move} is not mate: the king goes to {square}, {line}.")
            }
            FailureKind::Escapes(_) => {
                sentence!("{move} lets the king out: {line}, and there is no {aim} in {n}.")
            }
            FailureKind::Parried(_) if last => {
                sentence!("{move} is not mate: {line} parries the check.")
            }
            FailureKind::Parried(_) if asked.check => {
                sentence!("{move} is met by {line}, and there is no {aim} in {n}.")
            }
            FailureKind::Parried(None) => {
                sentence!("{move} threatens mate, but {line} parries it.")
            }
            FailureKind::Parried(Some(_)) => {
                sentence!("{move} threatens mate on {square}, but {line} parries it.")
            }
            FailureKind::Idle => {
                sentence!(
                    "{move} threatens no {aim} in time: {line}, and there is no {aim} in {n}."
                )
            }
        }
    }
}

/// What was asked of a wrong move, and what it leaves.
struct Asked {
    goal: Goal,
    /// No reply need be shown.
    bare: bool,
    check: bool,
}

impl Asked {
    /// That what was asked is not forced; nothing nearer.
    fn unforced(&self) -> Sentence {
        match self.goal.forced() {
            Some((Aim::Selfmate, 0 | 1)) => sentence!("{move} does not make {side} mate{rest}."),
            Some((Aim::Stalemate, 1)) if !self.bare && !self.check => {
                sentence!("{move} is not stalemate: {side} has {line}.")
            }
            Some((Aim::Gain(_), _)) => sentence!("{move} {fault}{rest}."),
            Some((_, 1)) => sentence!("{move} is not {end}{rest}."),
            Some((Aim::Helpmate, 2)) => {
                sentence!("{move} does not help: no mate is left in one half move.")
            }
            Some((Aim::Helpmate, _)) => {
                sentence!("{move} does not help: no mate is left in {n} half moves.")
            }
            _ => sentence!("{move} {fault}{rest}."),
        }
    }
}

/// A line as the end of a sentence: ": 1...Kf8"; nothing where there is none.
pub fn rest(line: &str) -> String {
    match line.is_empty() {
        true => String::new(),
        false => say!(": {line}", line = line),
    }
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
    use model::notation::fen;

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
            told(
                FailureKind::Mated(1),
                back_rank,
                "Qb2 Rd1#",
                Goal::Forced(Aim::Mate, 2)
            ),
            "1.Qb2 runs into 1...Rd1#."
        );
        let room = "7k/8/5K2/8/8/8/8/R7 w - - 0 1";
        assert_eq!(
            told(
                FailureKind::Escapes(Square::G8),
                room,
                "Ra8 Kh7",
                Goal::Forced(Aim::Mate, 2)
            ),
            "1.Ra8+ lets the king out: 1...Kh7, and there is no mate in 2."
        );
        assert_eq!(
            told(FailureKind::Idle, room, "Ra2", Goal::Forced(Aim::Mate, 1)),
            "1.Ra2 is not mate: it gives no check."
        );
        let black = "k7/8/1q6/8/8/8/8/K7 b - - 0 1";
        assert_eq!(
            told(
                FailureKind::Stalemates,
                black,
                "Qb3",
                Goal::Forced(Aim::Mate, 2)
            ),
            "1...Qb3 is stalemate."
        );
        assert_eq!(
            told(
                FailureKind::Slower(3),
                black,
                "Qb4 Ka2",
                Goal::Forced(Aim::Mate, 2)
            ),
            "1...Qb4 takes too long: 2.Ka2, and mate comes only in 3 moves."
        );
    }
}
