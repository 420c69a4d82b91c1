//! Illegal position: no game can be played from the start position.

use super::{Finding, Kind, Weight, threat};
use model::draft::NodeId;
use model::notation::fen::FenFault;
use model::resolved::Resolved;
use model::tongue::{say, tr};

pub fn finding(resolved: &Resolved, fault: &FenFault) -> Finding {
    let mut message = say!(
        "The position cannot be played from: {reasons}",
        reasons = fault.reasons().join(" "),
    );
    if threat::is_asked(resolved) {
        message.push(' ');
        message.push_str(tr("Where a threat is asked for, the side that threatens is to move in the file, and the other one must not be in check: it could not pass."));
    }
    Finding {
        kind: Kind::IllegalPosition,
        weight: Weight::Fault,
        node: NodeId::ROOT,
        path: Vec::new(),
        moves: Vec::new(),
        line: Vec::new(),
        message,
        mends: Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use crate::Kind;
    use crate::trial::{kinds, report};

    #[test]
    fn all_that_is_wrong_with_a_position_is_said() {
        let report = report("[FEN \"8/8/8/8/8/8/8/K6p w - - 0 1\"]\n[Stipulation \"#1\"]\n\n*");
        assert_eq!(kinds(&report), [Kind::IllegalPosition]);
        assert!(
            report.findings[0].message.contains("king"),
            "{}",
            report.findings[0].message
        );
    }
}
