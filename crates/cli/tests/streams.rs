//! Input of any length: kept work, interrupts, closed pipes, full disks, packed files,
//! and input that is made to hurt. The positions are of our own making.

use std::fs::{self, File};
use std::io::{BufRead, BufReader, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};

/// A rook mates on the back rank, and nothing else does.
fn puzzle(number: usize) -> String {
    let file = char::from(b'a' + (number % 4) as u8);
    let (before, after) = (number % 4, 5 - number % 4);
    let row: String = [before, after]
        .iter()
        .map(|&empty| match empty {
            0 => String::new(),
            _ => empty.to_string(),
        })
        .collect::<Vec<_>>()
        .join("R");
    format!(
        "[Event \"Evening {number}\"]\n[SetUp \"1\"]\n[FEN \"6k1/5ppp/8/8/8/8/8/{row}K1 w - - 0 1\"]\n\
         [Stipulation \"#1\"]\n\n1. R{file}8# *\n\n"
    )
}

fn puzzles(count: usize) -> String {
    (1..=count).map(puzzle).collect()
}

/// One that takes hours without a bound: a long mate that is not there.
const ENDLESS: &str = "[Event \"Long\"]\n[SetUp \"1\"]\n\
    [FEN \"rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1\"]\n[Stipulation \"#40\"]\n\n1. e4 *\n";

#[test]
fn each_result_is_a_line_in_the_order_of_the_input_or_as_it_is_done() {
    let folder = folder("lines");
    let file = file(&folder, "many.pgn", &puzzles(300));
    let ordered = run(&folder, &["check", &file, "--json"]);
    assert_eq!(ordered.status.code(), Some(0));
    let indices: Vec<u64> = rows(&ordered.stdout)
        .iter()
        .map(|row| row["index"].as_u64().unwrap())
        .collect();
    assert_eq!(indices, (1..=300).collect::<Vec<_>>());
    let unordered = run(&folder, &["check", &file, "--json", "--unordered"]);
    assert_eq!(sorted(&unordered.stdout), sorted(&ordered.stdout));
    let exported = run(&folder, &["export", &file, "--to-pgn"]);
    let unordered = run(&folder, &["export", &file, "--to-pgn", "--unordered"]);
    assert_eq!(sorted(&unordered.stdout), sorted(&exported.stdout));
}

#[test]
fn what_is_kept_is_not_done_anew() {
    let folder = folder("keep");
    let text = puzzles(40) + "[Event \"Half a tag\n\n1. e4 *\n";
    let file = file(&folder, "many.pgn", &text);
    let keep = folder.join("kept.lines");
    let check = ["check", &file, "--json", "--keep", "kept.lines"];
    let first = run(&folder, &check);
    assert_eq!(
        first.stdout,
        run(&folder, &["check", &file, "--json"]).stdout
    );
    let kept = fs::read(&keep).unwrap();
    assert_eq!(kept.iter().filter(|&&byte| byte == b'\n').count(), 42);
    // What is kept is believed, so that one sees where a result comes from.
    let marked = String::from_utf8(kept.clone()).unwrap();
    let marked = marked.replace("\"nodes\":", "\"nodes\":7770");
    fs::write(&keep, &marked).unwrap();
    let again = run(&folder, &check);
    assert_eq!(fs::read(&keep).unwrap(), marked.as_bytes());
    assert_eq!(again.status.code(), first.status.code());
    let nodes = |row: &serde_json::Value| row["nodes"].as_u64().unwrap() >= 7770;
    assert!(rows(&again.stdout).iter().all(nodes));
    // Asked otherwise, it is done anew.
    let other = [&check[..], &["--nodes", "1000"]].concat();
    assert!(!rows(&run(&folder, &other).stdout).iter().any(nodes));
    // Places follow the text, wherever it stands now.
    fs::write(folder.join("many.pgn"), format!("{}\n\n{text}", puzzle(99))).unwrap();
    let moved = rows(&run(&folder, &check).stdout);
    let place = |row: &serde_json::Value| row["findings"][0]["place"]["line"].as_u64();
    let before = place(rows(&first.stdout).last().unwrap()).unwrap();
    assert_eq!(place(moved.last().unwrap()), Some(before + 9));
    assert_eq!(moved.last().unwrap()["index"], 42);
}

