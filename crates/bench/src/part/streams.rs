//! What the command takes for streams: memory for a hundred puzzles and for a hundred
//! thousand, the share of the cores that there is work for, and what hostile input costs.
//!
//! The command is `--command=PATH`, else `dist/keyproof`. The
//! puzzles are made here, by a seed; `--puzzles=N` asks for another number of them,
//! and `--games=FILE` for games of your own beside them.

use std::collections::BTreeMap;
use std::ffi::OsString;
use std::fs::{self, File};
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use crate::Setting;
use crate::print::{heading, short};

/// How often the memory of a run is asked for.
const STEP: Duration = Duration::from_millis(5);
/// A run of the command.
struct Ran {
    code: Option<i32>,
    seconds: f64,
    /// Which share of its time it had work for each core: what others take of the cores
    /// does not count against it.
    busy: f64,
    /// The most memory it had, in MB.
    peak: f64,
    /// The last line on standard error.
    said: String,
}

pub fn run(setting: &Setting) -> Result<(), String> {
    heading("Streams");
    let command = setting.options.get("command").map(String::as_str);
    let command = command.unwrap_or("dist/keyproof");
    let folder = PathBuf::from("target/bench/streams");
    fs::create_dir_all(&folder).map_err(|fault| fault.to_string())?;
    let most = setting
        .number("puzzles")?
        .unwrap_or(setting.of(100_000, 10_000));
    let mut peaks = Vec::new();
    println!(
        "{:<44} {:>8} {:>9} {:>8} {:>6}",
        "", "seconds", "a second", "MB", "busy"
    );
    let tell = |what: &str, count: usize, ran: &Ran| {
        println!(
            "{what:<44} {:>8} {:>9} {:>8} {:>6}",
            short(ran.seconds),
            short(count as f64 / ran.seconds),
            short(ran.peak),
            short(ran.busy)
        );
    };
    for count in [100, most / 10, most] {
        let file = folder.join(format!("{count}.pgn"));
        write_puzzles(&file, count).map_err(|fault| fault.to_string())?;
        let ran = ran(command, &["check", "--json"], &file)?;
        tell(&format!("check, {count} puzzles"), count, &ran);
        peaks.push(ran.peak);
    }
    let last = folder.join(format!("{most}.pgn"));
    for task in [
        &["check", "--json", "--unordered"][..],
        &["export", "--to-epd"],
        &["export", "--to-pgn"],
        &["complete"],
    ] {
        let ran = ran(command, task, &last)?;
        tell(&format!("{}, {most} puzzles", task.join(" ")), most, &ran);
    }
    if let Some(games) = setting.options.get("games").map(PathBuf::from) {
        for task in [
            &["export", "--to-pgn"][..],
            &["moments", "--nodes", "1000", "--json"],
        ] {
            let ran = ran(command, task, &games)?;
            tell(&format!("{}, {}", task.join(" "), games.display()), 0, &ran);
        }
    }
    let [small, tenth, whole] = peaks[..] else {
        unreachable!("three runs")
    };
    println!(
        "Memory at {most} puzzles over that at {}: {}; over that at 100: {}",
        most / 10,
        short(whole / tenth),
        short(whole / small)
    );
    hostile(command, &folder)
}

/// What was made to hurt.
fn hostile(command: &str, folder: &Path) -> Result<(), String> {
    println!(
        "\n{:<28} {:>8} {:>8} {:>5}  said",
        "hostile", "seconds", "MB", "exit"
    );
    let puzzle = |tags: &str, moves: &str| {
        format!(
            "{tags}[FEN \"6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n{moves} *\n"
        )
    };
    let tags: String = (0..10_000).map(|i| format!("[T{i} \"x\"]\n")).collect();
    let deep = format!("1. Ra8# {}", "(1. Ra7 ".repeat(100_000));
    let long = "[Stipulation \"s#500\"]\n[FEN \"6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1\"]\n\n1. Ra7 *\n";
    for (name, text) in [
        (
            "comment of 50 MB",
            puzzle("", &format!("1. Ra8# {{{}}}", "word ".repeat(10_000_000))),
        ),
        (
            "100,000 variations",
            puzzle("", &format!("1. Ra8# {}", "(1. Ra7) ".repeat(100_000))),
        ),
        ("variations 100,000 deep", puzzle("", &deep)),
        ("10,000 tags", puzzle(&tags, "1. Ra8#")),
        ("selfmate in 500", long.to_owned()),
        ("#255", puzzle("", "1. Ra8#").replace("#1", "#255")),
        (
            "1,000,000 NULs",
            puzzle("", &format!("1. Ra8# {{{}}}", "\0".repeat(1_000_000))),
        ),
        ("bad UTF-8, 1 MB", String::new()),
        ("line of 1 GB", String::new()),
    ] {
        let file = folder.join("hostile.pgn");
        let mut out = BufWriter::new(File::create(&file).map_err(|fault| fault.to_string())?);
        let written = match name {
            "bad UTF-8, 1 MB" => out.write_all(&[0xff; 1_000_000]),
            "line of 1 GB" => (0..1000).try_for_each(|_| out.write_all(&[b'x'; 1_000_000])),
            _ => out.write_all(text.as_bytes()),
        };
        written
            .and_then(|()| out.flush())
            .map_err(|fault| fault.to_string())?;
        let ran = ran(command, &["check"], &file)?;
        println!(
            "{name:<28} {:>8} {:>8} {:>5}  {}",
            short(ran.seconds),
            short(ran.peak),
            ran.code.map_or("none".to_owned(), |code| code.to_string()),
            ran.said.chars().take(90).collect::<String>()
        );
        fs::remove_file(&file).map_err(|fault| fault.to_string())?;
    }
    Ok(())
}

