//! The proof of a mate, as the author walks it: at one position, what is
//! proved of every legal move, in words, and what must still be asked. Where
//! the author stands is left to the desk, proving to the workers.

use keyproof::aim::Aim;
use keyproof::check::{Goal, Known, Question, Ruling, thousands};
use keyproof::notation::moves;
use keyproof::tongue::{say, tr};
use shakmaty::{Chess, Color, Move, Position};

/// A position on the way through the proof.
#[derive(Clone, Copy, Debug)]
pub struct Place<'a> {
    pub position: &'a Chess,
    /// Moves that the solver has left from here on.
    pub left: u8,
    /// Whether it is the solver's turn.
    pub solving: bool,
}

/// What is known of one legal move.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum State {
    /// The solver's move forces mate in `length` moves, itself included; or,
    /// after this reply, `answer` does.
    Mates { length: u8, answer: Option<Move> },
    /// The solver's move fails, to `reply` if that takes one; or this reply
    /// leaves no mate in time.
    Fails { reply: Option<Move> },
    /// Given up after so many positions.
    Undecided { nodes: u64 },
    /// Not known yet.
    Waiting,
}

/// One legal move, with what is known of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Branch {
    pub mv: Move,
    /// With its number: `1.Ra7`.
    pub text: String,
    pub state: State,
    /// What is known, in words: "mates in 2".
    pub words: String,
}

/// A place with all its moves, the right ones first; of the replies, those
/// that refute, then those that hold out longest.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Page {
    /// What is proved of the position, in a sentence.
    pub head: String,
    pub branches: Vec<Branch>,
    pub decided: usize,
    pub undecided: usize,
}

