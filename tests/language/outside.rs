//! Spoken marks against published series (`tests/reference`, each row with its source).

use spooltalk::exposure::Shutter;
use spooltalk::kit::Kit;
use spooltalk::language::Language;
use spooltalk::roll::note;

const FULL: &str = "[[camera]]\nname = \"box\"\nformat = \"6x6\"\nshutters = [\"60s\", \"1/8000\"]\n";

fn rows(text: &str) -> Vec<csv::StringRecord> {
    csv::Reader::from_reader(text.as_bytes()).records().map(Result::unwrap).collect()
}

fn column(text: &str, name: &str) -> usize {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    reader.headers().unwrap().iter().position(|h| h == name).unwrap_or_else(|| panic!("a column {name}"))
}

/// Shutter marks of ISO 516 as listed in US Navy NAVEDTRA 14209 ch. 4 and US
/// Army SS0508: each full mark, written as on the dial, is read as itself.
#[test]
fn every_full_shutter_mark_is_read_as_written() {
    let text = include_str!("../reference/shutter-marks.csv");
    let (mark, series) = (column(text, "mark"), column(text, "series"));
    let language = Language::english(Kit::parse(FULL).unwrap());
    let mut read = 0;
    for row in rows(text).iter().filter(|r| &r[series] == "full") {
        let said = row[mark].strip_suffix('s').map_or(row[mark].to_owned(), |s| format!("{s} seconds"));
        let got = note::read(&language, &format!("{said} at f8"), 0.8, 1);
        let want: Shutter = row[mark].parse().unwrap();
        let heard: Shutter =
            got["frames"][0]["shutter"].as_str().unwrap_or("").parse().unwrap_or_else(|_| panic!("{said}: {got}"));
        assert!((heard.seconds().unwrap() / want.seconds().unwrap() - 1.0).abs() < 0.02, "{said}: {got}");
        read += 1;
    }
    assert!(read >= 15, "{read} marks");
}

/// F-numbers of ISO 517 as in a published scale table (Av −1 to 14): each full mark is read.
#[test]
fn every_full_f_number_is_read_as_written() {
    let text = include_str!("../reference/aperture-marks.csv");
    let (mark, series) = (column(text, "mark"), column(text, "series"));
    let language = Language::english(Kit::parse(FULL).unwrap());
    let mut read = 0;
    for row in rows(text).iter().filter(|r| &r[series] == "full") {
        let n: f64 = row[mark].parse().unwrap();
        if !(1.0..=64.0).contains(&n) {
            continue;
        }
        let got = note::read(&language, &format!("1/60 at f/{}", &row[mark]), 0.8, 1);
        assert_eq!(got["frames"][0]["aperture"], row[mark], "{got}");
        read += 1;
    }
    assert!(read >= 12, "{read} marks");
}

/// Film speeds, ISO 5800 and 6 as listed in public tables: "rated at" any marked speed is that index.
#[test]
fn marked_film_speeds_are_read_as_ratings() {
    let text = include_str!("../reference/film-speed-marks.csv");
    let iso = 0;
    let language = Language::english(Kit::parse(FULL).unwrap());
    let mut read = 0;
    for row in rows(text) {
        let Ok(n) = row[iso].parse::<u32>() else { continue };
        if !(6..=6400).contains(&n) {
            continue;
        }
        let got = note::read(&language, &format!("Rated at {n}."), 0.8, 1);
        assert_eq!(got["roll"]["ei"], n, "{got}");
        read += 1;
    }
    assert!(read >= 20, "{read} speeds");
}
