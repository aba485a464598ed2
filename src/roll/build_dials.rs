//! Settings of the two dials, into the frame being described.

use crate::exposure::Shutter;
use crate::language::act::Moved;
use crate::language::ways::Way;

use super::build::{Builder, LEAST_APERTURE};
use super::draft::{ApertureHeard, ShutterSaid};

impl<'a> Builder<'a> {
    /// Whether a value begins a new frame: the one described is rounded off and this differs.
    pub(super) fn begins_frame(&self, differs: bool) -> bool {
        self.draft.rounded_off
            && self.draft.is_complete()
            && differs
            && !self.draft.correcting
            && self.draft.numbers.len() < 2
    }

    pub(super) fn shutter(&mut self, s: ShutterSaid) {
        let first = |s: &ShutterSaid| s.ways.iter().max_by(|a, b| a.weight.total_cmp(&b.weight)).map(|w| w.value);
        if self.draft.or
            && let Some(last) = self.draft.shutters.last_mut()
        {
            last.ways.extend(s.ways);
            last.manner.doubted = true;
            self.draft.or = false;
            return;
        }
        let pending = self.pending_next.is_some();
        self.take_pending();
        let differs = self.draft.shutters.last().is_some_and(|l| first(l) != first(&s));
        // "… same settings. And at a hundred, an eight-hundredth …"
        let unsaid = self.draft.shutters.is_empty() && self.draft.numbers.is_empty();
        if !pending && (unsaid || differs) && self.begins_frame(true) {
            self.next_frame(true);
        }
        // A timed hold says more than the bare letter, whichever came first.
        let bulb = |s: &ShutterSaid| {
            s.ways
                .iter()
                .any(|w| matches!(w.value, crate::exposure::Shutter::Bulb(None) | crate::exposure::Shutter::Time(None)))
        };
        if let Some(last) = self.draft.shutters.last_mut()
            && (bulb(last) != bulb(&s))
            && !self.draft.correcting
        {
            let (hold, time) = if bulb(last) { (last.clone(), &s) } else { (s.clone(), &*last) };
            let is_b = hold.ways.iter().any(|w| matches!(w.value, crate::exposure::Shutter::Bulb(None)));
            // "I gave it five, on bulb": seconds, not a fifth.
            let part = |w: &Way<Shutter>| matches!(w.value, Shutter::Timed(s) if s.is_fraction());
            let whole = time.ways.iter().any(|w| !part(w));
            let ways = time
                .ways
                .iter()
                .filter(|w| !(whole && part(w)))
                .filter_map(|w| w.value.seconds().map(|t| (t, w.weight)))
                .map(|(t, w)| {
                    Way::new(
                        if is_b { crate::exposure::Shutter::bulb(t) } else { crate::exposure::Shutter::time(t) },
                        w,
                    )
                })
                .collect();
            *last = ShutterSaid { ways, firm: true, span: hold.span, ..time.clone() };
            return;
        }
        if self.draft.correcting {
            self.draft.replaced = true;
            self.draft.shutters.clear();
            self.draft.scratched = false;
        }
        self.draft.shutter_list |= self.draft.anded && differs;
        self.draft.anded = false;
        self.draft.spans.push(s.span.clone());
        self.draft.shutters.push(s);
    }

    pub(super) fn aperture(&mut self, a: ApertureHeard) {
        use crate::language::act::ApertureSaid::Ways;
        // An f-number far from anything a lens does is no aperture: "the F-150".
        if let Ways(ways) = &a.said {
            let gear = self.gear(None);
            let best = ways.iter().map(|w| w.weight * gear.aperture(w.value)).fold(0.0, f64::max);
            if best < LEAST_APERTURE {
                return;
            }
        }
        if self.draft.or
            && let Some(last) = self.draft.apertures.last_mut()
        {
            if let (Ways(old), Ways(new)) = (&mut last.said, &a.said) {
                old.extend(new.iter().copied());
                last.manner.doubted = true;
            }
            self.draft.or = false;
            return;
        }
        let pending = self.pending_next.is_some();
        self.take_pending();
        let differs = self.draft.apertures.last().is_some_and(|l| l.said != a.said);
        if !pending && self.draft.apertures.last().is_some() && self.begins_frame(differs) {
            self.next_frame(true);
        }
        if self.draft.correcting {
            self.draft.replaced = true;
            self.draft.apertures.clear();
            self.draft.scratched = false;
        }
        // "From f5.6 to f11": the second says where it ended.
        if self.draft.from && !self.draft.apertures.is_empty() {
            self.draft.apertures.clear();
            self.draft.from = false;
        }
        // "Opened right up": the frame before with the lens wide open.
        let ends =
            matches!(a.said, crate::language::act::ApertureSaid::Widest | crate::language::act::ApertureSaid::Smallest);
        self.draft.inherit |= ends && self.draft.shutters.is_empty() && !self.carries_alone();
        // "Opened up to f11", "a stop down at f11": the number says where it ended.
        if !self.draft.from {
            let had = !self.draft.changes.is_empty();
            self.draft.changes.retain(|(m, _)| *m == Moved::Shutter);
            self.draft.inherit |= had;
        }
        self.draft.extra = None;
        self.draft.aperture_list |= self.draft.anded && differs;
        self.draft.anded = false;
        self.draft.spans.push(a.span.clone());
        self.draft.apertures.push(a);
    }

    /// Whether no frame of this note stands before.
    pub(super) fn carries_alone(&self) -> bool {
        self.this_note_shots.is_empty()
    }
}
