//! The programs that come with the crate, as a shelf.

use super::Files;
use super::list::FILES;

/// The built-in programs.
#[derive(Debug, Clone, Copy, Default)]
pub struct BuiltIn;

impl BuiltIn {
    /// Paths of the built-in files below `policies`, sorted.
    pub fn paths() -> impl Iterator<Item = &'static str> {
        FILES.iter().map(|(path, _)| *path)
    }
}

impl Files for BuiltIn {
    fn names(&self) -> Vec<String> {
        BuiltIn::paths().filter(|path| path.ends_with(".wherefore")).map(str::to_owned).collect()
    }

    fn text(&self, name: &str) -> Result<String, String> {
        let found = FILES.iter().find(|(path, _)| *path == name);
        found.map(|(_, text)| (*text).to_owned()).ok_or_else(|| format!("{name}: no built-in file"))
    }

    fn beside(&self, name: &str, table: &str) -> Option<String> {
        self.text(&format!("{}{table}", folder(name))).ok()
    }

    fn tables(&self, name: &str) -> Vec<String> {
        let beside = BuiltIn::paths().filter_map(|path| path.strip_prefix(folder(name)));
        beside.filter(|file| !file.ends_with(".wherefore") && !file.contains('/')).map(str::to_owned).collect()
    }

    fn were_checked(&self) -> bool {
        true
    }
}

/// The folder of a path with its `/`; empty at the top.
fn folder(path: &str) -> &str {
    path.rfind('/').and_then(|at| path.get(..=at)).unwrap_or("")
}
