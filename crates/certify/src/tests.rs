use super::{Accepted, Kind, verify};

const README: &str = include_str!("../README.md");

/// The certificates shown in the README.
fn shown() -> Vec<&'static str> {
    let blocks = README.split("```text\n").skip(1);
    blocks
        .filter_map(|block| block.split("```").next())
        .collect()
}

fn accepted(text: &str) -> Accepted {
    verify(text).unwrap_or_else(|rejected| panic!("{rejected}\n{text}"))
}

/// Where and why a text is rejected.
fn rejected(text: &str) -> String {
    match verify(text) {
        Ok(_) => panic!("accepted:\n{text}"),
        Err(rejected) => rejected.to_string(),
    }
}

/// The first text of the README with `old` replaced once by `new`.
fn changed(old: &str, new: &str) -> String {
    assert_eq!(shown()[0].matches(old).count(), 1, "{old}");
    rejected(&shown()[0].replace(old, new))
}

#[test]
fn the_worked_examples_are_accepted() {
    let claims: Vec<String> = shown()
        .into_iter()
        .flat_map(|text| accepted(text).claims)
        .map(|claim| claim.to_string())
        .collect();
    assert_eq!(
        claims,
        [
            "f8=R forces mate in 2 or fewer",
            "no move but f8=R forces mate in 2 or fewer",
            "no move mates at once",
            "Rb3 forces mate in 3 or fewer",
            "Nf6 forces a gain of 9 in 2 or fewer",
            "Qe8 holds a draw by force",
        ]
    );
    let mut all = shown().into_iter().flat_map(|text| accepted(text).claims);
    let gain = all.find(|claim| claim.target.is_some());
    let at_once = crate::Claim {
        moves: 1,
        ..gain.expect("a gain")
    };
    assert_eq!(at_once.to_string(), "Nf6 gains 9 at once");
    let first = accepted(shown()[0]);
    assert_eq!(first.claims[1].kind, Kind::Only);
    assert_eq!(first.claims[1].firsts, first.claims[0].firsts);
    // The mate: 3. Node 1: 9 moves. Node 2: 8 moves, 7 of them with a reply.
    assert_eq!(first.positions, 3 + 9 + 8 + 7);
}

#[test]
fn a_mate_needs_every_reply_met_and_every_leaf_mate() {
    assert_eq!(changed(" h7h6:f8h8#", ""), "line 4: nothing meets h7h6");
    assert_eq!(
        changed("f8h8#", "f8h8"),
        "line 4: expected a number from 1, found `f8h8`"
    );
    assert_eq!(
        changed("f8h8#", "f8g8#"),
        "line 4: after h7h6 f8g8# is not mate"
    );
    assert_eq!(
        changed("f8h8#", "f8h9#"),
        "line 4: `f8h9` is not a legal move"
    );
    assert_eq!(
        changed("h7h6:", "h7h8:"),
        "line 4: `h7h8` is not a legal move"
    );
    assert_eq!(
        changed("1 w f7f8r", "1 w f7f8q"),
        "line 4: f7f8q is not the move claimed"
    );
    assert_eq!(
        changed("w f7f8r h7h6:f8h8#", "w f7f8r#"),
        "line 4: f7f8r# is not mate"
    );
    assert_eq!(
        changed("mate 2", "mate 1"),
        "line 4: no further move is allowed here"
    );
}

#[test]
fn a_refutation_must_refute() {
    // 1.f8=B attacks g7.
    assert_eq!(
        changed(" f7f8b:h7g8", ""),
        "line 11: after f7f8b `h7g7` is not a legal move"
    );
    assert_eq!(changed("2 s h7g7", "2 s"), "line 11: nothing meets f6e5");
    assert_eq!(
        changed("only 2 f7f8r", "only 2"),
        "line 11: after f7f8r `h7g7` is not a legal move"
    );
    // 1.f8=R Kh6 2.Rh8 is mate.
    let text = shown()[0].replace("only 2 f7f8r", "only 2");
    let text = text.replace("2 s h7g7", "2 s h7g7 f7f8r:h7h6");
    assert_eq!(rejected(&text), "line 11: after f7f8r h7h6 f8h8 is mate");
}

