//! Pictures drawn from seeds, at three levels, read back and counted.
//! Seeds below 10 000 test; those from 10 000 on were for fitting the weights.

use std::fmt;

use super::draw::{Level, scene};
use super::glyphs::Face;
use super::picture::{ImprintLine, ImprintPicture, read_picture};
use crate::exposure::{Aperture, ApertureStep, Shutter};
use crate::facts::Settled;
use crate::kit::Kit;
use crate::rebate::draw::Dice;
use crate::rebate::line::LineReader;

const KIT: &str = r#"
[[camera]]
name = "box six"
format = "6x4.5"
shutters = ["30s", "1/1000"]

[[lens]]
name = "80"
focal_mm = 80
widest = 2.8
smallest = 22

[[lens]]
name = "120"
focal_mm = 120
widest = 4
smallest = 32

[[lens]]
name = "200"
focal_mm = 200
widest = 4
smallest = 32

[[film]]
name = "Sallow 100"
iso = 100
ei = 80

[[film]]
name = "Sallow 400"
iso = 400
"#;

/// Confidence from which a value counts as given for sure.
const SURE: f64 = 0.8;

/// What was written beside a frame.
struct Truth {
    shutter: Shutter,
    aperture: Aperture,
    focal: f64,
    ei: u32,
    text: String,
}

/// What a camera may write, under its pattern.
fn truth(face: Face, kit: &Kit, dice: &mut Dice) -> Truth {
    let camera = &kit.cameras[0];
    let mut shutters: Vec<Shutter> = camera.dial.marks().iter().copied().map(Shutter::Timed).collect();
    shutters.push(Shutter::Bulb(None));
    let shutter = *dice.of(&shutters);
    let lens = dice.of(&kit.lenses);
    let marks: Vec<Aperture> = ApertureStep::Full.marks().into_iter().filter(|a| lens.allows(*a)).collect();
    let aperture = *dice.of(&marks);
    let ei = *dice.of(&[80, 100, 200, 400]);
    let focal = match lens.focal {
        crate::kit::Focal::Prime(f) | crate::kit::Focal::Zoom(f, _) => f,
    };
    let segments = face.is_segments();
    let written = match shutter {
        Shutter::Timed(s) if s.is_fraction() && segments => s.number().to_string(),
        Shutter::Timed(s) if segments => format!("{}\"", s.number()),
        Shutter::Timed(s) if s.is_fraction() => s.to_string(),
        Shutter::Timed(s) => format!("{}S", s.number()),
        _ => "BULB".into(),
    };
    let text = match face {
        Face::Dots | Face::SquareDots => format!("{written} F{aperture} {focal}MM ISO{ei}"),
        _ => format!("{written} F{aperture} {focal} {ei}"),
    };
    Truth { shutter, aperture, focal, ei, text }
}

fn pattern(face: Face) -> &'static str {
    if face.is_segments() {
        "{shutter} F{aperture} {focal_mm} {ei}"
    } else {
        "{shutter} F{aperture} {focal_mm}MM ISO{ei}"
    }
}

/// Fields counted.
#[derive(Default, Clone, Copy)]
struct Count {
    all: usize,
    right: usize,
    missing: usize,
    /// Wrong and given for sure.
    silent: usize,
    /// Wrong and doubted.
    doubted: usize,
    /// Right and doubted.
    needless: usize,
    /// Lines that were not found, or too many.
    lines: usize,
    pictures: usize,
}

impl Count {
    fn field<T: PartialEq>(&mut self, want: T, got: Option<&Settled<T>>) {
        self.all += 1;
        match got {
            None => self.missing += 1,
            Some(s) => match (s.value == want, s.confidence.get() >= SURE) {
                (true, sure) => {
                    self.right += 1;
                    self.needless += usize::from(!sure);
                }
                (false, true) => self.silent += 1,
                (false, false) => self.doubted += 1,
            },
        }
    }

    fn right_share(&self) -> f64 {
        self.right as f64 / self.all as f64
    }

    fn silent_share(&self) -> f64 {
        self.silent as f64 / self.all as f64
    }
}

impl fmt::Display for Count {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{} pictures, {} fields: right {:.4}, missing {}, silent {:.4} ({}), doubted {}, needless {}, lines off {}",
            self.pictures,
            self.all,
            self.right_share(),
            self.missing,
            self.silent_share(),
            self.silent,
            self.doubted,
            self.needless,
            self.lines
        )
    }
}

