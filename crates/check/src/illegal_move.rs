//! Illegal move: a typed move that cannot be played where it stands.

use shakmaty::Position;

use super::words::path;
use super::{Finding, Kind, Mend, Weight, threat};
use model::draft::{Edit, MoveFault, NodeId};
use model::resolved::Resolved;
use model::tongue::{lettered, phrase, say, tr};

pub fn finding(resolved: &Resolved, id: NodeId, fault: &MoveFault) -> Finding {
    let node = resolved.draft().node(id);
    let (text, parent) = node.map_or(("", NodeId::ROOT), |n| (n.text.as_str(), n.parent));
    let number = resolved.position(parent).map_or(String::new(), |position| {
        format!(
            "{}{}",
            position.fullmoves(),
            if position.turn().is_white() {
                "."
            } else {
                "..."
            }
        )
    });
    let place = node.and_then(|n| n.place).map_or(String::new(), |p| {
        say!(
            " (line {line}, column {column})",
            line = p.line.to_string(),
            column = p.column.to_string(),
        )
    });
    let (said, offers) = match fault {
        MoveFault::Unreadable => (
            phrase!("{move} cannot be read as a move.", "move moves"),
            &[][..],
        ),
        MoveFault::Illegal { near } => (
            phrase!("{move} is not legal here.", "move moves"),
            near.as_slice(),
        ),
        MoveFault::Ambiguous { fits } => (
            phrase!("{move} could be {moves}.", "move moves"),
            fits.as_slice(),
        ),
    };
    let shown: Vec<String> = offers.iter().map(|san| lettered(san)).collect();
    let mut mends: Vec<Mend> = offers
        .iter()
        .take(MOST_OFFERS)
        .map(|san| Mend {
            label: say!("Read it as {move}", move = lettered(san)),
            edits: vec![Edit::SetMove {
                node: id,
                text: san.clone(),
            }],
        })
        .collect();
    if let Some(start) = resolved.position(parent).filter(|_| parent == NodeId::ROOT) {
        mends.extend(threat::mend(start).filter(|_| threat::is_asked(resolved)));
    }
    mends.push(Mend {
        label: say!("Remove {move} and what follows", move = text),
        edits: vec![Edit::Remove { node: id }],
    });
    let path = path(resolved, parent);
    Finding {
        kind: Kind::IllegalMove,
        weight: Weight::Fault,
        node: parent,
        path,
        moves: vec![text.to_owned()],
        line: Vec::new(),
        message: say!(
            said,
            move = [number.as_str(), text, &place].concat(),
            moves = shown.join(tr(" or ")),
        ),
        mends,
    }
}

/// Suggestions shown for one move, at most.
const MOST_OFFERS: usize = 3;

#[cfg(test)]
mod tests {
    use crate::trial::{kinds, mended, report};
    use crate::{Kind, Soundness};

    const ILLEGAL: &str =
        "[FEN \"6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n1. Ra9 *";
    const BLOCKED: &str =
        "[FEN \"6k1/5ppp/8/8/8/8/P7/R5K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n1. Ra8# *";
    const TWO_FAULTS: &str = "[FEN \"6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1\"]\n\n1. Rb8# (1. Kh8) *";

    #[test]
    fn an_illegal_move_is_named_with_its_place() {
        for text in [ILLEGAL, BLOCKED] {
            let report = report(text);
            assert_eq!(kinds(&report), [Kind::IllegalMove]);
            assert!(
                report.findings[0].message.contains("line 4, column 4"),
                "{}",
                report.findings[0].message
            );
        }
    }

    #[test]
    fn all_faults_of_a_draft_are_said_at_once() {
        assert_eq!(
            kinds(&report(TWO_FAULTS)),
            [
                Kind::MissingStipulation,
                Kind::IllegalMove,
                Kind::IllegalMove
            ]
        );
    }

    #[test]
    fn a_near_move_mends_it() {
        let text = "[FEN \"6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n1. Qa8# *";
        assert_eq!(mended(text, Kind::IllegalMove, 0).verdict, Soundness::Sound);
    }

    #[test]
    fn at_most_three_readings_are_offered_of_a_move_with_its_number() {
        let text = "[FEN \"6k1/5ppp/8/8/8/Q1Q5/5PPP/Q1Q3K1 w - - 0 7\"]\n[Stipulation \"#3\"]\n\n7. h3 h6 (7... Kg9) 8. Qb2 *";
        let findings = report(text).findings;
        let told = |mv: &str| {
            let mut all = findings.iter();
            all.find(|f| f.moves == [mv]).expect("a finding")
        };
        let king = told("Kg9");
        assert!(king.message.starts_with("7...Kg9 "), "{}", king.message);
        assert_eq!(king.path, ["h2h3"]);
        let queen = told("Qb2");
        assert!(queen.message.starts_with("8.Qb2 "), "{}", queen.message);
        let labels: Vec<&str> = queen.mends.iter().map(|m| m.label.as_str()).collect();
        let reads = |label: &&&str| label.starts_with("Read it as Q");
        assert_eq!(labels.iter().filter(reads).count(), 3, "{labels:?}");
        assert_eq!(labels.last(), Some(&"Remove Qb2 and what follows"));
    }
}
