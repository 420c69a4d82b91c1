//! What is asked how often: a cell is a stratum and a question.

use prove::Aim;
use prove::corpus::Seeded;
use shakmaty::Chess;

use crate::compare::{COMBINATIONS, Provers, Stake};
use crate::strata::{Bounds, Stratum};

/// What is asked of each position.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Question {
    /// Mate in 1 to `n`.
    Mate(u8),
    /// Another aim, in numbers of moves that change from position to position.
    Other(Aim),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cell {
    pub stratum: Stratum,
    pub question: Question,
}

/// One position with what is asked of it.
#[derive(Clone, Debug)]
pub struct Asked {
    pub aim: Aim,
    pub position: Chess,
    pub n: u8,
    /// The bits of the shortcuts that the second prover goes without.
    pub off: u64,
}

impl Question {
    pub const ALL: [Question; 5] = [
        Question::Mate(3),
        Question::Mate(4),
        Question::Other(Aim::Selfmate),
        Question::Other(Aim::Stalemate),
        Question::Other(Aim::Helpmate),
    ];

    pub fn name(self) -> String {
        match self {
            Question::Mate(n) => format!("#{n}"),
            Question::Other(aim) => aim.sign().to_owned(),
        }
    }

    /// Positions of each stratum in a whole campaign.
    pub fn wanted(self) -> u64 {
        match self {
            Question::Mate(3) => 200_000,
            _ => 20_000,
        }
    }

    /// What is asked of the `i`th position.
    fn asked(self, i: u64) -> (Aim, u8) {
        match self {
            Question::Mate(n) => (Aim::Mate, n),
            Question::Other(Aim::Helpmate) => (Aim::Helpmate, 2 + (i % 4) as u8),
            Question::Other(aim) => (aim, 2 + (i % 2) as u8),
        }
    }
}

/// How rich positions may be, so that brute force ends.
fn bounds(aim: Aim, n: u8) -> Bounds {
    let (moves, replies) = match (aim, n) {
        (Aim::Helpmate, 5) => (12, 11),
        (Aim::Helpmate, 4) => (20, 16),
        (Aim::Helpmate, _) => (36, 36),
        (_, 4) => (20, 20),
        _ => (32, 40),
    };
    Bounds { moves, replies }
}

impl Cell {
    /// All cells, the questions within each stratum.
    pub fn all() -> Vec<Cell> {
        let of = |stratum| Question::ALL.map(|question| Cell { stratum, question });
        Stratum::ALL.into_iter().flat_map(of).collect()
    }

    pub fn name(self) -> String {
        format!("{} {}", self.stratum.name(), self.question.name())
    }

    /// The `i`th position of a campaign with this seed. Positions in which
    /// something is at stake are drawn more often, as far as the prover sees
    /// it; the others are not left out, since it may be wrong there. The sets
    /// of shortcuts take turns, so that all of them come up.
    pub fn asked(self, seed: u64, i: u64, provers: &mut Provers) -> Asked {
        let mut name = seed;
        for byte in self.name().bytes() {
            name = Seeded::new(name ^ u64::from(byte)).draw();
        }
        let mut random = Seeded::new(name.wrapping_add(i.wrapping_mul(0x9e37_79b9_7f4a_7c15)));
        random = Seeded::new(random.draw());
        let (aim, n) = self.question.asked(i);
        let position = loop {
            let position = self.stratum.draw(&mut random, aim, bounds(aim, n));
            let one_in = match provers.stake(aim, &position, n) {
                Stake::Special => 1,
                Stake::Keys if self.stratum.is_special() => 3,
                Stake::Keys => 1,
                Stake::Nothing if self.stratum.is_special() => 9,
                Stake::Nothing => 4,
            };
            if random.below(one_in) == 0 {
                break position;
            }
        };
        Asked {
            aim,
            position,
            n,
            off: (i / 4) % COMBINATIONS,
        }
    }
}
