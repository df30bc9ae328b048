//! The only place that reads and writes files and standard input. Sizes are limited, and every failure is a sentence
//! that names the file.

use crate::syntax::decode_text;
use std::fs::{self, File};
use std::io::{self, BufRead, IsTerminal, Read, Write};
use std::path::{Path, PathBuf};

/// Largest program or table file, in bytes: as large as the syntax limit, which has its own message.
const MAX_RULES_BYTES: u64 = 1 << 20;
/// Deepest folder of program files.
const MAX_FOLDER_DEPTH: usize = 8;
/// Most files in folders of program files.
const MAX_FILES: usize = 10_000;
/// Most folders that are looked through for them, each as often as links lead to it: a few links in each of a few folders
/// are a tree without end.
const MAX_FOLDERS: usize = 10_000;

/// The ending of program files.
pub(super) const ENDING: &str = "wherefore";

/// A path as messages show it.
pub(super) fn shown(path: &Path) -> String {
    if path == Path::new("-") { "standard input".to_owned() } else { path.display().to_string() }
}

/// Reads a file, or standard input for `-`, of at most so many bytes.
pub(super) fn read(path: &Path, most: u64) -> Result<Vec<u8>, String> {
    let mut bytes = Vec::new();
    let limited = most.saturating_add(1);
    let result = if path == Path::new("-") {
        io::stdin().lock().take(limited).read_to_end(&mut bytes)
    } else {
        File::open(path).and_then(|file| file.take(limited).read_to_end(&mut bytes))
    };
    result.map_err(|error| format!("{}: cannot be read: {}", shown(path), reason(&error)))?;
    if u64::try_from(bytes.len()).unwrap_or(u64::MAX) > most {
        return Err(format!("{}: larger than the {most} bytes allowed", shown(path)));
    }
    Ok(bytes)
}

/// A file, or standard input for `-`, to be read piece by piece.
pub(super) fn stream(path: &Path) -> Result<Box<dyn BufRead>, String> {
    if path == Path::new("-") {
        return Ok(Box::new(io::stdin().lock()));
    }
    let fail = |error: io::Error| format!("{}: cannot be read: {}", shown(path), reason(&error));
    let file = File::open(path).map_err(fail)?;
    if file.metadata().map_err(fail)?.is_dir() {
        return Err(format!("{}: cannot be read: it is a folder", shown(path)));
    }
    Ok(Box::new(io::BufReader::new(file)))
}

/// The next line of a stream with its end, of at most so many bytes; `None` where there is no further one.
pub(super) fn next_line(from: &mut dyn BufRead, path: &Path, most: u64) -> Result<Option<Vec<u8>>, String> {
    let mut line = Vec::new();
    let read = from.take(most.saturating_add(1)).read_until(b'\n', &mut line);
    read.map_err(|error| format!("{}: cannot be read: {}", shown(path), reason(&error)))?;
    if u64::try_from(line.len()).unwrap_or(u64::MAX) > most {
        return Err(format!("{}: larger than the {most} bytes allowed for one line", shown(path)));
    }
    Ok((!line.is_empty()).then_some(line))
}

/// Longest line that is read from standard input; what a person types is far shorter.
const MAX_LINE_BYTES: u64 = 64 << 10;

/// The next line of standard input, without blanks around it; `None` at its end, and where it is no text.
pub(super) fn typed_line() -> Option<String> {
    let mut line = String::new();
    let read = io::stdin().lock().take(MAX_LINE_BYTES).read_line(&mut line).ok()?;
    (read > 0).then(|| line.trim().to_owned())
}

/// Whether a person types at standard input.
pub(super) fn is_terminal() -> bool {
    io::stdin().is_terminal()
}

/// Whether what stands behind a handle is a pipe.
#[cfg(unix)]
pub(super) fn is_pipe(handle: std::os::fd::OwnedFd) -> bool {
    use std::os::unix::fs::FileTypeExt;
    File::from(handle).metadata().is_ok_and(|data| data.file_type().is_fifo())
}

/// Reads a program file or a table as text.
pub(super) fn read_text(path: &Path) -> Result<String, String> {
    if path != Path::new("-") && is_folder(path)? {
        return Err(format!("{}: cannot be read: it is a folder", shown(path)));
    }
    let bytes = read(path, MAX_RULES_BYTES)?;
    if bytes.starts_with(&[0xFF, 0xFE]) || bytes.starts_with(&[0xFE, 0xFF]) {
        return Err(format!("{}: is UTF-16 text; save it as UTF-8", shown(path)));
    }
    decode_text(&bytes).map_err(|error| format!("{}: {error}", shown(path)))
}

