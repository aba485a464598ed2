//! Readings of one frame from the voice and from the film edge, settled
//! together.
//!
//! Agreement raises confidence. Where they disagree the likelier stands, both
//! are kept, and the field is flagged. The camera wrote down what it did, so
//! the edge wins unless the kit says that the voice does.

use crate::exposure::{Aperture, ExposureIndex, Shutter, Stops};
use crate::facts::{Confidence, Field, Flag, Reading, Settled, Source};
use crate::kit::{Focal, Kit};
use crate::rebate::ImprintFrame;

use crate::roll::film::{same_aperture, same_shutter};
use crate::roll::record::Frame;

/// An edge reading less sure than this gives way to a voice that is surer.
const FAINT_PRINT: f64 = 0.6;

/// How values of one field are compared.
pub struct Rule<T> {
    pub field: Field,
    pub same: fn(&T, &T) -> bool,
    /// Of two that are the same, print and voice, the one that says more.
    pub finer: fn(&T, &T) -> T,
    pub show: fn(&T) -> String,
}

pub const SHUTTER: Rule<Shutter> = Rule {
    field: Field::Shutter,
    same: |a, b| same_held(*a, *b),
    finer: |print, voice| finer(*print, *voice),
    show: Shutter::to_string,
};
pub const APERTURE: Rule<Aperture> = Rule {
    field: Field::Aperture,
    same: |a, b| same_aperture(*a, *b),
    finer: |print, _| *print,
    show: |a| format!("f/{a}"),
};
pub const FOCAL: Rule<f64> = Rule {
    field: Field::FocalMm,
    same: |a, b| (a - b).abs() < 0.5,
    finer: |print, _| *print,
    show: |mm| format!("{mm} mm"),
};
pub const EI: Rule<ExposureIndex> =
    Rule { field: Field::Ei, same: |a, b| a == b, finer: |print, _| *print, show: |ei| format!("EI {}", ei.get()) };
pub const COMP: Rule<Stops> = Rule {
    field: Field::CompStops,
    same: |a, b| (a.get() - b.get()).abs() < 0.05,
    finer: |print, _| *print,
    show: |stops| format!("{:+.1} stops", stops.get()),
};

/// Who wins, and from where on a value is sure.
pub struct Judge<'a> {
    pub kit: &'a Kit,
    pub unsure_below: f64,
}

