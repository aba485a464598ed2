//! How well drawn pictures are read back: settings thrown from a seed, drawn,
//! read, set against what was written, and counted.

use std::collections::BTreeMap;
use std::fmt;

use rayon::prelude::*;

use super::draw::{Level, scene};
use super::glyphs::Face;
use super::picture::{ImprintLine, ImprintPicture, read_picture};
use crate::exposure::{Aperture, ApertureStep, Shutter};
use crate::facts::Settled;
use crate::kit::{Focal, Kit};
use crate::rebate::draw::Dice;
use crate::rebate::line::LineReader;
use crate::rebate::made_up::KIT;

/// Confidence from which a value counts as given for sure.
const SURE: f64 = 0.8;

/// What was written beside a frame.
pub(super) struct Truth {
    shutter: Shutter,
    aperture: Aperture,
    focal: f64,
    ei: u32,
    pub text: String,
}

impl Truth {
    /// What a camera may write, under its pattern.
    pub fn thrown(face: Face, kit: &Kit, dice: &mut Dice) -> Self {
        let camera = &kit.cameras[0];
        let mut shutters: Vec<Shutter> = camera.dial.marks().iter().copied().map(Shutter::Timed).collect();
        shutters.push(Shutter::Bulb(None));
        let shutter = *dice.of(&shutters);
        let lens = dice.of(&kit.lenses);
        let marks: Vec<Aperture> = ApertureStep::Full.marks().into_iter().filter(|a| lens.allows(*a)).collect();
        let aperture = *dice.of(&marks);
        let ei = *dice.of(&[80, 100, 200, 400]);
        let focal = match lens.focal {
            Focal::Prime(f) | Focal::Zoom(f, _) => f,
        };
        let segments = face.is_segments();
        let written = match shutter {
            Shutter::Timed(s) if s.is_fraction() && segments => s.number().to_string(),
            Shutter::Timed(s) if segments => format!("{}\"", s.number()),
            Shutter::Timed(s) if s.is_fraction() => s.to_string(),
            Shutter::Timed(s) => format!("{}S", s.number()),
            _ => "BULB".into(),
        };
        let text = if segments {
            format!("{written} F{aperture} {focal} {ei}")
        } else {
            format!("{written} F{aperture} {focal}MM ISO{ei}")
        };
        Self { shutter, aperture, focal, ei, text }
    }
}

/// The pattern that a camera with this face writes by.
pub(super) fn pattern(face: Face) -> &'static str {
    if face.is_segments() {
        "{shutter} F{aperture} {focal_mm} {ei}"
    } else {
        "{shutter} F{aperture} {focal_mm}MM ISO{ei}"
    }
}

/// Values of one kind counted.
#[derive(Default, Clone, Copy)]
pub(super) struct Tally {
    pub all: usize,
    /// Right, whether given for sure or doubted.
    pub right: usize,
    /// Right and doubted.
    needless: usize,
    /// Wrong and doubted.
    doubted: usize,
    /// Wrong and given for sure.
    pub silent: usize,
    /// Not read.
    missed: usize,
}

impl Tally {
    fn count<T: PartialEq>(&mut self, want: T, got: Option<&Settled<T>>) {
        self.all += 1;
        let Some(got) = got else {
            self.missed += 1;
            return;
        };
        match (got.value == want, got.confidence.get() >= SURE) {
            (true, sure) => {
                self.right += 1;
                self.needless += usize::from(!sure);
            }
            (false, true) => self.silent += 1,
            (false, false) => self.doubted += 1,
        }
    }

    fn add(&mut self, other: Self) {
        self.all += other.all;
        self.right += other.right;
        self.needless += other.needless;
        self.doubted += other.doubted;
        self.silent += other.silent;
        self.missed += other.missed;
    }

    pub fn right_share(&self) -> f64 {
        self.right as f64 / self.all as f64
    }

    pub fn silent_share(&self) -> f64 {
        self.silent as f64 / self.all as f64
    }
}

impl fmt::Display for Tally {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { all, right, needless, doubted, silent, missed } = self;
        let (r, s) = (self.right_share(), self.silent_share());
        write!(f, "{all:6} {right:6} {r:6.4} {needless:8} {doubted:8} {missed:7} {silent:7} {s:6.4}")
    }
}

/// Tallies by field and by kind of face.
#[derive(Default)]
pub(super) struct Figures {
    tallies: BTreeMap<(&'static str, &'static str), Tally>,
    /// Confidence in tenths: values given with it, and how many of them were right.
    stated: [(usize, usize); 11],
    pub pictures: usize,
    pub lines: usize,
    /// Lines that were not found, or too many.
    pub lines_off: usize,
    /// Time spent reading, seconds.
    pub reading_s: f64,
    /// Pictures that were not read whole, told at length.
    pub told: Vec<String>,
}

impl Figures {
    /// All fields together.
    pub fn total(&self) -> Tally {
        let mut total = Tally::default();
        self.tallies.values().for_each(|t| total.add(*t));
        total
    }

