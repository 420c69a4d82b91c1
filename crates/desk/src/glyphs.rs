//! The annotation glyphs of the PGN standard: how each is printed, what it
//! says, and which one a typed sign makes of those a move has.

use keyproof::tongue::phrase;

/// Glyphs about the move, in the order they are offered.
pub const OF_MOVE: [(u8, &str, &str); 7] = [
    (1, "!", phrase("good")),
    (3, "!!", phrase("very good")),
    (5, "!?", phrase("worth a thought")),
    (6, "?!", phrase("doubtful")),
    (2, "?", phrase("poor")),
    (4, "??", phrase("very poor")),
    (7, "\u{25a1}", phrase("the only move")),
];

/// Glyphs about the position after it.
pub const OF_POSITION: [(u8, &str, &str); 10] = [
    (10, "=", phrase("drawish")),
    (13, "\u{221e}", phrase("unclear")),
    (14, "\u{2a72}", phrase("White a little better")),
    (15, "\u{2a71}", phrase("Black a little better")),
    (16, "\u{b1}", phrase("White better")),
    (17, "\u{2213}", phrase("Black better")),
    (18, "+\u{2212}", phrase("White winning")),
    (19, "\u{2212}+", phrase("Black winning")),
    (22, "\u{2a00}", phrase("White in zugzwang")),
    (23, "\u{2a00}", phrase("Black in zugzwang")),
];

/// A glyph as a book prints it; `None` for those without a sign of their own.
pub fn sign(nag: u8) -> Option<&'static str> {
    let nag = if nag == 8 { 7 } else { nag };
    let mut all = OF_MOVE.iter().chain(&OF_POSITION);
    all.find(|(n, _, _)| *n == nag).map(|(_, sign, _)| *sign)
}

/// The glyphs of a move after a sign was typed at it. `!` and `?` pair up with
/// the one typed before: `!` then `?` is `!?`. `+` goes from White a little
/// better to better to winning and back to none, `-` the same for Black; `=`
/// and `~` (unclear) come and go.
pub fn typed(nags: &[u8], sign: char) -> Vec<u8> {
    let step = |row: [u8; 3]| {
        let now = nags
            .iter()
            .find_map(|nag| row.iter().position(|n| n == nag));
        now.map_or(Some(row[0]), |place| row.get(place + 1).copied())
    };
    let come_and_go = |nag: u8| (!nags.contains(&nag)).then_some(nag);
    match sign {
        '!' | '?' => {
            let now = nags.iter().copied().find(|&nag| is_of_move(nag));
            let next = match (now, sign) {
                (Some(1), '!') => 3,
                (Some(1), _) => 5,
                (Some(2), '!') => 6,
                (Some(2), _) => 4,
                (_, '!') => 1,
                _ => 2,
            };
            of_move(nags, Some(next))
        }
        '+' => of_position(nags, step([14, 16, 18])),
        '-' => of_position(nags, step([15, 17, 19])),
        '=' => of_position(nags, come_and_go(10)),
        '~' => of_position(nags, come_and_go(13)),
        _ => nags.to_vec(),
    }
}

/// The glyphs with another one about the move.
pub fn of_move(nags: &[u8], nag: Option<u8>) -> Vec<u8> {
    let rest = nags.iter().copied().filter(|&nag| !is_of_move(nag));
    nag.into_iter().chain(rest).collect()
}

/// The glyphs with another one about the position.
pub fn of_position(nags: &[u8], nag: Option<u8>) -> Vec<u8> {
    let about = |nag: u8| OF_POSITION.iter().any(|(n, _, _)| *n == nag);
    let rest = nags.iter().copied().filter(|&nag| !about(nag));
    rest.chain(nag).collect()
}

fn is_of_move(nag: u8) -> bool {
    (1..=9).contains(&nag)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn after(signs: &str) -> Vec<u8> {
        signs.chars().fold(vec![], |nags, sign| typed(&nags, sign))
    }

    /// Numbers of the PGN standard (1994-03-12, 10).
    #[test]
    fn signs_pair_up_as_they_are_typed() {
        for (signs, nag) in [
            ("!", 1),
            ("?", 2),
            ("!!", 3),
            ("??", 4),
            ("!?", 5),
            ("?!", 6),
        ] {
            assert_eq!(after(signs), [nag], "{signs}");
        }
        assert_eq!(after("!!!"), [1]);
        assert_eq!(after("??!"), [1]);
    }

    #[test]
    fn signs_of_the_position_take_turns_and_leave_the_move_alone() {
        assert_eq!(after("!+"), [1, 14]);
        assert_eq!(after("!++"), [1, 16]);
        assert_eq!(after("!++-"), [1, 15]);
        assert_eq!(after("++++"), Vec::<u8>::new());
        assert_eq!(after("=="), Vec::<u8>::new());
        assert_eq!(after("=~?"), [2, 13]);
        assert_eq!(typed(&[146, 7], '='), [146, 7, 10]);
    }

    #[test]
    fn each_sign_has_its_glyph() {
        assert_eq!(sign(8), Some("\u{25a1}"));
        assert_eq!(sign(146), None);
        assert_eq!(of_move(&[14, 2], None), [14]);
        assert_eq!(of_position(&[14, 2], Some(10)), [2, 10]);
    }
}
