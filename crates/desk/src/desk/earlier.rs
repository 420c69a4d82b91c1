//! The author's earlier games, and where the open position occurred in them.

use super::Desk;
use crate::collection::{Collection, Event};
use crate::earlier::Found;
use crate::lesson::asks_nothing;
use crate::message::Effect;

impl Desk {
    /// The author's earlier games.
    pub fn collection(&self) -> &Collection {
        &self.games.collection
    }
    /// Where the position at which the author stands occurred before, once that
    /// is known.
    pub fn seen_here(&self) -> Option<&Found> {
        self.games
            .collection
            .found(self.document.work.opened()?, self.document.work.at)
    }
    pub(super) fn earlier(&mut self, event: Event) -> Vec<Effect> {
        let removes = matches!(event, Event::Remove);
        let language = self.page.tongue.tag();
        let order = self.games.collection.happen(event, language);
        let mut effects: Vec<Effect> = order.into_iter().map(Effect::Work).collect();
        if removes {
            effects.push(Effect::ForgetEarlier);
        }
        effects
    }
    /// Looks up where the author stands, if that is in a game.
    pub(super) fn look_up_on(&mut self) -> Vec<Effect> {
        let Some(sheet) = self.document.work.opened() else {
            return vec![];
        };
        let Some(model) = self.checking.models.get(&sheet.id) else {
            return vec![];
        };
        let game = model.lesson.is_some() || asks_nothing(&sheet.draft);
        let Some(position) = model.position(self.document.work.at).filter(|_| game) else {
            return vec![];
        };
        let language = self.page.tongue.tag();
        let order = self
            .games
            .collection
            .look_up(sheet, self.document.work.at, position, language);
        order.into_iter().map(Effect::Work).collect()
    }
}

#[cfg(test)]
mod tests {
    use keyproof::seen::Builder;

    use super::super::tests::{bring, desk};
    use crate::collection::{Event, Trouble};
    use crate::desk::Desk;
    use crate::earlier::{About, Ask, Told, gather, look_up};
    use crate::message::{BoardMsg, Effect, GameMsg, Msg, TreeStep};
    use crate::wire::{self, Order, Post};