impl Judge<'_> {
    /// Settles a frame's settings with its edge print. `linked` is how sure it
    /// is that the print is this frame's; doubt of that is doubt of its values.
    pub fn reconcile(&self, frame: &mut Frame, print: &ImprintFrame, linked: f64) {
        for (field, why) in &print.conflicts {
            frame.flag(Flag::Conflict(*field), why.clone());
        }
        let voice = frame.shutter.take();
        frame.shutter = self.settle(frame, voice, &print.shutter, linked, &SHUTTER);
        let voice = frame.aperture.take();
        frame.aperture = self.settle(frame, voice, &print.aperture, linked, &APERTURE);
        let voice = frame.focal_mm.take();
        frame.focal_mm = self.settle(frame, voice, &print.focal_mm, linked, &FOCAL);
        let voice = frame.ei.take();
        frame.ei = self.settle(frame, voice, &print.ei, linked, &EI);
        let voice = frame.comp.take();
        frame.comp = self.settle(frame, voice, &print.comp, linked, &COMP);
        self.lens_of_focal(frame);
    }

    fn settle<T: Clone>(
        &self,
        frame: &mut Frame,
        voice: Option<Settled<T>>,
        print: &Option<Settled<T>>,
        linked: f64,
        rule: &Rule<T>,
    ) -> Option<Settled<T>> {
        let Some(print) = print else { return voice };
        let (field, same) = (rule.field, rule.same);
        let mut print = print.clone();
        // Where the sources of the edge disagree, the one that the voice agrees with is right.
        if let Some(voice) = voice.as_ref().filter(|_| frame.flags.contains(&Flag::Conflict(field)))
            && !same(&voice.value, &print.value)
            && let Some(other) = print.others.iter_mut().find(|o| same(&o.value, &voice.value))
        {
            std::mem::swap(&mut print.value, &mut other.value);
            std::mem::swap(&mut print.confidence, &mut other.confidence);
        }
        print.confidence = Confidence::new(print.confidence.get() * linked);
        let (unsure, carried) = (Flag::Unsure(field), Flag::Carried(field));
        let Some(voice) = voice else {
            drop_flag(frame, unsure);
            if print.confidence.get() < self.unsure_below {
                frame.flag(unsure, format!("the film edge is hard to read: {}", (rule.show)(&print.value)));
            }
            return Some(print);
        };
        let was_unsure = frame.flags.contains(&unsure) || voice.confidence.get() < self.unsure_below;
        let was_carried = frame.flags.contains(&carried);
        let agreeing = if same(&voice.value, &print.value) {
            Some(voice.confidence.get())
        } else if was_unsure {
            voice.others.iter().find(|o| same(&o.value, &print.value)).map(|o| o.confidence.get())
        } else {
            None
        };
        drop_flag(frame, carried);
        drop_flag(frame, unsure);
        let settled = if let Some(said) = agreeing {
            agreed(&voice, &print, said, (rule.finer)(&print.value, &voice.value), same)
        } else if was_carried {
            // Nobody said it of this frame: the edge fills it in.
            over(print, voice, format!("the film edge has it; the {field} was not said for this frame"))
        } else {
            let faint = print.confidence.get() < FAINT_PRINT && voice.confidence > print.confidence;
            let trusts_voice = self.kit.settle.trust_voice.contains(&field);
            let why = format!("said {}, the film edge has {}", (rule.show)(&voice.value), (rule.show)(&print.value));
            frame.flag(Flag::Conflict(field), why.clone());
            if trusts_voice || faint { over(voice, print, why) } else { over(print, voice, why) }
        };
        if settled.confidence.get() < self.unsure_below {
            frame.flag(unsure, format!("{} rests on weak evidence", (rule.show)(&settled.value)));
        }
        Some(settled)
    }

    /// The lens that a focal length from the film edge means, when the kit has
    /// just one such that fits the camera.
    fn lens_of_focal(&self, frame: &mut Frame) {
        let Some(focal) = frame.focal_mm.as_ref().filter(|f| f.sources.contains(&Source::Rebate)) else { return };
        let known = frame.lens.as_ref().and_then(|l| self.kit.lens(&l.value));
        if known.is_none() && frame.lens.is_some() {
            return;
        }
        let camera = frame.camera.as_ref().map(|c| c.value.as_str());
        let fits = |l: &&crate::kit::Lens| l.focal.covers(focal.value) && camera.is_none_or(|c| l.fits(c));
        let mut candidates: Vec<_> = self.kit.lenses.iter().filter(fits).collect();
        if known.is_some_and(|l| l.focal.covers(focal.value)) {
            if let ([only], Some(said)) = (&candidates[..], &mut frame.lens)
                && said.value == only.name
            {
                // Said, and the one that the edge can mean: it is wrong only where both are.
                said.confidence = Confidence::new(1.0 - (1.0 - said.confidence.get()) * (1.0 - focal.confidence.get()));
                said.why.push(format!("the film edge has {} mm", focal.value));
                if said.confidence.get() >= self.unsure_below {
                    drop_flag(frame, Flag::Unsure(Field::Lens));
                }
            }
            return;
        }
        // A lens of just this focal length is likelier than a zoom set to it.
        if candidates.iter().any(|l| matches!(l.focal, Focal::Prime(_))) {
            candidates.retain(|l| matches!(l.focal, Focal::Prime(_)));
        }
        let [lens] = candidates[..] else { return };
        let mut found = Settled::from_one(lens.name.clone(), focal.confidence, Source::Rebate);
        found.why.push(format!("the lens of the kit for {} mm", focal.value));
        if let Some(said) = frame.lens.take() {
            found.others.extend(readings(said));
        }
        drop_flag(frame, Flag::Carried(Field::Lens));
        frame.lens = Some(found);
    }
}

fn agreed<T: Clone>(
    voice: &Settled<T>,
    print: &Settled<T>,
    said: f64,
    value: T,
    same: impl Fn(&T, &T) -> bool,
) -> Settled<T> {
    let confidence = Confidence::new(1.0 - (1.0 - said) * (1.0 - print.confidence.get()));
    let mut sources: Vec<Source> = voice.sources.iter().chain(&print.sources).copied().collect();
    sources.sort();
    sources.dedup();
    let mut others = readings(voice.clone());
    others.extend(print.others.iter().cloned());
    others.retain(|o| !same(&o.value, &value));
    let mut why = voice.why.clone();
    why.push("the note and the film edge agree".to_owned());
    Settled { value, confidence, sources, others, why, terms: voice.terms }
}