impl Place<'_> {
    /// What must still be asked about the moves here.
    pub fn questions(&self, known: &Known) -> Vec<Question> {
        if self.left == 0 {
            return Vec::new();
        }
        let waiting = self
            .position
            .legal_moves()
            .into_iter()
            .filter(|&mv| self.state(known, mv) == State::Waiting);
        let goal = Goal::Forced(Aim::Mate, self.left);
        if self.solving {
            let waiting: Vec<Move> = waiting.collect();
            if waiting.is_empty() {
                return Vec::new();
            }
            return vec![Question::about(self.position, goal, &waiting)];
        }
        waiting
            .map(|mv| Question::about(&after(self.position, mv), goal, &[]))
            .collect()
    }

    /// All that is known here.
    pub fn page(&self, known: &Known) -> Page {
        let moves = match self.left {
            0 => Vec::new(),
            _ => self.position.legal_moves().to_vec(),
        };
        let mut branches: Vec<Branch> = moves
            .into_iter()
            .map(|mv| {
                let state = self.state(known, mv);
                Branch {
                    mv,
                    text: numbered(self.position, mv),
                    words: self.words(mv, &state),
                    state,
                }
            })
            .collect();
        branches.sort_by_cached_key(|branch| (self.rank(&branch.state), branch.text.clone()));
        let all = |fits: fn(&State) -> bool| branches.iter().filter(|b| fits(&b.state)).count();
        let undecided = all(|s| matches!(s, State::Undecided { .. }));
        let decided = branches.len() - undecided - all(|s| *s == State::Waiting);
        let mates = all(|s| matches!(s, State::Mates { .. }));
        Page {
            head: self.head(branches.len(), decided, mates),
            branches,
            decided,
            undecided,
        }
    }

    /// What is known of one move.
    pub fn state(&self, known: &Known, mv: Move) -> State {
        let goal = Goal::Forced(Aim::Mate, self.left);
        let ruling = if self.solving {
            known.ruling(self.position, goal, mv)
        } else {
            known.any(&after(self.position, mv), goal)
        };
        match ruling {
            None => State::Waiting,
            Some(Ruling::Holds { length, line, .. }) => State::Mates {
                length: length.unwrap_or(self.left),
                answer: line.first().copied().filter(|_| !self.solving),
            },
            Some(Ruling::Fails { line, .. }) => State::Fails {
                reply: line.get(1).copied().filter(|_| self.solving),
            },
            Some(Ruling::Open { nodes, .. }) => State::Undecided { nodes: *nodes },
        }
    }

    fn head(&self, all: usize, decided: usize, mates: usize) -> String {
        let side = match self.position.turn() {
            Color::White => tr("White"),
            Color::Black => tr("Black"),
        };
        if self.position.is_checkmate() {
            return say!("{side} is mated.", side = side);
        }
        if self.position.is_stalemate() {
            return say!("{side} is stalemated: there is no mate.", side = side);
        }
        if self.left == 0 {
            return tr("It is not mate, and no move is left.").into();
        }
        if decided < all {
            return say!(
                "{side} to move: {n} of {all} moves are decided.",
                side = side,
                n = decided.to_string(),
                all = all.to_string(),
            );
        }
        let fails = all - mates;
        match (self.solving, mates, fails) {
            (true, 0, _) => say!(
                "{side} to move. Proved: no move mates in {left}.",
                side = side,
                left = self.left.to_string()
            ),
            (true, 1, 0) => say!(
                "{side} to move. Proved: the only move mates in time.",
                side = side
            ),
            (true, 1, _) => say!(
                "{side} to move. Proved: 1 of {all} moves mates in {left}.",
                side = side,
                all = all.to_string(),
                left = self.left.to_string()
            ),
            (true, _, _) => say!(
                "{side} to move. Proved: {mates} of {all} moves mate in {left}.",
                side = side,
                mates = mates.to_string(),
                all = all.to_string(),
                left = self.left.to_string()
            ),
            (false, 1, 0) => say!(
                "{side} to move. Proved: the only reply is answered by mate.",
                side = side
            ),
            (false, _, 0) => say!(
                "{side} to move. Proved: all {all} replies are answered by mate.",
                side = side,
                all = all.to_string()
            ),
            (false, _, 1) => say!(
                "{side} to move. Proved: 1 of {all} replies refutes.",
                side = side,
                all = all.to_string()
            ),
            (false, _, _) => say!(
                "{side} to move. Proved: {fails} of {all} replies refute.",
                side = side,
                fails = fails.to_string(),
                all = all.to_string()
            ),
        }
    }

    fn words(&self, mv: Move, state: &State) -> String {
        let next = after(self.position, mv);
        match state {
            State::Mates { length, answer } => {
                let answer = answer.map(|answer| numbered(&next, answer));
                match (answer, length) {
                    (None, 1) => tr("mates").into(),
                    (None, n) => say!("mates in {n}", n = n.to_string()),
                    (Some(mv), 1) => say!("{move} mates", move = mv),
                    (Some(mv), n) => say!("{move} mates in {n}", move = mv, n = n.to_string()),
                }
            }
            State::Fails { reply: Some(reply) } => {
                say!("fails to {reply}", reply = numbered(&next, *reply))
            }
            State::Fails { reply: None } if next.is_stalemate() => tr("gives stalemate").into(),
            State::Fails { reply: None } if !self.solving => {
                say!("refutes: no mate in {n}", n = self.left.to_string())
            }
            State::Fails { reply: None } if self.left == 1 => tr("is not mate").into(),
            State::Fails { reply: None } => tr("fails").into(),
            State::Undecided { nodes: 0 } => tr("undecided").into(),
            State::Undecided { nodes } => {
                say!("undecided after {n} positions", n = thousands(*nodes))
            }
            State::Waiting => tr("not known yet").into(),
        }
    }

    /// A place in the list.
    fn rank(&self, state: &State) -> (u8, u8) {
        match (state, self.solving) {
            (State::Mates { length, .. }, true) => (0, *length),
            (State::Fails { .. }, false) => (0, 0),
            (State::Undecided { .. }, _) => (1, 0),
            (State::Waiting, _) => (2, 0),
            (State::Mates { length, .. }, false) => (3, u8::MAX - length),
            (State::Fails { .. }, true) => (3, 0),
        }
    }
}

/// A move with its number, `1.Qh7+` or `1...Kf8`.
pub fn numbered(position: &Chess, mv: Move) -> String {
    moves::line(position, &[mv], position.fullmoves().get())
}

/// The position after a legal move.
pub fn after(position: &Chess, mv: Move) -> Chess {
    let mut next = position.clone();
    next.play_unchecked(mv);
    next
}

#[cfg(test)]
mod tests {
    use super::*;
    use keyproof::check::Judge;
    use keyproof::notation::fen;
    use keyproof::prove::Unwatched;

