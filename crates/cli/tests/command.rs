//! The command as a user meets it: what it prints, and its exit codes. The
//! positions are of our own making.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use serde_json::{Value, json};

/// A rook mates on the back rank, and nothing else does.
const SOUND: &str = r##"[Event "Back rank"]
[SetUp "1"]
[FEN "6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1"]
[Stipulation "#1"]

1. Ra8# *
"##;

/// Two rooks can mate, one is listed.
const COOKED: &str = r##"[Event "Two doors"]
[SetUp "1"]
[FEN "6k1/5ppp/8/8/8/8/8/RR4K1 w - - 0 1"]
[Stipulation "#1"]

1. Ra8# *
"##;

const BROKEN: &str = "[Event \"Half a tag\n\n1. e4 *\n";

/// Seven quiet first moves or more mate in two here, and one at once.
const CORNERED: &str = "7k/8/5K2/6Q1/8/8/8/8 w - - 0 1";

#[test]
fn solve_names_every_key_with_its_length() {
    let ran = keyproof(&["solve", "--fen", CORNERED, "--mate", "2", "--json"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let json = ran.json();
    assert_eq!(json["fen"], CORNERED);
    assert_eq!(json["stipulation"], "#2");
    assert_eq!(json["status"], "proved");
    assert_eq!(json["undecided"], json!([]));
    assert!(json["nodes"].as_u64().unwrap() > 0);
    let keys = json["keys"].as_array().unwrap();
    // The shortest first; the queen mates at once from g7 alone.
    assert_eq!(
        (&keys[0]["uci"], &keys[0]["san"]),
        (&json!("g5g7"), &json!("Qg7#"))
    );
    assert_eq!(keys.iter().filter(|key| key["length"] == 1).count(), 1);
    assert!(
        keys.iter()
            .any(|key| key["san"] == "Kf7" && key["length"] == 2)
    );
    assert!(keys.iter().all(|key| key.get("tree").is_none()));
}

/// Ed. Lasker - Thomas, London 1912, before White's eleventh move: mate in
/// eight by checks (from memory).
const KING_HUNT: &str = "rn3rk1/pbppq1pp/1p2pb2/4N2Q/3PN3/3B4/PPP2PPP/R3K2R w KQ - 7 11";

#[test]
fn solve_finds_a_long_mate_by_checks_and_says_how() {
    let asked = [
        "solve", "--fen", KING_HUNT, "--mate", "8", "--nodes", "2000",
    ];
    let ran = keyproof(&[&asked[..], &["--json"]].concat());
    assert_eq!(ran.code, 0, "{}", ran.err);
    let json = ran.json();
    assert_eq!(json["status"], "proved");
    let [key] = &json["keys"].as_array().unwrap()[..] else {
        panic!("one key: {json}");
    };
    assert_eq!(
        (&key["san"], &key["by_checks"]),
        (&json!("Qxh7+"), &json!(true))
    );
    assert!(key["line"].as_array().unwrap().len() <= 15);
    let undecided = json["undecided"].as_array().unwrap();
    assert!(!undecided.is_empty() && !undecided.contains(&key["uci"]));
    assert!(keyproof(&asked).out.contains("found by checks alone"));

    // In fewer moves there is none by checks, which proves nothing.
    let short = [
        "solve", "--fen", KING_HUNT, "--mate", "5", "--nodes", "2000", "--json",
    ];
    let ran = keyproof(&short);
    assert_eq!((ran.code, &ran.json()["status"]), (1, &json!("unknown")));
}

#[test]
fn solve_shows_the_whole_tree_on_request() {
    let ran = keyproof(&[
        "solve", "--fen", CORNERED, "--mate", "2", "--tree", "--json",
    ]);
    let json = ran.json();
    let keys = json["keys"].as_array().unwrap();
    let branches = keys.iter().flat_map(|key| key["tree"].as_array().unwrap());
    assert!(branches.clone().count() > 0);
    for branch in branches {
        assert_eq!(branch["answer"]["length"], 1, "{branch}");
        assert_eq!(branch["tree"], json!([]));
    }
    let text = keyproof(&["solve", "--fen", CORNERED, "--mate", "2", "--tree"]).out;
    assert!(text.starts_with("#2 proved: "), "{text}");
    assert!(text.contains("    1...Kh7  2.Qg7#\n"), "{text}");
}

#[test]
fn solve_says_why_a_key_works_on_request() {
    // The queen gives herself up on the back rank, and the rook mates there.
    let fen = "3r2k1/1b3ppp/pqp5/8/3N4/8/PPP1QPPP/4R1K1 w - - 0 1";
    let asked = ["solve", "--fen", fen, "--mate", "2", "--json", "--reasons"];
    let json = keyproof(&asked).json();
    let keys = json["keys"].as_array().unwrap();
    for key in keys {
        let kinds = key["reasons"].as_array().unwrap();
        assert!(
            kinds.iter().any(|why| why["kind"] == "back-rank mate"),
            "{key}"
        );
    }
    let plain = keyproof(&asked[..6]).json();
    assert!(plain["keys"][0].get("reasons").is_none());
}

/// A pawn and its king against the king alone: only one first move wins.
const PAWN_ENDING: &str = "4k3/8/4K3/4P3/8/8/8/8 w - - 0 1";

#[test]
fn table_tells_the_exact_result_of_every_move() {
    let json = keyproof(&["table", PAWN_ENDING, "--json", "--no-cache"]).json();
    assert_eq!(
        (&json["fen"], &json["result"]),
        (&json!(PAWN_ENDING), &json!("win"))
    );
    let moves = json["moves"].as_array().unwrap();
    // King on the sixth before his pawn wins, the pawn to the sixth draws
    // (common practice, no source).
    let result = |san: &str| {
        let found = moves.iter().find(|m| m["san"] == san);
        found.unwrap_or_else(|| panic!("{json}"))["result"].clone()
    };
    assert_eq!(result("Kd6"), "win");
    assert_eq!(result("Kf5"), "draw");
    assert_eq!(moves[0]["mate"], json["mate"]);
    assert!(json["tables"].as_array().unwrap().contains(&json!("KPK")));
    let ran = keyproof(&["table", PAWN_ENDING]);
    let mate = json["mate"].as_u64().unwrap();
    let headline = format!("White mates in {mate} moves, by endgame table\n");
    assert!(ran.out.starts_with(&headline), "{}", ran.out);
    assert!(ran.out.contains("  * K"), "{}", ran.out);
    assert_eq!(ran.code, 0);
}

/// Where the command keeps tables below a cache folder (the XDG Base Directory
/// Specification's `$XDG_CACHE_HOME`).
#[cfg(target_os = "linux")]
fn kept(caches: &Path) -> PathBuf {
    let format = keyproof::tables::FORMAT;
    caches.join("keyproof").join(format!("tables-{format}"))
}

#[test]
#[cfg(target_os = "linux")]
fn table_keeps_what_it_makes_and_makes_what_is_damaged_anew() {
    let caches = folder("caches");
    let ask = |more: &[&str]| {
        let args = [&["table", PAWN_ENDING, "--json"], more].concat();
        keyproof_in(&caches, &args, "")
    };
    let made = |ran: &Ran| ran.json()["tables"].clone();

    // Without a cache nothing is written.
    let first = ask(&["--no-cache"]);
    assert!(made(&first).as_array().unwrap().contains(&json!("KPK")));
    assert!(!kept(&caches).exists());

    let second = ask(&[]);
    assert_eq!(made(&second), made(&first));
    let third = ask(&[]);
    assert_eq!((made(&third), third.err.as_str()), (json!([]), ""));
    assert_eq!(third.json()["moves"], first.json()["moves"]);

    let file = kept(&caches).join("KPK");
    let whole = std::fs::read(&file).unwrap();
    let mut flipped = whole.clone();
    flipped[whole.len() / 2] ^= 1;
    for damaged in [&whole[..whole.len() / 2], b"", b"PNG or whatever", &flipped] {
        std::fs::write(&file, damaged).unwrap();
        let ran = ask(&[]);
        assert_eq!(made(&ran), json!(["KPK"]));
        assert!(ran.err.contains("tables-2/KPK: "), "{}", ran.err);
        assert!(ran.err.contains("it is made anew"), "{}", ran.err);
        assert_eq!(ran.json()["moves"], first.json()["moves"]);
        assert_eq!(std::fs::read(&file).unwrap(), whole);
    }
    // Nothing is left beside.
    let names = std::fs::read_dir(kept(&caches)).unwrap();
    assert!(
        names
            .flatten()
            .all(|entry| !entry.file_name().to_string_lossy().contains('.'))
    );
}

#[test]
#[cfg(target_os = "linux")]
fn table_answers_where_nothing_can_be_kept() {
    let caches = folder("no-caches").join("a file");
    std::fs::write(&caches, "in the way").unwrap();
    let ran = keyproof_in(&caches, &["table", PAWN_ENDING, "--json"], "");
    assert_eq!((ran.code, &ran.json()["result"]), (0, &json!("win")));
    assert_eq!(
        ran.err.matches("cannot keep endgame tables").count(),
        1,
        "{}",
        ran.err
    );
}

#[test]
fn syzygy_files_that_cannot_be_used_are_named() {
    let files = folder("no-syzygy");
    let ask = || {
        let folder = files.to_str().unwrap();
        keyproof(&["table", PAWN_ENDING, "--json", "--syzygy", folder])
    };
    let ran = ask();
    assert_eq!(ran.code, 2);
    assert!(
        ran.err.contains("no Syzygy file that can be used"),
        "{}",
        ran.err
    );

    std::fs::write(files.join("KQvK.rtbw"), "nothing").unwrap();
    let ran = ask();
    assert_eq!(ran.code, 2);
    assert!(
        ran.err.contains("KQvK.rtbw is no Syzygy file"),
        "{}",
        ran.err
    );

    let missing = keyproof(&["table", PAWN_ENDING, "--syzygy", "nowhere/at/all"]);
    assert_eq!(missing.code, 2);
    assert!(missing.err.contains("nowhere/at/all: "), "{}", missing.err);
}

#[test]
fn table_names_the_losing_side_and_stalemate() {
    let lost = keyproof(&["table", "7k/8/5K2/6Q1/8/8/8/8 b - - 0 1"]).out;
    assert!(lost.starts_with("White mates in 1 move, by"), "{lost}");
    let stale = keyproof(&["table", "7k/5Q2/8/8/8/8/8/K7 b - - 0 1"]).out;
    assert!(stale.starts_with("draw: stalemate, by"), "{stale}");
}

#[test]
fn table_says_why_it_knows_nothing() {
    for (fen, why) in [
        (
            "4k3/pp6/8/8/8/8/PP6/4K3 w - - 0 1",
            "there are 6 men on the board",
        ),
        ("4k3/8/8/8/8/8/8/4K2R w K - 0 1", "may still castle"),
        ("4k3/8/8/8/8/8/8/8 w - - 0 1", "no legal position"),
    ] {
        let ran = keyproof(&["table", fen]);
        assert_eq!(ran.code, 2, "{fen}");
        assert!(ran.err.contains(why), "{}", ran.err);
    }
}

/// The knight forks king and queen.
const FORK: &str = "6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1";

#[test]
fn analyse_tells_value_grade_lines_and_reasons() {
    let asked = [
        "analyse", "--fen", FORK, "--lines", "2", "--nodes", "200000",
    ];
    let json = keyproof(&[&asked[..], &["--json"]].concat()).json();
    let lines = json["lines"].as_array().unwrap();
    assert_eq!(lines.len(), 2);
    assert_eq!(lines[0]["line"][0], "d5f6");
    assert!(lines[0]["value"].as_i64() > lines[1]["value"].as_i64());
    assert_eq!(lines[0]["grade"], "searched");
    assert!(lines[0]["depth"].as_u64().unwrap() > 3);
    let whys = json["whys"].as_array().unwrap();
    assert!(whys.iter().any(|why| why["title"] == "fork"), "{json}");
    // The knight is attacked.
    assert!(
        json["standing"].as_str().unwrap().contains("Qxd5"),
        "{json}"
    );
    let failures = json["failures"].as_array().unwrap();
    assert!(failures.iter().any(|f| f["line"][0] == "d5b6"), "{json}");
    assert!(json["difficulty"]["level"].as_u64().unwrap() >= 1);
    let text = keyproof(&asked).out;
    assert!(text.starts_with("Nf6+     +"), "{text}");
    assert!(text.contains("why      fork: "), "{text}");
}

#[test]
fn analyse_proves_mates_and_refuses_what_is_over() {
    let json = keyproof(&["analyse", "--fen", CORNERED, "--json"]).json();
    let best = &json["lines"][0];
    // Three men: the table answers, and it knows the mate on the spot.
    assert_eq!(
        (&best["mate"], &best["grade"]),
        (&json!(1), &json!("table"))
    );
    let over = keyproof(&["analyse", "--fen", "7k/6Q1/5K2/8/8/8/8/8 b - - 0 1"]);
    assert_eq!(over.code, 2);
    assert!(over.err.contains("it is mate"), "{}", over.err);
    assert_eq!(keyproof(&["analyse", "--fen", "nonsense"]).code, 2);
}

#[test]
fn complete_answers_every_defence_and_keeps_what_was_written() {
    let text = r##"[Event "Whatever he does"]
[SetUp "1"]
[FEN "7k/p7/5K2/8/8/8/8/1R6 w - - 0 1"]
[Stipulation "#2"]

1. Kg6 {Quietly.} (1. Kf7 $1 Kh7 2. Rh1#) 1... Kg8 2. Rb8# *
"##;
    let without = text.replace(" 1... Kg8 2. Rb8#", "");
    let ran = keyproof_with(&["complete", "-"], &without);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.contains("{Quietly.}"), "{}", ran.out);
    assert!(ran.out.contains("Rb8# {The same answers"), "{}", ran.out);
    assert!(ran.err.contains("Whatever he does: "), "{}", ran.err);
    let german = without.replace("[SetUp", "[Language \"de\"]\n[SetUp");
    let told = keyproof_with(&["complete", "-"], &german).out;
    assert!(told.contains("Rb8# {Dasselbe folgt"), "{told}");
    let checked = keyproof_with(&["check", "-", "--json"], &ran.out).lines();
    assert_eq!(checked[0]["verdict"], "sound", "{checked}");
    let folder = folder("complete");
    let path = folder.join("again.pgn");
    let asked = ["complete", "-", "-o", path.to_str().unwrap()];
    let again = keyproof_with(&asked, &ran.out);
    assert_eq!((again.code, again.out.as_str()), (0, ""), "{}", again.err);
    assert_eq!(std::fs::read_to_string(path).unwrap(), ran.out);
}

#[test]
fn complete_writes_nothing_when_something_is_unread() {
    let ran = keyproof_with(&["complete", "-"], BROKEN);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(ran.err.contains("nothing was written"), "{}", ran.err);
}

#[test]
fn solve_tells_refuted_from_unknown() {
    // A bare king and knight mate nobody.
    let fen = "7k/8/8/8/8/8/4N3/4K3 w - - 0 1";
    let ran = keyproof(&["solve", "--fen", fen, "--mate", "2", "--json"]);
    assert_eq!((ran.code, &ran.json()["status"]), (1, &json!("refuted")));

    let fen = "7k/8/8/8/8/8/4Q3/4K3 w - - 0 1";
    let ran = keyproof(&[
        "solve", "--fen", fen, "--mate", "6", "--nodes", "1", "--json",
    ]);
    let json = ran.json();
    assert_eq!((ran.code, &json["status"]), (1, &json!("unknown")));
    assert!(!json["undecided"].as_array().unwrap().is_empty());
}

#[test]
fn solve_forces_selfmate_and_stalemate() {
    let fen = "8/8/8/5Q2/8/8/6PP/2r1k2K w - - 0 1";
    let selfmate = ["solve", "--fen", fen, "--stipulation", "s#2"];
    let json = keyproof(&[&selfmate[..], &["--json"]].concat()).json();
    assert_eq!(json["stipulation"], "s#2");
    let keys = json["keys"].as_array().unwrap();
    assert_eq!((keys.len(), &keys[0]["san"]), (1, &json!("Qf2+")));
    assert_eq!(keys[0]["length"], 2);
    assert_eq!(keys[0]["line"], json!(["f5f2", "e1d1", "f2d2", "d1d2"]));
    let ran = keyproof(&[&selfmate[..], &["--tree"]].concat());
    assert!(
        ran.out.starts_with("s#2 proved by one program: 1 key\n"),
        "{}",
        ran.out
    );
    assert!(ran.out.contains("    1...Kxf2#\n"), "{}", ran.out);
    assert!(ran.out.contains("    1...Kd1  2.Qd2+\n"), "{}", ran.out);

    let fen = "4k3/8/8/8/6R1/1K6/1P6/3Q4 w - - 0 1";
    let ran = keyproof(&["solve", "--fen", fen, "--stipulation", "==2"]);
    assert!(ran.out.contains("Rg7      stalemate in 2"), "{}", ran.out);
    let ran = keyproof(&["solve", "--fen", fen, "--stipulation", "==1"]);
    assert_eq!(ran.code, 1);
    assert!(ran.out.contains("no first move forces stalemate in 1"));
}

#[test]
fn solve_lists_every_helpmate() {
    let fen = "8/6k1/8/6K1/6p1/7R/8/5N2 b - - 0 1";
    let helpmate = ["solve", "--fen", fen, "--stipulation", "h#2"];
    let ran = keyproof(&helpmate);
    assert_eq!(ran.code, 0);
    assert!(
        ran.out
            .starts_with("h#2 proved by one program: 2 solutions\n"),
        "{}",
        ran.out
    );
    for line in ["1...Kf8 2.Kf6 g3 3.Rh8#", "1...Kg8 2.Kf6 Kf8 3.Rh8#"] {
        assert!(
            ran.out.contains(&format!("helpmate in 2   {line}\n")),
            "{}",
            ran.out
        );
    }
    let json = keyproof(&[&helpmate[..], &["--json"]].concat()).json();
    assert_eq!(json["keys"][0]["length"], 4);
    assert_eq!(
        json["keys"][0]["solutions"],
        json!([["g7f8", "g5f6", "g4g3", "h3h8"]])
    );

    let ran = keyproof(&["solve", "--fen", fen, "--stipulation", "h#1.5"]);
    assert_eq!(ran.code, 1);
    assert!(
        ran.out.starts_with("h#1.5 refuted: there is no helpmate"),
        "{}",
        ran.out
    );
    let file = std::env::temp_dir().join("keyproof-helpmate.txt");
    let file = file.to_str().unwrap();
    let ran = keyproof(&[&helpmate[..], &["--certificate", file]].concat());
    assert_eq!(ran.code, 1);
    assert!(ran.err.contains("a helpmate has no defence"), "{}", ran.err);
}

#[test]
fn a_mate_is_proved_once_the_checker_has_accepted_it() {
    let solve = ["solve", "--fen", CORNERED, "--mate", "2"];
    let ran = keyproof(&solve);
    assert!(ran.out.starts_with("#2 proved: "), "{}", ran.out);
    assert!(
        ran.out
            .contains("checked by a second, independent program, "),
        "{}",
        ran.out
    );
    let ran = keyproof(&[&solve[..], &["--unchecked"]].concat());
    assert_eq!(ran.code, 0);
    assert!(
        ran.out.starts_with("#2 proved by one program: ")
            && ran.out.contains("not checked a second time, as you asked"),
        "{}",
        ran.out
    );
    let json = keyproof(&[&solve[..], &["--unchecked", "--json"]].concat()).json();
    assert_eq!(
        (&json["status"], &json["second"]),
        (&json!("proved"), &json!("skipped"))
    );
    let json = keyproof(&[&solve[..], &["--json"]].concat()).json();
    assert!(json["second"]["accepted"]["positions"].as_u64() > Some(0));

    let rows = keyproof_with(&["check", "-", "--json"], SOUND).lines();
    assert_eq!(rows[0]["verdict"], "sound");
    assert!(rows[0]["second"]["accepted"]["positions"].as_u64() > Some(0));
    let rows = keyproof_with(&["check", "-", "--json", "--unchecked"], SOUND).lines();
    assert_eq!(
        (&rows[0]["verdict"], &rows[0]["second"]),
        (&json!("sound"), &json!("skipped"))
    );
    let ran = keyproof_with(&["check", "-", "--unchecked"], SOUND);
    assert!(
        ran.out.contains("not checked a second time, as you asked"),
        "{}",
        ran.out
    );
    let ran = keyproof_with(&["check", "-", "--unchecked", "--certificates", "x"], SOUND);
    assert_eq!(ran.code, 2);
}

#[test]
fn a_handout_of_what_is_unsound_is_refused_unless_asked_for() {
    let folder = folder("handout");
    let cooked = file(&folder, "tuesday.pgn", COOKED);
    let page = folder.join("print.html");
    let handout = ["handout", &cooked, "-o", page.to_str().unwrap()];
    let ran = keyproof(&handout);
    assert_eq!(ran.code, 1);
    assert!(ran.err.contains("cook") && !page.exists(), "{}", ran.err);
    let ran = keyproof(&[&handout[..], &["--unsound"]].concat());
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(page.exists());
}

#[test]
fn solve_wants_one_thing_to_force() {
    for (asked, named) in [
        (&[][..], "--mate"),
        (&["--stipulation", "+"], "--stipulation"),
        (&["--stipulation", "s#0"], "--stipulation"),
        (&["--stipulation", "s#2", "--mate", "2"], "--stipulation"),
    ] {
        let ran = keyproof(&[&["solve", "--fen", CORNERED], asked].concat());
        assert_eq!(ran.code, 2, "{asked:?}");
        assert!(ran.err.contains(named), "{}", ran.err);
    }
}

#[test]
fn solve_says_what_is_wrong_with_a_position() {
    let ran = keyproof(&[
        "solve",
        "--fen",
        "7k/8/8/8/8/8/8/8 w - - 0 1",
        "--mate",
        "2",
    ]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("White has no king"), "{}", ran.err);
    assert_eq!(ran.out, "");
    let ran = keyproof(&["solve", "--fen", CORNERED, "--mate", "0"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("--mate"), "{}", ran.err);
}

#[test]
fn check_reads_files_and_folders_in_order() {
    let folder = folder("check_order");
    file(&folder, "b.pgn", &[SOUND, COOKED].join("\n"));
    file(&folder, "a.PGN", SOUND);
    file(&folder, "notes.txt", "no puzzles here");
    let last = file(&folder, "last.txt", COOKED);
    let ran = keyproof(&["check", "--json", folder.to_str().unwrap(), &last]);
    assert_eq!(ran.code, 1, "{}", ran.err);
    let rows = ran.lines();
    let seen: Vec<(&str, u64, &str)> = rows
        .as_array()
        .unwrap()
        .iter()
        .map(|row| {
            let file = row["file"].as_str().unwrap().rsplit('/').next().unwrap();
            (
                file,
                row["index"].as_u64().unwrap(),
                row["verdict"].as_str().unwrap(),
            )
        })
        .collect();
    let expected = [
        ("a.PGN", 1, "sound"),
        ("b.pgn", 1, "sound"),
        ("b.pgn", 2, "unsound"),
        ("last.txt", 1, "unsound"),
    ];
    assert_eq!(seen, expected);
    let sound = &rows[0];
    assert_eq!(
        (&sound["title"], &sound["stipulation"]),
        (&json!("Back rank"), &json!("#1"))
    );
    assert_eq!(sound["findings"], json!([]));
}

#[test]
fn check_shows_a_cook_with_all_that_is_known_of_it() {
    let ran = keyproof_with(&["check", "-", "--json"], COOKED);
    assert_eq!(ran.code, 1);
    let row = &ran.lines()[0];
    assert_eq!(row["file"], "-");
    let finding = &row["findings"][0];
    assert_eq!(finding["kind"], "cook");
    assert_eq!(finding["weight"], "fault");
    assert_eq!(finding["path"], json!([]));
    assert_eq!(finding["moves"], json!(["b1b8"]));
    assert_eq!(finding["line"], json!(["b1b8"]));
    assert!(finding["message"].as_str().unwrap().contains("Rb8#"));
    assert!(!finding["mends"].as_array().unwrap().is_empty());

    let text = keyproof_with(&["check", "-"], COOKED).out;
    assert!(
        text.starts_with("unsound    Two doors  #1  - (1)\n"),
        "{text}"
    );
    assert!(text.contains("fault, cook: "), "{text}");
    assert!(text.contains("line: 1.Rb8#"), "{text}");
    assert!(text.contains("mend: "), "{text}");
    assert!(!text.contains('\u{1b}'), "colour in a pipe: {text:?}");
}

#[test]
fn check_places_an_illegal_move() {
    let ran = keyproof_with(&["check", "-", "--json"], &SOUND.replace("Ra8#", "Rb8#"));
    assert_eq!(ran.code, 1);
    let finding = &ran.lines()[0]["findings"][0];
    assert_eq!(finding["kind"], "illegal_move");
    assert_eq!(finding["place"], json!({"line": 6, "column": 4}));
}

#[test]
fn check_goes_on_after_what_it_cannot_read() {
    let folder = folder("check_unreadable");
    let good = file(&folder, "good.pgn", SOUND);
    let empty = file(&folder, "empty.pgn", "");
    let missing = folder.join("missing.pgn");
    let ran = keyproof(&["check", "--json", missing.to_str().unwrap(), &empty, &good]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("missing.pgn: "), "{}", ran.err);
    assert!(
        ran.err.contains("empty.pgn: no game in this file"),
        "{}",
        ran.err
    );
    assert_eq!(ran.lines().as_array().unwrap().len(), 1);

    let ran = keyproof_with(&["check", "--json", "-"], &[BROKEN, SOUND].join("\n"));
    assert_eq!(ran.code, 2);
    let finding = &ran.lines()[0]["findings"][0];
    assert_eq!(finding["kind"], "unreadable_text");
    assert_eq!(finding["place"]["line"], 1);
}

#[test]
fn check_of_nothing_prints_nothing() {
    let ran = keyproof(&["check", "--json", folder("check_nothing").to_str().unwrap()]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
}

#[test]
fn a_small_budget_leaves_a_puzzle_undecided() {
    let ran = keyproof_with(&["check", "-", "--nodes", "0", "--json"], SOUND);
    assert_eq!(
        (ran.code, &ran.lines()[0]["verdict"]),
        (1, &json!("undecided"))
    );
}

#[test]
fn publish_refuses_what_is_not_sound() {
    let folder = folder("publish");
    let sound = file(&folder, "monday.pgn", SOUND);
    let cooked = file(&folder, "tuesday.pgn", COOKED);
    let page = folder.join("out.html");
    let page = page.to_str().unwrap();

    let ran = keyproof(&["publish", &sound, "-o", page]);
    let built = concat!(env!("CARGO_MANIFEST_DIR"), "/../../dist/student.html");
    if !Path::new(built).exists() {
        assert_eq!(ran.code, 2);
        assert!(ran.err.contains("cargo xtask build"), "{}", ran.err);
        return;
    }
    assert_eq!(ran.code, 0, "{}", ran.err);
    let text = std::fs::read_to_string(page).unwrap();
    assert!(text.contains("<title>Back rank</title>"));
    assert!(text.contains("1. Ra8#"));
    assert!(!text.contains("<!--keyproof:"));

    let ran = keyproof(&["verify", page]);
    assert_eq!(ran.code, 1, "a page without certificates: {}", ran.out);
    let ran = keyproof(&["publish", &sound, "-o", page, "--certificates"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let ran = keyproof(&["verify", page]);
    assert_eq!(ran.code, 0, "{}", ran.out);
    let claim = "\n  no move but Ra8 mates at once\n";
    assert!(ran.out.contains(claim), "{}", ran.out);

    std::fs::remove_file(page).unwrap();
    let ran = keyproof(&["publish", &cooked, "-o", page]);
    assert_eq!(ran.code, 1);
    assert!(
        ran.err.contains("Two doors") && ran.err.contains("cook"),
        "{}",
        ran.err
    );
    assert!(!Path::new(page).exists());

    let ran = keyproof(&[
        "publish",
        &cooked,
        "-o",
        "-",
        "--unsound",
        "--title",
        "A <b> title",
    ]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.contains("<title>A &lt;b&gt; title</title>"));

    let ran = keyproof(&["publish", &sound, "-o", &sound]);
    assert_eq!(ran.code, 2);
    assert_eq!(std::fs::read_to_string(&sound).unwrap(), SOUND);
}

#[test]
fn solve_writes_a_certificate_that_verify_accepts() {
    let proof = folder("certificate").join("proof.txt");
    let proof = proof.to_str().unwrap();
    let fen = "8/5P1k/5K2/8/8/8/8/8 w - - 0 1";
    let solve = ["solve", "--fen", fen, "--mate", "2", "--certificate", proof];
    let ran = keyproof(&[&solve[..], &["--json"]].concat());
    assert_eq!(ran.code, 0, "{}", ran.err);
    let written = ran.json()["certificate"].clone();
    assert_eq!(written["file"], proof);
    let text = std::fs::read_to_string(proof).unwrap();
    assert_eq!(written["bytes"], text.len());

    let ran = keyproof(&["verify", proof, "--json"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let row = &ran.json()[0];
    assert_eq!(row["status"], "accepted");
    assert_eq!(row["positions"], written["positions"]);
    let claims = json!([
        {"fen": fen, "kind": "mate", "mate": 2, "moves": ["f7f8r"]},
        {"fen": fen, "kind": "only", "mate": 2, "moves": ["f7f8r"]},
        {"fen": fen, "kind": "only", "mate": 1, "moves": []},
    ]);
    assert_eq!(row["claims"], claims);

    let ran = keyproof(&["verify", proof]);
    assert!(
        ran.out
            .contains(": accepted\n  f8=R forces mate in 2 or fewer\n"),
        "{}",
        ran.out
    );
}

#[test]
fn verify_names_the_line_that_fails() {
    let folder = folder("verify");
    let text = "keyproof certificate 1\nfen 6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1\nclaim mate 1 by a1a8 node 1\n1 w a1a8#\n";
    let good = file(&folder, "good.txt", text);
    let bad = file(&folder, "bad.txt", &text.replace("a8", "a7"));
    let ran = keyproof(&["verify", &good, &bad]);
    assert_eq!(ran.code, 1);
    let end = format!("{bad}: rejected\n  line 4: a1a7# is not mate\n");
    assert!(ran.out.ends_with(&end), "{}", ran.out);
    let ran = keyproof_with(&["verify", "-", "--json"], "");
    let row = &ran.json()[0];
    assert_eq!((ran.code, &row["line"]), (1, &json!(1)));
    assert_eq!(row["reason"], "nothing is claimed");
    let missing = folder.join("missing.txt");
    let ran = keyproof(&["verify", missing.to_str().unwrap(), &good]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("missing.txt: "), "{}", ran.err);
    assert!(ran.out.contains("good.txt: accepted"), "{}", ran.out);
}

/// Beside each number the bounds are named; where the game is over, why.
#[test]
fn a_gain_that_cannot_be_asked_for_is_told_why() {
    for gain in ["gain 0 in 2", "gain 60 in 2", "gain 9 in 0", "gain 9 in 20"] {
        let ran = keyproof(&["solve", "--fen", FORK, "--stipulation", gain]);
        assert_eq!(ran.code, 2, "{gain}");
        let bounds = "gain k in n, k 1 to 39 pawns, n 1 to 10";
        assert!(
            ran.err.contains(gain) && ran.err.contains(bounds),
            "{}",
            ran.err
        );
        let puzzle =
            format!("[FEN \"{FORK}\"]\n[Stipulation \"{gain}\"]\n\n1. Nf6+ Kg7 2. Nxd7 *\n");
        let ran = keyproof_with(&["check", "-"], &puzzle);
        assert_eq!(ran.code, 1, "{gain}");
        let bounds = "1 to 39 pawns, in 1 to 10 moves";
        assert!(
            ran.out.contains(gain) && ran.out.contains(bounds),
            "{}",
            ran.out
        );
    }
    let mated = "rnb1kbnr/pppp1ppp/8/4p3/6Pq/5P2/PPPPP2P/RNBQKBNR w KQkq - 1 3";
    let ran = keyproof(&["solve", "--fen", mated, "--stipulation", "gain 9 in 2"]);
    assert_eq!(ran.code, 1);
    assert!(ran.out.contains("refuted: White is mated"), "{}", ran.out);
    let puzzle = format!("[FEN \"{mated}\"]\n[Stipulation \"gain 9 in 2\"]\n\n*\n");
    let ran = keyproof_with(&["check", "-"], &puzzle);
    assert!(
        ran.out.contains("none can be: White is mated."),
        "{}",
        ran.out
    );
}

/// A published puzzle that asks for a gain carries what was proved of every first move,
/// and its certificates, which both checkers accept (`tests/tests/certificates.rs` has the
/// other one read them).
#[test]
fn a_published_gain_carries_its_certificates() {
    let folder = folder("published-gain");
    let text = format!(
        "[Event \"Fork\"]\n[FEN \"{FORK}\"]\n[Stipulation \"gain 9 in 2\"]\n\n1. Nf6+ (1. Nb6 $2 Qd1#) 1... Kg7 (1... Kf8 2. Nxd7+) (1... Kh8 2. Nxd7) 2. Nxd7 *\n"
    );
    let puzzle = file(&folder, "fork.pgn", &text);
    let page = folder.join("fork.html");
    let page = page.to_str().unwrap();
    let ran = keyproof(&["publish", &puzzle, "-o", page, "--certificates"]);
    if ran.err.contains("cargo xtask build") {
        return;
    }
    assert_eq!(ran.code, 0, "{}", ran.err);
    let ran = keyproof(&["verify", page]);
    assert_eq!(ran.code, 0, "{}", ran.out);
    for claim in [
        "Nf6 forces a gain of 9 in 2 or fewer",
        "no move but Nf6 forces a gain of 9 in 2 or fewer",
        "no move gains 9 at once",
    ] {
        assert!(ran.out.contains(claim), "{claim}: {}", ran.out);
    }
    // Every legal first move, each with what shows that it fails.
    let published = std::fs::read_to_string(page).unwrap();
    let (_, answers) = published.split_once("puzzle 0\n- ").unwrap();
    let judged = answers.lines().next().unwrap();
    assert_eq!(judged.split(' ').count(), 16, "{judged}");
    assert!(
        judged.contains("d5f6=2") && judged.contains("d5b6!d7d1"),
        "{judged}"
    );
    // Tampered with, it is refused.
    let spoilt = published.replacen("claim gain 9 2", "claim gain 10 2", 1);
    let spoilt = file(&folder, "spoilt.html", &spoilt);
    assert_eq!(keyproof(&["verify", &spoilt]).code, 1);
}

#[test]
fn check_writes_a_certificate_for_every_mate() {
    let folder = folder("certificates");
    let proofs = folder.join("proofs");
    let puzzles = file(&folder, "monday.pgn", &[SOUND, COOKED].join("\n"));
    let win = SOUND.replace("#1", "+");
    let other = file(&folder, "tuesday.pgn", &win);
    let to = proofs.to_str().unwrap();
    let ran = keyproof(&["check", &puzzles, &other, "--certificates", to, "--json"]);
    let rows = ran.lines();
    assert_eq!(rows[2]["certificate"], Value::Null);
    let ran = keyproof(&["check", &other, "--certificates", to]);
    let none = "  no certificate: only mates, gains and draws by force are certified\n";
    assert!(ran.out.contains(none), "{}", ran.out);
    for (at, claims) in [(0, "Ra8"), (1, "Ra8, Rb8")] {
        let file = rows[at]["certificate"]["file"].as_str().unwrap();
        assert!(file.ends_with(&format!("monday-{}.txt", at + 1)), "{file}");
        let ran = keyproof(&["verify", file]);
        assert_eq!(ran.code, 0, "{}", ran.out);
        let only = format!("  no move but {claims} mates at once\n");
        assert!(ran.out.contains(&only), "{}", ran.out);
    }
    assert_eq!(std::fs::read_dir(&proofs).unwrap().count(), 2);
    let ran = keyproof(&["check", &puzzles, "--json"]);
    assert!(ran.lines()[0].get("certificate").is_none());
}

#[test]
fn no_certificate_of_what_is_undecided() {
    let proof = folder("undecided").join("proof.txt");
    let name = proof.to_str().unwrap();
    let fen = "7k/8/8/8/8/8/4Q3/4K3 w - - 0 1";
    let solve = ["solve", "--fen", fen, "--mate", "6", "--nodes", "1"];
    let ran = keyproof(&[&solve[..], &["--certificate", name]].concat());
    assert_eq!(ran.code, 1);
    assert!(ran.err.contains("no certificate"), "{}", ran.err);
    assert!(!proof.exists());
}

/// A game in which White overlooks a mate, and the lesson asks for it.
const LESSON: &str = "[Event \"Thursday\"]\n[White \"Ilsa\"]\n[Black \"Gus\"]\n[Moments \"4w #1\"]\n\n1. e4 e5 2. Qh5 Nc6 3. Bc4 Nf6 4. Nc3 $4 (4. Qxf7# $1) 4... g6 *\n";

#[test]
fn each_moment_of_a_lesson_is_checked_as_a_puzzle() {
    let ran = keyproof_with(&["check", "-"], LESSON);
    assert_eq!(ran.code, 0, "{}", ran.out);
    assert!(
        ran.out.contains("Thursday, 4w") && ran.out.contains("#1"),
        "{}",
        ran.out
    );
    let cooked = LESSON.replace(" (4. Qxf7# $1)", "").replace("$4", "$1");
    let rows = keyproof_with(&["check", "-", "--json"], &cooked).lines();
    assert_eq!(rows[0]["verdict"], "unsound", "{rows}");
    assert_eq!(rows[0]["place"], "4w");
}

#[test]
fn a_lesson_that_asks_nowhere_names_the_place() {
    let ran = keyproof_with(&["check", "-"], &LESSON.replace("4w #1", "40w #1, x"));
    assert_eq!(ran.code, 2);
    assert!(
        ran.err.contains("game 1") && ran.err.contains("40w") && ran.err.contains("\"x\""),
        "{}",
        ran.err
    );
}

#[test]
fn help_has_examples() {
    for task in [
        "solve", "analyse", "table", "check", "complete", "publish", "verify", "moments", "seen",
        "export", "handout",
    ] {
        let ran = keyproof(&[task, "--help"]);
        assert_eq!(ran.code, 0);
        assert!(
            ran.out.contains(&format!("Examples:\n  keyproof {task} ")),
            "{}",
            ran.out
        );
    }
}

/// The knight forks king and queen; the game's move goes by.
const GAME: &str = r##"[Event "Club night"]
[White "Quill, Ilsa"]
[Black "Brill, Tomas"]
[Result "*"]
[SetUp "1"]
[FEN "6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1"]

1. Nc3 {My hand went back.} Qd2 *
"##;

#[test]
fn moments_are_found_kept_and_made_into_puzzles() {
    let folder = folder("moments");
    let game = file(&folder, "game.pgn", GAME);
    let puzzles = folder.join("puzzles.pgn");
    let kept = folder.join("kept.lines");
    let (puzzles, kept) = (puzzles.to_str().unwrap(), kept.to_str().unwrap());
    let asked = [
        "moments",
        &game,
        "--nodes",
        "40000",
        "--keep",
        kept,
        "--puzzles",
        puzzles,
    ];
    let ran = keyproof(&asked);
    assert_eq!(ran.code, 0, "{}{}", ran.out, ran.err);
    assert!(
        ran.out.contains("1.Nf6+  White to move and win."),
        "{}",
        ran.out
    );
    assert!(ran.out.contains("as a puzzle: sound"), "{}", ran.out);
    let written = std::fs::read_to_string(puzzles).unwrap().replace('\n', " ");
    assert!(written.contains("[Stipulation \"+\"]") && written.contains("My hand went back."));
    let ran = keyproof(&[
        "moments", &game, "--nodes", "40000", "--keep", kept, "--json",
    ]);
    let json = ran.lines();
    let moment = &json[0]["moments"][0];
    assert_eq!(moment["accepted"][0]["san"], "Nf6+");
    assert_eq!(moment["played"]["right"], false);
    assert_eq!(moment["turn"], "white");
    assert!(
        moment["tries"][0]["sentence"]
            .as_str()
            .unwrap()
            .starts_with("1.Nc3 ")
    );
}

#[test]
fn moments_make_a_lesson_of_a_game() {
    let folder = folder("moments-lesson");
    let game = file(
        &folder,
        "game.pgn",
        "[Event \"Board four\"]\n\n1. e4 e5 2. Bc4 Nc6 3. Qh5 Nf6 {He saw the queen only.} 4. Nf3 {Development first.} 4... Nxh5 *\n",
    );
    let lesson = folder.join("lesson.pgn").display().to_string();
    let asked = ["moments", &game, "--nodes", "20000", "--lesson", &lesson];
    let ran = keyproof(&asked);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let text = std::fs::read_to_string(&lesson).unwrap().replace('\n', " ");
    for part in [
        "[Moments \"4w #1",
        "{He saw the queen only.}",
        "4. Nf3 $4",
        "{Development first.} (4. Qxf7#",
    ] {
        assert!(text.contains(part), "{part} is not in\n{text}");
    }
    let checked = keyproof(&["check", &lesson, "--json"]).lines();
    assert_eq!(checked[0]["verdict"], "sound", "{checked}");
    assert_eq!(checked[0]["place"], "4w");
    let ran = keyproof(&["moments", &game, "--lesson", &game]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("--lesson"), "{}", ran.err);
}

#[test]
fn moments_name_what_is_wrong() {
    let folder = folder("moments-wrong");
    let game = file(&folder, "game.pgn", GAME);
    let ran = keyproof(&["moments", &game, "--game", "2"]);
    assert_eq!(ran.code, 2);
    assert!(
        ran.err.contains("no game 2: the file has 1 game"),
        "{}",
        ran.err
    );
    let kept = file(&folder, "kept.json", "not ours");
    let ran = keyproof(&["moments", &game, "--keep", &kept]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("was not written by --keep"), "{}", ran.err);
    let ran = keyproof(&["moments", &game, "--puzzles", &game]);
    assert_eq!(ran.code, 2);
    assert_eq!(std::fs::read_to_string(&game).unwrap(), GAME);
}

#[test]
fn seen_shows_earlier_games_and_leaves_the_game_itself_out() {
    let folder = folder("seen");
    let old = "[White \"Lund\"]\n[Black \"Quill\"]\n[Date \"2024.11.07\"]\n\n1. c4 e6 2. d4 d5 3. Nc3 1-0\n\n";
    let new = "[White \"Brill\"]\n[Black \"Lund\"]\n\n1. d4 d5 2. c4 e6 3. Nf3 1/2-1/2\n\n";
    let collection = file(&folder, "all.pgn", &format!("{old}{new}"));
    let game = file(&folder, "new.pgn", new);
    let ran = keyproof(&["seen", "--in", &collection, &game, "--json"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let json = ran.lines();
    assert_eq!(json[0]["collection"]["games"], 2);
    let positions = json[0]["positions"].as_array().unwrap();
    let plies: Vec<u64> = positions
        .iter()
        .map(|p| p["ply"].as_u64().unwrap())
        .collect();
    assert_eq!(plies, [0, 4]);
    assert_eq!(positions[1]["score"]["games"], 1);
    assert_eq!(positions[1]["next"][0]["san"], "Nc3");
    assert_eq!(positions[1]["earlier"][0]["white"], "Lund");
    let text = keyproof(&["seen", "--in", &collection, &game]).out;
    assert!(
        text.contains("After 2...e6: 1 game (1 won by White"),
        "{text}"
    );
    // The same of an index, beside a game that is in it already.
    let index = keyproof_tasks::index(&format!("{old}{new}"), &keyproof_tasks::Means::default());
    let index = index.unwrap().bytes;
    let packed = folder.join("all.index");
    std::fs::write(&packed, &index).unwrap();
    let packed = packed.to_str().unwrap();
    let ran = keyproof(&["seen", "--in", packed, "--in", &game, &game, "--json"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(
        ran.err.contains("1 game given more than once"),
        "{}",
        ran.err
    );
    assert_eq!(ran.lines()[0]["positions"], json[0]["positions"]);
    std::fs::write(packed, &index[..index.len() - 1]).unwrap();
    let ran = keyproof(&["seen", "--in", packed, &game]);
    assert_eq!(ran.code, 2);
    assert!(
        ran.err.contains("all.index: this index is damaged"),
        "{}",
        ran.err
    );
}

#[test]
fn puzzles_go_to_epd_and_back() {
    let folder = folder("export");
    let puzzles = file(&folder, "both.pgn", &format!("{SOUND}\n{COOKED}"));
    let epd = folder.join("one.epd");
    let epd = epd.to_str().unwrap();
    let ran = keyproof(&["export", &puzzles, "--only", "1", "--to-epd", "-o", epd]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let text = std::fs::read_to_string(epd).unwrap();
    assert_eq!(
        text,
        "6k1/5ppp/8/8/8/8/8/R5K1 w - - bm Ra8#; dm 1; id \"Back rank\";\n"
    );
    let checked = keyproof(&["check", epd, "--json"]).lines();
    assert_eq!(checked[0]["verdict"], "sound");
    let pgn = keyproof(&["export", epd, "--to-pgn"]).out;
    assert!(
        pgn.contains("[Stipulation \"#1\"]") && pgn.contains("1. Ra8# *"),
        "{pgn}"
    );
    let beyond = keyproof(&["export", &puzzles, "--only", "1-3", "--to-epd"]);
    assert_eq!(beyond.code, 2);
    assert!(
        beyond
            .err
            .contains("--only names 3, and there are 2 puzzles"),
        "{}",
        beyond.err
    );
    let broken = file(
        &folder,
        "broken.epd",
        "6k1/8/8/8/8/8/8/R5K1 w - - bm Ra9;\n",
    );
    let ran = keyproof(&["check", &broken]);
    assert_eq!(ran.code, 2);
    assert!(ran.out.contains("1:31"), "{}", ran.out);
}

struct Ran {
    code: i32,
    out: String,
    err: String,
}

impl Ran {
    fn json(&self) -> Value {
        serde_json::from_str(&self.out).unwrap_or_else(|fault| panic!("{fault}: {}", self.out))
    }

    /// One result a line, as an array.
    fn lines(&self) -> Value {
        let read =
            |line| serde_json::from_str::<Value>(line).unwrap_or_else(|e| panic!("{e}: {line}"));
        self.out.lines().map(read).collect()
    }
}

/// A title that would turn the terminal red, name its window and write backwards. The
/// terminal is that of `script` (bsdutils, which every Debian has).
#[test]
fn what_an_author_wrote_does_not_steer_a_terminal() {
    let folder = folder("terminal");
    let file = folder.join("title.pgn");
    let title = "Back\u{1b}[2J\u{1b}]0;name\u{7}\u{9b}31m\u{202e} rank";
    std::fs::write(&file, SOUND.replace("Back rank", title)).unwrap();
    let check = format!(
        "{} check {}",
        env!("CARGO_BIN_EXE_keyproof"),
        file.display()
    );
    let shown = Command::new("script")
        .args(["--quiet", "--return", "--command", &check, "/dev/null"])
        .stdin(Stdio::null())
        .output()
        .expect("script");
    let shown = String::from_utf8(shown.stdout).unwrap();
    assert!(shown.contains("Back\u{fffd}[2J\u{fffd}]0;name\u{fffd}\u{fffd}31m\u{fffd} rank"));
    assert!(
        !shown.contains("\u{1b}[2J") && !shown.contains('\u{202e}'),
        "{shown:?}"
    );
    assert!(shown.contains("\u{1b}["), "it is a terminal: {shown:?}");
}

fn keyproof(args: &[&str]) -> Ran {
    keyproof_with(args, "")
}

fn keyproof_with(args: &[&str], input: &str) -> Ran {
    keyproof_in(Path::new(env!("CARGO_TARGET_TMPDIR")), args, input)
}

/// With a cache folder below `caches`.
fn keyproof_in(caches: &Path, args: &[&str], input: &str) -> Ran {
    let mut child = Command::new(env!("CARGO_BIN_EXE_keyproof"))
        .env("XDG_CACHE_HOME", caches)
        .args(args)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // The command may refuse its arguments and never read its input.
    let _ = child.stdin.take().unwrap().write_all(input.as_bytes());
    let output = child.wait_with_output().unwrap();
    Ran {
        code: output.status.code().unwrap(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

/// A folder for one test, empty at the start.
fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

fn file(folder: &Path, name: &str, text: &str) -> String {
    let path = folder.join(name);
    std::fs::write(&path, text).unwrap();
    path.to_str().unwrap().to_owned()
}
