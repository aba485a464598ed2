//! What would take too much is refused, with its name and the limit; the rest is done.

use crate::builder::{KIT, Trip};

/// A PNG that claims 40,000 × 40,000 grey pixels of 16 bits (ISO/IEC 15948, 11.2.2), and holds none. The sum at the
/// end of its header was worked out with zlib's crc32.
const HUGE_PNG: &[u8] =
    b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR\0\0\x9c\x40\0\0\x9c\x40\x10\0\0\0\0\x24\xf7\x8d\x9a\0\0\0\0IDAT\x35\xaf\x06\x1e";

#[test]
fn a_huge_picture_costs_itself_alone() {
    let trip = Trip::new().kit(KIT).note("1.txt", "Roll seven, frame one, 1/60 at f8. Frame two, 1/30 at f8.");
    let trip = trip.scan("R7/0001.jpg").file("scans/R7/0002.png", HUGE_PNG).file("rebate/7/strip.png", HUGE_PNG);
    let limit = "takes 3052 MB when it is decoded; the limit is 1024 MB";
    trip.kit(&KIT.replace("format = \"6x6\"\n", "format = \"6x6\"\nimprint = \"{shutter}\"\n"))
        .ingest()
        .exits(1)
        .says(&[&format!("scans/R7/0002.png: {limit}"), &format!("rebate/7/strip.png: {limit}")])
        .row("7", "2", &[("scan", "R7/0002.png"), ("shutter", "1/30")]);
}

#[test]
fn a_text_longer_than_any_costs_itself_alone() {
    let long = "frame nine, the slipway\n".repeat((8 << 20) / 24 + 1);
    Trip::new()
        .kit(KIT)
        .note("1.txt", "Roll seven, frame one, 1/60 at f8.")
        .note("long.srt", &long)
        .ingest()
        .exits(1)
        .says(&["notes/long.srt: has more than 8 MB of text, which is the limit"])
        .row("7", "1", &[("shutter", "1/60")]);
}

#[test]
fn a_kit_larger_than_any_is_refused() {
    let kit = format!("{KIT}# {}\n", "x".repeat(1 << 20));
    let run = Trip::new().kit(&kit).note("1.txt", "Roll seven, frame one, 1/60 at f8.").ingest();
    run.exits(2).says(&["kit.toml: has more than 1 MB, which is the limit of a kit"]);
}
