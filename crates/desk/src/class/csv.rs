//! What the class answered, as comma-separated values (RFC 4180) for a program of
//! spreadsheets: a line for each student.

use keyproof::tongue::tr;

use super::Lesson;
use super::table::{Answer, Students, Table, told};

/// The file, with a byte order mark, without which such programs take it for another
/// encoding (common practice, no source).
pub fn write(lesson: &Lesson) -> String {
    let table = Table::of(lesson);
    let questions = lesson.questions.iter().enumerate();
    let mut head = vec![tr("Student").to_owned()];
    head.extend(questions.map(|(i, q)| format!("{}. {}", i + 1, q.named())));
    head.extend(
        [
            tr("Found at once"),
            tr("Found"),
            tr("Shown"),
            tr("Wrong moves"),
            tr("To be seen again"),
        ]
        .map(str::to_owned),
    );
    let mut file = String::from("\u{feff}");
    line(&mut file, &head);
    for student in table.students(Students::Name) {
        line(&mut file, &row(&table, student));
    }
    file
}

fn row(table: &Table, student: usize) -> Vec<String> {
    let all = 0..table.lesson.questions.len();
    let mut row = vec![table.names[student].clone()];
    row.extend(all.clone().map(|q| match table.mark(student, q) {
        None => String::new(),
        Some(mark) if mark.moves.is_empty() => told(Some(mark)),
        Some(mark) => format!("{}: {}", told(Some(mark)), mark.played()),
    }));
    let count = |answers: &[Answer]| {
        let here = |&q: &usize| answers.contains(&Answer::of(table.mark(student, q)));
        all.clone().filter(here).count().to_string()
    };
    let marks = all.clone().filter_map(|q| table.mark(student, q));
    let wrong: u32 = marks.map(|mark| mark.mistakes).sum();
    let missed = table.missed_by(student);
    let missed: Vec<String> = missed.iter().map(|q| (q + 1).to_string()).collect();
    row.extend([
        count(&[Answer::AtOnce]),
        count(&[Answer::AtOnce, Answer::Found]),
        count(&[Answer::Shown]),
        wrong.to_string(),
        missed.join(" "),
    ]);
    row
}

fn line(file: &mut String, cells: &[String]) {
    let cells: Vec<String> = cells.iter().map(|text| cell(text)).collect();
    file.push_str(&cells.join(","));
    file.push_str("\r\n");
}

/// A cell, quoted where it must be. What a program would take for a formula gets an
/// apostrophe before it.
fn cell(text: &str) -> String {
    let guard = match text.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        true => "'",
        false => "",
    };
    let text = format!("{guard}{text}");
    match text.contains(['"', ',', '\r', '\n']) {
        true => format!("\"{}\"", text.replace('"', "\"\"")),
        false => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::class::table::tests::lesson;
    use std::io::Write as _;
    use std::process::{Command, Stdio};

    #[test]
    fn formulas_are_made_harmless_and_separators_quoted() {
        for (text, expected) in [
            ("=1+1", "'=1+1"),
            ("+1", "'+1"),
            ("-2,3", "\"'-2,3\""),
            ("@sum", "'@sum"),
            ("\tx", "'\tx"),
            ("a \"b\"\nc", "\"a \"\"b\"\"\nc\""),
            ("plain = text", "plain = text"),
        ] {
            assert_eq!(cell(text), expected);
        }
    }

    /// Read back by Python's csv module, which knows nothing of ours.
    #[test]
    fn another_program_reads_the_same_table() {
        let mut lesson = lesson(&[
            ("Zoë, \"Z\"", "0 0=0:Ra7 Rb8#\n1 0=2:Rb7? Rb7? Ra7 Rb8#\n"),
            ("=cmd()", "2 0=1s:Kf2?\n"),
        ]);
        lesson.questions[1].title = "Two, \"corridors\"".into();
        let script = "import csv, io, sys\n\
            text = sys.stdin.buffer.read().decode('utf-8-sig')\n\
            for row in csv.reader(io.StringIO(text, newline=''), strict=True): print('|'.join(row))";
        let mut python = Command::new("python3")
            .args(["-c", script])
            .env("PYTHONIOENCODING", "utf-8")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("python3");
        let mut stdin = python.stdin.take().unwrap();
        stdin.write_all(write(&lesson).as_bytes()).unwrap();
        drop(stdin);
        let output = python.wait_with_output().unwrap();
        assert!(output.status.success());
        let text = String::from_utf8(output.stdout).unwrap();
        let rows: Vec<&str> = text.lines().collect();
        assert_eq!(
            rows,
            [
                "Student|1. Corridor 0|2. Two, \"corridors\"|3. Corridor 2|Found at once|Found|Shown|Wrong moves|To be seen again",
                "'=cmd()|||shown, 1 wrong move: Kf2?|0|0|1|1|3",
                "Zoë, \"Z\"|found at once: Ra7 Rb8#|found, 2 wrong moves: Rb7? Rb7? Ra7 Rb8#||1|2|0|2|2",
            ]
        );
    }
}