/// Runs the command over a file and watches what it takes.
fn ran(command: &str, task: &[&str], file: &Path) -> Result<Ran, String> {
    let said = file.with_extension("said");
    let begin = Instant::now();
    let mut child = Command::new(command)
        .args(task)
        .arg(file)
        .stdout(Stdio::null())
        .stderr(File::create(&said).map_err(|fault| fault.to_string())?)
        .spawn()
        .map_err(|fault| format!("{command}: {fault}"))?;
    let (mut peak, mut threads) = (0.0, BTreeMap::new());
    let code = loop {
        peak = memory(child.id()).unwrap_or(peak);
        at_work(child.id(), &mut threads);
        match child.try_wait().map_err(|fault| fault.to_string())? {
            Some(status) => break status.code(),
            None => thread::sleep(STEP),
        }
    };
    let seconds = begin.elapsed().as_secs_f64();
    let words = fs::read_to_string(&said).map_err(|fault| fault.to_string())?;
    let cores = thread::available_parallelism().map_or(1, usize::from);
    let mut threads: Vec<f64> = threads.into_values().collect();
    threads.sort_by(|a, b| b.total_cmp(a));
    let busy: f64 = threads.iter().take(cores).sum();
    Ok(Ran {
        code,
        seconds,
        busy: busy / seconds / cores as f64,
        peak,
        said: words.lines().last().unwrap_or_default().to_owned(),
    })
}

/// The most memory that a process had so far, in MB (proc_pid_status(5): VmHWM).
fn memory(id: u32) -> Option<f64> {
    let status = fs::read_to_string(format!("/proc/{id}/status")).ok()?;
    let line = status
        .lines()
        .find_map(|line| line.strip_prefix("VmHWM:"))?;
    let kib: f64 = line.trim().strip_suffix(" kB")?.trim().parse().ok()?;
    Some(kib * 1024.0 / 1e6)
}

/// Seconds that each thread of a process ran or waited for a core (the first two fields of
/// `/proc/PID/task/TID/schedstat`, in nanoseconds: sched-stats.rst of the Linux kernel).
fn at_work(id: u32, threads: &mut BTreeMap<OsString, f64>) {
    let Ok(tasks) = fs::read_dir(format!("/proc/{id}/task")) else {
        return;
    };
    for task in tasks.flatten() {
        let text = fs::read_to_string(task.path().join("schedstat")).unwrap_or_default();
        let fields: Option<Vec<f64>> = text
            .split_whitespace()
            .take(2)
            .map(|field| field.parse().ok())
            .collect();
        if let Some([ran, waited]) = fields.as_deref() {
            threads.insert(task.file_name(), (ran + waited) / 1e9);
        }
    }
}

/// Puzzles of an invented club by a seed: a rook comes to the back rank. Some are
/// sound and some are not.
fn write_puzzles(file: &Path, count: usize) -> std::io::Result<()> {
    let mut out = BufWriter::new(File::create(file)?);
    let mut state: u64 = 0x5eed;
    let mut below = |most: u64| {
        // Knuth's constants (The Art of Computer Programming 2, 3.3.4), from memory.
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        ((state >> 33) % most) as usize
    };
    for number in 1..=count {
        let mut board = [[b' '; 8]; 8];
        let king = [0, 1, 6, 7][below(4)];
        board[0][king] = b'k';
        let wing = if king < 4 { 0 } else { 5 };
        board[1][wing..wing + 3].fill(b'p');
        let rook = if king < 4 { 3 + below(5) } else { below(5) };
        board[7][rook] = b'R';
        board[7][(rook + 1 + below(7)) % 8] = b'K';
        board[2 + below(4)][below(8)] = b" BNR"[below(4)];
        let rows: Vec<String> = board.iter().map(written).collect();
        write!(
            out,
            "[Event \"Evening {number}\"]\n[Site \"Harbour club\"]\n[SetUp \"1\"]\n[FEN \"{} w - - 0 1\"]\n\
             [Stipulation \"#1\"]\n\n{{Which move ends it?}} 1. R{}8# {{Down the open file.}} *\n\n",
            rows.join("/"),
            char::from(b'a' + rook as u8),
        )?;
    }
    out.flush()
}

/// A row of a board as FEN has it.
fn written(row: &[u8; 8]) -> String {
    let mut text = String::new();
    let mut empty = 0;
    for &man in row.iter().chain(b"|") {
        if man == b' ' {
            empty += 1;
            continue;
        }
        if empty > 0 {
            text.push_str(&empty.to_string());
            empty = 0;
        }
        if man != b'|' {
            text.push(char::from(man));
        }
    }
    text
}