#[test]
fn a_gain_must_stand() {
    let gain = shown()[2];
    let told = |old: &str, new: &str| {
        assert_eq!(gain.matches(old).count(), 1, "{old}");
        rejected(&gain.replace(old, new))
    };
    for more in ["gain 10 2", "gain 39 2"] {
        let fault = told("gain 9 2", more);
        assert!(fault.contains("f6d7# is not the gain"), "{fault}");
    }
    for bad in ["+9", "09", "9.0", "1000", "-", "x"] {
        let fault = told("gain 9 2", &format!("gain {bad} 2"));
        assert_eq!(
            fault,
            format!("line 3: expected a whole number, found `{bad}`")
        );
    }
    // Less than nothing may be claimed.
    accepted(&gain.replace("gain 9 2", "gain -4 2"));
    // The rook takes back.
    let guarded = gain.replace("6k1/3q1p1p/8", "3r2k1/3q1p1p/8");
    assert!(rejected(&guarded).ends_with("f6d7# is not the gain"));
    accepted(&guarded.replace("gain 9", "gain 6"));
    let alone = "keyproof certificate 1\nfen 3r2k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1\nclaim only gain 1 1 node 1\n1 s";
    accepted(alone);
    let less = rejected(&alone.replace("gain 1 1", "gain -9 1"));
    assert!(less.ends_with(" is the gain"), "{less}");
}

#[test]
fn a_draw_is_held_in_a_circle_that_nothing_leads_out_of() {
    let draw = shown()[3];
    let told = |old: &str, new: &str| {
        assert_eq!(draw.matches(old).count(), 1, "{old}");
        rejected(&draw.replace(old, new))
    };
    assert_eq!(told(" g8h7:2", ""), "line 4: nothing meets g8h7");
    assert_eq!(told(" h7g8:1", ""), "line 5: nothing meets h7g8");
    assert_eq!(
        told("h7g8:1", "h7g8:2"),
        "line 5: node 2 is about another position"
    );
    assert_eq!(told("h7g8:1", "h7g8:3"), "line 5: node 3 is missing");
    assert_eq!(
        told("g8h7:2", "g8h7:1"),
        "line 4: node 1 is about another position"
    );
    assert_eq!(
        told("1 d h5e8", "1 d h5h7"),
        "line 4: h5h7 is not the move claimed"
    );
    assert_eq!(told("1 d h5e8", "1 w h5e8"), "line 4: expected `d MOVE`");
    assert_eq!(told("2 d e8h5", "2 d e8g8"), "line 5: nothing meets h7g6");
    assert_eq!(
        told("draw by h5e8", "draw by"),
        "line 3: no claim of the grammar"
    );
    assert_eq!(
        told("draw by", "draw 2 by"),
        "line 3: no claim of the grammar"
    );
    assert_eq!(
        told("claim draw by h5e8 node 1", "claim mate 9 by h5e8 node 1"),
        "line 4: expected `w MOVE`"
    );
    // A first node of another kind is none to come back to.
    let both = draw.replace("claim draw", "claim only 1 node 1\nclaim draw");
    let both = both
        .replace("node 1\n1 d", "node 2\n1 s\n2 d")
        .replace("2 d e8h5", "3 d e8h5");
    accepted(&both.replace("g8h7:2", "g8h7:3").replace("h7g8:1", "h7g8:2"));
    let mixed = rejected(&both.replace("g8h7:2", "g8h7:3"));
    assert_eq!(mixed, "line 7: node 1 does not stand below");
}

