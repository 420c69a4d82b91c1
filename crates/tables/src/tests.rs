use shakmaty::{CastlingMode, fen::Fen, san::San};

use super::*;
use prove::Unwatched;

fn position(fen: &str) -> Chess {
    fen.parse::<Fen>()
        .expect("FEN")
        .into_position(CastlingMode::Standard)
        .expect("legal")
}

fn longest(tables: &mut Tables, name: &str) -> [Option<u16>; 2] {
    let material = Material::read(name).expect("a material");
    assert!(tables.make(material, &mut Unwatched));
    tables.content(material).expect("made").longest
}

#[test]
fn longest_mates_of_three_men() {
    // Source: published distances to mate (endgame literature): queen 10,
    // rook 16, pawn 28 moves.
    let mut tables = Tables::new();
    assert_eq!(longest(&mut tables, "KQK"), [Some(10), None]);
    assert_eq!(longest(&mut tables, "KRK"), [Some(16), None]);
    assert_eq!(longest(&mut tables, "KPK"), [Some(28), None]);
}

#[test]
fn results_are_told_from_the_side_to_move() {
    let mut tables = Tables::new();
    let mut ask = |fen: &str| tables.probe(&position(fen), &mut Unwatched);
    // Mate on the board, mate in one, and the same with colours exchanged.
    assert_eq!(
        ask("R5k1/8/6K1/8/8/8/8/8 b - - 0 1"),
        Some(TableResult::Loss(0))
    );
    assert_eq!(
        ask("6k1/8/6K1/8/8/8/8/R7 w - - 0 1"),
        Some(TableResult::Win(1))
    );
    assert_eq!(
        ask("r7/8/8/8/8/6k1/8/6K1 b - - 0 1"),
        Some(TableResult::Win(1))
    );
    // Stalemate; a pawn that is held; men that cannot mate.
    assert_eq!(
        ask("7k/5Q2/6K1/8/8/8/8/8 b - - 0 1"),
        Some(TableResult::Draw)
    );
    assert_eq!(
        ask("8/8/8/3k4/3P4/3K4/8/8 w - - 0 1"),
        Some(TableResult::Draw)
    );
    assert_eq!(
        ask("8/8/8/3k4/3N4/3K4/8/8 w - - 0 1"),
        Some(TableResult::Draw)
    );
    // Five men, and a right to castle.
    assert_eq!(ask("8/8/8/3k4/3NN3/3KB3/8/8 w - - 0 1"), None);
    assert_eq!(ask("8/8/8/3k4/8/8/8/R3K3 w Q - 0 1"), None);
}

#[test]
fn moves_come_best_first() {
    // f8=Q stalemates; the rook mates in two.
    let at = position("8/5P1k/5K2/8/8/8/8/8 w - - 0 1");
    let moves = Tables::new()
        .best_moves(&at, &mut Unwatched)
        .expect("three men");
    assert_eq!(moves.len(), at.legal_moves().len());
    assert_eq!(San::from_move(&at, moves[0].0).to_string(), "f8=R");
    assert_eq!(moves[0].1, TableResult::Win(2));
    let queen = moves
        .iter()
        .find(|(m, _)| San::from_move(&at, *m).to_string() == "f8=Q");
    assert_eq!(queen.map(|(_, result)| *result), Some(TableResult::Draw));
}

#[test]
fn bytes_give_the_same_table_and_damage_is_noticed() {
    let mut tables = Tables::new();
    longest(&mut tables, "KPK");
    let material = Material::read("KPK").expect("a material");
    let bytes = tables.save(material).expect("made");
    let mut again = Tables::new();
    assert_eq!(again.load(&bytes), Ok(material));
    assert_eq!(again.save(material).as_ref(), Some(&bytes));
    assert!(again.shelf[&material].values == tables.shelf[&material].values);
    for at in [30, bytes.len() / 2, bytes.len() - 1] {
        let mut damaged = bytes.clone();
        damaged[at] ^= 4;
        assert_eq!(again.load(&damaged), Err(LoadFault::Damaged));
    }
    assert_eq!(
        again.load(&bytes[..bytes.len() - 1]),
        Err(LoadFault::Damaged)
    );
    assert_eq!(again.load(b"else"), Err(LoadFault::Foreign));
}

#[test]
fn numbers_and_positions_match() {
    for name in ["KQK", "KPK", "KQKR", "KNNK", "KPKP", "KPPK", "KQKP"] {
        let layout = layout::Layout::new(Material::read(name).expect("a material"));
        for index in (0..layout.entries()).step_by(37) {
            for turn in Color::ALL {
                let Some((squares, passing)) = layout.squares(index, turn) else {
                    continue;
                };
                let back = if passing {
                    layout.index_passing(&squares, turn)
                } else {
                    layout.index(&squares)
                };
                let unsorted = layout.twins && squares[2] > squares[3];
                assert!(back == index || unsorted, "{name} {index}");
            }
        }
    }
}

#[test]
fn names_are_read_either_way_round() {
    let show = |name| Material::read(name).map(|m| m.to_string());
    assert_eq!(show("KRKQ").as_deref(), Some("KQKR"));
    assert_eq!(show("KNBK").as_deref(), Some("KBNK"));
    assert_eq!(show("KKP").as_deref(), Some("KPK"));
    assert_eq!(Material::all().len(), 35);
    for bad in ["", "QK", "KQ", "KQQKR", "KXK", "kqk"] {
        assert_eq!(show(bad), None, "{bad}");
    }
}

#[test]
fn the_making_can_be_stopped() {
    struct Stop;
    impl Watch for Stop {
        fn go_on(&mut self, _: u64, share: f32) -> bool {
            assert!((0.0..=1.0).contains(&share));
            false
        }
    }
    let mut tables = Tables::new();
    assert_eq!(
        tables.probe(&position("8/8/8/3k4/8/8/2R5/3K4 w - - 0 1"), &mut Stop),
        None
    );
    assert_eq!(tables.materials().count(), 0);
}
