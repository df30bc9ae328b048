//! What the machine-checked model of the language (`tests/proof`) is held against: every shipped program in every epoch, and
//! random programs, with vehicles and with what the library tells of them. `WHEREFORE_DUMP=FILE` writes it all for the model
//! (`tests/proof/run`), `WHEREFORE_DUMP_OF=PROGRAMS,EPOCHS,RANDOM` less or more of it; without either a small part is made and looked at.

mod text;

use crate::agree::{self, proofs, reference};
use crate::bulk::records::{Dice, Records, Vocabulary, in_terms_of};
use crate::bulk::{days, flat_on};
use crate::every;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use text::{Names, bit, list, of};
use wherefore::internals::certificate::{Certificate, verify};
use wherefore::internals::diagram;
use wherefore::internals::evaluate::{Truth, Walk, verdict};
use wherefore::internals::model::facts::whole;
use wherefore::internals::model::table::{all_facts, key_of};
use wherefore::internals::model::{Date, Fact, Facts, Reading, Snapshot, Value, day_number, exclusions};
use wherefore::internals::program::select::{days_of_change, epochs, live, variant_of};
use wherefore::internals::program::{Block, Flat, Given, GivenError, Program, Selection, select};
use wherefore::internals::ruling::certificate;

/// What is written, and how much of it.
#[derive(Default)]
struct Dump {
    text: String,
    names: Names,
    programs: usize,
    snapshots: usize,
    open: usize,
    contradictions: usize,
    proofs: usize,
    accepted: usize,
    selections: usize,
}

fn truth(truth: Truth) -> String {
    match truth {
        Truth::False => "0",
        Truth::Unknown => "?",
        Truth::True => "1",
    }
    .to_owned()
}

impl Dump {
    fn new() -> Dump {
        let mut dump = Dump::default();
        let names = &mut dump.names;
        let unknown = all_facts().map(|fact| list([names.key(fact).to_string(), names.possible(whole(fact))]));
        let unknown = of("unknown", unknown.collect::<Vec<_>>());
        let rules = exclusions().iter().map(|it| list([names.constraint(it.first), names.constraint(it.second)]));
        let rules = of("exclusions", rules.collect::<Vec<_>>());
        let _ = writeln!(dump.text, "{unknown}\n{rules}");
        dump
    }

    /// The facts that are not wholly unknown, and all declared ones.
    fn facts(&mut self, facts: &Facts, given: Option<&Given>) -> String {
        let names = &mut self.names;
        let known = all_facts().filter(|fact| facts.get(*fact) != whole(*fact));
        let mut said: Vec<String> =
            known.map(|fact| list([names.key(fact).to_string(), names.possible(facts.get(fact))])).collect();
        for (place, possible) in given.into_iter().flat_map(|given| given.declared.iter().enumerate()) {
            said.push(list([Names::declared(place).to_string(), names.possible(possible)]));
        }
        list(said)
    }

    fn program(&mut self, name: &str, flat: &Flat) {
        self.programs += 1;
        let said = self.names.program(name, flat);
        let _ = writeln!(self.text, "{said}");
    }

    /// What is reported, before anything follows from it.
    fn reported(flat: &Flat, snapshot: &Snapshot) -> Facts {
        let mut facts = Facts::unknown();
        for (fact, reading) in &snapshot.readings {
            facts.learn(*fact, reading);
        }
        if snapshot.test_date().is_none() {
            facts.learn(Fact::TestDate, &Reading::Known(Value::Date(flat.test_date)));
        }
        facts
    }

