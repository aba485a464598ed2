//! Marked shutter speeds, B and T.
//!
//! ```text
//! shutter = "1/" number | number "s" | ("B" | "T") [ number "s" ]
//! ```

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

/// A text that is no shutter setting.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("'{0}' is no shutter setting: expected such as 1/125, 2s, B or B 45s")]
pub struct ShutterError(pub String);

/// A marked speed: a fraction of a second (`1/125`) or seconds (`2.5s`).
/// Kept to a thousandth, so that equal marks are equal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Speed {
    fraction: bool,
    thousandths: u32,
}

impl Speed {
    /// The mark `1/n`.
    ///
    /// # Panics
    /// When `n` is zero.
    pub const fn fraction(n: u32) -> Self {
        assert!(n > 0);
        Self { fraction: true, thousandths: n * 1000 }
    }

    /// The mark of `s` whole seconds.
    pub const fn whole(s: u32) -> Self {
        Self { fraction: false, thousandths: s * 1000 }
    }

    /// A mark of `s` seconds, 0.001 to 86 400, kept to a thousandth.
    pub fn seconds_mark(s: f64) -> Option<Self> {
        (0.001..=86_400.0).contains(&s).then(|| Self { fraction: false, thousandths: (s * 1000.0).round() as u32 })
    }

    /// A mark of one `n`th, `n` from 1 to 100 000.
    pub fn nth(n: f64) -> Option<Self> {
        (1.0..=100_000.0).contains(&n).then(|| Self { fraction: true, thousandths: (n * 1000.0).round() as u32 })
    }

    /// In seconds.
    pub fn seconds(self) -> f64 {
        let n = f64::from(self.thousandths) / 1000.0;
        if self.fraction { 1.0 / n } else { n }
    }

    /// Whether it is written `1/n`.
    pub const fn is_fraction(self) -> bool {
        self.fraction
    }

    /// The number on the mark: 125 of `1/125`, 2.5 of `2.5s`.
    pub fn number(self) -> f64 {
        f64::from(self.thousandths) / 1000.0
    }
}

impl fmt::Display for Speed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let n = self.number();
        if self.fraction { write!(f, "1/{n}") } else { write!(f, "{n}s") }
    }
}

/// What the shutter was set to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum Shutter {
    /// A marked speed.
    Timed(Speed),
    /// Open while pressed, with the time held in thousandths of a second if known.
    Bulb(Option<u32>),
    /// Press to open, press to close, with the time if known.
    Time(Option<u32>),
}

impl Shutter {
    /// The mark `1/n`.
    pub const fn fraction(n: u32) -> Self {
        Self::Timed(Speed::fraction(n))
    }

    /// The mark of `s` whole seconds.
    pub const fn whole(s: u32) -> Self {
        Self::Timed(Speed::whole(s))
    }

    /// B held for `s` seconds, kept to a thousandth and never to none.
    pub fn bulb(s: f64) -> Self {
        Self::Bulb(Some(thousandths(s)))
    }

    /// T opened for `s` seconds, kept to a thousandth and never to none.
    pub fn time(s: f64) -> Self {
        Self::Time(Some(thousandths(s)))
    }

    /// In seconds; none for B or T without a time.
    pub fn seconds(self) -> Option<f64> {
        match self {
            Self::Timed(speed) => Some(speed.seconds()),
            Self::Bulb(t) | Self::Time(t) => t.map(|t| f64::from(t) / 1000.0),
        }
    }

    /// The marked speed, when it is one.
    pub const fn speed(self) -> Option<Speed> {
        match self {
            Self::Timed(s) => Some(s),
            _ => None,
        }
    }
}

fn thousandths(s: f64) -> u32 {
    (s * 1000.0).round().max(1.0) as u32
}

impl fmt::Display for Shutter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let held = |f: &mut fmt::Formatter<'_>, letter, t: Option<u32>| match t {
            None => f.write_str(letter),
            Some(t) => write!(f, "{letter} {}s", f64::from(t) / 1000.0),
        };
        match *self {
            Self::Timed(s) => s.fmt(f),
            Self::Bulb(t) => held(f, "B", t),
            Self::Time(t) => held(f, "T", t),
        }
    }
}

impl FromStr for Shutter {
    type Err = ShutterError;

    fn from_str(text: &str) -> Result<Self, ShutterError> {
        let bad = || ShutterError(text.to_owned());
        let t = text.trim();
        let seconds = |t: &str| -> Option<f64> {
            let s: f64 = t.trim().strip_suffix('s')?.trim().parse().ok()?;
            (0.001..=86_400.0).contains(&s).then_some(s)
        };
        if let Some(n) = t.strip_prefix("1/") {
            let n: f64 = n.strip_suffix('s').unwrap_or(n).parse().map_err(|_| bad())?;
            return Speed::nth(n).map(Self::Timed).ok_or_else(bad);
        }
        for (letter, make) in [("B", Self::Bulb as fn(Option<u32>) -> Self), ("T", Self::Time)] {
            if let Some(rest) = t.strip_prefix(letter) {
                if rest.is_empty() {
                    return Ok(make(None));
                }
                let s = rest.strip_prefix(' ').and_then(seconds).ok_or_else(bad)?;
                return Ok(make(Some((s * 1000.0).round() as u32)));
            }
        }
        seconds(t).and_then(Speed::seconds_mark).map(Self::Timed).ok_or_else(bad)
    }
}

impl TryFrom<String> for Shutter {
    type Error = ShutterError;
    fn try_from(text: String) -> Result<Self, ShutterError> {
        text.parse()
    }
}

impl From<Shutter> for String {
    fn from(s: Shutter) -> Self {
        s.to_string()
    }
}

