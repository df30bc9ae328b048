//! `acknowledges CODE [of SUBJECT] "reason"`: findings that the file says are features of the law.

use crate::diagnostic::{Diagnostic, Severity};
use crate::program::Program;

/// Takes out the findings that the program acknowledges; errors stay. An acknowledgement that matches nothing is itself
/// a finding, if its area (`check`, `analysis`: what stands before the stroke) is among those in `areas` that have run.
#[must_use]
pub fn silence(program: &Program, findings: Vec<Diagnostic>, areas: &[&str]) -> Vec<Diagnostic> {
    let matches = |finding: &Diagnostic, place: usize| {
        finding.severity == Severity::Finding
            && program.acknowledged.get(place).is_some_and(|acknowledged| {
                acknowledged.code == finding.code
                    && acknowledged.subject.as_ref().is_none_or(|subject| finding.subject.as_ref() == Some(subject))
            })
    };
    let places = 0..program.acknowledged.len();
    let idle = places.clone().filter(|place| !findings.iter().any(|finding| matches(finding, *place)));
    let idle: Vec<usize> = idle.collect();
    let mut kept: Vec<Diagnostic> =
        findings.into_iter().filter(|finding| !places.clone().any(|place| matches(finding, place))).collect();
    for acknowledged in idle.into_iter().filter_map(|place| program.acknowledged.get(place)) {
        let area = acknowledged.code.split('/').next().unwrap_or("");
        if !areas.contains(&area) {
            continue;
        }
        let of = acknowledged.subject.as_ref().map_or(String::new(), |subject| format!(" of {subject}"));
        let message = format!("there is no finding {}{of} to acknowledge", acknowledged.code);
        let diagnostic = Diagnostic::finding("check/acknowledges-nothing", acknowledged.span, message);
        kept.push(diagnostic.help("take the line out; the code and the subject must be those of the finding"));
    }
    kept
}
