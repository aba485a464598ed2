//! Times in cells: RFC 3339 as written, or what a spreadsheet makes of it.

use jiff::civil::{DateTime, Time};

use super::calendar;
use super::understood::Understood;

/// A time as it stands in a cell.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct When {
    pub local: DateTime,
    /// As written: `+01:00`, `Z`, or empty.
    pub offset: String,
    /// The cell gives seconds.
    to_the_second: bool,
}

/// Whether `cell` still says the time `was`.
pub(super) fn same(was: &str, cell: &str) -> bool {
    let Some(was) = readings(was).into_iter().next() else { return false };
    readings(cell).iter().any(|now| {
        let apart = was.local.duration_until(now.local).as_secs().abs();
        let close = apart == 0 || !now.to_the_second && apart < 60;
        close && (now.offset.is_empty() || now.offset == was.offset)
    })
}

/// The time in a changed cell. Of a day and month that may be the other way
/// round, the date nearest to the one before is taken, as a guess. The offset
/// stays when the cell has none.
pub(super) fn read(was: &str, cell: &str) -> Option<Understood> {
    let found = readings(cell);
    let before = readings(was).into_iter().next();
    let best = match &before {
        Some(b) => found.iter().min_by_key(|w| b.local.duration_until(w.local).as_secs().abs())?,
        None => found.first()?,
    };
    let offset = match (&before, best.offset.as_str()) {
        (Some(b), "") => &b.offset,
        (_, offset) => offset,
    };
    let text = format!("{}{offset}", best.local.strftime("%Y-%m-%dT%H:%M:%S"));
    Some(Understood { text, guessed: found.len() > 1 })
}

/// Every time that a cell may stand for.
pub(super) fn readings(cell: &str) -> Vec<When> {
    let cell = cell.trim();
    let (date, time) = match cell.split_once('T').filter(|(d, _)| d.ends_with(|c: char| c.is_ascii_digit())) {
        Some(parts) => parts,
        None => match cell.find(':').and_then(|colon| cell[..colon].rfind(' ')) {
            Some(gap) => (&cell[..gap], &cell[gap + 1..]),
            None => (cell, "00:00"),
        },
    };
    let Some((time, to_the_second, offset)) = clock(time) else { return Vec::new() };
    let days = calendar::dates(date).into_iter().filter_map(calendar::Day::date);
    days.map(|d| When { local: d.to_datetime(time), offset: offset.clone(), to_the_second }).collect()
}

/// `09:15`, `9:15:02 AM`, `09:15:02+01:00`.
fn clock(text: &str) -> Option<(Time, bool, String)> {
    let (text, offset) = match text.rfind(['+', '-']).filter(|i| *i >= 4) {
        Some(i) => (&text[..i], text[i..].to_owned()),
        None => match text.strip_suffix(['Z', 'z']) {
            Some(t) => (t, "+00:00".to_owned()),
            None => (text, String::new()),
        },
    };
    if !offset.is_empty() && !is_offset(&offset) {
        return None;
    }
    let upper = text.trim().to_ascii_uppercase();
    let (digits, half) = match (upper.strip_suffix("AM"), upper.strip_suffix("PM")) {
        (Some(t), _) => (t.trim(), Some(0)),
        (_, Some(t)) => (t.trim(), Some(12)),
        _ => (upper.as_str(), None),
    };
    let digits = digits.split_once('.').map_or(digits, |(whole, _)| whole);
    let parts: Vec<i8> = digits.split(':').map(|p| p.parse().ok()).collect::<Option<_>>()?;
    let (hour, minute, second) = match parts[..] {
        [h, m] => (h, m, None),
        [h, m, s] => (h, m, Some(s)),
        _ => return None,
    };
    let hour = match half {
        Some(noon) => hour % 12 + noon,
        None => hour,
    };
    Some((Time::new(hour, minute, second.unwrap_or(0), 0).ok()?, second.is_some(), offset))
}

fn is_offset(text: &str) -> bool {
    let b = text.as_bytes();
    b.len() == 6 && b[3] == b':' && [1, 2, 4, 5].iter().all(|i| b[*i].is_ascii_digit())
}

/// Seconds of an offset such as `+01:00`; none of an empty one.
pub(super) fn offset_seconds(offset: &str) -> Option<i32> {
    let (h, m): (i32, i32) = (offset.get(1..3)?.parse().ok()?, offset.get(4..6)?.parse().ok()?);
    let seconds = h * 3600 + m * 60;
    Some(if offset.starts_with('-') { -seconds } else { seconds })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_spreadsheet_may_have_had_the_time() {
        let was = "2025-06-08T09:15:02+01:00";
        for cell in
            [was, "2025-06-08 09:15:02", "08.06.25 09:15", "6/8/2025 9:15", "06/08/25 9:15:02 AM", "8. Jun 2025 09:15"]
        {
            assert!(same(was, cell), "{cell}");
        }
        for cell in ["2025-06-08T09:15:02+02:00", "2025-06-08 09:16:02", "2025-06-09 09:15", "09:15", ""] {
            assert!(!same(was, cell), "{cell}");
        }
        let now = |cell| read(was, cell).map(|u| (u.text, u.guessed));
        assert_eq!(now("2025-06-08 10:00"), Some(("2025-06-08T10:00:00+01:00".into(), false)));
        assert_eq!(now("6/9/2025 10:00 PM"), Some(("2025-06-09T22:00:00+01:00".into(), true)));
        assert_eq!(now("2025-06-08T09:15:02Z"), Some(("2025-06-08T09:15:02+00:00".into(), false)));
        assert_eq!(now("noon"), None);
        assert_eq!((offset_seconds("-03:30"), offset_seconds("")), (Some(-12_600), None));
    }
}
