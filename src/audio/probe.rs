//! What a recording says about itself: how long, when, where.

use std::fs::{self, File};
use std::io::{Read, Seek};
use std::path::Path;

use jiff::civil::DateTime;
use jiff::tz::TimeZone;
use jiff::{Timestamp, ZonedDateTime};

use super::{AudioError, file_name, mp4};
use crate::facts::{KnownBy, Position, Taken};

/// What is known of a clip without listening to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Recording {
    /// Seconds of sound, where the container says so.
    pub length_s: Option<f64>,
    /// When it was begun, in local time, and how that is known.
    pub taken: Option<Taken>,
    /// Where it was made.
    pub position: Option<Position>,
}

/// Looks at a clip. `zone` is where the photographer was: times in UTC are told in it. Without
/// one, they stay in UTC.
///
/// Times come from the container, else from the file's name, else from the file's own time.
///
/// # Errors
/// `Empty` for a file of no bytes, `Io` when it cannot be read.
pub fn probe(path: &Path, zone: Option<&TimeZone>) -> Result<Recording, AudioError> {
    let mut file = File::open(path)?;
    let about = file.metadata()?;
    if about.len() == 0 {
        return Err(AudioError::Empty);
    }
    let mut first = Vec::new();
    file.by_ref().take(4096).read_to_end(&mut first)?;
    file.rewind()?;
    let utc = TimeZone::UTC;
    let zone = zone.unwrap_or(&utc);
    let mut found = Recording { length_s: None, taken: None, position: None };
    if mp4::is_mp4(&first) {
        let movie = mp4::read(&mut file);
        found.length_s = movie.length_s;
        found.position = movie.position;
        found.taken = movie
            .created_local
            .and_then(|t| with_offset(&t))
            .or_else(|| movie.created.map(|t| at(t, zone, KnownBy::Container)));
    } else {
        found.taken = bext(&first).map(|t| local(t, zone, KnownBy::Container));
    }
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    found.taken = found.taken.or_else(|| file_name::time_in(&name).map(|t| local(t, zone, KnownBy::FileName)));
    if found.taken.is_none() {
        found.taken = modified(&about).map(|t| at(t, zone, KnownBy::FileTime));
    }
    Ok(found)
}

fn modified(about: &fs::Metadata) -> Option<Timestamp> {
    Timestamp::try_from(about.modified().ok()?).ok()
}

/// An instant, told in a zone.
fn at(t: Timestamp, zone: &TimeZone, known_by: KnownBy) -> Taken {
    let z = t.to_zoned_datetime(zone.clone());
    Taken { local: whole(z.datetime()), offset_s: Some(z.offset().seconds()), known_by }
}

/// A local time, with the offset that the zone had then; in UTC it has none, since
/// then nobody said which zone it is.
fn local(t: DateTime, zone: &TimeZone, known_by: KnownBy) -> Taken {
    let offset_s = (*zone != TimeZone::UTC).then(|| zone.to_ambiguous_zoned_datetime(t).compatible().ok()).flatten();
    Taken { local: whole(t), offset_s: offset_s.map(|z: ZonedDateTime| z.offset().seconds()), known_by }
}

fn whole(t: DateTime) -> DateTime {
    t.with().subsec_nanosecond(0).build().unwrap_or(t)
}

/// `2025-06-18T09:15:02+0100`, as some phones write it beside the UTC time.
fn with_offset(text: &str) -> Option<Taken> {
    let z =
        ["%Y-%m-%dT%H:%M:%S%z", "%Y-%m-%dT%H:%M:%S%:z"].iter().find_map(|f| ZonedDateTime::strptime(f, text).ok())?;
    Some(Taken { local: whole(z.datetime()), offset_s: Some(z.offset().seconds()), known_by: KnownBy::Container })
}

/// Date and time in the `bext` chunk of a broadcast wave (EBU Tech 3285): 256 bytes of
/// description, two names of 32, then `yyyy-mm-dd` and `hh-mm-ss`.
fn bext(first: &[u8]) -> Option<DateTime> {
    if first.get(..4)? != b"RIFF" || first.get(8..12)? != b"WAVE" {
        return None;
    }
    let chunk = first.windows(4).position(|w| w == b"bext")? + 8;
    let text = std::str::from_utf8(first.get(chunk + 320..chunk + 338)?).ok()?;
    let number = |from: usize, to: usize| text.get(from..to)?.parse::<i16>().ok();
    let small = |from: usize| number(from, from + 2).and_then(|n| i8::try_from(n).ok());
    DateTime::new(number(0, 4)?, small(5)?, small(8)?, small(10)?, small(13)?, small(16)?, 0).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn zone() -> TimeZone {
        TimeZone::get("Atlantic/Faroe").unwrap()
    }

    #[test]
    fn utc_is_told_in_the_photographers_zone() {
        let t = at("2025-06-18T08:15:02.5Z".parse().unwrap(), &zone(), KnownBy::Container);
        assert_eq!(t.rfc3339(), "2025-06-18T09:15:02+01:00");
    }

    #[test]
    fn a_local_time_gets_the_offset_of_its_day() {
        let t = |month| jiff::civil::date(2025, month, 18).at(9, 15, 2, 0);
        assert_eq!(local(t(6), &zone(), KnownBy::FileName).rfc3339(), "2025-06-18T09:15:02+01:00");
        assert_eq!(local(t(1), &zone(), KnownBy::FileName).rfc3339(), "2025-01-18T09:15:02+00:00");
        assert_eq!(local(t(1), &TimeZone::UTC, KnownBy::FileName).offset_s, None);
    }

    #[test]
    fn phones_write_their_own_offset() {
        for text in ["2025-06-18T09:15:02+0100", "2025-06-18T09:15:02+01:00"] {
            assert_eq!(with_offset(text).unwrap().rfc3339(), "2025-06-18T09:15:02+01:00");
        }
        assert_eq!(with_offset("yesterday"), None);
    }

    #[test]
    fn a_broadcast_wave_knows_its_hour() {
        let mut wave = b"RIFF\0\0\0\0WAVEbext\0\0\0\0".to_vec();
        wave.extend([0; 320]);
        wave.extend(b"2025-06-1809:15:02");
        assert_eq!(bext(&wave).unwrap().to_string(), "2025-06-18T09:15:02");
        assert_eq!(bext(&wave[..300]), None);
    }

    #[test]
    fn the_name_before_the_files_own_time() {
        let folder = tempfile::tempdir().unwrap();
        let named = folder.path().join("2025-06-18 11.20.05.m4a");
        fs::write(&named, b"x").unwrap();
        assert_eq!(probe(&named, Some(&zone())).unwrap().taken.unwrap().rfc3339(), "2025-06-18T11:20:05+01:00");
        let plain = folder.path().join("pier.m4a");
        fs::write(&plain, b"x").unwrap();
        assert_eq!(probe(&plain, None).unwrap().taken.unwrap().known_by, KnownBy::FileTime);
        fs::write(&plain, b"").unwrap();
        assert!(matches!(probe(&plain, None), Err(AudioError::Empty)));
    }
}
