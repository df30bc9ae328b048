//! What a mutant is, and the text of a file with a switch for each of its mutants.

use std::collections::BTreeSet;

/// One change of one place.
#[derive(Debug, Clone)]
pub struct Mutant {
    /// The top module.
    pub module: String,
    /// The file, from the package's root.
    pub file: String,
    pub line: usize,
    /// What it is known by: function, line of code, what becomes what. Other changes of the file leave it as it is.
    pub key: String,
}

/// What stands in a mutant's place of the text: what was written there, or something else.
#[derive(Debug, Clone)]
pub enum Part {
    Written(usize, usize),
    Text(String),
}

/// How a mutant changes the text in which it stands.
#[derive(Debug, Clone)]
pub enum Change {
    /// A truth value is turned.
    Turned,
    /// Another expression instead.
    Instead(Vec<Part>),
    /// A condition that holds always.
    Always,
    /// A condition that never holds.
    Never,
    /// A chain of conditions with `let` that never holds.
    NeverLet,
    /// A statement left out.
    LeftOut,
    /// A text put in before, which the switch is part of: `NUMBER` stands for the mutant's number.
    PutIn(String),
}

/// A run of bytes with the mutants that change just it, the innermost first. One without mutants marks a function.
#[derive(Debug)]
pub struct Edit {
    pub start: usize,
    pub end: usize,
    /// Number of the mutant, and the change.
    pub changes: Vec<(u32, Change)>,
}

/// Where a switch came to stand in the text written.
#[derive(Debug, Clone)]
pub struct Region {
    pub start: usize,
    pub end: usize,
    /// The mutants it is of; none for a function.
    pub mutants: Vec<u32>,
    /// Whether it is the mutant's own text, not the one that it changes.
    pub own: bool,
}

/// The text of a file with the switches of its mutants.
#[derive(Debug)]
pub struct Written<'a> {
    source: &'a str,
    edits: &'a [Edit],
    pub text: String,
    pub regions: Vec<Region>,
}

impl<'a> Written<'a> {
    /// `alive` says which mutants are built. Edits stand in the order in which a walk from the outside finds them.
    pub fn new(source: &'a str, edits: &'a [Edit], alive: &dyn Fn(u32) -> bool) -> Self {
        let mut written = Written { source, edits, text: String::new(), regions: Vec::new() };
        written.run(0, source.len(), 0, alive);
        written
    }

    fn run(&mut self, start: usize, end: usize, from: usize, alive: &dyn Fn(u32) -> bool) {
        let mut at = start;
        let edits = self.edits;
        for (place, edit) in edits.iter().enumerate().skip(from) {
            if edit.start >= end {
                break;
            }
            if edit.start < at || edit.end > end {
                continue;
            }
            self.text.push_str(&self.source[at..edit.start]);
            self.edit(place, edit, alive);
            at = edit.end;
        }
        self.text.push_str(&self.source[at..end]);
    }

    fn edit(&mut self, place: usize, edit: &Edit, alive: &dyn Fn(u32) -> bool) {
        let whole = self.text.len();
        let changes: Vec<&(u32, Change)> = edit.changes.iter().filter(|(number, _)| alive(*number)).collect();
        for (number, change) in changes.iter().rev() {
            let before = match change {
                Change::Turned | Change::Always | Change::Never => "((".to_owned(),
                Change::Instead(parts) => format!("(if {} {{ {} }} else {{ ", on(*number), self.parts(parts)),
                Change::NeverLet => String::new(),
                Change::LeftOut => format!("if !{} {{ ", on(*number)),
                Change::PutIn(text) => text.replace("NUMBER", &number.to_string()),
            };
            self.own(*number, &before);
        }
        self.run(edit.start, edit.end, place + 1, alive);
        for (number, change) in &changes {
            let after = match change {
                Change::Turned => format!(") != {})", on(*number)),
                Change::Always => format!(") || {})", on(*number)),
                Change::Never => format!(") && !{})", on(*number)),
                Change::NeverLet => format!(" && !{}", on(*number)),
                Change::Instead(_) => " })".to_owned(),
                Change::LeftOut => " }".to_owned(),
                Change::PutIn(_) => String::new(),
            };
            self.own(*number, &after);
        }
        let mutants = changes.iter().map(|(number, _)| *number).collect();
        self.regions.push(Region { start: whole, end: self.text.len(), mutants, own: false });
    }

    fn own(&mut self, number: u32, text: &str) {
        let start = self.text.len();
        self.text.push_str(text);
        if start < self.text.len() {
            self.regions.push(Region { start, end: self.text.len(), mutants: vec![number], own: true });
        }
    }

    fn parts(&self, parts: &[Part]) -> String {
        let text = |part: &Part| match part {
            Part::Written(start, end) => self.source[*start..*end].to_owned(),
            Part::Text(text) => text.clone(),
        };
        parts.iter().map(text).collect()
    }

    /// The mutants that an error at a place is about, by the text written.
    pub fn blamed(&self, start: usize, end: usize) -> Vec<u32> {
        let length = |region: &&Region| region.end - region.start;
        let within = |region: &Region| region.start <= start && end <= region.end;
        let meets = |region: &Region| region.start < end.max(start + 1) && start < region.end;
        let switches = || self.regions.iter().filter(|region| !region.mutants.is_empty());
        if let Some(own) = switches().filter(|region| region.own && within(region)).min_by_key(length) {
            return own.mutants.clone();
        }
        if let Some(same) = switches().find(|region| !region.own && region.start == start && region.end == end) {
            return same.mutants.clone();
        }
        let inside: Vec<u32> = switches()
            .filter(|region| region.own && meets(region))
            .flat_map(|region| region.mutants.iter().copied())
            .collect();
        if !inside.is_empty() {
            return inside;
        }
        let around = switches().filter(|region| within(region)).min_by_key(length);
        around.map(|region| region.mutants.clone()).unwrap_or_default()
    }

    /// All mutants of the function around a place.
    pub fn of_function(&self, start: usize, end: usize) -> Vec<u32> {
        let functions = self.regions.iter().filter(|region| region.mutants.is_empty() && !region.own);
        let around = functions.filter(|region| region.start <= start && end <= region.end);
        let Some(function) = around.min_by_key(|region| region.end - region.start) else { return Vec::new() };
        let inside = |region: &&Region| function.start <= region.start && region.end <= function.end;
        let mutants = self.regions.iter().filter(inside).flat_map(|region| region.mutants.iter().copied());
        mutants.collect::<BTreeSet<u32>>().into_iter().collect()
    }
}

fn on(number: u32) -> String {
    format!("crate::mutant::on({number})")
}
