//! When and where each frame was taken, from the clips that speak of it.

use jiff::SignedDuration;
use jiff::tz::{Offset, TimeZone};

use crate::facts::{KnownBy, Position, Taken};
use crate::kit::Kit;

use crate::roll::record::Frame;

/// When and where a clip was recorded.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ClipFacts {
    /// When its recording began.
    pub taken: Option<Taken>,
    /// Where the phone was.
    pub position: Option<Position>,
}

/// Longest time between two noted frames within which the time of a frame
/// between them is taken for known, in seconds.
const CLOSE_S: i64 = 30 * 60;
/// Farthest two places may lie apart for a frame between them to be there, in
/// degrees of latitude: about 200 m.
const NEAR_DEG: f64 = 0.0018;

/// Gives every frame the time and place of the clip that it was first spoken of
/// in, and frames that nobody noted what lies between their neighbours', where
/// those are close. Frames are in film order.
pub fn place_in_time(frames: &mut [Frame], kit: &Kit, clock: &dyn Fn(&str) -> Option<ClipFacts>) {
    let zone = kit.habits.timezone.as_deref().and_then(|z| TimeZone::get(z).ok());
    for frame in frames.iter_mut() {
        let Some(quote) = frame.said.first() else { continue };
        let Some(facts) = clock(&quote.at.clip) else { continue };
        if frame.taken.is_none() {
            frame.taken = facts.taken.map(|t| at_home(later(t, quote.at.at_s), zone.as_ref()));
        }
        frame.position = frame.position.or(facts.position);
    }
    between(frames);
}

fn later(taken: Taken, seconds: f64) -> Taken {
    let by = SignedDuration::try_from_secs_f64(seconds.clamp(0.0, 86_400.0)).unwrap_or_default();
    Taken { local: taken.local.checked_add(by).unwrap_or(taken.local), ..taken }
}

/// A time in UTC, or without an offset, in the photographer's time zone. Other
/// offsets were written by a device that knew where it was, and stay.
fn at_home(taken: Taken, zone: Option<&TimeZone>) -> Taken {
    let Some(zone) = zone else { return taken };
    match taken.offset_s {
        Some(0) => {
            let Ok(utc) = Offset::UTC.to_timestamp(taken.local) else { return taken };
            let home = utc.to_zoned_datetime(zone.clone());
            Taken { local: home.datetime(), offset_s: Some(home.offset().seconds()), ..taken }
        }
        Some(_) => taken,
        None => {
            let offset_s =
                zone.to_ambiguous_zoned_datetime(taken.local).compatible().ok().map(|z| z.offset().seconds());
            Taken { offset_s, ..taken }
        }
    }
}

/// Times and places of frames between two that have theirs.
fn between(frames: &mut [Frame]) {
    let mut before: Option<usize> = None;
    for at in 0..frames.len() {
        if frames[at].taken.is_none() && frames[at].position.is_none() {
            continue;
        }
        if let Some(start) = before
            && at > start + 1
        {
            fill(frames, start, at);
        }
        before = Some(at);
    }
}

fn fill(frames: &mut [Frame], start: usize, end: usize) {
    let steps = (end - start) as i64;
    let (a, b) = (frames[start].taken.clone(), frames[end].taken.clone());
    let (p, q) = (frames[start].position, frames[end].position);
    if let (Some(a), Some(b)) = (&a, &b)
        && let Some(apart) = seconds_between(a, b)
        && (0..=CLOSE_S).contains(&apart)
    {
        for (i, frame) in frames[start + 1..end].iter_mut().enumerate().filter(|(_, f)| f.said.is_empty()) {
            let step = SignedDuration::from_secs(apart * (i as i64 + 1) / steps);
            let local = a.local.checked_add(step).unwrap_or(a.local);
            frame.taken = Some(Taken { local, offset_s: a.offset_s, known_by: KnownBy::Interpolated });
            if let (Some(p), Some(q)) = (p, q)
                && near(p, q)
            {
                frame.position = Position::new((p.lat + q.lat) / 2.0, (p.lon + q.lon) / 2.0);
            }
        }
    }
}

