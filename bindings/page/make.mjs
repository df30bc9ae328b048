// Puts the page together: the library packed, script and style with their digests in the content security policy.
import { createHash } from "node:crypto";
import { readFileSync, readdirSync, writeFileSync } from "node:fs";
import { gzipSync } from "node:zlib";

const here = (name) => new URL(name, import.meta.url);
const text = (name) => readFileSync(here(name), "utf8");
const digest = (of) => `sha256-${createHash("sha256").update(of).digest("base64")}`;

const parts = readdirSync(here("parts/")).filter((name) => name.endsWith(".js")).sort();
const script = [text("../js/package/wherefore.js"), ...parts.map((name) => text(`parts/${name}`))].join("\n");
if (/<\/script|<!--/i.test(script)) throw new Error("the script holds a text that would end it");
const style = text("page.css");
// Packed without a time, so that the same source makes the same page.
const library = gzipSync(readFileSync(here("../js/package/wherefore_bg.wasm")), { level: 9 }).toString("base64");
const { version } = JSON.parse(text("../js/package/package.json"));
const filled = { version, style, "style-digest": digest(style), script, "script-digest": digest(script), library };
const page = text("page.html").replaceAll(/\{\{([a-z-]+)\}\}/g, (_, name) => {
  if (!(name in filled)) throw new Error(`the page asks for ${name}`);
  return filled[name];
});
// Licences ask that their texts go with what is compiled in. A comment of HTML holds no two hyphens.
const licences = text("../js/package/THIRD-PARTY.txt").replaceAll(/--+/g, (line) => "=".repeat(line.length)).replaceAll(">", "&gt;");
const whole = `${page.trimEnd()}\n<!--\n${licences}-->\n`;
writeFileSync(process.argv[2], whole);
console.log(`${process.argv[2].split("/").at(-1)}: ${whole.length} bytes`);
