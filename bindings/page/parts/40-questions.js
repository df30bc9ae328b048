// Questions one by one: only what can still change the ruling.

/** Puts the next question. Answers go into the document, and the form and the ruling follow. */
function drawQuestion(page, says) {
  const box = byId("asking");
  if (page.program === undefined) {
    box.replaceChildren(make("p", {}, "Choose a program first."));
    return;
  }
  let put;
  try {
    page.asking ??= { questions: page.program.ask(page.doc, page.asked), before: [] };
    put = page.asking.questions.question();
  } catch (thrown) {
    page.asking = undefined;
    box.replaceChildren(make("p", { class: "fault" }, thrown.message));
    return;
  }
  const back = page.asking.before.length > 0
    ? make("button", { type: "button", onclick: () => { page.doc = page.asking.before.pop(); page.asking = { questions: page.program.ask(page.doc, page.asked), before: page.asking.before }; page.redraw({ keepAsking: true }); drawQuestion(page); } }, "Back")
    : undefined;
  if (put === undefined) {
    box.replaceChildren(make("p", {}, "Nothing more that can be asked would change the ruling."), make("p", { class: "row" }, make("a", { href: "#ruling" }, "To the ruling"), back));
    return;
  }
  const take = (answer) => {
    const before = structuredClone(page.doc);
    try {
      if (answer === undefined) page.asking.questions.notKnown();
      else page.asking.questions.answer(answer);
    } catch (thrown) {
      drawQuestion(page, thrown.message);
      return;
    }
    page.asking.before.push(before);
    const snapshot = page.asking.questions.snapshot;
    page.doc = snapshot.toJSON();
    snapshot.free();
    page.redraw({ keepAsking: true });
    drawQuestion(page);
    box.querySelector("button, input")?.focus();
  };
  const fact = page.facts.find((fact) => fact.key === put.key || (fact.other_units ?? []).includes(put.key));
  const words = fact === undefined ? undefined
    : fact.type === "yes-no" ? [["yes", "Yes"], ["no", "No"]]
    : fact.type === "word" ? fact.words.map((word) => [word, word.replaceAll("-", " ")]) : undefined;
  const input = make("input", { id: "answer-text", type: fact?.type === "date" ? "date" : "text", autocomplete: "off", "aria-describedby": "answer-may" });
  const controls = words === undefined
    ? make("form", { class: "row", onsubmit: (event) => { event.preventDefault(); if (input.value.trim() !== "") take(input.value); } }, input, make("button", {}, "Answer"))
    : make("div", { class: "options" }, ...words.map(([word, shown]) => make("button", { type: "button", onclick: () => take(word) }, shown)));
  const absent = fact?.may_be_absent ? make("button", { type: "button", onclick: () => take("not on this vehicle") }, "Not on this vehicle") : undefined;
  box.replaceChildren(...[
    make("p", {}, make("label", { for: "answer-text" }, make("strong", {}, put.text)), ` (${put.toldBy})`),
    controls,
    words === undefined ? make("p", { id: "answer-may", class: "small" }, put.answers) : undefined,
    says === undefined ? undefined : make("p", { class: "fault", role: "alert" }, says),
    make("p", { class: "row" }, absent, make("button", { type: "button", onclick: () => take(undefined) }, "Nobody knows"), back),
    make("p", { class: "small" }, put.atMost === 1 ? "The last question." : `At most ${put.atMost} more questions, this one included.`),
  ].filter((part) => part !== undefined));
}
