//! What reads foreign bytes, fed with any. Shared by the fuzz targets, which look for bytes that break it, and by the
//! ordinary tests, which try some thousand.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use spooltalk::archive::Query;
use spooltalk::audio;
use spooltalk::edits::find_changes;
use spooltalk::facts::{FrameNumber, RollName};
use spooltalk::kit::Kit;
use spooltalk::kit::imprint::Pattern;
use spooltalk::language::Language;
use spooltalk::output::{csv, embedded};
use spooltalk::rebate;
use spooltalk::roll::story::Builder;
use spooltalk::roll::{Frame, Roll, Status, note};
use spooltalk::scans::{NamePattern, Thumbnail, names_say, tags};
use spooltalk::speech::model::{Store, import};
use spooltalk::speech::{TextKind, Transcript, transcript};
use tempfile::TempDir;

#[path = "../bench/small_reader.rs"]
mod small_reader;

/// One reader of foreign bytes.
pub struct Feed {
    /// What it is called, as a fuzz target too.
    pub name: &'static str,
    /// Panics where the reader does, or where what it read does not hold.
    pub eats: fn(&[u8]),
    /// Sound input to start from.
    pub seeds: fn() -> Vec<Vec<u8>>,
    /// The most bytes that the fuzzer makes up: room for what the reader can be asked, and short, since many short
    /// inputs find more than few long ones. How long ones grow is measured elsewhere (`cargo bench --bench growth`).
    #[allow(dead_code, reason = "the tests damage sound input")]
    pub longest: usize,
}

/// Every one.
pub const FEEDS: [Feed; 16] = [
    Feed {
        name: "parse",
        eats: parse,
        seeds: || texts(&["roll 7, frame two, one twenty-fifth at 5.6, orange filter", "f8\0"]),
        longest: 100,
    },
    Feed {
        name: "told",
        eats: told,
        seeds: || {
            texts(&[
                "Roll 7. Frame two, one twenty-fifth at 5.6, orange filter. Same again, a stop more. ",
                "three of those, half a stop apart, no, frame nine: make that f8; cap was on. print this one",
                "developed in halcyon, one to fifty, eleven minutes at twenty, sleeve fourteen. new roll",
            ])
        },
        longest: 300,
    },
    Feed {
        name: "movie",
        eats: movie,
        seeds: || vec![movie_with(b"\xa9xyz", b"\0\x11\0\0+54.1-002.5/"), movie_with(b"mvhd", &[0; 100])],
        longest: 600,
    },
    Feed {
        name: "place",
        eats: place,
        seeds: || texts(&["+54.1234-002.5000+12.3/", "-5407.4-00230.25/", "+540724.5-0023025.5CRSWGS_84/"]),
        longest: 100,
    },
    Feed {
        name: "subtitles",
        eats: subtitles,
        seeds: || {
            texts(&[
                "s1\n00:01:02,500 --> 00:01:04,000\nframe one\n",
                "sWEBVTT\n\n00:01.000 --> 00:02.000\n<b>f8</b>\n",
                "m# Roll 7\n- f8\n",
                "tf8\n",
            ])
        },
        longest: 300,
    },
    Feed {
        name: "kit",
        eats: kit,
        seeds: || texts(&[KIT, "[[camera]]\nname = \"x\"\nformat = \"135\"\nmarks = [\"1s\", \"1/25\", \"B\"]\n"]),
        longest: 2000,
    },
    Feed {
        name: "imprint",
        eats: imprint,
        seeds: || texts(&["{shutter} F{aperture} {focal_mm}MM ISO{ei} {{}} {date:dmy} {time} {comp} {frame}"]),
        longest: 120,
    },
    Feed {
        name: "rebate",
        eats: typed_edge,
        seeds: || texts(&["1/125 F5.6\n1/l25 F56\n2S F8\n", "frame,shutter,aperture,taken\n1,1/60,8,2025-06-18\n"]),
        longest: 200,
    },
    Feed {
        name: "edits",
        eats: edits,
        seeds: || vec![table(), String::from_utf8_lossy(&table()).replace(',', ";").into_bytes()],
        longest: 600,
    },
    Feed {
        name: "query",
        eats: query,
        seeds: || {
            texts(&["slipway filter:orange aperture<=5.6 -roll:7 \"two words\"", "near:54.1,-2.5,3km taken>=2025-06"])
        },
        longest: 150,
    },
    Feed { name: "exif", eats: exif, seeds: pictures, longest: 4096 },
    Feed { name: "embed", eats: embed, seeds: pictures, longest: 4096 },
    Feed { name: "thumbnail", eats: thumbnail, seeds: pictures, longest: 4096 },
    Feed {
        name: "model",
        eats: model,
        seeds: || {
            vec![
                [b"g", ggml().as_slice()].concat(),
                [b"c", ct2().as_slice()].concat(),
                b"zPK\x05\x06\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0".to_vec(),
            ]
        },
        longest: 400,
    },
    Feed {
        name: "cache",
        eats: cache,
        seeds: || {
            texts(&[
                r#"{"utterances":[{"start_s":0.5,"end_s":1.5,"words":[{"text":"f8","start_s":0.5,"end_s":1.0,"confidence":0.9}],"scored":[]}],"broken_off_s":null}"#,
            ])
        },
        longest: 600,
    },
    Feed {
        name: "names",
        eats: names,
        seeds: || {
            texts(&["roll-07/0001.tif\nroll-07/0002A.tif\nIMG_1234 (2).jpg", "a {frame}\nVID_20250618_091502.3gp"])
        },
        longest: 200,
    },
];

