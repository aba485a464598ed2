//! Settings and flags as a photographer writes and reads them.

use crate::exposure::{Shutter, Stops};
use crate::facts::{Field, Flag, FrameNumber};
use crate::kit::Kit;
use crate::roll::{Frame, Quote, Status};

use super::row::number;

/// The settings on one line: `1/125 · f/5.6 · 120 mm · orange · EI 80 · +⅔`.
/// Unknown ones are left out.
pub fn settings(frame: &Frame) -> Vec<(Field, String)> {
    let mut parts = Vec::new();
    let mut put = |field, text: Option<String>| parts.extend(text.map(|t| (field, t)));
    put(Field::Shutter, frame.shutter.as_ref().map(|s| shutter(s.value)));
    put(Field::Aperture, frame.aperture.as_ref().map(|s| format!("f/{}", s.value)));
    put(Field::FocalMm, frame.focal_mm.as_ref().map(|s| format!("{} mm", number(s.value, 2))));
    put(
        Field::Filter,
        frame.filter.as_ref().map(|s| if s.value.is_none() { "no filter".into() } else { s.value.to_string() }),
    );
    put(Field::Ei, frame.ei.as_ref().map(|s| format!("EI {}", s.value.get())));
    put(Field::CompStops, frame.comp.as_ref().map(|s| stops(s.value)));
    parts
}

/// A shutter setting with its unit set off: `1/125`, `2 s`, `B 45 s`.
pub fn shutter(s: Shutter) -> String {
    let text = s.to_string();
    match text.strip_suffix('s') {
        Some(t) => format!("{t} s"),
        None => text,
    }
}

/// A difference in stops with its sign, in thirds or halves where it is one:
/// `+⅔`, `−1½`, `0`; else with one decimal.
pub fn stops(s: Stops) -> String {
    let size = s.get().abs();
    let sign = if s.get() < 0.0 { "−" } else { "+" };
    let whole = (size + 0.02).floor();
    let rest = size - whole;
    let part =
        [(0.0, ""), (1.0 / 3.0, "⅓"), (0.5, "½"), (2.0 / 3.0, "⅔")].iter().find(|(p, _)| (rest - p).abs() < 0.02);
    match part {
        Some((_, "")) if whole == 0.0 => "0".to_owned(),
        Some((_, glyph)) if whole == 0.0 => format!("{sign}{glyph}"),
        Some((_, glyph)) => format!("{sign}{whole}{glyph}"),
        None => format!("{sign}{size:.1}"),
    }
}

/// A difference in stops to one decimal, with its sign.
pub fn stops_measured(s: Stops) -> String {
    let tenths = (s.get() * 10.0).round() / 10.0;
    if tenths == 0.0 { "0.0".to_owned() } else { format!("{tenths:+.1}").replace('-', "−") }
}

/// Sorts of flags, most pressing first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum FlagKind {
    /// Two sources disagree.
    Conflict,
    /// Not sure.
    Unsure,
    /// Outside the gear or unusual.
    Odd,
    /// Matched on weak evidence.
    Guess,
    /// Slow for hand-holding.
    Shake,
    /// Carried from an earlier frame.
    Carried,
    /// The clip is gone.
    Gone,
}

impl FlagKind {
    /// Every sort, most pressing first.
    pub const ALL: [Self; 7] =
        [Self::Conflict, Self::Unsure, Self::Odd, Self::Guess, Self::Shake, Self::Carried, Self::Gone];

    /// The sort of a flag.
    pub const fn of(flag: Flag) -> Self {
        match flag {
            Flag::Conflict(_) => Self::Conflict,
            Flag::Unsure(_) => Self::Unsure,
            Flag::Odd(_) => Self::Odd,
            Flag::GuessScan => Self::Guess,
            Flag::Shake => Self::Shake,
            Flag::Carried(_) => Self::Carried,
            Flag::GoneClip => Self::Gone,
        }
    }

    /// One word, for classes and queries.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Conflict => "conflict",
            Self::Unsure => "unsure",
            Self::Odd => "odd",
            Self::Guess => "guess",
            Self::Shake => "shake",
            Self::Carried => "carried",
            Self::Gone => "gone",
        }
    }

    /// In words.
    pub const fn label(self) -> &'static str {
        match self {
            Self::Conflict => "sources disagree",
            Self::Unsure => "not sure",
            Self::Odd => "unusual",
            Self::Guess => "scan guessed",
            Self::Shake => "slow for hand-holding",
            Self::Carried => "carried over",
            Self::Gone => "clip gone",
        }
    }
}

