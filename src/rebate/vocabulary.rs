//! What may stand in each slot of an imprint: the marks of the dial, the
//! lenses and films of the kit, and the ways a camera writes them.
//!
//! Weights are chosen, not fitted: a mark of the gear is likely, a mark of
//! another series is not, a number of no series least of all.

use super::candidate::Candidate;
use super::candidate::Value;
use crate::exposure::{Aperture, ApertureStep, ExposureIndex, Shutter, ShutterStep, Speed};
use crate::facts::FrameNumber;
use crate::kit::imprint::Slot;
use crate::kit::{Camera, Film, Focal, Lens};

/// Marks of the gear together.
const OWN: f64 = 0.97;
/// Standard marks that the gear does not have, together.
const OTHER: f64 = 0.03;

/// A growing list of candidates.
#[derive(Default)]
struct List(Vec<Candidate>);

impl List {
    fn extend_index(&mut self, n: u32, prior: f64) {
        if let Some(ei) = ExposureIndex::new(n) {
            self.add(&n.to_string(), Value::Ei(ei), prior);
        }
    }

    fn add(&mut self, text: &str, value: Value, prior: f64) {
        self.0.extend(Candidate::new(text, value, prior));
    }
}

/// Every way to write a shutter setting, with its share. Seven segments have
/// no stroke, and cannot tell S from 5.
fn written_shutter(s: Shutter, segments: bool) -> Vec<(String, f64)> {
    match s {
        Shutter::Timed(speed) if segments && speed.is_fraction() => vec![(speed.number().to_string(), 1.0)],
        Shutter::Timed(speed) if segments => {
            vec![(format!("{}\"", speed.number()), 0.95), (speed.number().to_string(), 0.01)]
        }
        Shutter::Timed(speed) if speed.is_fraction() => {
            vec![(format!("1/{}", speed.number()), 0.9), (speed.number().to_string(), 0.1)]
        }
        Shutter::Timed(speed) => {
            let n = speed.number();
            let mut ways = vec![
                (format!("{n}S"), 0.4),
                (format!("{n}\""), 0.4),
                (n.to_string(), 0.01),
                (format!("{n} S"), 0.05),
                (format!("{n}SEC"), 0.05),
            ];
            if n < 1.0 {
                ways.push((format!("{n}S").trim_start_matches('0').to_owned(), 0.1));
            }
            ways
        }
        Shutter::Bulb(_) => vec![("BULB".into(), 0.5), ("B".into(), 0.5)],
        Shutter::Time(_) => vec![("TIME".into(), 0.5), ("T".into(), 0.5)],
    }
}

fn add_shutters(list: &mut List, shutters: &[Shutter], segments: bool, mass: f64) {
    for &s in shutters {
        for (text, share) in written_shutter(s, segments) {
            list.add(&text, Value::Shutter(s), mass * share / shutters.len() as f64);
        }
    }
}

/// Shutter settings that this camera can do, and the standard ones beside them.
pub(super) fn shutters(camera: Option<&Camera>, segments: bool) -> Vec<Candidate> {
    let standard: Vec<Speed> =
        [ShutterStep::Half, ShutterStep::Third, ShutterStep::Old].iter().flat_map(|s| s.marks()).collect();
    let own: Vec<Shutter> = match camera {
        Some(c) => c.dial.marks().iter().copied().map(Shutter::Timed).chain([Shutter::Bulb(None)]).collect(),
        None => ShutterStep::Third.marks().into_iter().map(Shutter::Timed).chain([Shutter::Bulb(None)]).collect(),
    };
    let mut other: Vec<Shutter> = Vec::new();
    for s in standard.into_iter().map(Shutter::Timed).chain([Shutter::Time(None)]) {
        // Marks that differ only in how they are rounded are one setting.
        let near = |m: &Shutter| match (m.seconds(), s.seconds()) {
            (Some(a), Some(b)) => (a / b - 1.0).abs() < 0.02,
            _ => *m == s,
        };
        if !own.iter().chain(&other).any(near) {
            other.push(s);
        }
    }
    let mut list = List::default();
    add_shutters(&mut list, &own, segments, OWN);
    add_shutters(&mut list, &other, segments, OTHER);
    list.0
}

