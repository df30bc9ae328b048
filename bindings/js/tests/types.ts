// Compiled by the tests and never run: the types say what there is, and refuse what there is not.
import { Programs, Snapshot, facts, type Brief, type Question, type Vehicle, type Verdict, type WhereforeError } from "wherefore";

const car: Vehicle = { visit: { date: "2026-11-28" }, monitors: { catalyst: "incomplete" } };
const program = new Programs({ "own.wherefore": "" }).get("us-il");
const ruling = program.judge(car, { as_of: "2024-03-01", takes: { question: "reading" } });
const verdict: Verdict = ruling.verdict;
const possible: string[] = ruling.possible.map((one) => one.class);
const citations: string[] = ruling.reasons.flatMap((reason) => reason.citations);
const brief: Brief = ruling.brief();
const put: Question | undefined = program.ask(new Snapshot("{}")).question();
const bounds: (number | undefined)[] = facts().facts.map((fact) => fact.least);
const read: Vehicle = Snapshot.fromMessages(new Uint8Array(), { model_year: 2012 }).toJSON();
const kind = (thrown: WhereforeError): string => thrown.kind;
// @ts-expect-error: a state in the words of another trade
const wrong: Vehicle = { monitors: { catalyst: "ready" } };
// @ts-expect-error: no such goal
program.next(car, "win");
const days: string[] = program.next(car, "pass", { recorded: "fail" }, "2026-12-20").brief().days?.parts ?? [];
const takes: string[] = program.toJSON().takes.flatMap((one) => one.values.map((value) => value.text));
// @ts-expect-error: a result of another trade
program.judge(car, { recorded: "passed" });
// @ts-expect-error: no such key
program.judge(car, { hour: 4 });
export { verdict, possible, citations, brief, put, bounds, read, kind, wrong, days, takes };
