// A page as somebody might write it: puzzles are checked in a worker, and shown by the
// element.

import "keyproof/lesson";

const puzzle = `[Event "Two rooks"]
[FEN "7k/8/8/8/8/8/R7/1R2K3 w - - 0 1"]
[Stipulation "#2"]

1. Ra7 (1. Rb7 $1 Kg8 2. Ra8#) 1... Kg8 2. Rb8# *
`;

const worker = new Worker(new URL("./worker.js", import.meta.url), { type: "module" });
worker.onmessage = ({ data: { verdicts, fault, element } }) => {
  document.querySelector("#verdicts").textContent = verdicts.join(", ");
  document.querySelector("#fault").textContent = fault;
  document.querySelector("#lesson").innerHTML = element;
};
worker.postMessage([puzzle, puzzle.replace("(1. Rb7 $1 Kg8 2. Ra8#) 1...", "")]);
