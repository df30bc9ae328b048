//! Texts broken into lines of at most eighty columns. Columns are counted in characters.

/// Width of every text that a person reads.
pub const WIDTH: usize = 80;

/// Breaks a text at its blanks into lines of at most [`WIDTH`] columns: `first` leads the first line, as many blanks as
/// `first` has columns (or `hang`, if given) the others. A word longer than a line stands on a line of its own.
#[must_use]
pub fn wrapped(first: &str, hang: Option<usize>, text: &str) -> String {
    let indent = " ".repeat(hang.unwrap_or(first.chars().count()));
    let mut out = String::new();
    let mut line = first.to_owned();
    let mut is_empty = true;
    for word in text.split_whitespace() {
        let width = line.chars().count() + usize::from(!is_empty) + word.chars().count();
        if !is_empty && width > WIDTH {
            out.push_str(line.trim_end());
            out.push('\n');
            line.clone_from(&indent);
            is_empty = true;
        }
        if !is_empty {
            line.push(' ');
        }
        line.push_str(word);
        is_empty = false;
    }
    out.push_str(line.trim_end());
    out.push('\n');
    out
}

/// Texts joined as in speech: `a, b and c`.
#[must_use]
pub fn joined(parts: &[String], last: &str) -> String {
    match parts.split_last() {
        Some((end, rest)) if !rest.is_empty() => format!("{} {last} {end}", rest.join(", ")),
        Some((end, _)) => end.clone(),
        None => String::new(),
    }
}
