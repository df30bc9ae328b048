//! Files that are written beside their places and take them when all of a run are complete: together or not at all. What
//! is there already is replaced only where that was asked for, and never through a link that leads to nothing.

use super::files::{reason, shown};
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// A file that is written beside its place; dropped before it takes it, it leaves nothing.
#[derive(Debug)]
pub(super) struct Beside {
    path: PathBuf,
    beside: PathBuf,
    file: Option<io::BufWriter<File>>,
}

/// Files that are not complete yet.
static UNDER_WAY: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());

fn under_way() -> MutexGuard<'static, Vec<PathBuf>> {
    UNDER_WAY.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Removes every file that is not complete yet, and lets none take its place any more: the process is about to end.
pub(super) fn discard() -> MutexGuard<'static, Vec<PathBuf>> {
    let mut all = under_way();
    for beside in all.drain(..) {
        let _ = fs::remove_file(beside);
    }
    all
}

fn cannot(path: &Path, why: &str) -> String {
    format!("{}: cannot be written: {why}", shown(path))
}

/// A file's name with something behind it.
fn with_ending(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.file_name().unwrap_or_default().to_os_string();
    name.push(ending);
    path.with_file_name(name)
}

/// Files that a run which came to no end left beside a place.
fn leftovers(path: &Path) -> Vec<PathBuf> {
    let folder = path.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let is_left = |found: &str| {
        let middle = found.strip_prefix(&name).and_then(|rest| rest.strip_prefix('.'));
        let number = middle.and_then(|rest| rest.strip_suffix(".part").or_else(|| rest.strip_suffix(".old")));
        number.is_some_and(|number| !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit()))
    };
    let mine = under_way();
    let mut found: Vec<PathBuf> = fs::read_dir(folder)
        .into_iter()
        .flatten()
        .flatten()
        .filter(|entry| is_left(&entry.file_name().to_string_lossy()))
        .map(|entry| entry.path())
        .filter(|path| !mine.contains(path))
        .collect();
    found.sort();
    found
}

/// What a person has to know of files that an earlier run left beside a place.
pub(super) fn left_beside(path: &Path) -> Vec<String> {
    let told = |left: &PathBuf| match left.extension().is_some_and(|ending| ending == "old") {
        true => format!(
            "{}: is what stood at {} before a run that was stopped while its files took their places; keep the one you need",
            shown(left),
            shown(path)
        ),
        false => format!(
            "{}: is not complete: of a run that was killed, or of one that goes on; delete it if none does",
            shown(left)
        ),
    };
    leftovers(path).iter().map(told).collect()
}

impl Beside {
    /// Begins a file. One that is there already is an error, unless `force` says to replace it.
    pub(super) fn create(path: &Path, force: bool) -> Result<Beside, String> {
        let link = fs::symlink_metadata(path).is_ok_and(|data| data.file_type().is_symlink());
        let path = match fs::canonicalize(path) {
            // A link stays one: the file it points at is replaced.
            Ok(whole) => whole,
            Err(_) if link => return Err(cannot(path, "it is a link that leads to nothing")),
            Err(_) => path.to_owned(),
        };
        if path.is_dir() {
            return Err(cannot(&path, "it is a folder"));
        }
        // Something else than a file, a device for one, would be replaced by one.
        if path.exists() && !path.is_file() {
            return Err(cannot(&path, "it is no plain file"));
        }
        if path.exists() && !force {
            return Err(format!("{}: is there already; give --force to replace it, or another name", shown(&path)));
        }
        let beside = with_ending(&path, &format!(".{}.part", std::process::id()));
        let mut all = under_way();
        // An earlier process of the same number may have left one.
        let _ = fs::remove_file(&beside);
        let file = File::create_new(&beside).map_err(|error| match error.kind() {
            io::ErrorKind::NotFound => cannot(&path, "there is no such folder"),
            _ => cannot(&path, &reason(&error)),
        })?;
        all.push(beside.clone());
        Ok(Beside { path, beside, file: Some(io::BufWriter::with_capacity(1 << 18, file)) })
    }

    /// Writes what is left to the disk.
    fn complete(&mut self) -> Result<(), String> {
        let Some(file) = self.file.take() else { return Ok(()) };
        let done = file.into_inner().map_err(io::IntoInnerError::into_error).and_then(|file| file.sync_all());
        done.map_err(|error| self.failed(&error))
    }

    /// A failure to write, as a sentence that names the file.
    pub(super) fn failed(&self, error: &io::Error) -> String {
        cannot(&self.path, &reason(error))
    }

    /// The name for messages.
    pub(super) fn name(&self) -> String {
        shown(&self.path)
    }
}

/// Puts complete files in their places: all, or none of them.
pub(super) fn place(mut files: Vec<Beside>) -> Result<(), String> {
    for file in &mut files {
        file.complete()?;
    }
    let mut all = under_way();
    // What stood there, for each file that took its place so far.
    let mut placed: Vec<(PathBuf, Option<PathBuf>)> = Vec::new();
    let mut fault = None;
    for file in &files {
        let before = with_ending(&file.path, &format!(".{}.old", std::process::id()));
        let kept = match fs::rename(&file.path, &before) {
            Ok(()) => Some(before),
            Err(error) if error.kind() == io::ErrorKind::NotFound => None,
            Err(error) => {
                fault = Some(file.failed(&error));
                break;
            }
        };
        if let Err(error) = fs::rename(&file.beside, &file.path) {
            fault = Some(file.failed(&error));
            if let Some(before) = kept {
                let _ = fs::rename(before, &file.path);
            }
            break;
        }
        placed.push((file.path.clone(), kept));
    }
    for (path, kept) in placed {
        match (&fault, kept) {
            (None, Some(before)) => drop(fs::remove_file(before)),
            (None, None) => {}
            (Some(_), Some(before)) => drop(fs::rename(before, path)),
            (Some(_), None) => drop(fs::remove_file(path)),
        }
    }
    for file in &files {
        let _ = fs::remove_file(&file.beside);
        all.retain(|other| *other != file.beside);
    }
    fault.map_or(Ok(()), Err)
}

impl Write for Beside {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.file.as_mut().map_or(Ok(bytes.len()), |file| file.write(bytes))
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file.as_mut().map_or(Ok(()), Write::flush)
    }
}

impl Drop for Beside {
    fn drop(&mut self) {
        let mut all = under_way();
        if all.contains(&self.beside) {
            let _ = fs::remove_file(&self.beside);
            all.retain(|other| *other != self.beside);
        }
    }
}
