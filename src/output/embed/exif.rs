//! The metadata of a frame as Exif entries. Tags and types: Exif 2.32 (CIPA
//! DC-008-2019), tables 7, 8 and 15.

use crate::facts::RollName;
use crate::roll::Frame;

use super::super::xmp::fractions::{
    Fraction, bias, degrees_minutes, exposure_time, f_number, focal, light_source, sensitivity_type,
};
use super::super::xmp::said;

/// Which directory an entry belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Directory {
    /// The image's own.
    Image,
    /// Exif.
    Exif,
    /// GPS.
    Gps,
}

/// A value of one of the types of TIFF that are written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Value {
    /// BYTE.
    Bytes(Vec<u8>),
    /// ASCII; the closing zero is added when written.
    Ascii(String),
    /// SHORT.
    Short(u16),
    /// LONG.
    Long(u32),
    /// RATIONAL.
    Rationals(Vec<(u32, u32)>),
    /// SRATIONAL.
    Signed(i32, i32),
    /// UNDEFINED.
    Undefined(Vec<u8>),
}

/// An entry of a directory.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Directory.
    pub directory: Directory,
    /// Tag.
    pub tag: u16,
    /// Value.
    pub value: Value,
    /// Gives way to an entry that is there already.
    pub yields: bool,
}

/// The entries of a frame. Camera, caption and maker are left to what the
/// scanner wrote; the XMP beside them holds ours.
pub fn entries(roll: &RollName, frame: &Frame) -> Vec<Entry> {
    let mut all = Vec::new();
    let mut put = |directory, tag, value: Option<Value>| {
        all.extend(value.map(|value| Entry { directory, tag, value, yields: false }));
    };
    let rational = |f: Option<Fraction>| {
        let (n, d) = f?;
        Some(Value::Rationals(vec![(u32::try_from(n).ok()?, u32::try_from(d).ok()?)]))
    };
    use Directory::{Exif, Gps};
    put(Exif, 0x829A, rational(frame.shutter.as_ref().and_then(|s| exposure_time(s.value))));
    put(Exif, 0x829D, rational(frame.aperture.as_ref().map(|s| f_number(s.value))));
    let ei = frame.ei.as_ref().map(|s| s.value.get());
    put(Exif, 0x8827, ei.map(|ei| Value::Short(u16::try_from(ei).unwrap_or(u16::MAX))));
    put(Exif, 0x8830, sensitivity_type(frame).map(Value::Short));
    put(Exif, 0x8832, ei.map(Value::Long));
    put(Exif, 0x8833, frame.box_iso.map(|s| Value::Long(s.get())));
    // What another program takes for a fact is one; an estimate stands in the XMP, with how it is known.
    if let Some(taken) = frame.taken.as_ref().filter(|t| t.is_read()) {
        put(Exif, 0x9003, Some(Value::Ascii(taken.local.strftime("%Y:%m:%d %H:%M:%S").to_string())));
        let offset = taken
            .offset_s
            .map(|s| format!("{}{:02}:{:02}", if s < 0 { '-' } else { '+' }, s.abs() / 3600, s.abs() % 3600 / 60));
        put(Exif, 0x9011, offset.map(Value::Ascii));
    }
    put(
        Exif,
        0x9204,
        frame.comp.as_ref().and_then(|s| {
            let (n, d) = bias(s.value);
            Some(Value::Signed(i32::try_from(n).ok()?, i32::try_from(d).ok()?))
        }),
    );
    put(Exif, 0x9208, light_source(frame).map(Value::Short));
    put(Exif, 0x920A, rational(frame.focal_mm.as_ref().and_then(|s| focal(s.value))));
    let words = Some(said(frame)).filter(|w| !w.is_empty());
    put(Exif, 0x9286, words.map(|w| Value::Undefined(comment(&w))));
    put(Exif, 0xA215, rational(ei.map(|ei| (i64::from(ei), 1))));
    put(Exif, 0xA434, frame.lens.as_ref().map(|s| Value::Ascii(ascii(&s.value))));
    if let Some(at) = frame.position {
        put(Gps, 0x0000, Some(Value::Bytes(vec![2, 3, 0, 0])));
        put(Gps, 0x0001, Some(Value::Ascii(if at.lat < 0.0 { "S" } else { "N" }.into())));
        put(Gps, 0x0002, Some(degrees(at.lat)));
        put(Gps, 0x0003, Some(Value::Ascii(if at.lon < 0.0 { "W" } else { "E" }.into())));
        put(Gps, 0x0004, Some(degrees(at.lon)));
        put(Gps, 0x0012, Some(Value::Ascii("WGS-84".into())));
    }
    let camera = frame.camera.as_ref().map(|s| ascii(&s.value));
    let subject = frame.subject.as_ref().map(|s| ascii(&s.value)).unwrap_or_else(|| format!("{roll}-{}", frame.number));
    for (tag, text) in [(0x0110, camera), (0x010E, Some(subject))] {
        let value = text.filter(|t| !t.is_empty()).map(Value::Ascii);
        all.extend(value.map(|value| Entry { directory: Directory::Image, tag, value, yields: true }));
    }
    all
}

/// Degrees, minutes, no seconds; minutes to a millionth.
fn degrees(at: f64) -> Value {
    let (whole, minutes) = degrees_minutes(at);
    Value::Rationals(vec![(whole, 1), ((minutes * 1e6).round() as u32, 1_000_000), (0, 1)])
}

/// The comment with its code for Unicode, in the byte order named by its mark.
fn comment(words: &str) -> Vec<u8> {
    if words.is_ascii() {
        return [b"ASCII\0\0\0", words.as_bytes()].concat();
    }
    let units = std::iter::once(0xFEFF).chain(words.encode_utf16());
    b"UNICODE\0".iter().copied().chain(units.flat_map(u16::to_be_bytes)).collect()
}

/// Text for an ASCII entry. UTF-8 is written where ASCII does not do, as most
/// programs read it; zeros would end it early.
fn ascii(text: &str) -> String {
    text.chars().filter(|c| *c != '\0').collect()
}
