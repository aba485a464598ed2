//! A lifetime of frames in one archive: how long storing, searching, counting and
//! sorting take, one more trip, and how much room it needs. Made up from a fixed seed, so that runs compare.
//!
//! `cargo bench --bench archive`; `SPOOLTALK_BENCH_FRAMES` sets the number of
//! frames (1,000,000), `SPOOLTALK_BENCH_ARCHIVE` keeps the file there and uses it
//! again.

#[path = "archive/made_up.rs"]
mod made_up;
#[path = "archive/searches.rs"]
mod searches;

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use spooltalk::archive::{Archive, Query};

/// Searches that are timed.
const SEARCHES: usize = 2000;
/// Frames that a search shows.
const SHOWN: usize = 50;
/// The bar: this share of searches within this time.
const BAR: (f64, Duration) = (0.95, Duration::from_millis(50));
/// The bar for one more trip.
const STORE_BAR: Duration = Duration::from_secs(1);

fn main() {
    // `cargo test --benches` asks for a list or a quick pass; there is none.
    if std::env::args().any(|a| a == "--list" || a == "--test") {
        return;
    }
    let frames = std::env::var("SPOOLTALK_BENCH_FRAMES").ok().and_then(|n| n.parse().ok()).unwrap_or(1_000_000);
    let temporary = tempfile::tempdir().expect("a temporary folder");
    let path =
        std::env::var_os("SPOOLTALK_BENCH_ARCHIVE").map_or_else(|| temporary.path().join("archive.db"), PathBuf::from);
    if !path.exists() {
        fill(&path, frames);
    }
    one_more(&path);
    let archive = Archive::open(&path).expect("an archive");
    let size = std::fs::metadata(&path).expect("an archive").len();
    println!("size on disk: {:.0} MB, {:.0} bytes a frame", size as f64 / 1e6, size as f64 / frames as f64);
    search(&archive);
    look_back(&archive);
}

fn fill(path: &Path, frames: usize) {
    let mut archive = Archive::open_or_create(path).expect("an archive");
    let start = Instant::now();
    let mut longest = Duration::ZERO;
    let mut stored = 0;
    for n in 0.. {
        let (trip, key) = made_up::trip(n);
        let before = Instant::now();
        archive.store(&trip, &key).expect("a trip stored");
        longest = longest.max(before.elapsed());
        stored += trip.rolls.iter().map(|r| r.frames.len()).sum::<usize>();
        if stored >= frames {
            println!(
                "stored {stored} frames of {} trips in {:.0?}, the slowest trip in {longest:.0?}",
                n + 1,
                start.elapsed()
            );
            break;
        }
    }
}

/// Takes a trip into the full archive, as new and once more, and takes it out.
fn one_more(path: &Path) {
    let (trip, key) = made_up::trip(1 << 20);
    let frames: usize = trip.rolls.iter().map(|r| r.frames.len()).sum();
    for what in ["one more trip", "the same again"] {
        let start = Instant::now();
        Archive::open_or_create(path).and_then(|mut a| a.store(&trip, &key)).expect("a trip stored");
        let verdict = if start.elapsed() < STORE_BAR { "met" } else { "MISSED" };
        println!("{what} of {frames} frames in {:.0?}: bar of {STORE_BAR:?} {verdict}", start.elapsed());
    }
    Archive::open(path).and_then(|mut a| a.forget(&key.id)).expect("a trip forgotten");
}

/// What is asked of all frames at once; there is no bar.
fn look_back(archive: &Archive) {
    let all = Query::default();
    let timed = |what: &str, work: &dyn Fn()| {
        let start = Instant::now();
        work();
        println!("  {what:<28} {:.0?}", start.elapsed());
    };
    println!("over all frames, on the wall:");
    timed("habits", &|| drop(archive.habits(&all).expect("habits")));
    timed("what worked", &|| drop(archive.worked(&all).expect("groups")));
    timed("overview", &|| drop(archive.overview().expect("an overview")));
    timed("list of trips", &|| drop(archive.trips().expect("trips")));
    timed("check", &|| assert!(archive.faults().expect("an answer").is_empty()));
    let mut counts: Vec<Duration> = Vec::new();
    let mut sorts: Vec<Duration> = Vec::new();
    for (_, text) in searches::all(SEARCHES / 10) {
        let query = Query::parse(&text).unwrap_or_else(|e| panic!("{e}"));
        let start = Clock::now();
        archive.count(&query).expect("a count");
        counts.push(start.elapsed());
        let start = Clock::now();
        archive.find_sorted(&query, "-rating".parse().expect("an order"), SHOWN).expect("frames");
        sorts.push(start.elapsed());
    }
    report("count of all that meet", counts);
    report("sorted by rating", sorts);
}

fn search(archive: &Archive) {
    let mut times: Vec<(Duration, &str, String, usize)> = Vec::new();
    for (kind, text) in searches::all(SEARCHES) {
        let start = Clock::now();
        let query = Query::parse(&text).unwrap_or_else(|e| panic!("{e}"));
        let found = archive.find(&query, SHOWN).expect("an answer").frames.len();
        times.push((start.elapsed(), kind, text, found));
    }
    let empty = times.iter().filter(|t| t.3 == 0).count();
    let clock = if on_processor().is_some() { "on the processor" } else { "on the wall" };
    println!("times {clock}; {SEARCHES} searches, {empty} of them without a match, {SHOWN} frames shown:");
    let mut kinds: Vec<&str> = times.iter().map(|t| t.1).collect();
    kinds.sort_unstable();
    kinds.dedup();
    for kind in kinds {
        report(kind, times.iter().filter(|t| t.1 == kind).map(|t| t.0).collect());
    }
    report("all", times.iter().map(|t| t.0).collect());
    let within = times.iter().filter(|t| t.0 < BAR.1).count() as f64 / SEARCHES as f64;
    let verdict = if within >= BAR.0 { "met" } else { "MISSED" };
    println!("{:.1} % within {:?}: bar of {:.0} % {verdict}", within * 100.0, BAR.1, BAR.0 * 100.0);
    times.sort_by_key(|t| std::cmp::Reverse(t.0));
    println!("slowest:");
    for (time, _, text, found) in times.iter().take(12) {
        println!("  {:>7.1} ms  {found:>3} found  {text}", time.as_secs_f64() * 1e3);
    }
}

/// Time on the processor where the system tells it, so that other work on the
/// machine does not count; else time on the wall.
enum Clock {
    Processor(Duration),
    Wall(Instant),
}

impl Clock {
    fn now() -> Self {
        on_processor().map_or_else(|| Self::Wall(Instant::now()), Self::Processor)
    }

    fn elapsed(&self) -> Duration {
        match self {
            Self::Processor(start) => on_processor().unwrap_or_default().saturating_sub(*start),
            Self::Wall(start) => start.elapsed(),
        }
    }
}

/// What this thread has run for. Source: proc(5), schedstat, nanoseconds first.
fn on_processor() -> Option<Duration> {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    text.split(' ').next()?.parse().ok().map(Duration::from_nanos)
}

fn report(name: &str, mut times: Vec<Duration>) {
    times.sort();
    let at = |q: f64| times[((times.len() - 1) as f64 * q) as usize].as_secs_f64() * 1e3;
    println!(
        "  {name:<28} {:>5}  median {:>6.2} ms  95 % {:>6.2} ms  worst {:>7.2} ms",
        times.len(),
        at(0.5),
        at(0.95),
        at(1.0)
    );
}
