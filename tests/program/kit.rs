//! The kit as its owner meets it: a first one, what was heard and is not in it, what is odd in it.

use std::fs;

use crate::builder::{KIT, Trip, program};

const DAY: &str = "Roll seven, frame one, yellow filter on, a sixtieth at eight, the pier.\n\
    Frame two, a sixtieth at eight, the boats. Yellow filter still on.\n\
    Frame three, with the macro lens, a thirtieth at eleven, the rope.\n";

#[test]
fn without_a_kit_it_is_said_first_and_init_writes_one_from_the_notes() {
    let run = Trip::new().note("1.txt", DAY).ingest().exits(0);
    let told = run.stderr();
    let (no_kit, heard) = (told.find("no kit:").unwrap(), told.find("heard, but not in your kit").unwrap());
    assert!(no_kit < heard, "{told}");
    assert!(told.contains("yellow filter (2 times)") && told.contains("macro lens (once)"), "{told}");
    assert!(told.contains("name = \"yellow\"") && told.contains("spooltalk init"), "{told}");
    let trip = run.path();
    let init = || program(&run.home()).arg("init").arg(&trip).output().unwrap();
    let first = init();
    assert_eq!(first.status.code(), Some(0), "{}", String::from_utf8_lossy(&first.stderr));
    let kit = fs::read_to_string(trip.join("kit.toml")).unwrap();
    assert!(kit.contains("[[filter]]\nname = \"yellow\"") && kit.contains("# [[lens]]\n# name = \"macro"), "{kit}");
    // One that is there is not written over.
    let again = init();
    assert_eq!(again.status.code(), Some(2));
    assert_eq!(fs::read_to_string(trip.join("kit.toml")).unwrap(), kit);
    let ingest = program(&run.home()).arg("ingest").arg(&trip).output().unwrap();
    let told = String::from_utf8_lossy(&ingest.stderr).into_owned();
    assert!(!told.contains("no kit:") && !told.contains("yellow filter ("), "{told}");
    run.row("7", "1", &[("filter", "yellow"), ("filter_stops", "1")]);
}

#[test]
fn what_was_heard_is_added_and_comments_stay() {
    let kit = format!("# The salt-water kit\n{KIT}# the green one is scratched\n");
    let run = Trip::new().kit(&kit).note("1.txt", DAY).ingest().exits(0);
    let add = |more: &[&str]| program(&run.home()).args(["kit", "add"]).arg(run.path()).args(more).output().unwrap();
    let wrong = add(&["purple"]);
    assert_eq!(wrong.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&wrong.stderr).contains("\"yellow\""));
    let added = add(&["yellow"]);
    assert_eq!(added.status.code(), Some(0), "{}", String::from_utf8_lossy(&added.stderr));
    let text = fs::read_to_string(run.path().join("kit.toml")).unwrap();
    let mut lines = text.lines();
    for line in kit.lines() {
        assert!(lines.any(|l| l == line), "{line:?} is gone from\n{text}");
    }
    assert!(text.contains("name = \"yellow\"") && !text.contains("macro"), "{text}");
}

#[test]
fn a_kit_is_looked_through_with_lines() {
    let kit = format!("{KIT}\n[[filter]]\nname = \"verdigris\"\nsaid = [\"the green\"]\nfactor = 2\n");
    let line = kit.lines().position(|l| l == "said = [\"the green\"]").unwrap() + 1;
    let trip = Trip::new().kit(&kit).note("1.txt", DAY);
    let check = |trip: &Trip| program(&trip.home()).args(["kit", "check"]).arg(trip.path()).output().unwrap();
    let out = check(&trip);
    let told = String::from_utf8_lossy(&out.stdout).into_owned();
    assert_eq!(out.status.code(), Some(1), "{told}");
    assert!(told.contains(&format!("line {line}: 'the green' is filter 'verdigris', and filter 'green'")), "{told}");
    let sound = check(&Trip::new().kit(KIT));
    assert_eq!(sound.status.code(), Some(0), "{}", String::from_utf8_lossy(&sound.stdout));
}

