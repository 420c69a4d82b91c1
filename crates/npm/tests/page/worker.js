import { check, load, publish } from "keyproof";
import program from "keyproof/program.wasm";

onmessage = async ({ data: puzzles }) => {
  await load(program);
  const rows = await check(puzzles.join("\n"));
  const refused = await publish(puzzles[1]).catch((error) => error);
  postMessage({
    verdicts: rows.map((row) => row.verdict),
    fault: `${refused.name}: ${refused.rows[0].findings[0].kind}`,
    element: await publish(puzzles[0], { element: true }),
  });
};
