//! A lesson on the desk: what it asks, and how each moment of it is judged and
//! mended. Where the student is asked is told by [`keyproof::lesson`].

use keyproof::resolved::Resolved;
use std::collections::{HashMap, HashSet};

use keyproof::check::{
    self, Claim, Finding, Kind, Known, Mend, Question, Report, Second, Soundness,
};
use keyproof::draft::{Draft, Edit, Node, NodeId};
use keyproof::explain::Inquiry;
use keyproof::lesson::{self, Excerpt, Moment, MomentFault};
use keyproof::puzzle::{Puzzle, Role, Stipulation};

/// A lesson, judged by what is known.
pub struct Lesson {
    /// In the order of the game; none while the tag has faults.
    pub asked: Vec<Asked>,
    /// What is wrong with the tag.
    pub faults: Vec<MomentFault>,
    /// The nodes of the game's own line.
    main: HashSet<NodeId>,
    /// The role of each move in the first question that it belongs to.
    roles: HashMap<NodeId, Role>,
}

/// A moment of a lesson.
pub struct Asked {
    pub moment: Moment,
    pub excerpt: Excerpt,
    pub report: Report,
    /// What is still to be asked.
    questions: Vec<Question>,
    /// What is still to be put to the independent checker.
    claims: Vec<Claim>,
    /// What there is to explain, once every claim is judged.
    pub inquiry: Option<Inquiry>,
}

/// Tags that hold for the whole lesson, also when a moment's mend sets them.
const SHARED: [&str; 2] = ["Uniqueness", "Defences"];

impl Lesson {
    /// The lesson that a draft is, not judged yet; `None` if it is none.
    pub fn of(resolved: &Resolved) -> Option<Lesson> {
        if !lesson::is_lesson(resolved.draft()) {
            return None;
        }
        let (listed, faults) = match lesson::moments(resolved) {
            Ok(listed) => (listed, Vec::new()),
            Err(faults) => (Vec::new(), faults),
        };
        let asked = listed.into_iter().filter_map(|moment| {
            let excerpt = lesson::excerpt(resolved, &moment)?;
            Some(Asked {
                moment,
                report: check::report(&excerpt.resolved, &Known::default()),
                excerpt,
                questions: Vec::new(),
                claims: Vec::new(),
                inquiry: None,
            })
        });
        let asked: Vec<Asked> = asked.collect();
        let mut roles = HashMap::new();
        for (node, role) in asked.iter().flat_map(Asked::roles) {
            roles.entry(node).or_insert(role);
        }
        Some(Lesson {
            asked,
            faults,
            roles,
            main: resolved.main_line().into_iter().collect(),
        })
    }
    /// The moments, in the order of the game.
    pub fn moments(&self) -> Vec<Moment> {
        self.asked.iter().map(|asked| asked.moment).collect()
    }
    /// What is asked at a node.
    pub fn at(&self, node: NodeId) -> Option<&Asked> {
        self.asked.iter().find(|asked| asked.moment.node == node)
    }
    /// Whether it can be posed to a student.
    pub fn can_be_posed(&self) -> bool {
        self.faults.is_empty() && self.asked.iter().all(|asked| asked.puzzle().is_some())
    }
    /// The role of a move in the first question that it belongs to.
    pub fn role(&self, node: NodeId) -> Option<Role> {
        self.roles.get(&node).copied()
    }
    /// Takes over the words that a node has now.
    pub fn reword(&mut self, id: NodeId, from: &Node) {
        for asked in &mut self.asked {
            let place = asked.excerpt.nodes.iter().position(|&node| node == id);
            let Some(own) = place.map(|place| NodeId(place as u32)) else {
                continue;
            };
            asked.excerpt.resolved.reword(own, from);
        }
    }
    /// What is still to be asked.
    pub fn questions(&self) -> Vec<Question> {
        let questions = self.asked.iter().flat_map(|asked| &asked.questions);
        questions.cloned().collect()
    }
    /// What is still to be put to the independent checker.
    pub fn claims(&self) -> Vec<Claim> {
        let claims = self.asked.iter().flat_map(|asked| &asked.claims);
        claims.cloned().collect()
    }
    /// Judges every moment by what is known, and the lesson with them. What is
    /// found stands at the lesson's own moves; `whole` has what is wrong with the
    /// game itself.
    pub fn judge(&mut self, draft: &Draft, mut whole: Report, known: &Known) -> Report {
        whole
            .findings
            .retain(|finding| finding.kind != Kind::MissingStipulation);
        let mut verdict = match whole.findings.is_empty() && self.faults.is_empty() {
            true => Soundness::Sound,
            false => Soundness::Unsound,
        };
        for i in 0..self.asked.len() {
            let (report, questions, claims) = self.asked[i].examine(known);
            verdict = worse(verdict, report.verdict);
            whole.second = whole.second.and(report.second.clone());
            whole.answered += report.answered;
            whole.asked += report.asked;
            for finding in &report.findings {
                let finding = self.placed(draft, &self.asked[i], finding);
                let listed = whole.findings.iter().any(|other| {
                    (other.kind, other.node, &other.message)
                        == (finding.kind, finding.node, &finding.message)
                });
                if !listed {
                    whole.findings.push(finding);
                }
            }
            let asked = &mut self.asked[i];
            let settled = report.answered == report.asked;
            let doubted = matches!(report.second, Second::Against(_));
            let puzzle = asked.puzzle().filter(|_| settled && !doubted);
            asked.inquiry = puzzle.and_then(|puzzle| Inquiry::of(puzzle, known));
            asked.report = report;
            asked.questions = questions;
            asked.claims = claims;
        }
        whole.verdict = verdict;
        whole.nodes = known.nodes();
        whole
    }
    /// The edit that makes the lesson ask something here, in the place of what
    /// it asked there before.
    pub fn ask(&self, moment: Moment) -> Edit {
        let mut all = self.moments();
        all.retain(|other| other.node != moment.node);
        all.push(moment);
        all.sort_by_key(|m| (m.place.number, m.place.side.is_black()));
        lesson::asking(&all)
    }
    /// The edit that makes the lesson ask nothing here.
    pub fn ask_not(&self, node: NodeId) -> Edit {
        let mut all = self.moments();
        all.retain(|other| other.node != node);
        lesson::asking(&all)
    }

