//! What a search shows of itself while it rules on a move, as numbers, and how a
//! chance of being wrong is read off them.

use super::Chance;
use search::Answer;

/// What one test of a move against a bound showed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Test {
    /// The depth reached, in plies.
    pub depth: u8,
    /// Of these, the last ones that gave the same answer.
    pub steady: u8,
    /// How often the answer changed.
    pub changes: u8,
}

impl Test {
    pub(super) fn of(answer: &Answer) -> Test {
        Test {
            depth: answer.depth,
            steady: answer.depth - answer.since.min(answer.depth),
            changes: answer.changes,
        }
    }
}

/// What a search showed of itself while it ruled on a move.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Signs {
    /// Whether the move was called right, not wrong.
    pub right: bool,
    /// Doublings of the least effort.
    pub effort: u8,
    /// The test against the margin that it was called right or wrong by.
    pub own: Test,
    /// The test against the other margin, which must fall for the ruling to be
    /// wrong.
    pub other: Test,
    /// Where the best move was searched for first: how far its value went up and
    /// down over the last depths, in hundredths of a pawn, and how often another
    /// move became the best.
    pub best: Option<(i32, u8)>,
    /// The best value where the margins count from it, in hundredths of a pawn: the
    /// further from even, the less a pawn more says.
    pub value: Option<i32>,
    /// Men on the board.
    pub men: u8,
    /// Replies that take, promote or give check.
    pub loud_replies: u8,
    /// Whether the solver is in check.
    pub in_check: bool,
    /// Whether the move takes, promotes or gives check.
    pub loud: bool,
    /// How far the margins lie apart, in hundredths of a pawn.
    pub gap: i32,
}

/// How many numbers [`Signs::numbers`] gives.
pub const SIGNS: usize = 17;

impl Signs {
    /// The signs as numbers of about the same size.
    pub fn numbers(&self) -> [i32; SIGNS] {
        let few = |count: u8, most: u8| i32::from(count.min(most));
        let tenths = |hundredths: i32, most: i32| hundredths.clamp(0, most) / 10;
        let (swing, changes) = self.best.unwrap_or((0, 0));
        [
            10,
            few(self.effort, 16),
            few(self.own.depth, 30),
            few(self.other.depth, 30),
            few(self.own.steady, 12),
            few(self.other.steady, 12),
            few(self.own.changes, 6),
            few(self.other.changes, 6),
            few(self.men, 32),
            few(self.loud_replies, 20),
            tenths(swing, 200),
            few(changes, 8),
            10 * i32::from(self.best.is_some()),
            10 * i32::from(self.in_check),
            10 * i32::from(self.loud),
            tenths(self.gap, 300),
            tenths(self.value.unwrap_or(0).abs(), 1_000),
        ]
    }
}

/// What was measured of rulings of one kind.
pub struct Fit {
    /// What each sign weighs, in ten-thousandths.
    pub weights: [i32; SIGNS],
    /// What came out, from each effort on.
    pub efforts: &'static [(u8, &'static [Step])],
}

/// From a weight on, how many of ten thousand were wrong.
pub type Step = (i32, u16);

impl Fit {
    /// All that speaks for the ruling being wrong, weighed.
    pub fn weigh(&self, numbers: &[i32; SIGNS]) -> i32 {
        let pairs = self.weights.iter().zip(numbers);
        pairs.map(|(weight, number)| weight * number).sum()
    }

    /// What was measured of rulings with these signs.
    pub fn chance(&self, numbers: &[i32; SIGNS]) -> Chance {
        let effort = |(least, _): &&(u8, _)| i32::from(*least) <= numbers[EFFORT];
        let known = self.efforts.iter().rev().find(effort);
        let steps = known.or(self.efforts.first()).map_or(&[][..], |of| of.1);
        Chance(step(steps, self.weigh(numbers)).unwrap_or(10_000))
    }
}

/// Which of the numbers is the effort.
const EFFORT: usize = 1;

/// What a weight comes to; less than the least counts as the least.
pub fn step(steps: &[Step], weight: i32) -> Option<u16> {
    let step = steps.iter().rev().find(|(from, _)| weight >= *from);
    step.or(steps.first()).map(|step| step.1)
}

#[cfg(test)]
mod tests {
    use super::*;

    const FIT: Fit = Fit {
        weights: {
            let mut weights = [0; SIGNS];
            weights[7] = 1000;
            weights
        },
        efforts: &[(0, &[(0, 10), (2000, 49), (3000, 50)]), (2, &[(0, 5)])],
    };

    fn changed(changes: u8, effort: u8) -> [i32; SIGNS] {
        let test = Test {
            changes,
            ..Test::default()
        };
        let signs = Signs {
            right: true,
            effort,
            own: Test::default(),
            other: test,
            best: None,
            value: None,
            men: 32,
            loud_replies: 0,
            in_check: false,
            loud: false,
            gap: 100,
        };
        signs.numbers()
    }

    #[test]
    fn a_ruling_is_as_likely_wrong_as_those_like_it_were() {
        let chances = [0, 1, 2, 3, 200].map(|changes| FIT.chance(&changed(changes, 0)));
        assert_eq!(chances.map(|c| c.0), [10, 10, 49, 50, 50]);
        assert_eq!(
            chances.map(Chance::is_small),
            [true, true, true, false, false]
        );
        assert_eq!(FIT.chance(&changed(3, 1)), Chance(50));
        assert_eq!(FIT.chance(&changed(3, 4)), Chance(5));
    }

    #[test]
    fn a_chance_is_told_in_percent() {
        assert_eq!(Chance(5).percent(), "0.05");
        assert_eq!(Chance(1234).percent(), "12.34");
    }

    /// The table is made of the numbers in this order: another one would be read as
    /// something else.
    #[test]
    fn signs_are_told_as_numbers_in_one_order() {
        let test = |depth, steady, changes| Test {
            depth,
            steady,
            changes,
        };
        let signs = Signs {
            right: true,
            effort: 1,
            own: test(2, 3, 4),
            other: test(5, 6, 1),
            best: Some((75, 7)),
            value: Some(-123),
            men: 8,
            loud_replies: 9,
            in_check: true,
            loud: false,
            gap: 110,
        };
        let numbers = [10, 1, 2, 5, 3, 6, 4, 1, 8, 9, 7, 7, 10, 10, 0, 11, 12];
        assert_eq!(signs.numbers(), numbers);
        let most = Signs {
            right: true,
            effort: 200,
            own: test(200, 200, 200),
            other: test(200, 200, 200),
            best: Some((5_000, 200)),
            value: Some(5_000),
            men: 200,
            loud_replies: 200,
            in_check: false,
            loud: true,
            gap: 5_000,
        };
        let bounds = [
            10, 16, 30, 30, 12, 12, 6, 6, 32, 20, 20, 8, 10, 0, 10, 30, 100,
        ];
        assert_eq!(most.numbers(), bounds);
        let none = Signs {
            best: None,
            value: None,
            ..signs
        };
        assert_eq!(none.numbers()[10..13], [0, 0, 0]);
        assert_eq!(none.numbers()[16], 0);
    }

    #[test]
    fn what_stayed_the_same_since_a_depth_is_counted_from_it() {
        assert_eq!(FIT.weigh(&changed(3, 0)), 3_000);
        assert_eq!(step(&[], 5), None);
        assert_eq!(step(&[(-10, 1), (0, 2)], -11), Some(1));
        assert_eq!(step(&[(-10, 1), (0, 2)], 0), Some(2));
    }
}
