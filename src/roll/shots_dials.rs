//! Shutter and aperture of a frame, weighed against the gear.

use crate::exposure::{Aperture, Shutter};
use crate::facts::{Confidence, Field, Flag, Settled};
use crate::kit::{Camera, Lens};
use crate::language::act::ApertureSaid;
use crate::language::gear::Gear;
use crate::language::ways::{Way, add_heard};

use super::build::{Builder, sure};
use super::change::shifted_aperture;
use super::draft::{ApertureHeard, Draft, ShutterSaid};
use super::said::{Manner, weigh};

impl<'a> Builder<'a> {
    /// Shutter settings said, and a focal length where the number was one after all.
    pub(super) fn shutters(
        &self,
        draft: &Draft,
        gear: &Gear<'_>,
        flags: &mut Vec<(Flag, String)>,
    ) -> (Vec<Settled<Shutter>>, Option<Settled<f64>>) {
        let mut out = Vec::new();
        let mut focal = None;
        let base = draft
            .base_shutter
            .as_ref()
            .and_then(|b| self.settle_shutter(b, gear, None, &mut Vec::new()))
            .map(|s| s.value);
        for said in &draft.shutters {
            if let Some((ways, f, s)) = &said.or_focal {
                let total = f + s;
                if *f > *s && draft.focal.is_none() && draft.lens.is_none() {
                    if let Some(w) = weigh(ways, |mm| gear.focal(*mm), Manner { sure: 1.0, ..said.manner }) {
                        let mut settled = w.settled;
                        settled.confidence = Confidence::new((settled.confidence.get() * f / total).min(0.75));
                        settled.why.push("could also be a shutter speed".to_owned());
                        focal = Some(settled);
                    }
                    continue;
                }
                if let Some(mut settled) = self.settle_shutter(said, gear, base, flags) {
                    settled.confidence = Confidence::new(settled.confidence.get() * s / total);
                    settled.why.push("could also be a focal length".to_owned());
                    out.push(settled);
                }
                continue;
            }
            out.extend(self.settle_shutter(said, gear, base, flags));
        }
        (out, focal)
    }

    pub(super) fn settle_shutter(
        &self,
        said: &ShutterSaid,
        gear: &Gear<'_>,
        base: Option<Shutter>,
        flags: &mut Vec<(Flag, String)>,
    ) -> Option<Settled<Shutter>> {
        let mut ways: Vec<Way<Shutter>> = Vec::new();
        for w in &said.ways {
            add_heard(&mut ways, Way { value: self.as_marked(w.value), ..*w });
        }
        gear.loosen(&mut ways);
        let near = |s: &Shutter| match (base.and_then(Shutter::seconds), s.seconds()) {
            (Some(a), Some(b)) => (-((a / b).log2().abs())).exp2(),
            _ => 1.0,
        };
        let w = weigh(&ways, |s| gear.shutter(*s) * near(s), said.manner)?;
        if w.off_gear && gear.shutter(w.settled.value) < 0.1 {
            flags.push((Flag::Odd(Field::Shutter), format!("the dial has no {}", w.settled.value)));
        }
        Some(w.settled)
    }

    /// A time as the dial marks it; past the end of the dial it is held on B.
    pub(super) fn as_marked(&self, s: Shutter) -> Shutter {
        let Shutter::Timed(speed) = s else { return s };
        let past = |c: &Camera| c.dial.slowest().is_some_and(|m| speed.seconds() > m.seconds() * 1.3);
        let past = match self.camera_in_hand() {
            Some(camera) => match camera.dial.mark_at(speed) {
                Some(mark) => return Shutter::Timed(mark),
                None => past(camera),
            },
            // Whichever camera it is, its dial does not reach so far.
            None => !self.kit().cameras.is_empty() && self.kit().cameras.iter().all(past),
        };
        if past && !speed.is_fraction() { Shutter::bulb(speed.seconds()) } else { s }
    }

    pub(super) fn apertures(
        &self,
        draft: &Draft,
        gear: &Gear<'_>,
        lens: Option<&'a Lens>,
        flags: &mut Vec<(Flag, String)>,
    ) -> Vec<Settled<Aperture>> {
        draft.apertures.iter().filter_map(|a| self.settle_aperture(a, gear, lens, flags)).collect()
    }

    pub(super) fn settle_aperture(
        &self,
        said: &ApertureHeard,
        gear: &Gear<'_>,
        lens: Option<&'a Lens>,
        flags: &mut Vec<(Flag, String)>,
    ) -> Option<Settled<Aperture>> {
        let number = |ways: &[Way<Aperture>], flags: &mut Vec<(Flag, String)>| {
            let mut ways = ways.to_vec();
            gear.loosen_aperture(&mut ways);
            let w = weigh(&ways, |a| gear.aperture(*a), said.manner)?;
            if w.off_gear {
                flags.push((Flag::Odd(Field::Aperture), format!("no lens of the kit does f/{}", w.settled.value)));
            }
            Some(w.settled)
        };
        match &said.said {
            ApertureSaid::Ways(ways) => number(ways, flags),
            ApertureSaid::Past(ways, stops) => {
                let from = number(ways, flags)?;
                let to = shifted_aperture(from.value, -stops)?;
                Some(Settled { value: to, ..from })
            }
            ApertureSaid::Between(a, b) => {
                let (a, b) = (number(a, flags)?, number(b, flags)?);
                let gap = a.value.over(b.value).get();
                let middle = shifted_aperture(a.value, -(gap.abs() * 2.0).round() / 4.0 * gap.signum())?;
                Some(Settled { value: middle, confidence: Confidence::new(a.confidence.get().min(0.9)), ..a })
            }
            ApertureSaid::Widest => self.end_of(lens, |l| l.widest),
            ApertureSaid::Smallest => self.end_of(lens, |l| l.smallest),
        }
    }

    /// An end of the lens's range; of all lenses, when they agree.
    pub(super) fn end_of(
        &self,
        lens: Option<&'a Lens>,
        end: impl Fn(&Lens) -> Option<Aperture>,
    ) -> Option<Settled<Aperture>> {
        if let Some(l) = lens {
            return end(l).map(sure);
        }
        let all: Vec<Aperture> = self.gear(None).lenses().filter_map(&end).collect();
        let first = *all.first()?;
        all.iter().all(|a| *a == first).then(|| Settled { confidence: Confidence::new(0.7), ..sure(first) })
    }
}