    fn add(mut self, other: Self) -> Self {
        for (key, tally) in other.tallies {
            self.tallies.entry(key).or_default().add(tally);
        }
        for (mine, its) in self.stated.iter_mut().zip(other.stated) {
            *mine = (mine.0 + its.0, mine.1 + its.1);
        }
        self.pictures += other.pictures;
        self.lines += other.lines;
        self.lines_off += other.lines_off;
        self.reading_s += other.reading_s;
        self.told.extend(other.told);
        self
    }

    fn field<T: PartialEq>(&mut self, key: (&'static str, &'static str), want: T, got: Option<&Settled<T>>) {
        if let Some(got) = got {
            let (given, right) = &mut self.stated[(got.confidence.get() * 10.0) as usize];
            *given += 1;
            *right += usize::from(got.value == want);
        }
        self.tallies.entry(key).or_default().count(want, got);
    }
}

impl fmt::Display for Figures {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "face     field       all  right  share needless  doubted  missed  silent  share")?;
        for ((face, field), tally) in &self.tallies {
            writeln!(f, "{face:8} {field:8} {tally}")?;
        }
        writeln!(f, "{:8} {:8} {}", "all", "all", self.total())?;
        let Self { pictures, lines, lines_off, .. } = self;
        writeln!(
            f,
            "{pictures} pictures, {lines} lines, {lines_off} off; {:.2} s a picture",
            self.reading_s / *pictures as f64
        )?;
        write!(f, "confidence stated (from, values, right):")?;
        for (tenth, (given, right)) in self.stated.iter().enumerate().filter(|(_, (given, _))| *given > 0) {
            write!(f, " {:.1} {given} {:.3};", tenth as f64 / 10.0, *right as f64 / *given as f64)?;
        }
        Ok(())
    }
}

/// Draws and reads the pictures of these seeds in some of these faces, with up to `most` frames each.
pub(super) fn measured(level: Level, seeds: std::ops::Range<u64>, most: usize, faces: &[Face]) -> Figures {
    let kit = Kit::parse(KIT).unwrap();
    seeds.into_par_iter().map(|seed| one(level, seed, most, faces, &kit)).reduce(Figures::default, Figures::add)
}

fn one(level: Level, seed: u64, most: usize, faces: &[Face], kit: &Kit) -> Figures {
    let mut dice = Dice::new(seed * 3 + level as u64);
    let face = *dice.of(faces);
    let frames = 1 + dice.below(most);
    let truths: Vec<Truth> = (0..frames).map(|_| Truth::thrown(face, kit, &mut dice)).collect();
    let texts: Vec<String> = truths.iter().map(|t| t.text.clone()).collect();
    let scene = scene(&texts, face, level, &mut dice);
    let reader = LineReader::new(&pattern(face).parse().unwrap(), kit, kit.cameras.first(), false);
    let started = std::time::Instant::now();
    let read = read_picture(&scene.picture, &[reader], "strip.png");
    let mut figures =
        Figures { pictures: 1, lines: frames, reading_s: started.elapsed().as_secs_f64(), ..Figures::default() };
    figures.compare(if face.is_segments() { "segments" } else { "dots" }, &truths, &read);
    if figures.total().right < 4 * frames {
        let lies =
            |negative, mirrored, quarters| format!("negative {negative} mirrored {mirrored} quarters {quarters}");
        figures.told.push(format!(
            "{} seed {seed} {face:?} {}x{} {}: read {}\n{}{}",
            level.name(),
            scene.picture.width(),
            scene.picture.height(),
            lies(scene.negative, scene.mirrored, scene.quarters),
            lies(read.negative, read.mirrored, read.quarters),
            texts.iter().map(|t| format!("   want {t}\n")).collect::<String>(),
            read.lines.iter().map(told).collect::<String>()
        ));
    }
    figures
}

fn told(line: &ImprintLine) -> String {
    fn one<T: ToString>(value: Option<&Settled<T>>) -> String {
        value.map_or("-".into(), |s| format!("{} ({:.2})", s.value.to_string(), s.confidence.get()))
    }
    let f = &line.frame;
    let ei = f.ei.clone().map(|s| s.map(|e| e.get()));
    let values = [one(f.shutter.as_ref()), one(f.aperture.as_ref()), one(f.focal_mm.as_ref()), one(ei.as_ref())];
    format!("   read {} = {}\n", f.raw, values.join(", "))
}

impl Figures {
    /// Lines are compared in order. When some are missing or too many, those are
    /// set against each other that agree best.
    fn compare(&mut self, face: &'static str, truths: &[Truth], read: &ImprintPicture) {
        self.lines_off += truths.len().abs_diff(read.lines.len());
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
            self.field((face, "shutter"), t.shutter, f.and_then(|f| f.shutter.as_ref()));
            self.field((face, "aperture"), t.aperture, f.and_then(|f| f.aperture.as_ref()));
            self.field((face, "focal"), t.focal, f.and_then(|f| f.focal_mm.as_ref()));
            let ei = f.and_then(|f| f.ei.clone()).map(|s| s.map(|e| e.get()));
            self.field((face, "ei"), t.ei, ei.as_ref());
        }
    }
}
