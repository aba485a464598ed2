//! Trips made up from a fixed seed: films, lenses and words in the uneven shares
//! that a photographer's life has.

use jiff::civil::date;
use spooltalk::archive::TripKey;
use spooltalk::exposure::{ApertureStep, BoxSpeed, ExposureIndex, Light, Shutter, ShutterStep, Stops};
use spooltalk::facts::{
    Confidence, Field, Flag, FrameNumber, KnownBy, Moment, Position, RollName, Settled, Source, Taken,
};
use spooltalk::kit::Filters;
use spooltalk::roll::{Frame, Quote, Roll, Status, Trip};

/// Rolls a trip, frames a roll.
const ROLLS: usize = 10;
const FRAMES: usize = 36;

pub const LENSES: [(&str, f64); 10] = [
    ("50", 50.0),
    ("80", 80.0),
    ("35", 35.0),
    ("120 macro", 120.0),
    ("28", 28.0),
    ("150", 150.0),
    ("90", 90.0),
    ("210", 210.0),
    ("long one", 300.0),
    ("65", 65.0),
];
pub const FILTERS: [&str; 8] =
    ["none", "yellow", "orange", "polariser", "red", "yellow+polariser", "green", "orange+polariser"];
const SUPPORTS: [&str; 3] = ["handheld", "tripod", "monopod"];

/// Numbers without a clock: xorshift64*, as in Vigna 2016.
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    pub fn below(&mut self, n: usize) -> usize {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        ((self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 33) as usize) % n
    }

    /// 0 to 1.
    pub fn share(&mut self) -> f64 {
        self.below(1 << 20) as f64 / f64::from(1 << 20)
    }

    pub fn chance(&mut self, p: f64) -> bool {
        self.share() < p
    }

    /// One of `n`, the first ones far more often (about Zipf's law).
    pub fn uneven(&mut self, n: usize) -> usize {
        (((n as f64 + 1.0).powf(self.share()) - 1.0) as usize).min(n - 1)
    }
}

/// The `n`th of an endless list of words that can be spoken.
pub fn word(n: usize) -> String {
    const HEADS: [&str; 16] = [
        "har", "slip", "net", "keel", "tar", "mast", "oar", "wharf", "gull", "tide", "rope", "hull", "sail", "crane",
        "buoy", "dock",
    ];
    const TAILS: [&str; 16] = [
        "way", "loft", "bour", "side", "light", "house", "wood", "stone", "man", "line", "head", "gate", "yard",
        "fall", "door", "end",
    ];
    let (head, rest) = (HEADS[n % 16], n / 16);
    let (tail, more) = (TAILS[rest % 16], rest / 16);
    if more == 0 { format!("{head}{tail}") } else { format!("{head}{tail}{}", TAILS[more % 16]) }
}

/// How many different words are spoken.
pub const WORDS: usize = 4000;

pub fn film(n: usize) -> String {
    const NAMES: [&str; 8] =
        ["Merrow Pan", "Gull", "Bellbuoy", "Slack Tide", "Tarn", "Curlew", "Samphire", "Low Water"];
    const SPEEDS: [u32; 3] = [100, 400, 50];
    format!("{} {}", NAMES[n % 8], SPEEDS[n / 8 % 3])
}

fn voice<T>(value: T, dice: &mut Dice) -> Settled<T> {
    Settled::from_one(value, Confidence::new(1.0 - dice.share().powi(3)), Source::Voice)
}

/// The `n`th trip: ten rolls, a few days, in the order of time over fifty years.
pub fn trip(n: usize) -> (Trip, TripKey) {
    let mut dice = Dice::new(n as u64 + 1);
    let mut clock = date(1975, 1, 1).at(8, 0, 0, 0).saturating_add(jiff::Span::new().hours((n * 157) as i64));
    let home = (50.0 + dice.share() * 14.0, -12.0 + dice.share() * 20.0);
    let name = format!("{} {}", word(dice.below(256)), n);
    let rolls = (0..ROLLS).map(|r| roll(r, &mut dice, &mut clock, home)).collect();
    let key = TripKey { id: format!("trip-{n}"), root: format!("/trips/{n}"), out: format!("/trips/{n}/spooltalk") };
    (Trip { name, rolls }, key)
}

