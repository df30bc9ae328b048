// The snapshot document that the page is about, and its parts by key. What the form cannot show stays as it was loaded.

const FORMAT = "wherefore-snapshot/1";
const ABSENT = "not-on-vehicle";

const today = () => {
  const now = new Date();
  return [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((n) => String(n).padStart(2, "0")).join("-");
};
/** What is asked beside the vehicle: nothing. */
const nothingAsked = () => ({ takes: {} });
const fresh = () => ({ format: FORMAT, visit: { date: today() } });

/** The value at a key, `lamp.commanded`; monitors have hyphens and no dots. */
const at = (doc, key) => key.split(".").reduce((part, step) => (part === null || typeof part !== "object" ? undefined : part[step]), doc);

/** Sets the value at a key, or takes it away where it is not known. */
function put(doc, key, value) {
  const [first, second] = key.split(".");
  if (second === undefined) {
    if (value === undefined) delete doc[first];
    else doc[first] = value;
    return;
  }
  if (value === undefined) {
    if (doc[first] !== undefined) delete doc[first][second];
    if (doc[first] !== undefined && Object.keys(doc[first]).length === 0) delete doc[first];
    return;
  }
  if (doc[first] === null || typeof doc[first] !== "object") doc[first] = {};
  doc[first][second] = value;
}

/** What a reader told before, taken away; what people told stays. */
function withoutReader(doc, facts) {
  const kept = structuredClone(doc);
  for (const fact of facts) {
    if (fact.observer === "reader") {
      put(kept, fact.key, undefined);
      for (const key of fact.other_units ?? []) put(kept, key, undefined);
    }
  }
  for (const part of ["this_cycle", "from", "quality"]) delete kept[part];
  return kept;
}

/** What was decoded, with what people told where the messages say nothing. */
function together(decoded, people) {
  const whole = structuredClone(decoded);
  for (const [part, held] of Object.entries(people)) {
    if (whole[part] === undefined) whole[part] = structuredClone(held);
    else if (held !== null && typeof held === "object" && !Array.isArray(held)) whole[part] = { ...structuredClone(held), ...whole[part] };
  }
  return whole;
}

/** What a person saw, for the decoder; the VIN on the vehicle is compared with the one in the messages. */
function seenBy(doc, vin) {
  const pairs = {
    vin: vin.trim() === "" ? undefined : vin.trim(),
    model_year: at(doc, "vehicle.model_year"), fuel: at(doc, "vehicle.fuel"), class: at(doc, "vehicle.class"),
    gross_weight_lb: at(doc, "vehicle.gross_weight_lb"), visit_date: at(doc, "visit.date"), visit: at(doc, "visit.kind"),
    area: at(doc, "visit.area"), connector: at(doc, "connector"),
  };
  return Object.fromEntries(Object.entries(pairs).filter(([, value]) => value !== undefined));
}

/** A form's text as a value: trouble codes and names of monitors are lists, `none` is an empty one. */
function fromText(fact, text) {
  const written = text.trim();
  if (written === "") return undefined;
  switch (fact.type) {
    case "number": return /^\d{1,9}$/.test(written) ? Number(written) : written;
    case "codes": case "monitors":
      if (/^none$/i.test(written)) return [];
      return written.split(/[\s,;]+/).filter((one) => one !== "").map((one) => (fact.type === "codes" ? one.toUpperCase() : one));
    default: return written;
  }
}

/** A value as a form's text. */
function toText(value) {
  if (value === undefined || value === null) return "";
  if (Array.isArray(value)) return value.length === 0 ? "none" : value.join(" ");
  return typeof value === "object" ? JSON.stringify(value) : String(value);
}

/** The answers of a fact with words, as pairs of value and what a person reads. */
function answersOf(fact) {
  const pairs = fact.key === "communication"
    ? [[true, "yes"], [false, "no"], ["unsupported-protocol", "by a protocol that the scan tool does not speak"]]
    : fact.type === "yes-no" ? [[true, "yes"], [false, "no"]]
    : fact.words.map((word) => [word, word.replaceAll("-", " ")]);
  return fact.may_be_absent ? [...pairs, [ABSENT, "not on this vehicle"]] : pairs;
}