/// The marks of this camera's dial, or all standard ones, in seconds, as a table has them.
pub(super) fn seconds_written(camera: Option<&Camera>) -> Vec<Candidate> {
    let marks = camera.map_or_else(|| ShutterStep::Third.marks(), |c| c.dial.marks().to_vec());
    let mut list = List::default();
    for speed in &marks {
        let s = speed.seconds();
        let mut ways: Vec<String> = vec![s.to_string(), format!("{s:.3}"), format!("{s:.4}")];
        ways.retain(|w| w.len() <= 7 && w.bytes().any(|b| (b'1'..=b'9').contains(&b)));
        ways.sort();
        ways.dedup();
        for way in &ways {
            list.add(way, Value::Shutter(Shutter::Timed(*speed)), 1.0 / (ways.len() * marks.len()) as f64);
        }
    }
    list.0
}

fn written_aperture(a: Aperture) -> Vec<(String, f64)> {
    let n = a.number();
    if n.fract() == 0.0 && n < 10.0 {
        vec![(format!("{n}"), 0.7), (format!("{n:.1}"), 0.3)]
    } else {
        vec![(format!("{n}"), 1.0)]
    }
}

/// Apertures of this lens; without one, of any.
pub(super) fn apertures(lens: Option<&Lens>) -> Vec<Candidate> {
    let mut weights: Vec<(Aperture, f64)> = Vec::new();
    let mut weigh = |a: Aperture, w: f64| match weights.iter_mut().find(|(b, _)| *b == a) {
        Some((_, sum)) => *sum += w,
        None => weights.push((a, w)),
    };
    let allowed = |a: Aperture| lens.is_none_or(|l| l.allows(a));
    let series = match lens.and_then(|l| l.step) {
        Some(step) => vec![(step, OWN)],
        None => vec![(ApertureStep::Full, 0.7), (ApertureStep::Half, 0.15), (ApertureStep::Third, 0.12)],
    };
    for (step, mass) in series {
        let marks: Vec<Aperture> = step.marks().into_iter().filter(|a| allowed(*a)).collect();
        for &a in &marks {
            weigh(a, mass / marks.len() as f64);
        }
    }
    for end in lens.into_iter().flat_map(|l| [l.widest, l.smallest]).flatten() {
        weigh(end, OWN / 12.0);
    }
    for step in [ApertureStep::Half, ApertureStep::Third] {
        let marks = step.marks();
        for &a in &marks {
            weigh(a, OTHER / 2.0 / marks.len() as f64);
        }
    }
    let sum: f64 = weights.iter().map(|(_, w)| w).sum();
    let mut list = List::default();
    for (a, w) in weights {
        for (text, share) in written_aperture(a) {
            list.add(&text, Value::Aperture(a), w * share / sum);
        }
    }
    list.0
}

/// Focal lengths of this lens; without one, none is known beforehand.
pub(super) fn focals(lens: Option<&Lens>) -> Vec<Candidate> {
    let lengths: Vec<f64> = match lens.map(|l| l.focal) {
        None => Vec::new(),
        Some(Focal::Prime(f)) => vec![f],
        Some(Focal::Zoom(a, b)) => (a.ceil() as u32..=b.floor() as u32).map(f64::from).collect(),
    };
    let mut list = List::default();
    for f in &lengths {
        let (value, prior) = (Value::Focal((f * 10.0).round() as u32), OWN / lengths.len() as f64);
        list.add(&f.to_string(), value, prior * 0.9);
        if *f < 100.0 {
            list.add(&format!("{f:03}"), value, prior * 0.1);
        }
    }
    list.0
}

/// Arithmetic film speeds in thirds of a stop. Source: ISO 5800 and ISO 6 speed tables.
const SPEEDS: [u32; 32] = [
    6, 8, 10, 12, 16, 20, 25, 32, 40, 50, 64, 80, 100, 125, 160, 200, 250, 320, 400, 500, 640, 800, 1000, 1250, 1600,
    2000, 2500, 3200, 4000, 5000, 6400, 12800,
];

/// How far from a film's speed it is commonly rated, stops. Chosen, not measured.
const RATED_OFF: f64 = 1.5;
/// Weight of a rating far from every film's, beside that of one near.
const RATED_FAR: f64 = 0.02;

