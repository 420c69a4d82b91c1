//! Certificates against the outside: two checkers that share no code, one on
//! shakmaty and one on the PyPI package `chess` 1.11.2, must accept all that
//! the prover writes and reject whatever has been tampered with, at the same
//! line.

use keyproof::aim::Aim;
use keyproof::resolved::Resolved;
use std::collections::BTreeMap;
use std::path::PathBuf;

use keyproof::prove::certificate::{self, Certificates};
use keyproof::prove::corpus::{self, Seeded};
use keyproof::prove::{Gain, Prover, Unwatched, Verdict};
use keyproof::puzzle::Stipulation;
use keyproof_certify::{Kind, verify};
use keyproof_tests::{DRAWS, games, pgn_files, reference, root, title};
use shakmaty::{CastlingMode, Chess, Move, Position, fen::Fen};

#[test]
fn both_accept_every_certificate_of_the_puzzles() {
    let mut texts = Vec::new();
    for file in pgn_files("puzzles") {
        for draft in games(&file) {
            let Ok(puzzle) = Resolved::of(&draft).into_puzzle() else {
                panic!("{} is no puzzle", title(&draft));
            };
            if let Stipulation::Forced(Aim::Mate, n) = puzzle.stipulation() {
                texts.extend(both(&proved(puzzle.start(), n)));
            }
        }
    }
    assert!(texts.len() >= 16, "{} texts", texts.len());
    agree_to_accept("puzzles", &texts);
}

#[test]
fn both_accept_every_certificate_of_generated_positions() {
    let mut texts = Vec::new();
    for (n, wanted) in [(1, 30), (2, 40), (3, 30), (4, 2)] {
        for position in mates_in(n, wanted) {
            texts.extend(both(&proved(&position, n)));
        }
    }
    for position in corner_cases() {
        texts.extend(both(&proved(&position, 2)));
    }
    agree_to_accept("generated", &texts);
}

#[test]
fn both_accept_that_there_is_no_mate() {
    let mut random = Seeded::new(5);
    let mut texts = Vec::new();
    while texts.len() < 20 {
        let position = corpus::mixed(&mut random);
        let found = proved(&position, 2);
        if found.mates.is_none() {
            let claims = verify(&found.only).expect("accepted").claims;
            assert_eq!((claims[0].kind, claims[0].firsts.len()), (Kind::Only, 0));
            texts.push(found.only);
        }
    }
    agree_to_accept("no-mate", &texts);
}

#[test]
fn both_accept_every_certificate_of_gains() {
    let mut texts = Vec::new();
    let mut held = 0;
    for (stratum, position, n) in strata(1) {
        let (aim, keys) = most_gained(&position, n);
        held += usize::from(keys > 0);
        let n = if keys == 0 { n } else { n.max(2) };
        let found = proved_to(aim, &position, n);
        assert!(
            found.only.len() < 300_000,
            "{stratum}: {}",
            found.only.len()
        );
        texts.extend(both(&found));
    }
    println!("{held} with a gain, {} texts", texts.len());
    assert!(held >= 100 && texts.len() >= 300, "{held}, {}", texts.len());
    agree_to_accept("gains", &texts);
}

/// `KEYPROOF_MUTATIONS=10000` asks for so many instead of a few hundred.
#[test]
fn both_reject_gains_that_have_been_tampered_with() {
    let wanted = std::env::var("KEYPROOF_MUTATIONS").ok();
    let wanted: usize = wanted.and_then(|n| n.parse().ok()).unwrap_or(400);
    let mut random = Seeded::new(7);
    let mut spoilt: Vec<(&str, String)> = Vec::new();
    let every = if wanted > 2000 { 1 } else { 9 };
    let mut texts = Vec::new();
    for (_, position, n) in strata(every) {
        let (aim, _) = most_gained(&position, n);
        texts.extend(both(&proved_to(aim, &position, n)));
    }
    while spoilt.len() < wanted {
        for text in &texts {
            spoilt.extend(tamper(text, &mut random));
        }
    }
    spoilt.truncate(wanted.max(400));
    reject("tampered-gains", &spoilt, 9);
}

