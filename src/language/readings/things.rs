//! Things of the kit that words name, or come near to.

use super::value::{Values, sorted};
use super::ways;
use super::ways::{Way, add};
use crate::kit::Focal;
use crate::language::grammar::{Class, KitThing, SoundsLike};
use crate::language::phrases::Arg;
use crate::language::text::{Kind, NumberKind, Token, distance};
use std::ops::Range;

/// How much it counts that words are only part of a name: its share to this power, so that half a name costs a sixth. A
/// choice.
const SHARE_COUNTS: f64 = 0.25;
/// Sounds that may differ between words and the name they are taken for, as a part of the longer.
const FARTHEST_NAME: f64 = 0.45;
/// How surely a filter is meant by the number in its name alone; our choice, as for a name come near to.
const NUMBERED: f64 = 0.9;
/// How much farther off every other name of the kind must be.
const CLEARLY_NEARER: f64 = 0.1;
/// What a name that was only come near to weighs at best: it is always in doubt.
const NEAR_NAME: f64 = 0.6;
/// Fewer letters sound like too much.
const LEAST_LETTERS: usize = 3;
/// A second filter is meant too if it is named at least so much as surely as the first.
const AS_NEAR: f64 = 0.5;
/// Filters that one stretch names at most.
const MOST_STACKED: usize = 2;
/// Only a lens of the kit has a shorter focal length, millimetres: less is a number misheard. Common practice.
const SHORTEST_MM: f64 = 12.0;

/// Which glass words name.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Glass {
    /// Lenses of the kit.
    pub lens: Vec<Way<usize>>,
    /// Focal lengths, millimetres.
    pub focal: Vec<Way<f64>>,
    /// The short (`false`) or long (`true`) end of a zoom.
    pub end: Option<bool>,
}

impl<'a> Values<'a> {
    /// Things of the kit that are named in a stretch, the surest first.
    pub fn gear(&self, span: &Range<usize>) -> Vec<(KitThing, f64)> {
        let mut out: Vec<(KitThing, f64)> = Vec::new();
        let named = &self.r.found.named;
        let from = named.partition_point(|n| usize::from(n.start) + 1 < span.start);
        for n in named[from..].iter().take_while(|n| usize::from(n.start) < span.end) {
            let (s, e) = (usize::from(n.start), usize::from(n.end));
            if e > span.end + 1 || e <= span.start {
                continue;
            }
            let inside = (e.min(span.end) - s.max(span.start)) as f64;
            let share = inside / (e - s).max(span.len()) as f64;
            let weight = f64::from(n.weight) * share.powf(SHARE_COUNTS);
            match out.iter_mut().find(|(g, _)| *g == n.gear) {
                Some(o) => o.1 = o.1.max(weight),
                None => out.push((n.gear, weight)),
            }
        }
        out.sort_by(|a, b| b.1.total_cmp(&a.1));
        out
    }

    pub(super) fn kind<T>(&self, span: &Range<usize>, pick: impl Fn(KitThing) -> Option<T>) -> Vec<Way<T>> {
        let named: Vec<Way<T>> = self.gear(span).into_iter().filter_map(|(g, w)| Some(Way::new(pick(g)?, w))).collect();
        if named.is_empty() { self.sounds_like(span, pick) } else { named }
    }

    /// The one thing of a kind whose name sounds most like the words of a stretch, in doubt; none where two are
    /// about as near.
    fn sounds_like<T>(&self, span: &Range<usize>, pick: impl Fn(KitThing) -> Option<T>) -> Vec<Way<T>> {
        let words = self.r.tokens[span.clone()].iter().filter(|t| {
            let says_nothing = ["leading", "thing"].iter().any(|l| self.r.lexicon.in_list(l, t));
            t.kind == Kind::Word && !self.r.lexicon.is_number_word(t) && !says_nothing
        });
        let letters: String = words.map(|t| &self.r.folded[t.span.clone()]).collect();
        let key = self.r.lexicon.sounds.key(&letters);
        if letters.len() < LEAST_LETTERS || key.len() < 2 {
            return Vec::new();
        }
        let mut all: Vec<(f64, KitThing)> = Vec::new();
        for (name, known) in &self.r.lexicon.sound_names {
            let longest = name.len().max(key.len());
            let Some(off) = distance(&key, name, longest / 2).map(|d| d as f64 / longest as f64) else { continue };
            for k in known {
                let SoundsLike::Gear(gear) = k.sounds else { continue };
                if pick(gear).is_none() || off > FARTHEST_NAME {
                    continue;
                }
                match all.iter_mut().find(|(_, g)| *g == gear) {
                    Some(a) => a.0 = a.0.min(off),
                    None => all.push((off, gear)),
                }
            }
        }
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        let clear = all.len() < 2 || all[1].0 - all[0].0 >= CLEARLY_NEARER;
        let best = all.first().filter(|_| clear);
        best.and_then(|(off, gear)| Some(Way::new(pick(*gear)?, NEAR_NAME * (1.0 - off)))).into_iter().collect()
    }

