//! Rooms that must agree without knowing each other, and with outside tables.

use std::collections::HashMap;
use std::fs;
use std::path::Path;

use spooltalk::exposure::{Light, Support};
use spooltalk::kit::Format;

fn read(path: &str) -> String {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).unwrap_or_else(|why| panic!("{path}: {why}"))
}

#[test]
fn formats_have_the_sizes_and_counts_of_the_table() {
    let text = read("tests/reference/frame-formats.csv");
    let rows: Vec<HashMap<String, String>> =
        csv::Reader::from_reader(text.as_bytes()).deserialize().collect::<Result<_, _>>().expect("a table");
    for &format in Format::ALL {
        let row = rows.iter().find(|r| r["format"] == format.as_str());
        let row = row.unwrap_or_else(|| panic!("{} is not in the table", format.as_str()));
        let (w, h) = format.size_mm();
        let listed = |column: &str| row[column].parse::<f64>().expect("a number");
        assert!((w - listed("width_mm")).abs() < 0.51 && (h - listed("height_mm")).abs() < 0.51, "{format:?}");
        if !format.is_sheet() {
            // The table gives "24; 36" or "15 or 16": ours must be one of them.
            let counts: Vec<u16> = row["frames_per_roll"].split([' ', ';']).filter_map(|c| c.parse().ok()).collect();
            assert!(counts.contains(&format.frames()), "{format:?}: {} of {counts:?}", format.frames());
        }
    }
}

/// The texts that the grammar gives out for a class, such as `light "full sun": …`.
fn given_out(class: &str) -> Vec<String> {
    read("grammar/en/phrases.txt")
        .lines()
        .filter_map(|line| line.strip_prefix(class)?.strip_prefix(" \"")?.split_once('"'))
        .map(|(text, _)| text.to_owned())
        .collect()
}

#[test]
fn every_light_that_can_be_said_has_its_place_in_the_daylight_rule() {
    let lights = given_out("light");
    assert!(lights.len() > 8, "{lights:?}");
    for light in lights {
        assert!(light.parse::<Light>().is_ok(), "{light}");
    }
}

#[test]
fn every_support_that_can_be_said_has_its_place_in_the_hand_holding_rule() {
    let supports = given_out("support");
    assert!(supports.len() >= 3, "{supports:?}");
    for support in supports {
        assert!(support.parse::<Support>().is_ok(), "{support}");
    }
}
