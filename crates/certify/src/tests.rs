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
        ]
    );
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