/// The one of a name.
#[allow(dead_code, reason = "the tests take them all")]
pub fn feed(name: &str) -> &'static Feed {
    static ALL: [Feed; 16] = FEEDS;
    ALL.iter().find(|f| f.name == name).unwrap_or_else(|| panic!("no feed '{name}'"))
}

const KIT: &str = include_str!("../phrases/kit-zooms.toml");

static LANGUAGE: LazyLock<Language> = LazyLock::new(|| Language::english(Kit::parse(KIT).expect("a kit")));

/// With a reader that takes no time and marks anything as anything.
static WILD: LazyLock<Language> = LazyLock::new(|| small_reader::language(Kit::parse(KIT).expect("a kit")));

/// A kit whose camera prints.
static PRINTING: LazyLock<Kit> = LazyLock::new(|| {
    let text = "[[camera]]\nname = \"box\"\nformat = \"6x6\"\nimprint = \"{shutter} F{aperture}\"\n";
    Kit::parse(text).expect("a kit")
});

/// In memory where the system has such a place: most feeds write a file a run.
static FOLDER: LazyLock<TempDir> = LazyLock::new(|| {
    let memory = Path::new("/dev/shm");
    let made = if memory.is_dir() { tempfile::tempdir_in(memory) } else { tempfile::tempdir() };
    made.or_else(|_| tempfile::tempdir()).expect("a folder")
});

/// The words of a CTranslate2 model.
static VOCABULARY: LazyLock<PathBuf> = LazyLock::new(|| file("vocabulary.txt", "a\n".repeat(51_865).as_bytes()));

fn texts(all: &[&str]) -> Vec<Vec<u8>> {
    all.iter().map(|t| t.as_bytes().to_vec()).collect()
}

/// A file with these bytes, in place of the one before. Threads have their own.
fn file(name: &str, bytes: &[u8]) -> PathBuf {
    let own = FOLDER.path().join(format!("{:?}", std::thread::current().id()));
    fs::create_dir_all(&own).expect("a folder");
    let path = own.join(name);
    fs::write(&path, bytes).expect("a file");
    path
}

fn parse(bytes: &[u8]) {
    let _ = note::read(&LANGUAGE, &String::from_utf8_lossy(bytes), 0.8, 1);
}

