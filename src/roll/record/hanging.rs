//! What hangs on the number of a frame: where that is in doubt, so is each setting that a frame beside it has otherwise.

use crate::facts::{Field, Flag, Settled};

use super::row::Frame;

/// How sure what hangs on a doubtful frame or number is at most.
pub const HANGS: f64 = 0.5;

/// Why a setting is in doubt with the number of its frame.
pub const HANGS_ON_NUMBER: &str = "told of a frame whose number is in doubt";

/// Puts settings of a frame in doubt with its number.
pub fn shake(frame: &mut Frame, fields: &[Field]) {
    for field in fields {
        if let Some(setting) = frame.ground_mut(*field) {
            setting.at_most(HANGS);
        }
        frame.flag(Flag::Unsure(*field), HANGS_ON_NUMBER);
    }
}

/// The settings of a frame that would be others if it were one of those around it.
pub fn shaken<'f>(own: &Frame, around: impl Iterator<Item = &'f Frame>) -> Vec<Field> {
    let around: Vec<&Frame> = around.collect();
    let differs = |same: &dyn Fn(&Frame) -> bool| !around.iter().all(|f| same(f));
    fn value<T>(s: &Option<Settled<T>>) -> Option<&T> {
        s.as_ref().map(|s| &s.value)
    }
    let all: [(Field, bool); 8] = [
        (Field::Shutter, differs(&|f| value(&f.shutter) == value(&own.shutter))),
        (Field::Aperture, differs(&|f| value(&f.aperture) == value(&own.aperture))),
        (Field::Lens, differs(&|f| value(&f.lens) == value(&own.lens))),
        (Field::FocalMm, differs(&|f| value(&f.focal_mm) == value(&own.focal_mm))),
        (Field::Filter, differs(&|f| value(&f.filter) == value(&own.filter))),
        (Field::CompStops, differs(&|f| value(&f.comp) == value(&own.comp))),
        (Field::Light, differs(&|f| value(&f.light) == value(&own.light))),
        (Field::Support, differs(&|f| value(&f.support) == value(&own.support))),
    ];
    all.into_iter().filter(|(_, shaken)| *shaken).map(|(field, _)| field).collect()
}
