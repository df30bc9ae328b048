//! The tests: what there is, how long each takes and which switches it passes, and running some of them with a mutant on.

use crate::build::{Binary, Place};
use crate::lists;
use std::collections::BTreeMap;
use std::fs;
use std::io::Read;
use std::os::unix::process::CommandExt;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::Mutex;
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::{Duration, Instant};

/// A test with what was recorded of it.
#[derive(Debug, Clone)]
pub struct Test {
    /// Place of its binary among the binaries.
    pub binary: usize,
    pub name: String,
    /// Processor time, which other work on the machine does not change.
    pub took: Duration,
    /// Why it is not used, if it is not.
    pub left_out: Option<&'static str>,
    /// The switches it passes, sorted.
    pub touched: Vec<u32>,
}

impl Test {
    /// How long it may take with a mutant on.
    pub fn limit(&self, least: Duration) -> Duration {
        (self.took * 10).max(least)
    }
}

/// How some tests ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum End {
    Passed,
    /// The first that failed, or that ended the process.
    Failed(String),
    /// The one that took too long.
    TooLong(String),
}

/// What calculates nothing for so long waits for ever.
const IDLE: Duration = Duration::from_secs(90);

/// Nothing takes longer by the clock, however little of the machine it gets.
const BY_THE_CLOCK: Duration = Duration::from_secs(900);

/// How often is looked how long a test has calculated.
const LOOK: Duration = Duration::from_millis(200);

/// What one process of a test may have of memory, in kB.
const MEMORY_KB: u32 = 6_000_000;

/// Starts tests of a binary in a process group of its own, without what the environment says to the program.
fn start(place: &Place, binary: &Binary, names: &[&str], switch: (&str, &str)) -> Result<Child, String> {
    let mut command = Command::new("sh");
    command.args(["-c", &format!("ulimit -v {MEMORY_KB}; exec \"$0\" \"$@\"")]).arg(&binary.path).args(names);
    command.args(["--exact", "--test-threads=1"]).current_dir(place.copy());
    for (name, _) in std::env::vars().filter(|(name, _)| name.starts_with("WHEREFORE")) {
        command.env_remove(name);
    }
    command.env(switch.0, switch.1).env("CI", "true").env("INSTA_UPDATE", "no").env("INSTA_FORCE_PASS", "0");
    command.env("INSTA_WORKSPACE_ROOT", place.copy()).env("CARGO_MANIFEST_DIR", place.copy());
    command.env("PROPTEST_RNG_SEED", "7").env("PROPTEST_MAX_SHRINK_ITERS", "0");
    command.env("PROPTEST_DISABLE_FAILURE_PERSISTENCE", "1").env("RUST_BACKTRACE", "0");
    command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::null()).process_group(0);
    command.spawn().map_err(|error| format!("{}: {error}", binary.path.display()))
}

/// Ends a process that this one started, and those that it started.
fn end(child: &mut Child) {
    let _ = Command::new("kill").args(["-KILL", "--", &format!("-{}", child.id())]).stderr(Stdio::null()).status();
    let _ = child.wait();
}

/// Processor time that a process has taken, with all that it started; readable until it is waited for.
fn calculated(child: &Child) -> Duration {
    let group = child.id().to_string();
    let mut ticks = 0u64;
    for entry in fs::read_dir("/proc").into_iter().flatten().flatten() {
        let stat = fs::read_to_string(entry.path().join("stat")).unwrap_or_default();
        let fields: Vec<&str> = stat.rsplit_once(") ").map_or("", |(_, rest)| rest).split(' ').collect();
        if fields.get(2) == Some(&group.as_str()) {
            // utime, stime, and those of children that were waited for, in hundredths of a second.
            ticks += fields.iter().skip(11).take(4).filter_map(|ticks| ticks.parse::<u64>().ok()).sum::<u64>();
        }
    }
    Duration::from_millis(ticks * 10)
}

/// Looks whether a test goes on.
#[derive(Debug)]
struct Watch {
    began: Instant,
    /// Processor time at the beginning.
    before: Duration,
    /// When it last had taken more, and how much.
    last: (Instant, Duration),
}

impl Watch {
    fn new(child: &Child) -> Self {
        let (now, taken) = (Instant::now(), calculated(child));
        Watch { began: now, before: taken, last: (now, taken) }
    }

