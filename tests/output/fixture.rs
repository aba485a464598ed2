//! A trip on disk to make outputs of: two days at an invented harbour.
#![allow(clippy::disallowed_methods)] // tests set the scene

use std::fs;
use std::path::Path;

use image::{DynamicImage, ImageBuffer, Luma, Rgb};
use spooltalk::exposure::{Aperture, BoxSpeed, ExposureIndex, Shutter, Stops};
use spooltalk::facts::{
    Confidence, Fate, Field, Flag, FrameNumber, Input, InputKind, KnownBy, Moment, Position, Reading, RollName,
    Settled, Source, Taken,
};
use spooltalk::kit::Filters;
use spooltalk::output::{OutDir, Unusable, csv, pictures, safe_stem, write_all};
use spooltalk::roll::{Frame, Quote, Roll, Status, Trip};

/// A value of one source.
pub fn voice<T>(value: T, p: f64) -> Option<Settled<T>> {
    Some(Settled::from_one(value, Confidence::new(p), Source::Voice))
}

fn text(t: &str) -> Option<Settled<String>> {
    voice(t.to_owned(), 0.92)
}

/// Words at a second of a clip.
pub fn said(clip: &str, at_s: f64, words: &str) -> Quote {
    Quote::new(words, Moment { clip: clip.into(), at_s, end_s: at_s + 2.0 })
}

/// Shutter, aperture, light, subject, words.
const MORNING: [(&str, f64, &str, &str, &str); 14] = [
    (
        "1/125",
        11.0,
        "hazy sun",
        "boats at the long pier",
        "frame one, one twenty-fifth at eleven, hazy sun, boats at the long pier",
    ),
    ("1/125", 11.0, "", "the same, closer", "same again, closer"),
    (
        "1/60",
        5.6,
        "overcast",
        "nets on the quay wall",
        "a sixtieth at five six, green filter, overcast, nets on the quay wall",
    ),
    (
        "1/30",
        4.0,
        "open shade",
        "door of the net loft",
        "open shade now, a thirtieth at four, the door of the net loft",
    ),
    ("1/250", 8.0, "full sun", "slipway from above", "sun's out, two fifty at eight, orange, slipway from above"),
    ("1/500", 8.0, "full sun", "gulls over the cannery", "five hundred at eight, gulls"),
    ("1/125", 16.0, "full sun", "breakwater, far end", "one twenty-fifth at sixteen, breakwater, far end"),
    ("1/15", 16.0, "heavy overcast", "crane and barge", "fifteenth at sixteen on the legs, crane and barge"),
    ("1/60", 8.0, "cloudy bright", "harbour master's stairs", "sixty at eight, the stairs"),
    (
        "B 45s",
        22.0,
        "dusk",
        "lamp at the pier head",
        "bulb, forty-five seconds at twenty-two, the lamp at the pier head",
    ),
    ("1/125", 5.6, "open shade", "rope maker at work", "one twenty-five at five six, the rope maker"),
    ("1/8", 4.0, "indoors", "boat shed, the ribs of a hull", "eighth at four, inside the boat shed"),
    ("1/250", 11.0, "sun on sand", "", "two fifty at eleven on the sand"),
    ("1/1000", 4.0, "full sun", "spray at the mole", "a thousandth at four, spray at the mole"),
];