/// One note where the length is odd, a clip of the story where it is even.
fn told(bytes: &[u8]) {
    if bytes.len() % 2 == 1 {
        let _ = note::read(&WILD, &String::from_utf8_lossy(bytes), 0.8, 1);
    } else if let Ok(heard) = transcript(bytes, TextKind::Plain) {
        story(&heard);
    }
}

fn story(heard: &Transcript) {
    let mut builder = Builder::new(&WILD, 0.8);
    builder.add("clip.m4a", heard);
    let _ = builder.finish();
}

/// A box of an MP4 file (ISO/IEC 14496-12, 4.2).
fn mp4_box(kind: &[u8; 4], body: &[u8]) -> Vec<u8> {
    [&(body.len() as u32 + 8).to_be_bytes(), kind.as_slice(), body].concat()
}

fn movie_with(kind: &[u8; 4], body: &[u8]) -> Vec<u8> {
    let inner = mp4_box(kind, body);
    let moov = if kind == b"mvhd" { inner } else { mp4_box(b"udta", &inner) };
    [mp4_box(b"ftyp", b"M4A \0\0\0\0"), mp4_box(b"moov", &moov)].concat()
}

fn probed(path: &Path) {
    let Ok(found) = audio::probe(path, None) else { return };
    assert!(found.length_s.is_none_or(|s| s.is_finite() && s >= 0.0), "{found:?}");
    if let Some(p) = found.position {
        assert!((-90.0..=90.0).contains(&p.lat) && (-180.0..=180.0).contains(&p.lon), "{p:?}");
    }
    let _ = found.taken.map(|t| t.rfc3339());
}

fn movie(bytes: &[u8]) {
    probed(&file("clip.mp4", bytes));
    probed(&file("clip.wav", &[b"RIFF\0\0\0\0WAVEbext", bytes].concat()));
}

fn place(bytes: &[u8]) {
    let head = [&(bytes.len() as u16).to_be_bytes(), [0_u8; 2].as_slice()].concat();
    probed(&file("place.mp4", &movie_with(b"\xa9xyz", &[&head, bytes].concat())));
    probed(&file("loci.mp4", &movie_with(b"loci", bytes)));
}

fn subtitles(bytes: &[u8]) {
    let Some((kind, text)) = bytes.split_first() else { return };
    let kind = match kind {
        b's' => TextKind::Subtitles,
        b'm' => TextKind::Markdown,
        _ => TextKind::Plain,
    };
    let Ok(read) = transcript(text, kind) else { return };
    for word in read.utterances.iter().flat_map(|u| &u.words) {
        assert!(word.start_s.is_finite() && word.end_s.is_finite() && word.start_s >= 0.0, "{word:?}");
        assert!(!word.text.is_empty() && !word.text.chars().any(char::is_control), "{word:?}");
    }
}

fn kit(bytes: &[u8]) {
    if let Err(why) = Kit::read(&String::from_utf8_lossy(bytes)) {
        assert!(!why.to_string().is_empty());
    }
}

fn imprint(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    if let Ok(pattern) = text.parse::<Pattern>() {
        assert_eq!(pattern.to_string().parse::<Pattern>().as_ref(), Ok(&pattern));
    }
}

fn typed_edge(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let roll = RollName::new("7").expect("a name");
    let read = [
        rebate::lines("7.txt", &text, &PRINTING, PRINTING.cameras.first()),
        rebate::table("7.csv", &text, &roll, &PRINTING, PRINTING.cameras.first()),
    ];
    for frame in read.into_iter().flatten().flat_map(|r| r.frames) {
        let sure =
            frame.shutter.map(|s| s.confidence.get()).into_iter().chain(frame.aperture.map(|a| a.confidence.get()));
        assert!(sure.into_iter().all(|p| (0.0..=1.0).contains(&p)));
    }
}

/// A roll of two frames.
fn roll() -> Roll {
    let name = RollName::new("7").expect("a name");
    let mut first = Frame::blank(FrameNumber::new(1), Status::Unscanned);
    first.remark = Some("the slipway".to_owned());
    let frames = vec![first, Frame::blank(FrameNumber::new(2), Status::Ok)];
    Roll { capacity: Some(12), frames, ..Roll::blank(name) }
}

