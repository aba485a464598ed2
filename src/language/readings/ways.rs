//! What a heard number may stand for: values of one kind, each with a weight
//! for how people say it and how recognisers write it. The gear is not asked
//! here; `roll` weighs the ways against it.

use crate::exposure::{Aperture, ApertureStep, Shutter, ShutterStep, Speed};
use crate::facts::FrameNumber;

use crate::language::text::{How, Number, NumberKind, marks};

/// Times that differ by less, as a part, are one.
const SAME_TIME: f64 = 0.005;

/// One way to take what was heard.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Way<T> {
    /// The value.
    pub value: T,
    /// How likely the words mean it, before the gear is asked; the likeliest has about 1.
    pub weight: f64,
    /// The recogniser's score of its spoken wording against that of the wording first heard:
    /// a natural logarithm, 0 where it was not asked.
    pub sound: f64,
}

impl<T> Way<T> {
    /// A way.
    pub const fn new(value: T, weight: f64) -> Self {
        Self { value, weight, sound: 0.0 }
    }

    /// The same way with another name for its value.
    pub fn of<U>(&self, value: U) -> Way<U> {
        Way { value, weight: self.weight, sound: self.sound }
    }
}

/// Adds a way; the same value again keeps the higher weight.
pub fn add<T: PartialEq>(ways: &mut Vec<Way<T>>, value: T, weight: f64) {
    add_heard(ways, Way::new(value, weight));
}

/// As [`add`], with what the sound says; of two the better sound is kept.
pub fn add_heard<T: PartialEq>(ways: &mut Vec<Way<T>>, way: Way<T>) {
    match ways.iter_mut().find(|w| w.value == way.value) {
        Some(w) => {
            w.weight = w.weight.max(way.weight);
            w.sound = w.sound.max(way.sound);
        }
        None => ways.push(way),
    }
}

/// The weights of slips, as people and recognisers make them. From the
/// development notes; "How a value is weighed" in DEVELOPERS.md tells more.
pub mod weight {
    /// A number that sounds like another.
    pub const ALIKE: f64 = 0.04;
    /// The same of a part of a second that no dial has: recognisers write `13th` for a thirtieth.
    pub const ALIKE_PART: f64 = 0.12;
    /// A part of a second that is no usual mark but sounds like one, as a recogniser wrote it: `13th` itself.
    pub const NO_USUAL_MARK: f64 = 0.3;
    /// Parts that joined make no mark: one / sixteenth as 1/116.
    pub const JOINED_TO_NOTHING: f64 = 0.4;
    /// `160th` written for one sixtieth.
    pub const ONE_SPLIT_ROUND: f64 = 0.5;
    /// `125th` written for one twenty-fifth of a second.
    pub const ONE_SPLIT_OTHER: f64 = 0.1;
    /// "one sixtieth" for 1/60, "one sixty".
    pub const ONE_SPLIT_SAID: f64 = 0.3;
    /// "one twenty-five" for 1/25: hardly anybody says so.
    pub const ONE_SPLIT_COUNTED: f64 = 0.08;
    /// `1/160` written for one sixtieth.
    pub const ONE_SPLIT_SLASH: f64 = 0.02;
    /// `1.25` written for 125.
    pub const LOST_POINT: f64 = 0.9;
    /// `1.6` for one sixty.
    pub const SHORT_POINT: f64 = 0.5;
    /// A decimal number of seconds with no word for seconds.
    pub const BARE_SECONDS: f64 = 0.4;
    /// A whole number of seconds, up to ten, with no word for seconds.
    pub const BARE_WHOLE_SECONDS: f64 = 0.35;
    /// More than ten seconds with no word for seconds.
    pub const BARE_LONG_SECONDS: f64 = 0.04;
    /// `30s` written for a thirtieth.
    pub const S_FOR_TH: f64 = 0.6;
    /// `56` for f/5.6.
    pub const POINT_DROPPED: f64 = 0.5;
    /// `500s` for so many seconds, which nobody counts; `30s` is either.
    pub const S_FOR_LONG: f64 = 0.02;
}

/// How a shutter speed was worded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ShutterForm {
    /// As a part of a second: a sixtieth, 1/60.
    Fraction,
    /// With a stroke: `1/160`.
    Slash,
    /// A number alone: sixty.
    Bare,
}