/// Exposure indexes: those of the kit's films, and the standard series, which
/// weighs enough that the kit alone never settles a number that cannot be read.
pub(super) fn indexes(films: &[Film]) -> Vec<Candidate> {
    let own: Vec<u32> = films.iter().flat_map(|f| [f.iso.get(), f.ei.map_or(f.iso.get(), |e| e.get())]).collect();
    let standard = if own.is_empty() { 1.0 } else { 0.75 };
    let mut list = List::default();
    for n in &own {
        list.extend_index(*n, (1.0 - standard) / own.len() as f64);
    }
    // Films are rated near their speed: a stop or two off is common, a digit lost or one too many is not.
    let weight = |n: u32| {
        let off = own.iter().map(|o| (f64::from(n) / f64::from(*o)).log2().abs()).fold(f64::INFINITY, f64::min);
        if own.is_empty() { 1.0 } else { (-(off / RATED_OFF).powi(2)).exp().max(RATED_FAR) }
    };
    let all: f64 = SPEEDS.iter().map(|n| weight(*n)).sum();
    for n in SPEEDS {
        list.extend_index(n, standard * weight(n) / all);
    }
    list.0
}

/// Compensation from −5 to +5 stops in halves and thirds; none is commonest.
pub(super) fn compensations() -> Vec<Candidate> {
    let mut list = List::default();
    for sixths in -30_i32..=30 {
        if sixths % 2 != 0 && sixths % 3 != 0 {
            continue;
        }
        let hundredths = (f64::from(sixths) * 100.0 / 6.0).round() as i32;
        let prior = if sixths == 0 { 0.5 } else { 0.06 * 0.85_f64.powi(sixths.abs()) };
        let size = f64::from(sixths.abs()) / 6.0;
        let mut ways = vec![format!("{size:.1}")];
        if sixths % 6 == 0 {
            ways.push(format!("{size}"));
        }
        for way in &ways {
            let share = prior / ways.len() as f64;
            match sixths.signum() {
                0 => {
                    list.add(way, Value::Comp(0), share * 0.6);
                    list.add(&format!("+{way}"), Value::Comp(0), share * 0.3);
                    list.add(&format!("-{way}"), Value::Comp(0), share * 0.1);
                }
                // A plus may be left out, a minus never.
                1 => {
                    list.add(&format!("+{way}"), Value::Comp(hundredths), share * 0.9);
                    list.add(way, Value::Comp(hundredths), share * 0.1);
                }
                _ => list.add(&format!("-{way}"), Value::Comp(hundredths), share),
            }
        }
    }
    list.0
}

/// Frame numbers as written, each followed by `after`.
pub(super) fn frames(after: &[&str], mass: f64) -> Vec<Candidate> {
    let mut list = List::default();
    let mut add = |text: &str, number: FrameNumber, share: f64| {
        for end in after {
            list.add(&format!("{text}{end}"), Value::Frame(number), mass * share / after.len() as f64);
        }
    };
    for n in 0..=99_u16 {
        let number = FrameNumber::new(n);
        let share = if n <= 40 { 0.02 } else { 0.002 };
        add(&n.to_string(), number, share * 0.5);
        if n > 0 {
            add(&format!("{n:02}"), number, share * 0.4);
            add(&format!("{n:03}"), number, share * 0.08);
        }
        add(&format!("{n}A"), number.with_a(), share * 0.02);
    }
    add("00", FrameNumber::DOUBLE_ZERO, 0.005);
    list.0
}

/// Numbers of a date or time, `digits` wide, evenly likely.
pub(super) fn parts(range: std::ops::RangeInclusive<u16>, digits: usize) -> Vec<Candidate> {
    let each = 1.0 / f64::from(range.end() - range.start() + 1);
    let mut list = List::default();
    for n in range {
        list.add(&format!("{n:0digits$}"), Value::Part(n), each);
        if digits == 2 && n < 10 {
            list.add(&n.to_string(), Value::Part(n), each * 0.2);
            list.add(&format!(" {n}"), Value::Part(n), each * 0.2);
        }
    }
    list.0
}

