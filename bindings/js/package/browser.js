// The library in a browser: its WebAssembly is fetched from beside this file, before whatever imports it runs.
import init from "./wherefore.js";

await init({ module_or_path: new URL("wherefore_bg.wasm", import.meta.url) });
export * from "./wherefore.js";