    /// Whether it has taken more than it may, or waits.
    fn is_over(&mut self, child: &Child, limit: Duration) -> bool {
        let (now, taken) = (Instant::now(), calculated(child));
        if taken != self.last.1 {
            self.last = (now, taken);
        }
        let waits = now - self.last.0 > IDLE || now - self.began > BY_THE_CLOCK;
        waits || taken.saturating_sub(self.before) > limit
    }
}

fn lines(child: &mut Child) -> Receiver<Vec<u8>> {
    let (send, receive) = channel();
    if let Some(mut out) = child.stdout.take() {
        std::thread::spawn(move || {
            let mut buffer = [0; 4096];
            while let Ok(count @ 1..) = out.read(&mut buffer) {
                if send.send(buffer[..count].to_vec()).is_err() {
                    break;
                }
            }
        });
    }
    receive
}

/// Runs tests of one binary with a mutant on, until the first that fails or takes too long.
pub fn run(place: &Place, binary: &Binary, tests: &[&Test], mutant: u32) -> Result<End, String> {
    let names: Vec<&str> = tests.iter().map(|test| test.name.as_str()).collect();
    let limits: BTreeMap<&str, Duration> =
        tests.iter().map(|test| (test.name.as_str(), test.limit(place.least))).collect();
    let longest = limits.values().max().copied().unwrap_or(place.least);
    let mut child = start(place, binary, &names, ("WHEREFORE_MUTANT", &mutant.to_string()))?;
    let receive = lines(&mut child);
    let mut text = String::new();
    let mut watch = Watch::new(&child);
    loop {
        let current = text.lines().last().and_then(|line| line.strip_prefix("test ")).unwrap_or("");
        let current = current.split(" ... ").next().unwrap_or("").trim_end_matches(" - should panic").to_owned();
        match receive.recv_timeout(LOOK) {
            Ok(bytes) => {
                text.push_str(&String::from_utf8_lossy(&bytes));
                if let Some(failed) = text.lines().find(|line| line.starts_with("test ") && line.ends_with(" FAILED")) {
                    end(&mut child);
                    let name = failed.trim_start_matches("test ").split(" ... ").next().unwrap_or("");
                    return Ok(End::Failed(name.trim_end_matches(" - should panic").to_owned()));
                }
                watch = Watch::new(&child);
            }
            Err(RecvTimeoutError::Timeout) => {
                let limit = limits.get(current.as_str()).copied().unwrap_or(longest);
                if watch.is_over(&child, limit) {
                    end(&mut child);
                    return Ok(End::TooLong(current));
                }
            }
            Err(RecvTimeoutError::Disconnected) => {
                let status = child.wait().map_err(|error| error.to_string())?;
                let ran = text.lines().filter(|line| line.starts_with("test ") && line.ends_with(" ok")).count();
                return match status.success() {
                    true if ran == tests.len() => Ok(End::Passed),
                    true => Err(format!("{ran} of {} tests ran: {names:?}", tests.len())),
                    false => Ok(End::Failed(current)),
                };
            }
        }
    }
}

/// The names of the tests of a binary that are run by default.
pub fn names(place: &Place, binary: &Binary) -> Result<Vec<String>, String> {
    let list = |arguments: &[&str]| -> Result<Vec<String>, String> {
        let mut command = Command::new(&binary.path);
        command.args(arguments).args(["--list", "--format", "terse"]).current_dir(place.copy());
        let output = command.output().map_err(|error| error.to_string())?;
        let text = String::from_utf8_lossy(&output.stdout).into_owned();
        Ok(text.lines().filter_map(|line| line.strip_suffix(": test")).map(str::to_owned).collect())
    };
    let ignored = list(&["--ignored"])?;
    Ok(list(&[])?.into_iter().filter(|name| !ignored.contains(name)).collect())
}

