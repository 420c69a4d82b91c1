use super::*;
use model::notation::{fen, moves};
use prove::Unwatched;
use prove::gain::EVERYTHING;

fn threats(position: &str) -> Threats {
    let position = fen::read(position).unwrap();
    let threats = Analyst::new(4 << 20).threats(&position, &mut Unwatched);
    if let Threats::Shown { from, threats, .. } = &threats {
        for threat in threats {
            let mut at = (**from).clone();
            for &mv in &threat.line {
                assert!(at.is_legal(mv), "{threat:?}");
                at.play_unchecked(mv);
            }
            if let ThreatKind::Mate(_) = threat.kind {
                assert!(at.is_checkmate(), "{threat:?}");
            }
        }
    }
    threats
}

#[test]
fn a_threat_of_mate_is_exact() {
    let threats = threats("6k1/5ppp/8/8/8/8/7P/3R2K1 b - - 0 1");
    assert_eq!(threats.sentence(), "The threat: 2.Rd8#.");
    assert_eq!(threats.all()[0].evidence, Evidence::Proved);
}

#[test]
fn nothing_is_threatened_in_check() {
    let threats = threats("3R2k1/5pp1/7p/8/8/8/7P/6K1 b - - 0 1");
    assert_eq!(threats, Threats::InCheck);
    assert!(threats.sentence().contains("in check"));
}

#[test]
fn nothing_is_threatened_when_the_game_is_over() {
    let mated = threats("3R2k1/5ppp/8/8/8/8/7P/6K1 b - - 0 1");
    assert_eq!(mated, Threats::None);
    assert!(mated.sentence().contains("over"));
}

#[test]
fn en_passant_is_no_threat_of_the_side_that_just_pushed() {
    let threats = threats("4k3/p7/p7/8/3pP3/8/P7/4K3 b - e3 0 1");
    assert!(
        threats.all().iter().all(|t| !t.line[0].is_en_passant()),
        "{threats:?}"
    );
}

#[test]
fn two_threats_are_told_together() {
    let threats = threats("r4rk1/1p3ppp/8/n7/1P4b1/7P/P4PP1/R4RK1 b - - 0 1");
    assert_eq!(threats.all().len(), 2);
    assert!(
        threats.sentence().starts_with("Two threats: 2."),
        "{}",
        threats.sentence()
    );
    let kinds: Vec<ThreatKind> = threats.all().iter().map(|t| t.kind).collect();
    assert!(kinds.contains(&ThreatKind::Wins(Role::Knight)));
    assert!(kinds.contains(&ThreatKind::Wins(Role::Bishop)));
}

/// The queen mates on h7, and the knight hangs.
#[test]
fn a_mate_and_a_gain_are_told_side_by_side() {
    let threats = threats("5rk1/5ppp/8/n7/1P6/3Q4/5PPP/1B4K1 b - - 0 1");
    let all: Vec<(ThreatKind, u8)> = threats.all().iter().map(|t| (t.kind, t.net)).collect();
    let wanted = [
        (ThreatKind::Mate(1), EVERYTHING),
        (ThreatKind::Wins(Role::Knight), 3),
    ];
    assert_eq!(all, wanted, "{threats:?}");
}

#[test]
fn a_pawn_that_will_promote_is_a_threat() {
    let threats = threats("6k1/5ppp/8/8/8/8/p4PPP/3K4 w - - 0 1");
    let kinds: Vec<ThreatKind> = threats.all().iter().map(|t| t.kind).collect();
    assert_eq!(kinds, [ThreatKind::Promotes], "{threats:?}");
    assert_eq!(threats.sentence(), "The threat: 1...a1=Q+ promotes.");
}

