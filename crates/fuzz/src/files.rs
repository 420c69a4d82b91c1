//! What programs write and read: certificates, backups, the store, students' progress and
//! accounts, published files, indexes, messages of workers, tables and networks.

use std::sync::{Arc, OnceLock};

use desk::class;
use desk::saved::{Manifest, Note, SavedSheet};
use desk::wire::{Ask, Told};
use desk::{backup, given_out, intake};
use keyproof::account::{self, Account};
use keyproof::notation::{fen, pgn_read, pgn_write};
use keyproof::prove::{Prover, Unwatched};
use keyproof::publish;
use keyproof::resolved::Resolved;
use keyproof::search::Network;
use keyproof::seen::{Builder, packed};
use keyproof::tables::syzygy::{FilesInMemory, Syzygy};
use keyproof::tables::{Larger, Material, Tables};
use serde::Serialize;
use serde::de::DeserializeOwned;
use shakmaty::{Chess, Position};

use crate::Choices;
use crate::texts::{self, bytes, is_game};

fn position(text: &str) -> Chess {
    fen::read(text).unwrap_or_default()
}

/// What our prover writes of a draw, and a mate by hand.
pub fn certificates() -> Vec<Vec<u8>> {
    let drawn = position("6k1/6p1/8/7Q/8/8/qr6/7K w - - 0 1");
    let mut prover = Prover::new(1 << 20);
    let plan = prover.draw(&drawn, None, &mut Unwatched).ok().flatten();
    let plan = plan
        .map(|plan| plan.certificate(&drawn))
        .unwrap_or_default();
    let mate = "keyproof certificate 1\nfen 6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1\nclaim mate 1 by a1a8 node 1\nclaim only 1 node 1\n1 w a1a8\n";
    bytes(&[&plan, mate])
}

/// A text is accepted or refused with a line that it has. What is accepted is what our
/// prover finds too.
pub fn certificate(data: &[u8]) {
    let text = String::from_utf8_lossy(data);
    match keyproof_certify::verify(&text) {
        Ok(accepted) => assert!(!accepted.claims.is_empty() || !text.contains("claim")),
        Err(fault) => {
            let lines = text.lines().count();
            assert!(fault.line <= lines + 1, "line {} of {lines}", fault.line);
            assert!(!fault.reason.is_empty());
        }
    }
}

pub fn backups() -> Vec<Vec<u8>> {
    let text = "%keyproof backup 1\n%saved 2026-03-01 18:30\n%open 00000000000000a1\n%text 1 club.pgn\n%|[Event \"As it came\"]\n%|1. e4 ((( e5 *\n%reading 00000000000000a1 1\n%fault 2 8\t((\ta move\n\n[Event \"?\"]\n[BackupId \"00000000000000a1\"]\n\n1. e4 e5 *\n";
    bytes(&[text, "[BackupId \"00000000000000a2\"]\n\n1. d4 *\n"])
}

/// What a backup gives back is written and read as the same.
pub fn backup(data: &[u8]) {
    let text = String::from_utf8_lossy(data);
    let Some(read) = backup::read("a file", &text) else {
        return;
    };
    let mut work = desk::work::Work::new();
    for (number, (id, sheet)) in read.sheets.into_iter().enumerate() {
        let id = id.unwrap_or(desk::work::SheetId(1 << 40 | number as u64));
        if work.sheet(id).is_none() {
            work.sheets.push(desk::work::Sheet { id, ..sheet }.into());
        }
    }
    work.open = read.open.filter(|&open| work.sheet(open).is_some());
    work.class = read.class.into();
    let written = backup::write(&work, "2026-03-01 18:30");
    let again = backup::read("a file", &written).unwrap_or_else(|| panic!("none:\n{written}"));
    assert_eq!(again.open, work.open);
    assert_eq!(again.class, *work.class);
    let ids: Vec<_> = again.sheets.iter().map(|(id, _)| *id).collect();
    let were: Vec<_> = work.sheets.iter().map(|sheet| Some(sheet.id)).collect();
    assert_eq!(ids, were, "{written}");
    for ((_, sheet), was) in again.sheets.iter().zip(&work.sheets) {
        // A tag that stands twice is told of again.
        if was.reading.is_some() {
            assert_eq!(sheet.reading, was.reading, "{written}");
        }
        let resolved = Resolved::of(&was.draft);
        if is_game(&resolved) {
            let games = [&sheet.draft, &was.draft].map(pgn_write::write);
            assert_eq!(games[0], games[1], "{written}");
        }
    }
}

