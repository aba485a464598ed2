//! A review of a trip of a thousand frames, each with a doubt: how long one step takes, from the answer to the next
//! question, as the answers add up.
//!
//! `cargo bench --bench review`

#[path = "archive/made_up.rs"]
#[allow(dead_code, reason = "the archive's bench uses the rest")]
mod made_up;

use std::time::{Duration, Instant};

use spooltalk::edits::write_table;
use spooltalk::facts::{Confidence, Field, Flag, Reading, RollName, Source};
use spooltalk::kit::Kit;
use spooltalk::output::{OutDir, csv, safe_stem};
use spooltalk::pipeline::Settled;
use spooltalk::plan::{Archives, Ears, Plan};
use spooltalk::review::{Answer, Session};
use spooltalk::roll::Trip;
use spooltalk::trip::TripLayout;

/// Frames in the trip, at least.
const FRAMES: usize = 1000;
/// Answers that are timed.
const ANSWERS: usize = 400;
/// The bar for a step.
const BAR: Duration = Duration::from_millis(100);
const KIT: &str = "[[camera]]\nname = \"Quill 66\"\nformat = \"135\"\n[[lens]]\nname = \"80\"\nfocal_mm = 80\n";

/// Made-up rolls until there are enough frames, in each of which the shutter is in doubt.
fn trip() -> Trip {
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
                frame.flag(Flag::Unsure(Field::Shutter), "60 % sure");
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
    let trip = trip();
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
}
