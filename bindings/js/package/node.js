// The library in node: its WebAssembly is read from beside this file.
import { readFileSync } from "node:fs";
import { initSync } from "./wherefore.js";

initSync({ module: new WebAssembly.Module(readFileSync(new URL("wherefore_bg.wasm", import.meta.url))) });
export * from "./wherefore.js";
