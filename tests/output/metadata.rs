//! Sidecars and copies as an independent reader sees them: exiftool, from
//! Debian's libimage-exiftool-perl.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::Command;

use serde_json::{Value, json};
use spooltalk::facts::KnownBy;
use spooltalk::output::{OutDir, embed_all, frame_ev100, sidecars};
use spooltalk::roll::{Frame, Roll};

use crate::fixture::{Made, trip};

/// What exiftool reads under a folder, by the file's path below it. `None`,
/// with a loud word, only when it is not installed.
fn read(dir: &Path) -> Option<BTreeMap<String, Value>> {
    let asked = Command::new("exiftool")
        .args(["-j", "-G1", "-n", "-struct", "-r", "-ext", "*", "-charset", "filename=utf8"])
        .arg(dir)
        .output();
    let Ok(output) = asked else {
        eprintln!("SKIPPED: exiftool is not installed, so no sidecar was read; scripts/test installs it");
        return None;
    };
    let all: Vec<Value> = serde_json::from_slice(&output.stdout)
        .unwrap_or_else(|e| panic!("{e}: {}", String::from_utf8_lossy(&output.stderr)));
    let name = |v: &Value| {
        Path::new(v["SourceFile"].as_str().unwrap()).strip_prefix(dir).unwrap().to_string_lossy().into_owned()
    };
    Some(all.into_iter().map(|v| (name(&v), v)).collect())
}

/// What XML and a trimming reader leave of a text.
fn text(t: &str) -> Value {
    json!(t)
}

/// Every field that a frame's metadata must show, by exiftool's names.
fn expected(roll: &Roll, frame: &Frame) -> BTreeMap<&'static str, Value> {
    let mut all = BTreeMap::new();
    let mut put = |name, value: Option<Value>| all.extend(value.map(|v| (name, v)));
    let seconds = frame.shutter.as_ref().and_then(|s| s.value.seconds());
    put("XMP-exif:ExposureTime", seconds.map(|s| json!(s)));
    put("XMP-exif:FNumber", frame.aperture.as_ref().map(|s| json!(s.value.number())));
    put("XMP-exif:ExposureCompensation", frame.comp.as_ref().map(|s| json!(s.value.get())));
    put("XMP-exif:FocalLength", frame.focal_mm.as_ref().map(|s| json!(s.value)));
    let ei = frame.ei.as_ref().map(|s| json!(s.value.get()));
    put("XMP-exif:ISO", ei.clone());
    put("XMP-exif:ExposureIndex", ei.clone());
    put("XMP-exifEX:PhotographicSensitivity", ei.clone());
    put("XMP-exifEX:RecommendedExposureIndex", ei);
    put("XMP-exifEX:ISOSpeed", frame.box_iso.map(|s| json!(s.get())));
    let kind = match (&frame.ei, frame.box_iso) {
        (Some(_), Some(_)) => Some(6),
        (Some(_), None) => Some(2),
        (None, Some(_)) => Some(3),
        _ => None,
    };
    put("XMP-exifEX:SensitivityType", kind.map(|k| json!(k)));
    let of = |s: &Option<spooltalk::facts::Settled<String>>| s.as_ref().map(|s| text(&s.value));
    put("XMP-exifEX:LensModel", of(&frame.lens));
    put("XMP-aux:Lens", of(&frame.lens));
    put("XMP-tiff:Model", of(&frame.camera));
    let taken = frame.taken.as_ref().map(|t| {
        assert_eq!(t.known_by, KnownBy::Container);
        json!(t.local.strftime("%Y:%m:%d %H:%M:%S").to_string() + "+01:00")
    });
    put("XMP-exif:DateTimeOriginal", taken.clone());
    put("XMP-photoshop:DateCreated", taken);
    put("XMP-exif:GPSLatitude", frame.position.map(|p| json!(p.lat)));
    put("XMP-exif:GPSLongitude", frame.position.map(|p| json!(p.lon)));
    put("XMP-exif:GPSMapDatum", frame.position.map(|_| json!("WGS-84")));
    put("XMP-exif:GPSVersionID", frame.position.map(|_| json!("2.3.0.0")));
    let code = frame.light.as_ref().and_then(|l| match l.value.as_str() {
        "full sun" | "sun on sand" => Some(9),
        "cloudy bright" | "overcast" | "heavy overcast" => Some(10),
        "open shade" | "deep shade" => Some(11),
        _ => None,
    });
    put("XMP-exif:LightSource", code.map(|c| json!(c)));
    let words: Vec<&str> = frame.said.iter().map(|q| q.text.as_str()).collect();
    put("XMP-exif:UserComment", (!words.is_empty()).then(|| text(&words.join(" / "))));
    put("XMP-dc:Identifier", Some(text(&format!("{}-{}", roll.name, frame.number))));
    put("XMP-dc:Description", of(&frame.subject));
    put("XMP-iptcCore:Location", of(&frame.place));
    put("XMP-photoshop:Instructions", of(&frame.process));
    put("XMP-spool:Roll", Some(text(roll.name.as_str())));
    put("XMP-spool:Frame", Some(json!(frame.number.to_string())));
    put("XMP-spool:Status", Some(json!(frame.status.as_str())));
    put("XMP-spool:Film", of(&frame.film));
    // Exiftool reads a fraction of an unknown property as a number.
    let mark = |s: spooltalk::exposure::Shutter| match s.speed().filter(|m| m.is_fraction()) {
        Some(m) => json!(m.seconds()),
        None => json!(s.to_string()),
    };
    put("XMP-spool:Shutter", frame.shutter.as_ref().map(|s| mark(s.value)));
    put("XMP-spool:Filter", frame.filter.as_ref().map(|s| text(&s.value.to_string())));
    put("XMP-spool:FilterStops", frame.filter_stops.map(|s| json!(s.get())));
    put("XMP-spool:Ev100", frame_ev100(frame).map(|ev| json!(ev.get())));
    put("XMP-spool:Light", of(&frame.light));
    put("XMP-spool:Support", of(&frame.support));
    put("XMP-spool:TakenKnownBy", frame.taken.as_ref().map(|_| json!("container")));
    put("XMP-spool:Remark", frame.remark.as_ref().map(|r| text(r)));
    put("XMP-spool:Confidence", frame.confidence().map(|c| json!(c)));
    let sources: Vec<&str> = frame.sources().iter().map(|s| s.as_str()).collect();
    put("XMP-spool:Source", (!sources.is_empty()).then(|| json!(sources.join("+"))));
    let flags: Vec<String> = frame.flags.iter().map(ToString::to_string).collect();
    put("XMP-spool:Flags", (!flags.is_empty()).then(|| json!(flags)));
    let reasons: Vec<String> = frame.reasons.iter().map(|(f, why)| format!("{f}: {why}")).collect();
    put("XMP-spool:Reasons", (!reasons.is_empty()).then(|| json!(reasons)));
    all
}