/// Replaces a file's text, whole or not at all: a new file beside it takes its place. What else lies there is not
/// touched.
pub(super) fn write(path: &Path, text: &str) -> Result<(), String> {
    let fail = |error: io::Error| format!("{}: cannot be written: {}", shown(path), reason(&error));
    let target = fs::canonicalize(path).map_err(fail)?;
    let (beside, file) = beside(&target).map_err(fail)?;
    let permissions = fs::metadata(&target).map(|data| data.permissions());
    let done = filled(file, text).and(permissions).and_then(|kept| fs::set_permissions(&beside, kept));
    done.and_then(|()| fs::rename(&beside, &target)).map_err(|error| {
        let _ = fs::remove_file(&beside);
        fail(error)
    })
}

/// Most names that are tried for a file beside another.
const MAX_NAMES: u32 = 1000;

/// A new file beside another, under a name that no file has.
fn beside(target: &Path) -> io::Result<(PathBuf, File)> {
    let mut last = io::Error::from(io::ErrorKind::AlreadyExists);
    for number in 0..MAX_NAMES {
        let mut name = target.file_name().unwrap_or_default().to_os_string();
        name.push(format!(".{}-{number}.part", std::process::id()));
        let beside = target.with_file_name(name);
        match File::create_new(&beside) {
            Ok(file) => return Ok((beside, file)),
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => last = error,
            Err(error) => return Err(error),
        }
    }
    Err(last)
}

/// Writes a file to its end, and waits until it is there.
fn filled(mut file: File, text: &str) -> io::Result<()> {
    file.write_all(text.as_bytes())?;
    file.sync_all()
}

/// Opens a file for reading as a stream.
#[cfg(feature = "audit")]
pub(super) fn open(path: &Path) -> Result<File, String> {
    let fail = |error: io::Error| format!("{}: cannot be read: {}", shown(path), reason(&error));
    let file = File::open(path).map_err(fail)?;
    if file.metadata().map_err(fail)?.is_dir() {
        return Err(format!("{}: cannot be read: it is a folder", shown(path)));
    }
    Ok(file)
}

/// Standard input as a stream.
#[cfg(feature = "audit")]
pub(super) fn input() -> io::Stdin {
    io::stdin()
}

/// A failure to read, as a sentence that names the file.
pub(super) fn failed(path: &Path, error: &io::Error) -> String {
    format!("{}: cannot be read: {}", shown(path), reason(error))
}

/// Whether two paths are of one file, be it there or not.
pub(super) fn is_same(one: &Path, other: &Path) -> bool {
    let whole = |path: &Path| {
        let folder = path.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."));
        fs::canonicalize(path)
            .or_else(|_| fs::canonicalize(folder).map(|it| it.join(path.file_name().unwrap_or_default())))
    };
    one == other
        || matches!((identity(one), identity(other)), (Ok(one), Ok(other)) if one == other)
        || matches!((whole(one), whole(other)), (Ok(one), Ok(other)) if one == other)
}

/// What tells a file that is there from every other one, by whatever path it is named.
#[cfg(unix)]
pub(super) fn identity(path: &Path) -> Result<(u64, u64), String> {
    use std::os::unix::fs::MetadataExt;
    fs::metadata(path).map(|data| (data.dev(), data.ino())).map_err(|error| failed(path, &error))
}

/// What tells a file that is there from every other one, by whatever path it is named.
#[cfg(not(unix))]
pub(super) fn identity(path: &Path) -> Result<PathBuf, String> {
    fs::canonicalize(path).map_err(|error| failed(path, &error))
}

/// Whether a file can be written at a path: in a folder that is there, and over a file only where `force` says so; `None` is
/// of a command that never replaces one.
pub(super) fn is_free(path: &Path, force: Option<bool>) -> Result<(), String> {
    let what = match fs::symlink_metadata(path) {
        Err(_) => return Ok(()),
        Ok(_) if path.is_dir() => "it is a folder",
        Ok(_) if !path.exists() => "it is a link to nothing",
        Ok(_) if !path.is_file() => "it is no plain file",
        Ok(_) if force == Some(true) => return Ok(()),
        Ok(_) => {
            let how = match force {
                Some(_) => "give the name of a new file, or --force to replace it",
                None => "give another name, or move that file away first",
            };
            return Err(format!("{}: is there already; {how}", shown(path)));
        }
    };
    Err(format!("{}: cannot be written: {what}", shown(path)))
}