/// Draws and reads the pictures of these seeds, with up to `most` frames each.
fn measured(level: Level, seeds: std::ops::Range<u64>, most: usize, talk: bool) -> Count {
    let kit = Kit::parse(KIT).unwrap();
    let mut count = Count::default();
    for seed in seeds {
        let mut dice = Dice::new(seed * 3 + level as u64);
        let face = *dice.of(&Face::ALL);
        let frames = 1 + dice.below(most);
        let truths: Vec<Truth> = (0..frames).map(|_| truth(face, &kit, &mut dice)).collect();
        let texts: Vec<String> = truths.iter().map(|t| t.text.clone()).collect();
        let scene = scene(&texts, face, level, &mut dice);
        let reader = LineReader::new(&pattern(face).parse().unwrap(), &kit, kit.cameras.first(), true);
        let started = std::time::Instant::now();
        let read = read_picture(&scene.picture, &[reader], "strip.png");
        let before = count;
        count.pictures += 1;
        compare(&truths, &read, &mut count);
        if talk && (count.right - before.right) < 4 * frames {
            println!(
                "{} seed {seed} {face:?} negative {} mirrored {} quarters {} {}x{} in {:?}: read negative {} mirrored {} quarters {}",
                level.name(),
                scene.negative,
                scene.mirrored,
                scene.quarters,
                scene.picture.width(),
                scene.picture.height(),
                started.elapsed(),
                read.negative,
                read.mirrored,
                read.quarters
            );
            for t in &truths {
                println!("   want {}", t.text);
            }
            for l in &read.lines {
                let c = |s: Option<f64>| s.map_or("-".into(), |c| format!("{c:.2}"));
                let f = &l.frame;
                println!(
                    "   read {} = {:?} {:?} {:?} {:?} [{} {} {} {}]",
                    f.raw,
                    f.shutter.as_ref().map(|s| s.value.to_string()),
                    f.aperture.as_ref().map(|s| s.value.number()),
                    f.focal_mm.as_ref().map(|s| s.value),
                    f.ei.as_ref().map(|s| s.value.get()),
                    c(f.shutter.as_ref().map(|s| s.confidence.get())),
                    c(f.aperture.as_ref().map(|s| s.confidence.get())),
                    c(f.focal_mm.as_ref().map(|s| s.confidence.get())),
                    c(f.ei.as_ref().map(|s| s.confidence.get()))
                );
            }
        }
    }
    count
}

/// Lines are compared in order. When some are missing or too many, those are
/// set against each other that agree best.
fn compare(truths: &[Truth], read: &ImprintPicture, count: &mut Count) {
    count.lines += truths.len().abs_diff(read.lines.len());
    let hits = |t: &Truth, l: &ImprintLine| {
        let f = &l.frame;
        usize::from(f.shutter.as_ref().is_some_and(|s| s.value == t.shutter))
            + usize::from(f.aperture.as_ref().is_some_and(|s| s.value == t.aperture))
            + usize::from(f.focal_mm.as_ref().is_some_and(|s| s.value == t.focal))
            + usize::from(f.ei.as_ref().is_some_and(|s| s.value.get() == t.ei))
    };
    // Longest common sequence, a pair weighing 1 and its hits 10 each.
    let (n, m) = (truths.len(), read.lines.len());
    let mut best = vec![vec![0; m + 1]; n + 1];
    for i in (0..n).rev() {
        for j in (0..m).rev() {
            let pair = 1 + 10 * hits(&truths[i], &read.lines[j]) + best[i + 1][j + 1];
            best[i][j] = pair.max(best[i + 1][j]).max(best[i][j + 1]);
        }
    }
    let mut j = 0;
    for (i, t) in truths.iter().enumerate() {
        while j < m && best[i][j] == best[i][j + 1] {
            j += 1;
        }
        let paired = j < m && best[i][j] != best[i + 1][j];
        let f = paired.then(|| &read.lines[j].frame);
        j += usize::from(paired);
        count.field(t.shutter, f.and_then(|f| f.shutter.as_ref()));
        count.field(t.aperture, f.and_then(|f| f.aperture.as_ref()));
        count.field(t.focal, f.and_then(|f| f.focal_mm.as_ref()));
        let ei = f.and_then(|f| f.ei.clone()).map(|s| s.map(|e| e.get()));
        count.field(t.ei, ei.as_ref());
    }
}

