// The package in a browser without a window: served from memory: the worked cases of every program, or the lines of the file WHEREFORE_CASES.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { createServer } from "node:http";
import puppeteer from "puppeteer-core";

const folder = new URL("../package/", import.meta.url);
const kinds = { js: "text/javascript", wasm: "application/wasm" };
const { WHEREFORE_BINARY: binary, WHEREFORE_CASES: file } = process.env;
const cases = file ? readFileSync(file, "utf8") : execFileSync(binary, ["cases", "--all", "worked", "--format", "json"], { encoding: "utf8", maxBuffer: 1 << 28 });
const server = createServer((asked, answer) => {
  const name = new URL(asked.url, "http://localhost").pathname.slice(1);
  if (name === "") return answer.setHeader("content-type", "text/html").end("<!DOCTYPE html><title>test</title>");
  if (!["browser.js", "wherefore.js", "wherefore_bg.wasm"].includes(name)) return answer.writeHead(404).end();
  return answer.setHeader("content-type", kinds[name.split(".").at(-1)]).end(readFileSync(new URL(name, folder)));
});
await new Promise((done) => server.listen(0, "127.0.0.1", done));
const browser = await puppeteer.launch({ executablePath: process.env.WHEREFORE_CHROMIUM, args: ["--no-sandbox"], protocolTimeout: 3_600_000 });
try {
  const page = await browser.newPage();
  await page.goto(`http://127.0.0.1:${server.address().port}/`);
  const told = await page.evaluate(async (text) => {
    const { Programs } = await import("/browser.js");
    const programs = new Programs();
    const lines = text.trimEnd().split("\n").map((line) => JSON.parse(line));
    const bad = lines.filter((line) => {
      const ruling = programs.get(line.program).judge(line.snapshot, line.request);
      const given = ruling.json();
      ruling.free();
      return given !== line.ruling;
    });
    let refused;
    try { programs.get("us-xx"); } catch (thrown) { refused = [thrown.name, thrown.kind]; }
    return { count: lines.length, bad: bad.map((line) => `${line.program}: ${line.case}`), refused };
  }, cases);
  assert.ok(told.count > 400, `${told.count} cases`);
  assert.deepEqual(told.bad, []);
  assert.deepEqual(told.refused, ["WhereforeError", "no-such-program"]);
  console.log(`Chromium: ${told.count} vehicles ruled on as expected`);
} finally {
  await browser.close();
  server.close();
}
