//! Program files on the disk as a shelf of the catalog, and the catalog that a command's options describe.

use super::files;
use crate::catalog::Files;
use std::path::{Path, PathBuf};

/// Program files on the disk.
#[derive(Debug, Default)]
pub(super) struct Disk {
    files: Vec<PathBuf>,
}

impl Disk {
    /// The program files that paths name: files, or folders of them.
    pub(super) fn of<'a>(paths: impl IntoIterator<Item = &'a PathBuf>) -> Result<Disk, String> {
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
