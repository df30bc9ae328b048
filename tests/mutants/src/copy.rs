//! The copy of the crate: every file, those of the mutants' modules with switches, and the module that turns them.

use crate::find::{Found, find};
use crate::mutant::{Mutant, Written};
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// The modules whose mutants are made.
pub const MODULES: [&str; 11] = [
    "evaluate",
    "diagram",
    "analysis",
    "program",
    "ruling",
    "certificate",
    "decode",
    "bulk",
    "audit",
    "document",
    "check",
];

/// A file of a module with its mutants.
#[derive(Debug)]
pub struct Source {
    pub path: String,
    pub text: String,
    pub found: Found,
}

/// All mutants of all modules; number N is the Nth.
#[derive(Debug)]
pub struct Sources {
    pub files: Vec<Source>,
    pub mutants: Vec<Mutant>,
}

fn below(folder: &Path, into: &mut Vec<PathBuf>) -> Result<(), String> {
    let entries = fs::read_dir(folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    for entry in entries.flatten() {
        let path = entry.path();
        let name = entry.file_name().to_string_lossy().into_owned();
        if path.is_dir() && name != "tests" {
            below(&path, into)?;
        } else if name.ends_with(".rs") && name != "tests.rs" && !name.ends_with("_tests.rs") {
            into.push(path);
        }
    }
    Ok(())
}

/// Reads the modules and finds their mutants.
pub fn sources(root: &Path) -> Result<Sources, String> {
    let mut all = Sources { files: Vec::new(), mutants: Vec::new() };
    for module in MODULES {
        let mut paths = Vec::new();
        below(&root.join("src").join(module), &mut paths)?;
        paths.sort();
        for path in paths {
            let text = fs::read_to_string(&path).map_err(|error| format!("{}: {error}", path.display()))?;
            let path = path.strip_prefix(root).unwrap_or(&path).to_string_lossy().into_owned();
            let first = u32::try_from(all.mutants.len()).map_err(|error| error.to_string())? + 1;
            let found = find(module, &path, &text, first)?;
            all.mutants.extend(found.mutants.iter().cloned());
            all.files.push(Source { path, text, found });
        }
    }
    Ok(all)
}

impl Sources {
    /// A file with the switches of those of its mutants that are alive.
    pub fn written(&self, path: &str, alive: &dyn Fn(u32) -> bool) -> Option<Written<'_>> {
        let source = self.files.iter().find(|source| source.path == path)?;
        Some(Written::new(&source.text, &source.found.edits, alive))
    }
}

/// Writes a file unless it is so already, so that what did not change is not built again.
fn put(path: &Path, bytes: &[u8]) -> Result<(), String> {
    if fs::read(path).is_ok_and(|old| old == bytes) {
        return Ok(());
    }
    let told = |error: std::io::Error| format!("{}: {error}", path.display());
    path.parent().map_or(Ok(()), fs::create_dir_all).map_err(told)?;
    fs::write(path, bytes).map_err(told)
}

/// Every file that git knows or would know.
fn files(root: &Path) -> Result<BTreeSet<String>, String> {
    let mut git = Command::new("git");
    git.arg("-C").arg(root).args(["ls-files", "-z", "--cached", "--others", "--exclude-standard"]);
    let output = git.output().map_err(|error| format!("git: {error}"))?;
    let names = String::from_utf8(output.stdout).map_err(|error| error.to_string())?;
    Ok(names.split('\0').filter(|name| !name.is_empty()).map(str::to_owned).collect())
}

