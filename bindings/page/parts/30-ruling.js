// The ruling as a person reads it, and what is one step away.

const list = (kind, items) => (items.length === 0 ? undefined : make(kind, {}, ...items));
const lines = (items) => items.map((text) => make("li", {}, text));

/** A line that begins a paragraph here, and stands behind a word in the terminal. */
const begun = (text) => text.charAt(0).toUpperCase() + text.slice(1);

/** What to do, in order; nothing where there is nothing. */
function drawSteps(brief, page) {
  const out = [];
  if (brief.before) out.push(make("p", {}, begun(brief.before)));
  if (brief.steps.length > 0) out.push(list("ol", brief.steps.map((step) => make("li", {}, step.text, ...step.how.map((line) => make("p", {}, line))))));
  for (const line of brief.after) out.push(make("p", {}, line));
  if (brief.stay_ready) out.push(make("p", { class: "screen" }, make("button", { type: "button", class: "term", onclick: () => page.explain(brief.stay_ready) }, "How such a vehicle stays ready")));
  return out;
}

/** The plan, with how each step is usually done; cautions that the ruling above does not tell come with it. */
function drawPlan(plan, told, page) {
  const brief = plan.brief();
  const steps = drawSteps(brief, page);
  const more = brief.cautions.filter((caution) => !told.includes(caution));
  return [
    ...(steps.length > 0 ? steps : [make("p", {}, brief.headline)]),
    ...(brief.days ? [make("h3", {}, "Backwards from the visit"), ...drawLed(brief.days.lead, brief.days.parts), ...brief.days.after.map((line) => make("p", {}, line))] : []),
    ...(more.length > 0 ? [make("div", { class: "cautions" }, list("ul", lines(more)))] : []),
    make("details", {}, make("summary", {}, "In full"), make("div", {}, make("pre", {}, plan.inFull()))),
  ];
}

/** A sentence with what it leads. */
const drawLed = (lead, items) => [make("p", {}, lead), list("ul", lines(items)) ?? ""];

/** A ruling in brief. */
function drawBrief(brief, page) {
  const out = [make("p", { class: "about" }, brief.vehicle), make("p", { class: "program" }, [brief.program, brief.due].filter(Boolean).join(" · ")), make("p", { class: "headline" }, brief.headline)];
  if (brief.readiness) out.push(make("p", {}, brief.readiness));
  if (brief.why.length > 0) {
    out.push(make("h3", {}, "Why"), list("ul", brief.why.map((why) => make("li", {}, why.text, why.law ? make("span", { class: "law" }, why.law) : undefined))));
    if (brief.more_reasons > 0) out.push(make("p", {}, `And ${brief.more_reasons} more: see “Every clause, and why”.`));
  }
  if (brief.recorded) {
    out.push(make("h3", {}, "What the station recorded"), ...drawLed(brief.recorded.says, brief.recorded.by));
    if (brief.recorded.ask.length > 0) out.push(...drawLed("Ask the station, and look at the report that it printed:", brief.recorded.ask));
  }
  const steps = drawSteps(brief, page);
  if (steps.length > 0) out.push(make("div", { class: "steps" }, make("h3", {}, "What to do"), ...steps));
  if (brief.unsure.length > 0) {
    const doubts = brief.more === 1 ? "1 more doubt" : `${brief.more} more doubts`;
    const more = brief.more > 0 ? [
      make("li", { class: "screen" }, `${doubts}: see “Every clause, and why”.`),
      make("li", { class: "paper" }, `${doubts}: see the ruling in full.`),
    ] : [];
    out.push(make("h3", {}, "Not sure"), list("ul", [...lines(brief.unsure), ...more]));
  }
  out.push(make("div", { class: "cautions" }, make("p", {}, brief.cautions.length > 1 ? "Cautions" : "Caution"), list("ul", lines(brief.cautions))));
  return out;
}

/** A refusal in words, with every fault that no field shows. */
function drawRefusal(thrown, left) {
  const known = thrown?.name === "WhereforeError" || thrown instanceof TypeError;
  const text = known ? thrown.message : `Something went wrong inside the page (${thrown}). Load the page again; save the snapshot first.`;
  const faults = left ?? [];
  return [
    make("p", { class: "headline" }, "There is no ruling yet."),
    make("p", {}, faults.length === 0 && left !== undefined && thrown.kind === "snapshot" ? "Something that was given cannot be used; it is marked at its field." : text),
    list("ul", faults.map((fault) => make("li", {}, [fault.path, fault.message, fault.help].filter(Boolean).join(": ")))) ?? "",
  ];
}

/** The vehicle as it was told, for paper. */
function drawTold(page) {
  const rows = page.facts.flatMap((fact) => [fact.key, ...(fact.other_units ?? [])].filter((key) => at(page.doc, key) !== undefined).map((key) => {
    const value = at(page.doc, key);
    const words = fact.type === "yes-no" || fact.type === "word" ? answersOf(fact).find(([known]) => known === value)?.[1] : undefined;
    const name = fact.spoken === undefined ? fact.question : `${fact.spoken} monitor`;
    const shown = words ?? (value === ABSENT ? "not on this vehicle" : toText(value));
    return make("div", {}, make("dt", {}, name), make("dd", {}, `${shown}${typeof value === "number" ? ` ${unitOf(key)}` : ""}`));
  }));
  byId("told").replaceChildren(make("h3", {}, "What was told of the vehicle; all else is not known"), make("dl", {}, ...rows),
    make("p", {}, `Wherefore ${version()}. This ruling is advice. The official inspection decides; local rules and licensed practice come first.`));
}

/** The same vehicle under every program, some at a time so that the page stays awake. The table comes when it is whole: what grows
 * under a finger would be touched at the wrong place. */
async function drawOthers(page, box, turn) {
  const body = make("tbody");
  const says = make("p", { role: "status", class: "small" }, "Working …");
  box.replaceChildren(says);
  const table = make("table", {}, make("thead", {}, make("tr", {}, ...["Program", "Headline", "Missing for a pass"].map((text) => make("th", { scope: "col" }, text)))), body);
  await page.listed;
  const began = performance.now();
  let count = 0;
  for (const form of page.forms.filter((form) => !form.part && form.standing !== "draft" && form.standing !== "withdrawn")) {
    if (turn !== page.turn) return;
    let cells;
    try {
      const ruling = page.programs.get(form.id).judge(page.doc, page.asOf());
      const { row } = ruling.brief();
      ruling.free();
      cells = [row.headline, row.missing];
    } catch (thrown) {
      cells = [thrown.message, ""];
    }
    const name = make("button", { type: "button", class: "term", onclick: () => page.choose(form.id) }, `${form.title} (${form.id})`);
    body.append(make("tr", form.id === page.program?.id ? { "aria-current": "true" } : {}, make("td", {}, form.id === page.program?.id ? `${form.title} (${form.id}), chosen` : name), ...cells.map((text) => make("td", {}, text))));
    count += 1;
    if (count % 6 === 0) await new Promise((done) => setTimeout(done));
  }
  if (turn !== page.turn) return;
  box.append(table);
  says.textContent = `${count} programs. A place that is not among the program's own is not known to it.`;
  page.timing.others = performance.now() - began;
}
