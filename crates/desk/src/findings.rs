//! The checker's findings as the page shows them: beside which move, together
//! with which others, and under what name.

use keyproof::check::{Finding, Kind, Weight};
use keyproof::draft::{Edit, NodeId};
use keyproof::notation::moves;
use keyproof::resolved::Resolved;
use keyproof::tongue::tr;

/// Findings of one kind at one place, to be read and mended together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Group {
    pub kind: Kind,
    pub weight: Weight,
    /// The move beside which they stand; the root for the start.
    pub at: NodeId,
    /// Places in the report, in its order.
    pub findings: Vec<usize>,
}

/// Groups a report's findings: faults first, then what is open, then remarks.
pub fn groups(findings: &[Finding], resolved: &Resolved) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for (place, finding) in findings.iter().enumerate() {
        let at = anchor(finding, resolved);
        let known = groups
            .iter_mut()
            .find(|g| g.kind == finding.kind && g.weight == finding.weight && g.at == at);
        match known {
            Some(group) => group.findings.push(place),
            None => groups.push(Group {
                kind: finding.kind,
                weight: finding.weight,
                at,
                findings: vec![place],
            }),
        }
    }
    groups.sort_by_key(|g| match g.weight {
        Weight::Fault => 0,
        Weight::Open => 1,
        Weight::Remark => 2,
    });
    groups
}

/// The move beside which a finding stands: the listed move at fault if it is
/// about one, else the move it follows.
pub fn anchor(finding: &Finding, resolved: &Resolved) -> NodeId {
    let draft = resolved.draft();
    if let [uci] = finding.moves.as_slice()
        && let Some(node) = draft.node(finding.node)
    {
        let listed = node
            .children
            .iter()
            .copied()
            .find(|&child| match resolved.step(child) {
                Some(step) => moves::uci(step.mv) == *uci,
                None => draft.node(child).is_some_and(|c| c.text == *uci),
            });
        if let Some(child) = listed {
            return child;
        }
    }
    if draft.node(finding.node).is_some() {
        finding.node
    } else {
        NodeId::ROOT
    }
}

/// The first mend of each finding of a group, in order.
pub fn all_mends(findings: &[Finding], group: &Group) -> Vec<Edit> {
    group
        .findings
        .iter()
        .filter_map(|&place| findings.get(place)?.mends.first())
        .flat_map(|mend| mend.edits.clone())
        .collect()
}

/// A kind in words, for several findings.
pub fn kind_words_many(kind: Kind) -> &'static str {
    match kind {
        Kind::IllegalMove => tr("illegal moves"),
        Kind::Cook => tr("cooks"),
        Kind::ShortSolution => tr("short solutions"),
        Kind::WorkingTry => tr("tries that work"),
        Kind::FailingRefutation => tr("refutations that fail"),
        Kind::UnansweredDefence => tr("unanswered defences"),
        Kind::FailingAnswer => tr("answers that fail"),
        Kind::UnfinishedSolution => tr("unfinished lines"),
        Kind::Dual => tr("duals"),
        Kind::RunsOn => tr("lines that run on"),
        other => other.title(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use keyproof::check::Mend;
    use keyproof::notation::pgn_read;

    fn finding(kind: Kind, weight: Weight, node: NodeId, moves: &[&str]) -> Finding {
        Finding {
            kind,
            weight,
            node,
            path: vec![],
            moves: moves.iter().map(|&m| m.into()).collect(),
            line: vec![],
            message: String::new(),
            mends: vec![Mend {
                label: String::new(),
                edits: vec![Edit::Remove { node }],
            }],
        }
    }

    #[test]
    fn a_finding_stands_beside_the_move_at_fault() {
        let draft = pgn_read::read("1. e4 e5 2. Nf3 *").remove(0).draft;
        let resolved = Resolved::of(&draft);
        let e4 = draft.walk()[0];
        let listed = finding(Kind::FailingAnswer, Weight::Fault, e4, &["e7e5"]);
        assert_eq!(anchor(&listed, &resolved), draft.walk()[1]);
        let unlisted = finding(Kind::UnansweredDefence, Weight::Fault, e4, &["c7c5"]);
        assert_eq!(anchor(&unlisted, &resolved), e4);
        let lost = finding(Kind::Cook, Weight::Fault, NodeId(99), &["c7c5"]);
        assert_eq!(anchor(&lost, &resolved), NodeId::ROOT);
    }

    #[test]
    fn like_findings_are_grouped_and_faults_come_first() {
        let draft = pgn_read::read("1. e4 *").remove(0).draft;
        let resolved = Resolved::of(&draft);
        let root = NodeId::ROOT;
        let findings = [
            finding(Kind::Dual, Weight::Remark, root, &["a2a3"]),
            finding(Kind::Cook, Weight::Fault, root, &["d2d4"]),
            finding(Kind::Cook, Weight::Fault, root, &["c2c4"]),
        ];
        let groups = groups(&findings, &resolved);
        let shape: Vec<_> = groups
            .iter()
            .map(|g| (g.kind, g.findings.clone()))
            .collect();
        assert_eq!(shape, [(Kind::Cook, vec![1, 2]), (Kind::Dual, vec![0])]);
        assert_eq!(all_mends(&findings, &groups[0]).len(), 2);
    }
}
