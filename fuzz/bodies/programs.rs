//! A random program file made from bytes, as text: what the tests and the fuzz targets compare the engines on. Each kind of
//! item is drawn: tables with excuses and codes (rows by make, model, engine, years, weight, fuel), declared facts and
//! results, every kind of excuse and presumption, open questions and options, relabelling, vehicles left out, limits that
//! were not read, groups of codes with an unread part, lines that give way, two epochs.

/// The input, byte by byte; 0 after its end.
pub struct Bytes<'a>(std::slice::Iter<'a, u8>);

/// Which line gives way to which, so that none does in a ring.
struct Ways {
    outcomes: Vec<&'static str>,
    given: Vec<(usize, usize)>,
}

impl Ways {
    fn leads(&self, from: usize, to: usize) -> bool {
        from == to || self.given.iter().any(|(one, next)| *one == from && self.leads(*next, to))
    }

    /// Whether a line may give way to others, which it then does.
    fn add(&mut self, line: usize, others: &[usize]) -> bool {
        let may = !others.is_empty() && others.iter().all(|other| !self.leads(*other, line));
        if may {
            self.given.extend(others.iter().map(|other| (line, *other)));
        }
        may
    }
}

const VEHICLE: [&str; 16] = [
    "make is \"Ford\"",
    "make is \"Ford\" or \"Emm\"",
    "make is not \"Emm\"",
    "model is \"Wagon\"",
    "model is \"Wagon\" or \"Ex\"",
    "engine is \"2.5L\"",
    "model year is 1996",
    "model year 1996 through 2013",
    "model year 2001 or later",
    "gross weight at most 8500 lb",
    "gross weight above 3855 kg",
    "fuel is gasoline",
    "fuel is diesel or natural-gas",
    "hybrid",
    "class is light-duty or light-truck",
    "special is yes",
];

const TESTS: [&str; 44] = [
    "lamp commanded on",
    "lamp not commanded on",
    "lamp lit with the engine running",
    "lamp dark with the key on",
    "lamp flashing",
    "connector is not intact",
    "connector is missing or tampered",
    "communication is none",
    "communication is not established",
    "protocol is j1939",
    "ignition is spark",
    "fuel is electric",
    "not plug-in",
    "visit is retest",
    "VIN in the data",
    "VIN does not match",
    "exhaust is leaking or missing",
    "tail is failed",
    "warm-ups since clearing at least 15",
    "distance since clearing below 200 miles",
    "earlier incomplete visits at least 1",
    "days at least 2 days",
    "first registered 2006-01-01 or later",
    "age at least 4",
    "age 8 through 11",
    "model year is even",
    "model year and test year have the same parity",
    "area is \"Adams\" or \"Boulder\"",
    "catalyst is incomplete",
    "evaporative is complete wherever supported",
    "egr-vvt is unsupported",
    "hd-misfire is supported",
    "nmhc-catalyst is supported and complete",
    "any one of catalyst, evaporative, boost-pressure is incomplete",
    "every one of catalyst, egr-vvt is complete wherever supported",
    "any monitor that lit the lamp earlier is incomplete",
    "every monitor incomplete earlier is complete wherever supported",
    "permanent code not on this vehicle",
    "warm-ups since clearing on this vehicle",
    "gross weight 8501 through 10000 lb",
    "model year 2000 or earlier",
    "test year is odd",
    "distance since the previous test at least 100 km",
    "purpose is renewal",
];

const COUNTED: [&str; 10] = [
    "at most 1 counted monitor is incomplete",
    "at least 2 counted monitors are incomplete",
    "exactly 1 counted monitor is incomplete",
    "no counted monitor is incomplete",
    "at least 1 counted monitor is supported and complete",
    "every counted monitor is complete wherever supported",
    "no more counted monitors are incomplete than earlier",
    "over the limit",
    "within the limit",
    "over the limit second",
];

const MONITORS: [&str; 8] = [
    "catalyst",
    "evaporative",
    "catalyst, evaporative",
    "egr-vvt",
    "nmhc-catalyst, particulate-filter",
    "misfire, fuel-system",
    "hd-misfire, catalyst",
    "oxygen-sensor, oxygen-sensor-heater, secondary-air",
];

const CODES: [&str; 5] =
    ["P0420", "P0420, P0430 through P0460 with letters", "P0171", "P0440 through P0459 digits only", "P0300"];