/// Brings everything but the mutants' modules into the copy.
pub fn copy(root: &Path, copy: &Path, sources: &Sources) -> Result<(), String> {
    let mutated: BTreeSet<&str> = sources.files.iter().map(|source| source.path.as_str()).collect();
    let files = files(root)?;
    for name in files.iter().filter(|name| !mutated.contains(name.as_str())) {
        let Ok(bytes) = fs::read(root.join(name)) else { continue };
        let bytes = match name.as_str() {
            "Cargo.toml" => manifest(&String::from_utf8_lossy(&bytes)).into_bytes(),
            "src/lib.rs" => [bytes.as_slice(), b"\n#[doc(hidden)]\npub mod mutant;\n"].concat(),
            _ if name.starts_with("tests/it/") && name.ends_with(".rs") => {
                String::from_utf8_lossy(&bytes).replace(".env_clear()", KEEPS_SWITCH).into_bytes()
            }
            _ => bytes,
        };
        let path = copy.join(name);
        put(&path, &bytes)?;
        if let Ok(found) = fs::metadata(root.join(name)) {
            fs::set_permissions(&path, found.permissions()).map_err(|error| format!("{name}: {error}"))?;
        }
    }
    let count = sources.mutants.len() + 1;
    put(&copy.join("src/mutant.rs"), SWITCH.replace("COUNT_OF_MUTANTS", &count.to_string()).as_bytes())?;
    // What the package has lost, the copy loses too.
    let mut old = Vec::new();
    for folder in ["src", "tests"] {
        all_below(&copy.join(folder), &mut old);
    }
    for path in old {
        let name = path.strip_prefix(copy).unwrap_or(&path).to_string_lossy().into_owned();
        if !files.contains(&name) && name != "src/mutant.rs" {
            fs::remove_file(&path).map_err(|error| format!("{name}: {error}"))?;
        }
    }
    Ok(())
}

fn all_below(folder: &Path, into: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.is_dir() { all_below(&path, into) } else { into.push(path) }
    }
}

/// Writes the mutants' modules.
pub fn write(copy: &Path, sources: &Sources, alive: &dyn Fn(u32) -> bool) -> Result<(), String> {
    for source in &sources.files {
        let written = Written::new(&source.text, &source.found.edits, alive);
        put(&copy.join(&source.path), written.text.as_bytes())?;
    }
    Ok(())
}

/// The manifest without the lints of the house, which what is mutated need not keep.
fn manifest(text: &str) -> String {
    let end = text.find("[lints.").unwrap_or(text.len());
    format!("{}[lints.rust]\nwarnings = \"allow\"\n\n[workspace]\n", &text[..end])
}

/// What tests that start the program with an empty environment say instead.
const KEEPS_SWITCH: &str =
    ".env_clear().envs(std::env::vars().filter(|(name, _)| name.starts_with(\"WHEREFORE_MUTANT\")))";

/// The module that says which mutant is on: the one that the environment names, or none. While it records, it writes the number
/// of each switch that is passed, once, as four bytes.
const SWITCH: &str = r#"//! Which mutant is on.
#![allow(missing_docs)]

use std::fs::File;
use std::io::Write;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};

const UNREAD: u32 = u32::MAX;
const RECORDING: u32 = u32::MAX - 1;
static ON: AtomicU32 = AtomicU32::new(UNREAD);
static TOUCHED: [AtomicBool; COUNT_OF_MUTANTS] = [const { AtomicBool::new(false) }; COUNT_OF_MUTANTS];
static FILE: OnceLock<File> = OnceLock::new();

#[inline]
pub fn on(number: u32) -> bool {
    let on = ON.load(Ordering::Relaxed);
    if on < RECORDING { on == number } else { slow(number) }
}

#[cold]
#[inline(never)]
fn slow(number: u32) -> bool {
    if ON.load(Ordering::Relaxed) == UNREAD {
        let named = std::env::var("WHEREFORE_MUTANT").ok().and_then(|number| number.parse().ok());
        let records = std::env::var_os("WHEREFORE_MUTANTS_TOUCHED");
        if let Some(path) = &records {
            let file = File::options().append(true).create(true).open(path);
            let _ = FILE.set(file.expect("the record of what is touched can be written"));
        }
        ON.store(if records.is_some() { RECORDING } else { named.unwrap_or(0) }, Ordering::SeqCst);
        return on(number);
    }
    let seen = TOUCHED.get(number as usize).is_none_or(|seen| seen.swap(true, Ordering::Relaxed));
    if let Some(mut file) = FILE.get().filter(|_| !seen) {
        file.write_all(&number.to_le_bytes()).expect("the record of what is touched can be written");
    }
    false
}
"#;