/// The same value, whatever exiftool makes of its type: one item for a list of
/// one, text for a number, a rational to five figures.
fn same(got: &Value, want: &Value, within: f64) -> bool {
    let number = |v: &Value| v.as_f64().or_else(|| v.as_str()?.parse().ok());
    let shown = |v: &Value| match v {
        Value::String(s) => clean(s),
        v => v.to_string(),
    };
    match (got, want) {
        (Value::Array(g), w) if g.len() == 1 && !w.is_array() => same(&g[0], w, within),
        (_, Value::Array(w)) if w.len() == 1 && !got.is_array() => same(got, &w[0], within),
        (Value::Array(g), Value::Array(w)) => g.len() == w.len() && g.iter().zip(w).all(|(g, w)| same(g, w, within)),
        _ => match (number(got), want.as_f64()) {
            (Some(g), Some(w)) => (g - w).abs() <= within * w.abs().max(1.0),
            _ => shown(got) == shown(want),
        },
    }
}

/// Characters that XML does not take, and space at the ends that a reader trims.
fn clean(t: &str) -> String {
    let bad = |c: char| c.is_control() && c != '\n' && c != '\t';
    t.replace(bad, "\u{fffd}").trim().to_owned()
}

fn tolerance(name: &str) -> f64 {
    match name {
        // Written in hundredths, tenths and thirds.
        "XMP-spool:Confidence" => 0.01,
        "XMP-spool:Ev100" => 0.051,
        "XMP-spool:FilterStops" => 0.005,
        _ => 1e-6,
    }
}

#[test]
fn an_independent_reader_agrees_on_every_field_of_every_sidecar() {
    let made = Made::new();
    let Some(read) = read(&made.out("sidecars")) else { return };
    let mut fields = 0;
    for roll in &trip().rolls {
        let names = sidecars(roll);
        let frames = roll.frames.iter().flat_map(|f| f.scans.iter().map(move |_| f));
        for ((name, _), frame) in names.iter().zip(frames) {
            let got = &read[name.strip_prefix("sidecars/").unwrap()];
            assert!(got["ExifTool:Error"].is_null() && got["ExifTool:Warning"].is_null(), "{name}: {got}");
            let want = expected(roll, frame);
            for (field, value) in &want {
                assert!(same(&got[field], value, tolerance(field)), "{name} {field}: {} for {value}", got[field]);
                fields += 1;
            }
            // Nothing else is claimed, but for the keywords, checked by themselves.
            let claimed = got.as_object().unwrap().keys().filter(|k| k.starts_with("XMP-") && !k.starts_with("XMP-x:"));
            for claim in claimed.filter(|k| *k != "XMP-dc:Subject") {
                assert!(want.contains_key(claim.as_str()), "{name} claims {claim}: {}", got[claim]);
            }
            let keywords = got["XMP-dc:Subject"].to_string();
            for flag in frame.flags.iter().filter(|f| !f.to_string().starts_with("carried")) {
                let told = ["to check: ", "slow for hand-holding"].iter().any(|told| keywords.contains(told));
                assert!(told, "{name} is silent on {flag}: {keywords}");
            }
        }
    }
    assert!(fields > 500, "{fields} fields were compared");
}

