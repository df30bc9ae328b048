//! The kernel against a naive reference (`reference`), on random programs and vehicles, at every threshold, and for
//! every fact in its three states. What is compared: the verdict and each line on vehicles of which everything is known;
//! the bound against the exact set, by trying every vehicle, where something is not.

mod matters;
pub mod programs;
mod proofs;
mod reference;
mod states;
mod vehicles;

use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::{Index, subsequence};
use reference::{Stand, Val, World};
use std::collections::{BTreeMap, BTreeSet};
use vehicles::{DECLARED, Known, Partial, all, declared_values, values};
use wherefore::internals::evaluate::{self, LineState, Truth};
use wherefore::internals::model::{Fact, TroubleCode};
use wherefore::internals::program::block::Allowance;
use wherefore::internals::program::given::facts_of;
use wherefore::internals::program::{Condition, FactRef, Flat, Given, Test, Verdict};
use wherefore::internals::ruling::{Answers, Calculated};

/// A vehicle that can exist, everything known, drawn from indexes into the values of each fact.
fn vehicle(draws: &[Index]) -> World {
    let mut world = World {
        facts: BTreeMap::new(),
        declared: Vec::new(),
        readings: Vec::new(),
        numbers: BTreeMap::new(),
        unread_in: BTreeSet::new(),
    };
    for (fact, draw) in all().zip(draws) {
        let mut values = values(fact);
        let first = draw.index(values.len());
        values.rotate_left(first);
        for value in values {
            world.facts.insert(fact, value);
            if world.can_exist() {
                break;
            }
        }
    }
    assert!(world.can_exist(), "a value is left for every fact: {world:?}");
    for (place, draw) in draws.iter().rev().take(DECLARED.len()).enumerate() {
        let values = declared_values(place);
        world.declared.push(values[draw.index(values.len())].clone());
    }
    world
}

fn whole(world: &World) -> Partial {
    Partial {
        facts: world.facts.iter().map(|(fact, value)| (*fact, Known::Value(value.clone()))).collect(),
        declared: world.declared.iter().cloned().map(Known::Value).collect(),
    }
}

/// How many ways there are to read the text.
fn texts(flat: &Flat) -> usize {
    let open = flat.questions.iter().filter(|question| question.taken.is_none()).count();
    let unread = flat.limits.iter().flat_map(|limit| &limit.rows).filter(|row| row.limit == Allowance::NotRead).count();
    let groups = flat.groups.iter().filter(|(_, group)| !group.unread.is_empty()).count();
    2usize.pow(u32::try_from(open + groups).unwrap()) * 6usize.pow(u32::try_from(unread).unwrap())
}

/// The vehicle with some facts not known, as many as can be tried in reasonable time.
fn partial(world: &World, hidden: &[Fact], halved: bool, declared: bool, flat: &Flat) -> Partial {
    let full = whole(world);
    let mut partial = full.clone();
    for fact in hidden {
        let known = match (&world.facts[fact], halved) {
            (Val::Codes(codes), true) => {
                Known::AtLeast(codes.iter().take(1).copied().collect::<BTreeSet<TroubleCode>>())
            }
            _ => Known::Nothing,
        };
        partial.facts.insert(*fact, known);
    }
    if declared {
        partial.declared[0] = Known::Nothing;
    }
    for fact in hidden {
        if partial.size() * texts(flat) <= 600 {
            break;
        }
        partial.facts.insert(*fact, full.facts[fact].clone());
    }
    partial
}

fn draws() -> impl Strategy<Value = Vec<Index>> {
    vec(any::<Index>(), all().count())
}

/// Facts to hide: up to four, of those that the program asks.
fn hidden(flat: &Flat, draws: &[Index]) -> Vec<Fact> {
    let conditions = flat.covers.iter().map(|covers| &covers.item);
    let conditions = conditions.chain(flat.left_out.iter().map(|row| &row.condition));
    let conditions = conditions.chain(flat.lines.iter().flat_map(|line| [&line.concerns, &line.unmet_where]));
    let asked: BTreeSet<Fact> = conditions
        .flat_map(|condition| facts_of(flat, condition))
        .filter_map(|fact| match fact {
            FactRef::Known(fact) => Some(fact),
            FactRef::Declared(_) => None,
        })
        .filter(|fact| all().any(|known| known == *fact))
        .collect();
    let asked: Vec<Fact> = if asked.is_empty() { all().collect() } else { asked.into_iter().collect() };
    let mut hidden = Vec::new();
    for draw in draws {
        let fact = asked[draw.index(asked.len())];
        if !hidden.contains(&fact) {
            hidden.push(fact);
        }
    }
    hidden
}

