//! What the rules know of every token, for the learned reader: the phrases that
//! may cover it, the values it can stand for on this gear, the names it is near.
//!
//! Features have names, and weights are kept by name: a grammar class that
//! comes or goes changes one row, not the meaning of the others.

use crate::exposure::{Aperture, ApertureStep, ShutterStep, Speed};
use crate::kit::{Focal, Kit};

use crate::language::grammar::{Class, KitThing};
use crate::language::phrases::Passage;
use crate::language::text::{How, Kind, Number, NumberKind, marks};

/// Features that are not of a grammar class.
const PLAIN: &[&str] = &[
    "token.number",
    "token.mark",
    "token.glued",
    "token.unknown",
    "sentence.start",
    "sentence.end",
    "number.begins",
    "number.goes-on",
    "long.dial-part",
    "long.dial-seconds",
    "long.any-part",
    "long.ring",
    "long.ring-fine",
    "long.stop",
    "long.prime",
    "long.zoom",
    "long.box",
    "long.index",
    "long.frame",
    "long.over",
    "long.ordinal",
    "long.decimal",
    "long.joined",
    "long.pair",
    "long.sounds",
    "short.dial-part",
    "short.dial-seconds",
    "short.any-part",
    "short.ring",
    "short.ring-fine",
    "short.stop",
    "short.prime",
    "short.zoom",
    "short.box",
    "short.index",
    "short.frame",
    "short.over",
    "short.ordinal",
    "short.decimal",
    "short.joined",
    "short.pair",
    "short.sounds",
    "name.lens",
    "name.lens-near",
    "name.filter",
    "name.filter-near",
    "name.film",
    "name.film-near",
    "name.camera",
    "name.camera-near",
    "amount.stops",
    "amount.plain",
    "amount.time",
    "amount.clicks",
];

/// Sizes of numbers that are told apart; each holds from its own to the next.
const SIZES: &[u32] = &[
    0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 16, 17, 22, 23, 25, 31, 32, 37, 50, 60, 61, 90, 100, 125, 126, 160,
    200, 250, 251, 400, 500, 501, 1000, 1001, 2001, 10_000,
];

/// How surely a name must be named to count as it.
const SURE_NAME: f32 = 0.85;
/// Readings of a number less likely than this tell nothing.
const LEAST_READING: f32 = 0.25;

/// The names of all features, in the order of their numbers.
pub fn names() -> Vec<String> {
    let of = |kind: &'static str| Class::ALL.iter().map(move |c| format!("{kind}.{}", c.as_str()));
    PLAIN
        .iter()
        .map(|n| (*n).to_owned())
        .chain(SIZES.iter().map(|n| format!("size.{n}")))
        .chain(of("begins"))
        .chain(of("goes-on"))
        .chain(of("may"))
        .collect()
}

/// The features of each token, as numbers into [`names`], in rising order.
pub fn features(r: &Passage<'_>) -> Vec<Vec<u16>> {
    let mut out = vec![Vec::new(); r.tokens.len()];
    tokens(r, &mut out);
    numbers(r, &mut out);
    kit_names(r, &mut out);
    classes(r, &mut out);
    for set in &mut out {
        set.sort_unstable();
        set.dedup();
    }
    out
}

fn plain(name: &str) -> u16 {
    PLAIN.iter().position(|n| *n == name).expect("a feature in the list") as u16
}

fn size(value: f64) -> u16 {
    let k = SIZES.partition_point(|s| f64::from(*s) <= value).saturating_sub(1);
    (PLAIN.len() + k) as u16
}

fn tokens(r: &Passage<'_>, out: &mut [Vec<u16>]) {
    let mut first = true;
    for (i, t) in r.tokens.iter().enumerate() {
        let mut put = |name| out[i].push(plain(name));
        match t.kind {
            Kind::Number { value, .. } => {
                put("token.number");
                out[i].push(size(value));
            }
            Kind::Mark(_) => put("token.mark"),
            Kind::Word if t.id.is_none() => put("token.unknown"),
            Kind::Word => {}
        }
        let mut put = |name| out[i].push(plain(name));
        if t.glued {
            put("token.glued");
        }
        if std::mem::replace(&mut first, t.ends_sentence()) {
            put("sentence.start");
        }
        if i + 1 == r.tokens.len() {
            put("sentence.end");
        }
    }
}

/// Of the numbers that cover a token, the longest and the shortest say what they may be.
fn numbers(r: &Passage<'_>, out: &mut [Vec<u16>]) {
    let gear = OnGear::of(r.kit);
    let mut longest: Vec<Option<(u16, u16)>> = vec![None; r.tokens.len()];
    let mut shortest = longest.clone();
    for n in r.found.numbers.iter().filter(|n| n.weight >= LEAST_READING) {
        for i in usize::from(n.start)..usize::from(n.end) {
            let here = (n.start, n.end);
            let len = |s: (u16, u16)| s.1 - s.0;
            if longest[i].is_none_or(|l| len(l) < len(here)) {
                longest[i] = Some(here);
            }
            if shortest[i].is_none_or(|l| len(l) > len(here)) {
                shortest[i] = Some(here);
            }
        }
    }
    for i in 0..r.tokens.len() {
        if let Some((start, end)) = longest[i] {
            out[i].push(plain(if usize::from(start) == i { "number.begins" } else { "number.goes-on" }));
            for n in r.found.readings(start, end).filter(|n| n.weight >= LEAST_READING) {
                out[i].push(size(n.value));
                out[i].extend(gear.may_be(n).iter().map(|f| plain(&format!("long.{f}"))));
            }
        }
        if let Some((start, end)) = shortest[i].filter(|s| Some(*s) != longest[i]) {
            for n in r.found.readings(start, end).filter(|n| n.weight >= LEAST_READING) {
                out[i].extend(gear.may_be(n).iter().map(|f| plain(&format!("short.{f}"))));
            }
        }
    }
}