/// Years, in four digits or two (from 1970 on).
pub(super) fn years() -> Vec<Candidate> {
    let mut list = List::default();
    for y in 1970..=2069_u16 {
        list.add(&y.to_string(), Value::Part(y), 0.005);
        list.add(&format!("{:02}", y % 100), Value::Part(y), 0.003);
        list.add(&format!("'{:02}", y % 100), Value::Part(y), 0.002);
    }
    list.0
}

/// A text that may stand in between, one of several.
pub(super) fn literals(texts: &[&str], value: Value) -> Vec<Candidate> {
    texts.iter().filter_map(|t| Candidate::new(t, value, 1.0 / texts.len() as f64)).collect()
}

/// Seconds at the end of a time, or none.
pub(super) fn seconds() -> Vec<Candidate> {
    let mut list = List::default();
    list.add("", Value::Absent, 0.5);
    for n in 0..=59_u16 {
        list.add(&format!(":{n:02}"), Value::Part(n), 0.5 / 60.0);
    }
    list.0
}

/// A number of no series, read as it stands; its prior is for the one value.
pub(super) fn free(slot: Slot, text: &str) -> Option<(Value, f64)> {
    let plain = |t: &str| -> Option<f64> {
        let digits = !t.is_empty() && t.bytes().all(|b| b.is_ascii_digit() || b == b'.');
        if digits && !t.starts_with('.') && !t.ends_with('.') { t.parse().ok() } else { None }
    };
    match slot {
        Slot::Shutter => shutter(text).map(|s| (Value::Shutter(s), 3e-6)),
        Slot::Aperture => {
            let n = plain(text).filter(|n| (0.7..=128.0).contains(n))?;
            Aperture::new(n).map(|a| (Value::Aperture(a), 3e-6))
        }
        Slot::FocalMm => {
            let f = plain(text).filter(|f| (3.0..=3000.0).contains(f))?;
            Some((Value::Focal((f * 10.0).round() as u32), 1e-4))
        }
        Slot::Ei => {
            let n: u32 = text.parse().ok().filter(|n| (1..=102_400).contains(n) && !text.starts_with('0'))?;
            ExposureIndex::new(n).map(|e| (Value::Ei(e), 3e-6))
        }
        Slot::Comp => {
            let (sign, size) = match text.strip_prefix('-') {
                Some(rest) => (-1.0, rest),
                None => (1.0, text.strip_prefix('+')?),
            };
            let n = plain(size).filter(|n| *n <= 9.0)?;
            Some((Value::Comp((sign * n * 100.0).round() as i32), 3e-6))
        }
        Slot::Frame => {
            let n: FrameNumber = text.parse().ok()?;
            Some((Value::Frame(n), 1e-4))
        }
        Slot::Passed(_) => (!text.starts_with(' ') && !text.ends_with(' ')).then_some((Value::Text, 1e-4)),
        Slot::ShutterS | Slot::Date(_) | Slot::Time | Slot::Taken => None,
    }
}

/// A shutter setting that no list holds, in upper case: `1/135`, `75S`, `B 45S`.
fn shutter(text: &str) -> Option<Shutter> {
    if let Some(n) = text.strip_prefix("1/") {
        let whole = n.bytes().all(|b| b.is_ascii_digit()) && !n.starts_with('0');
        return n.parse().ok().filter(|_| whole).and_then(Speed::nth).map(Shutter::Timed);
    }
    let timed = |t: &str| -> Option<f64> {
        let t = t.strip_suffix('S').or_else(|| t.strip_suffix('"'))?;
        let digits = t.starts_with(|c: char| c.is_ascii_digit()) && t.bytes().all(|b| b.is_ascii_digit() || b == b'.');
        t.parse().ok().filter(|s| digits && (0.001..=86_400.0).contains(s))
    };
    for (word, make) in [("BULB", Shutter::bulb as fn(f64) -> Shutter), ("B", Shutter::bulb), ("T", Shutter::time)] {
        if let Some(rest) = text.strip_prefix(word) {
            return timed(rest.strip_prefix(' ').unwrap_or(rest)).map(make);
        }
    }
    timed(text).and_then(Speed::seconds_mark).map(Shutter::Timed)
}
