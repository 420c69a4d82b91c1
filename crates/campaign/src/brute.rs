//! Brute force over the rules of shakmaty. It shares no code with the prover
//! and knows nothing but the rules: every legal move is tried to the end, and
//! a search ends early only where one move or one reply has settled it. Which
//! is tried first is guessed, and leaves the answer as it is.

use shakmaty::{Chess, Move, MoveList, Position, Role, Square};

/// More leaves were looked at than allowed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Capped;

/// What took part: moves that mate or hold somewhere in the tree.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Took {
    pub castling: bool,
    pub en_passant: bool,
    pub promotion: bool,
    /// To another man than a queen.
    pub underpromotion: bool,
    pub double_check: bool,
    /// A move fails since it stalemates.
    pub stalemate: bool,
}

impl Took {
    fn note(&mut self, m: Move, after: &Chess) {
        self.castling |= m.is_castle();
        self.en_passant |= m.is_en_passant();
        self.promotion |= m.is_promotion();
        self.underpromotion |= m.promotion().is_some_and(|role| role != Role::Queen);
        self.double_check |= after.checkers().more_than_one();
    }
}

pub struct Brute {
    pub took: Took,
    leaves: u64,
    most: u64,
    /// By the moves left: where the moves went that settled most lately.
    first: [[Option<(Square, Square)>; 2]; 16],
}

impl Brute {
    /// A search that looks at `most` leaves at most.
    pub fn new(most: u64) -> Brute {
        Brute {
            took: Took::default(),
            leaves: 0,
            most,
            first: [[None; 2]; 16],
        }
    }

    fn leaf(&mut self) -> Result<(), Capped> {
        self.leaves += 1;
        if self.leaves > self.most {
            return Err(Capped);
        }
        Ok(())
    }

    /// All legal moves, what settled sister positions in front.
    fn moves(&self, position: &Chess, left: usize) -> MoveList {
        let mut moves = position.legal_moves();
        let mut front = 0;
        for guess in self.first[left].into_iter().flatten() {
            let found = moves.iter().position(|m| ends(*m) == guess);
            if let Some(at) = found.filter(|&at| at >= front) {
                moves.swap(front, at);
                front += 1;
            }
        }
        moves
    }

    fn settled(&mut self, left: usize, m: Move, after: &Chess) {
        self.took.note(m, after);
        let [first, _] = self.first[left];
        if first != Some(ends(m)) {
            self.first[left] = [Some(ends(m)), first];
        }
    }

    /// Whether the side to move forces mate within `n`.
    pub fn mates(&mut self, position: &Chess, n: u8) -> Result<bool, Capped> {
        if n == 0 {
            return Ok(false);
        }
        let left = usize::from(n) * 2;
        for m in self.moves(position, left) {
            let after = played(position, m);
            if self.wins(&after, n - 1)? {
                self.settled(left, m, &after);
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// Whether the move that led to `after` forces mate with `left` more.
    pub fn wins(&mut self, after: &Chess, left: u8) -> Result<bool, Capped> {
        if left == 0 {
            self.leaf()?;
            return Ok(after.is_checkmate());
        }
        let guess = usize::from(left) * 2 + 1;
        let replies = self.moves(after, guess);
        if replies.is_empty() {
            self.took.stalemate |= !after.is_check();
            return Ok(after.is_check());
        }
        for reply in replies {
            let next = played(after, reply);
            if !self.mates(&next, left)? {
                self.settled(guess, reply, &next);
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// Whether the move that led to `after`, the first of `n`, forces the
    /// other side to mate.
    pub fn selfmates(&mut self, after: &Chess, n: u8) -> Result<bool, Capped> {
        self.leaf()?;
        let guess = usize::from(n) * 2 + 1;
        let replies = self.moves(after, guess);
        if replies.is_empty() {
            return Ok(false);
        }
        for reply in replies {
            let next = played(after, reply);
            if !self.selfmated(&next, n)? {
                self.settled(guess, reply, &next);
                return Ok(false);
            }
        }
        Ok(true)
    }

    fn selfmated(&mut self, next: &Chess, n: u8) -> Result<bool, Capped> {
        if next.is_checkmate() {
            return Ok(true);
        }
        if n <= 1 {
            return Ok(false);
        }
        let guess = usize::from(n) * 2;
        for m in self.moves(next, guess) {
            let after = played(next, m);
            if self.selfmates(&after, n - 1)? {
                self.settled(guess, m, &after);
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// Whether the move that led to `after`, the first of `n`, forces
    /// stalemate of the other side.
    pub fn stalemates(&mut self, after: &Chess, n: u8) -> Result<bool, Capped> {
        self.leaf()?;
        let guess = usize::from(n) * 2 + 1;
        let replies = self.moves(after, guess);
        if replies.is_empty() {
            return Ok(!after.is_check());
        }
        if n <= 1 {
            return Ok(false);
        }
        for reply in replies {
            let next = played(after, reply);
            if !self.stalemated(&next, n - 1)? {
                self.settled(guess, reply, &next);
                return Ok(false);
            }
        }
        Ok(true)
    }

    fn stalemated(&mut self, next: &Chess, n: u8) -> Result<bool, Capped> {
        let guess = usize::from(n) * 2;
        for m in self.moves(next, guess) {
            let after = played(next, m);
            if self.stalemates(&after, n)? {
                self.settled(guess, m, &after);
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// Adds all lines of exactly `n` half moves from `position` that end in
    /// mate, each after `path`.
    pub fn helpmates(
        &mut self,
        position: &Chess,
        n: u8,
        path: &mut Vec<Move>,
        found: &mut Vec<Vec<Move>>,
    ) -> Result<(), Capped> {
        for m in position.legal_moves() {
            let after = played(position, m);
            path.push(m);
            if n > 1 {
                self.helpmates(&after, n - 1, path, found)?;
            } else {
                self.leaf()?;
                if after.is_checkmate() {
                    self.took.note(m, &after);
                    found.push(path.clone());
                }
            }
            path.pop();
        }
        Ok(())
    }
}

/// The squares that a move leaves and reaches.
fn ends(m: Move) -> (Square, Square) {
    (m.from().unwrap_or(m.to()), m.to())
}

/// The position after a legal move.
pub fn played(position: &Chess, m: Move) -> Chess {
    let mut after = position.clone();
    after.play_unchecked(m);
    after
}