/// Runs each test alone, and records how long it takes and what it passes.
fn record_one(place: &Place, binaries: &[Binary], binary: usize, name: &str, most: Duration) -> Result<Test, String> {
    let file = place.work.join(format!("touched-{binary}-{}", name.replace("::", "-")));
    let _ = fs::remove_file(&file);
    let mut child = start(place, &binaries[binary], &[name], ("WHEREFORE_MUTANTS_TOUCHED", &file.to_string_lossy()))?;
    let receive = lines(&mut child);
    let mut watch = Watch::new(&child);
    let mut left_out = None;
    let took = loop {
        match receive.recv_timeout(LOOK) {
            Ok(_) => {}
            Err(RecvTimeoutError::Timeout) if !watch.is_over(&child, most) => {}
            Err(RecvTimeoutError::Timeout) => {
                end(&mut child);
                left_out = Some("slow");
                break most;
            }
            Err(RecvTimeoutError::Disconnected) => {
                // What it leaves to be read once it has ended its output.
                let took = calculated(&child);
                if !child.wait().map_err(|error| error.to_string())?.success() {
                    left_out = Some("fails in the copy");
                }
                break took;
            }
        }
    };
    let bytes = fs::read(&file).unwrap_or_default();
    let _ = fs::remove_file(&file);
    let mut touched: Vec<u32> = bytes.as_chunks::<4>().0.iter().map(|bytes| u32::from_le_bytes(*bytes)).collect();
    touched.sort_unstable();
    touched.dedup();
    Ok(Test { binary, name: name.to_owned(), took, left_out, touched })
}

/// All tests with what is recorded of them; what was recorded before for the same mutants is kept.
pub fn record(
    place: &Place,
    binaries: &[Binary],
    mutants: &str,
    most: Duration,
    all_of_it: Option<Duration>,
    jobs: usize,
) -> Result<Vec<Test>, String> {
    let path = place.work.join("tests.txt");
    let mut known = BTreeMap::new();
    let text = fs::read_to_string(&path).unwrap_or_default();
    if let Some(rest) = text.strip_prefix(&format!("{mutants}\n")) {
        known.extend(rest.lines().filter_map(parsed).map(|test| ((test.binary, test.name.clone()), test)));
    }
    let mut tests = Vec::new();
    let mut open = Vec::new();
    for (number, binary) in binaries.iter().enumerate() {
        for name in names(place, binary)? {
            match known.remove(&(number, name.clone())) {
                Some(test) => tests.push(test),
                None => open.push((number, name)),
            }
        }
    }
    eprintln!("{} tests recorded before, {} to record", tests.len(), open.len());
    // Where the time does not suffice, those that are recorded are of all kinds.
    open.sort_by_key(|(_, name)| lists::digest(0, name));
    let began = Instant::now();
    let queue = Mutex::new(open);
    let done = Mutex::new(tests);
    let failed = Mutex::new(None);
    std::thread::scope(|scope| {
        for _ in 0..jobs {
            scope.spawn(|| {
                while all_of_it.is_none_or(|all| began.elapsed() < all) {
                    let Some((binary, name)) = queue.lock().ok().and_then(|mut queue| queue.pop()) else { break };
                    match record_one(place, binaries, binary, &name, most) {
                        Ok(test) => done.lock().into_iter().for_each(|mut done| done.push(test.clone())),
                        Err(error) => failed.lock().into_iter().for_each(|mut failed| *failed = Some(error.clone())),
                    }
                }
            });
        }
    });
    if let Some(error) = failed.into_inner().ok().flatten() {
        return Err(error);
    }
    let left = queue.into_inner().map_or(0, |queue| queue.len());
    if left > 0 {
        println!("{left} tests are not recorded yet, and not used");
    }
    let mut tests = done.into_inner().map_err(|error| error.to_string())?;
    tests.sort_by(|one, other| (one.took, &one.name).cmp(&(other.took, &other.name)));
    keep(&path, mutants, &tests)?;
    Ok(tests)
}

fn keep(path: &Path, mutants: &str, tests: &[Test]) -> Result<(), String> {
    let mut text = format!("{mutants}\n");
    for test in tests {
        let touched: Vec<String> = test.touched.iter().map(u32::to_string).collect();
        let why = test.left_out.unwrap_or("used");
        let ms = test.took.as_millis();
        text.push_str(&format!("{}\t{}\t{ms}\t{why}\t{}\n", test.binary, test.name, touched.join(" ")));
    }
    fs::write(path, text).map_err(|error| format!("{}: {error}", path.display()))
}

fn parsed(line: &str) -> Option<Test> {
    let mut fields = line.split('\t');
    let (binary, name) = (fields.next()?.parse().ok()?, fields.next()?.to_owned());
    let took = Duration::from_millis(fields.next()?.parse().ok()?);
    let left_out = match fields.next()? {
        "slow" => Some("slow"),
        "fails in the copy" => Some("fails in the copy"),
        _ => None,
    };
    let touched = fields.next()?.split(' ').filter_map(|number| number.parse().ok()).collect();
    Some(Test { binary, name, took, left_out, touched })
}