/// Whether a flag asks the photographer to look. A carried setting alone does
/// not: it is the usual way of speaking. Nor does a slow time: it is how the
/// frame was taken, and nothing about it is in doubt. Nor a clip that is gone:
/// there is nothing left to listen to, and no value is less sure for it.
pub const fn wants_a_look(flag: Flag) -> bool {
    !matches!(flag, Flag::Carried(_) | Flag::Shake | Flag::GoneClip)
}

/// The flags of a frame that ask for a look and were not looked at, most pressing first.
pub fn pressing(frame: &Frame) -> Vec<Flag> {
    let asks = |f: &Flag| wants_a_look(*f) && !frame.looked_at.contains(f);
    let mut flags: Vec<Flag> = frame.flags.iter().copied().filter(asks).collect();
    flags.sort_by_key(|f| FlagKind::of(*f));
    flags
}

/// Whether anything about a frame asks for a look.
pub fn in_doubt(frame: &Frame) -> bool {
    frame.flags.iter().any(|f| wants_a_look(*f) && !frame.looked_at.contains(f))
}

/// A cell of the table as a photographer writes it: `2s` as `2 s`, `5.6` as `f/5.6`.
pub fn cell(field: Field, text: &str) -> String {
    match field {
        Field::Shutter => text.parse().map_or_else(|_| text.to_owned(), shutter),
        Field::Aperture => format!("f/{text}"),
        Field::FocalMm => format!("{text} mm"),
        Field::Ei => format!("EI {text}"),
        Field::CompStops => text.parse().map_or_else(|_| text.to_owned(), |n| stops(Stops::new(n))),
        Field::Filter if text == "none" => "no filter".to_owned(),
        _ => text.to_owned(),
    }
}

/// How likely a field's value and its other readings are, the value first; they add up to 1, or to
/// the value's own confidence where it has no other reading.
pub fn shares(frame: &Frame, field: Field) -> Vec<f64> {
    let others: Vec<f64> = frame.readings(field).iter().map(|r| r.confidence.get()).collect();
    let Some(value) = frame.ground(field).map(|g| g.confidence().get()) else { return Vec::new() };
    let all: f64 = others.iter().sum();
    if all <= 0.0 {
        return std::iter::once(value).chain(others).collect();
    }
    // What the value leaves is shared among the others as their weights are.
    std::iter::once(value).chain(others.iter().map(|o| (1.0 - value) * o / all)).collect()
}

/// Shares in whole per cents that add up to a hundred: the first is never rounded up, what is left
/// over goes to the others, the largest remainders first.
pub fn whole_percents(shares: &[f64]) -> Vec<u32> {
    let mut whole: Vec<u32> = shares.iter().map(|p| (p * 100.0 + 1e-9).floor() as u32).collect();
    let mut order: Vec<usize> = (1..shares.len()).collect();
    let rest = |i: &usize| shares[*i] * 100.0 - (shares[*i] * 100.0).floor();
    order.sort_by(|a, b| rest(b).total_cmp(&rest(a)));
    let missing = 100_u32.saturating_sub(whole.iter().sum()) as usize;
    for i in order.into_iter().cycle().take(if shares.len() > 1 { missing } else { 0 }) {
        whole[i] += 1;
    }
    whole
}

/// A status in words.
pub const fn status(status: Status) -> &'static str {
    match status {
        Status::Ok => "noted and scanned",
        Status::Wasted => "wasted",
        Status::Unscanned => "not scanned",
        Status::Unnoted => "not noted",
    }
}

/// A field in words.
pub const fn field(f: Field) -> &'static str {
    match f {
        Field::FocalMm => "focal length",
        Field::BoxIso => "box speed",
        Field::Ei => "exposure index",
        Field::CompStops => "compensation",
        Field::Frame => "frame number",
        Field::Taken => "time taken",
        Field::Extras => "flash, converter or bellows",
        f => f.as_str(),
    }
}