    /// A finding of a moment's puzzle, at the lesson's own moves.
    fn placed(&self, draft: &Draft, asked: &Asked, finding: &Finding) -> Finding {
        let mends = finding.mends.iter().filter_map(|mend| {
            let edits = mend.edits.iter();
            let edits: Option<Vec<Edit>> =
                edits.map(|edit| self.edit(draft, asked, edit)).collect();
            Some(Mend {
                label: mend.label.clone(),
                edits: edits?,
            })
        });
        Finding {
            node: asked.node(finding.node).unwrap_or(asked.moment.node),
            mends: mends.collect(),
            ..finding.clone()
        }
    }
    /// An edit of a moment's puzzle as one of the lesson; `None` if it would
    /// change the game that was played.
    fn edit(&self, draft: &Draft, asked: &Asked, edit: &Edit) -> Option<Edit> {
        let node = |id: &NodeId| asked.node(*id);
        let free = |id: &NodeId| node(id).filter(|id| !self.main.contains(id));
        let parent = |id: NodeId| draft.node(id).map(|node| node.parent);
        Some(match edit {
            Edit::SetTag { name, value } if name == "Stipulation" => {
                let stipulation = Stipulation::read(value.as_deref()?)?;
                let turns = stipulation.forced().map_or(asked.moment.turns, |(_, n)| n);
                self.ask(Moment {
                    stipulation,
                    turns,
                    ..asked.moment
                })
            }
            Edit::SetTag { name, value } => Edit::SetTag {
                name: match SHARED.contains(&name.as_str()) {
                    true => name.clone(),
                    false => asked.moment.place.own_tag(name),
                },
                value: value.clone(),
            },
            Edit::SetNags { node: id, nags } => Edit::SetNags {
                node: node(id)?,
                nags: nags.clone(),
            },
            Edit::SetAfter { node: id, comments } => Edit::SetAfter {
                node: node(id)?,
                comments: comments.clone(),
            },
            Edit::SetBefore { node: id, comments } => Edit::SetBefore {
                node: node(id)?,
                comments: comments.clone(),
            },
            Edit::SetMove { node: id, text } => Edit::SetMove {
                node: free(id)?,
                text: text.clone(),
            },
            Edit::AddLine { at, moves, nags } => Edit::AddLine {
                at: node(at)?,
                moves: moves.clone(),
                nags: nags.clone(),
            },
            Edit::AddWords { at, mv, comments } => Edit::AddWords {
                at: node(at)?,
                mv: mv.clone(),
                comments: comments.clone(),
            },
            Edit::Remove { node: id } => Edit::Remove { node: free(id)? },
            Edit::RemoveAfter { node: id } => Edit::RemoveAfter { node: free(id)? },
            Edit::Shift { node: id, by } => Edit::Shift {
                node: free(id).filter(|&id| parent(id).is_some_and(|p| !self.main.contains(&p)))?,
                by: *by,
            },
            Edit::MakeMain { node: id } => Edit::MakeMain {
                node: free(id).filter(|&id| parent(id).is_some_and(|p| !self.main.contains(&p)))?,
            },
            Edit::SetStart { .. } => return None,
        })
    }
}

