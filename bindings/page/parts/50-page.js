// Puts everything together: reads the library out of the page, and rules anew with every change.

class Page {
  constructor() {
    this.programs = new Programs();
    this.common = facts().facts;
    this.facts = this.common;
    this.doc = fresh();
    this.asked = nothingAsked();
    this.forms = [];
    this.turn = 0;
    this.timing = {};
  }

  /** The list of programs, by country, some at a time so that the page stays awake. */
  async list() {
    const regions = new Intl.DisplayNames(["en"], { type: "region" });
    const groups = new Map();
    let count = 0;
    for (const id of this.programs.ids()) {
      const form = this.programs.get(id).toJSON();
      this.forms.push(form);
      if (form.part) continue;
      const code = id.split("-")[0].toUpperCase();
      let country = code;
      try { country = code === "EU" ? "European Union" : regions.of(code) ?? code; } catch { country = code; }
      if (!groups.has(country)) groups.set(country, []);
      groups.get(country).push(form);
      count += 1;
      if (count % 8 === 0) await new Promise((done) => setTimeout(done));
    }
    const order = [...groups.keys()].sort((a, b) => (a === "United States" ? -1 : b === "United States" ? 1 : a.localeCompare(b)));
    byId("program").append(...order.map((country) => make("optgroup", { label: country },
      ...groups.get(country).sort((a, b) => a.title.localeCompare(b.title)).map((form) => make("option", { value: form.id }, `${form.title} (${form.id})`)))));
  }

  /** Chooses a program by id. */
  choose(id) {
    this.program = id === "" ? undefined : this.programs.get(id);
    this.form = this.program === undefined ? undefined : this.program.toJSON();
    // What this program has no word for is not asked of it.
    const has = (name) => this.form?.takes.some((one) => one.name === name);
    this.asked.takes = Object.fromEntries(Object.entries(this.asked.takes).filter(([name]) => has(name)));
    if (!this.form?.results.some((one) => one.class === this.asked.recorded)) this.asked.recorded = undefined;
    this.facts = [...this.common, ...(this.form?.facts ?? [])];
    byId("program").value = id;
    const standing = { draft: "It is a draft, not checked against its sources.", withdrawn: "It is withdrawn and no longer stood by." }[this.form?.standing];
    byId("about").textContent = this.form === undefined ? "" : [`${this.form.authority}.`, standing].filter(Boolean).join(" ");
    this.redraw();
  }

  /** Takes what a field says. */
  told(fact, value, key = fact.key) {
    put(this.doc, key, value);
    this.asking = undefined;
    if (["vehicle.fuel", "vehicle.ignition"].includes(key)) this.drawFormKeepingFocus();
    this.rule();
    if (!byId("way-ask").hidden) drawQuestion(this);
  }

  /** Takes what is asked beside the vehicle. */
  ask(change) {
    Object.assign(this.asked, change);
    this.asking = undefined;
    this.drawFormKeepingFocus();
    this.rule();
    if (!byId("way-ask").hidden) drawQuestion(this);
  }

  /** What is asked of every program alike: which law, by its dates. */
  asOf() {
    return { as_of: this.asked.as_of, known_on: this.asked.known_on };
  }

  drawFormKeepingFocus() {
    const id = document.activeElement?.id;
    drawForm(this);
    if (id) byId(id)?.focus();
  }

  redraw({ keepAsking = false } = {}) {
    if (!keepAsking) this.asking = undefined;
    drawForm(this);
    this.rule();
    if (!keepAsking && !byId("way-ask").hidden) drawQuestion(this);
  }

  /** Rules on the vehicle as it is told. */
  rule() {
    this.turn += 1;
    const answer = byId("answer");
    byId("beyond").hidden = true;
    byId("down").hidden = true;
    if (this.program === undefined) {
      markFaults([]);
      answer.replaceChildren(make("p", {}, "Choose a program first."));
      return;
    }
    const began = performance.now();
    try {
      const ruling = this.program.judge(this.doc, this.asked);
      this.record = ruling.json();
      this.trace = ruling.trace();
      const brief = ruling.brief();
      this.cautions = brief.cautions;
      ruling.free();
      this.timing.ruling = performance.now() - began;
      markFaults([]);
      answer.replaceChildren(...drawBrief(brief, this));
      byId("down").textContent = brief.headline;
      byId("down").hidden = false;
    } catch (thrown) {
      this.record = undefined;
      const left = Array.isArray(thrown?.faults) ? markFaults(thrown.faults) : undefined;
      answer.replaceChildren(...drawRefusal(thrown, left));
      return;
    }
    byId("beyond").hidden = false;
    drawTold(this);
    for (const id of ["d-next", "d-others", "d-trace"]) this.open(byId(id));
  }

  /** Fills what is one step away where it stands open. */
  open(details) {
    if (!details.open || this.record === undefined) return;
    const box = details.querySelector(".filled");
    if (details.id === "d-trace") box.replaceChildren(make("pre", {}, this.trace));
    if (details.id === "d-others") drawOthers(this, box, this.turn);
    if (details.id === "d-next") {
      try {
        const plan = this.program.next(this.doc, "pass", this.asked, this.by);
        box.replaceChildren(...drawPlan(plan, this.cautions, this));
        plan.free();
      } catch (thrown) {
        box.replaceChildren(make("p", {}, thrown.message));
      }
    }
  }

