//! How large certificates are, and whether both checkers accept them.

use keyproof::aim::Aim;
use keyproof::prove::certificate::{self, Certificates};
use keyproof::prove::corpus::{Seeded, mating};
use keyproof::prove::{Prover, Unwatched, Verdict};
use keyproof_bench::TABLE;
use shakmaty::Chess;

use crate::Setting;
use crate::engine::python;
use crate::print::{heading, kb, percentile};

pub fn run(setting: &Setting) -> Result<(), String> {
    heading("Certificates of generated mates with one key");
    println!(" n  positions   certificate   median / largest     deflated");
    for n in 2..=4 {
        let positions = unique(n, setting.of(50, 6));
        let mut mates = Vec::new();
        let mut only = Vec::new();
        for position in &positions {
            let Certificates {
                mates: key,
                only: rest,
            } = certified(position, n)?;
            mates.extend(key);
            only.push(rest);
        }
        for (name, texts) in [("mates", &mates), ("only", &only)] {
            let raw: Vec<f64> = texts.iter().map(|text| text.len() as f64).collect();
            let deflated: Vec<f64> = texts.iter().map(|text| deflated(text)).collect();
            println!(
                "{n:2}  {:9}   {name:9}  {:>10} / {:>9}  {:>9} / {:>8}",
                positions.len(),
                kb(percentile(&raw, 50)),
                kb(percentile(&raw, 100)),
                kb(percentile(&deflated, 50)),
                kb(percentile(&deflated, 100)),
            );
        }
        let texts = [mates, only].concat();
        let accepted = accepted(&texts)?;
        let second = accepted_in_python(n, &texts)?;
        println!(
            "    {} certificates: the checker accepts {accepted}, the one in Python {second}",
            texts.len()
        );
        if (accepted, second) != (texts.len(), texts.len()) {
            return Err("a certificate was rejected".into());
        }
    }
    Ok(())
}

/// Positions whose shortest mate takes `n` moves and has one key.
fn unique(n: u8, count: usize) -> Vec<Chess> {
    let mut random = Seeded::new(100 + u64::from(n));
    let mut prover = Prover::new(TABLE);
    let mut found = Vec::new();
    while found.len() < count {
        let position = mating(&mut random, n, &mut prover);
        let verdicts = prover.judge(&position, n, None, &mut Unwatched);
        let forces = |verdict: &Verdict| matches!(verdict, Verdict::Forces { .. });
        if verdicts
            .iter()
            .filter(|(_, verdict)| forces(verdict))
            .count()
            == 1
        {
            found.push(position);
        }
    }
    found
}

fn certified(position: &Chess, n: u8) -> Result<Certificates, String> {
    let mut prover = Prover::new(TABLE);
    let verdicts = prover.judge(position, n, None, &mut Unwatched);
    certificate::write(
        &mut prover,
        Aim::Mate,
        position,
        n,
        &verdicts,
        &mut Unwatched,
    )
    .map_err(|why| format!("no certificate: {why:?}"))
}

fn deflated(text: &str) -> f64 {
    miniz_oxide::deflate::compress_to_vec(text.as_bytes(), 9).len() as f64
}

fn accepted(texts: &[String]) -> Result<usize, String> {
    let mut count = 0;
    for text in texts {
        keyproof_certify::verify(text).map_err(|rejected| format!("rejected: {rejected}"))?;
        count += 1;
    }
    Ok(count)
}

fn accepted_in_python(n: u8, texts: &[String]) -> Result<usize, String> {
    let dir = std::env::temp_dir().join(format!("keyproof-bench-{}-{n}", std::process::id()));
    std::fs::create_dir_all(&dir).map_err(|e| format!("{}: {e}", dir.display()))?;
    let mut files = Vec::new();
    for (i, text) in texts.iter().enumerate() {
        let file = dir.join(format!("{i}.txt"));
        std::fs::write(&file, text).map_err(|e| format!("{}: {e}", file.display()))?;
        files.push(file.display().to_string());
    }
    let told = python("verify.py", &files, &[])?;
    std::fs::remove_dir_all(&dir).map_err(|e| format!("{}: {e}", dir.display()))?;
    Ok(told
        .lines()
        .filter(|line| line.starts_with("accept "))
        .count())
}
