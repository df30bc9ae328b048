//! Citations that have dates of their own: what is cited on the day.

use crate::model::Date;
use crate::program::block::Window;
use crate::program::{Citation, Flat};

/// Leaves every list of citations with those of the day, which then have no dates any more.
pub(super) fn on(flat: &mut Flat, day: Date) {
    let keep = |basis: &mut Vec<Citation>| {
        basis.retain(|citation| citation.window.holds(day));
        basis.iter_mut().for_each(|citation| citation.window = Window::default());
    };
    keep(&mut flat.in_force_basis);
    flat.counts.iter_mut().for_each(|rule| keep(&mut rule.basis));
    flat.excuses.iter_mut().for_each(|excuse| keep(&mut excuse.basis));
    flat.limits.iter_mut().flat_map(|limit| &mut limit.rows).for_each(|row| keep(&mut row.basis));
    flat.covers.iter_mut().for_each(|covers| keep(&mut covers.basis));
    flat.left_out.iter_mut().for_each(|row| keep(&mut row.basis));
    flat.due.iter_mut().for_each(|due| keep(&mut due.basis));
    flat.lines.iter_mut().for_each(|line| keep(&mut line.basis));
    flat.silences.iter_mut().for_each(|silence| keep(&mut silence.basis));
    flat.becomes.iter_mut().for_each(|becomes| keep(&mut becomes.basis));
    flat.consequences.iter_mut().for_each(|consequence| keep(&mut consequence.basis));
    flat.notes.iter_mut().for_each(|note| keep(&mut note.basis));
    flat.changes.iter_mut().for_each(|change| keep(&mut change.basis));
    flat.presumptions.iter_mut().for_each(|presumption| keep(&mut presumption.basis));
}
