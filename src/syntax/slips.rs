//! What people write who have not read the reference: symbols, numbers as words, words of the trade, `or newer`. Each is
//! told with the words to write instead.

use super::grammar::Rule;
use super::stop::{Stop, first_word};
use super::words;
use crate::diagnostic::Diagnostic;

/// Signs, the longest first, with what is written instead; a blank stands for what a bullet must say.
const SYMBOLS: &[(&str, &str)] = &[
    ("<=", "at most"),
    ("=<", "at most"),
    ("\u{2264}", "at most"),
    (">=", "at least"),
    ("=>", "at least"),
    ("\u{2265}", "at least"),
    ("<>", "is not"),
    ("!=", "is not"),
    ("\u{2260}", "is not"),
    ("==", "is"),
    ("<", "below"),
    (">", "above"),
    ("=", "is"),
    ("&&", "and"),
    ("&", "and"),
    ("||", ""),
    ("|", ""),
    ("!", "not"),
    ("\u{2013}", "through"),
    ("\u{2014}", "through"),
    ("\u{2212}", "through"),
    ("\u{2026}", "through"),
    ("...", "through"),
    ("..", "through"),
    ("+", "or later"),
];

/// Numbers that people spell out.
const NUMBERS: [&str; 13] =
    ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"];

/// Ways to say that a number is a bound, behind the number, with what is written instead of them.
const BOUNDS: &[(&str, &str)] = &[
    ("newer", "or later"),
    ("later", "or later"),
    ("up", "or later"),
    ("after", "or later"),
    ("on", "or later"),
    ("onward", "or later"),
    ("onwards", "or later"),
    ("upward", "or later"),
    ("upwards", "or later"),
    ("above", "at least"),
    ("more", "at least"),
    ("greater", "at least"),
    ("over", "at least"),
    ("heavier", "at least"),
    ("higher", "at least"),
    ("older", "or earlier"),
    ("earlier", "or earlier"),
    ("before", "or earlier"),
    ("prior", "or earlier"),
    ("less", "at most"),
    ("fewer", "at most"),
    ("below", "at most"),
    ("under", "at most"),
    ("lighter", "at most"),
    ("lower", "at most"),
];

/// Ways to say how a number is bounded, before the number.
const COMPARED: &[(&str, &str)] = &[
    ("more than", "above"),
    ("greater than", "above"),
    ("heavier than", "above"),
    ("over", "above"),
    ("exceeds", "above"),
    ("exceeding", "above"),
    ("newer than", "above"),
    ("less than", "below"),
    ("fewer than", "below"),
    ("lighter than", "below"),
    ("older than", "below"),
    ("under", "below"),
    ("not more than", "at most"),
    ("no more than", "at most"),
    ("not over", "at most"),
    ("up to", "at most"),
    ("maximum", "at most"),
    ("max", "at most"),
    ("not less than", "at least"),
    ("no less than", "at least"),
    ("minimum", "at least"),
    ("min", "at least"),
    ("equals", "is"),
    ("equal to", "is"),
    ("from", "is"),
    ("between", "is"),
];

/// More monitors incomplete than a limit allows, and no more than that.
const TOO_MANY: &str = "too many monitors are incomplete";
const NOT_TOO_MANY: &str = "not too many monitors are incomplete";

/// Tests as the trade says them, of several words, with what is written instead.
const PHRASES: &[(&str, &str)] = &[
    ("no communication", "communication is none"),
    ("does not communicate", "communication is none"),
    ("lamp is lit with the key on", "lamp lit with the key on"),
    ("lamp is dark with the key on", "lamp dark with the key on"),
    ("lamp is not lit with the key on", "lamp dark with the key on"),
    ("lamp is lit with the engine running", "lamp lit with the engine running"),
    ("lamp is dark with the engine running", "lamp dark with the engine running"),
    ("lamp is not lit with the engine running", "lamp dark with the engine running"),
    ("lamp is commanded on", "lamp commanded on"),
    ("lamp is not commanded on", "lamp not commanded on"),
    ("lamp is flashing", "lamp flashing"),
    ("lamp is not flashing", "lamp not flashing"),
    ("VIN is in the data", "VIN in the data"),
    ("VIN is not in the data", "VIN not in the data"),
    ("VIN not match", "VIN does not match"),
    ("VIN is not matching", "VIN does not match"),
    ("VIN mismatch", "VIN does not match"),
    ("too many incomplete", TOO_MANY),
    ("too many monitors incomplete", TOO_MANY),
    ("too many counted monitors are incomplete", TOO_MANY),
    ("over limit", TOO_MANY),
    ("exceeds the limit", TOO_MANY),
    ("not over the limit", NOT_TOO_MANY),
    ("under the limit", NOT_TOO_MANY),
    ("below the limit", NOT_TOO_MANY),
    ("all complete", "none incomplete"),
    ("all ready", "none incomplete"),
];

