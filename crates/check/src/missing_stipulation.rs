//! Stipulation missing: the puzzle does not say what the solver must do, or
//! says it in words that Keyproof does not know.

use shakmaty::Position;

use super::{Finding, Kind, Mend, Weight};
use model::aim::Gain;
use model::draft::{Edit, NodeId};
use model::resolved::Resolved;
use model::tongue::{phrase, say, tr};

/// `unknown` is the text that was given, if any.
pub fn finding(resolved: &Resolved, unknown: Option<&str>) -> Finding {
    let message = match unknown {
        None => tr("The stipulation is missing: say in how many moves there is mate.").to_owned(),
        Some(text) if text.trim_start().to_lowercase().starts_with("gain") => say!(
            "The stipulation “{stipulation}” cannot be asked; write gain 9 in 2 to win the queen in two moves: 1 to {k} pawns, in 1 to {n} moves.",
            stipulation = text,
            k = Gain::MOST.to_string(),
            n = Gain::MOST_MOVES.to_string(),
        ),
        Some(text) => say!(
            "The stipulation “{stipulation}” is not known; write #2 for mate in two.",
            stipulation = text,
        ),
    };
    let mend = |n: usize| Mend {
        label: say!(
            match n {
                1 => phrase!("Mate in one", "n"),
                _ => phrase!("Mate in {n}", "n"),
            },
            n = n.to_string(),
        ),
        edits: vec![Edit::SetTag {
            name: "Stipulation".to_owned(),
            value: Some(format!("#{n}")),
        }],
    };
    let mends = match main_line(resolved) {
        (n, true) => vec![mend(n)],
        (n, false) => (n.max(1)..=n.max(1) + 2).map(mend).collect(),
    };
    Finding {
        kind: Kind::MissingStipulation,
        weight: Weight::Fault,
        node: NodeId::ROOT,
        path: Vec::new(),
        moves: Vec::new(),
        line: Vec::new(),
        message,
        mends,
    }
}

/// How many moves the solver makes in the main line, and whether it ends in
/// mate.
fn main_line(resolved: &Resolved) -> (usize, bool) {
    let mut at = NodeId::ROOT;
    let mut plies = 0;
    while let Some(&child) = resolved.draft().node(at).and_then(|n| n.children.first()) {
        at = child;
        plies += 1;
    }
    let mates = resolved.position(at).is_some_and(|p| p.is_checkmate());
    (plies / 2 + plies % 2, mates)
}

#[cfg(test)]
mod tests {
    use crate::trial::{kinds, mended, report};
    use crate::{Kind, Soundness};

    const MATES: &str = "[FEN \"6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1\"]\n\n1. Ra8# *";
    const UNKNOWN: &str =
        "[FEN \"6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1\"]\n[Stipulation \"soon\"]\n\n1. Ra8# *";

    #[test]
    fn a_gain_that_cannot_be_asked_is_told_its_bounds() {
        for gain in ["gain 0 in 2", "gain 60 in 2", "gain 9 in 0", "gain 9 in 20"] {
            let found = report(&UNKNOWN.replace("soon", gain)).findings.remove(0);
            assert_eq!(found.kind, Kind::MissingStipulation);
            assert!(
                found.message.contains("1 to 39 pawns, in 1 to 10 moves"),
                "{}",
                found.message
            );
        }
    }

    #[test]
    fn the_main_line_tells_what_is_meant() {
        for text in [MATES, UNKNOWN] {
            assert_eq!(kinds(&report(text)), [Kind::MissingStipulation]);
            assert_eq!(
                mended(text, Kind::MissingStipulation, 0).verdict,
                Soundness::Sound
            );
        }
        let unknown = &report(UNKNOWN).findings[0].message;
        assert!(unknown.contains("“soon” is not known"), "{unknown}");
    }

    #[test]
    fn without_a_mate_lengths_from_that_of_the_line_on_are_offered() {
        let offered = |moves: &str| -> Vec<String> {
            let text = format!("[FEN \"6k1/5p1p/8/8/8/8/8/R5K1 w - - 0 1\"]\n\n{moves} *");
            let finding = report(&text).findings.remove(0);
            finding.mends.into_iter().map(|mend| mend.label).collect()
        };
        let from_one = ["Mate in one", "Mate in 2", "Mate in 3"];
        assert_eq!(offered(""), from_one);
        assert_eq!(offered("1. Kg2 h6"), from_one);
        assert_eq!(
            offered("1. Kg2 h6 2. Kg1"),
            ["Mate in 2", "Mate in 3", "Mate in 4"]
        );
    }
}
