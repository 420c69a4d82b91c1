//! Endgame tables against published values and against tables made by others.

use keyproof::notation::fen;
use keyproof::prove::Unwatched;
use std::sync::Arc;

use keyproof::tables::syzygy::{FilesInMemory, Syzygy};
use keyproof::tables::{Exact, FileFaultKind, Larger, Material, Outcome, TableResult, Tables};
use keyproof_tests::reference;
use shakmaty::{Chess, EnPassantMode, Position, fen::Fen};

/// How many random positions are compared; `KEYPROOF_POSITIONS` sets another
/// number.
const POSITIONS: usize = 6000;

/// All the tables there are, each made once for this whole suite.
fn tables() -> &'static std::sync::Mutex<Tables> {
    static ALL: std::sync::OnceLock<std::sync::Mutex<Tables>> = std::sync::OnceLock::new();
    ALL.get_or_init(Default::default)
}

fn position(fen: &str) -> Chess {
    fen::read(fen).unwrap_or_else(|fault| panic!("{fen}: {:?}", fault.reasons()))
}

fn probe(tables: &mut Tables, fen: &str) -> TableResult {
    tables
        .probe(&position(fen), &mut Unwatched)
        .unwrap_or_else(|| panic!("{fen}: no result"))
}

#[test]
fn longest_mates_equal_the_published_ones() {
    // Source: longest mates of the endgame literature, in moves. KQK, KRK,
    // KBBK, KBNK and KPK as given in shared standards; the others from memory,
    // and found again in `data/endgame-dm-4.epd` of the reference library.
    let mut tables = tables().lock().expect("no panic");
    for (name, moves) in [
        ("KQK", 10),
        ("KRK", 16),
        ("KPK", 28),
        ("KBBK", 19),
        ("KBNK", 33),
        ("KQKR", 35),
        ("KRKB", 29),
        ("KRKN", 40),
        ("KQKP", 28),
    ] {
        let material = Material::read(name).expect("a material");
        assert!(tables.make(material, &mut Unwatched));
        let content = tables.content(material).expect("made");
        assert_eq!(content.longest[0], Some(moves), "{name}");
    }
}

#[test]
fn results_equal_the_syzygy_tables() {
    // Source: Syzygy tables in the source distribution of the PyPI package
    // `chess` 1.11.2 (data/syzygy/regular), probed by that package.
    let count = std::env::var("KEYPROOF_POSITIONS").map_or(POSITIONS, |text| {
        text.parse().expect("KEYPROOF_POSITIONS is a number")
    });
    let lines = reference::python("tables.py", &[&count.to_string(), "20"], "");
    let mut tables = tables().lock().expect("no panic");
    let mut compared = 0;
    for line in lines.lines() {
        let (fen, expected) = line.split_once('\t').expect("a tab");
        let found = match probe(&mut tables, fen) {
            TableResult::Win(_) => "win",
            TableResult::Draw => "draw",
            TableResult::Loss(_) => "loss",
        };
        assert_eq!(found, expected, "{fen}");
        compared += 1;
    }
    assert_eq!(compared, count);
    println!("{compared} random positions; 0 differences in win, draw and loss");
}

#[test]
fn distances_equal_the_published_positions() {
    // Source: `data/endgame-dm-4.epd` of the same package: `dm` is the number
    // of moves to mate, negative when the side to move is mated, 0 for a draw.
    let mut tables = tables().lock().expect("no panic");
    let mut compared = 0;
    for line in reference::file("data/endgame-dm-4.epd").lines() {
        let Some((fen, rest)) = line.split_once(" dm ") else {
            continue;
        };
        let expected: i32 = rest.trim_end_matches(';').parse().expect("a number");
        let found = match probe(&mut tables, &format!("{fen} 0 1")) {
            TableResult::Win(n) => i32::from(n),
            TableResult::Draw => 0,
            TableResult::Loss(n) => -i32::from(n),
        };
        assert_eq!(found, expected, "{line}");
        compared += 1;
    }
    assert!(compared >= 40, "{compared} positions in the file");
    println!("{compared} published positions; 0 differences in distance to mate");
}

#[test]
fn a_colour_exchanged_position_has_the_same_result() {
    let mut tables = tables().lock().expect("no panic");
    let lines = reference::python("tables.py", &["300", "4"], "");
    for line in lines.lines() {
        let (fen, _) = line.split_once('\t').expect("a tab");
        let mut setup = position(fen).to_setup(EnPassantMode::Legal);
        setup.mirror();
        let mirrored = Fen::try_from_setup(setup).expect("a FEN").to_string();
        assert_eq!(
            probe(&mut tables, fen),
            probe(&mut tables, &mirrored),
            "{fen}"
        );
    }
}

/// The Syzygy files that the package carries.
fn files() -> FilesInMemory {
    let folder = reference::dir().join("data/syzygy/regular");
    let entries = std::fs::read_dir(&folder).expect("the package's files");
    let read = |entry: std::io::Result<std::fs::DirEntry>| {
        let entry = entry.expect("an entry");
        let bytes = std::fs::read(entry.path()).expect("a file");
        (entry.file_name().into_string().expect("a name"), bytes)
    };
    FilesInMemory(entries.map(read).collect())
}

fn syzygy(files: FilesInMemory) -> Syzygy {
    Syzygy::open(Arc::new(files)).expect("files in memory")
}

