// The package in node: the worked cases of every program, the pages about it, and what it refuses.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import * as wherefore from "wherefore";

const root = new URL("../../../", import.meta.url);
const command = (...given) => execFileSync(process.env.WHEREFORE_BINARY, given, { encoding: "utf8", maxBuffer: 1 << 28 });
const programs = new wherefore.Programs();
const car = { visit: { date: "2026-11-28" }, vehicle: { model_year: 2016, fuel: "gasoline", class: "light-duty" }, lamp: { commanded: false } };

/** A command that ends with 1 or 3 has printed its ruling. */
function ruled(...given) {
  try {
    return command(...given);
  } catch (thrown) {
    assert.ok([1, 3].includes(thrown.status), thrown.stderr);
    return thrown.stdout;
  }
}

test("vehicles of every program are ruled on as expected", () => {
  const file = process.env.WHEREFORE_CASES;
  const text = file ? readFileSync(file, "utf8") : command("cases", "--all", "worked", "--format", "json");
  const lines = text.trimEnd().split("\n").map((line) => JSON.parse(line));
  assert.ok(lines.length > 400, `${lines.length} lines`);
  for (const line of lines) {
    const ruling = programs.get(line.program).judge(line.snapshot, line.request);
    assert.equal(ruling.json(), line.ruling, `${line.program}: ${line.case}`);
    ruling.free();
  }
  assert.ok(new Set(lines.map((line) => line.program)).size >= 40);
  const own = programs.conformance("us-il", Boolean(file)).trimEnd().split("\n").map((line) => JSON.parse(line));
  assert.deepEqual(own, lines.filter((line) => line.program === "us-il"));
});

test("texts are the command line's", () => {
  const file = new URL("examples/larkspur/wagon-3.json", root).pathname;
  const text = readFileSync(file, "utf8");
  const program = programs.get("us-model");
  assert.equal(program.judge(text).toString(), ruled("judge", "--program", "us-model", file));
  assert.equal(program.next(text).toString(), ruled("next", "--program", "us-model", file));
  const by = ["next", "--program", "us-model", "--by", "2026-12-20"];
  assert.equal(program.next(text, undefined, undefined, "2026-12-20").toString(), ruled(...by, file));
  assert.equal(`${program.next(text, "pass", {}, "2026-12-20").json()}\n`, ruled(...by, "--format", "json", file));
  assert.throws(() => program.next(text, "pass", {}, "soon"), /"soon" is no date/);
  assert.equal(`${program.judge(text, { recorded: "reject" }).json()}\n`, ruled("judge", "--program", "us-model", "--recorded", "reject", "--format", "json", file));
  assert.throws(() => program.judge(text, { recorded: "passed" }), /"passed" is none of pass, /);
  assert.equal(`${program.judge(JSON.parse(text)).json()}\n`, ruled("judge", "--program", "us-model", "--format", "json", file));
  assert.deepEqual(wherefore.facts(), JSON.parse(command("facts", "--format", "json")));
  assert.deepEqual(programs.explain("evap"), JSON.parse(command("explain", "--format", "json", "evap")));
  assert.equal(programs.explain("P0420"), undefined);
});

test("answers in brief are the sentences of the texts", () => {
  const words = (text) => text.replace(/\s+/g, " ");
  for (const name of ["wagon-3", "van-7", "pickup-9"]) {
    const text = readFileSync(new URL(`examples/larkspur/${name}.json`, root), "utf8");
    for (const shown of [programs.get("us-model").judge(text), programs.get("us-model").next(text)]) {
      const brief = shown.brief();
      const told = words(shown.toString());
      const sentences = [brief.vehicle, brief.program, brief.headline, ...brief.unsure, ...brief.cautions, ...brief.why.map((why) => why.text), ...brief.steps.map((step) => step.text)];
      for (const sentence of sentences) assert.ok(told.includes(words(sentence)), `${sentence}\n${told}`);
    }
  }
});

test("messages become the command line's snapshot", () => {
  const file = new URL("tests/decode/obdb/capture.log", root);
  const seen = { model_year: 2018, fuel: "gasoline" };
  const wanted = JSON.parse(command("decode", file.pathname, "--model-year", "2018", "--fuel", "gasoline"));
  assert.deepEqual(wherefore.Snapshot.fromMessages(readFileSync(file, "utf8"), seen).toJSON(), wanted);
  assert.deepEqual(wherefore.Snapshot.fromMessages(new Uint8Array(readFileSync(file)), seen).toJSON(), wanted);
});

test("questions are put until nothing can matter, and answers stand in the snapshot", () => {
  const questions = programs.get("us-il").ask({ visit: { date: "2026-11-28" } });
  let count = 0;
  for (let put = questions.question(); put !== undefined; put = questions.question()) {
    assert.ok(put.text && put.toldBy && put.atMost >= 1);
    assert.throws(() => questions.answer("no such word"), { name: "WhereforeError", kind: "ruling" });
    if (put.key === "vehicle.model_year") questions.answer("2016");
    else questions.notKnown();
    count += 1;
    assert.ok(count < 200);
  }
  assert.equal(questions.snapshot.toJSON().vehicle.model_year, 2016);
});

