//! Which men are on the board.

use std::fmt;

use shakmaty::{Color, Piece, Role};

/// Men besides the kings, at most two. The stronger side is White: more men
/// first, then stronger ones.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Material {
    /// White's men, the strongest first.
    white: [Option<Role>; 2],
    black: [Option<Role>; 2],
}

/// Weakest first.
const ROLES: [Role; 5] = [
    Role::Pawn,
    Role::Knight,
    Role::Bishop,
    Role::Rook,
    Role::Queen,
];

impl Material {
    /// Reads a name such as `KQKR` or `KBNK`; the stronger side may come
    /// second.
    pub fn read(name: &str) -> Option<Material> {
        let sides = name.strip_prefix('K')?.split_once('K')?;
        let side = |text: &str| -> Option<Vec<Role>> {
            text.chars()
                .map(|c| Role::from_char(c).filter(|&r| r != Role::King && c.is_ascii_uppercase()))
                .collect()
        };
        let (white, black) = (side(sides.0)?, side(sides.1)?);
        (white.len() + black.len() <= 2).then(|| Material::sorted(white, black).0)
    }

    /// Every material of three or four men.
    pub fn all() -> Vec<Material> {
        let mut all = Vec::new();
        for a in ROLES {
            all.push(Material::sorted(vec![a], vec![]).0);
            for b in ROLES.into_iter().filter(|&b| b <= a) {
                all.push(Material::sorted(vec![a, b], vec![]).0);
                all.push(Material::sorted(vec![a], vec![b]).0);
            }
        }
        all.sort();
        all
    }

    /// The material with these men, and whether the sides were exchanged.
    pub(super) fn sorted(mut white: Vec<Role>, mut black: Vec<Role>) -> (Material, bool) {
        white.sort_by(|a, b| b.cmp(a));
        black.sort_by(|a, b| b.cmp(a));
        let swapped = (black.len(), &black) > (white.len(), &white);
        if swapped {
            std::mem::swap(&mut white, &mut black);
        }
        let side = |roles: &[Role]| [roles.first().copied(), roles.get(1).copied()];
        let material = Material {
            white: side(&white),
            black: side(&black),
        };
        (material, swapped)
    }

    /// White's king, Black's king, then White's and Black's other men.
    pub(super) fn pieces(self) -> Vec<Piece> {
        let side = |color: Color, roles: [Option<Role>; 2]| {
            roles.into_iter().flatten().map(move |role| role.of(color))
        };
        let mut pieces = vec![Color::White.king(), Color::Black.king()];
        pieces.extend(side(Color::White, self.white));
        pieces.extend(side(Color::Black, self.black));
        pieces
    }

    /// Whether there are but the kings.
    pub(super) fn is_bare(self) -> bool {
        self.white == [None; 2] && self.black == [None; 2]
    }

    /// Whether no mate is possible at all (Laws 5.2.2): a bare king against a
    /// king with at most one minor piece.
    pub(super) fn is_dead(self) -> bool {
        matches!(
            (self.white, self.black),
            (
                [None | Some(Role::Knight | Role::Bishop), None],
                [None, None]
            )
        )
    }

    /// What captures and promotions lead into.
    pub(super) fn leads_into(self) -> Vec<Material> {
        let pieces = self.pieces();
        let mut smaller = Vec::new();
        for out in 2..pieces.len() {
            let mut rest = pieces.clone();
            let gone = rest.remove(out);
            smaller.push(Material::of_pieces(&rest));
            if gone.role == Role::Pawn {
                for role in ROLES.into_iter().filter(|&r| r != Role::Pawn) {
                    let mut promoted = pieces.clone();
                    promoted[out].role = role;
                    smaller.push(Material::of_pieces(&promoted));
                    // A promotion may take the other man as well.
                    for other in (2..pieces.len()).filter(|&o| o != out) {
                        let mut both = promoted.clone();
                        both.remove(other);
                        smaller.push(Material::of_pieces(&both));
                    }
                }
            }
        }
        smaller
    }

    fn of_pieces(pieces: &[Piece]) -> Material {
        Material::of_men(pieces.iter().copied()).0
    }

    /// The material of these men, and whether the sides are exchanged. Kings
    /// do not count.
    pub(super) fn of_men(men: impl IntoIterator<Item = Piece>) -> (Material, bool) {
        let mut sides = [Vec::new(), Vec::new()];
        for piece in men {
            if piece.role != Role::King {
                sides[piece.color as usize].push(piece.role);
            }
        }
        let [black, white] = sides;
        Material::sorted(white, black)
    }
}

impl fmt::Display for Material {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for side in [self.white, self.black] {
            f.write_str("K")?;
            for role in side.into_iter().flatten() {
                write!(f, "{}", role.upper_char())?;
            }
        }
        Ok(())
    }
}