/// A kit with all that the trade has beside cameras, lenses, films and filters.
const EXTRAS: &str = r#"
[[camera]]
name = "Quill 66"
format = "6x6"
shutters = ["1s", "1/500"]
flash_sync = "1/60"

[[lens]]
name = "150"
said = ["the one fifty"]
focal_mm = 150
filter = "centre"

[[lens]]
name = "75"
focal_mm = 75

[[film]]
name = "Bellbuoy 125"
iso = 125
ei = 125

[[filter]]
name = "centre"
stops = 1.5

[[filter]]
name = "ND 0.9"

[[flash]]
name = "Beacon"

[[converter]]
name = "2x"
said = ["the doubler"]
times = 2

[[bellows]]
name = "bellows"

[[place]]
name = "Tarn Quay"
lat = 54.1
lon = -9.2
"#;

#[test]
fn gear_beside_the_settings_has_its_effect() {
    let day = "Roll seven on bellbuoy. Frame one, on the seventy-five, a sixtieth at eight with flash, the pier.\n\
        Frame two, 1/250 at eight with flash, the band.\n\
        Frame three, on the one fifty, a thirtieth at eleven, the rope, down at Tarn Key.\n\
        Frame four, through the doubler, 500th at f8, the kiosk.\n\
        Frame five, 1/125 at eight, the kiosk again.\n\
        Took the doubler off. Frame six, one second at f16, bellows drawn out to 300, the shell. Print this one.\n\
        Frame seven, on the seventy-five, eight times ND on, 1/60 at 16, at Tarn Quay, focused at three metres, \
        give that four stars.\n";
    let run = Trip::new().kit(EXTRAS).note("1.txt", day).ingest().exits(0);
    let run = run
        .row("7", "1", &[("extras", "Beacon")])
        // Sync speed: a focal-plane shutter faster than it is open in part only (common practice).
        .row("7", "3", &[("filter", "centre"), ("filter_stops", "1.5"), ("place", "Tarn Quay"), ("lat", "54.1")])
        // Twice the focal length is two stops (encyclopaedia "Teleconverter": 2x costs two stops).
        .row("7", "4", &[("focal_mm", "300"), ("extras", "2x"), ("extra_stops", "2")])
        .row("7", "5", &[("focal_mm", "300"), ("extras", "2x")])
        // Drawn out to twice the focal length: life size, two stops (US Army SS0512, (v/f)²).
        .row("7", "6", &[("focal_mm", "150"), ("extras", "bellows 300 mm+print"), ("extra_stops", "2")])
        .row("7", "7", &[("filter", "ND 0.9"), ("filter_stops", "3"), ("focus_m", "3"), ("rating", "4")]);
    let flags = |frame: &str| run.cell("7", frame, "flags");
    assert!(!flags("1").contains("odd:shutter") && flags("2").contains("odd:shutter"), "{} {}", flags("1"), flags("2"));
    assert!(flags("3").contains("unsure:place") && !flags("7").contains("unsure:place"), "{}", flags("3"));
    assert!(flags("5").contains("carried:extras") && !flags("4").contains("carried:extras"));
    let page = fs::read_to_string(run.path().join("spooltalk/rolls/7.html")).unwrap();
    assert!(page.contains("sharp from"), "depth of field stands beside the focus distance");
}

#[test]
fn a_lens_that_is_in_no_kit_is_not_the_one_before_it() {
    let kit = KIT.replace("said = [\"the quill\"]", "said = [\"the quill\", \"the big square\", \"the square one\"]");
    let day = "Roll three, in the quill, on the seventy-five. Frame one, a sixtieth at eight, the pier.\n\
        Frame two, with the macro lens, a thirtieth at eleven, the rope.\n";
    let run = Trip::new().kit(&kit).note("1.txt", day).ingest().exits(0);
    let run = run.says(&["heard, but not in your kit: macro lens (once)"]);
    assert_eq!((run.cell("3", "1", "lens").as_str(), run.cell("3", "2", "focal_mm").as_str()), ("75", ""));
    assert!(run.cell("3", "2", "lens").contains("macro lens"), "{}", run.cell("3", "2", "lens"));
    assert!(run.cell("3", "2", "flags").contains("odd:lens"), "{}", run.cell("3", "2", "flags"));
}