#[test]
fn single_frames_read_at_every_level() {
    let mut all = Count::default();
    for level in Level::ALL {
        let count = measured(level, 0..2, 1, false);
        all.right += count.right;
        all.all += count.all;
        all.silent += count.silent;
        if level == Level::Clean {
            assert_eq!((count.right, count.silent), (count.all, 0), "{count}");
        }
    }
    assert_eq!(all.silent, 0, "{all}");
    assert!(all.right_share() >= 0.8, "{all}");
}

#[test]
fn a_strip_tells_how_it_lies() {
    let kit = Kit::parse(KIT).unwrap();
    let texts = ["1/125 F8 80MM ISO100".to_owned(), "1/60 F11 80MM ISO100".to_owned()];
    for seed in [2, 5] {
        let scene = scene(&texts, Face::Dots, Level::Clean, &mut Dice::new(seed));
        let reader = LineReader::new(&pattern(Face::Dots).parse().unwrap(), &kit, kit.cameras.first(), true);
        let read = read_picture(&scene.picture, &[reader], "strip.png");
        let apertures: Vec<String> =
            read.lines.iter().filter_map(|l| l.frame.aperture.as_ref()).map(|a| a.value.to_string()).collect();
        assert_eq!(apertures, ["8", "11"], "in the film's order, seed {seed}");
        assert_eq!((read.negative, read.mirrored), (scene.negative, scene.mirrored), "seed {seed}");
        assert!(read.lines.iter().all(|l| l.letters.iter().all(|(_, p)| (0.0..=1.0).contains(p))));
        assert!(read.lines.iter().all(|l| l.frame.image.as_deref() == Some("strip.png")));
    }
}

#[test]
fn pictures_without_a_print_give_nothing() {
    let kit = Kit::parse(KIT).unwrap();
    let readers = [LineReader::new(&pattern(Face::Dots).parse().unwrap(), &kit, kit.cameras.first(), true)];
    for picture in [image::GrayImage::new(1, 1), image::GrayImage::new(300, 200)] {
        assert_eq!(read_picture(&picture, &readers, "a.png"), ImprintPicture::default());
    }
    let mut dice = Dice::new(7);
    let noise = image::GrayImage::from_fn(400, 200, |_, _| image::Luma([dice.between(0.0, 255.0) as u8]));
    assert_eq!(read_picture(&noise, &readers, "a.png").lines, []);
}

/// The bars that this room is held to. Seeds from FROM on, COUNT a level.
#[test]
#[ignore = "minutes long; run by hand: cargo test --lib imprint::tests::figures -- --ignored --nocapture"]
fn figures() {
    let setting = |name: &str, usual: u64| std::env::var(name).ok().and_then(|t| t.parse().ok()).unwrap_or(usual);
    let (from, count) = (setting("FROM", 0), setting("COUNT", 60));
    let levels = [(Level::Hard, 0.90), (Level::Middle, 0.98), (Level::Clean, 0.98)].map(|(level, bar)| {
        let count = measured(level, from..from + count, 4, true);
        println!("{:7} {count}", level.name());
        (count, bar)
    });
    for (count, bar) in levels {
        assert!(count.right_share() >= bar, "{count}");
        assert!(count.silent_share() <= 0.01, "{count}");
    }
}

#[test]
#[ignore = "writes pictures into the folder named by OUT; scripts/make-imprints runs it"]
fn write_pictures() {
    let Some(folder) = std::env::var_os("OUT").map(std::path::PathBuf::from) else { panic!("OUT names no folder") };
    let kit = Kit::parse(KIT).unwrap();
    let count: u64 = std::env::var("COUNT").ok().and_then(|t| t.parse().ok()).unwrap_or(5);
    for level in Level::ALL {
        for seed in 0..count {
            let mut dice = Dice::new(seed * 3 + level as u64);
            let face = *dice.of(&Face::ALL);
            let frames = 1 + dice.below(4);
            let texts: Vec<String> = (0..frames).map(|_| truth(face, &kit, &mut dice).text).collect();
            let name = folder.join(format!("{}-{seed:03}", level.name()));
            scene(&texts, face, level, &mut dice).picture.save(name.with_extension("png")).unwrap();
            std::fs::write(name.with_extension("txt"), texts.join("\n") + "\n").unwrap();
        }
    }
}
