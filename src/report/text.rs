//! A ruling as text of eighty columns: the verdict first, what it is provided on, the grounds, with the trace every
//! other clause in brief, then what to do, with the cautions.

use crate::program::Class;
use crate::record::Record;
use crate::ruling::{Due, Ground, Ruling, Standing, TraceLine};
use crate::wording::headline::{self, Provisos};
use crate::wording::wrap::{joined, wrapped};
use crate::wording::{plan, words};

/// How much to tell.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Detail {
    /// What decides and what to do.
    #[default]
    Short,
    /// Every proviso and the exact set besides.
    Full,
    /// Every clause besides.
    Trace,
}

/// A ruling as text: the headline first, with the first thing to do; with every detail the exact set besides.
#[must_use]
pub fn of_record(record: &Record, detail: Detail) -> String {
    let provisos = if detail == Detail::Short { Provisos::Weightiest } else { Provisos::All };
    let Some(told) = record.told(provisos) else {
        return text(&record.ruling, detail);
    };
    let ruling = &record.ruling;
    let mut out =
        wrapped(&format!("{}: ", ruling.program), Some(2), &headline::sentence(told.prospect, ruling, provisos));
    if let Some(first) = plan::first_line(&told) {
        out.push_str(&wrapped("Do: ", Some(2), &first));
    }
    if detail != Detail::Short {
        exactly(&mut out, ruling);
    }
    rest(&mut out, ruling, detail);
    out
}

/// A ruling as text, with the exact set where a headline would stand.
#[must_use]
pub fn text(ruling: &Ruling, detail: Detail) -> String {
    let mut out = wrapped(&format!("{}: ", ruling.program), Some(2), &words::summary(ruling));
    if let Some(provided) = &ruling.provided {
        out.push_str(&wrapped("", None, &words::provided(provided)));
    }
    rest(&mut out, ruling, detail);
    out
}

/// The possible outcomes, no more and no less.
fn exactly(out: &mut String, ruling: &Ruling) {
    out.push_str(&wrapped("Exactly: ", Some(2), &words::summary(ruling)));
    if let Some(provided) = &ruling.provided {
        out.push_str(&wrapped("", None, &words::provided(provided)));
    }
}

fn rest(out: &mut String, ruling: &Ruling, detail: Detail) {
    if let Some(weakest) = words::weakest(ruling) {
        out.push_str(&wrapped("", None, &weakest));
    }
    if let Some(turn) = words::could_turn(ruling) {
        out.push_str(&wrapped("", None, &turn));
    }
    for line in words::announced(ruling) {
        out.push_str(&wrapped("", None, &line));
    }
    if let Some(identity) = &ruling.identity {
        out.push_str(&wrapped("", None, identity));
    }
    out.push_str(&wrapped("", None, &format!("{}; {}", ruling.title, words::dates(ruling))));
    if let Some(readiness) = words::readiness_line(ruling) {
        out.push_str(&wrapped("", None, &readiness));
    }
    if let Some(lamp) = &ruling.lamp {
        out.push_str(&wrapped("Caution: ", Some(2), lamp.caution));
        lamp.says.into_iter().for_each(|says| out.push_str(&wrapped("  ", Some(2), says)));
    }
    grounds(out, ruling);
    undecided(out, ruling);
    if detail == Detail::Trace {
        trace(out, ruling);
    }
    leans(out, ruling);
    follows(out, ruling);
    advice(out, ruling);
}

fn heading(out: &mut String, title: &str) {
    out.push('\n');
    out.push_str(title);
    out.push('\n');
}

fn bullet(out: &mut String, text: &str) {
    out.push_str(&wrapped("  - ", None, text));
}

