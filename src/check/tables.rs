//! Tables of listed vehicles: rows in the file, and rows of a comma-separated file beside it (RFC 4180) with the columns
//! make, model, engine, first_year, last_year, excuses and codes.

use super::Adopt;
use super::conditions::Place;
use super::context::Context;
use super::limits::TABLE_ROWS;
use super::names::near;
use crate::diagnostic::Diagnostic;
use crate::model::{CodeRange, Fact, Monitor, MonitorSet};
use crate::program::block::{Table, TableRow};
use crate::program::{Condition, FactRef, Test};
use crate::source::Span;
use crate::syntax::ast::{self, BulletKind, CodePattern, PropertyKind, Word};

/// Columns of a table's file; any may be left out, none may be added.
const COLUMNS: [&str; 7] = ["make", "model", "engine", "first_year", "last_year", "excuses", "codes"];

impl Context {
    /// A table.
    pub(super) fn table_item(&mut self, item: &ast::Item, id: &Word, adopt: &dyn Adopt) {
        let (common, properties) = self.properties("a `table`", &item.properties, &[&["per", "rows from", "bullet"]]);
        let mut rows = Vec::new();
        let mut from_file = false;
        for property in properties {
            match &property.kind {
                PropertyKind::Bullet(bullet) => match &bullet.kind {
                    BulletKind::TableRow { condition, excuses, codes } => {
                        self.properties("a row of a table", &bullet.properties, &[]);
                        let condition = self.condition(condition, Place::TableRow);
                        let excused = self.monitors(excuses);
                        let codes = self.patterns(codes, property.span);
                        rows.push(TableRow { condition, excused, codes });
                    }
                    _ => self.wrong_bullet(property.span, "a table", "`make is \"…\": excuses MONITOR` and their like"),
                },
                PropertyKind::RowsFrom(name) => {
                    from_file = true;
                    rows.extend(self.file_rows(name, adopt));
                }
                _ => {}
            }
        }
        if rows.is_empty() && !from_file {
            let message = format!("table `{}` has no row", id.node);
            let help = "add rows under it, or `rows from \"FILE.csv\"`";
            self.error("check/nothing-listed", id.span, message, help);
        }
        self.at_most(item.span, rows.len(), TABLE_ROWS, "rows of one table");
        let origin = self.origin(item.span);
        self.program.tables.push(Table { id: id.node.clone(), rows, basis: common.basis, origin });
    }

    fn file_rows(&mut self, name: &Word, adopt: &dyn Adopt) -> Vec<TableRow> {
        let Some(text) = adopt.table(&name.node) else {
            let known = adopt.tables();
            if known.contains(&name.node) {
                let what = "cannot be read: it is no plain file, or not UTF-8".to_owned();
                self.bad_file(name, None, what, "save it as a plain file of UTF-8, comma-separated");
                return Vec::new();
            }
            self.unknown("check/table-file-missing", "table file", name, known.iter().map(String::as_str));
            return Vec::new();
        };
        let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
        let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(text.as_bytes());
        let columns: Vec<String> = match reader.headers() {
            Ok(headers) => headers.iter().map(str::to_owned).collect(),
            Err(error) => {
                self.bad_file(name, None, format!("cannot be read: {error}"), "save it as UTF-8, comma-separated");
                return Vec::new();
            }
        };
        for column in &columns {
            if !COLUMNS.contains(&column.as_str()) {
                let near = near(column, COLUMNS);
                let help = near.unwrap_or_else(|| format!("the columns are {}", COLUMNS.join(", ")));
                self.bad_file(name, Some(1), format!("there is no column `{column}`"), &help);
            }
        }
        let mut rows = Vec::new();
        for record in reader.records() {
            match record {
                Ok(record) => {
                    let line = record.position().map(csv::Position::line);
                    let cell = |column: &str| {
                        let place = columns.iter().position(|known| known == column);
                        place.and_then(|place| record.get(place)).unwrap_or("").to_owned()
                    };
                    rows.extend(self.file_row(name, line, &cell));
                }
                Err(error) => {
                    let line = error.position().map(csv::Position::line);
                    self.bad_file(
                        name,
                        line,
                        "the row does not have one cell for each column".to_owned(),
                        "mend the row",
                    );
                }
            }
            if rows.len() > TABLE_ROWS {
                break;
            }
        }
        rows
    }

