// Calls that the types allow, and calls that they do not.

import { analyse, check, load, moments, publish, solve, table, verify } from "./keyproof/index.js";
import type { Row } from "./keyproof/index.js";
import "./keyproof/lesson.js";

const rows: Row[] = await check("", { certificates: true, progress: (done: number) => done < 3 });
const text: string | undefined = rows[0].certificate?.text;
const line: number = rows[0].findings[0].place!.line;
const key: string = (await solve("", "#2", { tree: true })).keys[0].tree![0].defence.san;
const value: number | null = (await analyse("", { lines: 2 })).lines[0].value;
const mate: number | null = (await table("")).moves[0].mate;
const lesson: string | undefined = (await moments("", { lesson: true }))[0].lesson;
const page: string = await publish("", { element: true });
const zip: Uint8Array = await publish("", { course: "scorm", passFrom: 60 });
const status: "accepted" | "rejected" = (await verify("")).status;
await load(new Uint8Array());
export { key, lesson, line, mate, page, status, text, value, zip };

// @ts-expect-error
await check(3);
// @ts-expect-error
await check("", { certificate: true });
// @ts-expect-error
await publish("", { course: "other" });
// @ts-expect-error
rows[0].verdict === "fine";
