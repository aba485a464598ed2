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