/// The message about such a way of saying it; `None` where the place is none of them.
pub(super) fn early(stop: &Stop<'_>) -> Option<Diagnostic> {
    let slips = [
        phrase,
        super::said::row,
        super::said::only,
        super::said::value,
        code_alone,
        area_list,
        years,
        bare_year,
        topic,
        super::said::not_seen,
        super::said::reason,
        super::said::incomplete,
        super::said::unless,
        super::said::not_both,
        super::said::supported,
        symbol,
        slashes,
        code_range,
        small_code,
        spelled,
        bound_behind,
        bound_before,
        code_words,
        said_around,
        no_quotes,
        in_quotes,
    ];
    slips.iter().find_map(|slip| slip(stop))
}

pub(super) fn told(stop: &Stop<'_>, length: usize, help: String, fix: Option<String>) -> Diagnostic {
    let span = stop.span_of(length);
    let written = stop.after().get(..length).unwrap_or("").trim();
    let error =
        Diagnostic::error("syntax/other-words", span, format!("`{written}` is not how it is said here")).help(help);
    match fix {
        Some(text) => error.fix(span, text),
        None => error,
    }
}

/// What follows on the line, as far as the next `and`, at most a few words: the amount that a sign stands before.
fn amount(after: &str) -> String {
    let line = after.lines().next().unwrap_or("").trim();
    let line = line.split([';', ':', ',']).next().unwrap_or("");
    let words = line.split_whitespace().take_while(|word| !["and", "or", "where", ":", "-"].contains(word)).take(2);
    let joined = words.collect::<Vec<_>>().join(" ");
    joined.trim_end_matches([':', ',', ';', ')']).to_owned()
}

fn symbol(stop: &Stop<'_>) -> Option<Diagnostic> {
    let after = stop.after();
    let (sign, written) = SYMBOLS.iter().find(|(sign, _)| after.starts_with(sign))?;
    let follows = amount(after.get(sign.len()..)?);
    match *written {
        "" => {
            let help =
                "`or` joins the words of one fact only; for alternatives end with `any of` and give each a bullet";
            Some(told(stop, sign.len(), help.to_owned(), None))
        }
        // Within a number or a name a point or a plus says something else.
        "through" | "or later"
            if !stop.before().ends_with(|last: char| last.is_ascii_alphanumeric() || last == ' ') =>
        {
            None
        }
        "through" => {
            let help = format!("no dashes or dots: write `{} through {follows}`", stop.previous());
            Some(told(stop, sign.len(), help, Some(" through ".to_owned())))
        }
        "or later" => {
            let help = format!("no symbols: write `{} or later`", stop.previous());
            Some(told(stop, sign.len(), help, Some(" or later".to_owned())))
        }
        word if stop.expects(Rule::number) && word != "not" => {
            let help = format!("no symbols: write `{word} {follows}`");
            Some(told(stop, sign.len(), help, Some(format!("{word} "))))
        }
        word => {
            let help = match follows.is_empty() {
                true => format!("no symbols: write `{word}`"),
                false => format!("no symbols: write `{word} {follows}`"),
            };
            Some(told(stop, sign.len(), help, Some(format!("{word} "))))
        }
    }
}

/// `P0420-P0439`
fn code_range(stop: &Stop<'_>) -> Option<Diagnostic> {
    let written = words::code_range(stop.found())?;
    let help =
        format!("write `{written}`, or `with letters` in place of `digits only` if codes with letters are meant too");
    Some(told(stop, stop.found().len(), help, Some(written)))
}

/// `p0420`
fn small_code(stop: &Stop<'_>) -> Option<Diagnostic> {
    let (found, large) = (stop.found(), stop.found().to_ascii_uppercase());
    let is_small = found != large && words::is_code(&large);
    is_small.then(|| told(stop, found.len(), format!("codes are written in capitals: write `{large}`"), Some(large)))
}

