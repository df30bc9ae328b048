//! What the exact analyses and the worked cases of a program show, as messages about its file: each at the clause, limit
//! or question it is about, with an example vehicle in plain words and an exact count. Nothing is analysed here.

use crate::analysis::warnings as analysis;
use crate::analysis::warnings::Warning;
use crate::diagnostic::Diagnostic;
use crate::diagram::{Error, Example};
use crate::model::Date;
use crate::program::{Flat, Item, Program, Selection, select};
use crate::ruling::vehicle;
use crate::source::Span;
use crate::syntax::ast::{File, Kind};
use crate::wording::wrap::joined;

/// What the exact analyses find of a program: on one day, or in every epoch.
///
/// # Errors
/// Where a diagram outgrows its budget.
pub fn analysed(program: &Program, as_of: Option<Date>) -> Result<Vec<Warning>, Error> {
    match as_of {
        None => analysis::analyse(program),
        Some(date) => match select(program, &Selection::on(date)) {
            Ok(flat) => analysis::analyse_flat(&flat),
            // A file that `check` passed can be selected on every day.
            Err(_) => Ok(Vec::new()),
        },
    }
}

/// Warnings as messages about the file that the tree was made of.
#[must_use]
pub fn diagnostics(program: &Program, file: &File, warnings: &[Warning]) -> Vec<Diagnostic> {
    warnings.iter().map(|warning| diagnostic(program, file, warning)).collect()
}

/// The message where the exact analyses are too large to be made.
#[must_use]
pub fn not_analysed(program: &Program, file: &File, error: &Error) -> Diagnostic {
    Diagnostic::warning("analysis/too-large", head(file), format!("nothing exact can be said of this program: {error}"))
        .about(&program.id)
        .help("take fewer facts together in one condition, or split a table")
}

fn diagnostic(program: &Program, file: &File, warning: &Warning) -> Diagnostic {
    let mut message = Diagnostic::warning(warning.code, place(program, file, warning), warning.message.clone())
        .about(&warning.subject)
        .help(warning.help)
        .note(dates(warning));
    if let Some(example) = &warning.example {
        let flat = select(program, &Selection::on(warning.from)).ok();
        let words = flat.map(|flat| example_words(&flat, example)).unwrap_or_default();
        let (counted, count, share) = (&warning.counted, vehicles(&warning.count), percent(warning.share));
        message = message
            .note(format!("{counted} {count}, {share} of all that can be told apart"))
            .note(format!("example vehicle: {}", words.join("; ")));
    }
    warning.notes.iter().fold(message, Diagnostic::note)
}

/// `1 vehicle`, `12 vehicles`.
#[must_use]
pub fn vehicles(count: &str) -> String {
    if count == "1" { "1 vehicle".to_owned() } else { format!("{count} vehicles") }
}

fn dates(warning: &Warning) -> String {
    if warning.from == warning.through {
        format!("on {}", warning.from)
    } else if warning.through.year() >= select::HORIZON_YEAR {
        format!("from {}", warning.from)
    } else {
        format!("from {} through {}", warning.from, warning.through)
    }
}

/// Millionths as a share in percent: `12.5 percent`, `less than 0.1 percent`. Rounded down.
#[must_use]
pub fn percent(millionths: u32) -> String {
    match millionths {
        1_000_000 => "100 percent".to_owned(),
        0..1_000 => "less than 0.1 percent".to_owned(),
        other => format!("{}.{} percent", other / 10_000, other % 10_000 / 1_000),
    }
}

/// An example in plain words: its facts, then what was assumed of texts that are open or were not read.
#[must_use]
pub fn example_words(flat: &Flat, example: &Example) -> Vec<String> {
    let mut words = vehicle(flat, &example.snapshot);
    if words.is_empty() {
        words.push("any vehicle".to_owned());
    }
    words.extend(example.readings.iter().map(|(question, reading)| format!("`{question}` read as `{reading}`")));
    words.extend(
        example
            .limits
            .iter()
            .map(|(row, number)| format!("the number of {row}, whose text was not seen, being {number}")),
    );
    words.extend(example.groups.iter().map(|(group, is)| {
        format!(
            "the codes of `{group}` whose text was not seen {}",
            if *is { "belonging to it" } else { "not belonging to it" }
        )
    }));
    words
}