#[test]
#[cfg(unix)]
fn a_run_that_is_killed_loses_no_line() {
    let folder = folder("killed");
    let file = file(&folder, "many.pgn", &(puzzles(60) + ENDLESS));
    let check = ["check", &file, "--json", "--keep", "kept.lines"];
    let mut child = begin(&folder, &check);
    let mut out = BufReader::new(child.stdout.take().unwrap());
    let mut line = String::new();
    for _ in 0..60 {
        out.read_line(&mut line).unwrap();
    }
    child.kill().unwrap();
    child.wait().unwrap();
    let kept = fs::read(folder.join("kept.lines")).unwrap();
    assert_eq!(kept.iter().filter(|&&byte| byte == b'\n').count(), 61);
    // As if it had been killed while it wrote the last line.
    fs::write(folder.join("kept.lines"), &kept[..kept.len() - 9]).unwrap();
    fs::write(folder.join("many.pgn"), puzzles(60)).unwrap();
    let again = run(&folder, &check);
    assert_eq!(String::from_utf8(again.stdout).unwrap(), line);
    assert!(said(&again.stderr).contains("was not written to its end"));
    let mut whole = sorted(&fs::read(folder.join("kept.lines")).unwrap());
    whole.dedup();
    assert_eq!(whole, sorted(&kept));
}

#[test]
#[cfg(unix)]
fn an_interrupt_ends_it_with_what_is_done() {
    let folder = folder("interrupt");
    let file = file(&folder, "many.pgn", &(puzzles(20) + ENDLESS + &puzzles(20)));
    for signal in ["-INT", "-TERM"] {
        let mut child = begin(&folder, &["check", &file, "--json"]);
        let mut out = BufReader::new(child.stdout.take().unwrap());
        let mut lines = String::new();
        for _ in 0..20 {
            out.read_line(&mut lines).unwrap();
        }
        let sent = Command::new("kill")
            .arg(signal)
            .arg(child.id().to_string())
            .status();
        assert!(sent.unwrap().success());
        out.read_to_string(&mut lines).unwrap();
        assert_eq!(child.wait().unwrap().code(), Some(130));
        assert_eq!(rows(lines.as_bytes()).len(), 20);
        let mut words = String::new();
        child
            .stderr
            .take()
            .unwrap()
            .read_to_string(&mut words)
            .unwrap();
        assert!(words.contains("note: stopped"), "{words}");
    }
}

#[test]
#[cfg(unix)]
fn an_interrupt_leaves_the_old_file_and_what_is_done_beside_it() {
    let folder = folder("interrupt-file");
    let file = file(&folder, "many.pgn", &(puzzles(5) + ENDLESS));
    fs::write(folder.join("out.pgn"), "as it was").unwrap();
    let mut child = begin(&folder, &["complete", &file, "-o", "out.pgn"]);
    let mut err = BufReader::new(child.stderr.take().unwrap());
    let mut words = String::new();
    for _ in 0..5 {
        err.read_line(&mut words).unwrap();
    }
    let sent = Command::new("kill")
        .arg("-INT")
        .arg(child.id().to_string())
        .status();
    assert!(sent.unwrap().success());
    err.read_to_string(&mut words).unwrap();
    assert_eq!(child.wait().unwrap().code(), Some(130), "{words}");
    assert_eq!(
        fs::read_to_string(folder.join("out.pgn")).unwrap(),
        "as it was"
    );
    assert!(words.contains("out.pgn.part"), "{words}");
    let part = fs::read_to_string(folder.join("out.pgn.part")).unwrap();
    assert!(
        part.contains("Evening 5") && !part.contains("Long"),
        "{part}"
    );
}

#[test]
fn a_closed_pipe_ends_it() {
    let folder = folder("pipe");
    let file = file(&folder, "many.pgn", &puzzles(3000));
    for task in [
        &["check", &file, "--json"][..],
        &["export", &file, "--to-pgn"],
    ] {
        let mut child = begin(&folder, task);
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap())
            .read_line(&mut line)
            .unwrap();
        let output = child.wait_with_output().unwrap();
        assert_eq!(
            (output.status.code(), said(&output.stderr)),
            (Some(0), String::new())
        );
    }
}

