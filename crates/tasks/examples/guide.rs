//! The guide's table in Rust: reads the puzzles, the game and the page that it names from
//! a folder, does each of its tasks, and prints a line of JSON for each. A test holds what
//! stands here to the guide, and what is printed to the other languages.
//!
//!     guide FOLDER FEN ENDING

use std::error::Error;
use std::fs::read_to_string;

use keyproof_tasks::{
    AnalyseOptions, CheckOptions, Means, MomentsOptions, PublishOptions, Published, SolveOptions,
    analyse, check, moments, publish, solve, table, verify,
};
use serde::Serialize;

fn main() -> Result<(), Box<dyn Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [folder, fen, ending] = args
        .try_into()
        .map_err(|_| "usage: guide FOLDER FEN ENDING")?;
    let puzzles = read_to_string(format!("{folder}/monday.pgn"))?;
    let game = read_to_string(format!("{folder}/club.pgn"))?;
    let page = read_to_string(format!("{folder}/page.html"))?;
    tell(&check(
        &puzzles,
        &CheckOptions::default(),
        &Means::default(),
    )?)?;
    tell(&solve(
        &fen,
        "#2",
        &SolveOptions::default(),
        &Means::default(),
    )?)?;
    tell(&analyse(
        &fen,
        &AnalyseOptions {
            lines: 2,
            nodes: 50000,
        },
        &Means::default(),
    )?)?;
    tell(&table(&ending, &Means::default())?)?;
    tell(&moments(
        &game,
        &MomentsOptions {
            top: Some(2),
            nodes: Some(1000),
            ..Default::default()
        },
        &Means::default(),
    )?)?;
    let Published::Page(published) = publish(
        &puzzles,
        &PublishOptions {
            certificates: true,
            title: Some("Monday".into()),
            ..Default::default()
        },
        &Means::default(),
    )?
    else {
        return Err("a package for a course, though none was asked for".into());
    };
    tell(&published)?;
    tell(&[verify(&page)])
}

fn tell(data: &impl Serialize) -> Result<(), Box<dyn Error>> {
    println!("{}", serde_json::to_string(data)?);
    Ok(())
}
