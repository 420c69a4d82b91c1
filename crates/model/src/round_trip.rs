//! Properties of notation on random input, and a comparison with another PGN
//! reader, the `pgn-reader` crate.

use std::ops::ControlFlow;

use pgn_reader::{Nag, Outcome, RawComment, RawTag, SanPlus, Skip, Visitor};
use proptest::prelude::*;
use shakmaty::{Chess, Position};

use crate::draft::{Draft, Edit, NodeId};
use crate::notation::{fen, moves};
use crate::{commands, comment, pgn_read, pgn_write};

/// One growth step of a random draft. The numbers pick among what is there.
#[derive(Clone, Debug)]
struct Growth {
    node: usize,
    mv: usize,
    nags: Vec<u8>,
    words: Vec<String>,
}

fn words() -> impl Strategy<Value = String> {
    prop_oneof![
        "[a-z ,.]{0,30}",
        "\\PC{0,40}",
        "[%\\[\\]{}();$\"\\\\ \n\r\t*a1]{0,30}",
        "(\\[%[a1 \n}]{0,4}\\]|a| |\n){0,8}",
        Just("[Event \"x\"]\n\n[White \"y\"]\n\n1. e4 *".to_owned()),
        "([a-z]{1,12} ){10,40}",
        "[a-z]{70,90}",
    ]
}

fn growths() -> impl Strategy<Value = Vec<Growth>> {
    let nags = prop::collection::vec(any::<u8>(), 0..3);
    let comments = prop::collection::vec(words(), 0..3);
    let growth = (any::<usize>(), any::<usize>(), nags, comments);
    let growth = growth.prop_map(|(node, mv, nags, words)| Growth {
        node,
        mv,
        nags,
        words,
    });
    prop::collection::vec(growth, 0..40)
}

const STARTS: [&str; 4] = [
    "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1",
    "r3k2r/p1ppqpb1/bn2pnp1/3PN3/1p2P3/2N2Q1p/PPPBBPPP/R3K2R w KQkq - 0 1",
    "8/2p5/3p4/KP5r/1R3pPk/8/4P3/8 b - g3 0 30",
    "n1n5/PPPk4/8/8/8/8/4Kppp/5N1N b - - 7 12",
];

/// A draft with legal moves, grown by the steps.
fn grown(start: &str, growths: &[Growth], tags: &[(String, String)]) -> Draft {
    let mut draft = Draft::new();
    let fen = Some(start.to_owned());
    draft.apply(&Edit::SetStart { fen }).unwrap();
    for (name, value) in tags {
        let (name, value) = (name.clone(), Some(value.clone()));
        draft.apply(&Edit::SetTag { name, value }).unwrap();
    }
    let mut positions: Vec<(NodeId, Chess)> = vec![(NodeId::ROOT, fen::read(start).unwrap())];
    for growth in growths {
        let (at, position) = positions[growth.node % positions.len()].clone();
        let legal = position.legal_moves();
        if legal.is_empty() {
            continue;
        }
        let mv = legal[growth.mv % legal.len()];
        let moves = vec![moves::san(&position, mv)];
        let added = draft.walk().len();
        let node = draft
            .apply(&Edit::AddLine {
                at,
                moves,
                nags: vec![],
            })
            .unwrap();
        let (nags, comments) = (growth.nags.clone(), growth.words.clone());
        draft.apply(&Edit::SetNags { node, nags }).unwrap();
        let edit = if growth.mv % 3 == 0 {
            Edit::SetBefore { node, comments }
        } else {
            Edit::SetAfter { node, comments }
        };
        draft.apply(&edit).unwrap();
        if draft.walk().len() > added {
            positions.push((node, position.play(mv).unwrap()));
        }
    }
    draft
}

fn tags() -> impl Strategy<Value = Vec<(String, String)>> {
    let name = "[A-Z][A-Za-z0-9_]{0,8}|Event|Stipulation|Black";
    let value = "[^\\p{C}]{0,20}|[\\[\\]\"\\\\{};%]{0,10}";
    prop::collection::vec((name, value), 0..5)
}

