//! Nothing leads back to itself: findings (limits and counts followed), and what gives way to what.
//!
//! Findings may not lead back to themselves over all dates and readings together. Giving way may change with a reading
//! (that is what some questions are about), so it is looked at for each choice of readings and each date by itself.

use super::context::Context;
use crate::diagnostic::Diagnostic;
use crate::model::Date;
use crate::program::block::GivesWayTo;
use crate::program::walk::Reference;
use crate::program::{Item, Under, Variant, Window, variant_of};
use crate::source::Span;
use std::collections::{BTreeMap, BTreeSet};

/// More choices of readings than this are not looked at one by one.
const CHOICES: usize = 4_096;

pub(super) fn check(cx: &mut Context) {
    findings(cx);
    gives_way(cx);
}

fn findings(cx: &mut Context) {
    // Findings, limits and the count, by what they are called.
    let mut leads: BTreeMap<String, (Span, BTreeSet<String>)> = BTreeMap::new();
    for block in &cx.program.blocks {
        let name = match (&block.item, variant_of(&block.item)) {
            (Item::Excuses { .. }, _) => COUNT.to_owned(),
            (_, Some(variant @ (Variant::Finding(_) | Variant::Limit(_)))) => variant.shown(),
            _ => continue,
        };
        let is_limit = matches!(block.item, Item::Limit { .. });
        let entry = leads.entry(name).or_insert_with(|| (block.origin.span, BTreeSet::new()));
        if is_limit {
            entry.1.insert(COUNT.to_owned());
        }
        block.item.each_reference(&mut |reference| match reference {
            Reference::Finding(id) => drop(entry.1.insert(Variant::Finding(id).shown())),
            Reference::Limit(id) => drop(entry.1.insert(Variant::Limit(id).shown())),
            Reference::Counts => drop(entry.1.insert(COUNT.to_owned())),
            _ => {}
        });
    }
    let edges: BTreeMap<String, BTreeSet<String>> =
        leads.iter().map(|(name, (_, to))| (name.clone(), to.clone())).collect();
    let ring = ring(&edges);
    let Some(span) = ring.first().and_then(|name| leads.get(name)).map(|(span, _)| *span) else { return };
    let message = format!("this leads back to itself: {}", around(&ring));
    cx.error("check/leads-back", span, message, "say one of them without the others");
}

const COUNT: &str = "the counted monitors";

fn around(ring: &[String]) -> String {
    let all: Vec<&str> = ring.iter().chain(ring.first()).map(String::as_str).collect();
    all.join(", then ")
}

/// One ring of the graph; empty where there is none.
fn ring(edges: &BTreeMap<String, BTreeSet<String>>) -> Vec<String> {
    let mut left = edges.clone();
    // What leads to nothing that is left is on no ring.
    loop {
        let names: BTreeSet<String> = left.keys().cloned().collect();
        left.values_mut().for_each(|to| to.retain(|name| names.contains(name)));
        let before = left.len();
        left.retain(|_, to| !to.is_empty());
        if left.len() == before {
            break;
        }
    }
    let Some(start) = left.keys().next() else { return Vec::new() };
    let mut path: Vec<String> = vec![start.clone()];
    loop {
        let Some(next) = path.last().and_then(|last| left.get(last)).and_then(|to| to.first()) else {
            return Vec::new();
        };
        if let Some(place) = path.iter().position(|name| name == next) {
            return path.split_off(place);
        }
        path.push(next.clone());
    }
}

/// A line that may give way.
struct Node {
    clause: String,
    outcome: usize,
    window: Window,
    under: Vec<Under>,
    span: Span,
}

/// A way between lines, and when it is there.
struct Way {
    /// `None`: every other clause.
    from: Option<String>,
    to: GivesWayTo,
    window: Window,
    under: Vec<Under>,
}

fn gives_way(cx: &mut Context) {
    let (mut nodes, mut ways) = (Vec::new(), Vec::new());
    for block in cx.program.blocks.iter().filter(|block| !block.draft) {
        match &block.item {
            Item::Clause(clause) => {
                for line in &clause.lines {
                    let under = block.under.iter().chain(&line.under).cloned().collect();
                    let (clause, outcome) = (clause.id.clone(), line.outcome);
                    nodes.push(Node { clause, outcome, window: block.window, under, span: block.origin.span });
                }
                for to in &clause.gives_way {
                    let (from, under) = (Some(clause.id.clone()), block.under.clone());
                    ways.push(Way { from, to: to.clone(), window: block.window, under });
                }
            }
            Item::GivesWay { from, to } => {
                let under = block.under.clone();
                ways.push(Way { from: from.clone(), to: to.clone(), window: block.window, under });
            }
            _ => {}
        }
    }
    let all = graph(&nodes, &ways, |_, _| true);
    if ring(&all).is_empty() {
        return;
    }
    // A ring over all dates and readings together need not be one on any date, under any reading.
    let in_force: Vec<Window> =
        cx.program.blocks.iter().filter(|b| matches!(b.item, Item::InForce)).map(|b| b.window).collect();
    let Some(choices) = choices(&nodes, &ways) else {
        let message = "too many questions and options bear on which clause gives way to which";
        let span = nodes.first().map_or(Span::default(), |node| node.span);
        cx.error("check/too-many", span, message, "let fewer of them change what gives way");
        return;
    };
    for choice in choices {
        for day in days(&nodes, &ways, &in_force) {
            let stands = |window: Window, under: &[Under]| {
                window.holds(day) && under.iter().all(|one| choice.iter().any(|taken| taken == one))
            };
            let ring = ring(&graph(&nodes, &ways, stands));
            if !ring.is_empty() {
                report(cx, &nodes, &ring, day, &choice);
                return;
            }
        }
    }
}

