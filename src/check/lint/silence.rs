//! `acknowledges CODE [of SUBJECT] "reason"`: warnings that the file says are features of the law.

use crate::diagnostic::{Diagnostic, Severity};
use crate::program::Program;

/// Takes out the warnings that the program acknowledges; errors stay. An acknowledgement that matches nothing is itself
/// a warning, if its area (`check`, `analysis`: what stands before the stroke) is among those in `areas` that have run.
#[must_use]
pub fn silence(program: &Program, warnings: Vec<Diagnostic>, areas: &[&str]) -> Vec<Diagnostic> {
    let matches = |warning: &Diagnostic, place: usize| {
        warning.severity == Severity::Warning
            && program.acknowledged.get(place).is_some_and(|acknowledged| {
                acknowledged.code == warning.code
                    && acknowledged.subject.as_ref().is_none_or(|subject| warning.subject.as_ref() == Some(subject))
            })
    };
    let places = 0..program.acknowledged.len();
    let idle = places.clone().filter(|place| !warnings.iter().any(|warning| matches(warning, *place)));
    let idle: Vec<usize> = idle.collect();
    let mut kept: Vec<Diagnostic> =
        warnings.into_iter().filter(|warning| !places.clone().any(|place| matches(warning, place))).collect();
    for acknowledged in idle.into_iter().filter_map(|place| program.acknowledged.get(place)) {
        let area = acknowledged.code.split('/').next().unwrap_or("");
        if !areas.contains(&area) {
            continue;
        }
        let of = acknowledged.subject.as_ref().map_or(String::new(), |subject| format!(" of {subject}"));
        let message = format!("there is no warning {}{of} to acknowledge", acknowledged.code);
        let diagnostic = Diagnostic::warning("check/acknowledges-nothing", acknowledged.span, message);
        kept.push(diagnostic.help("take the line out; the code and the subject must be those of the warning"));
    }
    kept
}
