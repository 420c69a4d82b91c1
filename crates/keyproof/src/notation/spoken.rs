//! Moves in words, for a screen reader.

use shakmaty::{CastlingSide, Chess, Move, Position, Role, Square, san::San};

use crate::tongue::{phrase, say, tr};

/// The move in words for a screen reader: "queen takes h7, check".
pub fn spoken(position: &Chess, mv: Move) -> String {
    let words = match San::from_move(position, mv) {
        San::Castle(CastlingSide::KingSide) => tr("castles king's side").to_owned(),
        San::Castle(CastlingSide::QueenSide) => tr("castles queen's side").to_owned(),
        San::Normal {
            role,
            file,
            rank,
            capture,
            to,
            promotion,
        } => {
            let mut man = role_name(role).to_owned();
            match (file, rank) {
                (Some(file), Some(rank)) => {
                    let square = Square::from_coords(file, rank).to_string();
                    man = say("{man} from {square}", "man square", &[&man, &square]);
                }
                (Some(file), None) => {
                    man = say(
                        "{man} from the {file} file",
                        "man file",
                        &[&man, &file.char().to_string()],
                    );
                }
                (None, Some(rank)) => {
                    man = say(
                        "{man} from rank {rank}",
                        "man rank",
                        &[&man, &rank.char().to_string()],
                    );
                }
                (None, None) => {}
            }
            let to = to.to_string();
            let mut words = match capture {
                true => say("{man} takes {square}", "man square", &[&man, &to]),
                false => say("{man} to {square}", "man square", &[&man, &to]),
            };
            if mv.is_en_passant() {
                words = say("{move} en passant", "move", &[&words]);
            }
            if let Some(role) = promotion {
                words = say(
                    "{move}, promotes to {man}",
                    "move man",
                    &[&words, role_name(role)],
                );
            }
            words
        }
        other => other.to_string(),
    };
    if position.is_legal(mv) {
        let mut after = position.clone();
        after.play_unchecked(mv);
        if after.is_checkmate() {
            return say("{move}, mate", "move", &[&words]);
        } else if after.is_check() {
            return say("{move}, check", "move", &[&words]);
        } else if after.is_stalemate() {
            return say("{move}, stalemate", "move", &[&words]);
        }
    }
    words
}

/// A man's name: "knight".
pub fn role_name(role: Role) -> &'static str {
    tr(match role {
        Role::Pawn => phrase("pawn"),
        Role::Knight => phrase("knight"),
        Role::Bishop => phrase("bishop"),
        Role::Rook => phrase("rook"),
        Role::Queen => phrase("queen"),
        Role::King => phrase("king"),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::notation::fen;
    use crate::notation::moves::read;

    #[test]
    fn moves_in_words() {
        let say = |fen: &str, text: &str| {
            let position = fen::read(fen).unwrap();
            spoken(&position, read(&position, text).unwrap())
        };
        assert_eq!(
            say(
                "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1",
                "e4"
            ),
            "pawn to e4"
        );
        assert_eq!(
            say("6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1", "Ra8"),
            "rook to a8, mate"
        );
        assert_eq!(
            say("k7/7r/8/7Q/8/8/8/K7 w - - 0 1", "Qxh7"),
            "queen takes h7"
        );
        assert_eq!(
            say("7k/8/8/8/8/8/7r/K6Q w - - 0 1", "Qxh2"),
            "queen takes h2, check"
        );
        assert_eq!(
            say("4k3/8/8/3pP3/8/8/8/4K3 w - d6 0 1", "exd6"),
            "pawn from the e file takes d6 en passant"
        );
        assert_eq!(
            say("4k3/P7/8/8/8/8/8/4K3 w - - 0 1", "a8=Q"),
            "pawn to a8, promotes to queen, check"
        );
        assert_eq!(
            say("4k3/8/8/8/8/8/8/4K2R w K - 0 1", "O-O"),
            "castles king's side"
        );
    }
}