#[test]
fn syzygy_files_give_what_another_library_reads_in_them() {
    // Source: the same files probed by the PyPI package `chess` 1.11.2.
    let syzygy = syzygy(files());
    assert!(syzygy.files() > 60, "{} files", syzygy.files());
    assert_eq!((syzygy.most_men(), syzygy.faults()), (4, vec![]));
    let lines = reference::python("tables.py", &["4000", "21", "clock"], "");
    let (mut compared, mut by_rule) = (0, 0);
    for line in lines.lines() {
        let (fen, expected) = line.split_once('\t').expect("a tab");
        let exact = syzygy.exact(&position(fen));
        let found = match exact {
            Some(Exact {
                by_rule: true,
                outcome: Outcome::Draw,
                ..
            }) => "rule",
            Some(Exact {
                outcome: Outcome::Win,
                ..
            }) => "win",
            Some(Exact {
                outcome: Outcome::Draw,
                ..
            }) => "draw",
            Some(Exact {
                outcome: Outcome::Loss,
                ..
            }) => "loss",
            None => "unsure",
        };
        compared += 1;
        by_rule += usize::from(found == "rule");
        // By a move at the edge, this library may know more.
        assert!(
            found == expected || expected == "unsure",
            "{fen}: {found}, not {expected}"
        );
    }
    assert!(compared == 4000 && by_rule > 50, "{by_rule} of {compared}");
    println!("{compared} positions, {by_rule} of them drawn by the rule alone; 0 differences");
}

#[test]
fn our_tables_say_what_syzygy_files_say_under_the_rule() {
    let mut tables = tables().lock().expect("no panic");
    let syzygy = syzygy(files());
    let lines = reference::python("tables.py", &["2000", "22", "clock"], "");
    let mut compared = 0;
    for line in lines.lines() {
        let (fen, _) = line.split_once('\t').expect("a tab");
        let at = position(fen);
        // Alone, our tables know nothing where the moves left may be too few.
        let (Some(ours), Some(theirs)) = (tables.exact(&at, &mut Unwatched), syzygy.exact(&at))
        else {
            continue;
        };
        assert_eq!(ours.outcome, theirs.outcome, "{fen}");
        compared += 1;
    }
    assert!(compared > 1500, "{compared}");
    println!("{compared} positions under the fifty-move rule; 0 differences");
}

/// King and knight hold out for up to 40 moves against king and rook.
const LONG: &str = "4n3/8/3K4/8/8/8/2k5/R7 w - - 70 99";

#[test]
fn files_decide_where_the_fifty_moves_run_out() {
    let mut tables = Tables::new();
    let at = position(LONG);
    // Our own tables know mates, not the way to the next capture.
    let alone = tables.probe(&at, &mut Unwatched);
    assert!(
        matches!(alone, Some(TableResult::Win(n)) if n > 15),
        "{alone:?}"
    );
    assert_eq!(tables.exact(&at, &mut Unwatched), None);
    tables.open_larger(Some(Arc::new(syzygy(files()))));
    let exact = tables.exact(&at, &mut Unwatched).expect("by the files");
    // By DTZ as the PyPI package `chess` reads it, 24 moves to the knight.
    assert_eq!((exact.outcome, exact.by_rule), (Outcome::Draw, true));
    let early = position(&LONG.replace("70", "50"));
    let exact = tables.exact(&early, &mut Unwatched).expect("by the files");
    assert_eq!(exact.outcome, Outcome::Win);
}

#[test]
fn a_damaged_file_is_named_and_nothing_is_claimed_by_it() {
    let at = position("8/8/8/3k4/8/8/4Q3/3K4 w - - 0 1");
    let name = "KQvK.rtbw";
    let whole = files().0[name].clone();
    let cut = whole[..whole.len() / 2].to_vec();
    // A length that a file may have.
    let cut_well = whole[..(whole.len() / 64 - 1) / 2 * 64 + 16].to_vec();
    let mut foreign = whole.clone();
    foreign[0] ^= 1;
    for (bytes, kinds) in [
        (cut, vec![FileFaultKind::Length]),
        (
            cut_well,
            vec![FileFaultKind::Length, FileFaultKind::Damaged],
        ),
        (foreign, vec![FileFaultKind::Foreign]),
        (b"other".to_vec(), vec![FileFaultKind::Foreign]),
        (Vec::new(), vec![FileFaultKind::Foreign]),
    ] {
        let mut damaged = files();
        damaged.0.insert(name.to_owned(), bytes);
        let syzygy = syzygy(damaged);
        assert_eq!(syzygy.exact(&at), None);
        let fault = syzygy.faults().into_iter().find(|fault| fault.file == name);
        let kind = fault.expect("a fault").kind;
        assert!(kinds.contains(&kind), "{kind:?}, not of {kinds:?}");
        // The others still count.
        let rook = position("8/8/8/3k4/8/8/4R3/3K4 w - - 0 1");
        assert_eq!(
            syzygy.exact(&rook).map(|exact| exact.outcome),
            Some(Outcome::Win)
        );
    }
    let mut fewer = files();
    fewer.0.remove(name);
    let syzygy = syzygy(fewer);
    assert_eq!(syzygy.exact(&at), None);
    let faults = syzygy.faults();
    assert_eq!(
        (faults[0].file.as_str(), &faults[0].kind),
        (name, &FileFaultKind::Missing)
    );
}
