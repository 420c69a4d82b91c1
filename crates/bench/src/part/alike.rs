//! That this program and its wasm search alike: the same nodes and the same move, so the
//! same values at every node. The network has integers only, and no sum of it depends on
//! the width in which it is made.

use keyproof::notation::fen;
use keyproof::prove::corpus::{Seeded, mixed};

use crate::Setting;
use crate::engine::{native, wasm};
use crate::print::heading;

/// Positions of each kind, and nodes for each.
const POSITIONS: usize = 40;
const NODES: usize = 30_000;

/// Says how many tasks came out alike.
///
/// # Errors
/// The first task that did not.
pub fn run(setting: &Setting) -> Result<(), String> {
    heading("Native and wasm: alike, node by node");
    let mut random = Seeded::new(1);
    let mut tasks = Vec::new();
    for _ in 0..setting.of(POSITIONS, POSITIONS / 4) {
        let position = fen::write(&mixed(&mut random));
        tasks.push(format!("search {NODES} {position}"));
        tasks.push(format!("keys 2 {position}"));
    }
    let (here, there) = (native(&tasks)?, wasm(&setting.wasm, &tasks)?);
    for (task, (here, there)) in tasks.iter().zip(here.iter().zip(&there)) {
        if (here.nodes, &here.answer) != (there.nodes, &there.answer) {
            return Err(format!("{task}: native {here:?}, wasm {there:?}"));
        }
    }
    let nodes: u64 = here.iter().map(|outcome| outcome.nodes).sum();
    println!("{} tasks, {nodes} nodes, 0 differences", tasks.len());
    Ok(())
}
