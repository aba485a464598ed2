//! What is said of a frame, put into its row, and flagged where it is in doubt.

use super::sure::settled;
use crate::exposure::Stops;
use crate::facts::{Confidence, Field, Flag, Settled, Source};
use crate::language::compose::{FrameSaid, Sure};
use crate::roll::record::{Frame, Status};

/// Puts what is said into a frame; words before token `new` are known already.
pub(super) fn describe(frame: &mut Frame, said: &FrameSaid, new: usize) {
    fn take<T: Clone>(to: &mut Option<Settled<T>>, said: &Option<Sure<T>>, new: usize) {
        if let Some(s) = said.as_ref().filter(|s| s.tokens.start >= new) {
            *to = Some(settled(s));
        }
    }
    take(&mut frame.shutter, &said.shutter, new);
    take(&mut frame.aperture, &said.aperture, new);
    take(&mut frame.comp, &said.comp.clone().map(|c| c.map(Stops::new)), new);
    take(&mut frame.light, &said.light, new);
    take(&mut frame.support, &said.support, new);
    if let Some(s) = said.subject.as_ref().filter(|s| s.tokens.start >= new) {
        frame.subject = Some(Settled::from_one(s.value.clone(), Confidence::new(s.sure), Source::Voice));
    }
    if said.wasted.is_some() {
        frame.status = Status::Wasted;
    }
}

/// Flags what is less sure than the limit.
pub(super) fn doubt(frame: &mut Frame, said: &FrameSaid, unsure_below: f64) {
    let dials = [Field::Shutter, Field::Aperture];
    let fields = [
        Field::Shutter,
        Field::Aperture,
        Field::Filter,
        Field::FocalMm,
        Field::Lens,
        Field::CompStops,
        Field::Light,
        Field::Support,
    ];
    let low = |f: Field| frame.ground(f).is_some_and(|s| s.confidence().get() < unsure_below);
    let fields = fields.map(|f| (f, low(f) || said.either && dials.contains(&f)));
    let renewed = |f: Field| fields.iter().any(|(g, unsure)| *g == f && !unsure);
    frame.flags.retain(|f| !matches!(f, Flag::Unsure(x) if renewed(*x)));
    frame.reasons.retain(|(f, _)| !matches!(f, Flag::Unsure(x) if renewed(*x)));
    for (field, _) in fields.into_iter().filter(|f| f.1) {
        frame.flag(Flag::Unsure(field), "heard with little certainty");
    }
    if said.there < unsure_below {
        frame.flag(Flag::Unsure(Field::Frame), "there may be no such frame");
    } else if said.number.as_ref().is_some_and(|n| n.sure < unsure_below) {
        frame.flag(Flag::Unsure(Field::Frame), "the number may be another");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exposure::Aperture;
    use crate::facts::FrameNumber;

    fn said(sure: f64, at: usize) -> FrameSaid {
        FrameSaid {
            there: 1.0,
            aperture: Aperture::new(8.0).map(|a| Sure::new(a, sure, at..at + 1)),
            ..FrameSaid::default()
        }
    }

    #[test]
    fn what_is_less_sure_than_the_limit_is_flagged_until_it_is_said_surely() {
        let mut frame = Frame::blank(FrameNumber::new(3), Status::Ok);
        describe(&mut frame, &said(0.6, 4), 0);
        doubt(&mut frame, &said(0.6, 4), 0.8);
        assert_eq!(frame.flags, [Flag::Unsure(Field::Aperture)]);
        describe(&mut frame, &said(0.95, 9), 0);
        doubt(&mut frame, &said(0.95, 9), 0.8);
        assert_eq!(frame.flags, []);
    }

    #[test]
    fn words_read_before_are_not_said_again() {
        let mut frame = Frame::blank(FrameNumber::new(3), Status::Ok);
        describe(&mut frame, &said(0.9, 4), 5);
        assert!(frame.aperture.is_none());
    }

    #[test]
    fn a_frame_that_may_not_be_there_is_in_doubt_as_a_whole() {
        let mut frame = Frame::blank(FrameNumber::new(3), Status::Ok);
        doubt(&mut frame, &FrameSaid { there: 0.5, ..FrameSaid::default() }, 0.8);
        assert_eq!(frame.flags, [Flag::Unsure(Field::Frame)]);
    }
}
