//! What only version 2 of the language has, in a file that says it is written in version 1.

use super::context::Context;
use crate::source::Span;
use crate::syntax::ast::{Assignment, AssignmentKind, Condition, File, Join, Kind, Property, PropertyKind, Test};

pub(super) fn check(cx: &mut Context, file: &File) {
    if cx.program.language >= 2 {
        return;
    }
    let mut found: Vec<(Span, &str)> = Vec::new();
    for item in &file.items {
        match &item.kind {
            Kind::Exempts { .. } => found.push((item.span, "`exempts`")),
            Kind::Sends { .. } => found.push((item.span, "`sends to`")),
            Kind::Period { .. } => found.push((item.span, "`period`")),
            Kind::Change { .. } => found.push((item.span, "`change`")),
            Kind::Due { every: Some(every), .. } => found.push((every.count.span, "an interval of tests")),
            Kind::Ordinary(list) => sound_car(list, &mut found),
            Kind::Source { currency: Some(word), .. } => found.push((word.span, "a mark of how current a text is")),
            _ => {}
        }
        conditions(&item.kind, &mut found);
        for property in &item.properties {
            property_of(property, matches!(item.kind, Kind::Clause { .. }), &mut found);
        }
    }
    for (span, what) in found {
        let message = format!("version 1 of the language has not {what}");
        cx.error("check/needs-language-2", span, message, "write `language 2` in the `program` item");
    }
}

fn property_of(property: &Property, of_clause: bool, found: &mut Vec<(Span, &'static str)>) {
    match &property.kind {
        PropertyKind::Draft { of: Some(word) } => found.push((word.span, "drafts of a change")),
        PropertyKind::InPeriod(word) => found.push((word.span, "periods")),
        PropertyKind::Reviewed { on, .. } => found.push((on.span, "`reviewed`")),
        PropertyKind::Standing(word) if word.node == "digest-checked" => found.push((word.span, "`digest-checked`")),
        PropertyKind::CouldTurn { .. } => found.push((property.span, "`could turn` on a line of its own")),
        PropertyKind::EveryOtherGivesWay(word) => found.push((word.span, "`every other clause`")),
        PropertyKind::Where(condition) => {
            if of_clause {
                found.push((condition.span, "`where` of a whole clause"));
            }
            join(condition, found);
        }
        PropertyKind::Facts(list) => sound_car(list, found),
        PropertyKind::Concerns(condition) => join(condition, found),
        PropertyKind::Line(line) => join(&line.condition, found),
        PropertyKind::Per(citation) => {
            let date = citation.from.as_ref().or(citation.through.as_ref()).or(citation.period.as_ref());
            found.extend(
                date.map(|date| (date.span, "dates of a citation (those of the item stand on a line of their own)")),
            );
        }
        PropertyKind::Bullet(bullet) => {
            use crate::syntax::ast::BulletKind;
            match &bullet.kind {
                BulletKind::Line(line) => join(&line.condition, found),
                BulletKind::LimitRow { condition, .. } | BulletKind::TableRow { condition, .. } => {
                    join(condition, found)
                }
                _ => {}
            }
            bullet.properties.iter().for_each(|property| property_of(property, false, found));
        }
        _ => {}
    }
}

fn conditions(kind: &Kind, found: &mut Vec<(Span, &'static str)>) {
    match kind {
        Kind::Covers(condition) | Kind::LeavesOut { condition, .. } | Kind::Finding { condition, .. } => {
            join(condition, found);
        }
        Kind::Due { condition, .. }
        | Kind::Excuses { condition, .. }
        | Kind::Becomes { condition, .. }
        | Kind::Consequence { condition, .. }
        | Kind::NotExpressible { condition, .. } => condition.iter().for_each(|condition| join(condition, found)),
        _ => {}
    }
}

fn sound_car(list: &[Assignment], found: &mut Vec<(Span, &'static str)>) {
    found.extend(list.iter().filter(|one| one.kind == AssignmentKind::SoundCar).map(|one| (one.span, "`sound car`")));
}

fn join(condition: &Condition, found: &mut Vec<(Span, &'static str)>) {
    let grouped = condition.group.iter().flat_map(|group| group.bullets.iter().flatten());
    let declared = condition.tests.iter().chain(grouped).filter(|test| matches!(test.node, Test::DeclaredArea { .. }));
    found.extend(declared.map(|test| (test.span, "`one of the areas`")));
    if let Some(group) = condition.group.as_ref().filter(|group| group.join == Join::NotAll) {
        found.push((group.span, "`not all of`"));
    }
}
