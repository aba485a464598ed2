//! A roll to try outputs on: a morning at an invented harbour.

use crate::exposure::{Aperture, BoxSpeed, ExposureIndex, Shutter, Stops};
use crate::facts::{
    Confidence, Field, Flag, FrameNumber, KnownBy, Moment, Position, Reading, RollName, Settled, Source, Taken, Terms,
};
use crate::kit::Filters;
use crate::roll::{Frame, Quote, Roll, Status};

/// A quote from the test clip.
pub fn said(text: &str, at_s: f64) -> Quote {
    Quote::new(text, Moment { clip: "day 1/quay.m4a".into(), at_s, end_s: at_s + 4.0 })
}

fn settled<T>(value: T, p: f64) -> Option<Settled<T>> {
    Some(Settled::from_one(value, Confidence::new(p), Source::Voice))
}

/// Three frames: one unsure, one long exposure without a scan, one not noted.
pub fn harbour_roll() -> Roll {
    let mut first = Frame {
        scans: vec!["roll-07/0001.tif".into()],
        taken: Some(Taken {
            local: jiff::civil::date(2025, 6, 18).at(9, 15, 2, 0),
            offset_s: Some(3600),
            known_by: KnownBy::Container,
        }),
        position: Position::new(62.0107, -6.7741),
        camera: settled("six-four-five".to_owned(), 0.9),
        film: settled("Merrow Pan 100".to_owned(), 0.98),
        focal_mm: settled(120.0, 0.97),
        box_iso: BoxSpeed::new(100),
        ei: settled(ExposureIndex::new(80).unwrap(), 0.99),
        shutter: Some(Settled {
            value: Shutter::fraction(125),
            confidence: Confidence::new(0.71),
            sources: vec![Source::Voice],
            others: vec![Reading {
                said_at: Some(Moment { clip: "day 1/quay.m4a".into(), at_s: 3.5, end_s: 4.25 }),
                ..Reading::new(Shutter::fraction(25), Confidence::new(0.29), Source::Voice)
            }],
            why: vec!["the light fits 1/125 better".into()],
            terms: Terms::default(),
        }),
        aperture: settled(Aperture::new(5.6).unwrap(), 0.96),
        filter: settled(Filters(vec!["orange".into()]), 0.95),
        filter_stops: Some(Stops::new(2.0)),
        comp: settled(Stops::new(-1.0 / 3.0), 0.9),
        light: settled("full sun".to_owned(), 0.9),
        support: settled("handheld".to_owned(), 0.9),
        subject: settled("turf-roofed boathouse".to_owned(), 0.9),
        place: settled("the old quay".to_owned(), 0.9),
        process: settled("N+1".to_owned(), 0.9),
        said: vec![said("one twenty-fifth at five six, orange filter", 3.5), said("boathouse from the old quay", 9.25)],
        ..Frame::blank(FrameNumber::new(1), Status::Ok)
    };
    first.flag(Flag::Unsure(Field::Shutter), "1/125 or 1/25: they sound alike");
    let mut second = Frame {
        shutter: settled(Shutter::bulb(45.0), 0.99),
        aperture: settled(Aperture::new(22.0).unwrap(), 0.99),
        filter: settled(Filters::NONE, 0.9),
        support: settled("tripod".to_owned(), 0.9),
        said: vec![said("bulb, forty-five seconds, f twenty-two, on the legs", 21.0)],
        ..Frame::blank(FrameNumber::new(2), Status::Unscanned)
    };
    second.flag(Flag::Carried(Field::Filter), "not said again since frame 1");
    let mut third = Frame {
        scans: vec!["roll-07/0003.tif".into()],
        scan_confidence: 0.4,
        ..Frame::blank(FrameNumber::new(12).with_a(), Status::Unnoted)
    };
    third.flag(Flag::GuessScan, "no note stands between its neighbours");
    Roll {
        camera: Some("six-four-five".into()),
        film: Some("Merrow Pan 100".into()),
        ei: ExposureIndex::new(80),
        process: Some("N+1".into()),
        capacity: Some(16),
        frames: vec![first, second, third],
        other_scans: vec!["roll-07/index.jpg".into()],
        remarks: vec!["back left open for a moment at the end".into()],
        ..Roll::blank(RollName::new("7").unwrap())
    }
}
