//! What an empty desk offers to look at.

/// A mate in two of our own, as PGN.
pub const PGN: &str = r##"[Event "The quiet queen"]
[Site "Lantern Chess Club"]
[Annotator "Orla Fenwick"]
[SetUp "1"]
[FEN "8/1pB5/kp6/8/p7/8/1B1Q4/2K5 w - - 0 1"]
[Stipulation "#2"]
[Hint1 "Black's king has two squares. Which of them can you take away without a check?"]
[Hint2 "The queen should stand where b5 and the a-pawn are both in her sight."]
[Themes "quiet key"]
[Language "en"]

{Black is almost out of moves. Do not hurry him.} 1. Qb4 $1 {The queen takes
b5 from the king and eyes a4. She gives no check, and nothing holds.}
( 1. Qd4 $2 {Natural, since b6 hangs. But b5 is left open.} Kb5 {and the king
walks out.} ) 1... Ka7 ( 1... b5 {The pawn fills the last square beside the
king.} 2. Qa5# ) ( 1... a3 {The one move that spoils nothing, and loses all the
same.} 2. Qxb6# ( 2. Qa4# $1 ) ) 2. Qxa4# *
"##;

/// A game that stops and asks, as PGN.
pub const LESSON: &str = include_str!("../../../puzzles/games/the-queen-that-waited.pgn");