/// `1/1/2006`
fn slashes(stop: &Stop<'_>) -> Option<Diagnostic> {
    let digits = stop.previous();
    let is_number = !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit());
    let joins = stop.found() == "/" && stop.before().len() == stop.at && is_number;
    let rest: usize = stop.after().bytes().take_while(|byte| byte.is_ascii_digit() || *byte == b'/').count();
    (joins && rest > 1).then(|| {
        let span = stop.span_at(stop.at - digits.len(), digits.len() + rest);
        let written = stop.piece.get(stop.at - digits.len()..stop.at + rest).unwrap_or("");
        Diagnostic::error("syntax/date", span, format!("`{written}` is not written as a date"))
            .help("write dates as `2012-07-01`: year, month, day, with leading zeros")
    })
}

/// `area is Adams`
fn no_quotes(stop: &Stop<'_>) -> Option<Diagnostic> {
    let before = stop.before();
    let before = before.strip_suffix(" not").unwrap_or(before).strip_suffix(" is")?;
    let of_texts = ["area", "make", "model", "engine"];
    let fact = before.split_whitespace().next_back().filter(|word| of_texts.contains(word))?;
    let found = stop.found();
    let is_word = found.starts_with(|first: char| first.is_alphabetic());
    is_word.then(|| {
        let help = format!("put texts between straight double quotes: `{fact} is \"{found}\"`");
        told(stop, found.len(), help, Some(format!("\"{found}\"")))
    })
}

/// `fail where "the lamp is on"`
fn in_quotes(stop: &Stop<'_>) -> Option<Diagnostic> {
    let is_text = stop.found().starts_with('"') && stop.expects(Rule::condition);
    is_text.then(|| {
        Diagnostic::error("syntax/other-words", stop.span(), "a test is not written in quotes")
            .help("write the test in the words of the language, as in `fail where lamp commanded on`")
    })
}

/// `mil on`, `check engine light on`: the grammar takes the first word for a name and stops behind it.
fn said_around(stop: &Stop<'_>) -> Option<Diagnostic> {
    let mut start = stop.before().len();
    for _ in 0..3 {
        let before = stop.piece.get(..start)?.trim_end();
        start = before.rfind(|mark: char| mark.is_whitespace()).map_or(0, |at| at + 1);
        let begins = ["where", "and", "concerns", "requires", "facts", ";", "-", "\u{1}"];
        let is_begun = begins.iter().any(|word| stop.piece.get(..start).unwrap_or("").trim_end().ends_with(word));
        let said = words::trade(stop.piece.get(start..)?).filter(|(length, _)| {
            let reaches = start + length >= stop.before().len();
            // One word by itself is told where it stands, not from behind.
            is_begun && reaches && stop.piece.get(start..start + length).is_some_and(|text| text.contains(' '))
        });
        if let Some((length, written)) = said {
            let span = stop.span_at(start, length);
            let said = stop.piece.get(start..start + length).unwrap_or("");
            let error = Diagnostic::error("syntax/other-words", span, format!("`{said}` is not how it is said here"));
            return Some(error.help(format!("write `{written}`")).fix(span, written));
        }
        if start == 0 {
            break;
        }
    }
    None
}

/// `no communication`: a test as it is said, on the line of the stop, at which the grammar may be past it.
fn phrase(stop: &Stop<'_>) -> Option<Diagnostic> {
    let begins = stop.before().rfind('\n').map_or(0, |at| at + 1);
    let line = stop.piece.get(begins..)?.lines().next()?;
    let (at, said, written) = PHRASES.iter().find_map(|(said, written)| {
        let at = line.find(said)?;
        let ends = line.get(at + said.len()..)?;
        // What stands in a text is no test.
        let is_whole = !ends.starts_with(words::is_name_character) && line.get(..at)?.matches('"').count() % 2 == 0;
        (is_whole && begins + at <= stop.at).then_some((at, *said, *written))
    })?;
    let span = stop.span_at(begins + at, said.len());
    let error = Diagnostic::error("syntax/other-words", span, format!("`{said}` is not how it is said here"));
    Some(error.help(format!("write `{written}`")).fix(span, written))
}