/// Ends of the game that need no answer, and one that is none.
#[test]
fn a_draw_is_over_by_stalemate_or_without_men_to_mate_with() {
    let text = |fen: &str, mv: &str, rest: &str| {
        format!(
            "keyproof certificate 1\nfen {fen} w - - 0 1\nclaim draw by {mv} node 1\n1 d {mv}{rest}"
        )
    };
    let stalemated = "7k/5Q2/8/8/8/1q6/8/K7";
    accepted(&text(stalemated, "f7h7", ""));
    let named = rejected(&text(stalemated, "f7h7", " h8h7:2"));
    assert_eq!(named, "line 4: `h8h7` is not a legal move");
    // The king takes the last man, or the knight promoted to is alone.
    accepted(&text("7k/8/8/8/8/8/1p6/K7", "a1b2", ""));
    accepted(&text("8/5k1P/8/4K3/8/8/8/8", "h7h8n", ""));
    let rook = rejected(&text("8/5k1P/8/4K3/8/8/8/8", "h7h8r", ""));
    assert!(rook.starts_with("line 4: nothing meets "), "{rook}");
    // The only reply takes the last man.
    accepted(&text("7k/5Q2/8/8/8/8/8/K7", "f7h7", ""));
}

#[test]
fn nodes_are_about_one_position_and_stand_below() {
    let circle = "1 w b2b3 a1a2:1";
    let text = shown()[1].replace("1 w b2b3 a1a2:2", circle);
    assert_eq!(rejected(&text), "line 4: node 1 does not stand below");
    let text = shown()[1].replace("2 w c3c2 a2a1:b3a3#\n", "");
    assert_eq!(rejected(&text), "line 4: node 2 is missing");
    let text = shown()[1].replace("b2b3 node 1", "b2b3 node 1\nclaim mate 3 by b2c2 node 1");
    assert_eq!(rejected(&text), "line 4: node 1 is about another position");
    let text = format!("{}3 s\n", shown()[1]);
    assert_eq!(rejected(&text), "line 6: nothing above refers to this node");
    let text = shown()[1].replace("2 w", "3 w");
    assert_eq!(rejected(&text), "line 5: expected node 2");
    let text = shown()[1].replace("2 w", "2 s");
    assert_eq!(rejected(&text), "line 5: expected `w MOVE`");
    let text = shown()[1].replace("mate 3", "mate 2");
    assert_eq!(rejected(&text), "line 5: no further move is allowed here");
}

#[test]
fn what_is_missing_or_misplaced_is_named() {
    let header = "keyproof certificate 1";
    assert_eq!(rejected(""), "line 1: nothing is claimed");
    assert_eq!(rejected("\n\nfen"), format!("line 3: expected `{header}`"));
    assert_eq!(rejected(header), "line 1: nothing is claimed");
    assert_eq!(
        rejected(&format!("{header}\n1 s")),
        "line 2: expected `fen FEN`"
    );
    assert_eq!(
        changed("node 1\n1 w", "node 1\nclaim mate\n1 w"),
        "line 4: expected `node NODE` at the end of the claim"
    );
    assert_eq!(
        changed("claim only 2 f7f8r node 2\nclaim only 1 node 1\n", ""),
        "line 8: nothing above refers to this node"
    );
    assert_eq!(
        changed("only 1", "only 0"),
        "line 9: expected a number from 1, found `0`"
    );
    assert_eq!(
        changed("only 1", "only +1"),
        "line 9: expected a number from 1, found `+1`"
    );
    assert_eq!(
        changed("h7g7 f7f8b", "h7g7 h7g6 f7f8b"),
        "line 11: `h7g6` is out of place"
    );
    assert_eq!(
        changed("f7f8n:h7g8", "f7f8b:h7g8"),
        "line 11: f7f8b is met twice"
    );
    let no_king = shown()[1].replace("2K5", "8");
    assert!(rejected(&no_king).starts_with("line 2: FEN: "));
}

/// Nothing may panic: every prefix, and every text with one byte changed.
#[test]
fn damaged_texts_are_judged_calmly() {
    for text in shown() {
        for i in 0..text.len() {
            let _ = verify(&text[..i]);
            for byte in [b'0', b'9', b'#', b':', b' ', b'\n', b'a', b'q', 0] {
                let mut damaged = text.as_bytes().to_vec();
                damaged[i] = byte;
                let _ = verify(&String::from_utf8(damaged).expect("ASCII"));
            }
        }
    }
    let many = "999999999:999999999# ".repeat(10_000);
    assert!(verify(&shown()[1].replace("a1a2:2", &many)).is_err());
}

