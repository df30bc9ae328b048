//! What a program file may be at most. Checked before the grammar runs, so that no text can make the parser slow or
//! deep; nothing process-wide is set.

use crate::diagnostic::Diagnostic;
use crate::source::Span;

/// Bytes of a file. Design figure: the longest program is expected to take a tenth of it.
pub const FILE_BYTES: usize = 256 * 1024;
/// Items of a file. Design figure.
pub const ITEMS: usize = 10_000;
/// Bullets of an item. Design figure.
pub const BULLETS: usize = 1_000;
/// Errors of the grammar that are told of one file; beyond them nobody reads on.
pub const ERRORS: usize = 1_000;
/// Second readings of pieces of broken items in one file; a bound on time. Beyond it an item gives one error.
pub(super) const TRIES: usize = 5_000;
/// Depth of bullets within bullets, and of parentheses. The language itself needs two and one.
pub const DEPTH: usize = 16;
/// Characters of a name.
pub const NAME_CHARACTERS: usize = 64;
/// Characters of a text between quotes.
pub const TEXT_CHARACTERS: usize = 2_000;

pub(super) fn file_too_long(bytes: usize) -> Diagnostic {
    Diagnostic::error("limit/file", Span::new(0, 0), format!("the file has {bytes} bytes; {FILE_BYTES} are the most"))
        .help("put one jurisdiction in a file, and long tables in a file beside it (`rows from`)")
}

pub(super) fn too_many_items(span: Span) -> Diagnostic {
    Diagnostic::error("limit/items", span, format!("the file has more than {ITEMS} items"))
        .label("the first item too many")
        .help("put one jurisdiction in a file")
}

pub(super) fn too_many_bullets(span: Span) -> Diagnostic {
    Diagnostic::error("limit/bullets", span, format!("the item has more than {BULLETS} bullets"))
        .label("the first bullet too many")
        .help("put the rows of a long table in a file beside the program, with `rows from`")
}

pub(super) fn too_many_errors(span: Span) -> Diagnostic {
    Diagnostic::error("limit/errors", span, format!("the file has more than {ERRORS} errors"))
        .label("errors from here on are not told")
        .help("mend the errors above first")
}

pub(super) fn too_deep(span: Span) -> Diagnostic {
    Diagnostic::error("limit/depth", span, format!("bullets or parentheses stand more than {DEPTH} deep"))
        .help("give the inner condition a name of its own with `finding`")
}

pub(super) fn name_too_long(span: Span, characters: usize) -> Diagnostic {
    Diagnostic::error(
        "limit/name",
        span,
        format!("the word has {characters} characters; {NAME_CHARACTERS} are the most"),
    )
    .help("choose a shorter name")
}

pub(super) fn text_too_long(span: Span, characters: usize) -> Diagnostic {
    Diagnostic::error(
        "limit/text",
        span,
        format!("the text has {characters} characters; {TEXT_CHARACTERS} are the most"),
    )
    .help("shorten the text, or say it in several texts on lines of their own")
}

pub(super) fn number_too_great(span: Span, digits: &str) -> Diagnostic {
    let shown: String = digits.chars().take(24).collect();
    let more = if digits.len() > shown.len() { "…" } else { "" };
    Diagnostic::error("limit/number", span, format!("`{shown}{more}` is too great a number"))
        .help(format!("numbers go up to {}", i64::MAX))
}
