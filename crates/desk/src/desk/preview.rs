//! What stands beside the work: the student's page, kept up to date, and a
//! finding pointed at, on the board.

use std::rc::Rc;

use keyproof::draft::NodeId;
use keyproof::marks::{LineKind, Mark};
use keyproof::notation::moves;
use keyproof::notation::moves::landing;
use shakmaty::{Move, Position};

use super::Desk;
use crate::message::{Effect, GiveOutMsg, Msg, Purpose, Width};
use crate::work::Sheet;

/// Milliseconds from a change to the preview of it.
const PREVIEW_PACE: u32 = 600;

/// The preview's width, and what it shows or is about to show.
#[derive(Default)]
pub(super) struct PreviewPane {
    pub width: Width,
    of: Option<Rc<Sheet>>,
    token: u32,
    /// A finding, by its place in the report.
    pub pointed: Option<usize>,
}

impl Desk {
    pub fn preview_width(&self) -> Width {
        self.giving_out.preview_pane.width
    }
    /// Whether the preview lies over all of the desk.
    pub fn is_covered(&self) -> bool {
        self.preview().is_some() && self.guide().is_none() && self.preview_width() == Width::Desk
    }
    /// Asks for the preview anew, a moment after the open puzzle changed.
    pub(super) fn preview_on(&mut self) -> Vec<Effect> {
        let open = self.document.work.opened().cloned();
        let same = match (&open, &self.giving_out.preview_pane.of) {
            (Some(open), Some(of)) => Rc::ptr_eq(open, of),
            (open, of) => open.is_none() && of.is_none(),
        };
        if same {
            return vec![];
        }
        self.giving_out.preview_pane.of = open;
        self.giving_out.preview_pane.token += 1;
        match self.giving_out.preview.is_some() {
            true => vec![Effect::After(
                PREVIEW_PACE,
                Msg::GiveOut(GiveOutMsg::PreviewDue(self.giving_out.preview_pane.token)),
            )],
            false => vec![],
        }
    }
    pub(super) fn preview_due(&mut self, token: u32) -> Vec<Effect> {
        let can = |desk: &Desk| desk.opened().is_some_and(|(_, model)| model.can_be_posed());
        match self.giving_out.preview.is_some()
            && token == self.giving_out.preview_pane.token
            && can(self)
        {
            true if self.giving_out.preparing.is_none() => self.fetch(Purpose::Preview),
            true => vec![Effect::After(
                PREVIEW_PACE,
                Msg::GiveOut(GiveOutMsg::PreviewDue(token)),
            )],
            false => vec![],
        }
    }
    /// The finding pointed at: the position it is about, and its moves as lines on
    /// the board, the first solid, the reply dashed.
    pub fn pointed(&self) -> Option<(NodeId, Vec<Mark>)> {
        let (_, model) = self.opened().filter(|_| self.board.showing.is_none())?;
        let finding = model
            .report
            .findings
            .get(self.giving_out.preview_pane.pointed?)?;
        let mut position = model.position(finding.node)?.clone();
        let mut marks = Vec::new();
        let shown = match finding.line.is_empty() {
            true => &finding.moves[..finding.moves.len().min(1)],
            false => &finding.line[..finding.line.len().min(2)],
        };
        for (text, kind) in shown.iter().zip([LineKind::Answer, LineKind::Try]) {
            let Ok(mv) = moves::read(&position, text) else {
                break;
            };
            marks.extend(mark(mv, kind));
            position.play_unchecked(mv);
        }
        Some((finding.node, marks))
    }
}

fn mark(mv: Move, kind: LineKind) -> Option<Mark> {
    let (from, to) = (mv.from()?, landing(mv));
    Some(Mark::Line { from, to, kind })
}

#[cfg(test)]
mod tests {
    use super::super::tests::{bring, desk, run};
    use super::*;
    use crate::message::EditMsg;

    const COOKED: &str =
        "[FEN \"7k/8/8/8/8/8/R7/1R2K3 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Ra7 Kg8 2. Rb8# *\n";

    #[test]
    fn a_finding_pointed_at_is_shown_where_it_stands() {
        let mut desk = desk();
        bring(&mut desk, COOKED);
        assert!(desk.pointed().is_none());
        run(&mut desk, Msg::GiveOut(GiveOutMsg::Point(Some(0))));
        let (node, marks) = desk.pointed().expect("a finding");
        let (_, model) = desk.opened().unwrap();
        assert_eq!(node, model.report.findings[0].node);
        let first = &model.report.findings[0].line[0];
        let Mark::Line { from, to, .. } = marks[0] else {
            panic!("a line")
        };
        assert_eq!(format!("{from}{to}"), *first);
        run(&mut desk, Msg::GiveOut(GiveOutMsg::Point(None)));
        assert!(desk.pointed().is_none());
    }

    #[test]
    fn a_finding_without_moves_shows_the_position_it_is_about() {
        let mut desk = desk();
        bring(&mut desk, "1. e4 e5 2. Ke3 *");
        run(&mut desk, Msg::GiveOut(GiveOutMsg::Point(Some(0))));
        let (node, marks) = desk.pointed().expect("a finding");
        let (sheet, model) = desk.opened().unwrap();
        let before = sheet.draft.node(node).unwrap();
        assert_eq!((before.text.as_str(), marks.len()), ("e5", 0));
        assert!(model.position(node).is_some());
    }

    #[test]
    fn the_preview_follows_the_work_a_moment_later() {
        let due = |effects: &[Effect]| {
            effects.iter().find_map(|effect| match effect {
                Effect::After(_, Msg::GiveOut(GiveOutMsg::PreviewDue(token))) => Some(*token),
                _ => None,
            })
        };
        let title = |value: &str| {
            Msg::Edit(EditMsg::Tag {
                name: "Event".into(),
                value: value.into(),
            })
        };
        let fetches = |effects: &[Effect]| {
            let fetch = |e: &Effect| matches!(e, Effect::FetchTemplate(Purpose::Preview));
            effects.iter().any(fetch)
        };
        let template = "<!--keyproof:language--><!--keyproof:title--><!--keyproof:still--><!--keyproof:lesson--><!--keyproof:answers-->";
        let come = || {
            Msg::GiveOut(GiveOutMsg::Template {
                purpose: Purpose::Preview,
                template: Ok(template.into()),
            })
        };
        let mut desk = desk();
        bring(&mut desk, COOKED);
        assert!(
            due(&run(&mut desk, title("A"))).is_none(),
            "no preview is open"
        );
        run(&mut desk, Msg::GiveOut(GiveOutMsg::Preview));
        run(&mut desk, come());
        let told = desk
            .notices()
            .iter()
            .map(|n| n.text.clone())
            .collect::<Vec<_>>();
        assert!(desk.preview().is_some(), "{told:?} {:?}", desk.preparing());
        let early = due(&run(&mut desk, title("Bishops"))).expect("due");
        let late = due(&run(&mut desk, title("Bishops and rooks"))).expect("due");
        assert!(
            !fetches(&run(&mut desk, Msg::GiveOut(GiveOutMsg::PreviewDue(early)))),
            "only the last counts"
        );
        assert!(fetches(&run(
            &mut desk,
            Msg::GiveOut(GiveOutMsg::PreviewDue(late))
        )));
        run(&mut desk, come());
        assert!(desk.preview().unwrap().contains("Bishops and rooks"));
        run(&mut desk, Msg::GiveOut(GiveOutMsg::PreviewEnd));
        assert!(due(&run(&mut desk, title("C"))).is_none());
    }
}