    /// Two earlier games and the open one, of an invented club.
    const EARLIER: &str = "[White \"Pell\"]\n[Black \"Tarn\"]\n[Date \"2023.04.01\"]\n\n1. e4 e5 2. Nf3 Nc6 3. Bb5 1-0\n
[White \"Voss\"]\n[Black \"Pell\"]\n\n1. e4 e5 2. Nf3 d6 0-1\n";
    const OPEN: &str = "[White \"Lund\"]\n[Black \"Voss\"]\n\n1. e4 e5 2. Nf3 Nf6 *\n";

    /// What the worker is asked.
    fn asked(effects: Vec<Effect>) -> Vec<Ask> {
        let ask = |effect| match effect {
            Effect::Work(Order::Ask(Post::Earlier, wire::Ask::Earlier { ask, .. })) => Some(ask),
            _ => None,
        };
        effects.into_iter().filter_map(ask).collect()
    }
    fn ends(effects: &[Effect]) -> bool {
        let end = |effect: &Effect| matches!(effect, Effect::Work(Order::End(Post::Earlier)));
        effects.iter().any(end)
    }

    /// A worker that keeps nothing: does what it is asked, to the end.
    fn work(desk: &mut Desk, effects: Vec<Effect>, kept: Result<(), String>) {
        let mut due = asked(effects);
        while let Some(ask) = due.pop() {
            let told = match ask {
                Ask::Gather { ticket, texts } => {
                    let index = Builder::new().index();
                    let (_, about) = gather(index, About::default(), &texts, &mut |_, _| {});
                    Told::Gathered {
                        ticket,
                        about,
                        kept: kept.clone(),
                    }
                }
                Ask::Lookup { ticket, game, fen } => {
                    let texts = [("club.pgn".to_owned(), EARLIER.to_owned())];
                    let index = Builder::new().index();
                    let (index, _) = gather(index, About::default(), &texts, &mut |_, _| {});
                    let found = look_up(&index, &game, &fen);
                    Told::Looked { ticket, found }
                }
            };
            due.extend(asked(
                desk.update(Msg::Game(GameMsg::Earlier(Event::Told(told)))),
            ));
        }
    }

    fn came(desk: &mut Desk, text: &str) -> Vec<Effect> {
        let texts = vec![("club.pgn".to_owned(), text.to_owned())];
        desk.update(Msg::Game(GameMsg::Earlier(Event::Came(texts))))
    }

    #[test]
    fn each_position_of_a_game_shows_where_it_occurred() {
        let mut desk = desk();
        bring(&mut desk, OPEN);
        assert!(desk.seen_here().is_none());
        let effects = came(&mut desk, EARLIER);
        assert!(desk.collection().gathering().is_some());
        work(&mut desk, effects, Ok(()));
        assert_eq!(desk.collection().about().map(|about| about.games), Some(2));
        assert_eq!(desk.seen_here().unwrap().summary.score.games, 2);
        assert_eq!(desk.seen_here().unwrap().known_for, Some(3));
        for _ in 0..3 {
            let effects = desk.update(Msg::Board(BoardMsg::Walk(TreeStep::Forward)));
            work(&mut desk, effects, Ok(()));
        }
        let next: Vec<String> = desk
            .seen_here()
            .unwrap()
            .summary
            .next
            .iter()
            .map(|n| n.san.clone())
            .collect();
        assert_eq!(next, ["Nc6", "d6"]);
        let effects = desk.update(Msg::Board(BoardMsg::Walk(TreeStep::Forward)));
        work(&mut desk, effects, Ok(()));
        assert_eq!(desk.seen_here().unwrap().summary.score.games, 0);
    }

    #[test]
    fn walking_on_looks_up_only_where_the_author_ends() {
        let mut desk = desk();
        bring(&mut desk, OPEN);
        let effects = came(&mut desk, EARLIER);
        let [Ask::Gather { ticket, .. }] = asked(effects)[..] else {
            panic!("gathering")
        };
        let about = About {
            games: 2,
            ..About::default()
        };
        let told = Told::Gathered {
            ticket,
            about,
            kept: Ok(()),
        };
        let first = asked(desk.update(Msg::Game(GameMsg::Earlier(Event::Told(told)))));
        assert_eq!(first.len(), 1);
        assert!(asked(desk.update(Msg::Board(BoardMsg::Walk(TreeStep::Forward)))).is_empty());
        assert!(asked(desk.update(Msg::Board(BoardMsg::Walk(TreeStep::End)))).is_empty());
        let Ask::Lookup { ticket, .. } = first[0] else {
            panic!("looking")
        };
        let told = Told::Looked {
            ticket,
            found: look_up(
                &Builder::new().index(),
                OPEN,
                &keyproof::notation::fen::write(&shakmaty::Chess::default()),
            ),
        };
        let next = asked(desk.update(Msg::Game(GameMsg::Earlier(Event::Told(told)))));
        assert!(
            matches!(&next[..], [Ask::Lookup { fen, .. }] if fen.contains("5n2")),
            "{next:?}"
        );
    }

    #[test]
    fn stopping_keeps_what_the_store_keeps_and_nothing_else() {
        let mut desk = desk();
        bring(&mut desk, OPEN);
        let effects = came(&mut desk, EARLIER);
        work(&mut desk, effects, Ok(()));
        came(&mut desk, OPEN);
        assert!(ends(&desk.update(Msg::Game(GameMsg::Earlier(Event::Stop)))));
        assert!(desk.collection().gathering().is_none());
        assert!(desk.collection().about().is_some());

        let effects = came(&mut desk, EARLIER);
        work(&mut desk, effects, Err("full".into()));
        assert_eq!(desk.collection().refused(), Some("full"));
        came(&mut desk, OPEN);
        desk.update(Msg::Game(GameMsg::Earlier(Event::Stop)));
        assert!(desk.collection().about().is_none());
    }

    #[test]
    fn a_collection_is_removed_and_a_lost_one_is_told() {
        let mut desk = desk();
        bring(&mut desk, OPEN);
        let about = About {
            games: 2,
            ..About::default()
        };
        let effects = desk.update(Msg::Game(GameMsg::Earlier(Event::Restored(Some(about)))));
        let Ask::Lookup { ticket, .. } = asked(effects)[0] else {
            panic!("looking")
        };
        let told = Told::Looked {
            ticket,
            found: None,
        };
        desk.update(Msg::Game(GameMsg::Earlier(Event::Told(told))));
        assert_eq!(desk.collection().trouble(), Some(&Trouble::Gone));
        let effects = came(&mut desk, "no game at all");
        work(&mut desk, effects, Ok(()));
        assert!(matches!(
            desk.collection().trouble(),
            Some(Trouble::NoGames(_))
        ));
        let effects = came(&mut desk, EARLIER);
        work(&mut desk, effects, Ok(()));
        let removed = desk.update(Msg::Game(GameMsg::Earlier(Event::Remove)));
        assert!(ends(&removed));
        assert!(removed.iter().any(|e| matches!(e, Effect::ForgetEarlier)));
        assert!(desk.collection().about().is_none() && desk.seen_here().is_none());
    }
}
