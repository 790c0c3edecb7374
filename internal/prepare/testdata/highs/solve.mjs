// Reads programs in LP format from standard input, one JSON string a line, and writes for
// each a line {"status", "objective", "ms"}. The gap is set to 0.
import loadHighs from "highs";
import { createInterface } from "node:readline";

const highs = await loadHighs();
for await (const line of createInterface({ input: process.stdin })) {
  const began = performance.now();
  const r = highs.solve(JSON.parse(line), { mip_rel_gap: 0, mip_abs_gap: 0 });
  console.log(JSON.stringify({ status: r.Status, objective: r.ObjectiveValue, ms: performance.now() - began }));
}
