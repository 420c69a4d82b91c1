//! Endgame tables against published values and against tables made by others.

use keyproof::notation::fen;
use keyproof::prove::Unwatched;
use keyproof::tables::{Material, TableResult, Tables};
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