impl Asked {
    /// The puzzle, if it is one.
    pub fn puzzle(&self) -> Option<&Puzzle> {
        self.excerpt.resolved.puzzle().ok()
    }
    /// The report by what is known, what is still to be asked, and what is still
    /// to be put to the checker.
    fn examine(&self, known: &Known) -> (Report, Vec<Question>, Vec<Claim>) {
        match self.puzzle() {
            Some(puzzle) => {
                let examined = check::examine(puzzle, known);
                (examined.report, examined.questions, examined.claims)
            }
            None => {
                let report = check::report(&self.excerpt.resolved, known);
                (report, Vec::new(), Vec::new())
            }
        }
    }
    /// The lesson's moves that are more than an aside here.
    fn roles(&self) -> impl Iterator<Item = (NodeId, Role)> {
        let moves = self.excerpt.nodes.iter().enumerate().skip(1);
        moves.filter_map(|(own, &node)| {
            let role = self.puzzle()?.node(NodeId(own as u32)).role;
            (role != Role::Aside).then_some((node, role))
        })
    }
    /// The lesson's node of a node of the puzzle.
    fn node(&self, id: NodeId) -> Option<NodeId> {
        self.excerpt.nodes.get(id.0 as usize).copied()
    }
}

/// Whether a tag is one moment's own.
pub fn belongs_to_a_moment(name: &str) -> bool {
    let place = name.rsplit_once('_').map_or("", |(_, place)| place);
    let number = place.strip_suffix(['w', 'b']);
    number.is_some_and(|n| !n.is_empty() && n.chars().all(|c| c.is_ascii_digit()))
}

/// Whether nothing is asked of a draft.
pub fn asks_nothing(draft: &Draft) -> bool {
    let set = |tag| draft.tag(tag).is_some_and(|text| !text.trim().is_empty());
    !set("Stipulation") && !set(lesson::TAG)
}

/// Whether a draft is a game from its first move of which nothing is asked.
pub fn is_bare_game(draft: &Draft) -> bool {
    asks_nothing(draft) && draft.start_fen().is_none()
}

fn worse(a: Soundness, b: Soundness) -> Soundness {
    match (a, b) {
        (Soundness::Unsound, _) | (_, Soundness::Unsound) => Soundness::Unsound,
        (Soundness::Undecided, _) | (_, Soundness::Undecided) => Soundness::Undecided,
        _ => Soundness::Sound,
    }
}
