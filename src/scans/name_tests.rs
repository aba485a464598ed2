//! Names as labs and scanners write them, and what they must be read as.

use super::*;
use crate::facts::RollName;

/// Reads names of a roll `7` with 36 frames; `-` is no number.
fn read(files: &[&str]) -> Vec<String> {
    read_as("7", 36, files)
}

fn read_as(roll: &str, capacity: u16, files: &[&str]) -> Vec<String> {
    read_on(roll, capacity, false, files)
}

fn read_on(roll: &str, capacity: u16, is_sheet: bool, files: &[&str]) -> Vec<String> {
    names_say(files, &RollName::new(roll).unwrap(), capacity, is_sheet, &[])
        .iter()
        .map(|s| match (s.kind, s.number) {
            (ScanKind::Index, _) => "index".to_owned(),
            (ScanKind::Test, _) => "test".to_owned(),
            (_, None) => "-".to_owned(),
            (_, Some(n)) => format!("{}{}", n.value, n.side.map_or("", |s| if s == Side::A { "A" } else { "B" })),
        })
        .collect()
}

/// Names made by `name` for frames 1 to `n` must read as 1 to `n`.
fn counts(n: u32, name: impl Fn(u32) -> String) {
    let files: Vec<String> = (1..=n).map(&name).collect();
    let files: Vec<&str> = files.iter().map(String::as_str).collect();
    let want: Vec<String> = (1..=n).map(|i| i.to_string()).collect();
    assert_eq!(read(&files), want, "{}", files[0]);
}

#[test]
fn letters_are_the_sides_of_sheets() {
    let files = ["S06_1A.tif", "S06_1B.tif", "S06_2A.tif", "S06_4B.tif"];
    assert_eq!(read_on("6", 8, true, &files), ["1A", "1B", "2A", "4B"]);
    assert_eq!(read_on("6", 36, false, &files), ["1", "1", "2", "4"]);
}

#[test]
fn the_column_that_counts_is_the_frame() {
    counts(16, |i| format!("000123_{i:02}.jpg"));
    counts(16, |i| format!("4471_07_{i:02}.jpg"));
    counts(16, |i| format!("{i:02}_07_4471.jpg"));
    counts(36, |i| format!("img{i:03}A.jpg"));
    counts(12, |i| format!("roll7 frame {i:02}.jpg"));
    counts(12, |i| format!("R07-{i:02}.tif"));
    counts(36, |i| format!("2025-06-18 coast 7-{i}.tif"));
    counts(36, |i| format!("20250618_{i:04}.tif"));
    counts(36, |i| format!("scan{i:04}.jpg"));
    counts(36, |i| format!("{i}.png"));
    counts(24, |i| format!("0007_000{i:02}_{:06}.jpg", i * 5171 % 240_000));
    counts(24, |i| format!("{i:02}A-{:02}.jpg", i + 1));
    counts(20, |i| format!("120 film 6x6 no{i}.tif"));
    counts(36, |i| format!("{i:02} 2400dpi 16bit.tif"));
    counts(8, |i| format!("sheet {i}.tif"));
}

#[test]
fn half_steps_of_the_film_are_kept() {
    assert_eq!(read(&["11.tif", "12.tif", "12A.tif", "14.tif"]), ["11", "12", "12", "14"], "12A is 12 again");
    assert_eq!(read(&["11.tif", "12a.tif", "13.tif"]), ["11", "12A", "13"]);
    assert_eq!(read_as("3", 72, &["1.tif", "1A.tif", "2.tif", "2A.tif"]), ["1", "1A", "2", "2A"]);
}

#[test]
fn counters_that_start_anywhere_are_read_as_they_stand() {
    assert_eq!(read(&["IMG_1234.jpg", "IMG_1235.jpg", "IMG_1237.jpg"]), ["1234", "1235", "1237"]);
    assert_eq!(read(&["DSC0099.dng", "DSC0100.dng"]), ["99", "100"]);
}