#[test]
fn both_accept_every_certificate_of_draws() {
    let texts = draws(4);
    assert!(texts.len() >= 60, "{} texts", texts.len());
    agree_to_accept("draws", &texts);
}

/// `KEYPROOF_MUTATIONS=10000` asks for so many instead of a few hundred.
#[test]
fn both_reject_draws_that_have_been_tampered_with() {
    let wanted = std::env::var("KEYPROOF_MUTATIONS").ok();
    let wanted: usize = wanted.and_then(|n| n.parse().ok()).unwrap_or(400);
    let mut random = Seeded::new(9);
    let texts = draws(if wanted > 2000 { 1 } else { 9 });
    let mut spoilt = Vec::new();
    while spoilt.len() < wanted {
        for text in &texts {
            spoilt.extend(tamper_draw(text, &mut random));
        }
    }
    spoilt.truncate(wanted.max(400));
    reject("tampered-draws", &spoilt, 8);
}

/// A certificate for every first move that holds a draw by force in every so many positions
/// kept from the campaign, and in those of our own.
fn draws(every: usize) -> Vec<String> {
    let own = DRAWS.map(position);
    let kept = strata(every).into_iter().map(|(_, position, _)| position);
    let mut prover = Prover::new(16 << 20);
    prover.budget = Some(20_000);
    let mut texts = Vec::new();
    for start in own.into_iter().chain(kept) {
        for mv in start.legal_moves() {
            let plan = prover.draw(&start, Some(&[mv]), &mut Unwatched);
            texts.extend(plan.ok().flatten().map(|plan| plan.certificate(&start)));
        }
    }
    texts
}

/// A certificate of a draw spoilt in every way that is open to it, as by [`tamper`].
fn tamper_draw(text: &str, random: &mut Seeded) -> Vec<(&'static str, String)> {
    let lines: Vec<Vec<&str>> = text.lines().map(|l| l.split(' ').collect()).collect();
    let nodes = lines.len() - 3;
    let mut replies = Vec::new();
    for (i, words) in lines.iter().enumerate().skip(3) {
        replies.extend((3..words.len()).map(|j| (i, j, words[j])));
    }
    let mut spoilt = Vec::new();
    let mut spoil = |way, line: usize, word: usize, new: &str| {
        let mut lines = lines.clone();
        lines[line][word] = new;
        if new.is_empty() {
            lines[line].remove(word);
        }
        let lines: Vec<String> = lines.iter().map(|words| words.join(" ")).collect();
        spoilt.push((way, lines.join("\n")));
    };
    if !replies.is_empty() {
        let (i, j, word) = replies[random.below(replies.len())];
        let (reply, node) = word.split_once(':').expect("a colon");
        let node: usize = node.parse().expect("a number");
        spoil("one reply missing", i, j, "");
        spoil(
            "one illegal reply",
            i,
            j,
            &format!("{0}{0}:{node}", &reply[..2]),
        );
        spoil(
            "a node that is not there",
            i,
            j,
            &format!("{reply}:{}", nodes + 1),
        );
        let other = 1 + (node + random.below(nodes - 1)) % nodes;
        spoil(
            "a node of another position",
            i,
            j,
            &format!("{reply}:{other}"),
        );
    }
    let node = 3 + random.below(nodes);
    let square = &lines[node][2][..2];
    spoil("an illegal move", node, 2, &format!("{square}{square}"));
    spoil(
        "a node of another kind",
        node,
        1,
        ["w", "s"][random.below(2)],
    );
    let turn = if lines[1][2] == "w" { "b" } else { "w" };
    spoil("the other side to move", 1, 2, turn);
    let start = position(&lines[1][1..].join(" "));
    let uci = |m: &Move| m.to_uci(CastlingMode::Standard).to_string();
    let others = start.legal_moves().into_iter().map(|m| uci(&m));
    let others: Vec<String> = others.filter(|m| m != lines[2][3]).collect();
    if !others.is_empty() {
        spoil(
            "another move claimed",
            2,
            3,
            &others[random.below(others.len())],
        );
    }
    spoilt
}