/// Both the bishop and the knight hang. A move that waits for either gains as well,
/// since one reply cannot save both, and is no third threat.
#[test]
fn a_move_that_waits_for_what_hangs_is_no_threat() {
    let threats = threats("r4rk1/1p3ppp/8/n7/1P4b1/7P/P4PP1/R4RK1 b - - 0 1");
    let Threats::Shown {
        threats, replies, ..
    } = &threats
    else {
        panic!("{threats:?}");
    };
    assert_eq!(threats.len(), 2);
    let both: Vec<String> = replies
        .iter()
        .filter(|reply| reply.stands == [false, false])
        .map(|reply| moves::uci(reply.mv))
        .collect();
    // The knight shields the bishop's pawn; the bishop takes a rook for the knight.
    assert_eq!(both, ["a5b3", "g4e2"]);
    assert!(replies.iter().any(|reply| reply.stands == [true, false]));
    assert!(replies.iter().any(|reply| reply.stands == [false, true]));
}

/// The knight takes a rook that is guarded: the exchange, and no more.
#[test]
fn the_exchange_is_told_as_what_it_is() {
    let threats = threats("3r2k1/5ppp/3r4/8/4N3/8/5PPP/6K1 b - - 0 1");
    let kinds: Vec<(ThreatKind, u8)> = threats.all().iter().map(|t| (t.kind, t.net)).collect();
    assert_eq!(kinds, [(ThreatKind::WinsExchange, 2)], "{threats:?}");
}

/// Pawns cover b3 and c4, the knight's own men hold b7 and c6.
#[test]
fn a_piece_about_to_be_trapped_is_named() {
    let threats = threats("r4rk1/1p3ppp/2p5/n7/8/3P4/PP3PPP/R4RK1 b - - 0 1");
    assert_eq!(
        threats.all().first().map(|t| t.kind),
        Some(ThreatKind::Traps(Role::Knight)),
        "{threats:?}"
    );
    assert_eq!(threats.sentence(), "The threat: 2.b4 traps the knight.");
    let line = &threats.all()[0].line;
    assert!(line.len() == 3 && line[2].capture() == Some(Role::Knight));
}

#[test]
fn a_guarded_man_is_not_threatened() {
    let threats = threats("r4rk1/pp3ppp/2n5/8/4N3/8/PP3PPP/2R2RK1 b - - 0 1");
    assert_eq!(threats.sentence(), "Nothing is threatened.");
}

fn told(position: &str) -> Vec<(String, ThreatKind, u8)> {
    let told = threats(position);
    let told = told.all().iter();
    told.map(|t| (moves::uci(t.line[0]), t.kind, t.net))
        .collect()
}

fn is_told(position: &str, wanted: &[(&str, ThreatKind, u8)]) {
    let wanted: Vec<(String, ThreatKind, u8)> = wanted
        .iter()
        .map(|&(mv, kind, net)| (mv.to_owned(), kind, net))
        .collect();
    assert_eq!(told(position), wanted, "{position}");
}

#[test]
fn a_threat_of_mate_hides_no_hanging_queen() {
    is_told(
        "5rk1/pp3ppp/2n5/2q5/1P6/3Q4/P1B2PPP/6K1 b - - 0 1",
        &[
            ("d3h7", ThreatKind::Mate(1), EVERYTHING),
            ("b4c5", ThreatKind::Wins(Role::Queen), 9),
        ],
    );
}

#[test]
fn a_queen_won_by_a_man_that_is_taken_is_won() {
    is_told(
        "3r2k1/5ppp/3q4/8/5B2/8/5PPP/6K1 b - - 0 1",
        &[("f4d6", ThreatKind::Wins(Role::Queen), 6)],
    );
}

/// The knight hangs, and the pawn will trap the bishop, for which it is given.
#[test]
fn a_quiet_threat_is_told_beside_a_greater_one() {
    is_told(
        "r4rk1/pp3ppp/6b1/2n5/1P3PP1/8/P1P4P/R4RK1 b - - 0 1",
        &[
            ("b4c5", ThreatKind::Wins(Role::Knight), 2),
            ("f4f5", ThreatKind::Traps(Role::Bishop), 2),
        ],
    );
}

/// The fork nets what it wins by itself, and not the bishop that hangs.
#[test]
fn a_fork_to_come_is_told_with_what_it_wins_by_itself() {
    let position = "2r1k3/pp3p1p/8/8/4N1b1/7P/PPP2PP1/6K1 b - - 0 1";
    let told = told(position);
    assert!(
        told.contains(&("e4d6".to_owned(), ThreatKind::WinsExchange, 2)),
        "{told:?}"
    );
    assert!(
        threats(position)
            .sentence()
            .contains("2.Nd6+ wins the exchange"),
        "{}",
        threats(position).sentence()
    );
}