    fn place(position: &Chess, left: u8, solving: bool) -> Place<'_> {
        Place {
            position,
            left,
            solving,
        }
    }
    fn proved(place: &Place) -> Known {
        let mut known = Known::default();
        let mut judge = Judge::new(1 << 20);
        for question in place.questions(&known) {
            known.learn(&judge.answer(&question, &mut Unwatched));
        }
        assert!(place.questions(&known).is_empty());
        known
    }
    fn told(page: &Page) -> Vec<String> {
        let of = |b: &Branch| format!("{}: {}", b.text, b.words);
        page.branches.iter().map(of).collect()
    }

    #[test]
    fn before_anything_is_known_all_moves_are_asked_about_in_one_question() {
        let position = fen::read("7k/8/8/8/8/8/R7/1R2K3 w - - 0 1").unwrap();
        let place = place(&position, 2, true);
        let questions = place.questions(&Known::default());
        let legal = position.legal_moves().len();
        assert_eq!(questions.len(), 1);
        assert_eq!(questions[0].moves.len(), legal);
        let page = place.page(&Known::default());
        assert_eq!(
            page.head,
            format!("White to move: 0 of {legal} moves are decided.")
        );
        assert!(page.branches.iter().all(|b| b.words == "not known yet"));
    }

    #[test]
    fn right_moves_come_first_and_wrong_ones_name_what_they_fail_to() {
        let position = fen::read("7k/8/8/8/8/8/R7/1R2K3 w - - 0 1").unwrap();
        let place = place(&position, 2, true);
        let page = place.page(&proved(&place));
        let told = told(&page);
        let right = told
            .iter()
            .take_while(|t| t.ends_with("mates in 2"))
            .count();
        assert!(right > 0 && told[..right].contains(&"1.Ra7: mates in 2".to_owned()));
        assert!(
            told[right..].iter().all(|t| t.contains(": fails to 1...K")),
            "{told:?}"
        );
        assert_eq!(
            page.head,
            format!(
                "White to move. Proved: {right} of {} moves mate in 2.",
                told.len()
            )
        );
    }

    #[test]
    fn every_reply_has_its_answer() {
        let position = fen::read("7k/R7/8/8/8/8/8/1R2K3 b - - 1 1").unwrap();
        let place = place(&position, 1, false);
        let page = place.page(&proved(&place));
        assert_eq!(told(&page), ["1...Kg8: 2.Rb8# mates"]);
        assert_eq!(
            page.head,
            "Black to move. Proved: the only reply is answered by mate."
        );
    }

    #[test]
    fn a_reply_that_refutes_comes_first() {
        let position = fen::read("7k/8/8/8/R7/8/8/1R2K3 b - - 1 1").unwrap();
        let place = place(&position, 1, false);
        let page = place.page(&proved(&place));
        assert!(
            page.branches
                .iter()
                .all(|b| matches!(b.state, State::Fails { .. })
                    || page.branches[0].state == State::Fails { reply: None })
        );
        assert_eq!(page.branches[0].words, "refutes: no mate in 1");
    }

    /// The queen takes the last square away: stalemate.
    #[test]
    fn stalemate_and_a_quiet_last_move_are_told_apart() {
        let position = fen::read("7k/8/6K1/8/8/8/8/5Q2 w - - 0 1").unwrap();
        let place = place(&position, 1, true);
        let told = told(&place.page(&proved(&place)));
        assert_eq!(told[0], "1.Qf8#: mates");
        assert!(told.contains(&"1.Qf7: gives stalemate".to_owned()));
        assert!(told.contains(&"1.Qa1+: is not mate".to_owned()), "{told:?}");
    }

    #[test]
    fn the_end_of_a_line_is_told_and_asks_nothing() {
        for (fen, left, head) in [
            ("5Q1k/8/6K1/8/8/8/8/8 b - - 0 1", 0, "Black is mated."),
            (
                "7k/5Q2/6K1/8/8/8/8/8 b - - 0 1",
                1,
                "Black is stalemated: there is no mate.",
            ),
            (
                "7k/8/6K1/8/8/8/8/Q7 b - - 0 1",
                0,
                "It is not mate, and no move is left.",
            ),
        ] {
            let position = fen::read(fen).unwrap();
            let place = place(&position, left, false);
            assert!(place.questions(&Known::default()).is_empty());
            let page = place.page(&Known::default());
            assert_eq!((page.head.as_str(), page.branches.len()), (head, 0));
        }
    }

    #[test]
    fn what_was_given_up_is_neither_proved_nor_asked_again() {
        let position = fen::read("7k/R7/8/8/8/8/8/1R2K3 b - - 1 1").unwrap();
        let place = place(&position, 1, false);
        let mut known = Known::default();
        let mut judge = Judge::new(1 << 20);
        let mut answer = judge.answer(&place.questions(&known)[0], &mut Unwatched);
        answer.rulings = vec![Ruling::Open {
            line: vec![],
            nodes: 20_000_000,
            evidence: None,
        }];
        known.learn(&answer);
        assert!(place.questions(&known).is_empty());
        let page = place.page(&known);
        assert_eq!((page.decided, page.undecided), (0, 1));
        assert_eq!(
            told(&page),
            ["1...Kg8: undecided after 20,000,000 positions"]
        );
        assert!(!page.head.contains("Proved"));
    }
}
