//! A small part of the campaign, with other positions each day. What fails
//! prints the seed; `KEYPROOF_SEED=N` asks for that day's positions again.

use std::time::{SystemTime, UNIX_EPOCH};

use campaign::by_lines::Plan;
use campaign::cells::{Cell, Question};
use campaign::compare::{Fault, Provers};
use campaign::strata::Stratum;
use campaign::{draws, gains};

/// Positions of each stratum.
fn positions(question: Question) -> u64 {
    match question {
        Question::Mate(3) => 12,
        Question::Mate(_) => 2,
        Question::Other(_) => 3,
    }
}

#[test]
fn todays_positions_show_no_difference() {
    let seed = seed();
    let mut provers = Provers::default();
    let (mut compared, mut keys) = (0, 0);
    for cell in Cell::all() {
        for i in 0..positions(cell.question) {
            let asked = cell.asked(seed, i, &mut provers);
            match provers.compare(asked.aim, &asked.position, asked.n, asked.off) {
                Ok((told, _)) => {
                    compared += 1;
                    keys += told.keys;
                }
                Err(Fault::Capped) => {}
                Err(Fault::Differs(text)) => {
                    panic!("KEYPROOF_SEED={seed}, {}: {text}", cell.stratum.name())
                }
            }
        }
    }
    println!("seed {seed}: {compared} positions, {keys} keys");
    assert!(
        compared > 250 && keys > 100,
        "{compared} positions, {keys} keys"
    );
}

#[test]
fn gains_equal_brute_force() {
    let plan = few(8);
    let differences = gains::run(&plan, 2).expect("nothing is written");
    assert!(differences.is_empty(), "KEYPROOF_SEED={}", plan.seed);
}

#[test]
fn draws_by_force_equal_brute_force() {
    let plan = few(8);
    let differences = draws::run(&plan).expect("nothing is written");
    assert!(differences.is_empty(), "KEYPROOF_SEED={}", plan.seed);
}

/// So many positions of each stratum.
fn few(positions: u64) -> Plan {
    Plan {
        positions,
        seed: seed(),
        jobs: 1,
        strata: Stratum::ALL.to_vec(),
        seconds: None,
        file: None,
    }
}

/// That of the day, or the one that is asked for.
fn seed() -> u64 {
    let today = || {
        let now = SystemTime::now().duration_since(UNIX_EPOCH);
        now.map_or(0, |since| since.as_secs() / (24 * 60 * 60))
    };
    let asked = std::env::var("KEYPROOF_SEED").ok();
    asked
        .and_then(|text| text.parse().ok())
        .unwrap_or_else(today)
}
