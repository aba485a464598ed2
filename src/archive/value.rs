//! Values of conditions: numbers and times with their spans, places, flags.

use jiff::ToSpan;
use jiff::civil::{Date, DateTime};

use crate::exposure::{Aperture, Shutter};
use crate::facts::{Flag, Position};
use crate::roll::Status;

use super::clock;
use super::compare::{Op, Span};
use super::fields::Field;

/// Marks are kept as printed; this much, relatively, is no difference.
const SAME: f64 = 1e-6;

/// A value as typed, and how far what rounds to it may lie on either side.
struct Typed {
    value: f64,
    half: f64,
}

/// The span that a number, or `lo..hi`, stands for under `op`.
pub(super) fn number(field: Field, op: Op, text: &str) -> Option<Span<f64>> {
    if let Some((low, high)) = text.split_once("..") {
        let end = |t: &str| if t.is_empty() { Some(None) } else { typed(field, t).map(Some) };
        let (low, high) = (end(low)?, end(high)?);
        if !matches!(op, Op::Is | Op::Not) || (low.is_none() && high.is_none()) {
            return None;
        }
        return Some(Span {
            low: low.map(|t| (t.value - slack(t.value), true)),
            high: high.map(|t| (t.value + slack(t.value), true)),
        });
    }
    let Typed { value, half } = typed(field, text)?;
    let (under, over) = (value - slack(value), value + slack(value));
    Some(match op {
        Op::Is | Op::Not => Span { low: Some((value - half, true)), high: Some((value + half, false)) },
        Op::Below => Span { low: None, high: Some((under, false)) },
        Op::AtMost => Span { low: None, high: Some((over, true)) },
        Op::Above => Span { low: Some((over, false)), high: None },
        Op::AtLeast => Span { low: Some((under, true)), high: None },
    })
}

fn slack(value: f64) -> f64 {
    value.abs() * SAME
}

fn typed(field: Field, text: &str) -> Option<Typed> {
    match field {
        Field::Shutter => {
            let value = text.parse::<Shutter>().ok().and_then(Shutter::seconds).or_else(|| text.parse().ok())?;
            (value.is_finite() && value > 0.0).then_some(Typed { value, half: value * 0.01 })
        }
        Field::Aperture => {
            let digits = text.trim_start_matches(['f', 'F', '/']);
            let value = text.parse::<Aperture>().ok()?.number();
            Some(Typed { value, half: half_of_last_digit(digits) })
        }
        _ => {
            let digits = text.strip_suffix("mm").unwrap_or(text).trim();
            if digits.is_empty() || !digits.bytes().all(|b| b.is_ascii_digit() || matches!(b, b'.' | b'+' | b'-')) {
                return None;
            }
            let value: f64 = digits.parse().ok()?;
            value.is_finite().then(|| Typed { value, half: half_of_last_digit(digits) })
        }
    }
}

/// `12` is a half, `12.3` five hundredths.
fn half_of_last_digit(digits: &str) -> f64 {
    let decimals = digits.split_once('.').map_or(0, |(_, d)| d.len().min(12));
    0.5 * 10f64.powi(-(decimals as i32))
}

/// The span of local clock seconds that a date, or `lo..hi`, stands for.
pub(super) fn time(op: Op, text: &str) -> Option<Span<i64>> {
    if let Some((low, high)) = text.split_once("..") {
        let end = |t: &str| if t.is_empty() { Some(None) } else { period(t).map(Some) };
        let (low, high) = (end(low)?, end(high)?);
        if !matches!(op, Op::Is | Op::Not) || (low.is_none() && high.is_none()) {
            return None;
        }
        return Some(Span { low: low.map(|p| (p.0, true)), high: high.map(|p| (p.1, false)) });
    }
    let (start, end) = period(text)?;
    Some(match op {
        Op::Is | Op::Not => Span { low: Some((start, true)), high: Some((end, false)) },
        Op::Below => Span { low: None, high: Some((start, false)) },
        Op::AtMost => Span { low: None, high: Some((end, false)) },
        Op::Above => Span { low: Some((end, true)), high: None },
        Op::AtLeast => Span { low: Some((start, true)), high: None },
    })
}

/// First second of a year, month, day, minute or second, and the first after it.
fn period(text: &str) -> Option<(i64, i64)> {
    let ends = |start: DateTime, length: jiff::Span| {
        Some((clock::seconds(start), clock::seconds(start.checked_add(length).ok()?)))
    };
    let number = |t: &str, digits: usize| -> Option<i16> {
        (t.len() == digits && t.bytes().all(|b| b.is_ascii_digit())).then(|| t.parse().ok()).flatten()
    };
    if let Some((day, hour)) = text.split_once(['T', 't']) {
        let date = day_of(day)?;
        let parts: Vec<i16> = hour.split(':').map(|p| number(p, 2)).collect::<Option<_>>()?;
        let (h, m, s, length) = match parts[..] {
            [h] => (h, 0, 0, 1.hour()),
            [h, m] => (h, m, 0, 1.minute()),
            [h, m, s] => (h, m, s, 1.second()),
            _ => return None,
        };
        let time = jiff::civil::Time::new(h as i8, m as i8, s as i8, 0).ok()?;
        return ends(date.to_datetime(time), length);
    }
    let parts: Vec<&str> = text.split('-').collect();
    match parts[..] {
        [y] => ends(Date::new(number(y, 4)?, 1, 1).ok()?.at(0, 0, 0, 0), 1.year()),
        [y, m] => ends(Date::new(number(y, 4)?, number(m, 2)? as i8, 1).ok()?.at(0, 0, 0, 0), 1.month()),
        [_, _, _] => ends(day_of(text)?.at(0, 0, 0, 0), 1.day()),
        _ => None,
    }
}

fn day_of(text: &str) -> Option<Date> {
    let is_day = text.len() == 10 && text.bytes().all(|b| b.is_ascii_digit() || b == b'-');
    is_day.then(|| text.parse().ok()).flatten()
}

pub(super) fn status(text: &str) -> Option<Status> {
    [Status::Ok, Status::Wasted, Status::Unscanned, Status::Unnoted]
        .into_iter()
        .find(|s| s.as_str().eq_ignore_ascii_case(text))
}

/// A whole code, or the part before its colon.
pub(super) fn flag(text: &str) -> Option<String> {
    let text = text.to_ascii_lowercase();
    let known = matches!(text.as_str(), "unsure" | "conflict" | "odd" | "carried" | "guess" | "gone");
    (known || text.parse::<Flag>().is_ok()).then_some(text)
}

/// `lat,lon` or `lat,lon,distance`, the distance in km unless it says `m`.
pub(super) fn near(text: &str) -> Option<(Position, f64)> {
    let parts: Vec<&str> = text.split(',').map(str::trim).collect();
    let (lat, lon, distance) = match parts[..] {
        [lat, lon] => (lat, lon, "1km"),
        [lat, lon, distance] => (lat, lon, distance),
        _ => return None,
    };
    let km: f64 = match distance.strip_suffix("km") {
        Some(km) => km.trim().parse().ok()?,
        None => match distance.strip_suffix('m') {
            Some(m) => m.trim().parse::<f64>().ok()? / 1000.0,
            None => distance.parse().ok()?,
        },
    };
    let position = Position::new(lat.parse().ok()?, lon.parse().ok()?)?;
    (km.is_finite() && km > 0.0).then_some((position, km))
}
