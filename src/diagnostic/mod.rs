//! Messages about program text, as data: what is wrong, where, and what to do. Drawing them is the front end's work.

use crate::source::Span;

/// How grave a message is.
///
/// ```
/// assert!(wherefore::Severity::Error < wherefore::Severity::Warning);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum Severity {
    /// The file cannot be used.
    Error,
    /// The file can be used, and something about it needs a look.
    Warning,
}

/// Words underlined, with what to say of them.
///
/// ```
/// use wherefore::{Error, Programs};
/// let text = "program us-zz\n  authorty \"x\"\n";
/// let Err(Error::ProgramText { diagnostics }) = Programs::from_text(text) else { unreachable!("it is no program") };
/// let places = diagnostics.iter().flat_map(|diagnostic| &diagnostic.labels);
/// assert!(places.into_iter().all(|label| label.span.end as usize <= text.len()));
/// ```
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub struct Label {
    /// Place in the text, in bytes.
    pub span: Span,
    /// What to say; may be empty.
    pub text: String,
}

/// One message about a program file.
///
/// Messages begin in lower case, have no full stop at the end, quote the file's words in backticks, and keep the
/// remedy in `help`.
///
/// ```
/// use wherefore::{Error, Programs, Severity};
/// let Err(Error::ProgramText { diagnostics }) = Programs::from_text("program us-zz\n  authorty \"x\"\n") else {
///     unreachable!("it is no program")
/// };
/// let first = &diagnostics[0];
/// assert_eq!(first.severity, Severity::Error);
/// assert!(first.code.contains('/') && !first.labels.is_empty());
/// ```
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub struct Diagnostic {
    /// Stable slug, `area/what-is-wrong`; `acknowledges` names warnings by it.
    pub code: &'static str,
    /// How grave it is.
    pub severity: Severity,
    /// What is wrong, in one sentence for people.
    pub message: String,
    /// Places in the text; the first is the main one.
    pub labels: Vec<Label>,
    /// What to do.
    pub help: Option<String>,
    /// Further lines, such as an example vehicle.
    pub notes: Vec<String>,
    /// What the warning is about (a clause, a topic, a limit), for acknowledging it.
    pub subject: Option<String>,
    /// A change of the text that is probably meant, for an editor to offer.
    pub fix: Option<Fix>,
}

/// A change of a text: other words at a place.
///
/// ```
/// use wherefore::{Error, Programs};
/// let text = "program us-zz\n  authorty \"x\"\n";
/// let Err(Error::ProgramText { diagnostics }) = Programs::from_text(text) else { unreachable!("it is no program") };
/// for fix in diagnostics.iter().filter_map(|diagnostic| diagnostic.fix.as_ref()) {
///     let (before, after) = (&text[..fix.span.start as usize], &text[fix.span.end as usize..]);
///     println!("{before}{}{after}", fix.text);
/// }
/// ```
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub struct Fix {
    /// What is replaced; an empty run of bytes where something is added.
    pub span: Span,
    /// The words to put there.
    pub text: String,
}

impl Diagnostic {
    /// An error at a place.
    #[must_use]
    pub(crate) fn error(code: &'static str, span: Span, message: impl Into<String>) -> Diagnostic {
        Diagnostic::new(code, Severity::Error, span, message.into())
    }

    /// A warning at a place.
    #[must_use]
    pub(crate) fn warning(code: &'static str, span: Span, message: impl Into<String>) -> Diagnostic {
        Diagnostic::new(code, Severity::Warning, span, message.into())
    }

    fn new(code: &'static str, severity: Severity, span: Span, message: String) -> Diagnostic {
        let labels = vec![Label { span, text: String::new() }];
        Diagnostic { code, severity, message, labels, help: None, notes: Vec::new(), subject: None, fix: None }
    }

    /// With what to do. A nearest word that it asks about is offered as a change of the main place.
    #[must_use]
    pub(crate) fn help(mut self, help: impl Into<String>) -> Diagnostic {
        let help = help.into();
        let meant = help.strip_prefix("did you mean `").and_then(|rest| rest.strip_suffix("`?"));
        // A name of an area is meant with its quotes.
        let text = help.strip_prefix("did you mean \"").and_then(|rest| rest.split_once("\"?")).map(|(text, _)| text);
        let meant = meant.map(str::to_owned).or_else(|| text.map(|text| format!("\"{text}\"")));
        if let (Some(text), Some(label)) = (meant, self.labels.first()) {
            self.fix = Some(Fix { span: label.span, text });
        }
        self.help = Some(help);
        self
    }

    /// With a change that is probably meant: other words at a place.
    #[must_use]
    pub(crate) fn fix(mut self, span: Span, text: impl Into<String>) -> Diagnostic {
        self.fix = Some(Fix { span, text: text.into() });
        self
    }

    /// With words for the main place.
    #[must_use]
    pub(crate) fn label(mut self, text: impl Into<String>) -> Diagnostic {
        if let Some(first) = self.labels.first_mut() {
            first.text = text.into();
        }
        self
    }

    /// With a second place.
    #[must_use]
    pub(crate) fn also(mut self, span: Span, text: impl Into<String>) -> Diagnostic {
        self.labels.push(Label { span, text: text.into() });
        self
    }

    /// With a further line.
    #[must_use]
    pub(crate) fn note(mut self, note: impl Into<String>) -> Diagnostic {
        self.notes.push(note.into());
        self
    }

    /// With what it is about.
    #[must_use]
    pub(crate) fn about(mut self, subject: impl Into<String>) -> Diagnostic {
        self.subject = Some(subject.into());
        self
    }
}

/// The nearest of some names, if it is near enough to be a slip of the pen (edit distance at most 2, or a third of the
/// length for long names) and no other is as near.
#[must_use]
pub fn nearest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let allowed = (name.chars().count() / 3).clamp(1, 4);
    let mut best: Option<(usize, &str)> = None;
    let mut tied = false;
    for candidate in known {
        let distance = edit_distance(name, candidate);
        match best {
            Some((least, _)) if distance > least => {}
            Some((least, same)) if distance == least => tied |= same != candidate,
            _ => (best, tied) = (Some((distance, candidate)), false),
        }
    }
    best.filter(|(distance, _)| *distance <= allowed && !tied).map(|(_, candidate)| candidate)
}

/// Changes, losses and additions of a letter, and neighbours that changed places, each counting one.
fn edit_distance(left: &str, right: &str) -> usize {
    let right: Vec<char> = right.chars().take(64).collect();
    let mut row: Vec<usize> = (0..=right.len()).collect();
    let mut row_before: Vec<usize> = Vec::new();
    let mut letter_before = None;
    for (i, a) in left.chars().take(64).enumerate() {
        let mut diagonal = i;
        let mut last = i + 1;
        let mut next = vec![last];
        let mut right_before = None;
        for (j, (b, above)) in right.iter().zip(row.iter().skip(1)).enumerate() {
            let cost = if a.eq_ignore_ascii_case(b) { diagonal } else { diagonal + 1 };
            last = cost.min(above + 1).min(last + 1);
            if letter_before == Some(*b) && right_before == Some(a) {
                last = last.min(row_before.get(j.saturating_sub(1)).map_or(usize::MAX, |swapped| swapped + 1));
            }
            diagonal = *above;
            right_before = Some(*b);
            next.push(last);
        }
        letter_before = Some(a);
        row_before = std::mem::replace(&mut row, next);
    }
    row.last().copied().unwrap_or(0)
}