fn hides() -> impl Strategy<Value = Vec<Index>> {
    vec(any::<Index>(), 1..=4)
}

fn stand(state: &LineState) -> Option<Stand> {
    match state {
        LineState::Met => Some(Stand::Met),
        LineState::Unmet => Some(Stand::Unmet),
        LineState::SetAside { .. } => Some(Stand::SetAside),
        LineState::NotConcerned { .. } => Some(Stand::NotConcerned),
        LineState::NotCovered => Some(Stand::NotCovered),
        LineState::Undetermined { .. } => None,
    }
}

/// Takes readings and numbers so that the text leaves nothing open.
fn closed(mut flat: Flat) -> Flat {
    for question in &mut flat.questions {
        question.taken = question.taken.or(Some(1));
    }
    for row in flat.limits.iter_mut().flat_map(|limit| &mut limit.rows) {
        if row.limit == Allowance::NotRead {
            row.limit = Allowance::AtMost { count: 2, only: None };
        }
    }
    for (_, group) in &mut flat.groups {
        group.unread.clear();
    }
    flat
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 256, failure_persistence: None, ..ProptestConfig::default() })]

    /// Design, section 4 (kernel): with nothing left open, verdict and every line are the reference's.
    #[test]
    fn a_whole_vehicle_is_ruled_on_as_the_kernel_says(flat in programs::program(), draws in draws()) {
        let flat = closed(flat);
        let mut world = vehicle(&draws);
        world.readings = flat.questions.iter().map(|question| question.taken.unwrap()).collect();
        let given = Given::of(&flat, &whole(&world).snapshot()).unwrap();
        let found = evaluate::interpret(&flat, &given);
        prop_assert_eq!(found.possible.to_set(), BTreeSet::from([world.verdict(&flat)]));
        prop_assert!(found.exact);
        prop_assert_eq!(evaluate::verdict(&flat, &given), found.possible);
        let states: Vec<_> = found.lines.iter().map(|line| stand(&line.state)).collect();
        let expected: Vec<_> = world.lines(&flat).into_iter().map(Some).collect();
        prop_assert_eq!(states, expected);
        for (place, truth) in found.findings.iter().enumerate() {
            prop_assert_eq!(*truth, Truth::of(world.holds(&flat, &flat.findings[place].1)));
        }
    }

    /// Design, promise 3: the bound holds the exact set, and is it where it is a single verdict or said to be exact;
    /// what a line record calls sure is so of every vehicle.
    #[test]
    fn a_bound_holds_the_exact_set(
        flat in programs::program(),
        draws in draws(),
        hides in hides(),
        halved in any::<bool>(),
        declared in any::<bool>(),
    ) {
        let hidden = hidden(&flat, &hides);
        let partial = partial(&vehicle(&draws), &hidden, halved, declared, &flat);
        let given = Given::of(&flat, &partial.snapshot()).unwrap();
        let found = evaluate::interpret(&flat, &given);
        let mut exact = BTreeSet::new();
        let mut stands: Vec<BTreeSet<Stand>> = vec![BTreeSet::new(); flat.lines.len()];
        let mut read: BTreeMap<(usize, usize), BTreeSet<Verdict>> = BTreeMap::new();
        partial.each_world(&flat, &mut |world| {
            exact.insert(world.verdict(&flat));
            for (question, reading) in world.readings.iter().enumerate() {
                read.entry((question, *reading)).or_default().insert(world.verdict(&flat));
            }
            for (seen, stand) in stands.iter_mut().zip(world.lines(&flat)) {
                seen.insert(stand);
            }
        });
        prop_assert!(!exact.is_empty());
        let bound = found.possible.to_set();
        prop_assert!(exact.is_subset(&bound), "{:?} is not within {:?}", exact, bound);
        if bound.len() == 1 || found.exact {
            prop_assert_eq!(&exact, &bound);
        }
        prop_assert_eq!(evaluate::outlook(&flat, &given), (found.possible, found.exact));
        // The other engine, written apart: it must give the exact set itself.
        prop_assert_eq!(wherefore::internals::diagram::exact::possible(&flat, &given).unwrap(), exact);
        // Where an open question is read in one way.
        let answers = Calculated::new(&flat, &given);
        for (place, verdicts) in read.iter().filter(|((question, _), _)| flat.questions[*question].taken.is_none()) {
            prop_assert_eq!(&answers.read(&flat, &given, *place).to_set(), verdicts, "{:?}", place);
        }
        for (place, (record, seen)) in found.lines.iter().zip(&stands).enumerate() {
            if let Some(stand) = stand(&record.state) {
                prop_assert_eq!(seen, &BTreeSet::from([stand]), "line {}", place);
            }
            let unmet = |stand: &Stand| matches!(stand, Stand::Unmet | Stand::SetAside);
            prop_assert!(!record.unmet.is_true() || seen.iter().all(unmet));
            prop_assert!(!record.unmet.is_false() || !seen.iter().any(unmet));
            prop_assert!(!record.live.is_true() || seen.iter().all(|stand| *stand == Stand::Unmet));
            prop_assert!(!record.live.is_false() || !seen.contains(&Stand::Unmet));
        }
    }

    /// Encodings, section 7, risk 4: learning a fact never adds an outcome, neither to the exact set nor to the bound.
    #[test]
    fn learning_a_fact_never_adds_an_outcome(flat in programs::program(), draws in draws(), hides in hides()) {
        let hidden = hidden(&flat, &hides);
        let world = vehicle(&draws);
        let before = partial(&world, &hidden, false, false, &flat);
        let mut after = before.clone();
        for fact in &hidden {
            after.facts.insert(*fact, Known::Value(world.facts[fact].clone()));
            let bound = |partial: &Partial| {
                evaluate::verdict(&flat, &Given::of(&flat, &partial.snapshot()).unwrap())
            };
            prop_assert!(bound(&after).is_within(bound(&before)));
            prop_assert!(after.exact(&flat).is_subset(&before.exact(&flat)));
        }
    }

    /// Design, section 4: readings that no vehicle shows together are an input error, and only those.
    #[test]
    fn readings_contradict_where_no_vehicle_shows_them(
        draws in draws(),
        hidden in subsequence(all().collect::<Vec<_>>(), 1..=4),
    ) {
        let flat = programs::empty();
        let mut facts: BTreeMap<Fact, Known> = all()
            .zip(&draws)
            .map(|(fact, draw)| {
                let values = values(fact);
                (fact, Known::Value(values[draw.index(values.len())].clone()))
            })
            .collect();
        for fact in &hidden {
            facts.insert(*fact, Known::Nothing);
        }
        let mut partial = Partial { facts, declared: vec![Known::Value(Val::Word(0)), Known::Value(Val::Word(0))] };
        partial.declared.push(Known::Value(Val::Number(0)));
        let mut exists = false;
        if partial.size() <= 5000 {
            partial.each_world(&flat, &mut |_| exists = true);
            prop_assert_eq!(Given::of(&flat, &partial.snapshot()).is_ok(), exists);
        }
    }
}

/// Encodings, section 7, risk 4: `x or not x` of an unknown fact. Every vehicle fails; the interpreter's bound holds
/// more, and says that it is a bound.
#[test]
fn a_bound_may_hold_more_than_the_exact_set() {
    let mut flat = programs::empty();
    flat.covers.push(programs::based(Condition::always()));
    let lit = || Condition::Test(Test::Word { fact: FactRef::Known(Fact::LampCommanded), words: 2 });
    let either = Condition::Any(vec![lit(), lit().negated()]);
    flat.lines.push(programs::line("either", 3, either));
    let given = Given::of(&flat, &wherefore::internals::model::Snapshot::default()).unwrap();
    let found = evaluate::interpret(&flat, &given);
    assert_eq!(found.possible.to_set(), BTreeSet::from([Verdict::Outcome(0), Verdict::Outcome(3)]));
    assert!(!found.exact);
}
