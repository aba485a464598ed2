//! One cell: does it still mean what was written, and if not, what does it mean?

use super::understood::Understood;
use super::{calendar, number, scans, when};
use crate::exposure::{Aperture, ApertureStep, Shutter, ShutterStep, Speed};
use crate::facts::FrameNumber;
use crate::kit::Filters;

/// What a column's cells are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// A frame's number.
    Number,
    Status,
    Scan,
    Taken,
    Name,
    Text,
    Filter,
    Shutter,
    Aperture,
    /// A film speed or index, a whole number.
    Speed,
    /// A number above zero.
    Positive,
    /// Stops, plus or minus, thirds allowed.
    Stops,
    Degrees,
    /// 1 to 5.
    Rating,
    Flags,
}

/// Whether a cell means what was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sameness {
    Same,
    /// It does, but a spreadsheet has made something else of it.
    Mangled,
    Different,
}

impl Sameness {
    pub fn is_same(self) -> bool {
        self != Self::Different
    }
}

/// Text without the dress that a spreadsheet or word processor gives it.
pub(super) fn tidy(cell: &str) -> String {
    let plain: String = cell
        .chars()
        .map(|c| match c {
            '\u{2018}' | '\u{2019}' => '\'',
            '\u{201c}' | '\u{201d}' | '\u{201e}' => '"',
            c => c,
        })
        .collect();
    plain.replace('\u{2026}', "...").split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Whether a cell that read `was` still means it.
pub(super) fn same(kind: Kind, was: &str, cell: &str) -> Sameness {
    let (was, cell) = (tidy(was), tidy(cell));
    if was == cell {
        return Sameness::Same;
    }
    if was.is_empty() || cell.is_empty() {
        return Sameness::Different;
    }
    let equal = match kind {
        Kind::Text => {
            was.eq_ignore_ascii_case("true") && cell == "TRUE" || was.eq_ignore_ascii_case("false") && cell == "FALSE"
        }
        Kind::Name | Kind::Status => was.to_lowercase() == cell.to_lowercase(),
        Kind::Filter => filters(&was.to_lowercase()).same_set(&filters(&cell.to_lowercase())),
        Kind::Scan => scans::names(&was) == scans::names(&cell),
        Kind::Taken => when::same(&was, &cell),
        Kind::Flags | Kind::Number => false,
        Kind::Shutter => match (shutter(&was), shutter(&cell)) {
            (Some(a), Some(b)) if a != b => return Sameness::Different,
            (Some(a), None) => {
                a.seconds().is_some_and(|s| number::numbers(&cell).iter().any(|n| (n / s - 1.0).abs() < 0.005))
            }
            (a, b) => a.is_some() && a == b,
        },
        Kind::Aperture if aperture(&cell).is_some() => aperture(&was) == aperture(&cell),
        Kind::Speed | Kind::Positive | Kind::Stops | Kind::Degrees | Kind::Rating | Kind::Aperture => false,
    };
    // A clean value of its own is a change, even where it could pass for a date.
    let clean = matches!(kind, Kind::Aperture) && aperture(&cell).is_some();
    if equal {
        Sameness::Same
    } else if clean {
        Sameness::Different
    } else if same_number(&was, &cell) {
        Sameness::Same
    } else if parts(&was).is_some_and(|(a, b)| calendar::dates(&cell).into_iter().any(|d| d.may_stand_for(a, b))) {
        Sameness::Mangled
    } else {
        Sameness::Different
    }
}

fn same_number(was: &str, cell: &str) -> bool {
    let is_number = was.bytes().all(|b| b.is_ascii_digit() || matches!(b, b'.' | b'-' | b'+'));
    let Some(n) = was.parse::<f64>().ok().filter(|_| is_number) else { return false };
    number::numbers(cell).iter().any(|m| number::same(n, *m))
}

/// The two numbers of `1/125`, `5.6` or `3-4`, which a spreadsheet may take for a date.
fn parts(text: &str) -> Option<(u32, u32)> {
    let (a, b) = text.split_once(['/', '.', '-'])?;
    let number = |t: &str| -> Option<u32> {
        (!t.is_empty() && t.len() <= 4 && t.bytes().all(|b| b.is_ascii_digit())).then(|| t.parse().ok()).flatten()
    };
    Some((number(a)?, number(b)?))
}

/// What a changed cell means.
///
/// The error says what is wrong with it and what would do.
pub(super) fn read(kind: Kind, was: &str, cell: &str) -> Result<Understood, String> {
    let text = match kind {
        Kind::Text => cell.trim().to_owned(),
        _ => tidy(cell),
    };
    let sure = |text: String| Ok(Understood { text, guessed: false });
    if text.is_empty() {
        return sure(String::new());
    }
    let wrong = |what: &str| Err(format!("'{text}' is no {what}"));
    let numbers = number::numbers(&text);
    match kind {
        Kind::Number => match text.parse::<FrameNumber>() {
            Ok(number) => sure(number.to_string()),
            Err(why) => Err(why.to_string()),
        },
        Kind::Text | Kind::Name => sure(text),
        Kind::Filter => sure(filters(&text).to_string()),
        Kind::Status => match ["ok", "wasted", "unscanned", "unnoted"].iter().find(|s| s.eq_ignore_ascii_case(&text)) {
            Some(status) => sure((*status).to_owned()),
            None => wrong("status: write ok, wasted, unscanned or unnoted"),
        },
        Kind::Scan => match scans::joined(&text) {
            Some(names) => sure(names),
            None => wrong("path below scans/"),
        },
        Kind::Taken => match when::read(was, &text) {
            Some(when) => Ok(when),
            None => wrong("time: write such as 2025-06-18T09:15:00+01:00"),
        },
        Kind::Shutter => match shutter(&text).or_else(|| fraction_of(&numbers)) {
            Some(s) => sure(s.to_string()),
            None => guessed(&text, dated_shutter(&text), "shutter setting: write such as 1/125, 2s or B 45s"),
        },
        Kind::Aperture => match aperture(&text) {
            Some(a) => sure(a.to_string()),
            None => guessed(&text, dated_aperture(&text), "f-number: write such as 5.6"),
        },
        Kind::Speed => {
            // `1,600` is sixteen hundred.
            let whole =
                numbers.iter().filter(|n| n.fract() == 0.0 && (1.0..=1e6).contains(*n)).max_by(|a, b| a.total_cmp(b));
            whole.map_or_else(|| wrong("film speed: write such as 400"), |n| sure(n.to_string()))
        }
        Kind::Rating => match numbers.iter().find(|n| n.fract() == 0.0 && (1.0..=5.0).contains(*n)) {
            Some(n) => sure(n.to_string()),
            None => wrong("rating: write 1 to 5"),
        },
        Kind::Positive => match numbers.iter().find(|n| **n > 0.0 && **n <= 20_000.0) {
            Some(n) => sure(decimal(*n)),
            None => wrong("length in mm: write such as 80"),
        },
        Kind::Stops => match numbers.iter().find(|n| n.abs() <= 30.0) {
            Some(n) => sure(decimal(*n)),
            None => guessed(&text, dated_thirds(&text), "number of stops: write such as 0.67 or -1"),
        },
        Kind::Degrees => match numbers.iter().find(|n| n.abs() <= 180.0) {
            Some(n) => sure(decimal(*n)),
            None => wrong("degrees: write such as 54.1234"),
        },
        Kind::Flags => wrong("flag"),
    }
}

/// The one setting that a date may have been.
fn guessed(text: &str, candidates: Vec<String>, what: &str) -> Result<Understood, String> {
    match &candidates[..] {
        [one] => Ok(Understood { text: one.clone(), guessed: true }),
        [] => Err(format!("'{text}' is no {what}")),
        many => Err(format!("'{text}' is a date; it may have been {}", many.join(" or "))),
    }
}

fn filters(text: &str) -> Filters {
    Filters::from(text.to_owned())
}

/// A shutter setting with some freedom: `1/125 s`, `2 s`, `2"`, `b 45 s`.
fn shutter(text: &str) -> Option<Shutter> {
    let plain = text.replace('"', "s").replace("sec", "s");
    let upper = plain.strip_prefix(['b', 'B', 't', 'T']);
    let tight = match upper {
        Some(rest) if rest.trim().is_empty() => plain[..1].to_uppercase(),
        Some(rest) => format!("{} {}", plain[..1].to_uppercase(), rest.replace(' ', "").replace(',', ".")),
        None => plain.replace(' ', "").replace(',', "."),
    };
    tight.parse().ok()
}

/// A fraction of a second that a spreadsheet shows as a decimal, when a dial has it.
fn fraction_of(numbers: &[f64]) -> Option<Shutter> {
    let seconds = numbers.iter().copied().find(|n| *n > 0.0 && *n < 1.0)?;
    fractions().into_iter().find(|s| (s.seconds() / seconds - 1.0).abs() < 0.01).map(Shutter::Timed)
}

fn fractions() -> Vec<Speed> {
    let steps = [ShutterStep::Full, ShutterStep::Half, ShutterStep::Third, ShutterStep::Old];
    let mut all: Vec<Speed> = Vec::new();
    for speed in steps.iter().flat_map(|s| s.marks()).filter(|s| s.is_fraction()) {
        if !all.contains(&speed) {
            all.push(speed);
        }
    }
    all
}

fn aperture(text: &str) -> Option<Aperture> {
    let plain = text.replace(',', ".").replace(' ', "");
    // No ring goes that far: it is the day count of a date.
    plain.parse::<Aperture>().ok().filter(|a| a.number() <= 512.0)
}

fn dated(text: &str, reading: impl Fn((u32, u32)) -> Option<String>) -> Vec<String> {
    let mut found: Vec<String> =
        calendar::dates(text).into_iter().flat_map(|d| d.pairs()).filter_map(reading).collect();
    found.sort();
    found.dedup();
    found
}

fn dated_shutter(text: &str) -> Vec<String> {
    let marks = fractions();
    dated(text, |(a, b)| {
        let speed = (a == 1 && b > 1).then(|| Speed::nth(f64::from(b))).flatten()?;
        marks.contains(&speed).then(|| speed.to_string())
    })
}

fn dated_aperture(text: &str) -> Vec<String> {
    let marks: Vec<Aperture> =
        [ApertureStep::Full, ApertureStep::Half, ApertureStep::Third].iter().flat_map(|s| s.marks()).collect();
    dated(text, |(a, b)| {
        let f: Aperture = format!("{a}.{b}").parse().ok()?;
        marks.contains(&f).then(|| f.to_string())
    })
}

fn dated_thirds(text: &str) -> Vec<String> {
    dated(text, |pair| match pair {
        (1, 3) => Some(decimal(1.0 / 3.0)),
        (2, 3) => Some(decimal(2.0 / 3.0)),
        (1, 2) => Some(decimal(0.5)),
        _ => None,
    })
}

fn decimal(n: f64) -> String {
    ((n * 1e6).round() / 1e6).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dressed_cells_are_no_change() {
        use Kind::*;
        for (kind, was, cell) in [
            (Shutter, "1/125", "1/125 s"),
            (Shutter, "1/125", "0.008"),
            (Shutter, "1/125", "0,008"),
            (Shutter, "1/60", "0.016667"),
            (Shutter, "B 45s", "b 45 s"),
            (Shutter, "2s", "2"),
            (Aperture, "5.6", "5,6"),
            (Aperture, "5.6", "5.60"),
            (Aperture, "8", "f/8"),
            (Aperture, "8", "8.0"),
            (Speed, "1600", "1,600"),
            (Speed, "80", "80.0"),
            (Name, "007", "7"),
            (Name, "Merrow Pan 100", "merrow  pan 100"),
            (Name, "120", "120,0"),
            (Text, "the \"old\" slip", "the \u{201c}old\u{201d} slip "),
            (Text, "true", "TRUE"),
            (Filter, "yellow+polariser", "Polariser + yellow"),
            (Scan, "7/1.tif|7/2.tif", "7\\1.tif | 7/2.tif"),
            (Degrees, "-9.2", "-9,20"),
            (Stops, "0.33", "1/3"),
        ] {
            let expected = if (kind, cell) == (Stops, "1/3") { Sameness::Different } else { Sameness::Same };
            assert_eq!(same(kind, was, cell), expected, "{was} {cell}");
        }
        for (kind, was, cell) in [
            (Shutter, "1/15", "15-Jan"),
            (Shutter, "1/125", "Jan-25"),
            (Shutter, "1/125", "01-Jan-25"),
            (Shutter, "1/60", "Jan-60"),
            (Shutter, "1/2000", "01.01.2000"),
            (Aperture, "5.6", "05-Jun"),
            (Aperture, "5.6", "45813"),
            (Aperture, "2.8", "02.08.2025"),
            (Stops, "1.5", "1. Mai"),
            (Name, "3-4", "03-Apr"),
        ] {
            assert_eq!(same(kind, was, cell), Sameness::Mangled, "{was} {cell}");
        }
    }

    #[test]
    fn changes_are_read() {
        use Kind::*;
        for (kind, was, cell, now, guess) in [
            (Shutter, "1/125", "1/25", "1/25", false),
            (Shutter, "1/125", "1/60", "1/60", false),
            (Shutter, "1/125", "Jan-60", "1/60", true),
            (Shutter, "1/125", "15-Jan", "1/15", true),
            (Shutter, "1/125", "0.5", "1/2", false),
            (Shutter, "1/125", "2 s", "2s", false),
            (Shutter, "", "B", "B", false),
            (Aperture, "8", "5,6", "5.6", false),
            (Aperture, "8", "06-May", "5.6", true),
            (Aperture, "5.6", "6.5", "6.5", false),
            (Aperture, "5.6", "", "", false),
            (Speed, "100", "1,600", "1600", false),
            (Rating, "", "4.0", "4", false),
            (Stops, "", "-1 1/3", "-1.333333", false),
            (Stops, "", "03-Jan", "0.333333", true),
            (Filter, "none", "Orange + ND4", "Orange+ND4", false),
            (Status, "ok", "Wasted", "wasted", false),
            (Text, "quay", "Quay", "Quay", false),
        ] {
            assert_eq!(same(kind, was, cell), Sameness::Different, "{was} {cell}");
            assert_eq!(read(kind, was, cell), Ok(Understood { text: now.into(), guessed: guess }), "{was} {cell}");
        }
        for (kind, cell) in [
            (Shutter, "125"),
            (Shutter, "fast"),
            (Shutter, "2025-03-04"),
            (Aperture, "0"),
            (Rating, "6"),
            (Status, "lost"),
            (Scan, "../x.tif"),
            (Degrees, "200"),
        ] {
            assert!(read(kind, "", cell).is_err(), "{cell}");
        }
    }
}
