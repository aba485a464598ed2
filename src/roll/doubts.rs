//! What puts a setting in doubt that was read from a note, beside how its own words were said.

use crate::exposure::{Aperture, Shutter, Speed};
use crate::facts::{Confidence, Settled};
use crate::language::gear::Gear;

use super::draft::Draft;
use super::said::DOUBTED_MOST;

/// Gear has the mark from here on.
const MARKED: f64 = 0.9;
/// A number less than this that went unread is hardly a speed.
const LEAST_SPEED: f64 = 25.0;
/// A number less than this that went unread is hardly a focal length. Millimetres.
const LEAST_FOCAL: f64 = 15.0;
/// Why a setting is in doubt that was read.
const UNREAD_HERE: &str = "a number that could be it as well was not understood";
/// Why a setting of the frame before is in doubt.
pub(super) const UNREAD: &str = "taken from the frame before, and a number said of this one was not understood";

/// As [`doubt_one`], where there is a value.
pub(super) fn doubt<T>(s: &mut Option<Settled<T>>, why: &str) {
    if let Some(s) = s {
        doubt_one(s, why);
    }
}

/// Puts a value in doubt, whatever else speaks for it.
pub(super) fn doubt_one<T>(s: &mut Settled<T>, why: &str) {
    s.confidence = Confidence::new(s.confidence.get().min(DOUBTED_MOST));
    s.terms.doubted = s.terms.doubted.min(DOUBTED_MOST.ln());
    s.why.push(why.to_owned());
}

/// The value said last, where several were and do not make a list. It is in doubt where it was
/// `run_together` with another.
pub(super) fn last_of<T: PartialEq>(mut said: Vec<Settled<T>>, run_together: bool) -> Vec<Settled<T>> {
    let Some(mut last) = said.pop() else { return said };
    if run_together && said.iter().any(|s| s.value != last.value) {
        doubt_one(&mut last, "another was said with it");
    }
    vec![last]
}

/// Where a number went unread that could be the setting as well, the one that was read is in doubt.
pub(super) fn doubt_unread(
    mut shutters: Vec<Settled<Shutter>>,
    mut apertures: Vec<Settled<Aperture>>,
    draft: &Draft,
    gear: &Gear<'_>,
) -> (Vec<Settled<Shutter>>, Vec<Settled<Aperture>>) {
    for n in &draft.unread {
        // "T for sixty seconds, no, ninety".
        if let [shutter] = &mut shutters[..]
            && shutter.value.seconds().is_some_and(|s| s >= 1.0 && s != *n)
        {
            doubt_one(shutter, UNREAD_HERE);
        }
        if let ([shutter], Some(speed)) = (&mut shutters[..], Speed::nth(*n).map(Shutter::Timed))
            && gear.shutter(speed) >= MARKED
            && *n >= LEAST_SPEED
            && shutter.value != speed
        {
            doubt_one(shutter, UNREAD_HERE);
        }
        if let ([aperture], Some(stop)) = (&mut apertures[..], Aperture::new(*n))
            && gear.aperture(stop) >= MARKED
            && aperture.value != stop
        {
            doubt_one(aperture, UNREAD_HERE);
        }
    }
    (shutters, apertures)
}

/// Whether a number went unread that is another focal length of the gear than the one carried.
pub(super) fn unread_focal(draft: &Draft, gear: &Gear<'_>, carried_mm: f64) -> bool {
    draft.unread.iter().any(|n| *n != carried_mm && *n >= LEAST_FOCAL && gear.focal(*n) >= MARKED)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::Source;

    fn said(values: &[u32]) -> Vec<Settled<Shutter>> {
        let sure = |n: &u32| Settled::from_one(Shutter::fraction(*n), Confidence::SURE, Source::Voice);
        values.iter().map(sure).collect()
    }

    #[test]
    fn of_values_run_together_the_last_is_in_doubt() {
        let [plain] = &last_of(said(&[15, 8]), false)[..] else { panic!("one value stands") };
        assert_eq!((plain.value, plain.confidence), (Shutter::fraction(8), Confidence::SURE));
        assert!(last_of(said(&[15, 8, 8]), true)[0].confidence.get() <= DOUBTED_MOST);
        assert_eq!(last_of(said(&[8, 8]), true)[0].confidence, Confidence::SURE);
    }

    #[test]
    fn an_unread_number_that_could_be_the_speed_puts_it_in_doubt() {
        let kit =
            crate::kit::Kit::parse("[[camera]]\nname = \"six\"\nformat = \"6x6\"\nshutters = [\"1s\", \"1/500\"]\n");
        let kit = kit.unwrap();
        let gear = Gear { kit: &kit, camera: None, lens: None };
        let confidence = |unread: f64| {
            let draft = Draft { unread: vec![unread], ..Draft::default() };
            doubt_unread(said(&[250]), Vec::new(), &draft, &gear).0[0].confidence
        };
        assert_eq!(confidence(125.0), Confidence::new(DOUBTED_MOST));
        assert_eq!(confidence(250.0), Confidence::SURE, "it says the same");
        assert_eq!(confidence(137.0), Confidence::SURE, "no dial has it");
    }
}