#[test]
#[cfg(target_os = "linux")]
fn a_full_disk_leaves_the_old_file_whole() {
    let folder = folder("full");
    let file = file(&folder, "many.pgn", &puzzles(200));
    fs::write(folder.join("out.pgn"), "as it was").unwrap();
    // No file may take more than a few blocks of 512 bytes, as if the disk were full.
    let limited = |task: &str| {
        let command = env!("CARGO_BIN_EXE_keyproof");
        let script = format!("trap '' XFSZ; ulimit -f 8; exec {command} {task}");
        let mut shell = Command::new("sh");
        shell
            .args(["-c", &script])
            .current_dir(&folder)
            .output()
            .unwrap()
    };
    for task in [
        format!("export {file} --to-pgn -o out.pgn"),
        format!("complete {file} -o out.pgn"),
        format!("handout {file} -o out.pgn"),
        format!("moments {file} --nodes 1000 --lesson out.pgn"),
    ] {
        let ran = limited(&task);
        assert_eq!(ran.status.code(), Some(2), "{task}");
        assert!(
            said(&ran.stderr).contains("out.pgn: "),
            "{}",
            said(&ran.stderr)
        );
        let old = fs::read_to_string(folder.join("out.pgn")).unwrap();
        assert_eq!(old, "as it was", "{task}");
        assert!(!folder.join("out.pgn.part").exists(), "{task}");
    }
    // Of what is kept, each line is whole.
    let ran = limited(&format!("check {file} --json --keep kept.lines"));
    assert_eq!(ran.status.code(), Some(2));
    assert!(
        said(&ran.stderr).contains("kept.lines: "),
        "{}",
        said(&ran.stderr)
    );
    let kept = fs::read_to_string(folder.join("kept.lines")).unwrap();
    assert!(kept.ends_with("}\n") && kept.lines().count() > 2, "{kept}");
    let again = run(&folder, &["check", &file, "--json", "--keep", "kept.lines"]);
    assert_eq!(
        (again.status.code(), said(&again.stderr)),
        (Some(0), String::new())
    );
}

/// A text packed as RFC 8878 has it: a frame to be skipped (3.1.2), then frames of raw
/// blocks (3.1.1), one for each part, without checksum.
fn packed(parts: &[&str]) -> Vec<u8> {
    let mut bytes = vec![0x5a, 0x2a, 0x4d, 0x18, 3, 0, 0, 0, 1, 2, 3];
    for part in parts {
        // Magic number; descriptor: a single segment with a content size of 4 bytes.
        bytes.extend([0x28, 0xb5, 0x2f, 0xfd, 0b1010_0000]);
        bytes.extend((part.len() as u32).to_le_bytes());
        let blocks: Vec<&[u8]> = part.as_bytes().chunks(1 << 16).collect();
        for (i, block) in blocks.iter().enumerate() {
            let last = u32::from(i + 1 == blocks.len());
            bytes.extend(&(last | (block.len() as u32) << 3).to_le_bytes()[..3]);
            bytes.extend(*block);
        }
    }
    bytes
}

#[test]
fn packed_files_are_read_as_what_they_hold() {
    let folder = folder("packed");
    let text = puzzles(500);
    let plain = file(&folder, "many.pgn", &text);
    let (begin, rest) = text.split_at(text.len() / 3);
    fs::write(folder.join("packed.pgn.zst"), packed(&[begin, rest])).unwrap();
    let expected = run(&folder, &["export", &plain, "--to-pgn"]).stdout;
    assert_eq!(
        run(&folder, &["export", "packed.pgn.zst", "--to-pgn"]).stdout,
        expected
    );
    // Whatever its name, and from a folder by its name.
    fs::create_dir(folder.join("inside")).unwrap();
    fs::rename(
        folder.join("packed.pgn.zst"),
        folder.join("inside/b.pgn.zst"),
    )
    .unwrap();
    assert_eq!(
        run(&folder, &["export", "inside", "--to-pgn"]).stdout,
        expected
    );
    let bytes = fs::read(folder.join("inside/b.pgn.zst")).unwrap();
    let mut child = begin_with(&folder, &["export", "-", "--to-pgn"], Stdio::piped());
    let mut stdin = child.stdin.take().unwrap();
    let feeder = std::thread::spawn(move || stdin.write_all(&bytes));
    assert_eq!(child.wait_with_output().unwrap().stdout, expected);
    feeder.join().unwrap().unwrap();
    // Cut short, what is there is read, and the rest is missed.
    let bytes = fs::read(folder.join("inside/b.pgn.zst")).unwrap();
    fs::write(folder.join("cut.pgn.zst"), &bytes[..bytes.len() / 2]).unwrap();
    let cut = run(&folder, &["export", "cut.pgn.zst", "--to-pgn"]);
    assert_eq!(cut.status.code(), Some(2));
    assert!(
        said(&cut.stderr).contains("cut.pgn.zst: cannot be unpacked"),
        "{}",
        said(&cut.stderr)
    );
    assert!(expected.starts_with(&cut.stdout[..cut.stdout.len() / 2]) && !cut.stdout.is_empty());
}

