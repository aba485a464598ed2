//! Rolls made up with known faults, and what becomes of them when matched.

use std::collections::HashMap;

use spooltalk::facts::{Flag, FrameNumber, RollName};
use spooltalk::kit::Kit;
use spooltalk::roll::{Frame, MatchSettings, NotedFrame, NotedRoll, Quote, Roll, Status, match_roll};
use spooltalk::scans::{Scan, ScanFolder, names_say};

/// Numbers that look random and are the same every time (SplitMix64, public domain).
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        // One step apart, so that neighbouring seeds share nothing.
        let mut dice = Self(seed);
        Self(dice.next().rotate_left(17) ^ 0x5bd1_e995)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// From 0 up to but not including `n`.
    pub fn below(&mut self, n: u32) -> u32 {
        (self.next() % u64::from(n)) as u32
    }

    pub fn chance(&mut self, p: f64) -> bool {
        ((self.next() >> 11) as f64 / (1u64 << 53) as f64) < p
    }
}

/// How scans are named.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Naming {
    /// The frame's number.
    Film,
    /// Counting what was scanned, from 1: nothing tells which frame was left out.
    Count,
    /// The frame's number on a counter that began somewhere.
    Offset,
    /// The frames' numbers from the last frame back, as the notes say.
    Backwards,
}

/// Shares of frames, unless said otherwise.
#[derive(Debug, Clone, Copy)]
pub struct Faults {
    /// Not noted, and not scanned: each this often.
    pub drops: f64,
    /// Scanned twice (two thirds of them), or noted and not taken (one third;
    /// half of these under the number that is then noted again).
    pub extras: f64,
    /// Numbers said that are wrong.
    pub wrong: f64,
    /// Notes without a number.
    pub unsaid: f64,
    /// Wasted frames.
    pub wasted: f64,
    /// Naming of the scans; none: as it comes.
    pub naming: Option<Naming>,
}

impl Faults {
    pub const NONE: Self = Self { drops: 0.0, extras: 0.0, wrong: 0.0, unsaid: 0.0, wasted: 0.03, naming: None };
}

/// A roll as it was, and what is known of it.
pub struct Simulated {
    pub noted: NotedRoll,
    pub folder: ScanFolder,
    /// For each note, by its words, the scans of its frame.
    pub truth: HashMap<String, Vec<String>>,
    /// For each note, the frame's number; none for a note of no frame.
    pub numbers: HashMap<String, Option<u16>>,
}

pub const FRAMES: u16 = 36;

pub fn kit() -> Kit {
    Kit::parse("[[camera]]\nname = \"little\"\nformat = \"135\"\n").unwrap()
}

fn note(words: &str, status: Status, counted: u16, said: Option<u16>) -> NotedFrame {
    let mut frame = Frame::blank(FrameNumber::new(said.unwrap_or(counted)), status);
    let at = spooltalk::facts::Moment { clip: "a.m4a".into(), at_s: 0.0, end_s: 1.0 };
    frame.said.push(Quote::new(words, at));
    let said_numbers = said.map(|n| (FrameNumber::new(n), 1.0)).into_iter().collect();
    NotedFrame { frame, said_numbers, lost_before: false }
}

/// A number as it is misheard, or, one time in five, miscounted by one.
fn slip(dice: &mut Dice, n: u16) -> u16 {
    let wrong = match dice.below(10) {
        0 => n + 1,
        1 => n.saturating_sub(1),
        2..=5 if (13..=19).contains(&n) => (n - 10) * 10,
        2..=5 if n.is_multiple_of(10) && n >= 30 => n / 10 + 10,
        _ => 1 + dice.below(u32::from(FRAMES)) as u16,
    };
    if wrong == n { n + 2 } else { wrong }
}

