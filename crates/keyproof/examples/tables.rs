//! Makes endgame tables and tells what they took, for `cargo xtask bench`.
//!
//! `tables NAME...` (all materials when none is named): one line of JSON per
//! table: seconds (smaller tables not counted), bytes in memory and kept, and
//! the longest wins of White and of Black, in moves.
//!
//! `tables - < FENS`: one result a line, `win N`, `draw`, `loss N` or `none`.

use std::io::BufRead;
use std::time::Instant;

use keyproof::notation::fen;
use keyproof::prove::Unwatched;
use keyproof::tables::{Material, TableResult, Tables};

fn main() -> Result<(), String> {
    let names: Vec<String> = std::env::args().skip(1).collect();
    let mut tables = Tables::new();
    if names == ["-"] {
        for line in std::io::stdin().lock().lines() {
            let line = line.map_err(|e| e.to_string())?;
            println!("{}", answer(&mut tables, &line));
        }
        return Ok(());
    }
    let mut wanted = Vec::new();
    for name in &names {
        wanted.push(Material::read(name).ok_or(format!("no material: {name}"))?);
    }
    if wanted.is_empty() {
        wanted = Material::all();
    }
    for material in wanted {
        for part in tables.missing(material) {
            let begin = Instant::now();
            tables.make(part, &mut Unwatched);
            let seconds = begin.elapsed().as_secs_f64();
            let content = tables.content(part).ok_or("not made")?;
            let kept = tables.save(part).map_or(0, |bytes| bytes.len());
            let [white, black] = content
                .longest
                .map(|n| n.map_or("null".into(), |n| n.to_string()));
            println!(
                "{{\"table\":\"{part}\",\"seconds\":{seconds:.2},\"bytes\":{},\"kept\":{kept},\
                 \"white\":{white},\"black\":{black}}}",
                content.bytes
            );
        }
    }
    Ok(())
}

fn answer(tables: &mut Tables, text: &str) -> String {
    let position = fen::read(text).ok();
    match position.and_then(|position| tables.probe(&position, &mut Unwatched)) {
        Some(TableResult::Win(n)) => format!("win {n}"),
        Some(TableResult::Draw) => "draw".into(),
        Some(TableResult::Loss(n)) => format!("loss {n}"),
        None => "none".into(),
    }
}