/// Every so many positions of `tests/strata.tsv`, with their stratum and a number of
/// moves, by turns 1, 2 and, where there are few moves, 3.
fn strata(every: usize) -> Vec<(String, Chess, u8)> {
    let file = std::fs::read_to_string(root().join("tests/strata.tsv")).expect("the strata");
    let lines = file.lines().filter(|line| !line.starts_with('#'));
    let lines = lines.enumerate().step_by(every);
    lines
        .map(|(i, line)| {
            let mut fields = line.split('\t');
            let stratum = fields.next().expect("a stratum").to_owned();
            let fen = fields.nth(1).expect("a FEN");
            let position = position(fen);
            let most = if position.legal_moves().len() < 20 {
                3
            } else {
                2
            };
            (stratum, position, (1 + i / every % 3).min(most) as u8)
        })
        .collect()
}

/// The most that is gained in a position, and by how many moves; a gain of a pawn where
/// nothing is.
fn most_gained(position: &Chess, n: u8) -> (Aim, usize) {
    let mut prover = Prover::new(1 << 20);
    let gained = prover.most_gained(position, Gain::MOST, n, None, &mut Unwatched);
    let most = gained.iter().map(|gain| gain.k).max();
    let keys = gained.iter().filter(|gain| Some(gain.k) == most).count();
    (Aim::Gain(Gain::at(most.unwrap_or(1), position)), keys)
}

#[test]
fn both_reject_what_has_been_tampered_with() {
    let mut random = Seeded::new(3);
    let mut texts = Vec::new();
    for (n, wanted) in [(1, 5), (2, 20), (3, 15)] {
        for position in mates_in(n, wanted) {
            for text in both(&proved(&position, n)) {
                texts.extend(tamper(&text, &mut random));
            }
        }
    }
    reject("tampered", &texts, 9);
}

/// Both reject all texts, at the same line. So many ways to spoil one must be among
/// them, each ten times at least.
fn reject(name: &str, texts: &[(&str, String)], ways: usize) {
    let mut kinds: BTreeMap<&str, usize> = BTreeMap::new();
    for (kind, _) in texts {
        *kinds.entry(kind).or_default() += 1;
    }
    println!("{} texts: {kinds:?}", texts.len());
    assert_eq!(kinds.len(), ways, "{kinds:?}");
    assert!(kinds.values().all(|&count| count >= 10), "{kinds:?}");
    let mut lines = Vec::new();
    for (kind, text) in texts {
        match verify(text) {
            Ok(_) => panic!("accepted ({kind}):\n{text}"),
            Err(rejected) => lines.push(rejected.line),
        }
    }
    let bare: Vec<String> = texts.iter().map(|(_, text)| text.clone()).collect();
    let (verdicts, code) = python(name, &bare);
    assert_eq!(code, 1);
    for (((kind, text), line), verdict) in texts.iter().zip(lines).zip(verdicts) {
        assert!(
            verdict.starts_with(&format!("reject line {line}: ")),
            "{kind}, line {line} by certify, but {verdict}:\n{text}"
        );
    }
}

#[test]
fn the_same_question_gives_the_same_text() {
    let position = mates_in(3, 1).remove(0);
    assert_eq!(proved(&position, 3), proved(&position, 3));
}

/// The positions come from random play (`corpus::played`).
#[test]
fn uniqueness_of_a_mate_in_four_stays_small() {
    for fen in [
        "1q5r/p4k1p/2n3p1/2Ppp3/2P2BP1/Pr2PPRP/6R1/1NK3NB b - - 2 39",
        "rn1B1b2/1r3q2/8/pp1p2Pk/P1PPp3/1p5b/7n/RNK5 b - - 4 35",
    ] {
        let only = proved(&position(fen), 4).only;
        let claims = verify(&only).expect("accepted").claims;
        assert_eq!((claims[0].moves, claims[0].firsts.len()), (4, 1));
        // Deflated it may be 200 KB; it is below that as it stands.
        assert!(only.len() < 200_000, "{fen}: {} bytes", only.len());
    }
}

#[test]
fn the_worked_example_is_what_is_written() {
    let readme = root().join("crates/certify/README.md");
    let readme = std::fs::read_to_string(readme).expect("the grammar's README");
    let Certificates { mates, only } = proved(&position("8/5P1k/5K2/8/8/8/8/8 w - - 0 1"), 2);
    let example = format!("{}\n{only}", mates.expect("a key"));
    assert!(readme.contains(&example), "{example}");
}

