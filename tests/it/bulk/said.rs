//! What can be said of each fact that a program asks: the values on either side of each of its tests, the words, lists of
//! codes in and out of its groups.

use wherefore::internals::model::facts::{ABSENT, Possible};
use wherefore::internals::model::{
    CodeList, Date, Fact, FactType, Monitor, MonitorSet, NumberSpan, Reading, TroubleCode, Value, date_of, day_number,
    spec,
};
use wherefore::internals::program::block::DeclaredType;
use wherefore::internals::program::{Condition, FactRef, Flat, Test};

/// What may be said of a fact, with the reading that a snapshot has for it (`None`: not known).
pub type Said = (Possible, Option<Reading>);

pub fn conditions(flat: &Flat) -> Vec<&Condition<usize>> {
    let mut found: Vec<&Condition<usize>> = Vec::new();
    found.extend(flat.covers.iter().map(|covers| &covers.item));
    found.extend(flat.left_out.iter().map(|row| &row.condition));
    found.extend(flat.lines.iter().flat_map(|line| [&line.concerns, &line.unmet_where]));
    found.extend(flat.lines.iter().flat_map(|line| line.gives_way.iter().map(|(_, condition)| condition)));
    found.extend(flat.becomes.iter().map(|rule| &rule.condition));
    found
}

fn every_test(flat: &Flat) -> Vec<Test<usize>> {
    let mut tests = Vec::new();
    let mut add = |condition: &Condition<usize>| condition.each_test(&mut |test| tests.push(test.clone()));
    conditions(flat).into_iter().for_each(&mut add);
    flat.findings.iter().for_each(|(_, condition)| add(condition));
    flat.limits.iter().flat_map(|limit| &limit.rows).for_each(|row| add(&row.condition));
    flat.counts.iter().for_each(|rule| add(&rule.condition));
    flat.excuses.iter().for_each(|rule| add(&rule.condition));
    flat.tables.iter().flat_map(|table| &table.rows).for_each(|row| add(&row.condition));
    tests
}

fn number(value: i64) -> Possible {
    Possible::Number(NumberSpan { least: value, most: value, may_be_absent: false })
}

fn numbers(flat: &Flat, fact: &FactRef<usize>, scale: i64, least: i64, most: i64) -> Vec<i64> {
    let mut values = vec![least, most, least + 1, (least + most) / 2];
    for test in every_test(flat) {
        if let Test::Number { fact: asked, least, most } = &test
            && asked == fact
        {
            for at in [*least, *most].into_iter().flatten() {
                let floor = at.div_euclid(scale);
                values.extend([floor - 1, floor, floor + 1]);
            }
        }
    }
    if *fact == FactRef::Known(Fact::ModelYear) {
        values.extend(1994..2027);
    }
    if *fact == FactRef::Known(Fact::EarlierIncompleteCount) {
        values.extend(0..6);
    }
    values.retain(|value| (least..=most).contains(value));
    values.sort_unstable();
    values.dedup();
    values
}

fn code_lists(flat: &Flat) -> Vec<CodeList> {
    let mut codes = vec![0x0113, 0x0171, 0x0420, 0x0442];
    for range in flat.groups.iter().flat_map(|(_, group)| group.ranges.iter().chain(&group.unread)) {
        codes.extend([range.first, range.last]);
    }
    for range in flat.tables.iter().flat_map(|table| &table.rows).flat_map(|row| &row.codes) {
        codes.push(range.first);
    }
    codes.sort_unstable();
    codes.dedup();
    codes.truncate(24);
    let list = |codes: &[u16], may_hold_more| CodeList {
        codes: codes.iter().copied().map(TroubleCode::obd).collect(),
        may_hold_more,
    };
    let mut lists = vec![list(&[], false), list(&[], false), list(&[], false), list(&[], true)];
    for pair in codes.windows(2) {
        lists.extend([list(&pair[..1], false), list(pair, false), list(&pair[1..], true)]);
    }
    lists
}

fn words(all: u64, may_be_absent: bool) -> Vec<Said> {
    let bits: Vec<u64> = (0..63).map(|place| 1u64 << place).filter(|bit| all & bit != 0).collect();
    let mut said: Vec<Said> = bits
        .iter()
        .enumerate()
        .map(|(place, bit)| (Possible::Words(*bit), Some(Reading::Known(Value::Word(place as u8)))))
        .collect();
    if may_be_absent {
        said.push((Possible::Words(ABSENT), Some(Reading::NotOnVehicle)));
    }
    said
}

