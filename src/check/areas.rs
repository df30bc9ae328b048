//! The areas that a program declares, and names of areas in its tests.

use super::adoption::Loaded;
use super::context::{Context, unknown};
use crate::diagnostic::{Diagnostic, nearest};
use crate::model::Fact;
use crate::model::county::{Said, State, may_be_same, said};
use crate::program::areas::{Area, ELSEWHERE};
use crate::program::{Areas, Condition, Item, Test};
use crate::source::Span;
use crate::syntax::ast::{self, BulletKind, File, Kind, PropertyKind, Word};
use std::collections::BTreeSet;
use std::sync::Arc;

/// Takes the file's areas, or those of the first adopted program that declares any.
pub(super) fn check(cx: &mut Context, file: &File, adoptions: &[Loaded]) {
    let mut own = file.items.iter().filter_map(|item| match &item.kind {
        Kind::Areas { state } => Some((item, state.as_ref())),
        _ => None,
    });
    let Some((item, state)) = own.next() else {
        let mut adopted = adoptions.iter().map(|adopted| &adopted.program.areas);
        if let Some(areas) = adopted.find(|areas| areas.is_declared()) {
            cx.program.areas = Arc::clone(areas);
        }
        return;
    };
    for (another, _) in own {
        let diagnostic = Diagnostic::error("check/name-twice", another.span, "a program declares its areas once");
        cx.report(diagnostic.also(item.span, "the first one").help("put all of them in one `areas`"));
    }
    let areas = declare(cx, item, state);
    cx.program.areas = Arc::new(areas);
}

fn declare(cx: &mut Context, item: &ast::Item, word: Option<&Word>) -> Areas {
    let (_, properties) = cx.properties("`areas`", &item.properties, &[&["per", "bullet"]]);
    let state = word.and_then(|word| {
        let state = State::named(&word.node);
        if state.is_none() {
            let known = State::all().iter().map(|state| state.name);
            let mut diagnostic = unknown("check/unknown-state", "list of counties for", word, known);
            diagnostic = diagnostic.note("lists are known for the states of the United States");
            cx.report(diagnostic);
        }
        state
    });
    let mut areas = Vec::new();
    let mut seen: Vec<(Vec<Said>, Span)> = Vec::new();
    for property in properties {
        let PropertyKind::Bullet(bullet) = &property.kind else { continue };
        let BulletKind::Areas { names, also, partly } = &bullet.kind else {
            cx.wrong_bullet(property.span, "`areas`", "`\"NAME\" also \"OTHER NAME\" overlaps \"NAME\"`");
            continue;
        };
        cx.properties("an area", &bullet.properties, &[&["per"]]);
        for name in names.iter().chain(also) {
            once(cx, name, state, &mut seen);
        }
        let texts = |words: &[Word]| words.iter().map(|word| word.node.clone()).collect::<Vec<_>>();
        for name in names {
            areas.push((Area { name: name.node.clone(), also: texts(also), partly: texts(partly) }, partly));
        }
    }
    if areas.is_empty() {
        cx.error("check/nothing-listed", item.span, "no area is declared", "name each in a bullet: `- \"NAME\"`");
    }
    // A part of an area is named as nothing else is: the parts come last, so that their order means nothing.
    for name in areas.iter().flat_map(|(_, partly)| *partly) {
        let said = said(&name.node, state);
        if said.is_empty() {
            once(cx, name, state, &mut seen);
        } else if let Some((_, before)) = seen.iter().find(|(other, _)| may_be_same(&said, other)) {
            let message = format!("\"{}\" is an area, and lies in part in another", name.node);
            let diagnostic = Diagnostic::error("check/listed-twice", name.span, message).also(*before, "the area");
            cx.report(diagnostic.help("leave out one of them; say `County` or `City` where both have the name"));
        }
    }
    Areas::declared(areas.into_iter().map(|(area, _)| area).collect(), state)
}