/// Whether a part of a second is a mark of the usual dials, full stops apart.
fn usual_mark(n: f64) -> bool {
    Speed::nth(n).is_some_and(|s| ShutterStep::Full.has(s))
}

fn alike_of(n: f64, alike: &[(u32, u32)]) -> impl Iterator<Item = f64> + '_ {
    alike.iter().filter_map(move |&(a, b)| {
        if f64::from(a) == n {
            Some(f64::from(b))
        } else if f64::from(b) == n {
            Some(f64::from(a))
        } else {
            None
        }
    })
}

/// What is left of a number once a leading "one" is taken off: 160 → 60.
fn without_one(n: f64) -> Option<f64> {
    let whole = n as u32;
    let head = 10_u32.pow(whole.checked_ilog10()?);
    let rest = whole.checked_sub(head)?;
    (whole / head == 1 && rest >= head / 10 && rest >= 2).then(|| f64::from(rest))
}

/// Shutter speeds that the readings of a number may mean.
// Long: one way of saying or writing a speed after the other; they share what was found.
pub fn shutters<'a>(
    readings: impl Iterator<Item = &'a Number>,
    form: ShutterForm,
    written: bool,
    alike: &[(u32, u32)],
) -> Vec<Way<Shutter>> {
    let mut ways: Vec<Way<Shutter>> = Vec::new();
    let nth = |ways: &mut Vec<Way<Shutter>>, n: f64, w: f64| {
        if let Some(s) = Speed::nth(n) {
            add(ways, Shutter::Timed(s), w);
        }
    };
    let seconds = |ways: &mut Vec<Way<Shutter>>, n: f64, w: f64| {
        if let Some(s) = Speed::seconds_mark(n) {
            add(ways, Shutter::Timed(s), w);
        }
    };
    for n in readings {
        let w = f64::from(n.weight);
        match n.how {
            How::Homophone | How::Pair | How::Plain if n.kind == NumberKind::Decimal || n.how == How::Pair => {
                if n.how == How::Pair {
                    continue;
                }
                // 1.25 and 2.50 are how recognisers write 125 and 250.
                let hundredths = (n.value * 100.0).round();
                if hundredths % 10.0 != 0.0 || hundredths >= 200.0 {
                    nth(&mut ways, hundredths, w * weight::LOST_POINT);
                } else {
                    nth(&mut ways, hundredths, w * weight::SHORT_POINT);
                    if let Some(r) = without_one(hundredths) {
                        nth(&mut ways, r, w * weight::ONE_SPLIT_SAID);
                    }
                }
                seconds(&mut ways, n.value, w * weight::BARE_SECONDS);
            }
            How::Tail => seconds(&mut ways, n.value, w),
            // The decimal itself gives this way already.
            How::LostPoint => {}
            _ => {
                if n.value < 1.0 {
                    continue;
                }
                // Parts joined to a speed that no shutter has are hardly one number.
                let joined =
                    if n.how == How::Joined && !marks::speed(n.value) { weight::JOINED_TO_NOTHING } else { 1.0 };
                // "13th": no usual mark, but it sounds like one.
                let misheard = |other: f64| other > n.value && !usual_mark(n.value) && usual_mark(other);
                let plain = if alike_of(n.value, alike).any(misheard) { weight::NO_USUAL_MARK } else { 1.0 };
                if n.value >= 2.0 || form != ShutterForm::Bare {
                    nth(&mut ways, n.value, w * joined * plain);
                }
                for other in alike_of(n.value, alike) {
                    let alike = match () {
                        () if misheard(other) => 1.0,
                        () if marks::speed(n.value) => weight::ALIKE,
                        () => weight::ALIKE_PART,
                    };
                    nth(&mut ways, other, w * alike);
                }
                if n.how != How::OneNth
                    && let Some(r) = without_one(n.value)
                {
                    let split = match form {
                        ShutterForm::Slash => weight::ONE_SPLIT_SLASH,
                        _ if !written && n.how == How::Joined && n.kind == NumberKind::Ordinal => {
                            weight::ONE_SPLIT_SAID
                        }
                        _ if !written && n.how == How::Joined => weight::ONE_SPLIT_COUNTED,
                        _ if !written => 0.0,
                        ShutterForm::Bare => weight::ONE_SPLIT_OTHER,
                        ShutterForm::Fraction if r % 10.0 == 0.0 => weight::ONE_SPLIT_ROUND,
                        ShutterForm::Fraction => weight::ONE_SPLIT_OTHER,
                    };
                    if split > 0.0 {
                        nth(&mut ways, r, w * split);
                    }
                }
                if form == ShutterForm::Bare {
                    let w = if n.value <= 10.0 { weight::BARE_WHOLE_SECONDS } else { weight::BARE_LONG_SECONDS };
                    seconds(&mut ways, n.value, f64::from(n.weight) * w);
                }
            }
        }
    }
    ways
}

