//! What a scan's tags say. The times are those of scanning.

use std::fs::File;
use std::io::{BufRead, BufReader};
use std::path::Path;

use exif::{Exif, In, Tag, Value};
use jiff::civil::{Date, DateTime, Time};

use crate::facts::{KnownBy, Taken};

use super::ScanError;

/// Larger TIFF files are not read for their tags: the reader takes a whole
/// TIFF file into memory.
const LARGEST_TIFF: u64 = 64 << 20;

/// Tags of a scan.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Tags {
    /// When it was scanned.
    pub scanned: Option<Taken>,
    /// The description that the scanner or the lab wrote.
    pub description: Option<String>,
    /// The scanner's own count of pictures.
    pub image_number: Option<u32>,
}

/// Reads the tags of a TIFF, JPEG or PNG file. A picture without tags has none.
///
/// # Errors
/// [`ScanError::Unreadable`] when the file cannot be opened.
pub fn tags(path: &Path) -> Result<Tags, ScanError> {
    let unreadable = |e: std::io::Error| ScanError::Unreadable { path: path.to_owned(), why: e.to_string() };
    let file = File::open(path).map_err(unreadable)?;
    let length = file.metadata().map_err(unreadable)?.len();
    let mut reader = BufReader::new(file);
    let first = reader.fill_buf().map_err(unreadable)?;
    if length > LARGEST_TIFF && (first.starts_with(b"II") || first.starts_with(b"MM")) {
        return Ok(Tags::default());
    }
    Ok(exif::Reader::new().read_from_container(&mut reader).map(|e| of(&e)).unwrap_or_default())
}

fn of(exif: &Exif) -> Tags {
    let times = [
        (Tag::DateTimeDigitized, Tag::OffsetTimeDigitized),
        (Tag::DateTimeOriginal, Tag::OffsetTimeOriginal),
        (Tag::DateTime, Tag::OffsetTime),
    ];
    let scanned = times.iter().find_map(|&(time, offset)| {
        let local = date_time(&ascii(exif, time)?)?;
        Some(Taken { local, offset_s: ascii(exif, offset).and_then(|o| offset_s(&o)), known_by: KnownBy::Container })
    });
    let image_number = exif.get_field(Tag(exif::Context::Exif, 0x9211), In::PRIMARY).and_then(|f| f.value.get_uint(0));
    Tags { scanned, description: ascii(exif, Tag::ImageDescription), image_number }
}

fn ascii(exif: &Exif, tag: Tag) -> Option<String> {
    let Value::Ascii(parts) = &exif.get_field(tag, In::PRIMARY)?.value else { return None };
    let text = String::from_utf8_lossy(parts.first()?).trim_matches(['\0', ' ']).to_owned();
    (!text.is_empty()).then_some(text)
}

/// `2025:06:18 09:15:02`.
fn date_time(text: &str) -> Option<DateTime> {
    let (date, time) = text.split_once(' ')?;
    let mut d = date.splitn(3, [':', '-']);
    let date = Date::new(d.next()?.parse().ok()?, d.next()?.parse().ok()?, d.next()?.parse().ok()?).ok()?;
    let mut t = time.splitn(3, ':');
    let (hour, minute) = (t.next()?.parse().ok()?, t.next()?.parse().ok()?);
    let second = t.next()?.get(..2)?.parse().ok()?;
    Some(date.to_datetime(Time::new(hour, minute, second, 0).ok()?))
}

/// `+01:00` in seconds.
fn offset_s(text: &str) -> Option<i32> {
    let (sign, rest) = match text.split_at_checked(1)? {
        ("+", rest) => (1, rest),
        ("-", rest) => (-1, rest),
        _ => return None,
    };
    let (h, m) = rest.split_once(':')?;
    let (h, m): (i32, i32) = (h.parse().ok()?, m.parse().ok()?);
    (h <= 14 && m < 60).then_some(sign * (h * 3600 + m * 60))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_of_scanning_are_read() {
        assert_eq!(date_time("2025:06:18 09:15:02"), Some(jiff::civil::date(2025, 6, 18).at(9, 15, 2, 0)));
        for bad in ["", "0000:00:00 00:00:00", "2025:06:18", "2025:13:18 09:15:02", "    :  :     :  :  "] {
            assert_eq!(date_time(bad), None, "{bad}");
        }
        assert_eq!(offset_s("-03:30"), Some(-12_600));
        assert_eq!(offset_s("03:30"), None);
    }
}
