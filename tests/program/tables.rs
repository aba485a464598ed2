//! Rooms that must agree without knowing each other, and with outside tables.

use std::collections::HashMap;
use std::fs;
use std::path::Path;

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
