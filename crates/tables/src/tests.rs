use prove::Unwatched;
use prove::corpus::Seeded;
use shakmaty::{Bitboard, CastlingMode, FromSetup, PositionError, Setup, Square};
use shakmaty::{fen::Fen, san::San};

use super::layout::Values;
use super::*;

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
    assert_eq!(again.load(bytes.clone()), Ok(material));
    assert_eq!(again.save(material).as_ref(), Some(&bytes));
    let unpacked = again.shelf[&material].unpacked().expect("whole");
    let values = |table: &Table| match &table.values {
        Values::Whole(values) => values.clone(),
        Values::Packed(_) => panic!("packed"),
    };
    assert!(values(&unpacked) == values(&tables.shelf[&material]));
    for at in [30, bytes.len() / 2, bytes.len() - 1] {
        let mut damaged = bytes.clone();
        damaged[at] ^= 4;
        assert_eq!(again.load(damaged), Err(LoadFault::Damaged));
    }
    assert_eq!(
        again.load(bytes[..bytes.len() - 1].to_vec()),
        Err(LoadFault::Damaged)
    );
    assert_eq!(again.load(b"else".to_vec()), Err(LoadFault::Foreign));
}

#[test]
fn numbers_and_positions_match() {
    for name in ["KQK", "KPK", "KQKR", "KNNK", "KPKP", "KPPK", "KQKP"] {
        let layout = layout::Layout::new(Material::read(name).expect("a material"));
        let mut legal = 0;
        for (pair, first) in layout.each_row() {
            let row = layout.row(pair, first);
            assert_eq!(layout.legal(pair, first).len(), 2);
            for last in Bitboard(layout.legal(pair, first)[0]) {
                let places = layout::Places {
                    kings: layout.pairs[pair],
                    first,
                    last: last as u8,
                };
                legal += 1;
                assert_eq!(layout.index(&places), Some(row * 64 + last as usize));
            }
        }
        assert!(legal * 4 > layout.entries(), "{name}: {legal}");
    }
}

/// A legal position of a material, either colour the stronger one, now and
/// then with a pawn to be taken en passant.
fn some_position(material: Material, random: &mut Seeded) -> Chess {
    loop {
        let mut setup = Setup::empty();
        let swapped = random.below(2) == 1;
        for mut piece in material.pieces() {
            if swapped {
                piece.color = !piece.color;
            }
            let square = Square::new(random.below(64) as u32);
            setup.board.set_piece_at(square, piece);
        }
        setup.turn = [Color::White, Color::Black][random.below(2)];
        let mut pawns = setup.board.pawns() & setup.board.by_color(!setup.turn);
        setup.ep_square = pawns
            .pop_front()
            .and_then(|pawn| pawn.offset(setup.turn.fold_wb(8, -8)))
            .filter(|_| random.below(2) == 1);
        if setup.board.occupied().count() != material.pieces().len() {
            continue;
        }
        let position = Chess::from_setup(setup, CastlingMode::Standard)
            .or_else(PositionError::ignore_invalid_ep_square);
        if let Ok(position) = position {
            return position;
        }
    }
}

#[test]
fn each_result_follows_from_those_after_the_moves() {
    // Against the rules library's moves, here and after each of them.
    let mut tables = Tables::new();
    let mut random = Seeded::new(14);
    for material in Material::all() {
        assert!(tables.make(material, &mut Unwatched));
        for _ in 0..2000 {
            let at = some_position(material, &mut random);
            let found = tables.made(&at).expect("made");
            let moves = tables.best_moves(&at, &mut Unwatched).expect("made");
            let expected = match moves.first() {
                Some(&(_, best)) => best,
                None if at.is_check() => TableResult::Loss(0),
                None => TableResult::Draw,
            };
            assert_eq!(
                found,
                expected,
                "{}",
                Fen::from_position(&at, EnPassantMode::Legal)
            );
        }
    }
}

#[test]
fn men_that_cannot_mate_draw() {
    let mut tables = Tables::new();
    for name in ["KNK", "KBK"] {
        assert_eq!(longest(&mut tables, name), [None, None]);
    }
    assert_eq!(
        tables.made(&position("8/8/8/3k4/8/8/8/4K3 b - - 0 1")),
        Some(TableResult::Draw)
    );
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

/// Keeps what an [`InMemory`] keeps, and remembers what was refused.
#[derive(Clone, Default)]
struct Watched {
    kept: Arc<InMemory>,
    refused: Arc<Mutex<Vec<(Material, LoadFault)>>>,
}

impl Keeper for Watched {
    fn fetch(&self, material: Material) -> Option<Vec<u8>> {
        self.kept.fetch(material)
    }

    fn refused(&self, material: Material, fault: LoadFault) {
        locked(&self.refused).push((material, fault));
        self.kept.refused(material, fault);
    }

    fn keep(&self, made: Made) {
        self.kept.keep(made);
    }
}

#[test]
fn what_is_kept_is_not_made_again_unless_it_is_damaged() {
    let keeper = Watched::default();
    let fresh = || Tables::kept_by(Box::new(keeper.clone()));
    let (pawn, queen) = (Material::read("KPK"), Material::read("KQK"));
    let (pawn, queen) = (pawn.expect("a material"), queen.expect("a material"));

    let mut first = fresh();
    assert!(first.make(pawn, &mut Unwatched));
    assert_eq!(first.made_anew().last(), Some(&pawn));

    // The second fetches what it is asked for, and no more.
    let mut second = fresh();
    assert!(second.make(pawn, &mut Unwatched));
    assert_eq!(second.made_anew(), []);
    assert_eq!(second.materials().collect::<Vec<_>>(), [pawn]);
    assert_eq!(second.save(pawn), first.save(pawn));

    let whole = keeper.fetch(pawn).expect("kept");
    let queens = keeper.fetch(queen).expect("kept");
    for (bytes, fault) in [
        (&whole[..whole.len() / 2], LoadFault::Damaged),
        (b"else", LoadFault::Foreign),
        (&queens, LoadFault::Foreign),
    ] {
        locked(&keeper.kept.kept).insert(pawn, bytes.to_vec());
        let mut again = fresh();
        assert!(again.make(pawn, &mut Unwatched));
        assert_eq!(again.made_anew(), [pawn]);
        assert_eq!(locked(&keeper.refused).pop(), Some((pawn, fault)));
        assert_eq!(keeper.fetch(pawn).as_ref(), Some(&whole));
    }
}

#[test]
fn clones_share_what_one_of_them_makes() {
    let mut one = Tables::new();
    let mut other = one.clone();
    longest(&mut one, "KRK");
    assert_eq!(other.materials().count(), 0);
    longest(&mut other, "KRK");
    assert_eq!(other.made_anew(), one.made_anew());
    assert_eq!(one.made_anew().len(), 1);
}
