//! Answering every defence, and why the key works and other moves fail.

use keyproof::check;
use keyproof::draft::NodeId;
use keyproof::explain::{Explanation, Inquiry};
use keyproof::marks::Mark;
use keyproof::tongue::{plural, tr};

use super::{Desk, Run, Showing, undo};
use crate::explaining::Job;
use crate::message::Effect;
use crate::view_model::stipulation;
use crate::work::SheetId;
use keyproof::notation::moves;
use shakmaty::Position;

/// Defences being answered.
pub(super) struct Filling {
    pub sheet: SheetId,
    answered: usize,
}

/// Answering every defence.
impl Desk {
    /// Whether the defences of the open puzzle are being answered.
    pub fn is_filling(&self) -> bool {
        self.checking.filling.is_some()
    }
    pub(super) fn begin_filling(&mut self) -> Vec<Effect> {
        self.checking.filling = self
            .document
            .work
            .open
            .map(|sheet| Filling { sheet, answered: 0 });
        self.document.history.end_run();
        self.checking.bench.go_on();
        vec![]
    }
    /// Goes on with the filling as far as what is known allows.
    pub(super) fn fill_on(&mut self) -> Vec<Effect> {
        let mut effects = Vec::new();
        while let Some(filling) = &self.checking.filling {
            let id = filling.sheet;
            let (Some(sheet), Some(model)) = (
                self.document.work.sheet(id).cloned(),
                self.checking.models.get(&id),
            ) else {
                self.checking.filling = None;
                break;
            };
            if self.document.work.open != Some(id) || self.checking.bench.stopped() {
                self.checking.filling = None;
                self.checking.fill_questions.clear();
                break;
            }
            if self.checking.bench.has_work(&self.agenda(id, model)) {
                break;
            }
            let tongue = keyproof_tongues::of_game(&sheet.draft);
            let found = tongue.speaks(|| check::fill(&model.resolved, &model.known));
            self.checking.fill_questions = found.questions;
            if !self.checking.fill_questions.is_empty() {
                let agenda = self.proof_agenda(id, &self.checking.fill_questions);
                if self.checking.bench.has_work(&agenda) {
                    effects.extend(self.assign());
                    break;
                }
                self.checking.fill_questions.clear();
                self.end_filling();
                break;
            }
            let Some(draft) = found.draft else {
                self.end_filling();
                break;
            };
            let forced = stipulation(&draft).is_some_and(|s| s.forced().is_some());
            effects.extend(self.change_sheet(id, Some(Run::Fill(id)), |s| s.draft = draft));
            if let Some(filling) = &mut self.checking.filling {
                filling.answered += found.answered;
            }
            if !forced {
                self.end_filling();
            }
        }
        effects
    }

    fn end_filling(&mut self) {
        let answered = self.checking.filling.take().map_or(0, |f| f.answered);
        self.document.history.end_run();
        match answered {
            0 => self.tell(|| tr("No defence is left to answer.").into(), Vec::new),
            n => {
                let words = move || {
                    plural!(
                        n,
                        "One defence was answered.",
                        "{n} defences were answered."
                    )
                };
                self.tell(words, undo);
            }
        }
    }
}

/// Explaining.
impl Desk {
    /// Whether the open puzzle's reasons are being found.
    pub fn is_explaining(&self, id: SheetId) -> bool {
        let model = self.checking.models.get(&id);
        self.checking.explainer.is_there() && model.is_some_and(|model| model.wants_explaining())
    }
    /// Puts the next inquiry, and gives out what waited for an explanation.
    pub(super) fn explain_on(&mut self) -> Vec<Effect> {
        let wanted: Vec<(SheetId, &Inquiry)> = self
            .in_hand()
            .into_iter()
            .filter_map(|id| Some((id, self.checking.models.get(&id)?)))
            .flat_map(|(id, model)| model.unexplained().map(move |inquiry| (id, inquiry)))
            .collect();
        let mut explainer = std::mem::take(&mut self.checking.explainer);
        let order = explainer.assign(&wanted);
        self.checking.explainer = explainer;
        let mut effects: Vec<Effect> = order.into_iter().map(Effect::Work).collect();
        if let Some((purpose, template)) = self.giving_out.waiting.take() {
            effects.extend(self.fill(purpose, template));
        }
        effects
    }
    pub(super) fn explained(&mut self, job: Job, explanation: Explanation) {
        if let Some(model) = self.checking.models.get_mut(&job.sheet) {
            model.explain(job.inquiry, explanation);
        }
    }
    /// Shows a reason on the board, with its marks.
    pub(super) fn show_why(&mut self, index: usize) -> Vec<Effect> {
        let at = self.document.work.at;
        let Some((root, line, why)) = self.opened().and_then(|(_, model)| {
            let (root, told) = model.told_at(at)?;
            let told = told?;
            Some((root, told.line.clone(), told.whys.get(index)?.clone()))
        }) else {
            return vec![];
        };
        self.show_marked(root, &line, 2 * usize::from(why.at) + 1, why.marks())
    }
    /// Shows a threat on the board by its marks, before the key or after it.
    pub(super) fn show_threat(&mut self, after: bool, index: usize) -> Vec<Effect> {
        let at = self.document.work.at;
        let Some((root, line, marks)) = self.opened().and_then(|(_, model)| {
            let (root, told) = model.told_at(at)?;
            let told = told?;
            let threats = if after { &told.after } else { &told.before };
            let threat = threats.threats.get(index)?;
            Some((root, told.line.clone(), threat.marks()))
        }) else {
            return vec![];
        };
        self.show_marked(root, &line, usize::from(after), marks)
    }
    /// Shows a line from a node, at one of its moves, with marks there.
    fn show_marked(
        &mut self,
        root: NodeId,
        line: &[String],
        at: usize,
        marks: Vec<Mark>,
    ) -> Vec<Effect> {
        self.show(root, line);
        if let Some(showing) = &mut self.board.showing {
            showing.go(at);
            showing.marks = Some((showing.at, marks));
        }
        vec![Effect::Focus("show-end")]
    }
}

/// A line in UCI as SAN from a puzzle's start, for adding it.
pub fn sans(showing: &shakmaty::Chess, line: &[String]) -> Vec<String> {
    let mut at = showing.clone();
    let mut sans = Vec::new();
    for text in line {
        let Ok(mv) = moves::read(&at, text) else {
            break;
        };
        sans.push(moves::san(&at, mv));
        at.play_unchecked(mv);
    }
    sans
}

impl Showing {
    /// The marks of the position on the board, where it has any of its own.
    pub fn own_marks(&self) -> Option<&[Mark]> {
        let (at, marks) = self.marks.as_ref()?;
        (*at == self.at).then_some(marks.as_slice())
    }
}
