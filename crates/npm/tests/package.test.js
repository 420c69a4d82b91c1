// The package under Node, as whoever installs it sees it. KEYPROOF_PACKAGE names its folder.
// Positions are our own.

import assert from "node:assert/strict";
import { mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync, mkdirSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, test } from "node:test";
import { pathToFileURL } from "node:url";
import { Worker } from "node:worker_threads";

const folder = mkdtempSync(join(tmpdir(), "keyproof-"));
mkdirSync(join(folder, "node_modules"));
symlinkSync(process.env.KEYPROOF_PACKAGE, join(folder, "node_modules/keyproof"));
after(() => rmSync(folder, { recursive: true }));

// The package by its name, as a program beside its node_modules imports it.
writeFileSync(join(folder, "keyproof.mjs"), 'export * from "keyproof";');
const { analyse, check, moments, publish, solve, table, verify } = await import(
  pathToFileURL(join(folder, "keyproof.mjs"))
);

const CORNERED = "7k/8/5K2/6Q1/8/8/8/8 w - - 0 1";
const COOKED =
  '[Event "Two rooks"]\n[FEN "7k/8/8/8/8/8/R7/1R2K3 w - - 0 1"]\n[Stipulation "#2"]\n\n1. Ra7 Kg8 2. Rb8# *\n';
const SOUND = COOKED.replace("1. Ra7", "1. Ra7 (1. Rb7 $1 Kg8 2. Ra8#) 1...");
const GAME = '[Event "Short"]\n\n1. e4 e5 2. Bc4 Nc6 3. Qh5 Nf6 4. Nc3 *\n';

test("puzzles are checked, with their certificates", async () => {
  const [sound, cooked] = await check(`${SOUND}\n${COOKED}`, { certificates: true });
  assert.equal(sound.verdict, "sound");
  assert.equal(cooked.verdict, "unsound");
  assert.deepEqual(cooked.findings[0].moves, ["b1b7"]);
  assert.equal(cooked.findings[0].kind, "cook");
  const proof = await verify(sound.certificate.text);
  assert.equal(proof.status, "accepted");
  assert.equal((await verify("nonsense")).line, 1);
  // Plain data: as JSON writes and reads it.
  assert.deepEqual(JSON.parse(JSON.stringify(sound)), sound);
});

test("positions are solved, analysed and looked up", async () => {
  const solution = await solve(CORNERED, "#2", { tree: true, reasons: true });
  assert.equal(solution.status, "proved");
  assert.equal(solution.keys[0].san, "Qg7#");
  assert.ok(solution.keys.at(-1).tree.length > 0);
  const fork = "6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1";
  const analysis = await analyse(fork, { lines: 2, nodes: 20_000 });
  assert.equal(analysis.lines.length, 2);
  assert.equal(analysis.lines[0].line[0], "d5f6");
  const ending = await table("8/8/8/8/8/2K5/1R6/k7 w - - 0 1");
  assert.equal(ending.result, "win");
});

test("moments become puzzles and lessons", async () => {
  const [row] = await moments(GAME, { nodes: 1000, puzzles: true, lesson: true });
  const moment = row.moments.find((m) => m.number === 4);
  assert.equal(moment.accepted[0].uci, "h5f7");
  assert.equal((await check(moment.puzzle))[0].verdict, moment.verdict);
  assert.match(row.lesson, /\[Moments "/);
});

test("what is sound is published, and what is not is refused", async () => {
  assert.match(await publish(SOUND, { title: "Monday" }), /<title>Monday<\/title>/);
  assert.match(await publish(SOUND, { element: true }), /<keyproof-lesson/);
  const zip = await publish(SOUND, { course: "cmi5", passFrom: 60 });
  assert.ok(zip instanceof Uint8Array);
  assert.equal(String.fromCharCode(...zip.slice(0, 2)), "PK");
  const refused = await publish(COOKED).catch((error) => error);
  assert.equal(refused.name, "Refused");
  assert.equal(refused.rows[0].findings[0].kind, "cook");
});

test("errors name what is wrong", async () => {
  await assert.rejects(solve("8/8/8/8/8/8/8/8 w - - 0 1", "#2"), { name: "InputError", message: /no legal position/ });
  await assert.rejects(check(""), { name: "InputError", message: /no game/ });
  await assert.rejects(check(SOUND, { certificate: true }), { name: "TypeError", message: /certificate/ });
  await assert.rejects(check(new Uint8Array(3)), { name: "TypeError" });
  await assert.rejects(publish(SOUND, { element: true, course: "cmi5" }), { name: "InputError" });
});

test("progress is told, and may stop the work", async () => {
  const told = [];
  await check(`${SOUND}\n`.repeat(3), { progress: (done) => void told.push(done) });
  assert.deepEqual(told, [1, 2, 3]);
  await assert.rejects(check(`${SOUND}\n`.repeat(3), { progress: () => false }), { name: "AbortError" });
  const enough = new RangeError("enough");
  const thrown = check(SOUND, { progress: () => { throw enough; } });
  await assert.rejects(thrown, enough);
  assert.equal((await check(SOUND)).length, 1);
});

test("it works in a worker, which may be ended while it works", async () => {
  const script = join(folder, "worker.mjs");
  writeFileSync(
    script,
    `import { parentPort } from "node:worker_threads";
     import { analyse, check } from "keyproof";
     parentPort.on("message", async ({ pgn, fen }) => {
       if (fen) { await analyse("7k/8/5K2/6Q1/8/8/8/8 w - - 0 1"); parentPort.postMessage("begun"); await analyse(fen, { nodes: 1e12 }); }
       parentPort.postMessage(await check(pgn));
     });`,
  );
  const worker = new Worker(script);
  const next = () => new Promise((resolve) => worker.once("message", resolve));
  worker.postMessage({ pgn: SOUND });
  assert.deepEqual(await next(), await check(SOUND));
  worker.postMessage({ fen: "r1bq1rk1/pp2bppp/2n1pn2/3p4/2PP4/2N2N2/PP2BPPP/R1BQ1RK1 w - - 0 9" });
  assert.equal(await next(), "begun");
  await worker.terminate();
});

test("the package says what it is", () => {
  const paper = JSON.parse(readFileSync(join(process.env.KEYPROOF_PACKAGE, "package.json"), "utf8"));
  for (const file of paper.files) readFileSync(join(process.env.KEYPROOF_PACKAGE, file));
  assert.equal(paper.license, "GPL-3.0-or-later");
  assert.match(paper.version, /^\d+\.\d+\.\d+$/);
});
