//! `values NETWORK FILE`: what a network makes of each position of FILE, in
//! centipawns for the side to move; `train.py check` must print the same.

use keyproof_train::record;
use search::Network;
use shakmaty::Color;

fn main() -> Result<(), String> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [network, file] = &args[..] else {
        return Err("values NETWORK FILE".into());
    };
    let bytes = |path: &String| std::fs::read(path).map_err(|fault| format!("{path}: {fault}"));
    let network = Network::read(&bytes(network)?).map_err(|fault| fault.to_string())?;
    for record in bytes(file)?.as_chunks().0 {
        println!("{}", network.of(&record::board(record), Color::White));
    }
    Ok(())
}