    /// A lens or a focal length.
    pub fn glass(&self, span: &Range<usize>) -> Glass {
        let mut glass = Glass {
            lens: self.kind(span, |g| if let KitThing::Lens(i) = g { Some(usize::from(i)) } else { None }),
            ..Glass::default()
        };
        let numbers = self.plain_number(span);
        if glass.lens.is_empty() || self.r.kit.lenses[glass.lens[0].value].focal.is_zoom() {
            glass.focal = sorted(ways::values(numbers.iter(), self.alike()));
            let made = |mm: f64| mm >= SHORTEST_MM || self.r.kit.lenses.iter().any(|l| l.focal.covers(mm));
            glass.focal.retain(|w| made(w.value));
        }
        glass.end = self.r.tokens[span.clone()].iter().find_map(|t| {
            let is = |list| self.r.lexicon.in_list(list, t);
            if is("long-end") {
                Some(true)
            } else if is("short-end") {
                Some(false)
            } else {
                None
            }
        });
        // "The long zoom" is a name; "the zoom, long end" says where it stands.
        let end = self.has(span, "zoom-end");
        if !glass.lens.is_empty() && !end || !glass.focal.is_empty() {
            glass.end = None;
        }
        if glass.lens.is_empty() {
            for f in &glass.focal.clone() {
                for (i, lens) in self.r.kit.lenses.iter().enumerate() {
                    if matches!(lens.focal, Focal::Prime(_)) && lens.focal.covers(f.value) {
                        add(&mut glass.lens, i, f.weight);
                    }
                }
            }
        }
        glass
    }

    /// How near the words come to the filter that they name: 1 where they say its name.
    pub fn filter_near(&self, span: &Range<usize>) -> f64 {
        let said = self.gear(span).iter().any(|(g, _)| matches!(g, KitThing::Filter(_)));
        if said { 1.0 } else { self.filters(span).first().map_or(1.0, |w| w.weight.min(1.0)) }
    }

    /// Filters named, in order; none where the words say that there is none.
    pub fn filters(&self, span: &Range<usize>) -> Vec<Way<usize>> {
        let named = self.kind(span, |g| if let KitThing::Filter(i) = g { Some(usize::from(i)) } else { None });
        if named.is_empty() { self.filter_of_number(span) } else { named }
    }

    /// "Number eight": the one filter with that number in its name.
    fn filter_of_number(&self, span: &Range<usize>) -> Vec<Way<usize>> {
        let Some(number) = self.plain_number(span).first().map(|n| n.value) else { return Vec::new() };
        let has = |name: &str| name.split_whitespace().any(|w| w.parse().is_ok_and(|n: f64| n == number));
        let filters = self.r.kit.filters.iter().enumerate();
        let mut all = filters.filter(|(_, f)| has(&f.name)).map(|(i, _)| i);
        match (all.next(), all.next()) {
            (Some(one), None) => vec![Way::new(one, NUMBERED)],
            _ => Vec::new(),
        }
    }

    /// The filters that a stretch means: two names of one place are two ways to read it, unless there are words
    /// enough for both.
    pub fn filters_meant(&self, span: &Range<usize>) -> Vec<Way<usize>> {
        let ways = self.filters(span);
        let Some(first) = ways.first().copied() else { return ways };
        let near = ways.into_iter().filter(|w| w.weight >= AS_NEAR * first.weight).take(MOST_STACKED);
        near.filter(|w| w.value == first.value || span.len() > 2).collect()
    }

    /// The words of a name that the kit does not have; none where there are but articles and the word for the thing.
    pub fn name_words(&self, span: &Range<usize>) -> Option<String> {
        let says =
            |t: &Token| !t.is_mark() && !self.r.lexicon.in_list("leading", t) && !self.r.lexicon.in_list("thing", t);
        self.r.tokens[span.clone()].iter().any(says).then(|| self.words(span))
    }

    /// Whether the words say that no filter is on.
    pub fn bare(&self, span: &Range<usize>) -> bool {
        let off = self.has(span, "off") && self.gear(span).is_empty();
        !self.terms(span, &[Class::FilterNone, Class::FilterOff]).is_empty() || self.has(span, "without") || off
    }

    /// Cameras. "A" is none where a word follows: "a brakeman".
    pub fn camera(&self, span: &Range<usize>) -> Vec<Way<usize>> {
        if self.r.is_article(span) {
            return Vec::new();
        }
        self.kind(span, |g| if let KitThing::Camera(i) = g { Some(usize::from(i)) } else { None })
    }

    /// Cameras that are named: a lens of no kit may well sound like one.
    pub fn camera_named(&self, span: &Range<usize>) -> Vec<Way<usize>> {
        let camera = |g| if let KitThing::Camera(i) = g { Some(usize::from(i)) } else { None };
        self.gear(span).into_iter().filter_map(|(g, w)| Some(Way::new(camera(g)?, w))).collect()
    }

    /// Films, by name or by the speed on the box where only one has it.
    pub fn film(&self, span: &Range<usize>) -> Vec<Way<usize>> {
        let mut films = self.kind(span, |g| if let KitThing::Film(i) = g { Some(usize::from(i)) } else { None });
        if films.is_empty() {
            // A name that only sounds like one of the kit's, where a roll is announced.
            for term in self.terms(span, &[Class::Film]) {
                if let Some(Arg::Gear(KitThing::Film(i), w)) = term.args[0] {
                    add(&mut films, usize::from(i), f64::from(w * term.weight));
                }
            }
        }
        if films.is_empty() {
            for n in self.number(span, |n| n.kind == NumberKind::Cardinal) {
                let of: Vec<usize> = (0..self.r.kit.films.len())
                    .filter(|i| f64::from(self.r.kit.films[*i].iso.get()) == n.value)
                    .collect();
                if let [one] = of[..] {
                    add(&mut films, one, f64::from(n.weight));
                }
            }
        }
        films
    }
}