/// Writes a file, whole or not at all; over one that is there as [`is_free`] has it.
pub(super) fn write_new(path: &Path, text: &str, force: Option<bool>) -> Result<(), String> {
    is_free(path, force)?;
    let path = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let fail = |error: io::Error| match error.kind() {
        io::ErrorKind::NotFound => format!("{}: cannot be written: there is no such folder", shown(&path)),
        _ => format!("{}: cannot be written: {}", shown(&path), reason(&error)),
    };
    let (beside, file) = beside(&path).map_err(fail)?;
    let done = filled(file, text).and_then(|()| fs::rename(&beside, &path));
    done.map_err(|error| {
        let _ = fs::remove_file(&beside);
        fail(error)
    })
}

/// The program files that a path names: itself, or those of a folder and its folders, in order of their names.
pub(super) fn program_files(path: &Path) -> Result<Vec<PathBuf>, String> {
    if !is_folder(path)? {
        return Ok(vec![path.to_owned()]);
    }
    let mut found = Vec::new();
    collect(path, 0, &mut 0, &mut found)?;
    found.sort();
    Ok(found)
}

/// Whether a path is a folder; a plain file is none, and anything else (a pipe, a device, a link to nothing) is refused:
/// reading it might never end.
fn is_folder(path: &Path) -> Result<bool, String> {
    match fs::metadata(path) {
        Ok(data) if data.is_dir() => Ok(true),
        Ok(data) if data.is_file() => Ok(false),
        Ok(_) => Err(format!("{}: cannot be read: it is no plain file", shown(path))),
        Err(_) if path.is_symlink() => Err(format!("{}: cannot be read: it is a link to nothing", shown(path))),
        Err(error) => Err(format!("{}: cannot be read: {}", shown(path), reason(&error))),
    }
}

fn collect(folder: &Path, depth: usize, folders: &mut usize, found: &mut Vec<PathBuf>) -> Result<(), String> {
    if depth > MAX_FOLDER_DEPTH {
        return Err(format!("{}: folders nested deeper than {MAX_FOLDER_DEPTH}", shown(folder)));
    }
    *folders += 1;
    if *folders > MAX_FOLDERS {
        return Err(format!("{}: more than {MAX_FOLDERS} folders, links to folders counted each time", shown(folder)));
    }
    let fail = |error: io::Error| format!("{}: cannot be read: {}", shown(folder), reason(&error));
    for entry in fs::read_dir(folder).map_err(fail)? {
        let path = entry.map_err(fail)?.path();
        let is_program = path.extension().is_some_and(|ending| ending == ENDING);
        if path.is_dir() {
            collect(&path, depth + 1, folders, found)?;
        } else if is_program {
            is_folder(&path)?;
            found.push(path);
        }
        if found.len() > MAX_FILES {
            return Err(format!("{}: more than {MAX_FILES} program files", shown(folder)));
        }
    }
    Ok(())
}

/// Names of the table files beside a program file, sorted.
pub(super) fn tables_beside(path: &Path) -> Vec<String> {
    let folder = path.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let entries = fs::read_dir(folder).into_iter().flatten().take(MAX_FILES).flatten();
    let tables = entries.map(|entry| entry.path()).filter(|path| path.extension().is_some_and(|it| it == "csv"));
    let mut names: Vec<String> =
        tables.filter_map(|path| path.file_name().map(|name| name.to_string_lossy().into_owned())).collect();
    names.sort();
    names
}

/// The reason of a failure in plain words, the same on every system.
pub(super) fn reason(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::StorageFull => "no space is left there".to_owned(),
        io::ErrorKind::NotFound => "there is no such file".to_owned(),
        io::ErrorKind::PermissionDenied => "no permission".to_owned(),
        io::ErrorKind::AlreadyExists => "there is such a file already".to_owned(),
        io::ErrorKind::IsADirectory => "it is a folder".to_owned(),
        _ => error.to_string(),
    }
}