    /// A snapshot under the program that was written last, and what the library tells of it; `is_whole`: nothing but readings
    /// of the law is open.
    fn snapshot(&mut self, flat: &Flat, snapshot: &Snapshot, is_whole: bool) {
        let mut reported = Dump::reported(flat, snapshot);
        let area = match snapshot.get(Fact::Area) {
            Some(Reading::Known(Value::Text(name))) => Some(flat.areas.seen(name)),
            _ => None,
        };
        let is_stranger = area == Some(None);
        if let Some(seen) = area {
            reported.put(Fact::Area, wherefore::internals::model::facts::Possible::Text(seen));
        }
        let given = match Given::of(flat, snapshot) {
            Ok(given) => given,
            Err(GivenError::Contradiction(_)) => {
                self.contradictions += 1;
                let said = self.facts(&reported, None);
                let _ = writeln!(self.text, "(contradiction {said})");
                return;
            }
            Err(other) => panic!("{other}"),
        };
        self.snapshots += 1;
        let bare = Given::presuming(flat, snapshot, &|_| false).unwrap();
        let area = self.names.key(Fact::Area);
        let bound = verdict(flat, &given).iter().map(text::verdict).collect::<Vec<_>>();
        let exact = diagram::exact::possible(flat, &given).unwrap();
        self.open += usize::from(exact.len() > 1);
        let walk = Walk::new(flat, &given, &[]);
        let standing = walk.standing();
        let lines = standing.unmet.iter().zip(&standing.live).map(|(unmet, live)| truth(*unmet) + &truth(*live));
        let findings = (0..flat.findings.len()).map(|place| truth(walk.finding(place)));
        let limits = (0..flat.limits.len()).map(|place| walk.limit(place));
        let limits = limits.map(|(within, over)| truth(within) + &truth(over));
        let unlisted = given.unlisted.iter().map(|one| {
            let rows = (0..flat.tables[one.table].rows.len()).filter(|row| one.rows.contains(row));
            list([one.table.to_string(), list(rows.map(|row| row.to_string()))])
        });
        let said = [
            bit(is_whole),
            self.facts(&reported, Some(&bare)),
            if is_stranger { area.to_string() } else { "-".to_owned() },
            self.facts(&given.facts, Some(&given)),
            list(unlisted),
            list(bound),
            list(exact.into_iter().map(text::verdict)),
            truth(walk.covered()),
            list(lines),
            list(findings),
            list(limits),
        ];
        let _ = writeln!(self.text, "{}", of("snapshot", said));
    }

    /// A certificate on the snapshot that was written last, and whether the library's checker accepts it.
    fn proof(&mut self, flat: &Flat, snapshot: &Snapshot, proof: &Certificate) {
        let is_held = |key: &String| match key.strip_prefix("declared.") {
            Some(name) => snapshot.declared.contains_key(name),
            None => snapshot.readings.keys().any(|fact| key_of(*fact) == *key),
        };
        let Some(said) = text::certificate(flat, proof).filter(|_| proof.rests_on.iter().all(is_held)) else { return };
        let mut part = snapshot.clone();
        let kept = |key: &str| proof.rests_on.iter().any(|known| known == key);
        part.readings.retain(|fact, _| *fact == Fact::TestDate || kept(&key_of(*fact)));
        part.declared.retain(|name, _| kept(&format!("declared.{name}")));
        let given = Given::of_part(flat, &Given::of(flat, snapshot).unwrap(), &part).unwrap();
        let is_accepted = verify(proof, flat, snapshot).is_ok();
        self.proofs += 1;
        self.accepted += usize::from(is_accepted);
        let part = self.facts(&given.facts, Some(&given));
        let _ = writeln!(self.text, "{}", of("certificate", [part, said, bit(is_accepted)]));
    }