fn near(p: Position, q: Position) -> bool {
    let east = (p.lon - q.lon) * p.lat.to_radians().cos();
    (p.lat - q.lat).hypot(east) <= NEAR_DEG
}

/// Seconds from one to the other; none when only one has an offset.
fn seconds_between(a: &Taken, b: &Taken) -> Option<i64> {
    if a.offset_s.is_some() != b.offset_s.is_some() {
        return None;
    }
    let second = |t: &Taken| -> Option<i64> {
        Some(Offset::from_seconds(t.offset_s.unwrap_or(0)).ok()?.to_timestamp(t.local).ok()?.as_second())
    };
    Some(second(b)? - second(a)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::{FrameNumber, Moment};
    use crate::roll::record::{Quote, Status};

    fn taken(hour: i8, minute: i8, offset_s: Option<i32>) -> Taken {
        Taken { local: jiff::civil::date(2025, 6, 18).at(hour, minute, 0, 0), offset_s, known_by: KnownBy::Container }
    }

    fn frame(n: u16, clip: Option<&str>) -> Frame {
        let mut frame = Frame::blank(FrameNumber::new(n), Status::Ok);
        if let Some(clip) = clip {
            let at = Moment { clip: clip.to_owned(), at_s: 30.0, end_s: 31.0 };
            frame.said.push(Quote::new("frame", at));
        }
        frame
    }

    fn kit() -> Kit {
        Kit::parse("[photographer]\ntimezone = \"Europe/Dublin\"\n").unwrap()
    }

    #[test]
    fn a_frame_has_the_time_of_its_words_in_the_photographers_zone() {
        let mut frames = [frame(1, Some("utc")), frame(2, Some("local")), frame(3, Some("abroad")), frame(4, None)];
        place_in_time(&mut frames, &kit(), &|clip| {
            let taken = match clip {
                "utc" => taken(8, 15, Some(0)),
                "local" => taken(9, 20, None),
                _ => taken(19, 30, Some(7200)),
            };
            Some(ClipFacts { taken: Some(taken), position: Position::new(53.2, -11.4) })
        });
        let times: Vec<_> = frames.iter().map(|f| f.taken.as_ref().map(Taken::rfc3339)).collect();
        // Irish summer time is an hour ahead of UTC (tz database, Europe/Dublin).
        assert_eq!(times[0].as_deref(), Some("2025-06-18T09:15:30+01:00"));
        assert_eq!(times[1].as_deref(), Some("2025-06-18T09:20:30+01:00"));
        assert_eq!(times[2].as_deref(), Some("2025-06-18T19:30:30+02:00"));
        assert_eq!(times[3], None);
        assert!(frames[0].position.is_some() && frames[3].position.is_none());
    }

    #[test]
    fn between_close_neighbours_a_time_is_interpolated_and_says_so() {
        let at = |clip: &str| match clip {
            "a" => Some(ClipFacts { taken: Some(taken(9, 0, None)), position: Position::new(53.2, -11.4) }),
            "b" => Some(ClipFacts { taken: Some(taken(9, 20, None)), position: Position::new(53.2005, -11.4) }),
            _ => Some(ClipFacts { taken: Some(taken(15, 0, None)), position: Position::new(53.3, -11.4) }),
        };
        let mut frames =
            [frame(1, Some("a")), frame(2, None), frame(3, Some("b")), frame(4, None), frame(5, Some("c"))];
        place_in_time(&mut frames, &kit(), &at);
        let second = frames[1].taken.as_ref().unwrap();
        assert_eq!((second.rfc3339().as_str(), second.known_by), ("2025-06-18T09:10:30+01:00", KnownBy::Interpolated));
        assert!((frames[1].position.unwrap().lat - 53.20025).abs() < 1e-9);
        assert!(frames[3].taken.is_none() && frames[3].position.is_none(), "six hours apart");
    }
}
