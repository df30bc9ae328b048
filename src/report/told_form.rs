//! Parts of a ruling's JSON that tell more than the verdict: readiness in a line, the lamp, monitors left out of the count,
//! presumptions.

use super::record::{LawForm, laws};
use crate::ruling::{ExcusedShown, LampShown, PresumptionShown, ReadinessShown};
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct ReadinessForm<'a> {
    incomplete: &'a [String],
    allowed: i64,
    one_more_brings: Option<&'a str>,
}

#[derive(Serialize)]
pub(super) struct LampForm {
    caution: &'static str,
    says: Option<&'static str>,
}

#[derive(Serialize)]
pub(super) struct ExcusedForm<'a> {
    monitors: &'a [String],
    carries: bool,
    law: Vec<LawForm<'a>>,
    basis: String,
}

pub(super) fn readiness(shown: &ReadinessShown) -> ReadinessForm<'_> {
    ReadinessForm { incomplete: &shown.incomplete, allowed: shown.allowed, one_more_brings: shown.beyond.as_deref() }
}

pub(super) fn lamp(shown: &LampShown) -> LampForm {
    LampForm { caution: shown.caution, says: shown.says }
}

pub(super) fn excused(shown: &ExcusedShown) -> ExcusedForm<'_> {
    ExcusedForm { monitors: &shown.monitors, carries: shown.carries, law: laws(&shown.law), basis: shown.basis.words() }
}

#[derive(Serialize)]
pub(super) struct PresumptionForm<'a> {
    text: &'a str,
    key: &'a str,
    provided: &'a str,
    turns: bool,
    law: Vec<LawForm<'a>>,
    basis: String,
}

pub(super) fn presumption(shown: &PresumptionShown) -> PresumptionForm<'_> {
    PresumptionForm {
        text: &shown.text,
        key: &shown.key,
        provided: &shown.provided,
        turns: shown.turns,
        law: laws(&shown.law),
        basis: shown.basis.words(),
    }
}
