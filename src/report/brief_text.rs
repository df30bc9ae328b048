//! The answer in brief as text of eighty columns.

use super::brief::{Brief, Emphasis};
use crate::wording::wrap::wrapped;

impl Brief {
    /// The lines of the text, each part with its emphasis.
    #[must_use]
    pub fn parts(&self) -> Vec<(Emphasis, String)> {
        let due = self.due.as_ref().map_or(String::new(), |due| format!(" · {due}"));
        let program = format!("{}{due}", self.program);
        let mut out = vec![
            (Emphasis::Plain, wrapped("", Some(2), &self.vehicle)),
            (Emphasis::Plain, wrapped("", Some(2), &program)),
            (Emphasis::Strong, wrapped("", Some(2), &self.headline)),
        ];
        let mut plain = |text: String| out.push((Emphasis::Plain, text));
        if let Some(line) = &self.readiness {
            plain(wrapped("", Some(2), line));
        }
        for (place, reason) in self.why.iter().enumerate() {
            let law = reason.law.as_ref().map_or(String::new(), |law| format!(" ({law})"));
            let lead = if place == 0 { "Why: " } else { "     " };
            plain(wrapped(lead, Some(5), &format!("{}{law}", reason.text)));
        }
        if self.more_reasons > 0 {
            plain(wrapped("     ", Some(5), &format!("And {} more; `--full` tells them.", self.more_reasons)));
        }
        if self.before.is_some() || !self.steps.is_empty() || !self.after.is_empty() {
            plain(wrapped("Do: ", Some(4), self.before.as_deref().unwrap_or_default()));
        }
        for (place, step) in self.steps.iter().enumerate() {
            plain(wrapped(&format!("{:>3}. ", place + 1), None, &step.text));
            step.how.iter().for_each(|how| plain(wrapped("     ", None, how)));
        }
        self.after.iter().for_each(|line| plain(wrapped("  ", Some(2), line)));
        if let Some(name) = self.stay_ready {
            plain(wrapped("  ", Some(2), &format!("To stay ready: `wherefore explain {name}`.")));
        }
        for (place, line) in self.unsure.iter().enumerate() {
            plain(wrapped(if place == 0 { "Not sure: " } else { "  - " }, Some(4), line));
        }
        out.push((Emphasis::Faint, wrapped("  ", Some(2), &format!("With `--full`: {}.", self.rest))));
        out.push((Emphasis::Plain, wrapped("Caution: ", Some(2), &self.cautions.join(" "))));
        out
    }

    /// The text.
    #[must_use]
    pub fn text(&self) -> String {
        self.parts().into_iter().map(|(_, text)| text).collect()
    }
}

impl Brief {
    /// Its sentences in the order in which they are read.
    pub(super) fn texts(&mut self) -> impl Iterator<Item = &mut String> {
        let reasons = self.why.iter_mut().map(|reason| &mut reason.text);
        let steps = self.steps.iter_mut().flat_map(|step| std::iter::once(&mut step.text).chain(&mut step.how));
        let before = std::iter::once(&mut self.headline).chain(&mut self.readiness).chain(reasons);
        before
            .chain(&mut self.before)
            .chain(steps)
            .chain(&mut self.after)
            .chain(&mut self.unsure)
            .chain(&mut self.cautions)
    }
}

/// What the long form tells besides.
pub(super) fn rest(more: usize, has_advice: bool) -> String {
    let points = match more {
        0 => String::new(),
        1 => "1 more doubt, ".to_owned(),
        more => format!("{more} more doubts, "),
    };
    let list =
        if has_advice { "all reasons, sources, conditions and advice" } else { "all reasons, sources and conditions" };
    format!("{points}{list}")
}