/// A flag in words.
pub fn flag(f: Flag) -> String {
    match f {
        Flag::Unsure(x) => format!("{} not sure", field(x)),
        Flag::Conflict(x) => format!("sources disagree on the {}", field(x)),
        Flag::Odd(x) => format!("unusual {}", field(x)),
        Flag::Shake => "slow for hand-holding".to_owned(),
        Flag::Carried(x) => format!("{} carried over", field(x)),
        Flag::GuessScan => "scan matched on weak evidence".to_owned(),
        Flag::GoneClip => "clip gone".to_owned(),
    }
}

/// The reason given for a flag, if one was.
pub fn reason(frame: &Frame, flag: Flag) -> Option<&str> {
    frame.reasons.iter().find(|(f, _)| *f == flag).map(|(_, why)| why.as_str()).filter(|w| !w.is_empty())
}

/// The words of a quote in pieces, each with whether it was used.
pub fn parts(quote: &Quote) -> Vec<(&str, bool)> {
    let mut parts = Vec::new();
    let mut at = 0;
    for unread in &quote.unread {
        if let (Some(used), Some(left)) = (quote.text.get(at..unread.start), quote.text.get(unread.clone())) {
            parts.extend((!used.is_empty()).then_some((used, true)));
            parts.push((left, false));
            at = unread.end;
        }
    }
    parts.extend(quote.text.get(at..).filter(|t| !t.is_empty()).map(|t| (t, true)));
    parts
}

/// Frame numbers as ranges: `1–4, 7, 12A`.
pub fn ranges(numbers: &[FrameNumber]) -> String {
    let mut parts: Vec<(FrameNumber, FrameNumber)> = Vec::new();
    for &n in numbers {
        match parts.last_mut() {
            Some((_, last)) if !n.is_a() && !last.is_a() && last.next() == n => *last = n,
            _ => parts.push((n, n)),
        }
    }
    let text = |(a, b): &(FrameNumber, FrameNumber)| if a == b { a.to_string() } else { format!("{a}–{b}") };
    parts.iter().map(text).collect::<Vec<_>>().join(", ")
}

/// So many of a thing: `1 roll`, `2 rolls`, `2 lenses`.
pub fn counted(n: usize, what: &str) -> String {
    let ending = match n {
        1 => "",
        _ if what.ends_with('s') => "es",
        _ => "s",
    };
    format!("{n} {what}{ending}")
}

/// What a kit has of cameras, lenses, films and filters.
pub fn in_kit(kit: &Kit) -> String {
    let all = [
        (kit.cameras.len(), "camera"),
        (kit.lenses.len(), "lens"),
        (kit.films.len(), "film"),
        (kit.filters.len(), "filter"),
    ];
    all.map(|(n, what)| counted(n, what)).join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stops_are_written_in_thirds_and_halves() {
        let cases = [
            (0.0, "0"),
            (1.0, "+1"),
            (-0.33, "−⅓"),
            (0.67, "+⅔"),
            (1.5, "+1½"),
            (-2.6667, "−2⅔"),
            (0.2, "+0.2"),
            (0.99, "+1"),
        ];
        for (n, text) in cases {
            assert_eq!(stops(Stops::new(n)), text, "{n}");
        }
        assert_eq!(stops_measured(Stops::new(-0.04)), "0.0");
        assert_eq!(stops_measured(Stops::new(-1.26)), "−1.3");
    }

    #[test]
    fn times_have_their_unit_set_off() {
        for (mark, text) in [("1/125", "1/125"), ("2s", "2 s"), ("B 45s", "B 45 s"), ("T", "T")] {
            assert_eq!(shutter(mark.parse().unwrap()), text);
        }
    }

    #[test]
    fn frame_numbers_gather_into_ranges() {
        let numbers: Vec<FrameNumber> =
            ["00", "0", "1", "2", "5", "12", "12A", "13"].iter().map(|n| n.parse().unwrap()).collect();
        assert_eq!(ranges(&numbers), "00–2, 5, 12, 12A, 13");
        assert_eq!(ranges(&[]), "");
    }

    #[test]
    fn per_cents_add_up() {
        assert_eq!(whole_percents(&[0.716, 0.142, 0.142]), [71, 15, 14]);
        assert_eq!(whole_percents(&[0.999, 0.001]), [99, 1]);
        assert_eq!(whole_percents(&[1.0 / 3.0, 1.0 / 3.0, 1.0 / 3.0]), [33, 34, 33]);
        assert_eq!(whole_percents(&[0.6]), [60]);
    }
}