pub fn said_of(flat: &Flat, fact: &FactRef<usize>) -> (FactRef<String>, Vec<Said>, Option<i64>) {
    let known = |value: Value| Some(Reading::Known(value));
    match fact {
        FactRef::Declared(place) => {
            let declared = &flat.facts[*place];
            let name = FactRef::Declared(declared.name.clone());
            match &declared.kind {
                DeclaredType::Number { unit, least, most } => {
                    let values = numbers(flat, fact, unit.scale(), *least, *most);
                    let said = values.into_iter().map(|value| {
                        let base = unit.to_base(value).unwrap();
                        (number(base), known(Value::Number(base)))
                    });
                    (name, said.collect(), Some(unit.scale()))
                }
                kind => {
                    let count = kind.words().len();
                    (name, words((1 << count) - 1, false), None)
                }
            }
        }
        FactRef::Known(fact_known) => {
            let spec = spec(*fact_known);
            let name = FactRef::Known(*fact_known);
            let absent = |absent: Possible| spec.may_be_absent.then_some((absent, Some(Reading::NotOnVehicle)));
            match spec.kind {
                FactType::YesNo { .. } | FactType::Words(_) => {
                    (name, words(fact_known.all_words(), spec.may_be_absent), None)
                }
                FactType::Number { unit, least, most, .. } => {
                    let values = numbers(flat, fact, unit.scale(), least, most);
                    let mut said: Vec<Said> = values
                        .into_iter()
                        .map(|value| (number(value * unit.scale()), known(Value::Number(value * unit.scale()))))
                        .collect();
                    said.extend(absent(Possible::Number(NumberSpan { least: 1, most: 0, may_be_absent: true })));
                    (name, said, Some(unit.scale()))
                }
                FactType::Date => {
                    let least = day_number(Date::constant(1990, 1, 1));
                    let values = numbers(flat, fact, 1, least, day_number(Date::constant(2030, 1, 1)));
                    let said = values.into_iter().map(|day| (number(day), known(Value::Date(date_of(day).unwrap()))));
                    (name, said.collect(), Some(1))
                }
                FactType::Text => {
                    let mut texts = vec!["example".to_owned()];
                    for test in every_test(flat) {
                        if let Test::Text { fact: asked, among, .. } = test
                            && asked == *fact_known
                        {
                            texts.extend(among);
                        }
                    }
                    if *fact_known == Fact::Area {
                        // Other ways to write a name, places that lie in part in an area, and what is surely outside.
                        let areas = flat.areas.all().iter();
                        let others: Vec<String> =
                            areas.flat_map(|area| area.also.iter().chain(&area.partly)).cloned().collect();
                        texts.extend(others.iter().map(|name| name.to_lowercase()));
                        texts.extend(
                            flat.areas.all().iter().take(2).map(|area| format!("{} county", area.name.to_lowercase())),
                        );
                        texts.push("elsewhere".to_owned());
                    }
                    let said =
                        texts.into_iter().map(|text| (Possible::Text(Some(text.clone())), known(Value::Text(text))));
                    (name, said.collect(), None)
                }
                FactType::Monitors => {
                    let few = [Monitor::Catalyst, Monitor::Evaporative, Monitor::EgrVvt];
                    let sets = (0..8u32).map(|bits| {
                        few.iter().enumerate().filter(|(at, _)| bits >> at & 1 == 1).map(|(_, one)| *one).collect()
                    });
                    let said = sets.map(|set: MonitorSet| {
                        (Possible::Monitors { surely: set, perhaps: set }, known(Value::Monitors(set)))
                    });
                    (name, said.collect(), None)
                }
                FactType::Codes => {
                    let codes = |list: CodeList| Possible::Codes {
                        list: Some(list),
                        may_be_absent: false,
                        may_be_present: true,
                    };
                    let mut said: Vec<Said> = code_lists(flat)
                        .into_iter()
                        .map(|list| (codes(list.clone()), known(Value::Codes(list))))
                        .collect();
                    said.extend(absent(Possible::Codes { list: None, may_be_absent: true, may_be_present: false }));
                    (name, said, None)
                }
            }
        }
    }
}