/// What numbers can be on the gear of a kit.
struct OnGear<'a> {
    kit: &'a Kit,
    frames: f64,
}

impl<'a> OnGear<'a> {
    fn of(kit: &'a Kit) -> Self {
        Self { kit, frames: kit.cameras.iter().map(|c| c.frames).max().map_or(36.0, f64::from) }
    }

    fn may_be(&self, n: &Number) -> Vec<&'static str> {
        let v = n.value;
        let mut out = Vec::new();
        let mut put = |yes: bool, name| {
            if yes {
                out.push(name);
            }
        };
        let dial = |s: Option<Speed>| s.is_some_and(|s| self.kit.cameras.iter().any(|c| c.dial.has(s)));
        let part = Speed::nth(v);
        put(dial(part), "dial-part");
        put(v >= 2.0 && part.is_some_and(|s| ShutterStep::Third.has(s)), "any-part");
        put(dial(Speed::seconds_mark(v)), "dial-seconds");
        let aperture = Aperture::new(v);
        let lens = |a: Aperture| self.kit.lenses.iter().any(|l| l.allows(a));
        let stop = aperture.is_some_and(|a| ApertureStep::Full.has(a));
        let fine = aperture.is_some_and(|a| ApertureStep::Half.has(a) || ApertureStep::Third.has(a));
        put(stop && aperture.is_some_and(lens), "ring");
        put(!stop && fine && aperture.is_some_and(lens), "ring-fine");
        put(stop || fine, "stop");
        let prime = |l: &crate::kit::Lens| matches!(l.focal, Focal::Prime(_)) && l.focal.covers(v);
        put(self.kit.lenses.iter().any(prime), "prime");
        put(self.kit.lenses.iter().any(|l| l.focal.is_zoom() && l.focal.covers(v)), "zoom");
        put(self.kit.films.iter().any(|f| f64::from(f.iso.get()) == v), "box");
        put(v >= 3.0 && ei_mark(v), "index");
        let whole = v.fract() == 0.0 && n.how != How::Pair;
        put(whole && v <= self.frames, "frame");
        put(whole && v > self.frames, "over");
        put(n.kind == NumberKind::Ordinal, "ordinal");
        put(n.kind == NumberKind::Decimal, "decimal");
        put(n.how == How::Joined, "joined");
        put(n.how == How::Pair, "pair");
        put(matches!(n.how, How::Homophone | How::Heard), "sounds");
        out
    }
}

/// Whether a number stands in the series of film speeds. Source: ISO 5800, thirds of a stop.
fn ei_mark(v: f64) -> bool {
    marks::film_speed(v)
}

fn kit_names(r: &Passage<'_>, out: &mut [Vec<u16>]) {
    for n in &r.found.named {
        let sure = n.weight >= SURE_NAME;
        let name = match n.gear {
            KitThing::Lens(_) if sure => "name.lens",
            KitThing::Lens(_) => "name.lens-near",
            KitThing::Filter(_) if sure => "name.filter",
            KitThing::Filter(_) => "name.filter-near",
            KitThing::Film(_) if sure => "name.film",
            KitThing::Film(_) => "name.film-near",
            KitThing::Camera(_) if sure => "name.camera",
            KitThing::Camera(_) => "name.camera-near",
        };
        for set in &mut out[usize::from(n.start)..usize::from(n.end)] {
            set.push(plain(name));
        }
    }
    for q in &r.found.quantities {
        let name = match q.class {
            Class::Stops => "amount.stops",
            Class::Duration => "amount.time",
            Class::Clicks => "amount.clicks",
            _ => "amount.plain",
        };
        for set in &mut out[usize::from(q.start)..usize::from(q.end)] {
            set.push(plain(name));
        }
    }
}

fn classes(r: &Passage<'_>, out: &mut [Vec<u16>]) {
    let base = PLAIN.len() + SIZES.len();
    let count = Class::ALL.len();
    let number = |c: Class| Class::ALL.iter().position(|k| *k == c).expect("every class is listed");
    for t in &r.found.terms {
        let (from, to) = (usize::from(t.start), usize::from(t.end));
        out[from].push((base + number(t.class)) as u16);
        for set in &mut out[from + 1..to] {
            set.push((base + count + number(t.class)) as u16);
        }
    }
    for t in &r.found.all {
        for set in &mut out[usize::from(t.start)..usize::from(t.end)] {
            set.push((base + 2 * count + number(t.class)) as u16);
        }
    }
}
