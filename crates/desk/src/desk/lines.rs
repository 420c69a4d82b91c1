//! Lines taken from one place of a tree to another, and the glyphs of the move
//! one is at.

use keyproof::draft::{Draft, Edit, NodeId};
use keyproof::line::{self, Grafted, Misfit};
use keyproof::tongue::{plural, tr};

use super::changes::nothing_in;
use super::{Desk, undo};
use crate::backup;
use crate::class;
use crate::glyphs;
use crate::intake::{self, Intake};
use crate::message::Effect;

impl Desk {
    /// Whether a line was copied or cut and can be pasted.
    pub fn has_line(&self) -> bool {
        self.document.line.is_some()
    }
    /// Copies the move one is at and what follows, here and for other pages.
    pub(super) fn copy_line(&mut self) -> Vec<Effect> {
        let at = self.document.work.at;
        let Some((_, model)) = self.opened().filter(|_| at != NodeId::ROOT) else {
            return vec![];
        };
        let line = line::cut_out(&model.resolved, at);
        let text = line::text(&line);
        self.document.line = Some(line);
        vec![Effect::Copy(text)]
    }
    pub(super) fn cut_line(&mut self) -> Vec<Effect> {
        let mut effects = self.copy_line();
        if !effects.is_empty() {
            let node = self.document.work.at;
            effects.extend(self.edit(&[Edit::Remove { node }], None));
        }
        effects
    }
    /// Pastes the line copied last below the move one is at.
    pub(super) fn paste_line(&mut self) -> Vec<Effect> {
        match self.document.line.clone() {
            Some(line) => self.graft(&line).unwrap_or_default(),
            None => vec![],
        }
    }
    /// A text was pasted: moves without a title go into the tree if the focus
    /// is there, a position into the set-up while that is open, all else
    /// becomes new puzzles.
    pub(super) fn pasted(&mut self, from: &str, text: &str, in_tree: bool) -> Vec<Effect> {
        if class::is_brought(text) {
            return self.came(from, text);
        }
        match intake::read(text) {
            Intake::Games(games) if in_tree && games.len() == 1 => {
                let game = &games[0];
                let bare = game.draft.tags().is_empty() && game.faults.is_empty();
                let line = bare.then(|| game.draft.clone());
                if let Some(effects) = line.and_then(|line| self.graft(&line)) {
                    return effects;
                }
            }
            Intake::Position(fen) if self.setup().is_some() => {
                let effects = self.edit(&[Edit::SetStart { fen: Some(fen) }], None);
                let text = || tr("The position was replaced by the pasted one.").into();
                self.tell(text, undo);
                return effects;
            }
            Intake::Nothing(faults) if backup::read(from, text).is_none() => {
                self.refuse(nothing_in(from, faults));
                return vec![];
            }
            _ => {}
        }
        self.came(from, text)
    }
    /// Grafts a line below the move one is at or, where its first move is not
    /// legal there, beside it. `None` where nothing of it fits.
    fn graft(&mut self, line: &Draft) -> Option<Vec<Effect>> {
        let at = self.document.work.at;
        let (sheet, model) = self.opened()?;
        let below = line::graft(&model.resolved, at, line);
        let parent = sheet.draft.node(at)?.parent;
        let grafted = match below.fitted {
            0 if at != NodeId::ROOT => line::graft(&model.resolved, parent, line),
            _ => below,
        };
        let Grafted {
            draft,
            fitted,
            first,
            misfits,
        } = grafted;
        let whole = misfits.is_empty();
        let told = move |text: &str| format!("{} {}", text, misfit_words(&misfits));
        if fitted == 0 {
            let text = move || told(tr("Nothing of the line fits here."));
            self.refuse(text);
            return Some(vec![]);
        }
        let id = sheet.id;
        let changed = draft != sheet.draft;
        let effects = match changed {
            true => self.change_sheet(id, None, |sheet| sheet.draft = draft),
            false => vec![],
        };
        if let Some(first) = first {
            self.go(first);
        }
        match (changed, whole) {
            (false, _) => self.tell(|| tr("The line stands here already.").into(), Vec::new),
            (true, true) => self.tell(|| tr("The whole line was pasted.").into(), undo),
            (true, false) => {
                let text = move || told(tr("The line was pasted in part."));
                self.tell(text, undo);
            }
        }
        Some(effects)
    }
    /// A sign was typed at the move one is at.
    pub(super) fn glyph(&mut self, sign: char) -> Vec<Effect> {
        let at = self.document.work.at;
        let node = self.document.work.opened().and_then(|s| s.draft.node(at));
        let nags = node.map(|node| glyphs::typed(&node.nags, sign));
        nags.map_or_else(Vec::new, |nags| self.set_glyphs(nags))
    }
    pub(super) fn set_glyphs(&mut self, nags: Vec<u8>) -> Vec<Effect> {
        let node = self.document.work.at;
        let now = self.document.work.opened().and_then(|s| s.draft.node(node));
        match now.is_some_and(|now| now.nags != nags) && node != NodeId::ROOT {
            true => self.edit(&[Edit::SetNags { node, nags }], None),
            false => vec![],
        }
    }
}

/// What did not fit, a sentence for each of the first few.
fn misfit_words(misfits: &[Misfit]) -> String {
    const TOLD: usize = 3;
    let mut sentences: Vec<String> = misfits
        .iter()
        .take(TOLD)
        .map(|misfit| {
            let fault = misfit.fault.sentence(&misfit.text);
            let after = match misfit.count {
                1 => return fault,
                n => plural!(
                    n - 1,
                    "It and the move after it were left out.",
                    "It and the {n} moves after it were left out.",
                ),
            };
            format!("{fault} {after}")
        })
        .collect();
    if misfits.len() > TOLD {
        sentences.push(plural!(
            misfits.len() - TOLD,
            "And one more did not fit.",
            "And {n} more did not fit.",
        ));
    }
    sentences.join(" ")
}