#[test]
fn a_packed_file_that_becomes_a_thousand_times_larger_is_refused() {
    let folder = folder("bomb");
    // Blocks of one byte repeated 128 KB (RFC 8878, 3.1.1.2): 10 GB in 320 KB.
    let mut bytes = vec![0x28, 0xb5, 0x2f, 0xfd, 0, 13 << 3];
    for i in 0..80_000u32 {
        let last = u32::from(i == 79_999);
        bytes.extend(&(last | 1 << 1 | (128 << 10) << 3).to_le_bytes()[..3]);
        bytes.push(b' ');
    }
    fs::write(folder.join("bomb.pgn.zst"), bytes).unwrap();
    let ran = run(&folder, &["check", "bomb.pgn.zst"]);
    assert_eq!(ran.status.code(), Some(2));
    let words = said(&ran.stderr);
    assert!(
        words.contains("bomb.pgn.zst: ") && words.contains("1000 times its size"),
        "{words}"
    );
    // One that refers back too far: a window of 2^41 bytes (3.1.1.1.2).
    fs::write(
        folder.join("far.pgn.zst"),
        [0x28, 0xb5, 0x2f, 0xfd, 0, 31 << 3, 1, 0, 0],
    )
    .unwrap();
    let ran = run(&folder, &["check", "far.pgn.zst"]);
    assert_eq!(ran.status.code(), Some(2));
    assert!(
        said(&ran.stderr).contains("cannot be unpacked"),
        "{}",
        said(&ran.stderr)
    );
}

/// Reads a stream that is made as it is read.
fn fed(
    folder: &Path,
    task: &[&str],
    parts: impl Iterator<Item = Vec<u8>> + Send + 'static,
) -> Output {
    let mut child = begin_with(folder, task, Stdio::piped());
    let mut stdin = child.stdin.take().unwrap();
    let feeder = std::thread::spawn(move || parts.for_each(|part| _ = stdin.write_all(&part)));
    let output = child.wait_with_output().unwrap();
    feeder.join().unwrap();
    output
}

#[test]
fn what_is_too_long_is_named_with_its_place_and_the_bound() {
    let folder = folder("too-long");
    let neighbours = |middle: Vec<u8>, times: usize| {
        let before = std::iter::once(puzzle(1).into_bytes());
        let middle = std::iter::repeat_n(middle, times);
        let after =
            std::iter::once(b"\n\n".to_vec()).chain(std::iter::once(puzzle(2).into_bytes()));
        before.chain(middle).chain(after)
    };
    // A comment that never ends, a line that never ends, variations without end.
    for (begin, part) in [
        (&b"[Event \"x\"]\n\n1. e4 {"[..], "word ".repeat(100_000)),
        (b"[Event \"x\"]\n\n", "x".repeat(500_000)),
        (b"[Event \"x\"]\n\n1. e4 ", "(1. d4 \n".repeat(50_000)),
    ] {
        let mut parts: Vec<Vec<u8>> = neighbours(part.into_bytes(), 20).collect();
        parts.insert(1, begin.to_vec());
        let ran = fed(&folder, &["check", "-", "--json"], parts.into_iter());
        assert_eq!(ran.status.code(), Some(2));
        let words = said(&ran.stderr);
        let told = "-, game 2, line 8: left out: it takes more than 4,000,000 bytes, the most";
        assert!(words.contains(told), "{words}");
        let titles: Vec<String> = rows(&ran.stdout)
            .iter()
            .map(|row| row["title"].to_string())
            .collect();
        assert_eq!(titles, ["\"Evening 1\"", "\"Evening 2\""]);
    }
    let epd = folder.join("long.epd");
    let record = "6k1/5ppp/8/8/8/8/8/R5K1 w - - bm Ra8#; dm 1;\n";
    fs::write(&epd, format!("{record}{}\n{record}", "x".repeat(70_000))).unwrap();
    let ran = run(&folder, &["check", "long.epd", "--json"]);
    let told = "long.epd, game 2, line 2: left out: it takes more than 64,000 bytes";
    assert!(said(&ran.stderr).contains(told), "{}", said(&ran.stderr));
    assert_eq!((ran.status.code(), rows(&ran.stdout).len()), (Some(2), 2));
}