    /// Random vehicles under a program on a day, with proofs and forged ones.
    fn roll(&mut self, name: &str, flat: &Flat, more: &[Snapshot], many: usize, forged: usize, dice: &mut Dice) {
        self.program(name, flat);
        let vocabulary = Vocabulary::of(std::slice::from_ref(flat), vec![flat.test_date], dice);
        let mut all: Vec<(Snapshot, bool)> = more.iter().map(|snapshot| (snapshot.clone(), false)).collect();
        for unknown in [0, 10, 40] {
            for snapshot in Records::roll(&vocabulary, many, unknown, dice).snapshots {
                all.push((in_terms_of(flat, &snapshot), false));
            }
        }
        for snapshot in Records::roll(&vocabulary, many, 0, dice).snapshots {
            let whole = reference::filled(flat, &in_terms_of(flat, &snapshot));
            let is_settled = Given::of(flat, &whole)
                .is_ok_and(|given| all_facts().all(|fact| given.facts.is_settled(fact)) && given.presumed.is_empty());
            all.push((whole, is_settled));
        }
        let proofs: Vec<Option<Certificate>> =
            all.iter().map(|(snapshot, _)| certificate(flat, snapshot).ok().flatten()).collect();
        let others: Vec<serde_json::Value> =
            proofs.iter().flatten().map(|proof| serde_json::to_value(proof).unwrap()).collect();
        let verdicts: Vec<String> = proofs.iter().flatten().map(|proof| proof.verdict.clone()).collect();
        for ((snapshot, is_whole), proof) in all.iter().zip(&proofs) {
            self.snapshot(flat, snapshot, *is_whole);
            let Ok(_) = Given::of(flat, snapshot) else { continue };
            if let Some(proof) = proof {
                self.proof(flat, snapshot, proof);
            }
            for _ in 0..forged {
                if others.is_empty() {
                    break;
                }
                let mut value = dice.pick(&others);
                for _ in 0..=dice.roll(3) {
                    proofs::changed(&mut value, &others, &verdicts, dice);
                }
                if let Ok(forged) = serde_json::from_value::<Certificate>(value) {
                    self.proof(flat, snapshot, &forged);
                }
            }
        }
    }

    /// The blocks of a program, and which stand on days around each change, as known then and now, with drafts and without.
    fn selection(&mut self, program: &Program) {
        let (mut variants, mut readings) = (BTreeMap::new(), BTreeMap::new());
        let day = |date: Option<Date>| date.map_or_else(|| "-".to_owned(), |date| day_number(date).to_string());
        let changes: BTreeSet<&String> = program.blocks.iter().filter_map(|block| block.change.as_ref()).collect();
        let place = |change: &String| changes.iter().position(|known| *known == change).unwrap();
        let blocks = program.blocks.iter().map(|block| {
            let variant = variant_of(&block.item).map(|variant| {
                let next = variants.len();
                *variants.entry(variant).or_insert(next)
            });
            let under: BTreeSet<_> = block.under.iter().map(|under| (&under.name, &under.value)).collect();
            let next = readings.len();
            list([
                day(block.window.from),
                day(block.window.through),
                day(block.published),
                bit(block.draft),
                block.change.as_ref().map_or_else(|| "-".to_owned(), |change| place(change).to_string()),
                variant.map_or_else(|| "-".to_owned(), |variant: usize| variant.to_string()),
                readings.entry(under).or_insert(next).to_string(),
            ])
        });
        let blocks = of("blocks", [format!("{:?}", program.id)].into_iter().chain(blocks));
        let _ = writeln!(self.text, "{blocks}");
        let (days, _) = days_of_change(program);
        let published: BTreeSet<Date> = program.blocks.iter().filter_map(|block| block.published).collect();
        let known: Vec<Option<Date>> = [None]
            .into_iter()
            .chain(published.iter().rev().take(3).flat_map(|day| [Some(*day), day.yesterday().ok()]))
            .collect();
        for date in days.iter().flat_map(|day| [day.yesterday().ok(), Some(*day)]).flatten() {
            for known_on in &known {
                let plain = Selection { known_on: *known_on, ..Selection::on(date) };
                let mut asked = vec![plain.clone(), Selection { drafts: true, ..plain.clone() }];
                asked.extend(changes.iter().map(|it| Selection { change: Some((*it).clone()), ..plain.clone() }));
                for selection in asked {
                    let standing = live(program, &selection);
                    let stands = |block: &Block| standing.iter().any(|known| std::ptr::eq(*known, block));
                    let places = (0..program.blocks.len()).filter(|place| stands(&program.blocks[*place]));
                    self.selections += 1;
                    let said = [
                        day(Some(date)),
                        day(*known_on),
                        bit(selection.drafts),
                        selection.change.as_ref().map_or_else(|| "-".to_owned(), |change| place(change).to_string()),
                        list(places.map(|place| place.to_string())),
                    ];
                    let _ = writeln!(self.text, "{}", of("stand", said));
                }
            }
        }
    }