pub fn roll(seed: u64, faults: Faults) -> Simulated {
    let dice = &mut Dice::new(seed);
    let taken = FRAMES - dice.below(4) as u16;
    let naming = faults.naming.unwrap_or_else(|| match dice.below(20) {
        0..=13 => Naming::Film,
        14..=18 => Naming::Offset,
        _ => Naming::Backwards,
    });
    let start = 100 + dice.below(5000);
    let (mut notes, mut files): (Vec<NotedFrame>, Vec<(String, bool)>) = (Vec::new(), Vec::new());
    let (mut truth, mut numbers) = (HashMap::new(), HashMap::new());
    let mut counter = 0;
    let order: Vec<u16> = if naming == Naming::Backwards { (1..=taken).rev().collect() } else { (1..=taken).collect() };
    let wasted: Vec<bool> = (0..=taken).map(|_| dice.chance(faults.wasted)).collect();
    let mut scans: HashMap<u16, Vec<String>> = HashMap::new();
    for &frame in &order {
        // A count that begins somewhere begins at a frame that is there.
        let begins = counter == 0 && naming != Naming::Film;
        if dice.chance(faults.drops) && !begins {
            continue;
        }
        let blank = wasted[usize::from(frame)] && dice.chance(0.5);
        let twice = dice.chance(faults.extras * 2.0 / 3.0);
        counter += 1;
        let name = match naming {
            Naming::Film => format!("{frame:03}"),
            Naming::Count => format!("{counter:03}"),
            Naming::Offset => format!("IMG_{}", start + u32::from(frame)),
            Naming::Backwards => format!("{:03}", taken + 1 - frame),
        };
        let own = scans.entry(frame).or_default();
        own.push(format!("{name}.tif"));
        if twice {
            own.push(format!("{name}_2.tif"));
        }
        files.extend(own.iter().map(|f| (f.clone(), blank)));
    }
    for frame in 1..=taken {
        let dropped = dice.chance(faults.drops);
        if dice.chance(faults.extras / 3.0) {
            // Noted and not taken: the number is said again when it is.
            let said = (!dropped && dice.chance(0.5)).then_some(frame);
            let words = format!("nothing before {frame}");
            notes.push(note(&words, Status::Ok, frame, said));
            truth.insert(words.clone(), Vec::new());
            numbers.insert(words, None);
        }
        if !dropped {
            let said = (!dice.chance(faults.unsaid))
                .then(|| if dice.chance(faults.wrong) { slip(dice, frame) } else { frame });
            let words = format!("note of {frame}");
            let status = if wasted[usize::from(frame)] { Status::Wasted } else { Status::Ok };
            notes.push(note(&words, status, frame, said));
            truth.insert(words.clone(), scans.get(&frame).cloned().unwrap_or_default());
            numbers.insert(words, Some(frame));
        }
    }
    let name = RollName::new("12").unwrap();
    let said_reversed = naming == Naming::Backwards;
    Simulated { noted: noted(name.clone(), notes, said_reversed), folder: folder(name, &files), truth, numbers }
}

pub fn noted(name: RollName, frames: Vec<NotedFrame>, scans_reversed: bool) -> NotedRoll {
    NotedRoll { name: Some(name), camera: Some("little".into()), frames, scans_reversed, ..NotedRoll::default() }
}

pub fn folder(roll: RollName, files: &[(String, bool)]) -> ScanFolder {
    let names: Vec<&str> = files.iter().map(|(f, _)| f.as_str()).collect();
    let says = names_say(&names, &roll, FRAMES, false, &[]);
    let scan = |(s, (path, is_blank)): (_, &(String, bool))| {
        let s: spooltalk::scans::NameSays = s;
        let (kind, number, picture) = (s.kind, s.number, s.picture);
        Scan { path: path.clone(), kind, number, picture, scanned: None, is_blank: *is_blank, film_code: None }
    };
    let mut scans: Vec<Scan> = says.into_iter().zip(files).map(scan).collect();
    scans.sort_by_key(|s| s.picture);
    ScanFolder { roll, scans }
}

/// How a set of rolls came out.
#[derive(Debug, Default, Clone)]
pub struct Outcome {
    pub notes: usize,
    pub right: usize,
    pub wrong_flagged: usize,
    /// Wrong and not flagged, but the fault left no trace: the note reads in
    /// every respect as one of a frame whose own note is missing.
    pub traceless: usize,
    pub right_flagged: usize,
    pub numbers_right: usize,
    pub numbers_wrong_flagged: usize,
    pub numbers: usize,
    /// Every link: how sure it was said to be, and whether it is right.
    pub links: Vec<(f64, bool)>,
}