#[test]
fn what_is_too_many_is_named_with_its_place_and_the_bound() {
    let folder = folder("too-many");
    let with = |tags: &str, moves: &str| {
        puzzle(1)
            .replace("[SetUp", &format!("{tags}[SetUp"))
            .replace(" *", &format!(" {moves} *"))
    };
    let tags: String = (0..10_000).map(|i| format!("[T{i} \"x\"]\n")).collect();
    for (text, told) in [
        (with(&tags, ""), "at most 1,000 tags in a game"),
        (
            with("", &"(1. Kf1) ".repeat(150_000)),
            "at most 100,000 moves in a game",
        ),
        (
            with("", &"(1. Kf1 ".repeat(5_000)),
            "a ) that ends this variation",
        ),
        (
            with("", &"$ ".repeat(5_000)),
            "at most 1,000 faults in a game",
        ),
        (puzzle(1).replace("#1", "#255"), "#255"),
        (puzzle(1).replace("#1", "s#500"), "s#500"),
    ] {
        let file = file(&folder, "hard.pgn", &(text + "\n" + &puzzle(2)));
        let ran = run(&folder, &["check", &file, "--json", "--nodes", "1000"]);
        let rows = rows(&ran.stdout);
        assert_eq!(rows.len(), 2, "{told}");
        assert_eq!(rows[0]["verdict"], "unsound", "{told}");
        assert_eq!(rows[1]["verdict"], "sound", "{told}");
        let findings = rows[0]["findings"].to_string();
        assert!(
            findings.contains(told),
            "{told}: {}",
            &findings[..findings.len().min(2000)]
        );
    }
}

#[test]
fn bytes_that_are_no_text_are_read_and_said() {
    let folder = folder("bytes");
    let mut latin = puzzle(1).into_bytes();
    latin.extend(b"[Event \"Ren\xe9\"]\n\n{\0\0\0 \xff} 1. e4 *\n\n");
    latin.extend(puzzle(3).bytes());
    fs::write(folder.join("latin.pgn"), latin).unwrap();
    let ran = run(&folder, &["check", "latin.pgn", "--json"]);
    assert_eq!(ran.status.code(), Some(1));
    assert_eq!(rows(&ran.stdout)[1]["title"], "Ren\u{e9}");
    let told = "latin.pgn, line 8: no UTF-8; this line and those like it are read as Latin-1";
    assert_eq!(
        said(&ran.stderr).matches(told).count(),
        1,
        "{}",
        said(&ran.stderr)
    );
}

fn rows(out: &[u8]) -> Vec<serde_json::Value> {
    let text = std::str::from_utf8(out).unwrap().lines();
    text.map(|line| serde_json::from_str(line).unwrap_or_else(|e| panic!("{e}: {line}")))
        .collect()
}

fn sorted(out: &[u8]) -> Vec<String> {
    let mut lines: Vec<String> = said(out).lines().map(str::to_owned).collect();
    lines.sort();
    lines
}

fn said(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

fn run(folder: &Path, args: &[&str]) -> Output {
    begin(folder, args).wait_with_output().unwrap()
}

fn begin(folder: &Path, args: &[&str]) -> Child {
    begin_with(folder, args, Stdio::null())
}

fn begin_with(folder: &Path, args: &[&str], stdin: Stdio) -> Child {
    Command::new(env!("CARGO_BIN_EXE_keyproof"))
        .env("XDG_CACHE_HOME", env!("CARGO_TARGET_TMPDIR"))
        .current_dir(folder)
        .args(args)
        .stdin(stdin)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap()
}

/// A folder for one test, empty at the start.
fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR"))
        .join("streams")
        .join(name);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    folder
}

/// A file of a folder, by its name there.
fn file(folder: &Path, name: &str, text: &str) -> String {
    File::create(folder.join(name))
        .unwrap()
        .write_all(text.as_bytes())
        .unwrap();
    name.to_owned()
}