/// Where a warning is shown: where it was written, if in this file; else at the thing it is about, at the adoption that
/// brought it, or at the head of the file.
fn place(program: &Program, file: &File, warning: &Warning) -> Span {
    let own = |origin: &crate::program::Origin| (origin.program == program.id).then_some(origin.span);
    if let Some(origin) = &warning.origin {
        let adopted = program.adopted.iter().find(|adopted| adopted.program == origin.program);
        return own(origin).or_else(|| adopted.map(|it| it.span)).unwrap_or_else(|| head(file));
    }
    let subject = &warning.subject;
    let block = program.blocks.iter().find(|block| match &block.item {
        Item::Clause(clause) => clause.id == *subject,
        Item::Limit { id, .. } => id == subject,
        _ => false,
    });
    let question = program.questions.iter().find(|question| question.id == *subject);
    block
        .and_then(|block| own(&block.origin))
        .or_else(|| question.and_then(|question| own(&question.origin)))
        .unwrap_or_else(|| head(file))
}

/// The place of the program's own name.
#[must_use]
pub fn head(file: &File) -> Span {
    let named = file.items.iter().find_map(|item| match &item.kind {
        Kind::Program { id, .. } => Some(id.span),
        _ => None,
    });
    named.unwrap_or_default()
}

/// What the worked cases of a program rest on, in whole numbers.
#[derive(Debug, Clone, Default, PartialEq, Eq, serde::Serialize)]
pub struct Shares {
    /// Worked cases that could be ruled on.
    pub cases: usize,
    /// Of these: with more than one possible outcome.
    pub undecided: usize,
    /// Of the undecided ones: because a limit or a list of codes was not read.
    pub undecided_unread: usize,
    /// Cases with a single outcome by what the ruling rests on at its weakest: `law, read` and how many.
    pub by_basis: std::collections::BTreeMap<String, usize>,
    /// Cases with a single outcome that lean on a weak text.
    pub weak: usize,
    /// Passes that hold only so far as read.
    pub so_far_as_read: usize,
}

impl Shares {
    /// Adds what one case rests on. `unread`: whether unread text leaves it undecided; `bases`: the words and weakness of
    /// each text it rests on, from the firmest to the weakest.
    pub fn add(&mut self, is_single: bool, unread: bool, bases: &[(String, bool)], so_far_as_read: bool) {
        self.cases += 1;
        if !is_single {
            self.undecided += 1;
            self.undecided_unread += usize::from(unread);
            return;
        }
        let (basis, weak) = bases.last().map_or(("no clause stands against it", false), |(words, weak)| (words, *weak));
        *self.by_basis.entry(basis.to_owned()).or_default() += 1;
        self.weak += usize::from(weak);
        self.so_far_as_read += usize::from(so_far_as_read);
    }

    /// How firm the cases with an outcome are, in words; `None` where no case has one.
    #[must_use]
    pub fn words(&self) -> Option<String> {
        let decided = self.cases - self.undecided.min(self.cases);
        let list: Vec<String> = self.by_basis.iter().map(|(basis, count)| format!("{count} on {basis}")).collect();
        let weak = self.weak;
        (decided > 0).then(|| {
            format!(
                "{weak} of {decided} decided worked cases lean on weak texts; at their weakest they rest: {}",
                joined(&list, "and")
            )
        })
    }

    /// A warning where many cases stay open because a text was not seen.
    #[must_use]
    pub fn diagnostics(&self, program: &Program, file: &File) -> Vec<Diagnostic> {
        let mut found = Vec::new();
        if self.undecided_unread * 4 > self.cases {
            let message = format!(
                "{} of {} worked cases are undecided because a text was not seen",
                self.undecided_unread, self.cases
            );
            found.push(Diagnostic::warning("check/cases-unread", head(file), message).about(&program.id).help(
                "find the text of the rows marked `number not seen` and the lists marked `text not seen`, or acknowledge \
                 this with the reason",
            ));
        }
        found
    }
}
