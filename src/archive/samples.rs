//! Frames made up for the tests of this room.

use crate::exposure::{Aperture, BoxSpeed, ExposureIndex, Shutter, Stops};
use crate::facts::{
    Confidence, Field, Flag, FrameNumber, KnownBy, Moment, Position, Reading, RollName, Settled, Source, Taken,
};
use crate::kit::Filters;
use crate::roll::{Developed, Draw, Extras, Focus, Frame, Quote, Roll, Status, Trip};

use super::{Archive, TripKey};

pub(super) fn voice<T>(value: T) -> Settled<T> {
    Settled::from_one(value, Confidence::new(0.95), Source::Voice)
}

pub(super) fn key(id: &str) -> TripKey {
    TripKey { id: id.to_owned(), root: format!("/trips/{id}"), out: format!("/trips/{id}/spooltalk") }
}

fn roll(name: &str, frames: Vec<Frame>) -> Roll {
    Roll {
        camera: Some("six-four-five".into()),
        film: Some("Merrow Pan 100".into()),
        ei: ExposureIndex::new(80),
        capacity: Some(16),
        frames,
        remarks: vec!["edge fogged".into()],
        ..Roll::blank(RollName::new(name).unwrap())
    }
}

fn frame(n: u16, shutter: &str, aperture: f64, filter: &str, said: &str) -> Frame {
    let mut f = Frame::blank(FrameNumber::new(n), Status::Ok);
    f.shutter = Some(voice(shutter.parse::<Shutter>().unwrap()));
    f.aperture = Aperture::new(aperture).map(voice);
    f.filter = Some(voice(Filters::from(filter.to_owned())));
    f.film = Some(voice("Merrow Pan 100".into()));
    f.camera = Some(voice("six-four-five".into()));
    f.lens = Some(voice("80".into()));
    f.focal_mm = Some(voice(80.0));
    f.box_iso = BoxSpeed::new(100);
    f.ei = ExposureIndex::new(80).map(voice);
    f.light = Some(voice("open shade".into()));
    let at = Moment { clip: format!("00{n}.m4a"), at_s: 3.5, end_s: 6.0 };
    f.said = vec![Quote::new(said, at)];
    f
}

/// Two rolls of an invented day by the harbour: five frames of roll 7, one of A3.
pub(super) fn harbour() -> Trip {
    let mut one = frame(1, "1/125", 5.6, "orange", "the slipway at low water, one twenty-fifth at five six");
    one.filter_stops = Some(Stops::new(2.0));
    one.subject = Some(voice("slipway".into()));
    one.place = Some(voice("Vágar harbour".into()));
    one.position = Position::new(54.1, -9.2);
    one.taken = Some(Taken {
        local: jiff::civil::date(2025, 6, 18).at(9, 15, 2, 0),
        offset_s: Some(3600),
        known_by: KnownBy::Container,
    });
    one.scans = vec!["roll-07/0001.tif".into()];
    one.rating = Some(4);
    one.remark = Some("print this".into());

    let mut two = frame(2, "1/60", 8.0, "none", "boats, a sixtieth at eight");
    two.shutter.as_mut().unwrap().others =
        vec![Reading::new(Shutter::fraction(50), Confidence::new(0.3), Source::Voice)];
    two.flag(Flag::Unsure(Field::Shutter), "1/60 or 1/50");
    two.taken = Some(Taken { local: jiff::civil::date(2025, 7, 1).at(23, 59, 59, 0), ..one.taken.clone().unwrap() });

    let mut three = frame(3, "B 45s", 16.0, "yellow+polariser", "bulb, forty-five seconds");
    three.flag(Flag::Shake, "45 s is slower than 1/80");
    three.flag(Flag::Odd(Field::Shutter), "long for open shade");
    let mut four = Frame::blank(FrameNumber::new(12).with_a(), Status::Wasted);
    four.comp = Some(voice(Stops::new(1.0)));
    let five = Frame::blank(FrameNumber::DOUBLE_ZERO, Status::Unnoted);
    let mut last = frame(1, "1/500", 2.8, "none", "net loft doors \"wide open\" 100% ok; DROP TABLE frames");
    last.film = Some(voice("Gull 400".into()));
    Trip { name: "Low Water".into(), rolls: vec![roll("7", vec![five, one, two, three, four]), roll("A3", vec![last])] }
}

pub(super) fn stored() -> Archive {
    let mut archive = Archive::in_memory().unwrap();
    archive.store(&harbour(), &key("low-water")).unwrap();
    archive
}

/// An archive in which no column is empty throughout.
pub(super) fn everything() -> Archive {
    let text = |t: &str| Some(t.to_owned());
    let mut trip = harbour();
    trip.rolls[0].process = text("push 1");
    trip.rolls[0].developed = Developed {
        developer: text("Halcyon"),
        dilution: text("1+50"),
        time: text("11 min"),
        temperature: text("20 °C"),
        agitation: text("each minute"),
        date: text("2025-09-20"),
        sleeve: text("14"),
        remark: text("old stock"),
    };
    let frame = &mut trip.rolls[0].frames[1];
    frame.support = Some(voice("tripod".into()));
    frame.process = Some(voice("push 1".into()));
    let edge = Reading::new(Shutter::fraction(100), Confidence::new(0.9), Source::Rebate);
    frame.shutter.as_mut().unwrap().others = vec![edge];
    frame.extras = Extras {
        flash: text("Beacon"),
        draw: Some(Draw::FocalLengths(2.0)),
        draw_lost: Some(Stops::new(2.0)),
        focus: Some(Focus::Metres(3.5)),
        ..Extras::default()
    };
    let mut archive = Archive::in_memory().unwrap();
    archive.store(&trip, &key("low-water")).unwrap();
    archive.save_search("grey", &["light:overcast".to_owned(), "aperture<8".to_owned()]).unwrap();
    archive
}