/// `any stored code P0420`
fn code_alone(stop: &Stop<'_>) -> Option<Diagnostic> {
    let before = stop.before().trim_end();
    let is_kind = before.ends_with(" code") || before.ends_with(" codes");
    (is_kind && words::is_code(stop.found())).then(|| {
        Diagnostic::error("syntax/other-words", stop.span(), "codes are tested by the group that holds them").help(
            "list the codes once, `code group GROUP: P0420 through P0439 digits only`, and write `any stored code among GROUP`",
        )
    })
}

/// `areas "Quill", "Sedge"`
fn area_list(stop: &Stop<'_>) -> Option<Diagnostic> {
    let is_head = stop.piece.trim_start().starts_with("areas \"") && !stop.before().contains('\n');
    is_head.then(|| {
        Diagnostic::error("syntax/other-words", stop.span(), "areas are not listed on the first line")
            .help("put the names into bullets below it, each with its dash: `- \"Quill\", \"Sedge\"`")
    })
}

/// `at most two`
fn spelled(stop: &Stop<'_>) -> Option<Diagnostic> {
    let found = stop.found().to_ascii_lowercase();
    let value = NUMBERS.iter().position(|word| *word == found)?;
    let wanted = [Rule::number, Rule::bounds, Rule::amount, Rule::interval];
    wanted
        .iter()
        .any(|rule| stop.expects(*rule))
        .then(|| told(stop, found.len(), format!("write the number in digits: `{value}`"), Some(value.to_string())))
}

/// `1996 or newer`, `1996 and up`, `8500 lb or less`
fn bound_behind(stop: &Stop<'_>) -> Option<Diagnostic> {
    let found = stop.found();
    let joins = ["or", "and"].contains(&found);
    let rest = if joins { stop.after().get(found.len()..)?.trim_start() } else { stop.after() };
    let word = first_word(rest);
    let (_, written) = BOUNDS.iter().find(|(said, _)| *said == word)?;
    let before = stop.before();
    let mut words = before.split_whitespace().rev();
    let last = words.next()?;
    let (number, unit) = match last.parse::<i64>() {
        Ok(_) => (last, ""),
        Err(_) if words::UNITS.contains(&last) => (words.next().filter(|word| word.parse::<i64>().is_ok())?, last),
        Err(_) => return None,
    };
    let amount = format!("{number} {unit}").trim().to_owned();
    let is_year = unit.is_empty() && number.len() == 4;
    let help = match (*written, is_year) {
        ("or later" | "at least", true) => format!("write `{amount} or later`"),
        ("or earlier" | "at most", true) => format!("write `{amount} or earlier`"),
        ("or later" | "at least", false) => format!("write `at least {amount}`"),
        (_, false) => format!("write `at most {amount}`"),
        (other, true) => format!("write `{other} {amount}`"),
    };
    let length = stop.after().len() - rest.len() + word.len();
    let fix = is_year.then(|| help.contains("or later")).map(|later| if later { "or later" } else { "or earlier" });
    Some(told(stop, length, help, fix.map(str::to_owned)))
}

/// `gross weight over 8500 lb`, `model year between 1996 and 2000`
fn bound_before(stop: &Stop<'_>) -> Option<Diagnostic> {
    if stop.previous() == "not" {
        return negated(stop);
    }
    if !(stop.expects(Rule::bounds) || stop.expects(Rule::at_least) || stop.expects(Rule::kw_at_least)) {
        return None;
    }
    let lower = stop.after().lines().next().unwrap_or("").to_ascii_lowercase();
    let follows = |said: &str| {
        lower.strip_prefix(said).is_some_and(|rest| rest.trim_start().starts_with(|mark: char| mark.is_ascii_digit()))
    };
    let (said, written) = COMPARED.iter().filter(|(said, _)| follows(said)).max_by_key(|(said, _)| said.len())?;
    let rest = stop.after().get(said.len()..)?;
    let amount = amount(rest);
    if ["from", "between"].contains(said) {
        let line = rest.lines().next().unwrap_or("");
        let numbers: Vec<&str> = line.split_whitespace().filter(|word| word.parse::<i64>().is_ok()).take(2).collect();
        let [first, last] = numbers.as_slice() else { return None };
        return Some(told(stop, said.len(), format!("write `{first} through {last}`; both ends belong to it"), None));
    }
    Some(told(stop, said.len(), format!("write `{written} {amount}`"), Some((*written).to_owned())))
}

