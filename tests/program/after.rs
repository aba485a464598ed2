//! The day after: developing notes, and a trip that is watched.

use std::fs;
use std::process::Stdio;
use std::thread::sleep;
use std::time::{Duration, Instant};

use crate::builder::{KIT, Trip};

const DAY: &str = "Roll seven, frame one, a sixtieth at eight, the pier. Print this one.\n\
    Frame two, a sixtieth at eleven, the boats.\n\
    Roll seven developed in halcyon, one to fifty, eleven minutes at twenty degrees, sleeve fourteen.\n";

#[test]
fn developing_is_noted_for_its_roll_and_makes_no_frame() {
    let run = Trip::new().kit(KIT).note("1.txt", DAY).ingest().exits(0);
    assert_eq!(run.rows("7").len(), 2, "{:?}", run.rows("7"));
    let lab = fs::read_to_string(run.out().join("lab.md")).unwrap();
    for part in ["developer halcyon", "dilution 1+50", "time 11 min", "temperature 20 °C", "sleeve 14"] {
        assert!(lab.contains(part), "{part} in {lab}");
    }
    assert!(lab.contains("## Prints wanted\n\n- Roll 7: 1\n"), "{lab}");
    let lines = fs::read_to_string(run.out().join("rolls/7.jsonl")).unwrap();
    let roll: serde_json::Value = serde_json::from_str(lines.lines().next().unwrap()).unwrap();
    assert_eq!(roll["developed"]["dilution"], "1+50", "{roll}");
    // The caution stands wherever developing is spoken of.
    assert!(lab.contains("safety data sheet"), "{lab}");
}

#[test]
fn what_is_typed_of_developing_counts_and_the_difference_is_told() {
    let typed = "[[roll]]\nname = \"7\"\ndeveloper = \"Halcyon\"\ntime = \"12 min\"\ndate = 2025-09-20\n\n\
        [[roll]]\nname = \"99\"\nsleeve = 3\n\n[[roll]]\nname = \"8\"\nbath = 3\n";
    let run = Trip::new().kit(KIT).note("1.txt", DAY).file("roll.toml", typed).ingest().exits(1);
    let run = run.says(&["roll.toml: there is no roll 99", "no key 'bath'"]);
    let lab = fs::read_to_string(run.out().join("lab.md")).unwrap();
    assert!(lab.contains("developer Halcyon, dilution 1+50, time 12 min") && lab.contains("date 2025-09-20"), "{lab}");
    assert!(lab.contains("said was developer halcyon, time 11 min"), "{lab}");
}

#[test]
fn a_watched_trip_takes_in_what_arrives() {
    let trip = Trip::new().kit(KIT).note("1.txt", "Roll seven, frame one, a sixtieth at eight, the pier.\n");
    let mut command = crate::builder::program(&trip.home());
    command.args(["ingest", "--watch"]).arg(trip.path()).stdout(Stdio::null()).stderr(Stdio::null());
    let mut child = command.spawn().unwrap();
    let table = trip.path().join("spooltalk/rolls/7.csv");
    let waits_for = |part: &str| {
        let begun = Instant::now();
        while !fs::read_to_string(&table).is_ok_and(|text| text.contains(part)) {
            assert!(begun.elapsed() < Duration::from_secs(60), "no {part}");
            sleep(Duration::from_millis(100));
        }
    };
    waits_for("the pier");
    fs::write(trip.path().join("notes/2.txt"), "Roll seven, frame two, a sixtieth at eleven, the boats.\n").unwrap();
    waits_for("the boats");
    child.kill().unwrap();
    child.wait().unwrap();
}

#[test]
fn a_roll_goes_on_in_its_back() {
    let kit = format!(
        "{KIT}\n[[back]]\nname = \"gold\"\nsaid = [\"the gold back\"]\ncamera = \"Quill 66\"\n\n\
        [[back]]\nname = \"slate\"\nsaid = [\"the slate back\"]\ncamera = \"Quill 66\"\n"
    );
    let day = "Roll seven is in the gold back. Frame one, a sixtieth at eight, the pier.\n\
        Roll eight is in the slate back. Frame one, a thirtieth at eight, the boats.\n\
        Back to the gold back, frame two, a sixtieth at eleven, the crane.\n";
    let run = Trip::new().kit(&kit).note("1.txt", day).ingest().exits(0);
    assert_eq!((run.rows("7").len(), run.rows("8").len()), (2, 1), "{:?}", run.rows("8"));
}
