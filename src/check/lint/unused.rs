//! Things that the file declares and nothing uses.

use super::citations::cited;
use super::{is_own, own};
use crate::diagnostic::Diagnostic;
use crate::program::walk::{Reference, references};
use crate::program::{Condition, FactRef, Item, Program, Test, Variant, variant_of};
use crate::source::Span;
use crate::syntax::ast::{File, Kind, Property, PropertyKind};
use std::collections::BTreeSet;

/// Names used, as they are shown.
#[derive(Default)]
struct Used {
    names: BTreeSet<String>,
    readings: BTreeSet<String>,
    sources: BTreeSet<usize>,
}

pub(super) fn lint(program: &Program, file: &File, found: &mut Vec<Diagnostic>) {
    let used = Used::of(program);
    periods(file, found);
    for block in own(program) {
        let Some(variant) = variant_of(&block.item) else { continue };
        let code = match variant {
            Variant::Finding(_) => "check/unused-finding",
            Variant::CodeGroup(_) => "check/unused-code-group",
            Variant::Limit(_) => "check/unused-limit",
            Variant::Age | Variant::Clause(_) => continue,
        };
        let name = variant.shown();
        if !used.names.contains(&name) {
            let id = match variant {
                Variant::Finding(id) | Variant::CodeGroup(id) | Variant::Limit(id) => id,
                Variant::Age | Variant::Clause(_) => continue,
            };
            tell(found, code, block.origin.span, &name, id);
        }
    }
    for table in program.tables.iter().filter(|table| is_own(program, &table.origin)) {
        let name = format!("table {}", table.id);
        if !used.names.contains(&name) {
            tell(found, "check/unused-table", table.origin.span, &name, &table.id);
        }
    }
    for fact in program.facts.iter().filter(|fact| is_own(program, &fact.origin)) {
        let name = format!("fact {}", fact.name);
        if !used.names.contains(&name) {
            tell(found, "check/unused-fact", fact.origin.span, &name, &fact.name);
        }
    }
    for question in program.questions.iter().filter(|question| is_own(program, &question.origin)) {
        if !used.readings.contains(&question.id) {
            let name = format!("question {}", question.id);
            tell(found, "check/unused-question", question.origin.span, &name, &question.id);
        }
    }
    for option in program.options.iter().filter(|option| is_own(program, &option.origin)) {
        if !used.readings.contains(&option.id) {
            let name = format!("option {}", option.id);
            tell(found, "check/unused-option", option.origin.span, &name, &option.id);
        }
    }
    for (place, source) in program.sources.iter().enumerate() {
        if source.program == program.id && !used.sources.contains(&place) {
            let message = format!("source `{}` is cited by nothing", source.id);
            let place = file.items.iter().find_map(|item| match &item.kind {
                Kind::Source { id, .. } if id.node == source.id => Some(id.span),
                _ => None,
            });
            let place = place.unwrap_or_default();
            let diagnostic = Diagnostic::warning("check/unused-source", place, message).about(&source.id);
            found.push(diagnostic.help("cite it where something rests on it, or take it out"));
        }
    }
}

/// Periods whose dates nothing takes.
fn periods(file: &File, found: &mut Vec<Diagnostic>) {
    let mut used = BTreeSet::new();
    let mut pieces: Vec<&Property> = file.items.iter().flat_map(|item| &item.properties).collect();
    while let Some(property) = pieces.pop() {
        match &property.kind {
            PropertyKind::InPeriod(word) => drop(used.insert(&word.node)),
            PropertyKind::Per(citation) => used.extend(citation.period.as_ref().map(|word| &word.node)),
            PropertyKind::Bullet(bullet) => pieces.extend(&bullet.properties),
            _ => {}
        }
    }
    for item in &file.items {
        if let Kind::Period { id } = &item.kind
            && !used.contains(&id.node)
        {
            tell(found, "check/unused-period", item.span, &format!("period {}", id.node), &id.node);
        }
    }
}

fn tell(found: &mut Vec<Diagnostic>, code: &'static str, span: Span, name: &str, id: &str) {
    let diagnostic = Diagnostic::warning(code, span, format!("nothing uses {name}")).about(id);
    found.push(diagnostic.help("use it, or take it out"));
}

impl Used {
    fn of(program: &Program) -> Used {
        let mut used = Used::default();
        for block in &program.blocks {
            used.sources.extend(cited(block).map(|citation| citation.source));
            used.readings.extend(block.under.iter().map(|under| under.name.clone()));
            if let Item::Clause(clause) = &block.item {
                let under = clause.lines.iter().flat_map(|line| &line.under);
                used.readings.extend(under.map(|under| under.name.clone()));
            }
            // A presumption about a fact is no use of it.
            if matches!(block.item, Item::Presumes { .. }) {
                block.item.each_condition(&mut |condition| used.condition(condition));
            } else {
                block.item.each_reference(&mut |reference| used.name(reference));
            }
            block.item.each_condition(&mut |condition| used.readings_of(condition));
        }
        for table in &program.tables {
            used.sources.extend(table.basis.iter().map(|citation| citation.source));
            table.rows.iter().for_each(|row| used.condition(&row.condition));
        }
        for advice in &program.advice {
            used.sources.extend(advice.basis.iter().map(|citation| citation.source));
            used.condition(&advice.condition);
        }
        let questions = program.questions.iter().flat_map(|question| &question.readings);
        used.sources.extend(questions.flat_map(|(_, _, basis)| basis).map(|citation| citation.source));
        used.sources.extend(program.options.iter().flat_map(|option| &option.basis).map(|citation| citation.source));
        used.sources.extend(program.cases.iter().flat_map(|case| &case.basis).map(|citation| citation.source));
        used
    }

    fn condition(&mut self, condition: &Condition<String>) {
        condition.each_test(&mut |test| references(test, &mut |reference| self.name(reference)));
        self.readings_of(condition);
    }

    fn readings_of(&mut self, condition: &Condition<String>) {
        condition.each_test(&mut |test| {
            if let Test::Reading { question, .. } = test {
                self.readings.insert(question.clone());
            }
            if let Test::Word { fact: FactRef::Declared(name), .. } = test {
                self.names.insert(format!("fact {name}"));
            }
        });
    }

    fn name(&mut self, reference: Reference<'_>) {
        self.names.insert(match reference {
            Reference::Finding(id) => Variant::Finding(id).shown(),
            Reference::Limit(id) => Variant::Limit(id).shown(),
            Reference::CodeGroup(id) => Variant::CodeGroup(id).shown(),
            Reference::Table(id) => format!("table {id}"),
            Reference::Fact(name) => format!("fact {name}"),
            Reference::Counts | Reference::Age => return,
        });
    }
}