fn table() -> Vec<u8> {
    csv::write(&roll())
}

fn edits(bytes: &[u8]) {
    let _ = find_changes(&table(), bytes);
    let _ = find_changes(bytes, &table());
}

fn query(bytes: &[u8]) {
    let _ = Query::parse(&String::from_utf8_lossy(bytes));
}

fn pictures() -> Vec<Vec<u8>> {
    let picture = image::DynamicImage::ImageRgb8(image::RgbImage::from_fn(9, 6, |x, y| {
        image::Rgb([x as u8 * 20, y as u8 * 40, 90])
    }));
    let encoded = |format| {
        let mut bytes = std::io::Cursor::new(Vec::new());
        picture.write_to(&mut bytes, format).expect("a picture");
        bytes.into_inner()
    };
    let plain = [image::ImageFormat::Tiff, image::ImageFormat::Jpeg, image::ImageFormat::Png].map(encoded);
    let roll = roll();
    let dressed = plain.iter().filter_map(|p| embedded(p, &roll, &roll.frames[0]).ok()).collect::<Vec<_>>();
    plain.into_iter().chain(dressed).collect()
}

fn exif(bytes: &[u8]) {
    let _ = tags(&file("scan.jpg", bytes));
}

fn embed(bytes: &[u8]) {
    let roll = roll();
    let Ok(once) = embedded(bytes, &roll, &roll.frames[0]) else { return };
    let again = embedded(&once, &roll, &roll.frames[0]);
    assert!(again.is_ok(), "what was written cannot be written to: {again:?}");
}

fn thumbnail(bytes: &[u8]) {
    if let Ok(small) = Thumbnail::of(bytes, 16) {
        assert!(small.width.max(small.height) <= 16 && small.width.min(small.height) > 0);
    }
}

/// The beginning of a ggml Whisper file: its mark and eleven numbers.
fn ggml() -> Vec<u8> {
    let numbers: [u32; 12] = [0x6767_6D6C, 51_864, 1500, 384, 6, 4, 448, 384, 6, 4, 80, 1];
    numbers.iter().flat_map(|n| n.to_le_bytes()).collect()
}

/// The beginning of a CTranslate2 model: version, name, revision, how many variables.
fn ct2() -> Vec<u8> {
    let name = b"WhisperSpec\0";
    [&6_u32.to_le_bytes()[..], &(name.len() as u16).to_le_bytes(), name, &3_u32.to_le_bytes(), &1_u32.to_le_bytes()]
        .concat()
}

fn model(bytes: &[u8]) {
    let Some((kind, bytes)) = bytes.split_first() else { return };
    let store = Store::at(FOLDER.path().join("models"));
    let given = match kind {
        b'g' => vec![file("model.ggml", bytes)],
        b'c' => vec![file("model.bin", bytes), VOCABULARY.clone()],
        _ => vec![file("model.whl", bytes)],
    };
    assert!(import(&given, bytes.len() % 2 == 1, &store).is_err(), "a model of {} bytes", bytes.len());
}

fn cache(bytes: &[u8]) {
    let Ok(known) = serde_json::from_slice::<Transcript>(bytes) else { return };
    story(&known);
}

fn names(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let files: Vec<&str> = text.lines().collect();
    let patterns: Vec<NamePattern> = files.iter().take(1).filter_map(|p| NamePattern::new(p).ok()).collect();
    let roll = RollName::new("7").expect("a name");
    let said = names_say(&files, &roll, 36, bytes.len() % 2 == 1, &patterns);
    assert_eq!(said.len(), files.len());
    for name in files {
        let _ = RollName::new(name);
        let plain: String = name.chars().filter(|c| !matches!(c, '/' | '\0')).take(60).collect();
        if !matches!(plain.as_str(), "" | "." | "..") {
            probed(&file(&plain, b"x"));
        }
    }
}