/// Reports a name that is none, that another area has too, or that several counties have.
fn once(cx: &mut Context, name: &Word, state: Option<&'static State>, seen: &mut Vec<(Vec<Said>, Span)>) {
    let said = said(&name.node, state);
    if said.is_empty() || said.iter().any(|said| said.stem == ELSEWHERE) {
        let message = format!("\"{}\" cannot be the name of an area", name.node);
        let help = "`elsewhere` stands for every area that is not named, and a name has letters and no other state";
        cx.error("check/name-taken", name.span, message, help);
        return;
    }
    let counties = state.map(|state| state.counties_named(&name.node)).unwrap_or_default();
    if counties.len() > 1 {
        let full = counties.iter().filter_map(|at| Some(state?.counties.get(*at)?.full_name(state?)));
        let message = format!("\"{}\" is the name of {}", name.node, full.collect::<Vec<_>>().join(" and of "));
        cx.error("check/several-areas", name.span, message, "say which, with its last word");
    }
    // A county is meant whole: `Fairfax County` and `Fairfax City` differ, `Harris` and `Harris County` do not.
    let known = counties.first().filter(|_| counties.len() == 1).and_then(|at| state?.counties.get(*at));
    let said = known.map_or(said, |county| county.said.clone());
    match seen.iter().find(|(other, _)| may_be_same(&said, other)) {
        Some((_, before)) if counties.len() < 2 => {
            let message = format!("\"{}\" is named twice", name.node);
            let diagnostic = Diagnostic::error("check/listed-twice", name.span, message);
            cx.report(diagnostic.also(*before, "the first time").help("name it once"));
        }
        _ => seen.push((said, name.span)),
    }
}

impl Context {
    /// A test of all the areas that the program declares.
    pub(super) fn declared_area(&mut self, not: bool, span: Span) -> Option<Condition<String>> {
        let areas = Arc::clone(&self.program.areas);
        if !areas.is_declared() {
            // What the areas of an adopted program would be is not known where it could not be had.
            if !self.adoption_failed {
                let help = "declare them: `areas of \"STATE\"`, each in a bullet";
                self.error("check/no-areas", span, "this program declares no areas", help);
            }
            return None;
        }
        let mut among: Vec<String> = areas.all().iter().map(|area| area.name.to_lowercase()).collect();
        among.sort();
        among.dedup();
        Some(Condition::Test(Test::Text { fact: Fact::Area, among, is: !not }))
    }

    /// The texts of a test of the area; where the program declares areas each must be one of them.
    pub(super) fn areas_named(&mut self, values: &[Word]) {
        let areas = Arc::clone(&self.program.areas);
        if !areas.is_declared() {
            return;
        }
        for value in values {
            let known = || areas.all().iter().map(|area| area.name.as_str());
            let folded = value.node.to_lowercase();
            if known().any(|name| name.to_lowercase() == folded) {
                continue;
            }
            // Another name of an area is a name to report it by, not to test it by.
            let own = areas.seen(&value.node).and_then(|seen| known().find(|name| name.to_lowercase() == seen));
            let help = match own.or_else(|| nearest(&value.node, known())) {
                Some(near) => format!("did you mean \"{near}\"?"),
                None => format!("declare it under `areas`, or name one of: {}", known().collect::<Vec<_>>().join(", ")),
            };
            let message = format!("\"{}\" is not among the areas that this program declares", value.node);
            self.error("check/unknown-area", value.span, message, help);
        }
    }
}

/// Where no areas are declared, the names that tests compare with are all that is known; where they are, what is adopted
/// must name them too.
pub(super) fn finish(cx: &mut Context) {
    let mut names: BTreeSet<String> = BTreeSet::new();
    let mut foreign: BTreeSet<(Span, String)> = BTreeSet::new();
    let areas = Arc::clone(&cx.program.areas);
    let is_known = |name: &str| areas.all().iter().any(|area| area.name.to_lowercase() == name);
    for block in &cx.program.blocks {
        let of_adoption = cx.program.adopted.iter().find(|one| one.program == block.origin.program);
        let mut of_block = BTreeSet::new();
        block.item.each_condition(&mut |condition| add(condition, &mut of_block));
        if let Item::Presumes { fact, value: crate::program::block::Presumed::Text(text), .. } = &block.item
            && *fact == crate::program::FactRef::Known(Fact::Area)
        {
            of_block.insert(text.to_lowercase());
        }
        if let Some(adopted) = of_adoption.filter(|_| areas.is_declared()) {
            foreign.extend(of_block.iter().filter(|name| !is_known(name)).map(|name| (adopted.span, name.clone())));
        }
        names.extend(of_block);
    }
    for table in &cx.program.tables {
        table.rows.iter().for_each(|row| add(&row.condition, &mut names));
    }
    for (span, name) in foreign {
        let message = format!("what is adopted names the area \"{name}\", which is not declared here");
        cx.error("check/unknown-area", span, message, "declare it under `areas`, or strike what names it");
    }
    if !areas.is_declared() {
        cx.program.areas = Arc::new(Areas::implied(names));
    }
}

fn add(condition: &Condition<String>, names: &mut BTreeSet<String>) {
    condition.each_test(&mut |test| {
        if let Test::Text { fact: Fact::Area, among, .. } = test {
            names.extend(among.iter().cloned());
        }
    });
}
