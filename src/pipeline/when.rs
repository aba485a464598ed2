//! When and where the frames were taken, from the clips they were noted in.

use std::collections::HashMap;

use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};

use crate::facts::Taken;
use crate::roll::{Frame, NotedRoll};

use super::Note;

/// A time on the trip's clock. A time with an offset keeps its instant; one
/// without is taken as it stands, and gets the offset the zone had then.
pub fn in_zone(taken: &Taken, zone: &TimeZone) -> Taken {
    let instant: Option<Timestamp> = match taken.offset_s {
        Some(s) => {
            let offset = jiff::tz::Offset::from_seconds(s).ok();
            offset.and_then(|o| o.to_timestamp(taken.local).ok())
        }
        None => zone.to_timestamp(taken.local).ok(),
    };
    let Some(instant) = instant else { return taken.clone() };
    let offset = zone.to_offset(instant);
    Taken { local: offset.to_datetime(instant), offset_s: Some(offset.seconds()), known_by: taken.known_by }
}

/// Gives every frame the time and place of the words that it rests on first.
pub fn place_frames(rolls: &mut [NotedRoll], notes: &[Note]) {
    let by_name: HashMap<&str, &Note> = notes.iter().map(|n| (n.name.as_str(), n)).collect();
    for frame in rolls.iter_mut().flat_map(|r| &mut r.frames) {
        place(&mut frame.frame, &by_name);
    }
}

fn place(frame: &mut Frame, notes: &HashMap<&str, &Note>) {
    let Some(first) = frame.said.first() else { return };
    let Some(note) = notes.get(first.at.clip.as_str()) else { return };
    if frame.taken.is_none() {
        frame.taken = note.taken.as_ref().map(|t| later(t, first.at.at_s));
    }
    frame.position = frame.position.or(note.position);
}

fn later(start: &Taken, seconds: f64) -> Taken {
    let moved = SignedDuration::try_from_secs_f64(seconds.max(0.0).round()).ok();
    let local = moved.and_then(|d| start.local.checked_add(d).ok()).unwrap_or(start.local);
    Taken { local, ..start.clone() }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::facts::{FrameNumber, KnownBy, Moment};
    use crate::roll::{Quote, Status};

    fn taken(hour: i8, offset_s: Option<i32>) -> Taken {
        Taken { local: date(2025, 6, 18).at(hour, 15, 2, 0), offset_s, known_by: KnownBy::Container }
    }

    #[test]
    fn universal_time_becomes_the_trips() {
        // Summer in Dublin is an hour ahead of UTC.
        let zone = TimeZone::get("Europe/Dublin").unwrap();
        assert_eq!(in_zone(&taken(8, Some(0)), &zone).rfc3339(), "2025-06-18T09:15:02+01:00");
        assert_eq!(in_zone(&taken(10, Some(7200)), &zone).rfc3339(), "2025-06-18T09:15:02+01:00");
        assert_eq!(in_zone(&taken(9, None), &zone).rfc3339(), "2025-06-18T09:15:02+01:00");
    }

    #[test]
    fn a_frame_has_the_time_of_its_words() {
        let note = Note {
            name: "a.m4a".to_owned(),
            heard: Default::default(),
            taken: Some(taken(9, Some(3600))),
            position: crate::facts::Position::new(53.2, -11.4),
            length_s: Some(200.0),
        };
        let mut frame = Frame::blank(FrameNumber::new(1), Status::Ok);
        let at = Moment { clip: "a.m4a".to_owned(), at_s: 58.2, end_s: 61.0 };
        frame.said.push(Quote { text: "f8".to_owned(), at });
        place(&mut frame, &HashMap::from([("a.m4a", &note)]));
        assert_eq!(frame.taken.unwrap().rfc3339(), "2025-06-18T09:16:00+01:00");
        assert_eq!(frame.position.unwrap().lat, 53.2);
    }
}