    fn file_row(&mut self, name: &Word, line: Option<u64>, cell: &dyn Fn(&str) -> String) -> Option<TableRow> {
        let mut parts = Vec::new();
        for (column, fact) in [("make", Fact::Make), ("model", Fact::Model), ("engine", Fact::Engine)] {
            let text = cell(column).to_lowercase();
            if !text.is_empty() {
                parts.push(Condition::Test(Test::Text { fact, among: vec![text], is: true }));
            }
        }
        let years = (self.year(name, line, &cell("first_year")), self.year(name, line, &cell("last_year")));
        let (least, most) = (years.0?, years.1?);
        if let (Some(first), Some(last)) = (least, most)
            && last < first
        {
            self.bad_file(name, line, format!("{last} is before {first}"), "write the earlier year first");
            return None;
        }
        if least.is_some() || most.is_some() {
            parts.push(Condition::Test(Test::Number { fact: FactRef::Known(Fact::ModelYear), least, most }));
        }
        if parts.is_empty() {
            self.bad_file(name, line, "the row names no vehicle".to_owned(), "fill make, model, engine or a year");
            return None;
        }
        let mut excused = MonitorSet::EMPTY;
        for word in listed(&cell("excuses")) {
            match Monitor::named(&word) {
                Some(monitor) => excused = excused.with(monitor),
                None => {
                    let names: Vec<&str> = Monitor::all().map(Monitor::name).collect();
                    let help = near(&word, names).unwrap_or_else(|| "see `wherefore facts`".to_owned());
                    self.bad_file(name, line, format!("there is no monitor `{word}`"), &help);
                }
            }
        }
        let codes = self.file_codes(name, line, &cell("codes"));
        Some(TableRow { condition: Condition::every(parts), excused, codes })
    }

    fn file_codes(&mut self, name: &Word, line: Option<u64>, text: &str) -> Vec<CodeRange> {
        let before = self.diagnostics.len();
        let patterns: Vec<CodePattern> = listed(text).iter().map(|words| pattern(words, name.span)).collect();
        let codes = self.patterns(&patterns, name.span);
        for diagnostic in self.diagnostics.iter_mut().skip(before) {
            diagnostic.message = format!("{}: {}", place(name, line), diagnostic.message);
        }
        codes
    }

    fn year(&mut self, name: &Word, line: Option<u64>, text: &str) -> Option<Option<i64>> {
        if text.is_empty() {
            return Some(None);
        }
        match text.parse::<i64>() {
            Ok(year) if (1900..=2100).contains(&year) => Some(Some(year)),
            _ => {
                self.bad_file(name, line, format!("`{text}` is no model year"), "write four digits, 1900 through 2100");
                None
            }
        }
    }

    fn bad_file(&mut self, name: &Word, line: Option<u64>, what: String, help: &str) {
        let message = format!("{}: {what}", place(name, line));
        self.report(Diagnostic::error("check/table-file", name.span, message).help(help));
    }
}

fn place(name: &Word, line: Option<u64>) -> String {
    match line {
        Some(line) => format!("{}, line {line}", name.node),
        None => name.node.clone(),
    }
}

/// The parts of a cell that lists several, between semicolons or commas.
fn listed(cell: &str) -> Vec<String> {
    let parts = cell.split([';', ',']).map(|part| part.trim().to_owned());
    parts.filter(|part| !part.is_empty()).collect()
}

fn pattern(words: &str, span: Span) -> CodePattern {
    let (rest, digits_only) = match (words.strip_suffix(" digits only"), words.strip_suffix(" with letters")) {
        (Some(rest), _) => (rest, Some(true)),
        (None, Some(rest)) => (rest, Some(false)),
        (None, None) => (words, None),
    };
    let word = |text: &str| Word::new(text.trim().to_owned(), span);
    match rest.split_once(" through ") {
        Some((first, last)) => CodePattern { span, first: word(first), last: Some(word(last)), digits_only },
        None => CodePattern { span, first: word(rest), last: None, digits_only },
    }
}