/// The definitions of a gain and of a draw by force stand in three places each, word for
/// word.
#[test]
fn what_is_proved_is_defined_alike_everywhere() {
    for (code, begins, ends) in [
        ("gain", "A *gain of k in n*", "counts as failing."),
        (
            "draw",
            "A side *holds a draw by force*",
            "could win instead.",
        ),
    ] {
        let code = format!("crates/prove/src/{code}.rs");
        let said = definition(&code, begins, ends);
        for file in ["crates/certify/README.md", "web/guide/write.md"] {
            assert_eq!(definition(file, begins, ends), said, "{file}");
        }
    }
}

/// A checker is believed because it can be read: 400 lines at most, blank lines, comments
/// and tests aside.
#[test]
fn the_checkers_stay_small() {
    let lines = |file: &str, comment: &str| {
        let text = std::fs::read_to_string(root().join(file)).expect(file);
        let code = |line: &&str| !line.trim().is_empty() && !line.trim().starts_with(comment);
        text.lines().filter(code).count()
    };
    let ours = ["lib", "claim", "exchange"].map(|name| format!("crates/certify/src/{name}.rs"));
    let ours: usize = ours.iter().map(|file| lines(file, "//")).sum();
    let theirs = lines("tests/outside/verify.py", "#");
    println!("certify {ours} lines, verify.py {theirs}");
    assert!(ours <= 400 && theirs <= 400, "{ours}, {theirs}");
    let files = std::fs::read_dir(root().join("crates/certify/src")).expect("a folder");
    assert_eq!(files.count(), 4, "a file that is not counted");
}

/// The words of a file from here to there.
fn definition(file: &str, begins: &str, ends: &str) -> String {
    let text = std::fs::read_to_string(root().join(file)).expect(file);
    let lines = text
        .lines()
        .map(|line| line.trim_start_matches("//!").trim());
    let text = lines.collect::<Vec<_>>().join(" ");
    let begins = text.find(begins).expect(file);
    let ends = begins + text[begins..].find(ends).expect(file);
    let words: Vec<&str> = text[begins..ends].split_whitespace().collect();
    words.join(" ")
}

/// Both certificates of a position, proved afresh.
fn proved(position: &Chess, n: u8) -> Certificates {
    proved_to(Aim::Mate, position, n)
}

fn proved_to(aim: Aim, position: &Chess, n: u8) -> Certificates {
    let mut prover = Prover::new(16 << 20);
    let verdicts = prover.judge_aim(aim, position, n, None, &mut Unwatched);
    let written = certificate::write(&mut prover, aim, position, n, &verdicts, &mut Unwatched);
    written.expect("proved")
}

fn both(certificates: &Certificates) -> Vec<String> {
    let all = certificates.mates.iter().chain([&certificates.only]);
    all.cloned().collect()
}

/// Generated positions whose shortest mate takes exactly `n`, always the same.
fn mates_in(n: u8, wanted: usize) -> Vec<Chess> {
    let mut random = Seeded::new(u64::from(n));
    let mut prover = Prover::new(16 << 20);
    let mut found = Vec::new();
    while found.len() < wanted {
        // With four moves few men, for the slower checker's sake.
        let position = match n {
            4 => corpus::placed(&mut random, 5),
            _ => corpus::mixed(&mut random),
        };
        match prover.mate(&position, n, &mut Unwatched) {
            Ok(Some((_, Verdict::Forces { length, .. }))) if length == n => found.push(position),
            Ok(_) => {}
            Err(nodes) => panic!("undecided after {nodes} nodes without a bound"),
        }
    }
    found
}

/// Mates by promotion to a rook and to a knight, by castling and by capturing
/// en passant, and a double step that is answered so.
fn corner_cases() -> Vec<Chess> {
    [
        "8/5P1k/5K2/8/8/8/8/8 w - - 0 1",
        "6nr/5Ppk/6pp/8/8/8/8/4K3 w - - 0 1",
        "2rkr3/1R6/8/8/8/8/2P1P3/R3K3 w Q - 0 1",
        "R7/5K1k/8/6pP/8/4B3/8/8 w - g6 0 1",
        "8/8/6pp/6pk/7p/5P1P/6P1/5K2 w - - 0 1",
    ]
    .map(position)
    .into()
}

