//! From the text of a mapping file to a [`Mapping`]: every fault with its place and what to do. One column's entry is read
//! in `column`.

use super::column::{self, declared_value};
use super::{Column, FORMAT, Fault, FileForm, Given, Lines, Mapping, Target};
use crate::diagnostic::nearest;
use crate::document::{Node, other_unit_keys, parse_date};
use crate::model::{Fact, FactType, Monitor, MonitorSet, Reading, TroubleCode, Unit, Value, spec, table};
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

type Entry<'t> = Spanned<DeValue<'t>>;

/// What is read, and the faults found so far.
pub(super) struct Reader<'t> {
    text: &'t str,
    pub(super) mapping: Mapping,
    faults: Vec<Fault>,
}

/// Reads a mapping file.
///
/// # Errors
/// With every fault of it, in the order of their places.
pub fn read(text: &str) -> Result<Mapping, Vec<Fault>> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut reader = Reader { text, mapping: Mapping::default(), faults: Vec::new() };
    let (tree, errors) = DeTable::parse_recoverable(text);
    for error in errors {
        reader.fault(error.span().unwrap_or(0..0), error.message().to_owned(), "the file is written in TOML");
    }
    if reader.faults.is_empty() {
        reader.top(tree.get_ref());
    }
    if reader.faults.is_empty() {
        Ok(reader.mapping)
    } else {
        reader.faults.sort();
        reader.faults.dedup();
        Err(reader.faults)
    }
}

impl<'t> Reader<'t> {
    pub(super) fn fault(&mut self, span: Range<usize>, message: impl Into<String>, help: impl Into<String>) {
        let before = self.text.get(..span.start).unwrap_or(self.text);
        let line = before.matches('\n').count() + 1;
        let column = before.rsplit('\n').next().unwrap_or("").chars().count() + 1;
        self.faults.push(Fault { line, column, message: message.into(), help: help.into() });
    }

    /// How many faults there are so far.
    pub(super) fn faults_so_far(&self) -> usize {
        self.faults.len()
    }

    /// Gives the faults that were found since a place of their own.
    pub(super) fn place_since(&mut self, before: usize, span: Range<usize>) {
        let found = self.faults.split_off(before.min(self.faults.len()));
        for fault in found {
            self.fault(span.clone(), fault.message, fault.help);
        }
    }