fn grounds(out: &mut String, ruling: &Ruling) {
    if ruling.grounds.is_empty() {
        if ruling.class == Class::Pass {
            heading(out, "Why");
            bullet(out, "No clause stands against the vehicle.");
            excused(out, ruling);
            sufficient(out, ruling);
        }
        return;
    }
    heading(out, if ruling.class == Class::Undecided { "What stands against it already" } else { "Why" });
    for (place, ground) in ruling.grounds.iter().enumerate() {
        self::ground(out, place + 1, ground, ruling.deciding.contains(&ground.clause));
    }
    excused(out, ruling);
    sufficient(out, ruling);
}

fn excused(out: &mut String, ruling: &Ruling) {
    if let Some(shown) = &ruling.excused {
        bullet(out, &words::excused(shown));
    }
}

fn ground(out: &mut String, number: usize, ground: &Ground, decides: bool) {
    let decides = if decides { ", decides" } else { "" };
    let head = format!("{}: {}{decides}", words::clause(ground), ground.outcome);
    out.push_str(&wrapped(&format!("{number:>3}. "), None, &head));
    out.push_str(&wrapped("     ", None, &ground.message));
    if !ground.under.is_empty() {
        out.push_str(&wrapped("     where   ", Some(13), &ground.under.join(" and ")));
    }
    let facts: Vec<String> = ground.facts.iter().map(|fact| fact.phrase.clone()).collect();
    if !facts.is_empty() {
        out.push_str(&wrapped("     because ", Some(13), &facts.join("; ")));
    }
    for margin in &ground.margins {
        out.push_str(&wrapped("     number  ", Some(13), &words::margin(margin)));
    }
    for law in &ground.law {
        out.push_str(&wrapped(&format!("     {:<8}", words::law_label(Some(law))), Some(13), &words::law(law)));
    }
    if ground.law.is_empty() {
        out.push_str("     source  none cited\n");
    }
}

fn sufficient(out: &mut String, ruling: &Ruling) {
    if ruling.sufficient.is_empty() {
        return;
    }
    let facts: Vec<String> = ruling.sufficient.iter().map(|fact| fact.phrase.clone()).collect();
    bullet(out, &format!("These facts alone lead to it: {}.", facts.join("; ")));
}

fn undecided(out: &mut String, ruling: &Ruling) {
    let coverage = &ruling.coverage;
    let open = !ruling.alternatives.is_empty() && (ruling.possible.len() > 1 || ruling.deciding.is_empty());
    if open || coverage.state == "undetermined" {
        heading(out, "What may decide");
    }
    if coverage.state == "undetermined" {
        bullet(out, &format!("{} It turns on: {}.", coverage.message, coverage.because.join("; ")));
    }
    for other in ruling.alternatives.iter().filter(|_| open) {
        bullet(out, &format!("{} by {}", other.outcome, joined(&other.clauses, "or")));
    }
    if !ruling.unknown.is_empty() {
        heading(out, "Not known, and it matters");
        for unknown in &ruling.unknown {
            bullet(out, &format!("{} ({}): {}", unknown.key, unknown.observer.word(), unknown.question));
        }
    }
    if !ruling.questions.is_empty() {
        heading(out, "Questions of law that matter here");
        for question in &ruling.questions {
            bullet(out, &words::question(question));
        }
    }
}

fn trace(out: &mut String, ruling: &Ruling) {
    heading(out, "Every clause");
    let coverage = &ruling.coverage;
    let because =
        if coverage.because.is_empty() { String::new() } else { format!(" ({})", coverage.because.join("; ")) };
    let first = format!("  {:<14}", coverage.state);
    out.push_str(&wrapped(&first, None, &format!("coverage: {}{because}", coverage.message)));
    for line in &ruling.trace {
        trace_line(out, line);
    }
}

fn trace_line(out: &mut String, line: &TraceLine) {
    let why = match line.state {
        "set-aside" => format!(": the vehicle has {} against it", joined(&line.why, "and")),
        _ if line.why.is_empty() => String::new(),
        _ => format!(": {}", line.why.join("; ")),
    };
    let head = format!("{} ({}){why}", line.clause, line.outcome);
    out.push_str(&wrapped(&format!("  {:<14}", line.state), None, &head));
    for margin in &line.margins {
        out.push_str(&wrapped("                ", None, &words::margin(margin)));
    }
    if !line.law.is_empty() {
        let laws: Vec<String> = line.law.iter().map(words::law).collect();
        out.push_str(&wrapped("                ", None, &laws.join("; ")));
    }
}

