//! What is won and lost on the way of a line.

use check::exchange::worth;
use shakmaty::{Move, Role};

/// What a line costs the side that moves first.
pub(super) struct Toll {
    /// In hundredths of a pawn; promotions count as well.
    pub net: i32,
    /// Men that it loses, and that it takes.
    pub lost: Vec<Role>,
    pub won: Vec<Role>,
}

impl Toll {
    pub fn of(line: &[Move]) -> Toll {
        let mut toll = Toll {
            net: 0,
            lost: Vec::new(),
            won: Vec::new(),
        };
        for (ply, mv) in line.iter().enumerate() {
            let ours = ply % 2 == 0;
            let taken = mv.capture();
            let gain = taken.map_or(0, worth)
                + mv.promotion()
                    .map_or(0, |role| worth(role) - worth(Role::Pawn));
            toll.net += if ours { -gain } else { gain };
            let list = if ours { &mut toll.won } else { &mut toll.lost };
            list.extend(taken);
        }
        toll
    }

    /// The greatest man won for which none like it was lost.
    pub fn prize(&self) -> Option<Role> {
        unpaid(&self.won, &self.lost).0
    }
}

/// The greatest man given for which none like it was got, and what was got
/// and not so paid.
pub(super) fn unpaid(given: &[Role], got: &[Role]) -> (Option<Role>, Vec<Role>) {
    let mut got = got.to_vec();
    let mut given = given.to_vec();
    given.sort_by_key(|&role| -worth(role));
    let unpaid = given.into_iter().find(|&role| {
        let like = got.iter().position(|&g| worth(g) == worth(role));
        like.map(|i| got.swap_remove(i)).is_none()
    });
    (unpaid, got)
}
