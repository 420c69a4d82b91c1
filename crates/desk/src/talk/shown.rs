//! What the audience sees of a talk, in the language of the puzzle.

use keyproof::marks::{LineKind, Mark};
use keyproof::notation::moves::{self, landing};
use keyproof::tongue::{lettered, spoken};
use shakmaty::{Board, Move, Position, Square};

use super::{Part, Said, Script, Stroke, Switches, Talk, numbered};

/// What the audience sees.
#[derive(Clone, Debug, PartialEq)]
pub struct Shown {
    /// The tag of the language that its words are in.
    pub language: &'static str,
    pub board: Board,
    pub last: Option<Move>,
    /// The square of a king in check, and whether it is mate.
    pub check: Option<Square>,
    pub mate: bool,
    pub marks: Vec<Mark>,
    pub strokes: Vec<Stroke>,
    pub lit: Vec<Square>,
    pub pointer: Option<(f32, f32)>,
    pub black_below: bool,
    /// The players.
    pub title: String,
    /// What is asked, while it is.
    pub task: Option<String>,
    /// The clock, and whether the time is up.
    pub clock: Option<(String, bool)>,
    pub hints: Vec<String>,
    /// The moves of the answer, as far as they stand on the board.
    pub line: Option<String>,
    /// What is said of a suggestion, or of a line.
    pub said: Option<Said>,
    /// A reason: its name, and the sentence.
    pub reason: Option<(String, String)>,
    /// "Nf5: 12", in the order in which they were suggested.
    pub counts: Vec<String>,
}

impl Shown {
    /// What is seen now. Says it in the language that is spoken.
    pub fn of(talk: &Talk, script: &Script, now: u64) -> Shown {
        let spot = talk.spot;
        let seen = script.seen(spot);
        let question = script.question(spot.at);
        let aside = talk.aside();
        let asks = spot.part.asks();
        let position = talk.position(script);
        let king = position.board().king_of(position.turn());
        let Switches { counts, turned, .. } = talk.switches;
        Shown {
            language: spoken().tag(),
            last: match aside {
                Some(aside) => aside.at.checked_sub(1).map(|at| aside.moves[at]),
                None => seen.last,
            },
            check: king.filter(|_| position.is_check()),
            mate: position.is_checkmate(),
            marks: match aside {
                Some(aside) => pointed_out(aside.moves.get(1).filter(|_| {
                    aside.at == 2
                        && aside
                            .said
                            .as_ref()
                            .is_some_and(|said| said.verdict.is_some())
                })),
                None => seen.marks,
            },
            strokes: talk.drawing.strokes.clone(),
            lit: talk.drawing.lit.clone(),
            pointer: talk.drawing.pointer,
            black_below: script.black_below() != turned,
            title: script.title(),
            task: question.as_ref().filter(|_| asks).map(|q| q.task()),
            clock: talk.clock.face(now).filter(|_| asks),
            hints: match (spot.part, &question) {
                (Part::Hint(n), Some(question)) => question
                    .hints()
                    .into_iter()
                    .take(n + 1)
                    .map(str::to_owned)
                    .collect(),
                _ => vec![],
            },
            line: aside.map_or_else(
                || answered(script, talk),
                |aside| {
                    let line = numbered(&aside.positions[0], &aside.moves[..aside.at]);
                    let told = aside
                        .said
                        .as_ref()
                        .is_some_and(|said| said.verdict.is_some());
                    (aside.at > 0 && !told).then_some(line)
                },
            ),
            said: aside.and_then(|aside| aside.said.clone()),
            reason: match (spot.part, question.as_ref().and_then(|q| q.told)) {
                (Part::Why(n), Some(told)) if aside.is_none() => told
                    .whys
                    .get(n)
                    .map(|why| (why.title.clone(), why.sentence.clone())),
                _ => None,
            },
            counts: match counts {
                true => counted(talk, script),
                false => vec![],
            },
            board: position.board().clone(),
        }
    }
}

/// The moves of the answer that stand on the board.
fn answered(script: &Script, talk: &Talk) -> Option<String> {
    let Part::Answer(n) = talk.spot.part else {
        return None;
    };
    let question = script.question(talk.spot.at)?;
    let moves: Vec<Move> = question
        .answer()
        .iter()
        .take(n)
        .map(|(_, mv)| *mv)
        .collect();
    Some(numbered(question.puzzle.start(), &moves))
}

/// How many suggest what.
fn counted(talk: &Talk, script: &Script) -> Vec<String> {
    let Some(turn) = script.turn(talk.spot) else {
        return vec![];
    };
    let suggested = talk.suggested().iter();
    suggested
        .filter_map(|suggested| {
            let mv = moves::read_uci(&turn.position, &suggested.uci)?;
            let san = lettered(&moves::san(&turn.position, mv));
            Some(format!("{san}: {}", suggested.count))
        })
        .collect()
}

/// A line along the move that refutes.
fn pointed_out(mv: Option<&Move>) -> Vec<Mark> {
    let line = mv.and_then(|mv| {
        Some(Mark::Line {
            from: mv.from()?,
            to: landing(*mv),
            kind: LineKind::Answer,
        })
    });
    line.into_iter().collect()
}
