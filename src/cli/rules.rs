//! Program files on the disk as a shelf of the catalog, and the catalog that a command's options describe.

use super::files;
use crate::catalog::{Files, program_line};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Program files on the disk.
#[derive(Debug, Default)]
pub(super) struct Disk {
    files: Vec<PathBuf>,
}

impl Disk {
    /// The program files that paths name, files or folders of them, as they are. What is wrong with one is told when it
    /// is read.
    pub(super) fn named<'a>(paths: impl IntoIterator<Item = &'a PathBuf>) -> Result<Disk, String> {
        let mut all = Disk::default();
        for path in paths {
            let found = files::program_files(path)?;
            if found.is_empty() {
                return Err(format!("{}: no program file (`*.{}`) there", path.display(), files::ENDING));
            }
            all.files.extend(found.into_iter().filter(|file| !all.files.contains(file)).collect::<Vec<_>>());
        }
        Ok(all)
    }

    /// The same where programs are searched by their ids: a file that is named must hold one, and no two may have one id.
    /// Else another program, a built-in one perhaps, would stand for the one that was meant.
    pub(super) fn of<'a>(paths: impl IntoIterator<Item = &'a PathBuf>) -> Result<Disk, String> {
        let paths: Vec<&PathBuf> = paths.into_iter().collect();
        let all = Disk::named(paths.iter().copied())?;
        for path in paths.into_iter().filter(|path| all.files.contains(path)) {
            let text = files::read_text(path)?;
            if program_line(&text).is_none() {
                return Err(format!(
                    "{}: no program is there; its file has a line `program ID \"Title\"`, from the first column on",
                    path.display()
                ));
            }
        }
        match all.twice().first() {
            Some(fault) => Err(fault.clone()),
            None => Ok(all),
        }
    }

    /// A sentence for each program whose id another file has already, with both places.
    pub(super) fn twice(&self) -> Vec<String> {
        let mut first: BTreeMap<String, String> = BTreeMap::new();
        let mut faults = Vec::new();
        for path in &self.files {
            // What cannot be read is told elsewhere.
            let Ok(text) = files::read_text(path) else { continue };
            let Some((line, id)) = program_line(&text) else { continue };
            let place = format!("{}, line {line}", path.display());
            match first.get(&id) {
                Some(other) => faults.push(format!(
                    "{place}: program `{id}` is a second one: another is in {other}; give one another id, or name one file"
                )),
                None => drop(first.insert(id, place)),
            }
        }
        faults
    }

    fn path(&self, name: &str) -> Option<&Path> {
        self.files.iter().map(PathBuf::as_path).find(|path| path.display().to_string() == name)
    }
}

impl Files for Disk {
    fn names(&self) -> Vec<String> {
        self.files.iter().map(|path| path.display().to_string()).collect()
    }

    fn text(&self, name: &str) -> Result<String, String> {
        match self.path(name) {
            Some(path) => files::read_text(path),
            None => Err(format!("{name}: there is no such file")),
        }
    }

    fn beside(&self, name: &str, table: &str) -> Option<String> {
        // A table's file stands beside the program's: a path to elsewhere is none.
        if table.contains(['/', '\\']) {
            return None;
        }
        files::read_text(&self.path(name)?.with_file_name(table)).ok()
    }

    fn tables(&self, name: &str) -> Vec<String> {
        self.path(name).map(files::tables_beside).unwrap_or_default()
    }
}
