//! The author's earlier games, and where the open position occurred in them.

use super::Desk;
use crate::collection::{Collection, Event, Found};
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
        let order = self.games.collection.happen(event);
        order.into_iter().map(Effect::Earlier).collect()
    }
    /// Looks up where the author stands, if that is in a game.
    pub(super) fn look_up_on(&mut self) -> Vec<Effect> {
        let Some(sheet) = self.document.work.opened() else {
            return vec![];
        };
        let Some(look) = self.checking.looks.get(&sheet.id) else {
            return vec![];
        };
        let game = look.lesson.is_some() || asks_nothing(&sheet.draft);
        let Some(position) = look.position(self.document.work.at).filter(|_| game) else {
            return vec![];
        };
        let order = self
            .games
            .collection
            .look_up(sheet, self.document.work.at, position);
        order.into_iter().map(Effect::Earlier).collect()
    }
}

#[cfg(test)]
mod tests {
    use keyproof::seen::Builder;

    use super::super::tests::{bring, desk};
    use crate::collection::{About, Ask, Event, Order, Told, Trouble, gather, look};
    use crate::desk::Desk;
    use crate::message::{BoardMsg, Effect, GameMsg, Msg, Way};

    /// Two earlier games and the open one, of an invented club.
    const EARLIER: &str = "[White \"Pell\"]\n[Black \"Tarn\"]\n[Date \"2023.04.01\"]\n\n1. e4 e5 2. Nf3 Nc6 3. Bb5 1-0\n
[White \"Voss\"]\n[Black \"Pell\"]\n\n1. e4 e5 2. Nf3 d6 0-1\n";
    const OPEN: &str = "[White \"Lund\"]\n[Black \"Voss\"]\n\n1. e4 e5 2. Nf3 Nf6 *\n";

    fn orders(effects: Vec<Effect>) -> Vec<Order> {
        let order = |effect| match effect {
            Effect::Earlier(order) => Some(order),
            _ => None,
        };
        effects.into_iter().filter_map(order).collect()
    }

    /// A worker that keeps nothing: does what it is asked, to the end.
    fn work(desk: &mut Desk, effects: Vec<Effect>, kept: Result<(), String>) {
        let mut due = orders(effects);
        while let Some(order) = due.pop() {
            let told = match order {
                Order::Ask(Ask::Gather { ticket, texts }) => {
                    let index = Builder::new().index();
                    let (_, about) = gather(index, About::default(), &texts, &mut |_, _| {});
                    Told::Gathered {
                        ticket,
                        about,
                        kept: kept.clone(),
                    }
                }
                Order::Ask(Ask::Look { ticket, game, fen }) => {
                    let texts = [("club.pgn".to_owned(), EARLIER.to_owned())];
                    let index = Builder::new().index();
                    let (index, _) = gather(index, About::default(), &texts, &mut |_, _| {});
                    let found = look(&index, &game, &fen);
                    Told::Looked { ticket, found }
                }
                Order::End | Order::Forget => continue,
            };
            due.extend(orders(
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
        assert_eq!(desk.seen_here().unwrap().sight.score.games, 2);
        assert_eq!(desk.seen_here().unwrap().known_for, Some(3));
        for _ in 0..3 {
            let effects = desk.update(Msg::Board(BoardMsg::Walk(Way::Forward)));
            work(&mut desk, effects, Ok(()));
        }
        let next: Vec<String> = desk
            .seen_here()
            .unwrap()
            .sight
            .next
            .iter()
            .map(|n| n.san.clone())
            .collect();
        assert_eq!(next, ["Nc6", "d6"]);
        let effects = desk.update(Msg::Board(BoardMsg::Walk(Way::Forward)));
        work(&mut desk, effects, Ok(()));
        assert_eq!(desk.seen_here().unwrap().sight.score.games, 0);
    }

    #[test]
    fn walking_on_looks_up_only_where_the_author_ends() {
        let mut desk = desk();
        bring(&mut desk, OPEN);
        let effects = came(&mut desk, EARLIER);
        let [Order::Ask(Ask::Gather { ticket, .. })] = orders(effects)[..] else {
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
        let first = orders(desk.update(Msg::Game(GameMsg::Earlier(Event::Told(told)))));
        assert_eq!(first.len(), 1);
        assert!(orders(desk.update(Msg::Board(BoardMsg::Walk(Way::Forward)))).is_empty());
        assert!(orders(desk.update(Msg::Board(BoardMsg::Walk(Way::End)))).is_empty());
        let Order::Ask(Ask::Look { ticket, .. }) = first[0] else {
            panic!("looking")
        };
        let told = Told::Looked {
            ticket,
            found: look(
                &Builder::new().index(),
                OPEN,
                &keyproof::notation::fen::write(&shakmaty::Chess::default()),
            ),
        };
        let next = orders(desk.update(Msg::Game(GameMsg::Earlier(Event::Told(told)))));
        assert!(
            matches!(&next[..], [Order::Ask(Ask::Look { fen, .. })] if fen.contains("5n2")),
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
        assert_eq!(
            orders(desk.update(Msg::Game(GameMsg::Earlier(Event::Stop))))[0],
            Order::End
        );
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
        let asked = desk.update(Msg::Game(GameMsg::Earlier(Event::Restored(Some(about)))));
        let Order::Ask(Ask::Look { ticket, .. }) = orders(asked)[0] else {
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
        let removed = orders(desk.update(Msg::Game(GameMsg::Earlier(Event::Remove))));
        assert_eq!(removed, [Order::Forget]);
        assert!(desk.collection().about().is_none() && desk.seen_here().is_none());
    }
}