impl<'a> Bytes<'a> {
    pub fn of(bytes: &'a [u8]) -> Bytes<'a> {
        Bytes(bytes.iter())
    }

    fn below(&mut self, many: usize) -> usize {
        usize::from(self.0.next().copied().unwrap_or(0)) % many.max(1)
    }

    fn is_one_in(&mut self, many: usize) -> bool {
        self.below(many) == many - 1
    }

    fn pick<'t>(&mut self, list: &[&'t str]) -> &'t str {
        list[self.below(list.len())]
    }

    fn codes_test(&mut self) -> String {
        let how = self.pick(&["any", "no", "only"]);
        let list = self.pick(&["stored", "pending", "permanent", "earlier failure"]);
        // The list of a table is tested with `any` or `no` alone, and `only` says among what.
        if how == "only" {
            return format!("only {list} codes among {}", self.pick(&["some", "unseen"]));
        }
        let among = ["", " among some", " among unseen", " on the list of odd", " on the list of even"];
        format!("{how} {list} code{}", self.pick(&among))
    }

    fn test(&mut self, findings: usize) -> String {
        match self.below(12) {
            0..=4 => self.pick(&TESTS).to_owned(),
            5 => self.pick(&VEHICLE).to_owned(),
            6 | 7 => self.pick(&COUNTED).to_owned(),
            8 => self.codes_test(),
            9 => self.pick(&["listed in odd", "not listed in odd", "listed in even", "not listed in even"]).to_owned(),
            _ if findings > 0 => {
                let not = if self.is_one_in(3) { "not " } else { "" };
                format!("{not}finding-{}", self.below(findings))
            }
            _ => self.pick(&VEHICLE).to_owned(),
        }
    }

    fn condition(&mut self, findings: usize) -> String {
        let many = [1, 1, 1, 2, 2, 3][self.below(6)];
        let tests: Vec<String> = (0..many).map(|_| self.test(findings)).collect();
        tests.join(" and ")
    }

    /// A condition that neither counts nor names a limit, a finding or a table.
    fn plain(&mut self) -> String {
        match self.below(4) {
            0 => "every vehicle".to_owned(),
            1 => self.pick(&VEHICLE).to_owned(),
            2 => self.pick(&TESTS).to_owned(),
            _ => format!("{} and {}", self.pick(&TESTS), self.pick(&VEHICLE)),
        }
    }

    fn row(&mut self) -> String {
        let many = 1 + self.below(3);
        let tests: Vec<&str> = (0..many).map(|_| self.pick(&VEHICLE)).collect();
        let what = match self.below(3) {
            0 => format!("excuses {}", self.pick(&MONITORS)),
            1 => format!("codes {}", self.pick(&CODES)),
            _ => format!("excuses {}; codes {}", self.pick(&MONITORS), self.pick(&CODES)),
        };
        format!("  - {}: {what}\n", tests.join(" and "))
    }

    fn table(&mut self, id: &str) -> String {
        let rows: String = (0..=self.below(4)).map(|_| self.row()).collect();
        format!("table {id}\n{rows}  per t\n")
    }

    fn allowance(&mut self) -> String {
        match self.below(8) {
            0 => "none".to_owned(),
            1..=3 => format!("at most {}", self.below(4)),
            4 => format!("at most {}, only {}", 1 + self.below(2), self.pick(&MONITORS)),
            5 => format!("at least {} complete", 1 + self.below(3)),
            _ => "not read".to_owned(),
        }
    }

    fn limit(&mut self, name: &str) -> String {
        let rows = match self.below(4) {
            0 => format!("  - every vehicle: {}\n", self.allowance()),
            1 => {
                let (one, other) = (self.allowance(), self.allowance());
                format!("  - model year 2000 or earlier: {one}\n  - model year 2001 or later: {other}\n")
            }
            2 => {
                let (one, other) = (self.allowance(), self.allowance());
                format!("  - fuel is gasoline: {one}\n  - fuel is not gasoline: {other}\n")
            }
            _ => {
                let (first, one, second, other) = (self.plain(), self.allowance(), self.plain(), self.allowance());
                format!("  - {first}: {one}\n  - {second}: {other}\n")
            }
        };
        format!("limit{name}\n{rows}  per t\n")
    }

    fn guard(&mut self) -> &'static str {
        self.pick(&["", "", "", "", "  under doubt first\n", "  under doubt second\n", "  under choice taken\n"])
    }

    fn counts(&mut self, guard: &str) -> String {
        let monitors = self.pick(&[
            "evaporative",
            "egr-vvt",
            "misfire",
            "nmhc-catalyst, particulate-filter",
            "oxygen-sensor, secondary-air",
            "hd-misfire, evaporative",
        ]);
        let what = match self.below(5) {
            0 => "supported monitors".to_owned(),
            1 => "supported monitors that are not continuous".to_owned(),
            2 => "monitors that are not continuous, unsupported as incomplete".to_owned(),
            _ => format!("supported monitors among catalyst, {monitors}"),
        };
        format!("counts {what}\n{guard}  per t\n")
    }

    fn presumptions(&mut self) -> String {
        let all = [
            "presumes not listed in odd where not known\n  per t\n",
            "presumes not listed in even where not known\n  per t\n",
            "presumes special is no where not known\n  per t\n",
            "presumes fuel is gasoline where not known\n  per t\n",
            "presumes class is light-duty where not known\n  per t\n",
            "presumes visit is initial where not known\n  per t\n",
            "presumes days is 1 days where not known\n  per t\n",
            "presumes make is \"Ford\" where not known\n  per t\n",
            "presumes exhaust is sound where not known\n  per t\n",
            "presumes ignition is spark where not known\n  per t\n",
        ];
        all.into_iter()
            .enumerate()
            .filter(|(at, _)| self.is_one_in(if *at < 2 { 2 } else { 5 }))
            .map(|(_, it)| it)
            .collect()
    }

    fn line(&mut self, at: usize, ways: &mut Ways, findings: usize) -> String {
        let topic = self.pick(&["lamp", "readiness", "stored-codes", "other"]);
        let concerns =
            if self.is_one_in(3) { format!("  concerns {}\n", self.condition(findings)) } else { String::new() };
        let outcome = ways.outcomes[at];
        let condition = self.condition(findings);
        let line = if self.is_one_in(5) {
            format!("  requires {condition}, or else {outcome}\n")
        } else {
            format!("  {outcome} where {condition}\n")
        };
        let all = ways.outcomes.len();
        let fails: Vec<usize> = (0..all).filter(|other| ways.outcomes[*other] == "fail").collect();
        let way = match self.below(6) {
            0 if outcome != "fail" && ways.add(at, &fails) => "  gives way to any fail\n".to_owned(),
            1 | 2 => {
                let other = self.below(all);
                if ways.add(at, &[other]) { format!("  gives way to clause-{other}\n") } else { String::new() }
            }
            _ => String::new(),
        };
        let when = self.pick(&["", "", "", "", "  from 2015-07-01\n", "  through 2015-06-30\n"]);
        format!("clause clause-{at} on {topic}\n{concerns}{line}{way}{}{when}  per t\n", self.guard())
    }

    /// The text of a program.
    pub fn program(&mut self) -> String {
        let mut text = HEAD.to_owned();
        let taken = self.pick(&[
            "none \"two texts disagree\"",
            "none \"two texts disagree\"",
            "first \"as written\"",
            "second \"as practised\"",
        ]);
        text += &format!("  taken {taken}\noption choice \"Is it taken?\": not-taken, taken\n");
        text += &format!("  chosen {}\n  per t\n", self.pick(&["taken", "not-taken"]));
        text += &(self.table("odd") + &self.table("even"));
        for _ in 0..=self.below(2) {
            let covers = if self.is_one_in(3) { self.plain() } else { "every vehicle".to_owned() };
            text += &format!("covers where {covers}\n  per t\n");
        }
        for _ in 0..self.below(3) {
            let outcome = self.pick(&["not-subject", "tailpipe"]);
            text += &format!("leaves out where {}: {outcome} \"left out\"\n{}  per t\n", self.plain(), self.guard());
        }
        // One rule says under every reading what is counted.
        text += &self.counts("");
        if self.is_one_in(2) {
            let guard = self.guard();
            text += &self.counts(guard);
        }
        for _ in 0..self.below(3) {
            let what = match self.below(4) {
                0 => "each monitor incomplete earlier".to_owned(),
                1 => "monitors excused by odd".to_owned(),
                2 => "monitors excused by even".to_owned(),
                _ => self.pick(&MONITORS).to_owned(),
            };
            let wher = if self.is_one_in(2) { format!(" where {}", self.plain()) } else { String::new() };
            text += &format!("excuses {what}{wher}\n{}  per t\n", self.guard());
        }
        text += &(self.limit("") + &self.limit(" second"));
        text += &self.presumptions();
        let findings = self.below(3);
        for at in 0..findings {
            let join = self.pick(&["any of", "all of", "none of"]);
            let bullets: String = (0..=self.below(3)).map(|_| format!("  - {}\n", self.condition(at))).collect();
            text += &format!("finding finding-{at}\n  {join}\n{bullets}");
        }
        let lines = 1 + self.below(5);
        let outcomes = (0..lines).map(|_| self.pick(&["conditional", "tailpipe", "reject", "fail"])).collect();
        let mut ways = Ways { outcomes, given: Vec::new() };
        for at in 0..lines {
            text += &self.line(at, &mut ways, findings);
        }
        for _ in 0..self.below(2) {
            let (from, to) =
                [("fail", "pass"), ("tailpipe", "reject"), ("reject", "fail"), ("fail", "conditional")][self.below(4)];
            text += &format!("outcome {from} becomes {to} where {}\n{}  per t\n", self.condition(0), self.guard());
        }
        text
    }
}

const HEAD: &str = "program random \"Random program\"
  authority \"Nobody\"
  language 1
  standing checked
source t \"t\" memory
in force from 2000-01-01
  per t
outcomes pass, conditional, tailpipe (other-test) \"tailpipe test\", reject, fail
age is test year less model year
  per t
fact special: yes or no
  asks \"Is it special?\"
  observed by papers
fact exhaust: sound, leaking, missing
  asks \"Is the exhaust sound?\"
  observed by look
fact days: 0 through 3 days
  asks \"How many days?\"
  observed by papers
result tail: passed, failed
  asks \"How did it end?\"
  observed by papers
code group some: P0420 through P0439 digits only, P0171
  per t
code group unseen: P0300; not read P0440 through P0460 with letters
  per t
question doubt \"Which?\"
  - reading first \"as written\"
    per t
  - reading second \"as practised\"
    per t
";
