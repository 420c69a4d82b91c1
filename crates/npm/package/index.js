// Keyproof for JavaScript: the tasks of the command as functions. `index.d.ts` says what
// each takes and returns.

import start, * as core from "./core.js";

let ready;

// Loads the program, once. Whoever wants to say where it is does so before any other
// call: by a URL, a Response, bytes, or a compiled module.
export function load(program) {
  ready ??= begin(program).catch((fault) => {
    ready = undefined;
    throw fault;
  });
  return ready;
}

async function begin(program) {
  await start({ module_or_path: program ?? (await beside()) });
}

// The program where it lies beside this script; Node reads no files through fetch.
async function beside() {
  const url = new URL("./core_bg.wasm", import.meta.url);
  if (url.protocol !== "file:" || !globalThis.process?.versions?.node) return url;
  const { readFile } = await import(/* webpackIgnore: true */ "node:fs/promises");
  return readFile(url);
}

const EFFORT = ["nodes", "unchecked"];

// Options without the function that follows the work, and that function. One that is
// misspelt is told, not ignored.
function parted(known, { progress, ...options } = {}) {
  const unknown = Object.keys(options).find((name) => !known.includes(name));
  if (unknown !== undefined) {
    throw new TypeError(`no such option: ${unknown} (there are ${known.join(", ")})`);
  }
  if (progress !== undefined && typeof progress !== "function") {
    throw new TypeError("progress must be a function");
  }
  return [options, progress];
}

export async function check(pgn, options) {
  const given = parted([...EFFORT, "certificates"], options);
  await load();
  return core.check(text(pgn), ...given);
}

export async function solve(fen, stipulation, options) {
  const given = parted([...EFFORT, "tree", "reasons", "certificate"], options);
  await load();
  return core.solve(text(fen), text(stipulation), ...given);
}

export async function analyse(fen, options) {
  const [given] = parted(["lines", "nodes"], options);
  await load();
  return core.analyse(text(fen), given);
}

export async function table(fen) {
  await load();
  return core.table(text(fen));
}

export async function moments(pgn, options) {
  const given = parted([...EFFORT, "top", "puzzles", "lesson"], options);
  await load();
  return core.moments(text(pgn), ...given);
}

export async function publish(pgn, options) {
  const names = ["title", "certificates", "element", "course", "passFrom", "unsound"];
  const given = parted([...EFFORT, ...names], options);
  await load();
  return core.publish(text(pgn), ...given);
}

export async function verify(certificates) {
  await load();
  return core.verify(text(certificates));
}

function text(value) {
  if (typeof value !== "string") throw new TypeError(`expected a text, got ${typeof value}`);
  return value;
}