fn position(fen: &str) -> Chess {
    let fen: Fen = fen.parse().expect("FEN");
    fen.into_position(CastlingMode::Standard).expect("legal")
}

/// Both checkers accept all texts, and count the same claims and positions.
fn agree_to_accept(name: &str, texts: &[String]) {
    let ours: Vec<String> = texts
        .iter()
        .map(|text| match verify(text) {
            Ok(found) => format!(
                "accept {} claims, {} positions",
                found.claims.len(),
                found.positions
            ),
            Err(rejected) => panic!("{rejected}:\n{text}"),
        })
        .collect();
    let (theirs, code) = python(name, texts);
    assert_eq!(theirs, ours);
    assert_eq!(code, 0);
}

/// What `verify.py` says of each text, without the file's name, and its code.
fn python(name: &str, texts: &[String]) -> (Vec<String>, i32) {
    let dir = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = std::fs::remove_dir_all(&dir);
    std::fs::create_dir_all(&dir).expect("a folder for the texts");
    let mut files = Vec::new();
    for (i, text) in texts.iter().enumerate() {
        let file = dir.join(format!("{i}.txt"));
        std::fs::write(&file, text).expect("a file for a text");
        files.push(file.to_str().expect("a UTF-8 path").to_owned());
    }
    let args: Vec<&str> = files.iter().map(String::as_str).collect();
    let (printed, code) = reference::python_code("verify.py", &args, "");
    let lines = printed.lines().zip(&files);
    let verdicts: Vec<String> = lines
        .map(|(line, file)| line.replace(&format!("{file}: "), ""))
        .collect();
    assert_eq!(verdicts.len(), texts.len(), "{printed}");
    (verdicts, code)
}

