//! What a hand on the board means: which man is held, where the cursor stands,
//! and when a man was carried from one square to another. By pointer (drag, or
//! click from and to) and by keyboard. Knows nothing of the browser; what may
//! be carried where is told by [`Ways`].

use model::notation::moves::landing;
use shakmaty::{Board, File, Move, Rank, Role, Square};

/// What a hand may lift, and where it may put it.
#[derive(Clone, Copy)]
pub enum Ways<'a> {
    /// As these legal moves say.
    Moves(&'a [Move]),
    /// Any man anywhere.
    Free(&'a Board),
}

impl Ways<'_> {
    /// Whether the man on a square may be lifted.
    pub fn lifts(self, from: Square) -> bool {
        match self {
            Ways::Moves(moves) => moves.iter().any(|mv| mv.from() == Some(from)),
            Ways::Free(board) => board.piece_at(from).is_some(),
        }
    }

    /// Whether a man lifted from one square may be put on another.
    pub fn lands(self, from: Square, to: Square) -> bool {
        match self {
            Ways::Moves(moves) => moves.iter().any(|&mv| carries(mv, from, to)),
            Ways::Free(_) => from != to,
        }
    }
}

/// Whether carrying a man between these squares plays this move. Castling is
/// played with the king to its square or on to the rook.
pub fn carries(mv: Move, from: Square, to: Square) -> bool {
    mv.from() == Some(from) && (landing(mv) == to || mv.to() == to)
}

/// The men a pawn may become when carried between these squares; empty unless
/// there is something to choose.
pub fn choices(moves: &[Move], from: Square, to: Square) -> Vec<Role> {
    moves
        .iter()
        .filter(|&&mv| carries(mv, from, to))
        .filter_map(|mv| mv.promotion())
        .collect()
}

/// What came of an event.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    Nothing,
    /// A man was carried between two squares, as the [`Ways`] allow.
    Carried(Square, Square),
    /// A man was dragged off the board.
    Off(Square),
}

/// Keys that mean something on the board.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Key {
    Left,
    Right,
    Up,
    Down,
    RowStart,
    RowEnd,
    First,
    Last,
    /// Enter or Space: pick up, put down.
    Act,
    Escape,
}

impl Key {
    /// From the browser's name of the key.
    pub fn named(name: &str, ctrl: bool) -> Option<Key> {
        Some(match name {
            "ArrowLeft" => Key::Left,
            "ArrowRight" => Key::Right,
            "ArrowUp" => Key::Up,
            "ArrowDown" => Key::Down,
            "Home" if ctrl => Key::First,
            "End" if ctrl => Key::Last,
            "Home" => Key::RowStart,
            "End" => Key::RowEnd,
            "Enter" | " " => Key::Act,
            "Escape" => Key::Escape,
            _ => return None,
        })
    }
}

/// A hand on the board.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hand {
    cursor: Square,
    held: Option<Square>,
    pressed: Option<Press>,
}

/// A pointer that is down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Press {
    on: Square,
    /// The press lifted a man, which follows the pointer.
    drags: bool,
    /// The man was held before, so that a click puts it down.
    again: bool,
}

impl Hand {
    /// An empty hand, the cursor on a square.
    pub fn new(cursor: Square) -> Hand {
        Hand {
            cursor,
            held: None,
            pressed: None,
        }
    }

    /// The square that keys act on.
    pub fn cursor(&self) -> Square {
        self.cursor
    }

    /// The square of the man held.
    pub fn held(&self) -> Option<Square> {
        self.held
    }

    /// The square of the man that follows the pointer.
    pub fn dragged(&self) -> Option<Square> {
        self.pressed
            .filter(|press| press.drags)
            .map(|press| press.on)
    }

    /// Lets go of everything.
    pub fn let_go(&mut self) {
        self.held = None;
        self.pressed = None;
    }

    /// Lets go of a man that may no longer be lifted.
    pub fn settle(&mut self, ways: Ways) {
        if self.held.is_some_and(|from| !ways.lifts(from)) {
            self.let_go();
        }
    }

    /// Puts the cursor on a square.
    pub fn point(&mut self, square: Square) {
        self.cursor = square;
    }

    /// A pointer goes down on a square.
    pub fn press(&mut self, on: Square, ways: Ways) {
        self.cursor = on;
        let again = self.held == Some(on);
        let answers = self.held.is_some_and(|from| ways.lands(from, on));
        let drags = !answers && ways.lifts(on);
        if drags {
            self.held = Some(on);
        } else if !answers {
            self.held = None;
        }
        self.pressed = Some(Press { on, drags, again });
    }