proptest! {
    #[test]
    fn a_written_draft_reads_back_as_it_was(
        start in 0..STARTS.len(),
        growths in growths(),
        tags in tags(),
    ) {
        let draft = grown(STARTS[start], &growths, &tags);
        let written = pgn_write::write(&draft);
        let games = pgn_read::read(&written);
        prop_assert_eq!(games.len(), 1, "{}", written);
        prop_assert_eq!(&games[0].faults, &vec![], "{}", written);
        prop_assert_eq!(&games[0].draft, &draft, "{}", written);
        prop_assert_eq!(games[0].draft.resolve().faults, vec![]);
        prop_assert_eq!(pgn_write::write(&games[0].draft), written);
    }

    #[test]
    fn lines_are_short_unless_a_word_is_long(start in 0..STARTS.len(), growths in growths()) {
        let written = pgn_write::write(&grown(STARTS[start], &growths, &[]));
        for line in written.lines().filter(|line| !line.starts_with('[')) {
            let one_word = line.trim_start().split([' ', '\t']).count() == 1;
            prop_assert!(line.chars().count() < 80 || one_word, "{}", line);
        }
    }

    #[test]
    fn the_other_reader_sees_the_same_tree(start in 0..STARTS.len(), growths in growths()) {
        let draft = grown(STARTS[start], &growths, &[]);
        let written = pgn_write::write(&draft);
        let ours = ours(&pgn_read::read(&written)[0].draft);
        prop_assert_eq!(theirs(&written), vec![ours], "{}", written);
    }

    #[test]
    fn no_bytes_make_it_panic(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        survives(&bytes)?;
    }

    #[test]
    fn no_text_of_pgn_parts_makes_it_panic(parts in prop::collection::vec(part(), 0..60)) {
        survives(parts.concat().as_bytes())?;
    }

    #[test]
    fn no_text_makes_reading_a_move_or_a_position_panic(text in "\\PC{0,20}|[a-hKQRBNOo0-9x=+#(). /-]{0,20}") {
        let _ = fen::read(&text);
        for start in STARTS {
            let position = fen::read(start).unwrap();
            if let Ok(mv) = moves::read(&position, &text) {
                prop_assert!(position.is_legal(mv));
            }
        }
    }

    #[test]
    fn what_is_written_of_a_move_reads_back(start in 0..STARTS.len(), picks in prop::collection::vec(any::<usize>(), 0..30)) {
        let mut position = fen::read(STARTS[start]).unwrap();
        for pick in picks {
            let legal = position.legal_moves();
            for &mv in &legal {
                prop_assert_eq!(moves::read(&position, &moves::san(&position, mv)), Ok(mv));
                prop_assert_eq!(moves::read(&position, &moves::uci(mv)), Ok(mv));
            }
            if legal.is_empty() {
                break;
            }
            position.play_unchecked(legal[pick % legal.len()]);
            let again = fen::read(&fen::write(&position)).unwrap();
            prop_assert_eq!(&again, &position);
        }
    }
}

fn part() -> impl Strategy<Value = String> {
    let fixed = [
        "{",
        "}",
        "(",
        ")",
        "[",
        "]",
        "\"",
        "\\",
        ";",
        "%",
        "$",
        "$1",
        "$999",
        "!",
        "?!",
        "+",
        "=",
        " ",
        " ",
        "\n",
        "\r\n",
        "\r",
        "\n\n",
        "1.",
        "1...",
        "e4",
        "e5",
        "Nf3",
        "O-O",
        "e8(Q)",
        "e.p.",
        "--",
        "1-0",
        "*",
        "½",
        "…",
        "[Event \"x\"]\n",
        "[FEN \"8/8/8/8/8/8/8/K1k5 w - - 0 1\"]\n",
        "\u{feff}",
        "é",
        "\0",
        "Кр",
        "♘",
        "0000",
    ];
    prop_oneof![
        6 => prop::sample::select(fixed.to_vec()).prop_map(str::to_owned),
        1 => "\\PC{0,5}",
    ]
}

/// Reads, and writes what was read. That reads back as the same games, with
/// typed moves in their final form after one round.
fn survives(bytes: &[u8]) -> Result<(), TestCaseError> {
    let text = pgn_read::decode(bytes);
    for game in pgn_read::read(&text) {
        for fault in &game.faults {
            prop_assert!(fault.place.line >= 1 && fault.place.column >= 1);
        }
        let once = pgn_write::write(&game.draft);
        let again = pgn_read::read(&once);
        prop_assert_eq!(again.len(), 1, "{}", once);
        let twice = pgn_write::write(&again[0].draft);
        prop_assert_eq!(&twice, &once);
    }
    Ok(())
}

/// A game as a row of what a reader meets: moves, glyphs, comments,
/// parentheses, the result.
type Row = Vec<String>;

