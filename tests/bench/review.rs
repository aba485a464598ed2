//! A review of a trip of a thousand frames, each with a doubt: how long one step takes, from the answer to the next
//! question, as the answers add up; then the same in a browser, and how soon it and the trip's page are painted.
//!
//! `cargo bench --bench review`

#[path = "../output/browser.rs"]
#[allow(dead_code, reason = "the tests of pages use the rest")]
mod browser;
#[path = "archive/made_up.rs"]
#[allow(dead_code, reason = "the archive's bench uses the rest")]
mod made_up;

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use browser::{Browser, Window};

use spooltalk::edits::write_table;
use spooltalk::facts::{Confidence, Reading, RollName, Source};
use spooltalk::kit::Kit;
use spooltalk::output::{OutDir, csv, safe_stem};
use spooltalk::pipeline::{Settled, Unwatched};
use spooltalk::plan::{Archives, Ears, Plan};
use spooltalk::review::{Answer, Session};
use spooltalk::roll::{Trip, review};
use spooltalk::trip::TripLayout;

/// Frames in the trip, at least.
const FRAMES: usize = 1000;
/// Answers that are timed.
const ANSWERS: usize = 400;
/// Answers that are timed in the browser.
const PRESSED: usize = 50;
/// The bar for the first paint of a page.
const PAINT_BAR: Duration = Duration::from_secs(1);
/// The bar for a step.
const BAR: Duration = Duration::from_millis(100);
const KIT: &str = "[[camera]]\nname = \"Quill 66\"\nformat = \"135\"\n[[lens]]\nname = \"80\"\nfocal_mm = 80\n";

/// Made-up rolls until there are enough frames, in each of which the shutter is in doubt.
fn trip(kit: &Kit) -> Trip {
    let mut trip = Trip { name: "long".into(), rolls: Vec::new() };
    for n in 0.. {
        for mut roll in made_up::trip(n).0.rolls {
            roll.name = RollName::new(&(trip.rolls.len() + 1).to_string()).expect("a number is a name");
            for frame in &mut roll.frames {
                frame.camera = None;
                let Some(shutter) = &mut frame.shutter else { continue };
                shutter.confidence = Confidence::new(0.6);
                let other = spooltalk::exposure::Shutter::fraction(25);
                shutter.others = vec![Reading::new(other, Confidence::new(0.3), Source::Voice)];
                // What else would be flagged is, so that no answer brings it up.
                review(frame, kit, 0.8);
            }
            trip.rolls.push(roll);
            if trip.rolls.iter().map(|r| r.frames.len()).sum::<usize>() >= FRAMES {
                return trip;
            }
        }
    }
    trip
}