/// How far apart a dial's marks stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum ShutterStep {
    /// One stop: 1/60, 1/125, 1/250.
    Full,
    /// Half stops: 1/60, 1/90, 1/125.
    Half,
    /// Third stops: 1/60, 1/80, 1/100, 1/125.
    Third,
    /// The series of older shutters: 1/25, 1/50, 1/100, 1/200.
    Old,
}

/// Fractions of a second, slow to fast, one stop apart. Marks are rounded.
/// Source: ISO 516 marking series as listed in US Navy NAVEDTRA 14209 ch. 4 and
/// US Army SS0508 pp. 8-9; above 1/2000 and below 1 s common practice.
const FULL: [f64; 20] = [
    -60.0, -30.0, -15.0, -8.0, -4.0, -2.0, -1.0, 2.0, 4.0, 8.0, 15.0, 30.0, 60.0, 125.0, 250.0, 500.0, 1000.0, 2000.0,
    4000.0, 8000.0,
];
/// The marks between the full ones on a half-stop dial. Common practice.
const HALVES: [f64; 19] = [
    -45.0, -20.0, -10.0, -6.0, -3.0, -1.5, -0.7, 3.0, 6.0, 11.0, 23.0, 45.0, 90.0, 180.0, 350.0, 750.0, 1500.0, 3000.0,
    6000.0,
];
/// The marks between the full ones on a third-stop dial. Common practice.
const THIRDS: [f64; 38] = [
    -50.0, -40.0, -25.0, -20.0, -13.0, -10.0, -6.0, -5.0, -3.2, -2.5, -1.6, -1.3, -0.8, -0.6, -0.4, -0.3, 5.0, 6.0,
    10.0, 13.0, 20.0, 25.0, 40.0, 50.0, 80.0, 100.0, 160.0, 200.0, 320.0, 400.0, 640.0, 800.0, 1250.0, 1600.0, 2500.0,
    3200.0, 5000.0, 6400.0,
];
/// Older leaf shutters. Source: public encyclopaedia of cameras, "Shutter speed";
/// a leaf shutter listed in 1938; 1/300 from memory.
const OLD: [f64; 10] = [-1.0, 2.0, 5.0, 10.0, 25.0, 50.0, 100.0, 200.0, 300.0, 400.0];

fn mark(n: f64) -> Speed {
    let s = if n < 0.0 { Speed::seconds_mark(-n) } else { Speed::nth(n) };
    s.expect("the tables hold marks in range")
}

impl ShutterStep {
    /// Every mark of the series, slow to fast.
    pub fn marks(self) -> Vec<Speed> {
        let mut marks: Vec<Speed> = match self {
            Self::Old => OLD.iter().copied().map(mark).collect(),
            Self::Full => FULL.iter().copied().map(mark).collect(),
            Self::Half => FULL.iter().chain(&HALVES).copied().map(mark).collect(),
            Self::Third => FULL.iter().chain(&THIRDS).copied().map(mark).collect(),
        };
        marks.sort_by(|a, b| b.seconds().total_cmp(&a.seconds()));
        marks
    }

    /// Whether the series has this mark.
    pub fn has(self, speed: Speed) -> bool {
        let in_table = |table: &[f64]| table.iter().any(|n| mark(*n) == speed);
        match self {
            Self::Old => in_table(&OLD),
            Self::Full => in_table(&FULL),
            Self::Half => in_table(&FULL) || in_table(&HALVES),
            Self::Third => in_table(&FULL) || in_table(&THIRDS),
        }
    }

    /// Stops between neighbouring marks.
    pub const fn stops(self) -> f64 {
        match self {
            Self::Full | Self::Old => 1.0,
            Self::Half => 0.5,
            Self::Third => 1.0 / 3.0,
        }
    }

    /// The exact APEX time value that a mark of this series stands for, on its grid
    /// (`t = 2^-Tv`): 7 for 1/125. Old marks stand for themselves. None when the
    /// series has no such mark.
    pub fn exact_tv(self, speed: Speed) -> Option<f64> {
        let marked = -speed.seconds().log2();
        let exact = match self {
            Self::Old => marked,
            _ => (marked / self.stops()).round() * self.stops(),
        };
        self.marks().contains(&speed).then_some(exact)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn printed_settings_read_back() {
        for t in ["1/125", "1/2", "1s", "30s", "2.5s", "B", "T", "B 45s", "T 120s", "1/1.6", "0.6s"] {
            assert_eq!(t.parse::<Shutter>().unwrap().to_string(), t);
        }
        for t in ["", "125", "1/", "1/0", "B45", "s", "-1s", "1/x", "NaNs", "b 3s"] {
            assert!(t.parse::<Shutter>().is_err(), "{t}");
        }
    }

    #[test]
    fn a_shutter_held_open_is_never_held_for_no_time() {
        assert_eq!(Shutter::bulb(1.0 / 2220.0).seconds(), Some(0.001));
        assert_eq!(Shutter::time(0.0).seconds(), Some(0.001));
        assert_eq!(Shutter::bulb(12.5).seconds(), Some(12.5));
    }

    #[test]
    fn marks_are_about_their_step_apart() {
        // Tolerance: rounding of the marks, 0.18 stop at most (computed from the exact series).
        for step in [ShutterStep::Full, ShutterStep::Half, ShutterStep::Third] {
            let marks = step.marks();
            for w in marks.windows(2) {
                let apart = (w[0].seconds() / w[1].seconds()).log2();
                assert!((apart - step.stops()).abs() < 0.27, "{step:?} {} {}: {apart:.2}", w[0], w[1]);
            }
        }
    }
}