/// That no first move mates in three: two moves, each with a reply that leads to a
/// node of its own.
#[test]
fn what_is_refuted_in_three_is_followed_to_its_end() {
    let none = "keyproof certificate 1\nfen 7K/5k2/7P/8/8/8/8/8 w - - 0 1\nclaim only 3 node 1\n1 s h6h7:f7e6:3 h8h7:f7e6:2\n2 s e6d5\n3 s e6d5\n";
    accepted(none);
    let short = none.replace("3 s e6d5\n", "");
    assert_eq!(rejected(&short), "line 5: node 3 is missing");
    // With two moves left a reply must lead on.
    let early = none.replace("f7e6:3", "f7e6");
    assert!(rejected(&early).starts_with("line 4: "));
}

#[test]
fn a_position_stands_once_and_a_claim_names_one_key() {
    let first = shown()[0];
    let fen = first.lines().nth(1).expect("a position");
    assert_eq!(
        rejected(&first.replacen(fen, &format!("{fen}\n{fen}"), 1)),
        "line 3: expected a number from 1, found `fen`"
    );
    for keys in ["mate 2 by node", "mate 2 by f7f8r f7f8q node"] {
        assert!(changed("mate 2 by f7f8r node", keys).ends_with("no claim of the grammar"));
    }
    let gain = shown()[2];
    for keys in ["by node", "by d5f6 d5b6 node"] {
        let fault = rejected(&gain.replace("by d5f6 node", keys));
        assert!(fault.ends_with("no claim of the grammar"), "{fault}");
    }
    assert!(super::count("999999999").is_ok());
    assert!(super::count("1000000000").is_err());
}

/// The rules of the exchange game, each where it alone decides.
#[test]
fn an_exchange_game_is_played_by_its_rules() {
    use super::exchange::{balance, stays};
    use shakmaty::Color::White;
    // Whether White comes out `more` above what he has, after so many plies.
    let stays = |fen: &str, more: i32, plies: usize| {
        let position = super::claim::position(fen).expect("a position");
        let target = balance(&position, White) + more;
        stays(&position, (White, target), plies, &mut 10_000)
    };
    let takes = "7k/8/8/3q4/8/8/8/K2R4 w - - 0 1";
    assert_eq!(stays(takes, 9, 0), Some(true), "he may take");
    assert_eq!(stays(takes, 10, 0), Some(false));
    assert_eq!(stays(takes, 9, 63), Some(false), "it takes too long");
    assert_eq!(stays(takes, -20, 64), Some(false), "it took too long");
    let guarded = "7k/8/4p3/3q4/8/8/8/K2R4 w - - 0 1";
    assert_eq!(stays(guarded, 4, 0), Some(true), "a queen for a rook");
    assert_eq!(stays(guarded, 5, 0), Some(false), "the rook is taken back");
    let promotes = "8/P7/8/8/8/8/7k/K7 w - - 0 1";
    assert_eq!(stays(promotes, 8, 0), Some(true), "he may promote");
    let quiet = "8/8/8/8/8/7k/8/K1R4q w - - 0 1";
    assert_eq!(
        stays(quiet, 9, 0),
        Some(true),
        "a pinned rook takes the queen"
    );
    let check = "1R6/7k/8/8/8/8/8/K6q w - - 0 1";
    assert_eq!(
        stays(check, 0, 0),
        Some(true),
        "in check, any move answers it"
    );
    let mated = "7k/6Q1/6K1/8/8/8/8/8 b - - 0 1";
    assert_eq!(stays(mated, 39, 0), Some(true), "mate wins");
    let mates = "8/8/8/8/8/6k1/6q1/7K w - - 0 1";
    assert_eq!(stays(mates, -20, 0), Some(false), "being mated loses");
    let stale = "7k/5Q2/6K1/8/8/8/8/8 b - - 0 1";
    assert_eq!(stays(stale, 0, 0), Some(false), "stalemate fails");
    let stalemated = "8/8/8/8/8/6k1/5q2/7K w - - 0 1";
    assert_eq!(stays(stalemated, 0, 0), Some(false), "his own too");
}