fn roll(r: usize, dice: &mut Dice, clock: &mut jiff::civil::DateTime, home: (f64, f64)) -> Roll {
    let film = film(dice.uneven(24));
    let iso: u32 = film.rsplit(' ').next().and_then(|s| s.parse().ok()).expect("a speed in the name");
    let frames = (1..=FRAMES as u16).map(|n| frame(n, &film, iso, dice, clock, home)).collect();
    Roll {
        camera: Some("Quill 66".into()),
        film: Some(film),
        ei: ExposureIndex::new(iso),
        capacity: Some(FRAMES as u16),
        frames,
        ..Roll::blank(RollName::new(&format!("{}", r + 1)).expect("a number is a name"))
    }
}

fn frame(n: u16, film: &str, iso: u32, dice: &mut Dice, clock: &mut jiff::civil::DateTime, home: (f64, f64)) -> Frame {
    *clock = clock.saturating_add(jiff::Span::new().seconds(30 + dice.below(900) as i64));
    let mut f = Frame::blank(FrameNumber::new(n), Status::Ok);
    if dice.chance(0.03) {
        f.status = Status::Wasted;
    } else if dice.chance(0.04) {
        f.status = Status::Unscanned;
    }
    let shutters = ShutterStep::Full.marks();
    let apertures = ApertureStep::Full.marks();
    let lens = LENSES[dice.uneven(LENSES.len())];
    f.camera = Some(voice(["Quill 66", "six-four-five", "Plate 45"][dice.uneven(3)].to_owned(), dice));
    f.film = Some(voice(film.to_owned(), dice));
    f.box_iso = BoxSpeed::new(iso);
    f.ei = ExposureIndex::new(iso).map(|e| voice(e, dice));
    f.lens = Some(voice(lens.0.to_owned(), dice));
    f.focal_mm = Some(voice(lens.1, dice));
    f.shutter = Some(voice(Shutter::Timed(shutters[4 + dice.below(14)]), dice));
    f.aperture = Some(voice(apertures[3 + dice.below(9)], dice));
    f.filter = Some(voice(Filters::from(FILTERS[dice.uneven(8)].to_owned()), dice));
    f.filter_stops = Some(Stops::new(f64::from(u8::from(dice.chance(0.4)))));
    f.light = Some(voice(Light::ALL[dice.uneven(Light::ALL.len())].to_string(), dice));
    f.support = Some(voice(SUPPORTS[dice.uneven(3)].to_owned(), dice));
    let spoken: Vec<String> = (0..10 + dice.below(10)).map(|_| word(dice.uneven(WORDS))).collect();
    f.subject = Some(voice(spoken[..2].join(" "), dice));
    f.place = dice.chance(0.5).then(|| voice(word(dice.below(400)), dice));
    let at = Moment { clip: format!("{n:04}.m4a"), at_s: dice.share() * 30.0, end_s: 31.0 };
    f.said = vec![Quote::new(format!("frame {n} {}", spoken.join(" ")), at)];
    f.scans = vec![format!("roll/{n:04}.tif")];
    f.taken = Some(Taken { local: *clock, offset_s: Some(3600), known_by: KnownBy::Container });
    if dice.chance(0.6) {
        f.position = Position::new(home.0 + dice.share() * 0.2, home.1 + dice.share() * 0.3);
    }
    if dice.chance(0.08) {
        f.flag(Flag::Unsure(Field::Shutter), "two readings");
    }
    if dice.chance(0.05) {
        f.flag(Flag::Shake, "slower than the rule");
    }
    if dice.chance(0.3) {
        f.flag(Flag::Carried(Field::Filter), "not said again");
    }
    if dice.chance(0.001) {
        f.flag(Flag::Conflict(Field::Aperture), "the film edge says otherwise");
    }
    f.rating = dice.chance(0.1).then(|| 1 + dice.below(5) as u8);
    f.remark = dice.chance(0.02).then(|| format!("print {}", word(dice.below(WORDS))));
    f
}