fn leans(out: &mut String, ruling: &Ruling) {
    let unread = words::unread(&ruling.so_far_as_read);
    let bound = !ruling.exact && ruling.possible.len() > 1;
    let nothing =
        !bound && unread.is_none() && ruling.weak.is_empty() && ruling.notes.is_empty() && ruling.changes.is_empty();
    if nothing && ruling.presumptions.is_empty() && ruling.options.is_empty() && ruling.remarks.is_empty() {
        return;
    }
    heading(out, "What to know about this ruling");
    if let Some(unread) = unread {
        bullet(out, &unread);
    }
    if bound {
        bullet(out, words::BOUND);
    }
    let weak = words::weak(ruling);
    if !weak.is_empty() {
        bullet(out, &format!("It leans on weak sources: {}.", weak.join("; ")));
    }
    for presumption in &ruling.presumptions {
        bullet(
            out,
            &format!(
                "Presumed: {} ({}) [{}].",
                presumption.text,
                presumption.observer.spoken(),
                presumption.basis.words()
            ),
        );
    }
    for (name, value) in &ruling.options {
        bullet(out, &format!("Option {name}: {value}."));
    }
    for change in &ruling.changes {
        bullet(out, &words::change(change));
    }
    for note in &ruling.notes {
        let turn = match (note.could_turn.is_empty(), note.into.is_empty()) {
            (false, false) => {
                format!(" It could turn {} into {}.", joined(&note.could_turn, "or"), joined(&note.into, "or"))
            }
            _ => String::new(),
        };
        bullet(out, &format!("Not expressible here: {}.{turn}", note.text.trim_end_matches('.')));
    }
    for remark in &ruling.remarks {
        bullet(out, remark);
    }
}

fn follows(out: &mut String, ruling: &Ruling) {
    let open: Vec<_> = ruling.consequences.iter().filter(|it| it.state != Standing::Closed).collect();
    if open.is_empty() && ruling.due.due == Due::NotSaid {
        return;
    }
    heading(out, "What follows");
    for consequence in open {
        let perhaps = if consequence.state == Standing::NotKnown { "perhaps: " } else { "" };
        let kind = consequence.kind.spoken();
        bullet(out, &format!("{kind}: {perhaps}{} [{}]", consequence.text, consequence.basis.words()));
    }
    if ruling.due.due != Due::NotSaid {
        let why = if ruling.due.why.is_empty() { String::new() } else { format!(" ({})", ruling.due.why.join("; ")) };
        bullet(out, &format!("due for a test: {}{why}", ruling.due.due.word()));
    }
}

fn advice(out: &mut String, ruling: &Ruling) {
    // The caution on the lamp stands at the top.
    let at_top = ruling.lamp.as_ref().map(|lamp| lamp.caution);
    let cautions: Vec<&str> = ruling.cautions.iter().copied().filter(|caution| Some(*caution) != at_top).collect();
    if ruling.advice.is_empty() && cautions.is_empty() {
        return;
    }
    heading(out, "What to do");
    for advice in &ruling.advice {
        let time = advice.minutes.map_or(String::new(), |range| format!("; {}", words::minutes(range)));
        bullet(out, &format!("{}: {}{time} [{}]", advice.monitors.join(", "), advice.text, advice.basis.words()));
        for first in &advice.preconditions {
            out.push_str(&wrapped("      first: ", Some(6), first));
        }
        for caution in &advice.cautions {
            out.push_str(&wrapped("      caution: ", Some(6), caution));
        }
    }
    for caution in cautions {
        bullet(out, caution);
    }
}