    /// The fault of a word that is none of the known ones; its place is given by [`Reader::place_since`].
    pub(super) fn not_among(&mut self, text: &str, what: &str, known: &[&str]) {
        let help = match nearest(text, known.iter().copied()) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => format!("there are: {}", known.join(", ")),
        };
        self.fault(0..0, format!("\"{text}\" is {what}"), help);
    }

    fn top(&mut self, tree: &DeTable<'t>) {
        const KEYS: [&str; 4] = ["format", "file", "columns", "constants"];
        match tree.get("format") {
            Some(value) if value.get_ref().as_str() == Some(FORMAT) => {}
            Some(value) => self.fault(value.span(), "is another format", format!("write format = \"{FORMAT}\"")),
            None => self.fault(0..0, "the format is not named", format!("write format = \"{FORMAT}\"")),
        }
        for (key, value) in tree {
            match key.get_ref().as_ref() {
                "format" => {}
                "file" => self.file(value),
                "columns" => {}
                "constants" => self.constants(value),
                other => self.unknown(key.span(), other, &KEYS),
            }
        }
        match tree.get("columns") {
            Some(value) => self.columns(value),
            None if tree.get("constants").is_none() && self.mapping.file.lines == Lines::Flat => {
                self.fault(0..0, "no columns are mapped", "write them under [columns]");
            }
            None => {}
        }
    }

    pub(super) fn unknown(&mut self, span: Range<usize>, key: &str, known: &[&str]) {
        let help = match nearest(key, known.iter().copied()) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => format!("there are: {}", known.join(", ")),
        };
        self.fault(span, format!("unknown key \"{key}\""), help);
    }

    pub(super) fn table<'v>(&mut self, value: &'v Entry<'t>, what: &str) -> Option<&'v DeTable<'t>> {
        let found = value.get_ref().as_table();
        if found.is_none() {
            self.wrong(value, what);
        }
        found
    }

    /// The fault of a value of another type.
    pub(super) fn wrong(&mut self, value: &Entry<'t>, expected: &str) {
        self.fault(value.span(), format!("is {}", kind(value.get_ref())), format!("give {expected}"));
    }

    pub(super) fn text_of<'v>(&mut self, value: &'v Entry<'t>, expected: &str) -> Option<&'v str> {
        let found = value.get_ref().as_str();
        if found.is_none() {
            self.wrong(value, expected);
        }
        found
    }

    pub(super) fn yes_no(&mut self, value: &Entry<'t>) -> Option<bool> {
        let found = value.get_ref().as_bool();
        if found.is_none() {
            self.wrong(value, "true or false");
        }
        found
    }

    pub(super) fn texts(&mut self, value: &Entry<'t>) -> Vec<String> {
        const WHAT: &str = "a list of texts, as [\"\", \"?\"]";
        let Some(list) = value.get_ref().as_array() else {
            self.wrong(value, WHAT);
            return Vec::new();
        };
        list.iter().filter_map(|entry| self.text_of(entry, WHAT).map(|text| text.trim().to_owned())).collect()
    }

    /// One character.
    pub(super) fn sign(&mut self, value: &Entry<'t>) -> Option<char> {
        let text = self.text_of(value, "one character")?;
        let mut chars = text.chars();
        match (text, chars.next(), chars.next()) {
            ("tab", ..) => Some('\t'),
            (_, Some(sign), None) => Some(sign),
            _ => {
                self.fault(value.span(), format!("\"{text}\" is not one character"), "give one, or \"tab\"");
                None
            }
        }
    }

    fn file(&mut self, value: &Entry<'t>) {
        const KEYS: [&str; 5] = ["delimiter", "header", "lines", "not-known", "not-on-vehicle"];
        let Some(table) = self.table(value, "a table, as [file]") else { return };
        let mut file = FileForm::default();
        for (key, value) in table {
            match key.get_ref().as_ref() {
                "delimiter" => match self.sign(value).map(u8::try_from) {
                    Some(Ok(sign)) if !matches!(sign, b'"' | b'\n' | b'\r') && sign.is_ascii() => file.delimiter = sign,
                    Some(_) => self.fault(value.span(), "cannot part fields", "give one plain ASCII character"),
                    None => {}
                },
                "header" => file.header = self.yes_no(value).unwrap_or(true),
                "lines" => match self.text_of(value, "\"flat\" or \"snapshots\"") {
                    Some("flat") => file.lines = Lines::Flat,
                    Some("snapshots") => file.lines = Lines::Snapshots,
                    Some(_) => self.fault(value.span(), "is no form of a line", "give \"flat\" or \"snapshots\""),
                    None => {}
                },
                "not-known" => file.not_known = self.texts(value),
                "not-on-vehicle" => file.not_on_vehicle = self.texts(value),
                other => self.unknown(key.span(), other, &KEYS),
            }
        }
        self.mapping.file = file;
    }

    fn columns(&mut self, value: &Entry<'t>) {
        let Some(table) = self.table(value, "a table of columns, as [columns]") else { return };
        let mut given: Vec<(String, String)> = Vec::new();
        let mut places: Vec<(usize, Column)> = Vec::new();
        for (key, value) in table {
            let name = key.get_ref().as_ref();
            let entries: Vec<&Entry<'t>> = match value.get_ref() {
                DeValue::Array(list) => list.iter().collect(),
                _ => vec![value],
            };
            for entry in entries {
                let Some(column) = column::column(self, name, entry) else { continue };
                for what in column::what(&column) {
                    if let Some((_, other)) = given.iter().find(|(known, _)| *known == what) {
                        let message = format!("{what} is given twice: column \"{other}\" holds it too");
                        self.fault(
                            entry.span(),
                            message,
                            "keep one; which of the two is right cannot be told from here",
                        );
                    }
                    given.push((what, name.to_owned()));
                }
                places.push((key.span().start, column));
            }
        }
        places.sort_by_key(|(place, _)| *place);
        self.mapping.columns = places.into_iter().map(|(_, column)| column).collect();
        let clash: Vec<String> = self.mapping.constants.iter().map(|(target, _)| target.key()).collect();
        for key in clash {
            if let Some((_, column)) = given.iter().find(|(known, _)| *known == key) {
                let message = format!("{key} is given twice: by a constant and by column \"{column}\"");
                self.fault(value.span(), message, "keep one");
            }
        }
    }

    /// The fact at a key of the snapshot document, and the unit the key names; facts that programs declare stand under
    /// `declared.`.
    pub(super) fn target(&mut self, span: Range<usize>, key: &str) -> Option<(Target, Option<Unit>)> {
        if let Some(name) = key.strip_prefix("declared.").filter(|name| !name.is_empty()) {
            return Some((Target::Declared(name.to_owned()), None));
        }
        for fact in table::all_facts() {
            if table::key_of(fact) == key || (!matches!(fact, Fact::Monitor(_)) && spec(fact).name == key) {
                return Some((Target::Fact(fact), None));
            }
            if let Some((_, unit)) = other_unit_keys(fact).into_iter().find(|(other, _)| other == key) {
                return Some((Target::Fact(fact), Some(unit)));
            }
        }
        let keys: Vec<String> = table::all_facts().map(table::key_of).collect();
        let last = |path: &str| path.rsplit('.').next().map(str::to_owned);
        let near = nearest(key, keys.iter().map(String::as_str))
            .map(str::to_owned)
            .or_else(|| keys.iter().find(|known| last(known) == last(key)).cloned());
        let help = match near {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => {
                "`wherefore facts` lists the facts; those that programs declare are written declared.NAME".to_owned()
            }
        };
        self.fault(span, format!("there is no fact \"{key}\""), help);
        None
    }

    fn constants(&mut self, value: &Entry<'t>) {
        let Some(table) = self.table(value, "a table, as [constants]") else { return };
        let mut constants = Vec::new();
        for (key, value) in table {
            let name = key.get_ref().as_ref();
            // A path may be written with its dots bare: TOML makes tables of it.
            if let DeValue::Table(inner) = value.get_ref() {
                for (second, value) in inner {
                    let path = format!("{name}.{}", second.get_ref());
                    constants.extend(self.constant(second.span(), &path, value));
                }
                continue;
            }
            constants.extend(self.constant(key.span(), name, value));
        }
        self.mapping.constants = constants;
    }

    fn constant(&mut self, span: Range<usize>, key: &str, value: &Entry<'t>) -> Option<(Target, Given)> {
        let (target, unit) = self.target(span, key)?;
        let given = match &target {
            Target::Declared(_) => Given::Declared(declared_value(self, value)?),
            Target::Fact(fact) => Given::Reading(self.reading(*fact, unit, value)?),
        };
        Some((target, given))
    }

    fn reading(&mut self, fact: Fact, unit: Option<Unit>, value: &Entry<'t>) -> Option<Reading> {
        if value.get_ref().as_str() == Some("not-on-vehicle") && spec(fact).may_be_absent {
            return Some(Reading::NotOnVehicle);
        }
        let found = match (spec(fact).kind, value.get_ref()) {
            (FactType::YesNo { .. }, DeValue::Boolean(yes)) => Some(Value::Word(u8::from(*yes))),
            (FactType::YesNo { .. } | FactType::Words(_), DeValue::String(word)) => fact
                .words()
                .iter()
                .position(|known| known == word)
                .and_then(|at| u8::try_from(at).ok())
                .map(Value::Word),
            (FactType::Number { unit: own, .. }, DeValue::Integer(number)) if number.radix() == 10 => {
                let base = number.as_str().parse().ok().and_then(|it| unit.unwrap_or(own).to_base(it));
                let (least, most) = super::value::range_of(fact)?;
                base.filter(|base| (least..=most).contains(base)).map(Value::Number)
            }
            (FactType::Date, DeValue::String(text)) => parse_date(text).map(Value::Date),
            (FactType::Date, DeValue::Datetime(date)) => parse_date(&date.to_string()).map(Value::Date),
            (FactType::Text, DeValue::String(text)) if !text.trim().is_empty() => Some(Value::Text(text.to_string())),
            (FactType::Monitors, DeValue::Array(list)) => {
                let names: Option<MonitorSet> =
                    list.iter().map(|it| it.get_ref().as_str().and_then(Monitor::named)).collect();
                names.map(Value::Monitors)
            }
            (FactType::Codes, DeValue::Array(list)) => {
                let codes: Option<_> =
                    list.iter().map(|it| it.get_ref().as_str().and_then(TroubleCode::parse)).collect();
                codes.map(|codes| Value::Codes(crate::model::CodeList { codes, may_hold_more: false }))
            }
            _ => None,
        };
        if found.is_none() {
            let shown =
                value.get_ref().as_str().map_or_else(|| kind(value.get_ref()), |it| Node::Text(it.into()).show());
            let message = format!("{shown} is no value of {}", table::key_of(fact));
            self.fault(value.span(), message, format!("give {}", crate::document::allowed(fact)));
        }
        found.map(Reading::Known)
    }
}

/// The type of a value, in words.
pub(super) fn kind(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) => "a whole number",
        DeValue::Float(_) => "a number with a fraction",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
    .to_owned()
}
