// Runs the tasks of this crate's wasm in node.
//
//   node host.mjs WASM < TASKS     one line per task: ms, nodes, answer
//   node host.mjs WASM cancel TASK how soon a running task stops, in a worker
//
// Times are of the process, in milliseconds. Before the first task counts, some
// are done for so long that the engine has compiled what is hot.

import { readFileSync } from "node:fs";
import { createInterface } from "node:readline";
import { Worker, isMainThread, parentPort, workerData } from "node:worker_threads";

const WARM = 2000;

const cpu = () => {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1000;
};

const load = (module, go_on) => {
  const { exports } = new WebAssembly.Instance(module, { host: { now: cpu, go_on } });
  return (task) => {
    const bytes = new TextEncoder().encode(task);
    const at = exports.room(bytes.length);
    new Uint8Array(exports.memory.buffer, at, bytes.length).set(bytes);
    const length = exports.run();
    return new TextDecoder().decode(new Uint8Array(exports.memory.buffer, exports.told(), length));
  };
};

const compiled = (path) => new WebAssembly.Module(readFileSync(path));

if (!isMainThread) {
  const stop = new Int32Array(workerData.stop);
  const run = load(workerData.module, (nodes, share) => {
    parentPort.postMessage({ nodes, share });
    return Atomics.load(stop, 0) === 0 ? 1 : 0;
  });
  parentPort.postMessage({ told: run(workerData.task) });
} else if (process.argv[3] === "cancel") {
  const module = compiled(process.argv[2]);
  for (const way of ["asked", "ended"]) {
    for (let i = 0; i < 10; i++) {
      const stop = new SharedArrayBuffer(4);
      const worker = new Worker(new URL(import.meta.url), {
        workerData: { module, task: process.argv[4], stop },
        argv: process.argv.slice(2),
      });
      let seen = 0, share = 0;
      const done = new Promise((resolve) => {
        worker.on("message", (message) => {
          if (message.told !== undefined) return resolve(message.told);
          seen += 1;
          share = Math.max(share, message.share);
        });
      });
      await new Promise((resolve) => setTimeout(resolve, 400));
      const begun = performance.now();
      if (way === "asked") {
        Atomics.store(new Int32Array(stop), 0, 1);
        const told = await done;
        console.log([way, performance.now() - begun, seen, share, told.includes("?")].join("\t"));
        await worker.terminate();
      } else {
        await worker.terminate();
        console.log([way, performance.now() - begun, seen, share, true].join("\t"));
      }
    }
  }
} else {
  const tasks = [];
  for await (const task of createInterface({ input: process.stdin })) tasks.push(task);
  const run = load(compiled(process.argv[2]), () => 1);
  const begun = performance.now();
  for (let i = 0; performance.now() - begun < WARM; i++) {
    run(tasks[i % tasks.length]);
    // The engine puts compiled code into use between two turns.
    await new Promise((resolve) => setTimeout(resolve, 1));
  }
  for (const task of tasks) console.log(run(task));
}