fn main() {
    // `cargo test --benches` asks for a list or a quick pass; there is none.
    if std::env::args().any(|a| a == "--list" || a == "--test") {
        return;
    }
    let folder = tempfile::tempdir().expect("a temporary folder");
    let root = folder.path().to_owned();
    std::fs::create_dir(root.join("notes")).expect("a folder");
    std::fs::write(root.join("notes/1.txt"), "Roll 1.").expect("a note");
    std::fs::write(root.join("kit.toml"), KIT).expect("a kit");
    let plan = Plan {
        layout: TripLayout::sorted(&root).expect("a folder"),
        out: root.join("out"),
        kit: Kit::parse(KIT).expect("a kit"),
        kit_file: None,
        zone: None,
        unsure_below: 0.8,
        archives: Archives::Usual(None),
        drop_gone: false,
        embed: None,
        ears: Ears { model: Err("none".to_owned()), cache: None, jobs: None, plain: false },
    };
    let trip = trip(&plan.kit);
    {
        let out = OutDir::open(&plan.out, &root).expect("an output folder");
        for roll in &trip.rolls {
            let name = format!("{}.csv", safe_stem(roll.name.as_str()));
            write_table(&out, &name, &csv::write(roll)).expect("a table");
        }
        Settled::of(trip, plan.unsure_below).keep(&out).expect("the evidence");
    }
    let begun = Instant::now();
    let mut session = Session::open(plan).expect("a review");
    println!("opened with {} in doubt in {:.0?}", session.doubts().len(), begun.elapsed());
    let mut steps: Vec<Duration> = Vec::new();
    for n in 0..ANSWERS {
        let begun = Instant::now();
        let doubt = session.doubts()[0].clone();
        let (roll, frame, flags) = (doubt.roll.clone(), doubt.frame, doubt.flags.clone());
        let answer = match n % 2 {
            0 => Answer::Looked { roll, frame, flags, open: false, onward: Vec::new() },
            _ => {
                let column = spooltalk::edits::Column::Shutter;
                Answer::Set { roll, frame, column, text: "1/30".to_owned(), onward: Vec::new() }
            }
        };
        session.answer(&answer).expect("an answer");
        assert!(session.doubts().first().is_none_or(|d| session.ask(d).is_some()));
        steps.push(begun.elapsed());
    }
    let median = |steps: &[Duration]| {
        let mut all = steps.to_vec();
        all.sort();
        (all[all.len() / 2], all[all.len() * 95 / 100])
    };
    for (name, part) in [("first", &steps[..50]), ("last", &steps[ANSWERS - 50..])] {
        let (half, most) = median(part);
        println!("{name} fifty answers: half within {half:.1?}, 95 of 100 within {most:.1?}");
    }
    let verdict = if median(&steps).1 < BAR { "met" } else { "MISSED" };
    println!("a step: bar of {BAR:?} {verdict}");
    session.finish(&Unwatched).expect("pages");
    drop(session);
    in_browser(&root);
}

/// The same trip as its photographer sees it.
fn in_browser(root: &Path) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_spooltalk"));
    command.arg("review").arg(root).arg("--out").arg(root.join("out")).arg("--no-browser");
    command.env("SPOOLTALK_HOME", root.join("home")).stdout(Stdio::piped());
    let mut child = Ended(command.spawn().expect("a review"));
    let mut lines = BufReader::new(child.0.stdout.take().expect("a pipe"));
    let mut first = String::new();
    lines.read_line(&mut first).expect("an address");
    let address = first.split_once("open ").expect("an address").1.trim();
    if let Some(browser) = Browser::start(&Window { width: 1300, height: 1000, dark: false }) {
        browser.go(address);
        browser.until("return !document.getElementById('question').hidden");
        told("the review's first question", painted(&browser), PAINT_BAR);
        // From the key to the next question on the page, as the page's own clock has it.
        let step = "const where = () => document.getElementById('where').textContent; const was = where(); \
            const begun = performance.now(); \
            document.body.dispatchEvent(new KeyboardEvent('keydown', {key: 'r', bubbles: true})); \
            return new Promise(done => { const look = () => where() !== was ? done(performance.now() - begun) : \
            performance.now() - begun > 5000 ? done(document.getElementById('told').textContent) : setTimeout(look, 1); look(); })";
        let mut steps: Vec<f64> =
            (0..PRESSED).map(|_| browser.run(step).as_f64().expect("the next question")).collect();
        steps.sort_by(f64::total_cmp);
        told("a step in the browser, 95 of 100", steps[PRESSED * 95 / 100], BAR);
        for page in ["trip.html", "rolls/1.html"] {
            browser.open(&root.join("out").join(page));
            browser.until("return document.readyState === 'complete'");
            told(page, painted(&browser), PAINT_BAR);
        }
    }
}

/// A program that ends with what started it, come what may.
struct Ended(Child);

impl Drop for Ended {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// When the page's content was first painted, milliseconds after it was asked for.
fn painted(browser: &Browser) -> f64 {
    browser
        .until("return performance.getEntriesByName('first-contentful-paint')[0]?.startTime")
        .as_f64()
        .expect("a time")
}

fn told(what: &str, ms: f64, bar: Duration) {
    let verdict = if ms < bar.as_secs_f64() * 1000.0 { "met" } else { "MISSED" };
    println!("{what}: {ms:.0} ms, bar of {bar:?} {verdict}");
}