/// `winner` with the loser's readings kept.
pub fn over<T>(mut winner: Settled<T>, loser: Settled<T>, why: String) -> Settled<T> {
    winner.others.splice(0..0, readings(loser));
    winner.why.push(why);
    winner
}

/// A settled value as the readings that it came from, the value first.
fn readings<T>(settled: Settled<T>) -> Vec<Reading<T>> {
    let source = settled.sources.first().copied().unwrap_or(Source::Voice);
    let first = Reading { terms: settled.terms, ..Reading::new(settled.value, settled.confidence, source) };
    std::iter::once(first).chain(settled.others).collect()
}

fn drop_flag(frame: &mut Frame, flag: Flag) {
    frame.flags.retain(|f| *f != flag);
    frame.reasons.retain(|(f, _)| *f != flag);
}

/// As [`same_shutter`], and a time of a second or more was held on B.
fn same_held(a: Shutter, b: Shutter) -> bool {
    match (a, b) {
        (Shutter::Timed(s), Shutter::Bulb(None)) | (Shutter::Bulb(None), Shutter::Timed(s)) => s.seconds() >= 1.0,
        (a, b) => same_shutter(a, b),
    }
}

/// Of two settings that agree, the one that says more.
fn finer(print: Shutter, voice: Shutter) -> Shutter {
    match (print, voice) {
        (Shutter::Bulb(None), Shutter::Timed(s)) => Shutter::bulb(s.seconds()),
        (Shutter::Bulb(None) | Shutter::Time(None), held) => held,
        (print, _) => print,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::FrameNumber;
    use crate::roll::record::Status;

    fn kit() -> Kit {
        Kit::parse(
            "[[camera]]\nname = \"box\"\nformat = \"6x6\"\n[[lens]]\nname = \"80\"\nfocal_mm = 80\n\
             [[lens]]\nname = \"65\"\nfocal_mm = 65\n\
             [[lens]]\nname = \"150\"\nfocal_mm = 150\n[[lens]]\nname = \"zoom\"\nfocal_mm = [70, 200]\n",
        )
        .unwrap()
    }

    fn print() -> ImprintFrame {
        ImprintFrame::blank(None, 0)
    }

    fn of<T>(value: T, confidence: f64, source: Source) -> Option<Settled<T>> {
        Some(Settled::from_one(value, Confidence::new(confidence), source))
    }

    fn f(n: f64) -> Aperture {
        Aperture::new(n).unwrap()
    }

    fn frame() -> Frame {
        Frame::blank(FrameNumber::new(1), Status::Ok)
    }

    fn settle(frame: &mut Frame, print: &ImprintFrame, kit: &Kit) {
        Judge { kit, unsure_below: 0.8 }.reconcile(frame, print, 1.0);
    }

    #[test]
    fn agreement_raises_confidence_and_takes_doubt_away() {
        let mut frame = frame();
        frame.aperture = of(f(5.6), 0.7, Source::Voice);
        frame.flag(Flag::Unsure(Field::Aperture), "mumbled");
        settle(&mut frame, &ImprintFrame { aperture: of(f(5.6), 0.9, Source::Rebate), ..print() }, &kit());
        let aperture = frame.aperture.unwrap();
        assert!((aperture.confidence.get() - 0.97).abs() < 1e-9);
        assert_eq!(aperture.sources, [Source::Voice, Source::Rebate]);
        assert_eq!(frame.flags, []);
    }

    #[test]
    fn a_conflict_is_flagged_and_the_edge_stands() {
        let mut frame = frame();
        frame.aperture = of(f(8.0), 0.95, Source::Voice);
        settle(&mut frame, &ImprintFrame { aperture: of(f(5.6), 0.99, Source::Rebate), ..print() }, &kit());
        let aperture = frame.aperture.unwrap();
        assert_eq!(aperture.value, f(5.6));
        assert_eq!((aperture.others[0].value, aperture.others[0].source), (f(8.0), Source::Voice));
        assert_eq!(frame.flags, [Flag::Conflict(Field::Aperture)]);
    }

    #[test]
    fn the_kit_can_trust_the_voice() {
        let mut kit = kit();
        kit.settle.trust_voice = vec![Field::Aperture];
        let mut frame = frame();
        frame.aperture = of(f(8.0), 0.95, Source::Voice);
        settle(&mut frame, &ImprintFrame { aperture: of(f(5.6), 0.99, Source::Rebate), ..print() }, &kit);
        assert_eq!(frame.aperture.unwrap().value, f(8.0));
        assert_eq!(frame.flags, [Flag::Conflict(Field::Aperture)]);
    }

    #[test]
    fn an_unsure_voice_agrees_by_its_second_reading() {
        let mut frame = frame();
        let mut said = of(Shutter::fraction(60), 0.6, Source::Voice).unwrap();
        let other = Reading::new(Shutter::fraction(160), Confidence::new(0.35), Source::Voice);
        said.others.push(other);
        frame.shutter = Some(said.clone());
        let edge = ImprintFrame { shutter: of(Shutter::fraction(160), 0.95, Source::Rebate), ..print() };
        settle(&mut frame, &edge, &kit());
        assert_eq!(frame.shutter.as_ref().unwrap().value, Shutter::fraction(160));
        assert_eq!(frame.flags, []);
        // Had the voice been sure, it would have been a conflict.
        said.confidence = Confidence::new(0.97);
        frame.shutter = Some(said);
        settle(&mut frame, &edge, &kit());
        assert_eq!(frame.flags, [Flag::Conflict(Field::Shutter)]);
    }

    #[test]
    fn bulb_keeps_the_time_that_was_said() {
        for said in [Shutter::bulb(10.0), Shutter::whole(10)] {
            let mut frame = frame();
            frame.shutter = of(said, 0.9, Source::Voice);
            settle(
                &mut frame,
                &ImprintFrame { shutter: of(Shutter::Bulb(None), 0.99, Source::Rebate), ..print() },
                &kit(),
            );
            assert_eq!(frame.shutter.unwrap().value, Shutter::bulb(10.0));
            assert_eq!(frame.flags, []);
        }
    }

    #[test]
    fn a_carried_value_gives_way_without_conflict() {
        let mut frame = frame();
        frame.focal_mm = of(80.0, 0.9, Source::Voice);
        frame.lens = of("80".to_owned(), 0.9, Source::Voice);
        frame.flag(Flag::Carried(Field::FocalMm), "carried");
        settle(&mut frame, &ImprintFrame { focal_mm: of(150.0, 0.99, Source::Rebate), ..print() }, &kit());
        assert_eq!(frame.focal_mm.unwrap().value, 150.0);
        assert_eq!(frame.lens.unwrap().value, "150", "the prime, not the zoom");
        assert_eq!(frame.flags, []);
    }

    #[test]
    fn a_focal_length_on_the_edge_makes_its_only_lens_sure() {
        let settled = |said: &str, printed: f64| {
            let mut frame = frame();
            frame.lens = of(said.to_owned(), 0.6, Source::Voice);
            frame.flag(Flag::Unsure(Field::Lens), "heard with little certainty");
            settle(&mut frame, &ImprintFrame { focal_mm: of(printed, 0.9, Source::Rebate), ..print() }, &kit());
            (frame.lens.unwrap().confidence.get(), frame.flags.len())
        };
        // 1 - 0.4 × 0.1 by hand. No other lens of the kit has 65 mm; the zoom has 80 mm too, so that tells nothing.
        let (sure, flags) = settled("65", 65.0);
        assert!((sure - 0.96).abs() < 1e-9 && flags == 0, "{sure} {flags}");
        assert_eq!(settled("80", 80.0), (0.6, 1));
    }

    #[test]
    fn a_faint_print_is_flagged() {
        let mut frame = frame();
        settle(&mut frame, &ImprintFrame { aperture: of(f(5.6), 0.5, Source::Rebate), ..print() }, &kit());
        assert_eq!(frame.flags, [Flag::Unsure(Field::Aperture)]);
        frame.flags.clear();
        frame.aperture = of(f(8.0), 0.95, Source::Voice);
        settle(&mut frame, &ImprintFrame { aperture: of(f(5.6), 0.5, Source::Rebate), ..print() }, &kit());
        assert_eq!(frame.aperture.unwrap().value, f(8.0));
        assert_eq!(frame.flags, [Flag::Conflict(Field::Aperture)]);
    }
}
