//! A frame that is spoken of again.

use crate::facts::{Field, Flag, Settled};

use super::doubts::doubt;
use super::{Frame, Status};

/// A frame spoken of again with other settings, and nobody said that the first
/// were wrong: the number may be another frame's. The later word stands, in doubt.
pub(super) fn doubt_differences(old: &Frame, new: &mut Frame) {
    const WHY: &str = "said twice, and not the same";
    pub(super) fn differ<T: PartialEq>(a: &Option<Settled<T>>, b: &Option<Settled<T>>) -> bool {
        matches!((a, b), (Some(a), Some(b)) if a.value != b.value)
    }
    let differs = [
        (Field::Shutter, differ(&old.shutter, &new.shutter)),
        (Field::Aperture, differ(&old.aperture, &new.aperture)),
        (Field::Filter, differ(&old.filter, &new.filter)),
        (Field::FocalMm, differ(&old.focal_mm, &new.focal_mm)),
    ];
    for (field, _) in differs.into_iter().filter(|d| d.1) {
        match field {
            Field::Shutter => doubt(&mut new.shutter, WHY),
            Field::Aperture => doubt(&mut new.aperture, WHY),
            Field::Filter => doubt(&mut new.filter, WHY),
            _ => doubt(&mut new.focal_mm, WHY),
        }
        new.flag(Flag::Unsure(field), WHY);
    }
}

/// What is said later of a frame replaces what was said; the rest stays.
pub(super) fn merge(old: &mut Frame, new: Frame) {
    pub(super) fn take<T>(old: &mut Option<T>, new: Option<T>) {
        if new.is_some() {
            *old = new;
        }
    }
    let renewed: Vec<Field> = [
        (Field::Shutter, new.shutter.is_some()),
        (Field::Aperture, new.aperture.is_some()),
        (Field::Filter, new.filter.is_some()),
        (Field::FocalMm, new.focal_mm.is_some()),
        (Field::CompStops, new.comp.is_some()),
        (Field::Light, new.light.is_some()),
        (Field::Support, new.support.is_some()),
    ]
    .into_iter()
    .filter(|(_, n)| *n)
    .map(|(f, _)| f)
    .collect();
    let stale = |f: &Flag| matches!(f, Flag::Unsure(x) | Flag::Odd(x) | Flag::Carried(x) if renewed.contains(x));
    old.flags.retain(|f| !stale(f));
    old.reasons.retain(|(f, _)| !stale(f));
    take(&mut old.shutter, new.shutter);
    take(&mut old.aperture, new.aperture);
    take(&mut old.filter, new.filter);
    if new.focal_mm.is_some() {
        old.lens = new.lens.clone();
    }
    take(&mut old.focal_mm, new.focal_mm);
    take(&mut old.lens, new.lens);
    take(&mut old.comp, new.comp);
    take(&mut old.light, new.light);
    take(&mut old.support, new.support);
    take(&mut old.subject, new.subject);
    take(&mut old.place, new.place);
    if new.status == Status::Wasted {
        old.status = new.status;
    }
    for (flag, reason) in new.reasons {
        old.flag(flag, reason);
    }
    old.said.extend(new.said);
}
