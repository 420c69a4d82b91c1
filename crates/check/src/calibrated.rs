//! Written by `cargo xtask campaign calibration --fit`; not to be edited.
//!
//! Measured on 204 positions of the program's own games (seeds [14, 15]), against
//! references of 6400000 nodes.

use super::signs::Fit;

/// Made of 2042 rulings, 16 of them wrong.
pub const RIGHT: Fit = Fit {
    weights: [
        -5681, -2505, -1887, -39, -550, 7166, -47, -7943, -2852, 5013, 266, 1691, 1524, -2702,
        -2359, -824,
    ],
    efforts: &[
        (
            0,
            &[(-144638, 21), (-74171, 124), (-62663, 207), (-52197, 383)],
        ),
        (2, &[(-141594, 11), (-62013, 324)]),
        (4, &[(-146848, 8)]),
    ],
};

/// Made of 1503 rulings, 24 of them wrong.
pub const WRONG: Fit = Fit {
    weights: [
        6949, 2913, -2924, -1640, 1313, 1771, -12405, -5649, -2318, -4480, 860, 1579, 1147, -1152,
        72, -785,
    ],
    efforts: &[
        (0, &[(-140974, 21), (-71617, 660)]),
        (2, &[(-146899, 14), (-64222, 525)]),
        (4, &[(-188865, 14), (-72608, 155)]),
    ],
};