    /// The pointer goes up over a square, or off the board.
    pub fn release(&mut self, over: Option<Square>, ways: Ways) -> Outcome {
        let (Some(press), Some(from)) = (self.pressed.take(), self.held) else {
            return Outcome::Nothing;
        };
        if over == Some(press.on) && press.drags {
            if press.again {
                self.held = None;
            }
            return Outcome::Nothing;
        }
        if !press.drags && over != Some(press.on) {
            return Outcome::Nothing;
        }
        self.held = None;
        match over {
            Some(to) if ways.lands(from, to) => {
                self.cursor = to;
                Outcome::Carried(from, to)
            }
            Some(_) => Outcome::Nothing,
            None => Outcome::Off(from),
        }
    }

    /// A key, as seen with Black's or White's side below.
    pub fn key(&mut self, key: Key, ways: Ways, black_below: bool) -> Outcome {
        match key {
            Key::Escape => self.let_go(),
            Key::Act => return self.act(ways),
            _ => self.step(key, black_below),
        }
        Outcome::Nothing
    }

    fn act(&mut self, ways: Ways) -> Outcome {
        let at = self.cursor;
        match self.held {
            Some(from) if ways.lands(from, at) => {
                self.let_go();
                return Outcome::Carried(from, at);
            }
            Some(from) if from == at => self.let_go(),
            _ if ways.lifts(at) => self.held = Some(at),
            _ => {}
        }
        Outcome::Nothing
    }

    fn step(&mut self, key: Key, black_below: bool) {
        let (file, rank) = (self.cursor.file() as i32, self.cursor.rank() as i32);
        let (mut column, mut row) = if black_below {
            (7 - file, rank)
        } else {
            (file, 7 - rank)
        };
        match key {
            Key::Left => column -= 1,
            Key::Right => column += 1,
            Key::Up => row -= 1,
            Key::Down => row += 1,
            Key::RowStart => column = 0,
            Key::RowEnd => column = 7,
            Key::First => (column, row) = (0, 0),
            Key::Last => (column, row) = (7, 7),
            Key::Act | Key::Escape => {}
        }
        self.cursor = at(column.clamp(0, 7), row.clamp(0, 7), black_below);
    }
}

/// The square at a column and row as seen, both 0 to 7 from the upper left.
pub fn at(column: i32, row: i32, black_below: bool) -> Square {
    let (file, rank) = if black_below {
        (7 - column, row)
    } else {
        (column, 7 - row)
    };
    Square::from_coords(File::new(file as u32), Rank::new(rank as u32))
}