fn morning() -> Roll {
    let mut frames: Vec<Frame> = Vec::new();
    for (i, (shutter, aperture, light, subject, words)) in (0_u16..).zip(MORNING) {
        let number = FrameNumber::new(i + 1);
        let filter: &[&str] = match i {
            0 | 1 => &[],
            2..=3 => &["green"],
            4..=6 => &["orange"],
            10 => &["yellow", "polariser"],
            _ => &[],
        };
        let mut frame = Frame {
            scans: vec![format!("R7/quay_{:02}.{}", i + 1, if i % 3 == 0 { "tif" } else { "jpg" })],
            taken: Some(Taken {
                local: jiff::civil::date(2025, 9, 13).at(8, 52 + (i as i8 / 2), 10, 0),
                offset_s: Some(3600),
                known_by: KnownBy::Container,
            }),
            camera: text("six-six"),
            lens: text("75"),
            film: text("Bellbuoy 125"),
            focal_mm: voice(75.0, 0.9),
            box_iso: BoxSpeed::new(125),
            ei: voice(ExposureIndex::new(100).unwrap(), 0.97),
            shutter: voice(shutter.parse::<Shutter>().unwrap(), 0.97),
            aperture: voice(Aperture::new(aperture).unwrap(), 0.98),
            filter: voice(Filters(filter.iter().map(|s| (*s).to_owned()).collect()), 0.9),
            filter_stops: Some(Stops::new(match filter.len() {
                0 => 0.0,
                1 => 2.0,
                _ => 2.33,
            })),
            light: (!light.is_empty()).then(|| text(light)).flatten(),
            support: text(if i == 7 || i == 9 { "tripod" } else { "handheld" }),
            subject: (!subject.is_empty()).then(|| text(subject)).flatten(),
            place: text(if i < 9 { "the long pier" } else { "Saltby boat yard" }),
            position: Position::new(if i < 9 { 58.2031 } else { 58.2107 }, if i < 9 { -6.3844 } else { -6.3725 }),
            process: text("N"),
            said: vec![said("day 1/quay.wav", f64::from(i) * 0.2, words)],
            ..Frame::blank(number, Status::Ok)
        };
        match i {
            0 => {
                frame.comp = voice(Stops::new(-1.0 / 3.0), 0.9);
                frame.shutter.as_mut().unwrap().confidence = Confidence::new(0.71);
                frame.shutter.as_mut().unwrap().others = vec![Reading {
                    said_at: Some(frame.said[0].at.clone()),
                    ..Reading::new(Shutter::fraction(25), Confidence::new(0.29), Source::Voice)
                }];
                frame.shutter.as_mut().unwrap().why = vec!["the light fits 1/125 better".into()];
                frame.flag(Flag::Unsure(Field::Shutter), "1/125 or 1/25: they sound alike");
            }
            1 => frame.flag(Flag::Carried(Field::Shutter), "“same again”: as frame 1"),
            3 => frame.flag(Flag::Shake, "1/30 is 0.8 stops slower than 1/51 by hand with 75 mm on 6x6"),
            5 => frame.status = Status::Wasted,
            7 => {
                frame.flag(Flag::Conflict(Field::Aperture), "said f/16, the film edge has f/11");
                frame.aperture.as_mut().unwrap().sources = vec![Source::Voice, Source::Rebate];
            }
            8 => {
                frame.scans.clear();
                frame.status = Status::Unscanned;
            }
            10 => frame.scan_confidence = 0.4,
            13 => frame.flag(Flag::Odd(Field::Shutter), "1/1000 at f/4 is two stops over for full sun"),
            _ => {}
        }
        if i == 10 {
            frame.flag(Flag::GuessScan, "two scans fit equally well");
        }
        if i > 4 {
            frame.flag(Flag::Carried(Field::Ei), "said with frame 1");
        }
        frames.push(frame);
    }
    let mut unnoted =
        Frame { scans: vec!["R7/quay_15.jpg".into()], ..Frame::blank(FrameNumber::new(14).with_a(), Status::Unnoted) };
    unnoted.flag(Flag::GuessScan, "no note was left for it");
    frames.push(unnoted);
    Roll {
        camera: Some("six-six".into()),
        film: Some("Bellbuoy 125".into()),
        ei: ExposureIndex::new(100),
        process: Some("N".into()),
        capacity: Some(12),
        frames,
        other_scans: vec!["R7/index.jpg".into()],
        remarks: vec!["back left open for a moment at the end of the roll".into()],
        ..Roll::blank(RollName::new("7").unwrap())
    }
}

/// Names and words that somebody wrote to break things.
pub const HOSTILE: [&str; 8] = [
    "<script>document.title='owned'</script>",
    "\"><img src=x onerror=\"document.title='owned'\">",
    "'; DROP TABLE frames; --",
    "=HYPERLINK(\"x\",\"y\")",
    "\u{202e}gpj.exe \u{2067}\u{5e9}\u{5dc}\u{5d5}\u{5dd}",
    "line one\nline two\r\n\tthree\u{0}\u{1}",
    "]]>&amp;&#x41;</x:xmpmeta>",
    "../../../../tmp/elsewhere",
];

fn hostile() -> Roll {
    let mut frames: Vec<Frame> = (1..)
        .zip(HOSTILE)
        .map(|(n, evil)| {
            let mut frame = Frame {
                scans: vec![format!("evil/{}.tif", evil.replace(['/', '\0'], "_"))],
                subject: text(evil),
                place: text(evil),
                film: text(evil),
                camera: text(evil),
                lens: text(evil),
                light: text(evil),
                process: text(evil),
                filter: voice(Filters(vec![evil.into()]), 0.9),
                position: Position::new(-33.9, 151.2),
                remark: Some(evil.into()),
                said: vec![said(&format!("{}.wav", evil.replace('/', "_")), 1.0, evil)],
                ..Frame::blank(FrameNumber::new(n), Status::Ok)
            };
            frame.flag(Flag::Unsure(Field::Subject), evil);
            frame
        })
        .collect();
    frames.push(Frame {
        subject: text(&"very long ".repeat(500)),
        said: vec![said("long.wav", 0.0, &"x".repeat(5000))],
        ..Frame::blank(FrameNumber::new(20), Status::Ok)
    });
    Roll {
        camera: Some(HOSTILE[0].into()),
        film: Some(HOSTILE[1].into()),
        process: Some(HOSTILE[1].into()),
        frames,
        other_scans: HOSTILE.iter().map(|s| (*s).to_owned()).collect(),
        remarks: HOSTILE.iter().map(|s| (*s).to_owned()).collect(),
        ..Roll::blank(RollName::new("<b>../7</b>\"'&").unwrap())
    }
}