fn ours(draft: &Draft) -> Row {
    let mut row = Vec::new();
    let mut stack = vec![(NodeId::ROOT, "")];
    comments(&mut row, &draft.node(NodeId::ROOT).unwrap().after);
    while let Some((id, what)) = stack.pop() {
        let node = draft.node(id).unwrap();
        match what {
            "move" => {
                comments(&mut row, &node.before);
                row.push(node.text.clone());
                row.extend(node.nags.iter().map(|nag| format!("${nag}")));
                comments(&mut row, &node.after);
            }
            "" => {
                if let Some((&main, others)) = node.children.split_first() {
                    stack.push((main, ""));
                    for &id in others.iter().rev() {
                        stack.extend([(id, ")"), (id, ""), (id, "move"), (id, "(")]);
                    }
                    stack.push((main, "move"));
                }
            }
            sign => row.push(sign.to_owned()),
        }
    }
    row.push(draft.result.clone());
    row
}

fn comments(row: &mut Row, comments: &[String]) {
    row.extend(comments.iter().map(|c| format!("{{{c}}}")));
}

struct Collect;

impl Visitor for Collect {
    type Tags = ();
    type Movetext = Row;
    type Output = Row;

    fn begin_tags(&mut self) -> ControlFlow<Row> {
        ControlFlow::Continue(())
    }
    fn tag(&mut self, _: &mut (), _: &[u8], _: RawTag<'_>) -> ControlFlow<Row> {
        ControlFlow::Continue(())
    }
    fn begin_movetext(&mut self, _: ()) -> ControlFlow<Row, Row> {
        ControlFlow::Continue(Vec::new())
    }
    fn san(&mut self, row: &mut Row, san: SanPlus) -> ControlFlow<Row> {
        row.push(san.to_string());
        ControlFlow::Continue(())
    }
    fn nag(&mut self, row: &mut Row, nag: Nag) -> ControlFlow<Row> {
        row.push(format!("${}", nag.0));
        ControlFlow::Continue(())
    }
    fn comment(&mut self, row: &mut Row, comment: RawComment<'_>) -> ControlFlow<Row> {
        let text = comment::flow(&String::from_utf8_lossy(comment.as_bytes()));
        let (words, found) = commands::split(&text);
        if !text.is_empty() && (found.is_empty() || !words.trim().is_empty()) {
            row.push(format!("{{{words}}}"));
        }
        ControlFlow::Continue(())
    }
    fn begin_variation(&mut self, row: &mut Row) -> ControlFlow<Row, Skip> {
        row.push("(".into());
        ControlFlow::Continue(Skip(false))
    }
    fn end_variation(&mut self, row: &mut Row) -> ControlFlow<Row> {
        row.push(")".into());
        ControlFlow::Continue(())
    }
    fn outcome(&mut self, row: &mut Row, outcome: Outcome) -> ControlFlow<Row> {
        row.push(outcome.to_string());
        ControlFlow::Continue(())
    }
    fn end_game(&mut self, row: Row) -> Row {
        row
    }
}

fn theirs(text: &str) -> Vec<Row> {
    let mut reader = pgn_reader::Reader::build(text.as_bytes())
        .set_supported_comment_length(1 << 20)
        .finish();
    let mut visitor = Collect;
    let rows = reader.read_games(&mut visitor).map(|row| row.unwrap());
    rows.collect()
}

#[test]
fn the_other_reader_agrees_on_texts_as_people_write_them() {
    for text in [
        "[Event \"a\"]\r\n[Site \"b\"]\r\n\r\n1.e4!{good}e5?(1...c5!?{sharp})2.Nf3 $1 $14 Nc6 1-0\r\n\r\n",
        "{first words} 1. d4 {w1} {w2} d5 ({v} 1... Nf6 2. c4 (2. Nf3 g6) (2. Bg5)) 2. c4 *\n",
        "1. e4 e5 2. Qh5?! Nc6 3. Bc4 Nf6?? 4. Qxf7# 1-0\n\n[Event \"two\"]\n\n1. f3 e5 2. g4 Qh4# 0-1\n",
        "1. e4 {over\nseveral\nlines} e5 ({x} 1... e6 {y}) ({z} 1... c6) 2. d4 1/2-1/2\n",
        "[FEN \"4k3/P7/8/8/8/8/8/4K2R w K - 0 1\"]\n[SetUp \"1\"]\n\n1. a8=Q+ (1. O-O Kd7 2. a8=N) 1... Kd7 *\n",
    ] {
        let games = pgn_read::read(text);
        assert!(games.iter().all(|game| game.faults.is_empty()), "{text}");
        let ours: Vec<Row> = games.iter().map(|game| ours(&game.draft)).collect();
        assert_eq!(theirs(text), ours, "{text}");
    }
}