impl Outcome {
    /// Both sets of rolls together.
    pub fn and(mut self, other: Self) -> Self {
        self.notes += other.notes;
        self.right += other.right;
        self.wrong_flagged += other.wrong_flagged;
        self.traceless += other.traceless;
        self.right_flagged += other.right_flagged;
        self.numbers_right += other.numbers_right;
        self.numbers_wrong_flagged += other.numbers_wrong_flagged;
        self.numbers += other.numbers;
        self.links.extend(other.links);
        self
    }

    pub fn accuracy(&self) -> f64 {
        self.right as f64 / self.notes as f64
    }

    /// Of the wrong links, the share that is flagged; 1 when none is wrong.
    pub fn flagged(&self) -> f64 {
        self.flagged_of(self.notes - self.right)
    }

    /// The same of those whose fault left a trace.
    pub fn flagged_with_trace(&self) -> f64 {
        self.flagged_of(self.notes - self.right - self.traceless)
    }

    fn flagged_of(&self, wrong: usize) -> f64 {
        if wrong == 0 { 1.0 } else { self.wrong_flagged as f64 / wrong as f64 }
    }

    pub fn needless(&self) -> f64 {
        self.right_flagged as f64 / self.right as f64
    }

    /// Links given as this sure: how many, and the share that is right.
    pub fn given(&self, from: f64, to: f64) -> (usize, f64) {
        let among: Vec<bool> = self.links.iter().filter(|(p, _)| (from..to).contains(p)).map(|(_, r)| *r).collect();
        (among.len(), among.iter().filter(|r| **r).count() as f64 / among.len() as f64)
    }

    /// Shares of the wrong and of the right links that are less sure than this.
    pub fn below(&self, least: f64) -> (f64, f64) {
        let share = |right: bool| {
            let of = || self.links.iter().filter(|(_, r)| *r == right);
            of().filter(|(p, _)| *p < least).count() as f64 / of().count() as f64
        };
        (share(false), share(true))
    }
}

pub fn matched(s: &Simulated) -> Roll {
    let settings = MatchSettings { unsure_below: 0.8 };
    match_roll(Some(s.noted.clone()), Some(&s.folder), None, &kit(), &|_| None, &settings).expect("nothing is lost")
}

pub fn run(rolls: u64, seed: u64, faults: Faults) -> Outcome {
    let mut out = Outcome::default();
    for i in 0..rolls {
        let s = roll(seed * 10_000 + i, faults);
        let matched = matched(&s);
        let mut found = 0;
        for frame in &matched.frames {
            let Some(words) = frame.said.first().map(|q| &q.text) else { continue };
            found += 1;
            out.notes += 1;
            let flagged = frame.flags.contains(&Flag::GuessScan);
            let right = frame.scans == s.truth[words];
            out.links.push((frame.scan_confidence, right));
            out.right += usize::from(right);
            out.right_flagged += usize::from(right && flagged);
            out.wrong_flagged += usize::from(!right && flagged);
            let note = s.noted.frames.iter().find(|n| n.frame.said[0].text == *words).expect("every row is of a note");
            let reads_so = note.said_numbers.first().is_none_or(|(n, _)| *n == frame.number);
            let own_missing = !s.truth.contains_key(&format!("note of {}", frame.number));
            out.traceless += usize::from(!right && !flagged && reads_so && own_missing);
            if let Some(number) = s.numbers[words] {
                out.numbers += 1;
                let right = frame.number == FrameNumber::new(number);
                let flagged = frame.flags.contains(&Flag::Unsure(spooltalk::facts::Field::Frame));
                out.numbers_right += usize::from(right);
                out.numbers_wrong_flagged += usize::from(!right && flagged);
            }
        }
        assert_eq!(found, s.noted.frames.len(), "roll {i}: a note was lost");
        let shown: usize = matched.frames.iter().map(|f| f.scans.len()).sum();
        assert_eq!(shown, s.folder.scans.len(), "roll {i}: a scan was lost");
    }
    out
}