pub fn records() -> Vec<Vec<u8>> {
    let note = Note(vec![desk::saved::Noted {
        id: desk::work::SheetId(7),
        was: Some("1. e4 *\n".into()),
        pgn: "1. e4 e5 *\n".into(),
    }]);
    let manifest = r#"{"birth":"a","revision":3,"order":[[7,3]],"open":7,"asked":false,"class":0}"#;
    let sheet = r#"{"id":7,"revision":3,"pgn":"1. e4 *","reading":null,"seek":null}"#;
    let slot = r#"{"time":1.0,"pgn":"1. e4 *","open":0,"readings":[],"seeks":null}"#;
    let class = "lesson\t5\tThursday\n";
    let mut all = bytes(&[manifest, sheet, slot, class]);
    all.push(note.write().into_bytes());
    all
}

/// Records of the store, notes and the class, as another version or nobody wrote them.
pub fn stored(data: &[u8]) {
    comes_back::<Manifest>(data);
    comes_back::<SavedSheet>(data);
    if let Ok(slot) = serde_json::from_slice::<desk::saved::slots::Slot>(data) {
        let _ = slot.sheets("slot");
    }
    let text = String::from_utf8_lossy(data);
    let note = Note::read(&text);
    assert_eq!(Note::read(&note.write()), note);
    let class = class::kept::read(&text);
    let again = class::kept::read(&class::kept::write(&class));
    assert_eq!(again, class);
    for lesson in &class.lessons {
        let _ = class::csv::write(lesson);
    }
}

/// What is read of JSON is written and read as the same JSON.
fn comes_back<T: Serialize + DeserializeOwned>(data: &[u8]) {
    let Ok(read) = serde_json::from_slice::<T>(data) else {
        return;
    };
    // What JSON has no sign for (infinite numbers) is not written at all.
    let Ok(written) = serde_json::to_string(&read) else {
        return;
    };
    if let Ok(again) = serde_json::from_str::<T>(&written) {
        assert_eq!(serde_json::to_string(&again).ok(), Some(written));
    }
}

pub fn kept() -> Vec<Vec<u8>> {
    bytes(&[
        "0 0=1bh:Rb7?\n1 0=0s\n",
        "0 0=2hh:Rb7? Kd2? Ra7 Rb8#,1=0:yes\n2 0=3t12c2l\n",
    ])
}

/// A student's progress as the browser keeps it.
pub fn progress(data: &[u8]) {
    let text = String::from_utf8_lossy(data);
    account::marks(&text, |_, _, mark| {
        let written = mark.write();
        let again = account::Mark::read(&written);
        assert_eq!(again.map(|mark| mark.write()), Some(written));
        let _ = account::played(&mark.moves);
    });
}

pub fn accounts() -> Vec<Vec<u8>> {
    let account = Account {
        name: "Zoë".into(),
        key: 5,
        kept: "0 0=1bh:Rb7?\n".into(),
    };
    let line = account.write();
    bytes(&[
        &line,
        &["> ", &line[..20], "\n> ", &line[20..]].concat(),
        "[keyproof1 AAAA]",
    ])
}

/// Accounts in any text, and any account.
pub fn account(data: &[u8]) {
    let text = String::from_utf8_lossy(data);
    for brought in class::brought(&text) {
        assert!(brought.line >= 1);
        if let Ok(account) = brought.read {
            assert_eq!(Account::read(&account.write()), Ok(account));
        }
    }
    let (name, kept) = text.split_once('\n').unwrap_or((&text, ""));
    let own = Account {
        name: name.into(),
        key: data.len() as u32,
        kept: kept.into(),
    };
    assert_eq!(Account::read(&own.write()), Ok(own));
}

const TEMPLATE: &str = "<main><!--keyproof:still--></main><pre id=\"keyproof-lesson\" hidden><!--keyproof:lesson--></pre><pre id=\"keyproof-answers\" hidden><!--keyproof:answers--></pre><!--keyproof:language--><!--keyproof:title-->";

