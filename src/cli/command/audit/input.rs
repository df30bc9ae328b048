//! Files of records: which there are, what they hold by their first bytes, and a stream of their bytes, unpacked.

use crate::cli::files;
use flate2::read::MultiGzDecoder;
use std::collections::BTreeSet;
use std::io::{self, BufRead, BufReader, Cursor, Read};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// Most files of records in one run.
const MAX_FILES: usize = 10_000;
/// Bytes read at once.
const CHUNK: usize = 1 << 18;

/// What a file of records holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Form {
    /// Fields parted by a sign, one record a line.
    Csv,
    /// JSON objects, one a line.
    Json,
    /// Columns.
    Parquet,
}

/// A file of records.
#[derive(Debug, Clone)]
pub(super) struct Input {
    /// Where it is; `-` is standard input.
    pub(super) path: PathBuf,
    /// Its size in bytes, if it is known.
    pub(super) size: Option<u64>,
}

/// A stream of the unpacked bytes of a file, with what they are.
pub(super) struct Stream {
    pub(super) bytes: Box<dyn BufRead + Send>,
    pub(super) form: Form,
}

/// The files that arguments name (a file, standard input, or a pattern with `*`, `?` or `[…]`), each once, and the names
/// of those that were named before, by whatever path.
pub(super) fn inputs(arguments: &[PathBuf]) -> Result<(Vec<Input>, Vec<String>), Vec<String>> {
    let (mut found, mut faults): (Vec<Input>, _) = (Vec::new(), Vec::new());
    let mut twice: Vec<String> = Vec::new();
    let mut seen = BTreeSet::new();
    for argument in arguments {
        if argument == Path::new("-") {
            if found.iter().any(|input: &Input| input.path == *argument) {
                faults.push("standard input can be read once only".to_owned());
            }
            found.push(Input { path: argument.clone(), size: None });
            continue;
        }
        match named(argument) {
            Ok(paths) => {
                for path in paths {
                    match files::open(&path).and_then(|file| files::identity(&path).map(|it| (file, it))) {
                        Ok((_, identity)) if !seen.insert(identity) => {
                            let name = files::shown(&path);
                            if !twice.contains(&name) {
                                twice.push(name);
                            }
                        }
                        Ok((file, _)) => found.push(Input { path, size: file.metadata().ok().map(|it| it.len()) }),
                        Err(fault) => faults.push(fault),
                    }
                }
            }
            Err(fault) => faults.push(fault),
        }
    }
    if faults.is_empty() { Ok((found, twice)) } else { Err(faults) }
}

fn named(argument: &Path) -> Result<Vec<PathBuf>, String> {
    let Some(text) = argument.to_str().filter(|text| text.contains(['*', '?', '[']) && !argument.exists()) else {
        return Ok(vec![argument.to_owned()]);
    };
    let paths = glob::glob(text).map_err(|error| format!("{text}: is no pattern of files: {error}"))?;
    let files = paths.flatten().filter(|path| path.is_file());
    let mut found: Vec<PathBuf> = files.take(MAX_FILES.saturating_add(1)).collect();
    if found.len() > MAX_FILES {
        return Err(format!("{text}: more than {MAX_FILES} files; give them to several runs"));
    }
    found.sort();
    if found.is_empty() { Err(format!("{text}: there is no such file")) } else { Ok(found) }
}

/// Counts the bytes that were read from the file itself.
struct Counted<R> {
    inner: R,
    read: Arc<AtomicU64>,
}

impl<R: Read> Read for Counted<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let count = self.inner.read(buffer)?;
        self.read.fetch_add(u64::try_from(count).unwrap_or(0), Ordering::Relaxed);
        Ok(count)
    }
}

/// Opens a stream; packed bytes (gzip, Zstandard) are known by their first ones, whatever the file is called.
pub(super) fn stream(input: &Input, read: &Arc<AtomicU64>) -> Result<Stream, String> {
    let fail = |error: io::Error| files::failed(&input.path, &error);
    let raw: Box<dyn Read + Send> =
        if input.path == Path::new("-") { Box::new(files::input()) } else { Box::new(files::open(&input.path)?) };
    let (start, rest) = started(Counted { inner: raw, read: Arc::clone(read) }).map_err(fail)?;
    let (mut bytes, packed): (Box<dyn Read + Send>, bool) = match start.as_slice() {
        [0x1F, 0x8B, ..] => (Box::new(MultiGzDecoder::new(BufReader::with_capacity(CHUNK, rest))), true),
        [0x28, 0xB5, 0x2F, 0xFD, ..] => {
            let unpacked = zstd::stream::read::Decoder::with_buffer(BufReader::with_capacity(CHUNK, rest));
            (Box::new(unpacked.map_err(fail)?), true)
        }
        _ => (Box::new(rest), false),
    };
    let mut start = start;
    if packed {
        let (unpacked, rest) = started(bytes).map_err(fail)?;
        (start, bytes) = (unpacked, Box::new(rest));
    }
    if start.starts_with(&[0xFF, 0xFE]) || start.starts_with(&[0xFE, 0xFF]) {
        return Err(format!("{}: is UTF-16 text; save it as UTF-8", files::shown(&input.path)));
    }
    // A control character here and there is a fault of single records; where more than a tenth are, this is no text.
    let is_control = |byte: &&u8| byte.is_ascii_control() && !b"\t\r\n".contains(byte);
    if !start.starts_with(b"PAR1") && start.iter().filter(is_control).count() * 10 > start.len() {
        let what = "holds no text; records are CSV, JSON Lines (either also packed with gzip or Zstandard) or Parquet";
        return Err(format!("{}: {what}", files::shown(&input.path)));
    }
    let form = match start.strip_prefix(&[0xEF, 0xBB, 0xBF]).unwrap_or(&start) {
        [b'P', b'A', b'R', b'1', ..] if !packed => Form::Parquet,
        text if text.trim_ascii_start().starts_with(b"{") => Form::Json,
        _ => Form::Csv,
    };
    Ok(Stream { bytes: Box::new(BufReader::with_capacity(CHUNK, bytes)), form })
}

/// The first bytes of a stream, and the stream with them before the rest.
fn started<R: Read + Send + 'static>(mut reader: R) -> io::Result<(Vec<u8>, Box<dyn Read + Send>)> {
    let mut start = Vec::new();
    reader.by_ref().take(64).read_to_end(&mut start)?;
    let rest = Cursor::new(start.clone()).chain(reader);
    Ok((start, Box::new(rest)))
}
