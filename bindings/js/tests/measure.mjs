// What loading, a first ruling and those after it take in node: `node measure.mjs` in this folder, after `../test`. Times of the
// processor beside those of the clock, since others may share the machine.
import { readFileSync } from "node:fs";

const began = [performance.now(), process.cpuUsage()];
const { Programs } = await import("wherefore");
const lap = (name) => {
  const { user, system } = process.cpuUsage(began[1]);
  console.log(`${name}: ${(performance.now() - began[0]).toFixed(1)} ms, ${((user + system) / 1000).toFixed(1)} ms of the processor`);
  [began[0], began[1]] = [performance.now(), process.cpuUsage()];
};
lap("import, compiled");
const programs = new Programs();
const car = readFileSync(new URL("../../../examples/larkspur/wagon-3.json", import.meta.url), "utf8");
programs.get("us-il").judge(car).json();
lap("first ruling, the program read");
const times = [];
const program = programs.get("us-il");
for (let turn = 0; turn < 300; turn += 1) {
  const start = performance.now();
  const ruling = program.judge(car);
  ruling.json();
  ruling.free();
  times.push(performance.now() - start);
}
console.log(`ruling from JSON to JSON, median of 300: ${times.toSorted((a, b) => a - b)[150].toFixed(2)} ms`);
lap("300 rulings");
for (const id of programs.ids()) if (!programs.get(id).toJSON().part) programs.get(id).judge(car).brief();
lap("one vehicle under all programs, most read for the first time");
