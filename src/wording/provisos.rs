//! Provisos as clauses of a sentence: what an answer rests on and nobody has checked.

use super::wrap::joined;
use crate::analysis::next::Kind;
use crate::ruling::ProvisoShown;

/// The most provisos that a headline tells; more are counted.
const MOST_TOLD: usize = 3;

/// How much of the provisos to tell.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Provisos {
    /// The three weightiest, and how many more.
    #[default]
    Weightiest,
    /// All.
    All,
}

/// Who can tell a proviso, and why it is taken to be so.
fn ground(one: &ProvisoShown) -> String {
    let who = one.observer.spoken();
    match one.kind {
        Kind::Sound | Kind::NoCodes => who.to_owned(),
        Kind::Ordinary => format!("as is usual; {who}"),
        Kind::Federal => format!("so by its class in 40 CFR 86.1803-01; {who}"),
        Kind::Presumed => format!("presumed, not checked; {who}"),
    }
}

/// Provisos in words; those that stand together and that the same person tells, with one remark behind the last of them.
pub(super) fn in_words(list: &[ProvisoShown]) -> String {
    let mut groups: Vec<(String, Vec<String>)> = Vec::new();
    for one in list {
        let ground = ground(one);
        match groups.last_mut() {
            Some((last, clauses)) if *last == ground => clauses.push(one.clause.clone()),
            _ => groups.push((ground, vec![one.clause.clone()])),
        }
    }
    let parts: Vec<String> =
        groups.iter().map(|(ground, clauses)| format!("{} ({ground})", alike_once(clauses))).collect();
    joined(&parts, "and")
}

/// Clauses joined; what the one before begins with as well is not said again: `the malfunction lamp is lit with the key on
/// and dark with the engine running`.
#[must_use]
pub fn alike_once(clauses: &[String]) -> String {
    const LAMP: &str = "the malfunction lamp ";
    let mut parts: Vec<String> = Vec::new();
    let mut before = false;
    for clause in clauses {
        let rest = clause.strip_prefix(LAMP);
        match (rest, parts.last_mut()) {
            (Some(rest), Some(last)) if before => *last = format!("{last} and {rest}"),
            _ => parts.push(clause.clone()),
        }
        before = rest.is_some();
    }
    joined(&parts, "and")
}

/// Provisos as the end of a sentence: ` if the connector is intact (look)`.
pub(super) fn provided(list: &[ProvisoShown], told: Provisos) -> String {
    if list.is_empty() {
        return String::new();
    }
    let most = if told == Provisos::All { list.len() } else { MOST_TOLD };
    let told = in_words(list.get(..most).unwrap_or(list));
    let more = match list.len().saturating_sub(most) {
        0 => String::new(),
        1 => ", and 1 more condition".to_owned(),
        more => format!(", and {more} more conditions"),
    };
    format!(" if {told}{more}")
}