/// The knight that takes is the bishop's guard.
#[test]
fn what_is_taken_back_is_no_threat() {
    is_told(
        "3r2k1/5ppp/8/4n3/8/5N1P/5PP1/6K1 b - - 0 1",
        &[("f3e5", ThreatKind::Wins(Role::Knight), 3)],
    );
    let guarding = told("3r2k1/5ppp/8/4n3/8/5N1P/3B1PP1/6K1 b - - 0 1");
    assert!(guarding.iter().all(|(mv, ..)| mv != "f3e5"), "{guarding:?}");
}

/// The rook is needed on the last rank.
#[test]
fn a_gain_that_allows_mate_is_no_threat() {
    is_told("3r2k1/1p3ppp/8/8/8/1R6/5PPP/6K1 b - - 0 1", &[]);
    is_told(
        "3r2k1/1p3ppp/8/8/8/1R5P/5PP1/6K1 b - - 0 1",
        &[("b3b7", ThreatKind::Wins(Role::Pawn), 1)],
    );
}

/// After 1...Nd2 the rook takes the knight: that is no threat of the pawn's, but it is
/// said of the reply, which parries the mate.
#[test]
fn what_a_reply_loses_by_itself_is_no_threat() {
    let position = "6k1/pp3ppp/8/8/2n5/8/PP3PPP/3R2K1 b - - 0 1";
    is_told(position, &[("d1d8", ThreatKind::Mate(1), EVERYTHING)]);
    let Threats::Shown { replies, .. } = threats(position) else {
        panic!("threats are shown");
    };
    let loses = |uci: &str| {
        let reply = replies.iter().find(|reply| moves::uci(reply.mv) == uci);
        reply.map(|reply| (reply.stands[0], reply.loses))
    };
    assert_eq!(loses("c4d2"), Some((false, true)));
    assert_eq!(loses("h7h6"), Some((false, false)));
    assert_eq!(loses("a7a6"), Some((true, false)));
}

#[test]
fn quiet_threats_are_told() {
    // Castling attacks king and rook.
    is_told(
        "3k4/1p3ppp/8/8/8/8/1r3PPP/R3K3 b Q - 0 1",
        &[("e1c1", ThreatKind::Wins(Role::Rook), 5)],
    );
    // A pawn runs.
    is_told(
        "6k1/8/1P1p4/8/8/3P4/5KPP/8 b - - 0 1",
        &[("b6b7", ThreatKind::Promotes, 8)],
    );
    // A pinned knight.
    is_told(
        "3r2k1/1p3ppp/p2n4/8/2P5/8/3R1PPP/6K1 b - - 0 1",
        &[("c4c5", ThreatKind::Wins(Role::Knight), 3)],
    );
    // A pawn forks.
    is_told(
        "r4rk1/ppp2ppp/8/2b1n3/8/2PP4/PP2BPPP/R4RK1 b - - 0 1",
        &[("d3d4", ThreatKind::Wins(Role::Bishop), 2)],
    );
    // A mate, and a pawn that runs.
    is_told(
        "6k1/5ppp/2P5/8/8/1n6/5PPP/3R2K1 b - - 0 1",
        &[
            ("d1d8", ThreatKind::Mate(1), EVERYTHING),
            ("c6c7", ThreatKind::Promotes, 8),
        ],
    );
}

/// What the other side then throws in is not what was won: 2.Qxb6 g1=Q+ 3.Bxg1.
#[test]
fn what_is_taken_first_is_what_is_won() {
    let told = told("5k2/1n2pp1R/1r4Q1/P4p2/4pP1n/1bP5/5Bp1/2K5 b - - 0 1");
    let kinds: Vec<ThreatKind> = told.iter().map(|(_, kind, _)| *kind).collect();
    assert_eq!(kinds[0], ThreatKind::Mate(1), "{told:?}");
    assert_eq!(kinds[1], ThreatKind::Wins(Role::Rook), "{told:?}");
}
