// The form: a control for each fact of the vocabulary, and one for each that the program declares.

const byId = (id) => document.getElementById(id);

/** An element with attributes and children; `on…` attributes are listeners. */
function make(name, attributes = {}, ...children) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key.startsWith("on")) element.addEventListener(key.slice(2), value);
    else if (value === true) element.setAttribute(key, "");
    else if (value !== false && value !== undefined) element.setAttribute(key, value);
  }
  element.append(...children.filter((child) => child !== undefined && child !== null));
  return element;
}

/** Groups of the form: a heading, the keys, whether it stands open. */
const GROUPS = [
  ["The vehicle, by its papers", ["vehicle.model_year", "vehicle.fuel", "vehicle.class", "vehicle.gross_weight_lb"], true],
  ["By a look", ["connector", "lamp.lit_key_on_engine_off", "lamp.lit_engine_running", "lamp.flashing"], true],
  ["With a scan tool", ["communication", "lamp.commanded", "codes.stored", "codes.pending", "codes.permanent", "since_clear.warm_ups", "since_clear.distance_km"], true],
];
const VISIT = ["visit.date", "visit.area"];

/** The control of one fact. */
function control(fact, page) {
  const id = `k-${fact.key.replaceAll(".", "-")}`;
  const value = at(page.doc, fact.key);
  const changed = (given, key) => page.told(fact, given, key);
  const says = make("span", { id: `${id}-says`, class: "fault" });
  if (fact.type === "yes-no" || fact.type === "word") {
    const answers = answersOf(fact);
    const select = make("select", { id, "data-key": fact.key, "aria-describedby": says.id, onchange: () => changed(select.value === "" ? undefined : answers[Number(select.value)][0]) },
      make("option", { value: "" }, "not known"),
      ...answers.map(([, words], place) => make("option", { value: String(place) }, words)));
    const place = answers.findIndex(([known]) => known === value);
    if (place >= 0) select.value = String(place);
    else if (value !== undefined) select.append(make("option", { value: "", selected: true }, toText(value)));
    return [id, select, says];
  }
  const units = [fact.key, ...(fact.other_units ?? [])];
  const used = units.find((key) => at(page.doc, key) !== undefined) ?? fact.key;
  const absent = fact.may_be_absent === true;
  const input = make("input", {
    id, "data-key": fact.key, type: fact.type === "date" ? "date" : "text", inputmode: fact.type === "number" ? "numeric" : undefined, autocomplete: "off",
    spellcheck: "false", "aria-describedby": says.id, value: at(page.doc, used) === ABSENT ? "not on this vehicle" : toText(at(page.doc, used)),
    placeholder: fact.type === "codes" ? "not known; write none, or P0420 P0171" : fact.type === "date" ? undefined : "not known",
    list: fact.key === "visit.area" ? "areas" : undefined,
  });
  const unit = units.length > 1 ? make("select", { "aria-label": `unit of: ${fact.question}` }, ...units.map((key) => make("option", { value: key, selected: key === used }, unitOf(key)))) : undefined;
  const send = () => {
    const key = unit === undefined ? fact.key : unit.value;
    for (const other of units) if (other !== key) put(page.doc, other, undefined);
    const written = input.value.trim().toLowerCase();
    changed(absent && written === "not on this vehicle" ? ABSENT : fromText(fact, input.value), key);
  };
  input.addEventListener("change", send);
  unit?.addEventListener("change", send);
  return [id, unit === undefined ? input : make("span", { class: "with-unit" }, input, unit), says];
}

/** The unit in a key, `odometer_km`. */
const unitOf = (key) => ["lb", "kg", "km", "miles", "hours", "minutes"].find((unit) => key.split(/[._]/).includes(unit)) ?? "";

function field(fact, page) {
  const [id, box, says] = control(fact, page);
  return make("div", { class: "field" }, make("label", { for: id }, fact.question), box, says);
}

/** A row of the list of monitors: its name, which can be asked about, and its state in words. */
function monitorRow(fact, page) {
  const [id, box, says] = control(fact, page);
  const name = fact.key.slice("monitors.".length);
  const label = make("button", { type: "button", class: "term", id: `${id}-name`, onclick: () => page.explain(name), "aria-label": `${fact.spoken}: what it is` }, fact.spoken);
  box.setAttribute("aria-label", `${fact.spoken} monitor`);
  return make("div", { class: "monitor" }, label, box, says);
}

