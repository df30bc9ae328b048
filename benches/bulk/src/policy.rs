//! The policy of the benchmark and the shipped programs, from their files.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use wherefore::internals::catalog::{Catalog, Files};
use wherefore::internals::program::Program;

/// A folder of programs.
struct Folder(PathBuf);

fn below(root: &Path, folder: &Path, found: &mut Vec<String>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() && !path.ends_with("target") {
            below(root, &path, found);
        } else if path.extension().is_some_and(|ending| ending == "wherefore") {
            found.push(path.strip_prefix(root).unwrap().to_string_lossy().into_owned());
        }
    }
}

impl Files for Folder {
    fn names(&self) -> Vec<String> {
        let mut names = Vec::new();
        below(&self.0, &self.0, &mut names);
        names.sort();
        names
    }

    fn text(&self, name: &str) -> Result<String, String> {
        std::fs::read_to_string(self.0.join(name)).map_err(|error| error.to_string())
    }

    fn beside(&self, name: &str, table: &str) -> Option<String> {
        std::fs::read_to_string(self.0.join(name).parent()?.join(table)).ok()
    }

    fn tables(&self, _name: &str) -> Vec<String> {
        Vec::new()
    }
}

fn programs_in(folder: PathBuf) -> Vec<Arc<Program>> {
    let folder = Folder(folder);
    let catalog = Catalog::new(vec![&folder]);
    catalog.ids().into_iter().filter_map(|id| catalog.find(&id).unwrap().program.clone()).collect()
}

/// Every shipped program.
pub fn shipped() -> Vec<Arc<Program>> {
    programs_in(Path::new(env!("CARGO_MANIFEST_DIR")).join("../../policies"))
}

/// The policy of the benchmark.
pub fn bench() -> Arc<Program> {
    programs_in(PathBuf::from(env!("CARGO_MANIFEST_DIR"))).into_iter().find(|program| program.id == "bench").unwrap()
}

/// Its clauses, in the order of the bits of a list of reasons.
pub const CLAUSES: [&str; 7] = ["connector", "communication", "bulb", "lamp", "readiness", "catalyst", "warm-ups"];