#[cfg(test)]
mod tests {
    use keyproof::draft::NodeId;

    use super::super::tests::{bring, desk, run};
    use super::*;
    use crate::message::{BoardMsg, EditMsg, ListMsg, Msg, TreeStep};

    fn moves(desk: &Desk) -> String {
        line::text(&desk.work().opened().unwrap().draft)
    }
    fn told(desk: &Desk) -> &str {
        desk.notices()
            .last()
            .map_or("", |notice| notice.text.as_str())
    }
    fn walk(desk: &mut Desk, steps: usize) {
        run(desk, Msg::Board(BoardMsg::Walk(TreeStep::Start)));
        (0..steps).for_each(|_| {
            run(desk, Msg::Board(BoardMsg::Walk(TreeStep::Forward)));
        });
    }
    fn pasted(text: &str, in_tree: bool) -> Msg {
        Msg::List(ListMsg::Pasted {
            text: text.into(),
            in_tree,
        })
    }

    #[test]
    fn a_line_is_cut_pasted_elsewhere_and_brought_back_by_undo() {
        let mut desk = desk();
        bring(
            &mut desk,
            "1. e4 e5 (1... c5) 2. Nf3 {Out.} 2... Nc6 3. exd5 *",
        );
        let before = moves(&desk);
        walk(&mut desk, 3);
        let effects = run(&mut desk, Msg::Edit(EditMsg::CutLine));
        assert!(matches!(&effects[0], Effect::Copy(text) if text.starts_with("2. Nf3 {Out.}")));
        assert_eq!(moves(&desk), "1. e4 e5 (1... c5)");
        walk(&mut desk, 1);
        run(&mut desk, Msg::Board(BoardMsg::Walk(TreeStep::Forward)));
        run(&mut desk, Msg::Board(BoardMsg::Walk(TreeStep::Down)));
        run(&mut desk, Msg::Edit(EditMsg::PasteLine));
        assert_eq!(moves(&desk), "1. e4 e5 (1... c5 2. Nf3 {Out.} 2... Nc6)");
        assert!(told(&desk).contains("3.exd5"), "{}", told(&desk));
        run(&mut desk, Msg::Edit(EditMsg::Undo));
        run(&mut desk, Msg::Edit(EditMsg::Undo));
        assert_eq!(moves(&desk), before);
    }

    #[test]
    fn moves_pasted_on_a_move_go_into_the_tree() {
        let mut desk = desk();
        bring(&mut desk, "[Event \"One\"]\n\n1. e4 e5 *");
        walk(&mut desk, 1);
        run(&mut desk, pasted("1... c5 2. Nf3 {Well known.}", true));
        assert_eq!(moves(&desk), "1. e4 e5 (1... c5 2. Nf3 {Well known.})");
        run(&mut desk, pasted("[Event \"Two\"]\n\n1. d4 *", true));
        assert_eq!(desk.work().sheets.len(), 2, "a game with a title stays one");
        run(&mut desk, Msg::Edit(EditMsg::Undo));
        run(&mut desk, pasted("1. d4 d5", false));
        assert_eq!(desk.work().sheets.len(), 2, "away from the tree as well");
    }

    #[test]
    fn what_fits_nowhere_changes_nothing() {
        let mut desk = desk();
        bring(&mut desk, "1. e4 e5 *");
        let before = moves(&desk);
        walk(&mut desk, 1);
        run(&mut desk, pasted("5. Qxh7# *", true));
        assert_eq!(moves(&desk), before);
        assert!(told(&desk).contains("Qxh7"), "{}", told(&desk));
    }

    #[test]
    fn a_pasted_position_replaces_the_one_being_set_up() {
        let mut desk = desk();
        bring(&mut desk, "8/8/8/8/8/5k2/5p2/5K2 w - - 0 1");
        run(&mut desk, Msg::Board(BoardMsg::SetUp(true)));
        let other = "8/8/8/8/8/5k2/5p2/6K1 w - - 0 1";
        run(&mut desk, pasted(other, false));
        let start = |desk: &Desk| {
            desk.work()
                .opened()
                .unwrap()
                .draft
                .start_fen()
                .unwrap()
                .to_owned()
        };
        assert_eq!(
            (desk.work().sheets.len(), start(&desk).as_str()),
            (1, other)
        );
        assert!(desk.setup().is_some());
        run(&mut desk, Msg::Edit(EditMsg::Undo));
        assert_ne!(start(&desk), other);
        run(&mut desk, Msg::Board(BoardMsg::SetUp(false)));
        run(&mut desk, pasted(other, false));
        assert_eq!(desk.work().sheets.len(), 2);
    }

    #[test]
    fn signs_are_typed_at_the_move_one_is_at() {
        let mut desk = desk();
        bring(&mut desk, "1. e4 e5 *");
        run(&mut desk, Msg::Edit(EditMsg::Glyph('!')));
        assert_eq!(moves(&desk), "1. e4 e5", "the start is no move");
        walk(&mut desk, 1);
        for sign in "!?=".chars() {
            run(&mut desk, Msg::Edit(EditMsg::Glyph(sign)));
        }
        assert_eq!(moves(&desk), "1. e4 $5 $10 e5");
        run(&mut desk, Msg::Edit(EditMsg::Glyphs(vec![])));
        assert_eq!(moves(&desk), "1. e4 e5");
        assert_ne!(desk.work().at, NodeId::ROOT);
    }
}