pub fn pages() -> Vec<Vec<u8>> {
    let lesson = "<pre id=\"keyproof-lesson\" hidden>[FEN \"6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n1. Ra8# *</pre><pre id=\"keyproof-answers\" hidden>puzzle 0\n- a1a8=1 a1a7!g8f8\nline a1a8\nwhy 0 a8 a1a8 key:It mates.\nboard 6k1/5ppp/8/8/8/8/8/R5K1 Ga8</pre>";
    let mut all = texts::games();
    all.extend(bytes(&[lesson]));
    all
}

/// Games that are given out come back as they were, without markup of their own; and a
/// page that somebody changed is read as far as it goes.
pub fn published(data: &[u8]) {
    let text = pgn_read::decode(data);
    let _ = given_out::games(&text);
    let _ = intake::read(&text);
    let games = pgn_read::read(&text);
    let resolved: Vec<Resolved> = games.iter().map(|game| Resolved::of(&game.draft)).collect();
    let puzzles = resolved
        .iter()
        .filter_map(|game| game.puzzle().ok().cloned());
    let _ = publish::read_answers(&text, &puzzles.collect::<Vec<_>>());
    let games: Vec<&Resolved> = resolved.iter().collect();
    let page = publish::page_of_games(TEMPLATE, &text, "en", &games, &[]);
    let page = page.unwrap_or_else(|fault| panic!("{fault}"));
    let empty = publish::page_of_games(TEMPLATE, "", "en", &[], &[]).unwrap_or_default();
    let opened = |page: &str| page.matches('<').count();
    assert_eq!(
        opened(&page),
        opened(&empty),
        "markup of strangers:\n{page}"
    );
    let lesson = publish::lesson_text(&games);
    assert_eq!(
        publish::held(&page, "keyproof-lesson").as_ref(),
        Some(&lesson)
    );
    // The student's page and the desk know a lesson by its text, as a browser reads it.
    assert!(!lesson.contains('\r'), "{lesson:?}");
    let back = given_out::games(&page).unwrap_or_default();
    assert_eq!(back.len(), games.len(), "{lesson}");
    for (back, game) in back.iter().zip(&games) {
        // What is no move is written as words.
        if is_game(game) {
            assert_eq!(back.draft.walk().len(), game.draft().walk().len());
        }
    }
}

pub fn indexes() -> Vec<Vec<u8>> {
    let mut builder = Builder::new();
    for text in texts::games() {
        for game in pgn_read::read(&pgn_read::decode(&text)) {
            // One that is there already is left out.
            let _ = builder.add(&game.draft);
        }
    }
    vec![packed::write(&builder.index())]
}

/// An index that can be read is written and read as the same, and asked.
pub fn index(data: &[u8]) {
    let Some(index) = packed::read(data) else {
        return;
    };
    assert_eq!(packed::read(&packed::write(&index)).as_ref(), Some(&index));
    let start = Chess::default();
    let seen = index.seen(&start);
    let _ = keyproof::seen::played_next(&seen);
    for mv in start.legal_moves().into_iter().take(4) {
        let mut after = start.clone();
        after.play_unchecked(mv);
        let _ = index.seen(&after);
    }
    let _ = index.same_as(&pgn_read::read("1. e4 e5 *").remove(0).draft);
}

pub fn messages() -> Vec<Vec<u8>> {
    let ask = r#"{"Second":{"ticket":1,"claims":[],"budget":5}}"#;
    let earlier = r#"{"Earlier":{"language":"en","ask":{"Lookup":{"ticket":1,"game":"1. e4 *","fen":"8/8/8/8/8/8/8/8 w - - 0 1"}}}}"#;
    let told = r#"{"Progress":{"ticket":1,"nodes":7}}"#;
    bytes(&[ask, earlier, told, "\"Ready\""])
}

/// Messages between the page and its workers.
pub fn wire(data: &[u8]) {
    comes_back::<Ask>(data);
    comes_back::<Told>(data);
}

/// Places and bytes that are changed.
pub fn patches() -> Vec<Vec<u8>> {
    vec![
        vec![0],
        vec![1, 0, 0, 9, 7],
        vec![1, 0, 1, 0, 7, 0, 90, 0, 255],
        vec![0, 0, 0, 3, 1],
    ]
}