#[test]
fn several_files_of_a_frame_are_one_picture() {
    let files =
        ["01.tif", "01.jpg", "02.tif", "02 (2).tif", "03.tif", "03_ir.tif", "04.tif", "04-copy.tif", "05_v2.tif"];
    assert_eq!(read(&files), ["1", "1", "2", "2", "3", "3", "4", "4", "5"]);
    let roll = RollName::new("7").unwrap();
    let pictures: Vec<usize> = names_say(&files, &roll, 36, false, &[]).iter().map(|s| s.picture).collect();
    assert_eq!(pictures, [0, 0, 1, 1, 2, 2, 3, 3, 4]);
    assert_eq!(read(&["R7_01_1.tif", "R7_01_2.tif", "R7_02_1.tif", "R7_02_2.tif"]), ["1", "1", "2", "2"]);
    assert_eq!(read(&["1.tif", "2a.tif", "2b.tif", "3.tif"]), ["1", "2", "2", "3"], "a joined pair");
    assert_eq!(read(&["tif/001.tif", "jpg/001.jpg", "tif/002.tif", "jpg/002.jpg"]), ["1", "1", "2", "2"]);
    assert_eq!(read(&["0001.tif", "0001.dng", "0002.dng"]), ["1", "1", "2"]);
}

#[test]
fn sheets_and_tests_are_no_frames() {
    assert_eq!(read(&["01.jpg", "02.jpg", "03.jpg", "index.jpg"]), ["1", "2", "3", "index"]);
    assert_eq!(read(&["R7_01.jpg", "R7_02.jpg", "R7_contact.jpg"]), ["1", "2", "index"]);
    assert_eq!(read(&["test scan 1.tif", "7-1.tif", "7-2.tif", "7-3.tif"]), ["test", "1", "2", "3"]);
    assert_eq!(read(&["index.jpg"]), ["index"]);
    assert_eq!(read(&["test roll 01.jpg", "test roll 02.jpg", "test roll 03.jpg"]), ["1", "2", "3"], "decoration");
}

#[test]
fn strips_are_counted_through() {
    let files: Vec<String> = (1..=6).flat_map(|s| (1..=6).map(move |f| format!("strip {s} - {f}.tif"))).collect();
    let files: Vec<&str> = files.iter().map(String::as_str).collect();
    let want: Vec<String> = (1..=36).map(|i| i.to_string()).collect();
    assert_eq!(read(&files), want);
    let files: Vec<String> = ["A", "B", "C"].iter().flat_map(|s| (1..=4).map(move |f| format!("{s}{f}.tif"))).collect();
    let files: Vec<&str> = files.iter().map(String::as_str).collect();
    assert_eq!(read(&files), want[..12]);
}

#[test]
fn a_single_file_is_read_by_its_last_number() {
    assert_eq!(read(&["000123_07_12.jpg"]), ["12"]);
    assert_eq!(read(&["R7-5.jpg"]), ["5"]);
    assert_eq!(read(&["harbour.jpg"]), ["-"]);
}

#[test]
fn names_without_numbers_stand_in_natural_order() {
    let roll = RollName::new("7").unwrap();
    let says = names_say(&["gate.jpg", "boat.jpg", "Cliff.jpg"], &roll, 12, false, &[]);
    assert_eq!(says.iter().map(|s| s.picture).collect::<Vec<_>>(), [2, 0, 1]);
    assert!(says.iter().all(|s| s.number.is_none() && s.kind == ScanKind::Frame));
}

#[test]
fn the_kits_pattern_comes_first() {
    let roll = RollName::new("7").unwrap();
    let patterns = [NamePattern::new("{frame}_{any}").unwrap()];
    let says = names_say(&["12_001.jpg", "11_002.jpg", "9_003.jpg"], &roll, 36, false, &patterns);
    let values: Vec<_> = says.iter().map(|s| (s.number.unwrap().value, s.number.unwrap().known)).collect();
    assert_eq!(values, [(12, KnownFrom::Pattern), (11, KnownFrom::Pattern), (9, KnownFrom::Pattern)]);
    assert_eq!(says.iter().map(|s| s.picture).collect::<Vec<_>>(), [2, 1, 0]);
}

#[test]
fn double_zero_is_not_zero() {
    assert_eq!(read(&["00.tif", "01.tif", "02.tif"]), ["0", "1", "2"]);
}

proptest::proptest! {
    #[test]
    fn no_name_is_lost_and_none_stops_the_reading(names in proptest::collection::vec("[a-cA1-3_. ()-]{1,9}\\.(jpg|tif|dng)", 0..12)) {
        let files: Vec<&str> = names.iter().map(String::as_str).collect();
        let says = names_say(&files, &RollName::new("7").unwrap(), 36, false, &[]);
        proptest::prop_assert_eq!(says.len(), files.len());
        let mut pictures: Vec<usize> = says.iter().map(|s| s.picture).collect();
        pictures.sort_unstable();
        pictures.dedup();
        proptest::prop_assert_eq!(&pictures, &(0..pictures.len()).collect::<Vec<_>>());
    }
}