/// A certificate spoilt in every way that is open to it, each at a place drawn
/// at random, with the name of the way. Each of them breaks the proof for
/// certain.
fn tamper(text: &str, random: &mut Seeded) -> Vec<(&'static str, String)> {
    let lines: Vec<Vec<&str>> = text.lines().map(|l| l.split(' ').collect()).collect();
    // First moves that need a reply.
    let start = position(&lines[1][1..].join(" "));
    let stalemates = |&m: &Move| {
        let mut after = start.clone();
        after.play_unchecked(m);
        after.is_stalemate()
    };
    let movers =
        start.legal_moves().len() - start.legal_moves().into_iter().filter(stalemates).count();
    let mut spoilt = Vec::new();
    let mut spoil = |kind, words: Vec<(usize, usize, String)>| {
        if words.is_empty() {
            return;
        }
        let (line, word, new) = &words[random.below(words.len())];
        if lines[*line][*word] == new {
            return;
        }
        let mut lines: Vec<Vec<&str>> = lines.clone();
        lines[*line][*word] = new;
        if new.is_empty() {
            lines[*line].remove(*word);
        }
        let lines: Vec<String> = lines.iter().map(|words| words.join(" ")).collect();
        spoilt.push((kind, lines.join("\n")));
    };
    let words = || {
        let nodes = lines
            .iter()
            .enumerate()
            .filter(|(_, words)| words[0].parse::<u32>().is_ok());
        nodes.flat_map(|(i, words)| (1..words.len()).map(move |j| (i, j, words[1], words[j])))
    };
    let refers = |word: &str| {
        word.contains(':') && word.ends_with(|c: char| c.is_ascii_digit()) && {
            let (_, last) = word.rsplit_once(':').expect("a colon");
            last.parse::<u32>().is_ok()
        }
    };

    let entries = |wanted: &'static str| {
        words().filter(move |&(_, _, kind, word)| kind == wanted && word.contains(':'))
    };
    spoil(
        "one reply missing",
        entries("w")
            .map(|(i, j, ..)| (i, j, String::new()))
            .collect(),
    );
    spoil(
        "one refutation missing",
        entries("s")
            .map(|(i, j, ..)| (i, j, String::new()))
            .collect(),
    );
    spoil(
        "one illegal move",
        entries("w")
            .chain(entries("s"))
            .map(|(i, j, _, word)| {
                let (met, answer) = word.split_once(':').expect("a colon");
                let square = &met[..2];
                (i, j, format!("{square}{square}:{answer}"))
            })
            .collect(),
    );
    spoil(
        "a leaf that is not mate",
        words()
            .filter(|&(i, j, kind, word)| {
                kind == "w" && j == 2 && !word.ends_with('#') && lines[i].len() > 3
            })
            .map(|(i, j, _, word)| (i, j, format!("{word}#")))
            .collect(),
    );
    spoil(
        "a node of another position",
        words()
            .filter(|&(i, j, _, word)| j > 2 && refers(word) && refers(lines[i][j - 1]))
            .map(|(i, j, _, word)| {
                let (before, _) = word.rsplit_once(':').expect("a colon");
                let (_, other) = lines[i][j - 1].rsplit_once(':').expect("a colon");
                (i, j, format!("{before}:{other}"))
            })
            .collect(),
    );
    spoil(
        "a circle",
        words()
            .filter(|&(_, _, _, word)| refers(word))
            .map(|(i, j, _, word)| {
                let (before, _) = word.rsplit_once(':').expect("a colon");
                (i, j, format!("{before}:{}", lines[i][0]))
            })
            .collect(),
    );
    spoil(
        "the other side to move",
        // That no move at all gains so much may be true of the other side as well.
        match text.contains(" by ") || text.contains(':') || !text.contains("gain") {
            true => vec![(1, 2, if lines[1][2] == "w" { "b" } else { "w" }.to_owned())],
            false => vec![],
        },
    );
    let claims = || {
        lines
            .iter()
            .enumerate()
            .filter(|(_, words)| words[0] == "claim")
    };
    spoil(
        "a wrong number of moves",
        claims()
            .filter_map(|(i, words)| {
                let only = words[1] == "only";
                let at = 2
                    + usize::from(words.contains(&"gain"))
                    + usize::from(only && words[2] == "gain");
                let n: u8 = words[at].parse().expect("a number");
                let wrong = if only { n + 1 } else { n - 1 };
                // A claim of more that may be proved by what is there anyway: nothing needs
                // a reply, or the solver has no move further down.
                let firsts = words.len() - at - 3;
                let deep = n > 2 && words.contains(&"gain");
                let trivial = only && (lines.len() < 5 || firsts >= movers || deep);
                (!trivial).then(|| (i, at, wrong.to_string()))
            })
            .collect(),
    );
    spoil(
        "more than the most that is gained",
        claims()
            // Mate gains everything.
            .filter(|(_, words)| words[1] == "gain" && words[2] != "39")
            .map(|(i, words)| {
                (
                    i,
                    2,
                    (words[2].parse::<i32>().expect("a number") + 1).to_string(),
                )
            })
            .collect(),
    );
    if let Some(text) = mated_reply(&lines) {
        spoilt.push(("a refutation that is mated", text));
    }
    spoilt
}

/// An `only` certificate for two moves that says of the key, which mates, that
/// some reply refutes it.
fn mated_reply(lines: &[Vec<&str>]) -> Option<String> {
    let fen: Fen = lines[1][1..].join(" ").parse().ok()?;
    let start: Chess = fen.into_position(CastlingMode::Standard).ok()?;
    let mut lines: Vec<Vec<String>> = lines
        .iter()
        .map(|words| words.iter().map(|&word| word.to_owned()).collect())
        .collect();
    let claim = lines.iter().position(|words| {
        words.starts_with(&["claim", "only", "2"].map(String::from)) && words.len() > 5
    })?;
    let key = lines[claim].remove(3);
    let node = lines[claim].last()?.clone();
    let uci = |m: Move| m.to_uci(CastlingMode::Standard).to_string();
    let mut after = start.clone();
    after.play_unchecked(start.legal_moves().into_iter().find(|&m| uci(m) == key)?);
    let reply = uci(*after.legal_moves().first()?);
    let line = lines.iter_mut().find(|words| words[0] == node)?;
    line.push(format!("{key}:{reply}"));
    let lines: Vec<String> = lines.iter().map(|words| words.join(" ")).collect();
    Some(lines.join("\n"))
}