/// `own` with bytes changed, cut or grown, and signed anew by `sign` where that is wished.
fn patched(mut own: Vec<u8>, data: &[u8], sign: fn(&[u8]) -> u64) -> Vec<u8> {
    let mut choices = Choices::new(data);
    let signed = choices.byte();
    while choices.goes_on() && !own.is_empty() {
        let place = usize::from(choices.byte()) << 16
            | usize::from(choices.byte()) << 8
            | usize::from(choices.byte());
        let place = place % own.len();
        own[place] = choices.byte();
    }
    if signed & 2 != 0 {
        own.truncate(own.len() - own.len().min(usize::from(signed) + 1));
    }
    if signed & 1 != 0
        && let Some((content, sum)) = own.split_last_chunk_mut::<8>()
    {
        *sum = sign(content).to_le_bytes();
    }
    own
}

/// A network of any bytes is refused, or gives every position a value.
pub fn network(data: &[u8]) {
    static OWN: &[u8] = include_bytes!("../../search/src/network.bin");
    let fnv = |bytes: &[u8]| {
        bytes.iter().fold(0xcbf2_9ce4_8422_2325, |sum: u64, &byte| {
            (sum ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
        })
    };
    for bytes in [data.to_vec(), patched(OWN.to_vec(), data, fnv)] {
        if let Ok(network) = Network::read(&bytes) {
            for start in texts::fens() {
                let start = position(&String::from_utf8_lossy(&start));
                let _ = network.of(start.board(), start.turn());
            }
        }
    }
}

/// A kept table of any bytes is refused, or answers.
pub fn table(data: &[u8]) {
    static OWN: OnceLock<Vec<u8>> = OnceLock::new();
    let own = OWN.get_or_init(|| {
        let mut tables = Tables::new();
        let rook = Material::read("KRvK");
        let made = rook.filter(|&rook| tables.make(rook, &mut Unwatched));
        made.and_then(|rook| tables.save(rook)).unwrap_or_default()
    });
    let sum = |bytes: &[u8]| {
        bytes
            .chunks(8)
            .fold(0xcbf2_9ce4_8422_2325, |sum: u64, chunk| {
                let mut word = [0; 8];
                word[..chunk.len()].copy_from_slice(chunk);
                (sum ^ u64::from_le_bytes(word)).wrapping_mul(0x0100_0000_01b3)
            })
    };
    for bytes in [data.to_vec(), patched(own.clone(), data, sum)] {
        let mut tables = Tables::new();
        if tables.load(bytes).is_ok() {
            for fen in [
                "8/8/8/8/8/2k5/8/K6R w - - 0 1",
                "8/8/8/4k3/8/8/8/K6R b - - 0 1",
            ] {
                let _ = tables.made(&position(fen));
            }
        }
    }
}

pub fn endings() -> Vec<Vec<u8>> {
    // A file begins with four bytes of magic; what follows is made up.
    vec![
        vec![0x71, 0xe8, 0x23, 0x5d, 1, 1, 0, 0],
        vec![0xd7, 0x66, 0x0c, 0xa5, 1, 1, 0, 0],
    ]
}

/// Syzygy files of any bytes answer, or are noted as faulty.
pub fn syzygy(data: &[u8]) {
    let half = data.len() / 2;
    // Their lengths are multiples of 64 and 16 more.
    let file = |magic: [u8; 4], data: &[u8]| {
        let mut bytes = magic.to_vec();
        bytes.extend(data);
        bytes.resize(bytes.len().next_multiple_of(64) + 16, 0);
        bytes
    };
    let files = [
        ("KRvK.rtbw", file([0x71, 0xe8, 0x23, 0x5d], &data[..half])),
        ("KRvK.rtbz", file([0xd7, 0x66, 0x0c, 0xa5], &data[half..])),
        ("KPvK.rtbw", file([0x71, 0xe8, 0x23, 0x5d], &data[half..])),
        ("KQvK.rtbw", data.to_vec()),
    ];
    let files = FilesInMemory(files.map(|(name, bytes)| (name.to_owned(), bytes)).into());
    let Ok(opened) = Syzygy::open(Arc::new(files)) else {
        return;
    };
    for fen in [
        "8/8/8/8/8/2k5/8/K6R w - - 0 1",
        "8/8/8/4k3/8/8/P7/K7 b - - 3 9",
        "8/8/8/4k3/8/8/8/K6Q b - - 0 1",
    ] {
        let at = position(fen);
        let _ = (opened.exact(&at), opened.best(&at));
    }
    let _ = opened.faults();
}