/// The shutter setting of a time said in seconds.
pub fn timed(s: f64, alike: &[(u32, u32)]) -> Vec<Way<Shutter>> {
    let mut ways = Vec::new();
    if let Some(speed) = seconds_mark(s) {
        add(&mut ways, Shutter::Timed(speed), 1.0);
    }
    for other in alike_of(s, alike) {
        if let Some(speed) = Speed::seconds_mark(other) {
            add(&mut ways, Shutter::Timed(speed), weight::ALIKE);
        }
    }
    ways
}

/// Fewer seconds than these are plainly written so: "8s".
const LEAST_PLURAL: f64 = 15.0;
/// More seconds than these are spoken of as minutes.
const MOST_SECONDS: f64 = 90.0;

/// Lets seconds written with an `s` also be the plural of a part of a second, where that is a mark.
pub fn plural_or_seconds(ways: &mut Vec<Way<Shutter>>, n: f64) {
    let Some(part) = Speed::nth(n).filter(|_| n >= LEAST_PLURAL && marks::speed(n)) else { return };
    if n > MOST_SECONDS {
        ways.iter_mut().for_each(|w| w.weight *= weight::S_FOR_LONG);
        add(ways, Shutter::Timed(part), 1.0);
    } else {
        add(ways, Shutter::Timed(part), weight::S_FOR_TH);
    }
}

/// A time in seconds as a mark: half a second is 1/2, 0.6 stays 0.6s.
fn seconds_mark(s: f64) -> Option<Speed> {
    for n in [2.0, 3.0, 4.0, 5.0, 8.0, 10.0, 15.0] {
        if (s * n - 1.0).abs() < SAME_TIME {
            return Speed::nth(n);
        }
    }
    Speed::seconds_mark(s)
}

/// F-numbers that the readings of a number may mean.
pub fn apertures<'a>(
    readings: impl Iterator<Item = &'a Number>,
    written: bool,
    alike: &[(u32, u32)],
) -> Vec<Way<Aperture>> {
    let mut ways: Vec<Way<Aperture>> = Vec::new();
    let mut put = |n: f64, w: f64| {
        if let Some(a) = Aperture::new(n) {
            add(&mut ways, a, w);
        }
    };
    for n in readings {
        let w = f64::from(n.weight);
        if n.kind == NumberKind::Ordinal || n.how == How::LostPoint {
            continue;
        }
        put(n.value, w);
        if n.kind == NumberKind::Cardinal {
            if (11.0..100.0).contains(&n.value) && n.value % 10.0 != 0.0 {
                let marked = Aperture::new(n.value).is_some_and(|a| ApertureStep::Full.has(a));
                let dropped = if written && !marked { weight::POINT_DROPPED } else { weight::ALIKE };
                put(n.value / 10.0, w * dropped);
            }
            for other in alike_of(n.value, alike) {
                put(other, w * weight::ALIKE);
            }
        }
    }
    ways
}

/// Plain values of a number: focal lengths, indices.
pub fn values<'a>(readings: impl Iterator<Item = &'a Number>, alike: &[(u32, u32)]) -> Vec<Way<f64>> {
    let mut ways = Vec::new();
    for n in readings {
        if n.kind == NumberKind::Ordinal || n.how == How::Pair {
            continue;
        }
        let w = f64::from(n.weight);
        add(&mut ways, n.value, w);
        for other in alike_of(n.value, alike) {
            add(&mut ways, other, w * weight::ALIKE);
        }
    }
    ways
}

/// Frame numbers.
pub fn frames<'a>(readings: impl Iterator<Item = &'a Number>, alike: &[(u32, u32)]) -> Vec<Way<FrameNumber>> {
    let mut ways: Vec<Way<FrameNumber>> = Vec::new();
    for way in values(readings, alike) {
        if way.value.fract() == 0.0 && (0.0..1000.0).contains(&way.value) {
            add(&mut ways, FrameNumber::new(way.value as u16), way.weight);
        }
    }
    ways
}
