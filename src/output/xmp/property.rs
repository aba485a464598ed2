//! The properties of a frame, with the value types of the standard.
//!
//! Names and types: Adobe, "XMP namespace: EXIF"; Exif 2.32 metadata for XMP
//! (CIPA DC-010-2017); IPTC Core.

use crate::facts::{Flag, RollName};
use crate::roll::Frame;

use super::super::row::cells;
use super::super::words;
use super::fractions::{bias, coordinate, exposure_time, f_number, focal, light_source, rational, sensitivity_type};

/// A namespace and its usual prefix.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Namespace {
    /// Prefix.
    pub prefix: &'static str,
    /// Address that names it.
    pub uri: &'static str,
}

macro_rules! namespaces {
    ($($(#[$doc:meta])* $name:ident = $prefix:literal, $uri:literal;)+) => {
        impl Namespace {
            $($(#[$doc])* pub const $name: Self = Self { prefix: $prefix, uri: $uri };)+
            /// Every namespace that is written.
            pub const ALL: &'static [Self] = &[$(Self::$name),+];
        }
    };
}

namespaces! {
    /// Exif for XMP.
    EXIF = "exif", "http://ns.adobe.com/exif/1.0/";
    /// Exif 2.3 and later for XMP.
    EXIF_EX = "exifEX", "http://cipa.jp/exif/1.0/";
    /// Older names that are widely read.
    AUX = "aux", "http://ns.adobe.com/exif/1.0/aux/";
    /// TIFF for XMP.
    TIFF = "tiff", "http://ns.adobe.com/tiff/1.0/";
    /// XMP basic.
    XMP = "xmp", "http://ns.adobe.com/xap/1.0/";
    /// Dublin Core.
    DC = "dc", "http://purl.org/dc/elements/1.1/";
    /// Photoshop's.
    PHOTOSHOP = "photoshop", "http://ns.adobe.com/photoshop/1.0/";
    /// IPTC Core.
    IPTC = "Iptc4xmpCore", "http://iptc.org/std/Iptc4xmpCore/1.0/xmlns/";
    /// Our own. `.invalid` is nobody's domain (RFC 2606): a name, not an address.
    SPOOL = "spool", "http://spooltalk.invalid/ns/1.0/";
}

/// A value in one of the forms of XMP.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Value {
    /// A simple value: text, integer, rational, date.
    Plain(String),
    /// Text in a language alternative, as the default.
    Alt(String),
    /// An ordered array.
    Seq(Vec<String>),
    /// An unordered array.
    Bag(Vec<String>),
}

/// A property.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Property {
    /// Namespace.
    pub namespace: Namespace,
    /// Name in it.
    pub name: &'static str,
    /// Value.
    pub value: Value,
}

/// Largest sensitivity that fits Exif's SHORT.
const SHORT: u32 = 65_535;

/// Every property of a frame, in a fixed order. Unknown ones are absent.
pub fn properties(roll: &RollName, frame: &Frame) -> Vec<Property> {
    let mut all = Vec::new();
    let mut put = |namespace, name, value: Option<Value>| {
        all.extend(value.map(|value| Property { namespace, name, value }));
    };
    let plain = |text: Option<String>| text.filter(|t| !t.is_empty()).map(Value::Plain);
    let alt = |text: Option<String>| text.filter(|t| !t.is_empty()).map(Value::Alt);
    let ei = frame.ei.as_ref().map(|s| s.value.get());
    use Namespace as N;

    let time = frame.shutter.as_ref().and_then(|s| exposure_time(s.value));
    put(N::EXIF, "ExposureTime", plain(time.map(rational)));
    put(N::EXIF, "FNumber", plain(frame.aperture.as_ref().map(|s| rational(f_number(s.value)))));
    put(N::EXIF, "ExposureBiasValue", plain(frame.comp.as_ref().map(|s| rational(bias(s.value)))));
    put(N::EXIF, "FocalLength", plain(frame.focal_mm.as_ref().and_then(|s| focal(s.value)).map(rational)));
    put(N::EXIF, "ISOSpeedRatings", ei.map(|ei| Value::Seq(vec![ei.min(SHORT).to_string()])));
    put(N::EXIF, "ExposureIndex", plain(ei.map(|ei| format!("{ei}/1"))));
    put(N::EXIF_EX, "PhotographicSensitivity", plain(ei.map(|ei| ei.min(SHORT).to_string())));
    put(N::EXIF_EX, "SensitivityType", plain(sensitivity_type(frame).map(|t| t.to_string())));
    put(N::EXIF_EX, "RecommendedExposureIndex", plain(ei.map(|ei| ei.to_string())));
    put(N::EXIF_EX, "ISOSpeed", plain(frame.box_iso.map(|s| s.get().to_string())));
    let lens = frame.lens.as_ref().map(|s| s.value.clone());
    put(N::EXIF_EX, "LensModel", plain(lens.clone()));
    put(N::AUX, "Lens", plain(lens));
    put(N::TIFF, "Model", plain(frame.camera.as_ref().map(|s| s.value.clone())));
    // Other programs take these for facts; an estimate is only told in our own namespace.
    let taken = frame.taken.as_ref().filter(|t| t.is_read()).map(|t| t.rfc3339());
    put(N::EXIF, "DateTimeOriginal", plain(taken.clone()));
    put(N::PHOTOSHOP, "DateCreated", plain(taken));
    if let Some(at) = frame.position {
        put(N::EXIF, "GPSVersionID", plain(Some("2.3.0.0".into())));
        put(N::EXIF, "GPSLatitude", plain(Some(coordinate(at.lat, 'N', 'S'))));
        put(N::EXIF, "GPSLongitude", plain(Some(coordinate(at.lon, 'E', 'W'))));
        put(N::EXIF, "GPSMapDatum", plain(Some("WGS-84".into())));
    }
    put(N::EXIF, "LightSource", plain(light_source(frame).map(|n| n.to_string())));
    put(N::EXIF, "UserComment", alt(Some(said(frame))));
    put(N::DC, "identifier", plain(Some(format!("{roll}-{}", frame.number))));
    put(N::DC, "description", alt(frame.subject.as_ref().map(|s| s.value.clone())));
    put(N::DC, "subject", Some(Value::Bag(keywords(roll, frame))).filter(|_| !keywords(roll, frame).is_empty()));
    put(N::IPTC, "Location", plain(frame.place.as_ref().map(|s| s.value.clone())));
    put(N::PHOTOSHOP, "Instructions", plain(frame.process.as_ref().map(|s| s.value.clone())));
    put(N::XMP, "Rating", plain(frame.rating.map(|r| r.to_string())));

    // What no standard has.
    for (column, name) in [
        ("roll", "Roll"),
        ("frame", "Frame"),
        ("status", "Status"),
        ("film", "Film"),
        ("shutter", "Shutter"),
        ("filter", "Filter"),
        ("filter_stops", "FilterStops"),
        ("ev100", "EV100"),
        ("light", "Light"),
        ("support", "Support"),
        ("remark", "Remark"),
        ("source", "Source"),
        ("confidence", "Confidence"),
    ] {
        let cell = cells(roll, frame).into_iter().find(|(c, _)| *c == column).map(|(_, text)| text);
        put(N::SPOOL, name, plain(cell));
    }
    let estimate = frame.taken.as_ref().filter(|t| !t.is_read()).map(|t| t.rfc3339());
    put(N::SPOOL, "TakenAbout", plain(estimate));
    put(N::SPOOL, "TakenKnownBy", plain(frame.taken.as_ref().map(|t| t.known_by.as_str().to_owned())));
    let list = |items: Vec<String>| Some(items).filter(|i| !i.is_empty());
    put(N::SPOOL, "Flags", list(frame.flags.iter().map(ToString::to_string).collect()).map(Value::Bag));
    let reasons = frame.reasons.iter().map(|(flag, why)| format!("{flag}: {why}")).collect();
    put(N::SPOOL, "Reasons", list(reasons).map(Value::Seq));
    all
}

/// Film, filters, light, roll, and what is to be checked, as a catalogue finds them.
pub fn keywords(roll: &RollName, frame: &Frame) -> Vec<String> {
    let mut all = vec![format!("roll {roll}")];
    all.extend(frame.film.as_ref().map(|s| s.value.clone()));
    let filters = frame.filter.iter().flat_map(|s| &s.value.0);
    all.extend(filters.map(|name| format!("{name} filter")));
    all.extend(frame.light.as_ref().map(|s| s.value.clone()));
    // What was looked at and left open is not sure either.
    let doubtful = frame.flags.iter().filter(|f| words::wants_a_look(**f));
    all.extend(doubtful.map(|flag| format!("to check: {}", words::flag(*flag))));
    all.extend(frame.flags.contains(&Flag::Shake).then(|| words::flag(Flag::Shake)));
    all.retain(|k| !k.trim().is_empty());
    all
}

/// The words that the frame rests on.
pub fn said(frame: &Frame) -> String {
    frame.said.iter().map(|q| q.text.as_str()).collect::<Vec<_>>().join(" / ")
}
