/** A snapshot document (`wherefore-snapshot/1`); `facts()` says what its keys may hold. What is left out is not known. */
export interface Vehicle {
    format?: "wherefore-snapshot/1";
    visit?: Record<string, unknown>;
    vehicle?: Record<string, unknown>;
    monitors?: Record<string, "complete" | "incomplete" | "unsupported">;
    [part: string]: unknown;
}

/** What is asked beside the vehicle. Dates are texts, `2026-11-28`. */
export interface Request {
    /** The law of this date instead of that of the visit. */
    as_of?: string;
    /** The law as published by this date. */
    known_on?: string;
    /** Readings of open questions and values of options. */
    takes?: Record<string, string>;
    /** The class of the result that a station recorded: does it follow from the facts? */
    recorded?: "pass" | "conditional" | "other-test" | "reject" | "fail" | "not-subject";
    /** With a proof that `wherefore replay` checks. */
    proof?: boolean;
}

/** What a person saw or knows beside what the vehicle sent. */
export interface Seen {
    model_year?: number;
    fuel?: string;
    class?: string;
    gross_weight_lb?: number;
    visit_date?: string;
    visit?: string;
    area?: string;
    connector?: string;
    vin?: string;
}

/** A verdict by its name in the program and its class, which does not depend on the program. */
export interface Verdict { name: string; class: string }

/** One thing that stands against the vehicle, or that takes it out of the program. */
export interface Reason { clause: string; message: string; outcome: string; citations: string[] }

/** One question. */
export interface Question {
    /** Key of the fact in a snapshot document, `monitors.catalyst`. */
    key: string;
    text: string;
    /** Who can tell. */
    toldBy: string;
    /** What may be answered, in words. */
    answers: string;
    /** How many questions there are at most from here on. */
    atMost: number;
}

/** The answer in brief. */
export interface Brief {
    /** The vehicle and the date of the visit. */
    vehicle: string;
    program: string;
    headline: string;
    due: string | null;
    readiness: string | null;
    why: { text: string; law: string | null }[];
    /** How many reasons more there are. */
    more_reasons: number;
    before: string | null;
    steps: { text: string; how: string[] }[];
    after: string[];
    /** A name to explain: how such a vehicle stays ready. */
    stay_ready: string | null;
    unsure: string[];
    more: number;
    rest: string;
    cautions: string[];
    /** Where the request told what a station recorded. */
    recorded?: { class: string; follows: "surely" | "perhaps" | "no"; says: string; by: string[]; ask: string[] };
    /** Of plans backwards from a visit. */
    days?: { lead: string; parts: string[]; after: string[] };
    /** Of rulings: for a table of many programs. */
    row?: { headline: string; missing: string; weakest: string | null };
}

/** One fact of the vocabulary, or one that a program declares. */
export interface FactForm {
    key: string;
    name: string;
    type: "yes-no" | "word" | "number" | "date" | "text" | "monitors" | "codes";
    words?: string[];
    unit?: string;
    /** Of monitors: the ignitions with which service $01 PID $01 tells of it; none: J1939 alone does. */
    engines?: ("spark" | "compression")[];
    /** Of monitors: its name as a person would say it. */
    spoken?: string;
    least?: number;
    most?: number;
    observer: string;
    question: string;
    [more: string]: unknown;
}

/** The vocabulary (`wherefore-facts/1`). */
export interface Vocabulary { format: string; facts: FactForm[]; [more: string]: unknown }

/** What a program is and what it asks beside the common vocabulary. */
export interface ProgramForm {
    id: string;
    title: string;
    authority: string;
    standing: "checked" | "digest-checked" | "draft" | "withdrawn";
    /** Whether it is only adopted by others and rules on nothing by itself. */
    part: boolean;
    areas: string[];
    facts: FactForm[];
    /** What a request may take: open questions of the text with their readings, and options with their values. */
    takes: { name: string; kind: "question" | "option"; text: string; values: { value: string; text: string }[]; taken: string | null }[];
    /** The results that a station can record here, by class. */
    results: { class: string; text: string }[];
}

/** A name in plain words. */
export interface Explained { name: string; kind: string; what: string; more: [string, string][]; before?: string; after?: string; practice: boolean }

/** What is thrown where something is refused. */
export interface WhereforeError extends Error {
    name: "WhereforeError";
    kind: "no-such-program" | "program-text" | "snapshot" | "mapping" | "messages" | "ruling";
    faults: Record<string, unknown>[];
}