#[test]
fn copies_hold_the_metadata_and_the_very_same_pixels() {
    let made = Made::new();
    let originals = || -> BTreeMap<String, Vec<u8>> {
        walkdir::WalkDir::new(made.dir.path().join("scans"))
            .into_iter()
            .map(Result::unwrap)
            .filter(|e| e.file_type().is_file())
            .map(|e| (e.path().display().to_string(), fs::read(e.path()).unwrap()))
            .collect()
    };
    let before = originals();
    let place = tempfile::tempdir().unwrap();
    let copies = OutDir::open(place.path(), made.dir.path()).unwrap();
    let mut trip = trip();
    // Names that climb are refused, not followed.
    trip.rolls[1].frames[7].scans.clear();
    let (written, left) = embed_all(&trip, made.dir.path(), &copies).unwrap();
    assert_eq!((written, left.len()), (20, 1), "{left:?}");
    assert_eq!(left[0].0, "scans/R7/quay_05.jpg");
    assert!(originals() == before, "originals were touched");
    for roll in &trip.rolls {
        for scan in roll.frames.iter().flat_map(|f| &f.scans).filter(|s| *s != "R7/quay_05.jpg") {
            let pixels = |dir: &Path| {
                let reader = image::ImageReader::open(dir.join(scan)).unwrap().with_guessed_format().unwrap();
                reader.decode().unwrap()
            };
            assert!(pixels(&made.dir.path().join("scans")) == pixels(copies.root()), "{scan} has other pixels");
        }
    }
    let Some(read) = read(copies.root()) else { return };
    for roll in &trip.rolls {
        for frame in &roll.frames {
            for scan in frame.scans.iter().filter(|s| *s != "R7/quay_05.jpg") {
                let got = &read[scan];
                assert!(got["ExifTool:Error"].is_null(), "{scan}: {got}");
                for (field, value) in expected(roll, frame) {
                    assert!(same(&got[field], &value, tolerance(field)), "{scan} {field}: {} for {value}", got[field]);
                }
                exif_agrees(scan, got, frame);
            }
        }
    }
    // A second time, nothing doubles and pixels still hold.
    let again = tempfile::tempdir().unwrap();
    let scans = again.path().join("scans");
    for (name, _) in read.iter().filter(|(n, _)| n.starts_with("R7/")) {
        fs::create_dir_all(scans.join(name).parent().unwrap()).unwrap();
        #[allow(clippy::disallowed_methods)]
        fs::copy(copies.root().join(name), scans.join(name)).unwrap();
    }
    let twice = OutDir::open(&again.path().join("copies"), again.path()).unwrap();
    trip.rolls.truncate(1);
    embed_all(&trip, again.path(), &twice).unwrap();
    let one = Command::new("exiftool")
        .args(["-a", "-G1", "-s", "-XMP-exif:FNumber", "-ExifIFD:FNumber", "-XMP-dc:Subject"])
        .arg(twice.root().join("R7/quay_01.tif"))
        .output()
        .unwrap();
    let shown = String::from_utf8(one.stdout).unwrap();
    assert_eq!(shown.matches("FNumber").count(), 2, "{shown}");
    assert_eq!(shown.matches("Bellbuoy 125").count(), 1, "{shown}");
}

/// The binary Exif beside the XMP says the same.
fn exif_agrees(scan: &str, got: &Value, frame: &Frame) {
    let check = |field: &str, want: Option<Value>, within: f64| {
        if let Some(want) = want {
            assert!(same(&got[field], &want, within), "{scan} {field}: {} for {want}", got[field]);
        }
    };
    check("ExifIFD:ExposureTime", frame.shutter.as_ref().and_then(|s| s.value.seconds()).map(|s| json!(s)), 1e-6);
    check("ExifIFD:FNumber", frame.aperture.as_ref().map(|s| json!(s.value.number())), 1e-6);
    check("ExifIFD:ISO", frame.ei.as_ref().map(|s| json!(s.value.get())), 0.0);
    check("ExifIFD:FocalLength", frame.focal_mm.as_ref().map(|s| json!(s.value)), 1e-6);
    check("ExifIFD:ExposureCompensation", frame.comp.as_ref().map(|s| json!(s.value.get())), 1e-6);
    check("GPS:GPSLatitude", frame.position.map(|p| json!(p.lat.abs())), 1e-6);
    check("GPS:GPSLongitudeRef", frame.position.map(|p| json!(if p.lon < 0.0 { "W" } else { "E" })), 0.0);
    let taken = frame.taken.as_ref();
    check("ExifIFD:DateTimeOriginal", taken.map(|t| json!(t.local.strftime("%Y:%m:%d %H:%M:%S").to_string())), 0.0);
    check("ExifIFD:OffsetTimeOriginal", taken.map(|_| json!("+01:00")), 0.0);
    let words: Vec<&str> = frame.said.iter().map(|q| q.text.as_str()).collect();
    if words.len() == 1 && !words[0].contains('\0') {
        check("ExifIFD:UserComment", Some(json!(words[0])), 0.0);
    }
}