/** What is asked beside the vehicle: the law of another day, readings and options to take, what a station recorded. */
function drawAsked(page, open) {
  const heading = "Which law, and after the visit";
  const { asked, form } = page;
  const row = (id, label, box) => make("div", { class: "field" }, make("label", { for: id }, label), box);
  const day = (key, label) => row(`a-${key}`, label, make("input", { id: `a-${key}`, type: "date", value: asked[key] ?? "", onchange: ({ target }) => page.ask({ [key]: target.value || undefined }) }));
  const choice = (id, label, first, pairs, value, take) => row(id, label, make("select", { id, onchange: ({ target }) => take(target.value || undefined) },
    make("option", { value: "" }, first), ...pairs.map(([word, text]) => make("option", { value: word, selected: word === value }, text))));
  const takes = (form?.takes ?? []).map((one) => choice(`a-take-${one.name}`, one.text,
    one.taken === null ? "left open, as the text is: every reading stays possible" : `as this file takes it: ${one.taken}`,
    one.values.map(({ value, text }) => [value, text === "" ? value : `${value}: ${text}`]), asked.takes[one.name],
    (value) => { const { [one.name]: _, ...others } = asked.takes; page.ask({ takes: value === undefined ? others : { ...others, [one.name]: value } }); }));
  const recorded = form === undefined ? undefined
    : choice("a-recorded", "After the visit: what the station recorded", "nothing yet", form.results.map(({ class: word, text }) => [word, text]), asked.recorded, (value) => page.ask({ recorded: value }));
  const count = [asked.as_of, asked.known_on, asked.recorded, ...Object.values(asked.takes)].filter((given) => given !== undefined).length;
  return make("details", { "data-group": heading, open: open.has(heading) }, make("summary", {}, heading + (count === 0 ? "" : ` (${count} given)`)),
    make("div", {}, day("as_of", "Law of another day than the visit’s"), day("known_on", "Law as it had been published by this day"), ...takes, recorded));
}

/** Draws the form anew from the document. Groups that were open stay open. */
function drawForm(page) {
  const open = new Set([...document.querySelectorAll("#f-known details[open], #f-visit details[open]")].map((it) => it.dataset.group));
  const facts = new Map(page.facts.map((fact) => [fact.key, fact]));
  const group = (heading, list, whole = field) => {
    const filled = list.filter((fact) => at(page.doc, fact.key) !== undefined).length;
    const note = filled === 0 ? "" : ` (${filled} given)`;
    return make("details", { "data-group": heading, open: open.has(heading) }, make("summary", {}, heading + note), make("div", {}, ...list.map((fact) => whole(fact, page))));
  };
  const take = (keys) => keys.map((key) => facts.get(key)).filter((fact) => fact !== undefined);
  const rest = (start) => page.facts.filter((fact) => fact.key.startsWith(start) && !shown.has(fact.key));
  const shown = new Set([...VISIT, ...GROUPS.flatMap(([, keys]) => keys)]);

  const areas = make("datalist", { id: "areas" }, ...(page.form?.areas ?? []).map((name) => make("option", { value: name })));
  const visit = take(VISIT).filter((fact) => fact.key !== "visit.area" || page.form === undefined || page.form.areas.length > 0 || at(page.doc, fact.key) !== undefined);
  byId("f-visit").replaceChildren(areas, ...visit.map((fact) => field(fact, page)), group("More about the visit", rest("visit.")), drawAsked(page, open));

  const isCompression = at(page.doc, "vehicle.ignition") === "compression" || (at(page.doc, "vehicle.ignition") === undefined && at(page.doc, "vehicle.fuel") === "diesel");
  const monitors = page.facts.filter((fact) => fact.key.startsWith("monitors."));
  const isUsual = (fact) => fact.engines.includes(isCompression ? "compression" : "spark");
  const [usual, others] = [monitors.filter(isUsual), monitors.filter((fact) => !isUsual(fact))];
  const declared = page.facts.filter((fact) => fact.key.startsWith("declared."));
  const parts = GROUPS.flatMap(([heading, keys]) => [make("h3", {}, heading), ...take(keys).map((fact) => field(fact, page))]);
  byId("f-known").replaceChildren(
    ...parts,
    make("h3", {}, "Readiness monitors, since the codes were cleared"),
    make("p", { class: "small" }, "Touch a name to read what it watches and what it needs to run."),
    ...usual.map((fact) => monitorRow(fact, page)),
    make("h3", {}, "If it is known"),
    ...(declared.length > 0 ? [group("What this program asks besides", declared)] : []),
    group("More about the vehicle", rest("vehicle.")),
    group("More from the scan tool", [...rest("link."), ...rest("since_clear."), ...rest("since_lamp_on.")]),
    group(isCompression ? "Other monitors" : "Diesel, heavy-duty and other monitors", others, monitorRow),
  );
}

/** Marks what the library refuses, each at its field; what has no field is handed back. */
function markFaults(faults) {
  for (const marked of document.querySelectorAll("[aria-invalid]")) marked.removeAttribute("aria-invalid");
  for (const says of document.querySelectorAll(".field > .fault, .monitor > .fault")) says.textContent = "";
  return faults.filter((fault) => {
    const key = String(fault.path ?? "").replace(/\[.*$/, "");
    const id = `k-${key.replaceAll(".", "-")}`;
    const box = byId(id);
    if (box === null) return true;
    box.setAttribute("aria-invalid", "true");
    byId(`${id}-says`).textContent = [fault.message, fault.help].filter(Boolean).join(": ");
    box.closest("details")?.setAttribute("open", "");
    return false;
  });
}