/// `gross weight not more than 8500 lb`
fn negated(stop: &Stop<'_>) -> Option<Diagnostic> {
    let bounds = [
        ("more than", "at most"),
        ("greater than", "at most"),
        ("over", "at most"),
        ("above", "at most"),
        ("less than", "at least"),
        ("fewer than", "at least"),
        ("under", "at least"),
        ("below", "at least"),
    ];
    let after = stop.after();
    let (said, written) = bounds.iter().find(|(said, _)| {
        after.strip_prefix(said).is_some_and(|rest| rest.trim_start().starts_with(|mark: char| mark.is_ascii_digit()))
    })?;
    let amount = amount(after.get(said.len()..)?);
    let span = stop.previous_span().to(stop.span_of(said.len()));
    let error = Diagnostic::error("syntax/other-words", span, format!("`not {said}` is not how it is said here"));
    Some(error.help(format!("write `{written} {amount}`")).fix(span, *written))
}

/// `model year 1998-2000`
fn years(stop: &Stop<'_>) -> Option<Diagnostic> {
    let written = stop.after().split(|mark: char| !mark.is_ascii_digit() && mark != '-').next()?;
    let (first, last) = written.split_once('-')?;
    let is_year = |text: &str| text.len() == 4 && text.bytes().all(|byte| byte.is_ascii_digit());
    (is_year(first) && is_year(last)).then(|| {
        let new = format!("{first} through {last}");
        told(stop, written.len(), format!("write `{new}`"), Some(new))
    })
}

/// `2001 and newer: at most 1`
fn bare_year(stop: &Stop<'_>) -> Option<Diagnostic> {
    let year = stop.found();
    let is_year = year.len() == 4 && year.parse::<u16>().is_ok_and(|year| (1900..=2100).contains(&year));
    (is_year && stop.expects(Rule::condition)).then(|| {
        let rest = stop.after().get(year.len()..).unwrap_or("").trim_start();
        let behind = rest.strip_prefix("and ").or_else(|| rest.strip_prefix("or ")).unwrap_or(rest);
        let bound =
            BOUNDS.iter().find(|(said, _)| *said == first_word(behind)).map_or("", |(_, written)| match *written {
                "or later" | "at least" => " or later",
                _ => " or earlier",
            });
        let is = if bound.is_empty() { "is " } else { "" };
        told(stop, year.len(), format!("say of what: write `model year {is}{year}{bound}`"), None)
    })
}

/// `silent on pending codes`
fn topic(stop: &Stop<'_>) -> Option<Diagnostic> {
    if !stop.expects(Rule::topic) {
        return None;
    }
    let line = stop.after().lines().next().unwrap_or("").split(',').next().unwrap_or("").trim_end();
    let joined = line.split_whitespace().collect::<Vec<_>>().join("-").to_ascii_lowercase();
    let known = words::TOPICS.iter().find(|known| **known == joined && joined != line)?;
    Some(told(stop, line.len(), format!("write `{known}`"), Some((*known).to_owned())))
}

/// `any stored DTC`
fn code_words(stop: &Stop<'_>) -> Option<Diagnostic> {
    // The grammar stops before `stored` where what follows it is no `code`.
    let after = stop.after();
    let first = first_word(after);
    let lists = ["stored", "pending", "permanent", "confirmed"];
    let (skip, kind) = if lists.contains(&first) { (first.len(), first) } else { (0, "") };
    let rest = after.get(skip..)?;
    let word = first_word(rest.trim_start());
    let lower = word.to_ascii_lowercase();
    let is_code = ["dtc", "dtcs", "codes"].contains(&lower.as_str());
    if !kind.is_empty() && is_code {
        let kind = if kind == "confirmed" { "stored" } else { kind };
        let start = stop.at + skip + (rest.len() - rest.trim_start().len());
        let span = stop.span_at(start, word.len());
        let error = Diagnostic::error("syntax/other-words", span, format!("`{word}` is not how it is said here"));
        return Some(error.help(format!("write `{kind} code`")).fix(span, "code"));
    }
    None
}

/// `MIL on`, `GVWR`
pub(super) fn trade(stop: &Stop<'_>) -> Option<Diagnostic> {
    // A word that could stand there is left to the check, which knows what is declared; behind `clause` stands a name.
    if stop.before().ends_with("clause") {
        return None;
    }
    let (said, written) = words::trade(stop.after())?;
    let help = format!("write `{written}`");
    Some(told(stop, said, help, Some(written.to_owned())))
}
