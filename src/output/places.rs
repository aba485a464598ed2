//! The places of a trip for maps and other programs: GPX 1.1 and GeoJSON, a point a frame.

use quick_xml::escape::escape;
use serde_json::json;

use crate::facts::Taken;
use crate::roll::{Frame, Roll, Trip};

use super::xmp::clean;
use super::{json as record, words};

/// `trip.gpx`: a waypoint for each frame whose place is known; none when there is no such frame.
/// Order of elements, times in UTC and the range of longitudes: GPX 1.1 schema, `wptType`. A
/// time without an offset is no instant, and is left out.
pub fn gpx(trip: &Trip) -> Option<Vec<u8>> {
    let points: String = located(trip).map(|(roll, frame, lat, lon)| waypoint(roll, frame, lat, lon)).collect();
    let text = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<gpx version=\"1.1\" creator=\"spooltalk {}\" \
         xmlns=\"http://www.topografix.com/GPX/1/1\">\n<metadata><name>{}</name></metadata>\n{points}</gpx>\n",
        crate::VERSION,
        xml(&trip.name)
    );
    (!points.is_empty()).then(|| text.into_bytes())
}

/// `trip.geojson`: a feature for each frame whose place is known, longitude first (RFC 7946,
/// 3.1.1), its properties the columns of the table; none when there is no such frame.
pub fn geojson(trip: &Trip) -> Option<Vec<u8>> {
    let features: Vec<_> = located(trip)
        .map(|(roll, frame, lat, lon)| {
            json!({
                "type": "Feature",
                "id": format!("{}/{}", roll.name, frame.number),
                "geometry": { "type": "Point", "coordinates": [lon, lat] },
                "properties": record::fields(&roll.name, frame),
            })
        })
        .collect();
    let collection = json!({ "type": "FeatureCollection", "features": features });
    (!features.is_empty()).then(|| format!("{collection:#}\n").into_bytes())
}

/// Frames with their latitude and longitude, to a tenth of a metre.
fn located(trip: &Trip) -> impl Iterator<Item = (&Roll, &Frame, f64, f64)> {
    let short = |degrees: f64| (degrees * 1e6).round() / 1e6;
    trip.rolls
        .iter()
        .flat_map(|roll| roll.frames.iter().map(move |frame| (roll, frame)))
        .filter_map(move |(roll, frame)| frame.position.map(|p| (roll, frame, short(p.lat), short(p.lon))))
}

fn waypoint(roll: &Roll, frame: &Frame, lat: f64, lon: f64) -> String {
    let lon = if lon >= 180.0 { lon - 360.0 } else { lon };
    let settings: Vec<String> = words::settings(frame).into_iter().map(|(_, text)| text).collect();
    let place = frame.place.as_ref().map(|p| p.value.clone());
    let subject = frame.subject.as_ref().map(|s| s.value.clone());
    let about: Vec<String> = [subject, place].into_iter().flatten().collect();
    let element = |name: &str, text: String| {
        if text.is_empty() { String::new() } else { format!("  <{name}>{}</{name}>\n", xml(&text)) }
    };
    format!("<wpt lat=\"{lat}\" lon=\"{lon}\">\n")
        + &element("time", frame.taken.as_ref().and_then(utc).unwrap_or_default())
        + &element("name", format!("{}/{}", roll.name, frame.number))
        + &element("cmt", settings.join(", "))
        + &element("desc", about.join(", "))
        + "</wpt>\n"
}

/// The instant in UTC, `2025-06-18T08:15:02Z`.
fn utc(taken: &Taken) -> Option<String> {
    let offset = jiff::tz::Offset::from_seconds(taken.offset_s?).ok()?;
    Some(offset.to_timestamp(taken.local).ok()?.strftime("%Y-%m-%dT%H:%M:%SZ").to_string())
}

/// Text that XML takes.
fn xml(text: &str) -> String {
    escape(clean(text)).into_owned()
}

#[cfg(test)]
mod tests {
    use quick_xml::events::Event;
    use serde_json::Value;

    use super::super::tests::harbour_roll;
    use super::*;
    use crate::facts::{Confidence, KnownBy, Position, Settled, Source};

    fn trip() -> Trip {
        let mut roll = harbour_roll();
        for frame in &mut roll.frames {
            frame.position = None;
        }
        let frame = &mut roll.frames[0];
        frame.position = Position::new(54.1, 180.0);
        let local = jiff::civil::date(2025, 6, 18).at(0, 15, 2, 0);
        frame.taken = Some(Taken { local, offset_s: Some(3600), known_by: KnownBy::Container });
        frame.subject = Some(Settled::from_one("nets & \u{1}<b>".into(), Confidence::SURE, Source::Voice));
        Trip { name: "Low <Water>".into(), rolls: vec![roll] }
    }

    #[test]
    fn waypoints_as_the_schema_has_them() {
        let text = String::from_utf8(gpx(&trip()).unwrap()).unwrap();
        let mut reader = quick_xml::Reader::from_str(&text);
        let mut names = Vec::new();
        loop {
            match reader.read_event().unwrap_or_else(|e| panic!("{e}\n{text}")) {
                Event::Start(e) => names.push(e.name().as_ref().to_string()),
                Event::Eof => break,
                _ => {}
            }
        }
        // xsd:sequence of gpxType, metadataType and wptType.
        assert_eq!(names, ["gpx", "metadata", "name", "wpt", "time", "name", "cmt", "desc"]);
        assert!(text.contains("lat=\"54.1\" lon=\"-180\"") && text.contains("2025-06-17T23:15:02Z"), "{text}");
        assert!(text.contains("nets &amp; \u{fffd}&lt;b&gt;"), "{text}");
    }

    #[test]
    fn features_with_the_longitude_first() {
        let object: Value = serde_json::from_slice(&geojson(&trip()).unwrap()).unwrap();
        let one = &object["features"][0];
        assert_eq!((&object["type"], &one["type"]), (&json!("FeatureCollection"), &json!("Feature")));
        assert_eq!(one["geometry"], json!({ "type": "Point", "coordinates": [180.0, 54.1] }));
        assert_eq!(one["properties"]["shutter"], "1/125");
    }

    #[test]
    fn without_a_place_there_is_no_file() {
        let mut bare = trip();
        bare.rolls[0].frames[0].position = None;
        assert_eq!((gpx(&bare), geojson(&bare)), (None, None));
    }
}
