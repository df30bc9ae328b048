//! Messages about program files drawn for people: the place, the words underlined, what to do. The messages themselves
//! are made elsewhere, as data.

use crate::diagnostic::{Diagnostic, Severity};
use crate::source::Source;
use miette::{GraphicalReportHandler, GraphicalTheme, LabeledSpan, NamedSource, SourceCode, SourceSpan};
use std::fmt;

/// Stands for a hyphen while lines are broken, so that none is broken within a name that a reader will copy. A character
/// for private use, as wide as a hyphen; program files hold none as a rule, and one that does is shown a hyphen.
const UNBROKEN: char = '\u{e02d}';

/// A text whose hyphens do not break.
fn unbroken(text: &str) -> String {
    text.replace('-', &UNBROKEN.to_string())
}

/// Width of drawn messages.
const WIDTH: usize = 80;

#[derive(Debug)]
struct Drawn<'a> {
    diagnostic: &'a Diagnostic,
    source: NamedSource<String>,
}

impl fmt::Display for Drawn<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&unbroken(&self.diagnostic.message))
    }
}

impl std::error::Error for Drawn<'_> {}

impl miette::Diagnostic for Drawn<'_> {
    fn code<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        Some(Box::new(self.diagnostic.code))
    }

    fn severity(&self) -> Option<miette::Severity> {
        Some(match self.diagnostic.severity {
            Severity::Error => miette::Severity::Error,
            Severity::Warning => miette::Severity::Warning,
        })
    }

    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        let lines: Vec<&str> = self.diagnostic.notes.iter().chain(&self.diagnostic.help).map(String::as_str).collect();
        if lines.is_empty() { None } else { Some(Box::new(unbroken(&lines.join("\n")))) }
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(&self.source)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let labels = self.diagnostic.labels.iter().enumerate().map(|(place, label)| {
            let text = (!label.text.is_empty()).then(|| label.text.clone());
            let start = usize::try_from(label.span.start).unwrap_or(0);
            // An item is underlined in its first line: the rest would drown the message.
            let words = self.source.inner().get(start..usize::try_from(label.span.end).unwrap_or(0)).unwrap_or("");
            let length = words.lines().next().map_or(0, |line| line.trim_end().len());
            let span = SourceSpan::from((start, length));
            if place == 0 {
                LabeledSpan::new_primary_with_span(text, span)
            } else {
                LabeledSpan::new_with_span(text, span)
            }
        });
        Some(Box::new(labels))
    }
}

/// A message drawn, without colours.
pub(super) fn draw(diagnostic: &Diagnostic, source: &Source) -> String {
    let handler = GraphicalReportHandler::new_themed(GraphicalTheme::unicode_nocolor()).with_width(WIDTH);
    let drawn = Drawn { diagnostic, source: NamedSource::new(source.name(), source.text().to_owned()) };
    let mut out = String::new();
    if handler.render_report(&mut out, &drawn).is_err() {
        // Only a place outside the text can fail; the message itself is not lost.
        out = format!("{}: {}: {}\n", source.name(), diagnostic.code, diagnostic.message);
    }
    let lines: Vec<&str> = out.lines().map(str::trim_end).collect();
    lines.join("\n").replace(UNBROKEN, "-") + "\n"
}