/// Which men went where between two boards that differ by one move, forward or
/// back: `(from, to)` for each man that moved. Empty when nothing moved or the
/// boards differ by more.
pub fn glides(before: &Board, after: &Board) -> Vec<(Square, Square)> {
    let changed = |a: &Board, b: &Board| -> Vec<Square> {
        a.occupied()
            .into_iter()
            .filter(|&sq| a.piece_at(sq) != b.piece_at(sq))
            .collect()
    };
    let mut gone = changed(before, after);
    let come = changed(after, before);
    if come.len() > 2 || gone.len() > 2 {
        return vec![];
    }
    let mut found = vec![];
    for to in come {
        let man = after.piece_at(to);
        let same = gone.iter().position(|&sq| before.piece_at(sq) == man);
        let promoted = || {
            let color = man.map(|m| m.color);
            gone.iter().position(|&sq| {
                let was = before.piece_at(sq);
                was.map(|m| m.color) == color
                    && (was.is_some_and(|m| m.role == Role::Pawn)
                        || man.is_some_and(|m| m.role == Role::Pawn))
            })
        };
        if let Some(index) = same.or_else(promoted) {
            found.push((gone.remove(index), to));
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use shakmaty::{Chess, Color, Piece, Position};

    fn start() -> Vec<Move> {
        Chess::default().legal_moves().to_vec()
    }

    #[test]
    fn a_drag_carries() {
        let moves = start();
        let ways = Ways::Moves(&moves);
        let mut hand = Hand::new(Square::A1);
        hand.press(Square::E2, ways);
        assert_eq!(hand.dragged(), Some(Square::E2));
        assert_eq!(
            hand.release(Some(Square::E4), ways),
            Outcome::Carried(Square::E2, Square::E4)
        );
        assert_eq!((hand.held(), hand.cursor()), (None, Square::E4));
    }

    #[test]
    fn a_drag_to_no_square_of_a_move_puts_the_man_back() {
        let moves = start();
        let ways = Ways::Moves(&moves);
        let mut hand = Hand::new(Square::A1);
        hand.press(Square::E2, ways);
        assert_eq!(hand.release(Some(Square::E5), ways), Outcome::Nothing);
        assert_eq!((hand.held(), hand.dragged()), (None, None));
    }

    #[test]
    fn two_clicks_carry_and_a_second_click_on_the_man_puts_it_down() {
        let moves = start();
        let ways = Ways::Moves(&moves);
        let mut hand = Hand::new(Square::A1);
        hand.press(Square::G1, ways);
        assert_eq!(hand.release(Some(Square::G1), ways), Outcome::Nothing);
        assert_eq!(hand.held(), Some(Square::G1));
        hand.press(Square::G1, ways);
        hand.release(Some(Square::G1), ways);
        assert_eq!(hand.held(), None);
        hand.press(Square::G1, ways);
        hand.release(Some(Square::G1), ways);
        hand.press(Square::F3, ways);
        assert_eq!(hand.dragged(), None);
        assert_eq!(
            hand.release(Some(Square::F3), ways),
            Outcome::Carried(Square::G1, Square::F3)
        );
    }

    #[test]
    fn a_click_on_another_man_takes_that_one() {
        let moves = start();
        let ways = Ways::Moves(&moves);
        let mut hand = Hand::new(Square::A1);
        for square in [Square::G1, Square::B1] {
            hand.press(square, ways);
            hand.release(Some(square), ways);
        }
        assert_eq!(hand.held(), Some(Square::B1));
        hand.press(Square::E7, ways);
        assert_eq!(hand.held(), None);
    }

    #[test]
    fn keys_walk_stop_at_the_edge_and_carry() {
        let moves = start();
        let ways = Ways::Moves(&moves);
        let mut hand = Hand::new(Square::E2);
        hand.key(Key::Act, ways, false);
        assert_eq!(hand.held(), Some(Square::E2));
        hand.key(Key::Up, ways, false);
        hand.key(Key::Up, ways, false);
        assert_eq!(
            hand.key(Key::Act, ways, false),
            Outcome::Carried(Square::E2, Square::E4)
        );
        for _ in 0..9 {
            hand.key(Key::Left, ways, false);
        }
        assert_eq!(hand.cursor(), Square::A4);
        hand.key(Key::RowEnd, ways, false);
        assert_eq!(hand.cursor(), Square::H4);
        hand.key(Key::First, ways, false);
        assert_eq!(hand.cursor(), Square::A8);
        hand.key(Key::First, ways, true);
        assert_eq!(hand.cursor(), Square::H1);
        hand.key(Key::Right, ways, true);
        assert_eq!(hand.cursor(), Square::G1);
        hand.key(Key::Act, ways, true);
        hand.key(Key::Escape, ways, true);
        assert_eq!(hand.held(), None);
    }

    #[test]
    fn castling_is_carried_to_the_kings_square_or_on_to_the_rook() {
        let castle = Move::Castle {
            king: Square::E8,
            rook: Square::A8,
        };
        assert!(carries(castle, Square::E8, Square::C8));
        assert!(carries(castle, Square::E8, Square::A8));
        assert!(!carries(castle, Square::E8, Square::G8));
    }

    #[test]
    fn a_promotion_gives_a_choice_and_other_moves_none() {
        let moves: Vec<Move> = [Role::Queen, Role::Knight]
            .map(|role| Move::Normal {
                role: Role::Pawn,
                from: Square::B7,
                to: Square::B8,
                capture: None,
                promotion: Some(role),
            })
            .to_vec();
        assert_eq!(
            choices(&moves, Square::B7, Square::B8),
            [Role::Queen, Role::Knight]
        );
        assert!(choices(&start(), Square::E2, Square::E4).is_empty());
    }

    #[test]
    fn men_set_up_freely_go_anywhere_and_off() {
        let board = Board::new();
        let ways = Ways::Free(&board);
        let mut hand = Hand::new(Square::A1);
        hand.press(Square::E1, ways);
        assert_eq!(hand.release(None, ways), Outcome::Off(Square::E1));
        hand.press(Square::E5, ways);
        assert_eq!(hand.release(None, ways), Outcome::Nothing);
    }

    #[test]
    fn one_move_glides_forward_and_back_and_a_jump_does_not() {
        let before = Chess::default();
        let mv = *start()
            .iter()
            .find(|m| m.to() == Square::F3 && m.role() == Role::Knight)
            .unwrap();
        let after = before.clone().play(mv).unwrap();
        assert_eq!(
            glides(before.board(), after.board()),
            [(Square::G1, Square::F3)]
        );
        assert_eq!(
            glides(after.board(), before.board()),
            [(Square::F3, Square::G1)]
        );
        assert!(glides(before.board(), before.board()).is_empty());
        assert!(glides(&Board::empty(), before.board()).is_empty());
    }

    #[test]
    fn a_promoting_pawn_glides_with_a_capture_on_the_way() {
        let mut before = Board::empty();
        before.set_piece_at(Square::B7, Color::White.pawn());
        before.set_piece_at(Square::C8, Color::Black.rook());
        let mut after = Board::empty();
        after.set_piece_at(
            Square::C8,
            Piece {
                color: Color::White,
                role: Role::Queen,
            },
        );
        assert_eq!(glides(&before, &after), [(Square::B7, Square::C8)]);
        assert_eq!(glides(&after, &before), [(Square::C8, Square::B7)]);
    }
}