/// The trip's record.
pub fn trip() -> Trip {
    Trip { name: "Two days at Saltby".into(), rolls: vec![morning(), hostile()] }
}

/// What could not be used.
pub fn unusable() -> Vec<Unusable> {
    vec![Unusable { path: "notes/day 1/12.m4a".into(), why: "audio breaks off at 0:42 of 1:10".into() }]
}

/// Two clips of the trip, one of them ill.
pub fn inputs() -> Vec<Input> {
    let clip = |path: &str, fate, frames, remark: &str| Input {
        path: path.into(),
        kind: InputKind::Clip,
        fate,
        words: 12,
        frames,
        remarks: vec![remark.into()],
    };
    vec![
        clip("notes/day 1/12.m4a", Fate::BrokenOff, 2, "audio breaks off at 0:42 of 1:10"),
        clip("notes/<b>|13.m4a", Fate::NothingUnderstood, 0, "| a | table | of *its* own"),
    ]
}

/// A sea, a sky and a hull: enough to tell frames apart.
fn picture(seed: u32, width: u32, height: u32) -> DynamicImage {
    let horizon = height * (4 + seed % 3) / 9;
    let at = (width * (2 + seed % 5) / 8, height * (5 + seed % 2) / 8);
    let tone = move |x: u32, y: u32| -> u16 {
        let grain = ((x.wrapping_mul(2_654_435_761) ^ y.wrapping_mul(40_503).wrapping_add(seed)) >> 7) % 2600;
        let wave = ((f64::from(x) * 0.02 + f64::from(y * y) * 0.000_4 + f64::from(seed)).sin() * 2500.0) as i32;
        let base =
            if y < horizon { 52_000 - (horizon - y) as i32 * 24 } else { 24_000 + wave + (y - horizon) as i32 * 20 };
        let hull = x.abs_diff(at.0) < width / 9 && y > at.1 - height / 14 && y < at.1 + height / 20;
        let mast = x.abs_diff(at.0) < 4 && y > height / 6 && y < at.1;
        (if hull || mast { 5_000 } else { base.clamp(0, 60_000) } as u32 + grain).min(65_535) as u16
    };
    if seed % 4 == 3 {
        let warm = ImageBuffer::from_fn(width, height, |x, y| {
            let t = f64::from(tone(x, y)) / 257.0;
            Rgb([t as u8, (t * 0.93) as u8, (t * 0.82) as u8])
        });
        DynamicImage::ImageRgb8(warm)
    } else {
        DynamicImage::ImageLuma16(ImageBuffer::from_fn(width, height, |x, y| Luma([tone(x, y)])))
    }
}

/// Writes the originals of [`trip`] and returns the trip folder.
pub fn originals(dir: &Path) {
    for folder in ["notes/day 1", "scans/R7", "scans/evil", "rebate"] {
        fs::create_dir_all(dir.join(folder)).unwrap();
    }
    let mut wav = hound::WavWriter::create(
        dir.join("notes/day 1/quay.wav"),
        hound::WavSpec {
            channels: 1,
            sample_rate: 16_000,
            bits_per_sample: 16,
            sample_format: hound::SampleFormat::Int,
        },
    )
    .unwrap();
    for i in 0..16_000 * 6 {
        wav.write_sample((f64::from(i) * 0.17).sin().mul_add(3000.0, 0.0) as i16).unwrap();
    }
    wav.finalize().unwrap();
    for (i, scan) in (0_u32..).zip(trip().rolls.iter().flat_map(|r| &r.frames).flat_map(|f| &f.scans)) {
        let picture = picture(i, 480, 480);
        let path = dir.join("scans").join(scan);
        if scan.ends_with(".jpg") {
            DynamicImage::ImageRgb8(picture.to_rgb8()).save(path).unwrap();
        } else {
            picture.save_with_format(path, image::ImageFormat::Tiff).unwrap();
        }
    }
    fs::write(dir.join("scans/R7/quay_05.jpg"), b"not a picture").unwrap();
}

/// A trip folder with its outputs written, kept until dropped.
pub struct Made {
    pub dir: tempfile::TempDir,
}

impl Made {
    pub fn new() -> Self {
        let dir = tempfile::tempdir().unwrap();
        originals(dir.path());
        let out = OutDir::open(&dir.path().join("spooltalk"), dir.path()).unwrap();
        let (pictures, _) = pictures(&trip(), dir.path(), &out).unwrap();
        write_all(&trip(), dir.path(), &out, &pictures, &unusable(), &inputs()).unwrap();
        for roll in &trip().rolls {
            out.write(&format!("rolls/{}.csv", safe_stem(roll.name.as_str())), &csv::write(roll)).unwrap();
        }
        Self { dir }
    }

    /// A file in the output folder.
    pub fn out(&self, name: &str) -> std::path::PathBuf {
        self.dir.path().join("spooltalk").join(name)
    }
}
