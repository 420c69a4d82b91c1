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

/// Findings of one kind, wherever they stand, to be read and mended together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OfKind {
    pub kind: Kind,
    pub weight: Weight,
    /// Places in the report, in its order.
    pub findings: Vec<usize>,
}

/// All groups, those of one kind and weight as one, in their order.
pub fn by_kind(groups: &[Group]) -> Vec<OfKind> {
    let mut kinds: Vec<OfKind> = Vec::new();
    for group in groups {
        let known = kinds
            .iter_mut()
            .find(|k| k.kind == group.kind && k.weight == group.weight);
        match known {
            Some(kind) => kind.findings.extend(&group.findings),
            None => kinds.push(OfKind {
                kind: group.kind,
                weight: group.weight,
                findings: group.findings.clone(),
            }),
        }
    }
    for kind in &mut kinds {
        kind.findings.sort_unstable();
    }
    kinds
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

/// The first mend of each of these findings, in order.
pub fn all_mends(findings: &[Finding], places: &[usize]) -> Vec<Edit> {
    places
        .iter()
        .filter_map(|&place| findings.get(place)?.mends.first())
        .flat_map(|mend| mend.edits.clone())
        .collect()
}

/// What the trade's word for a kind means, in a sentence, where it is such a word.
pub fn meaning(kind: Kind) -> Option<&'static str> {
    Some(match kind {
        Kind::MissingStipulation => {
            tr("The stipulation says what the solver must do, such as mate in two moves.")
        }
        Kind::Cook => {
            tr("A cook is a first move that does what is asked as well, and is not listed.")
        }
        Kind::Dual => {
            tr("A dual is a second right move at a later turn, where one should be the answer.")
        }
        Kind::ShortSolution => tr("A short solution does what is asked in fewer moves."),
        Kind::WorkingTry => tr("A try is a tempting first move that fails."),
        Kind::FailingRefutation => tr("A refutation is the reply that makes a try fail."),
        Kind::UnansweredDefence => {
            tr("A defence is any legal reply of the other side; each needs an answer.")
        }
        _ => return None,
    })
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
        Kind::Provable => tr("proofs found"),
        Kind::UnfitQuestion => tr("questions that do not fit"),
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
        assert_eq!(all_mends(&findings, &groups[0].findings).len(), 2);
    }

    #[test]
    fn those_of_a_kind_are_one_wherever_they_stand() {
        let draft = pgn_read::read("1. e4 e5 2. Nf3 *").remove(0).draft;
        let resolved = Resolved::of(&draft);
        let [e4, e5] = [draft.walk()[0], draft.walk()[1]];
        let findings = [
            finding(Kind::Dual, Weight::Remark, e5, &["a2a3"]),
            finding(Kind::Cook, Weight::Fault, NodeId::ROOT, &["d2d4"]),
            finding(Kind::Dual, Weight::Remark, e4, &["b2b3"]),
            finding(Kind::Dual, Weight::Fault, e4, &["c2c3"]),
            finding(Kind::Dual, Weight::Remark, e5, &["g2g3"]),
        ];
        let kinds: Vec<_> = by_kind(&groups(&findings, &resolved))
            .into_iter()
            .map(|k| (k.kind, k.weight, k.findings))
            .collect();
        assert_eq!(
            kinds,
            [
                (Kind::Cook, Weight::Fault, vec![1]),
                (Kind::Dual, Weight::Fault, vec![3]),
                (Kind::Dual, Weight::Remark, vec![0, 2, 4]),
            ]
        );
    }
}
