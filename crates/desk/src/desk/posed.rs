//! What is given out, game by game and question by question; and the lesson that is
//! remembered of it, to which accounts come back.

use std::collections::HashSet;

use keyproof::account;
use keyproof::draft::NodeId;
use keyproof::lesson::Place;
use keyproof::notation::{fen, moves};
use keyproof::publish::{self, Item};
use keyproof::resolved::Resolved;

use super::Desk;
use crate::class::{Change, Lesson, Question};
use crate::message::{Effect, Scope};
use crate::view_model::ViewModel;
use crate::work::{Sheet, SheetId, Work, title, untitled};

/// A game as it is given out: a puzzle, a lesson, or a question of a lesson alone.
pub(super) struct Posed<'a> {
    pub sheet: &'a Sheet,
    pub resolved: &'a Resolved,
    /// The questions in it; of a lesson with their places.
    pub asked: Vec<(Option<Place>, Item<'a>)>,
}

impl Desk {
    /// What is given out of these sheets; `again`: only what is given out once more.
    pub(super) fn posed(&self, ids: &[SheetId], again: bool) -> Vec<Posed<'_>> {
        let wanted: HashSet<SheetId> = ids.iter().copied().collect();
        let sheets = self.document.work.sheets.iter();
        let chosen = sheets.filter(|sheet| wanted.contains(&sheet.id));
        let models = chosen.filter_map(|s| Some((&**s, self.checking.models.get(&s.id)?)));
        let mut posed = Vec::new();
        for (sheet, model) in models.filter(|(_, model)| model.can_be_posed()) {
            let places = model.lesson.iter().flat_map(|lesson| &lesson.asked);
            let places = places.map(|asked| Some(asked.moment.place));
            let places = places.chain([None; 1]);
            let asked: Vec<_> = places.zip(items(model)).collect();
            if !(again && model.lesson.is_some()) {
                posed.push(Posed {
                    sheet,
                    resolved: &model.resolved,
                    asked,
                });
                continue;
            }
            let picked = self.class.again.picked.get(&sheet.id);
            let is_picked = |place: &Option<Place>| {
                let named = place.map(|place| place.to_string());
                named.is_some_and(|named| picked.is_some_and(|p| p.contains(&named)))
            };
            let alone = asked.into_iter().filter(|(place, _)| is_picked(place));
            posed.extend(alone.map(|(place, item)| Posed {
                sheet,
                resolved: item.resolved,
                asked: vec![(place, item)],
            }));
        }
        posed
    }
    /// The lesson that these sheets are when they are given out.
    pub(super) fn given(&self, ids: &[SheetId], again: bool) -> Option<Lesson> {
        let posed = self.posed(ids, again);
        posed.first()?;
        let games: Vec<&Resolved> = posed.iter().map(|game| game.resolved).collect();
        let mut questions = Vec::new();
        for (number, game) in posed.iter().enumerate() {
            let name = title(&game.sheet.draft).unwrap_or_else(|| untitled(number));
            for (at, (place, item)) in game.asked.iter().enumerate() {
                questions.extend(question(number, at, *place, item, &name, game.sheet.id));
            }
        }
        Some(Lesson {
            key: account::key(&publish::lesson_text(&games)),
            title: self.heading(&posed, again),
            questions,
            accounts: Vec::new(),
        })
    }
    /// Remembers what was given out, in every state that undo leads to: that it was is
    /// nothing to be undone.
    pub(super) fn remember(&mut self, scope: Scope) -> Vec<Effect> {
        let again = scope == Scope::Missed;
        let Some(lesson) = self.given(&self.scope(scope), again) else {
            return vec![];
        };
        // All of a lesson given out once more is that lesson.
        if again && self.document.work.class.lesson(lesson.key).is_some() {
            return vec![];
        }
        let mut class = (*self.document.work.class).clone();
        class.give(lesson);
        let change = Change::between(&self.document.work.class, &class);
        if change.is_idle() {
            return vec![];
        }
        self.document.work.class = change.apply(&self.document.work.class);
        let update = |work: Work| Work {
            class: change.apply(&work.class),
            ..work
        };
        let present = &self.document.work;
        self.document.history.rebase(present, update, |_, _| false);
        match self.saving.changed() {
            true => vec![Effect::SaveSoon],
            false => vec![],
        }
    }
}

/// A question as it is asked; `None` if its item is no puzzle.
fn question(
    game: usize,
    number: usize,
    place: Option<Place>,
    item: &Item,
    name: &str,
    sheet: SheetId,
) -> Option<Question> {
    let puzzle = item.resolved.puzzle().ok()?;
    let key = puzzle.accepted(NodeId::ROOT).next();
    Some(Question {
        game,
        number,
        title: name.to_owned(),
        sheet,
        place: place.map(|place| place.to_string()),
        fen: fen::write(puzzle.start()),
        black_below: puzzle.black_below(),
        key: key.map(|key| moves::san(puzzle.start(), puzzle.node(key).mv)),
    })
}

/// What a sheet brings into the student's file: its puzzle, or the puzzles at
/// the moments of its lesson.
fn items(model: &ViewModel) -> Vec<Item<'_>> {
    let Some(lesson) = &model.lesson else {
        return vec![Item {
            resolved: &model.resolved,
            known: &model.known,
            explanation: model.explanation(),
        }];
    };
    let asked = lesson.asked.iter();
    asked
        .map(|asked| Item {
            resolved: &asked.excerpt.resolved,
            known: &model.known,
            explanation: model.explanation_of(asked.inquiry.as_ref()),
        })
        .collect()
}