  /** Takes over what a reader wrote down. */
  read(messages) {
    const says = byId("read-says");
    try {
      const decoded = Snapshot.fromMessages(messages, seenBy(this.doc, byId("vin").value));
      const form = decoded.toJSON();
      decoded.free();
      this.doc = together(form, withoutReader(this.doc, this.common));
      const told = this.common.filter((fact) => fact.observer === "reader" && at(form, fact.key) !== undefined).length;
      const notes = (form.quality ?? []).map((note) => make("li", {}, `${note.lines?.length ? `line ${note.lines.join(", ")}: ` : ""}${note.message}`));
      says.replaceChildren(make("p", {}, `Taken over: ${told} facts, shown in the form below.`), list("ul", notes) ?? "");
      this.redraw();
    } catch (thrown) {
      says.replaceChildren(make("p", { class: "fault" }, thrown.message));
    }
  }

  /** Loads a snapshot; one that is wrong leaves everything as it was. */
  load(text) {
    const says = byId("load-says");
    try {
      const snapshot = new Snapshot(text);
      this.doc = snapshot.toJSON();
      snapshot.free();
      says.textContent = "Loaded.";
      this.redraw();
    } catch (thrown) {
      says.textContent = `Not loaded: ${thrown.message}`;
    }
  }

  save(name, text) {
    const link = make("a", { download: name, href: URL.createObjectURL(new Blob([text], { type: "application/json" })) });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 1000);
  }

  /** Tells a name in plain words. */
  explain(name) {
    const told = this.programs.explain(name);
    if (told === undefined) return;
    const dialog = byId("word");
    byId("word-name").textContent = this.facts.find((fact) => fact.key === `monitors.${told.name}`)?.spoken ?? told.name.replaceAll("-", " ");
    dialog.querySelector("div").replaceChildren(make("p", {}, told.what), ...told.more.flatMap(([lead, text]) => [make("h3", {}, lead), make("p", {}, text)]),
      told.practice ? make("p", { class: "small" }, "This is the practice of the trade, with no published source behind it. Makers differ: the owner's manual and the maker's service information come first.") : "");
    dialog.showModal();
    dialog.scrollTop = 0;
  }

  /** One of the three ways to give what is known. */
  way(chosen) {
    for (const button of document.querySelectorAll("[data-way]")) button.setAttribute("aria-pressed", String(button.dataset.way === chosen));
    byId("way-paste").hidden = chosen !== "paste";
    byId("way-ask").hidden = chosen !== "ask";
    if (chosen === "ask") drawQuestion(this);
  }

  listen() {
    byId("program").addEventListener("change", (event) => this.choose(event.target.value));
    for (const button of document.querySelectorAll("[data-way]")) button.addEventListener("click", () => this.way(button.dataset.way));
    byId("read").addEventListener("click", () => this.read(byId("messages").value));
    byId("capture").addEventListener("change", async ({ target }) => { if (target.files[0]) this.read(new Uint8Array(await target.files[0].arrayBuffer())); target.value = ""; });
    byId("load").addEventListener("change", async ({ target }) => { if (target.files[0]) this.load(await target.files[0].text()); target.value = ""; });
    byId("save").addEventListener("click", () => this.save("snapshot.json", `${JSON.stringify(this.doc, null, 2)}\n`));
    byId("keep").addEventListener("click", () => this.save("ruling.json", `${this.record}\n`));
    byId("clear").addEventListener("click", () => { this.doc = fresh(); this.asked = nothingAsked(); this.by = undefined; for (const id of ["messages", "vin", "by"]) byId(id).value = ""; byId("read-says").replaceChildren(); byId("load-says").textContent = ""; this.redraw(); });
    byId("by").addEventListener("change", ({ target }) => { this.by = target.value || undefined; this.open(byId("d-next")); });
    byId("print").addEventListener("click", () => window.print());
    for (const id of ["d-next", "d-others", "d-trace"]) byId(id).addEventListener("toggle", (event) => this.open(event.target));
  }
}

/** The library as it lies in the page: packed, in base64. */
async function library() {
  const text = atob(byId("library").textContent);
  const packed = Uint8Array.from(text, (letter) => letter.charCodeAt(0));
  return new Response(new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"))).arrayBuffer();
}

async function begin() {
  const began = performance.now();
  await __wbg_init({ module_or_path: await WebAssembly.compile(await library()) });
  const page = new Page();
  page.timing.compiled = performance.now() - began;
  page.listen();
  // `page.html#us-ca` begins with that program, before the others are read.
  const wanted = decodeURIComponent(location.hash.slice(1));
  const known = page.programs.ids().includes(wanted) && !page.programs.get(wanted).toJSON().part;
  page.choose(known ? wanted : "");
  byId("work").hidden = false;
  if (known) page.timing.first = performance.now() - began;
  page.listed = page.list();
  await page.listed;
  page.timing.listed = performance.now() - began;
  byId("program").value = page.program?.id ?? "";
  byId("wait").hidden = true;
  // Tests ask the same library that the page asks.
  globalThis.wherefore = { page, Snapshot, Programs };
}

begin().catch((thrown) => { byId("wait").textContent = `The page cannot work here: ${thrown?.message ?? thrown}. It needs a browser of 2023 or later.`; });