fn report(cx: &mut Context, nodes: &[Node], ring: &[String], day: Date, choice: &[Under]) {
    let mut clauses: Vec<&Node> = Vec::new();
    for name in ring {
        if let Some(node) = name.parse().ok().and_then(|place: usize| nodes.get(place))
            && !clauses.iter().any(|known| known.clause == node.clause)
        {
            clauses.push(node);
        }
    }
    let Some(first) = clauses.first() else { return };
    let names: Vec<String> = clauses.iter().map(|node| node.clause.clone()).collect();
    let message = format!("these clauses give way to each other in a ring: {}", around(&names));
    let mut diagnostic = Diagnostic::error("check/give-way-in-a-ring", first.span, message);
    for other in clauses.iter().skip(1) {
        diagnostic = diagnostic.also(other.span, "on the ring");
    }
    diagnostic = diagnostic.note(format!("so on {day}"));
    if !choice.is_empty() {
        let choice: Vec<String> = choice.iter().map(|one| format!("{} is {}", one.name, one.value)).collect();
        diagnostic = diagnostic.note(format!("if {}", choice.join(", ")));
    }
    cx.report(diagnostic.help("say which of them stands first, and let only the others give way"));
}

/// Which lines give way to which, by place; only what `stands`.
fn graph(
    nodes: &[Node],
    ways: &[Way],
    stands: impl Fn(Window, &[Under]) -> bool,
) -> BTreeMap<String, BTreeSet<String>> {
    let live: Vec<(usize, &Node)> =
        nodes.iter().enumerate().filter(|(_, node)| stands(node.window, &node.under)).collect();
    let mut edges: BTreeMap<String, BTreeSet<String>> =
        live.iter().map(|(place, _)| (place.to_string(), BTreeSet::new())).collect();
    for way in ways.iter().filter(|way| stands(way.window, &way.under)) {
        let gives_way = |node: &Node| way.from.as_ref().is_none_or(|from| *from == node.clause);
        for (from, giver) in live.iter().filter(|(_, node)| gives_way(node)) {
            let meant = |node: &Node| match &way.to {
                GivesWayTo::Clause(id) => node.clause == *id,
                GivesWayTo::AnyOutcome(outcome) => node.outcome == *outcome,
            };
            let to = live.iter().filter(|(_, node)| node.clause != giver.clause && meant(node));
            let to = to.map(|(place, _)| place.to_string());
            edges.entry(from.to_string()).or_default().extend(to);
        }
    }
    edges
}

/// Every choice of readings and values that the lines stand under; `None` where there are too many.
fn choices(nodes: &[Node], ways: &[Way]) -> Option<Vec<Vec<Under>>> {
    let mut values: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for under in nodes.iter().flat_map(|node| &node.under).chain(ways.iter().flat_map(|way| &way.under)) {
        values.entry(&under.name).or_default().insert(&under.value);
    }
    let mut choices: Vec<Vec<Under>> = vec![Vec::new()];
    for (name, values) in values {
        if choices.len().saturating_mul(values.len()) > CHOICES {
            return None;
        }
        let with = |value: &&str, choice: &Vec<Under>| {
            let one = Under { name: name.to_owned(), value: (*value).to_owned() };
            choice.iter().cloned().chain([one]).collect::<Vec<Under>>()
        };
        choices = choices.iter().flat_map(|choice| values.iter().map(move |value| with(value, choice))).collect();
    }
    Some(choices)
}

/// The days in force on which something begins or ends.
fn days(nodes: &[Node], ways: &[Way], in_force: &[Window]) -> BTreeSet<Date> {
    let windows = nodes.iter().map(|node| node.window).chain(ways.iter().map(|way| way.window));
    let windows = windows.chain(in_force.iter().copied());
    let cuts = windows.flat_map(|window| [window.from, window.through.and_then(|day| day.tomorrow().ok())]);
    let days = cuts.flatten().chain([Date::constant(1900, 1, 1)]);
    days.filter(|day| in_force.iter().any(|window| window.holds(*day))).collect()
}