    /// A shipped program: each epoch, and its worked cases on their own days.
    fn shipped(&mut self, program: &Program, dice: &mut Dice, most: usize) {
        self.selection(program);
        for epoch in epochs(program).into_iter().take(most) {
            let flat = flat_on(program, epoch.from);
            self.roll(&format!("{} on {}", program.id, epoch.from), &flat, &[], 1, 2, dice);
        }
        let mut cases: BTreeMap<_, (Flat, Vec<Snapshot>)> = BTreeMap::new();
        for case in program.cases.iter().take(most) {
            let date = case.facts.test_date().unwrap();
            let takes: Vec<_> = case.takes.iter().map(|under| (under.name.clone(), under.value.clone())).collect();
            let selection = Selection { known_on: case.known_on, takes: case.takes.clone(), ..Selection::on(date) };
            let entry = cases.entry((date, case.known_on, takes));
            let (_, snapshots) = entry.or_insert_with(|| (select(program, &selection).unwrap(), Vec::new()));
            snapshots.push(case.facts.clone());
        }
        for ((date, ..), (flat, snapshots)) in cases {
            self.roll(&format!("cases of {} on {date}", program.id), &flat, &snapshots, 0, 1, dice);
        }
    }
}

/// Shipped programs and random ones, so many of each.
fn everything(shipped: usize, epochs: usize, random: u64) -> Vec<Dump> {
    let mut work: Vec<Box<dyn Fn() -> Dump + Sync>> = Vec::new();
    for (place, program) in every::programs().into_iter().take(shipped).enumerate() {
        work.push(Box::new(move || {
            let mut dump = Dump::new();
            dump.shipped(&program, &mut Dice(7 + place as u64), epochs);
            dump
        }));
    }
    for seed in 0..random {
        work.push(Box::new(move || {
            let mut dump = Dump::new();
            let mut dice = Dice(seed + 9_000_011);
            if let Ok((program, _)) = agree::program(seed) {
                dump.selection(&program);
                for date in days(&program, &mut dice).into_iter().rev().take(2) {
                    let name = format!("random {seed} on {date}");
                    dump.roll(&name, &flat_on(&program, date), &[], 3, 4, &mut dice);
                }
            }
            dump
        }));
    }
    every::side_by_side(&work, |make| make())
}

#[test]
fn the_model_is_given_programs_vehicles_and_proofs_of_every_kind() {
    let told = std::env::var("WHEREFORE_DUMP").ok();
    let of: Vec<usize> = std::env::var("WHEREFORE_DUMP_OF").map_or_else(
        |_| if told.is_some() { vec![usize::MAX, usize::MAX, 300] } else { vec![4, 2, 12] },
        |of| of.split(',').map(|many| many.parse().unwrap()).collect(),
    );
    let dumps = everything(of[0], of[1], of[2] as u64);
    let sum = |what: fn(&Dump) -> usize| dumps.iter().map(what).sum::<usize>();
    let counted = [
        ("programs on a day", sum(|it| it.programs), 8),
        ("snapshots", sum(|it| it.snapshots), 100),
        ("of them with more than one verdict possible", sum(|it| it.open), 10),
        ("contradictions", sum(|it| it.contradictions), 1),
        ("proofs", sum(|it| it.proofs), 100),
        ("proofs accepted", sum(|it| it.accepted), 20),
        ("selections of blocks", sum(|it| it.selections), 100),
        ("proofs refused", sum(|it| it.proofs - it.accepted), 20),
    ];
    for (what, many, least) in counted {
        println!("{many} {what}");
        assert!(many >= least, "{many} {what}");
    }
    if let Some(file) = told {
        let text: String = dumps.iter().map(|dump| dump.text.as_str()).collect();
        for kind in
            ["(reading ", "(codesoftable ", "(notread ", "(pair ", "(notmore ", "(listed ", "(even ", "(notlisted "]
        {
            assert!(text.contains(kind), "no test of the kind {kind}");
        }
        std::fs::write(file, text).unwrap();
    }
}