test("programs compare", () => {
  const [one, other] = [programs.get("us-model"), programs.get("us-model-strict")];
  assert.equal(one.compare(one, "2026-11-28").equal, true);
  const differ = one.compare(other, "2026-11-28");
  assert.equal(differ.equal, false);
  assert.equal(JSON.parse(differ.json()).format, "wherefore-compare/1");
  assert.throws(() => one.compare(other, "soon"), /"soon" is no date/);
});

test("what a program is", () => {
  const form = programs.get("us-model").toJSON();
  assert.deepEqual([form.id, form.part, form.title], ["us-model", false, programs.get("us-model").title]);
  const forms = programs.ids().map((id) => programs.get(id).toJSON());
  assert.ok(forms.some((form) => form.areas.length > 0));
  assert.ok(forms.flatMap((form) => form.facts).every((fact) => fact.key.startsWith("declared.") && fact.question && fact.observer));
  // What is declared can be given by its key.
  const [fact, owner] = forms.flatMap((form) => form.facts.map((fact) => [fact, form.id])).find(([fact]) => fact.type === "word");
  const told = { ...car, declared: { [fact.key.slice("declared.".length)]: fact.words.at(-1) } };
  assert.ok(programs.get(owner).judge(told).possible.length > 0);
});

test("refusals say everything, and nothing is spoilt by them", () => {
  const refusals = [
    [() => programs.get("us-xx"), "no-such-program", 0],
    [() => new wherefore.Snapshot({ vehicle: { model_year: "old", wheels: 4 } }), "snapshot", 2],
    [() => new wherefore.Snapshot("{"), "snapshot", 1],
    [() => wherefore.Snapshot.fromMessages("nothing of the kind"), "messages", 0],
    [() => wherefore.Program.fromText("program"), "program-text", 1],
    [() => programs.get("us-il").judge({}), "ruling", 0],
    [() => programs.get("us-il").judge(car, { as_of: "soon" }), "ruling", 0],
    [() => programs.get("us-il").judge(car, { hour: 4 }), "ruling", 0],
  ];
  for (const [refuse, kind, faults] of refusals) {
    assert.throws(refuse, (thrown) => {
      assert.ok(thrown instanceof Error);
      assert.equal(thrown.name, "WhereforeError");
      assert.equal(thrown.kind, kind, thrown.message);
      assert.ok(thrown.faults.length >= faults && thrown.message.length > 0, JSON.stringify(thrown.faults));
      return true;
    });
  }
  for (const wrong of [undefined, () => 1, 4n]) assert.throws(() => new wherefore.Snapshot(wrong), TypeError);
  assert.throws(() => wherefore.Snapshot.fromMessages(4), /string or a Uint8Array/);
  assert.throws(() => programs.get("us-il").next(car, "win"), /goal is one of pass/);
  assert.ok(programs.get("us-il").judge(car).possible.length > 0);
});

test("texts of a host's own stand before the built-in ones", () => {
  const text = readFileSync(new URL("examples/exact/heath.wherefore", root), "utf8");
  const own = new wherefore.Programs({ "heath.wherefore": text });
  const id = wherefore.Program.fromText(text).id;
  assert.ok(own.ids().includes(id) && !programs.ids().includes(id));
  assert.equal(own.get(id).id, id);
  assert.throws(() => new wherefore.Programs({ "heath.wherefore": 4 }), /strings, by file name/);
});

test("licence texts of what is compiled in come with it", () => {
  const told = readFileSync(new URL("bindings/js/package/THIRD-PARTY.txt", root), "utf8");
  const { files } = JSON.parse(readFileSync(new URL("bindings/js/package/package.json", root), "utf8"));
  assert.ok(files.includes("THIRD-PARTY.txt"));
  for (const crate of ["pest", "serde", "wasm-bindgen", "jiff"]) assert.match(told, new RegExp(`(^|, )${crate} [0-9]`, "m"), crate);
});

test("the code on the pages about it runs", () => {
  for (const page of ["README.md", "docs/hosts-javascript.md", "bindings/js/package/README.md"]) {
    const blocks = [...readFileSync(new URL(page, root), "utf8").matchAll(/^```js\n(.*?)^```/gms)].map((match) => match[1]);
    assert.ok(blocks.length > 0, page);
    // A module beside this one, so that it imports what a reader's would.
    const shown = execFileSync(process.execPath, ["--input-type=module"], { cwd: new URL(".", import.meta.url), input: blocks.join("\n"), encoding: "utf8" });
    assert.ok(shown.includes("us-il"), `${page} shows: ${shown}`);
  }
});
