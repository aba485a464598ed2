//! What a number is for that no phrase claims: "250 at 8".

use super::class::Class;
use super::gear::Gear;
use super::number::{How, Number, NumberKind};
use super::statement::Reading;
use super::term::{Arg, Term};
use super::token::Kind;
use super::ways::{self, ShutterForm};

/// A role, with its weight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Role {
    /// A shutter speed.
    Shutter(f64),
    /// An aperture.
    Aperture(f64),
    /// A focal length.
    Focal(f64),
    /// An exposure index.
    Ei(f64),
    /// A frame number.
    Frame(f64),
    /// A roll's name.
    Roll(f64),
    /// A shutter speed or a focal length, and the weight of each.
    ShutterOrFocal(f64, f64),
}

/// What stands beside a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Link {
    /// Joined by "at" or the like.
    At,
    /// Parted by a comma, or by nothing.
    Next,
    /// By a word of correction, or by "or".
    Corrected,
    /// A joining word of a list.
    And,
}

/// A focal length in the place of a shutter speed: "the two hundred at f8".
const FOCAL_FOR_SHUTTER: f64 = 0.2;
/// The same where a lens of that one length is in the kit.
const PRIME_FOR_SHUTTER: f64 = 0.35;
/// A focal length after the aperture: "f11 at forty".
const FOCAL_AFTER_APERTURE: f64 = 0.32;
/// The least weight a role needs.
const LEAST: f64 = 0.2;

struct Finder<'a, 'r> {
    r: &'r Reading<'a>,
    gear: Gear<'r>,
    sentence: Vec<usize>,
    roles: Vec<Option<Role>>,
}

/// A role for every term that is a bare number; none for other terms and for
/// numbers that mean nothing here.
pub fn assign(r: &Reading<'_>) -> Vec<Option<Role>> {
    let terms = &r.found.terms;
    let mut sentence = Vec::with_capacity(terms.len());
    let (mut n, mut token) = (0, 0);
    for t in terms {
        while token < usize::from(t.start) {
            n += usize::from(r.tokens[token].ends_sentence());
            token += 1;
        }
        let opens = matches!(
            t.class,
            Class::Frame
                | Class::Next
                | Class::Then
                | Class::Nth
                | Class::FrameNth
                | Class::OneOfThem
                | Class::Same
                | Class::SameAgain
        );
        n += usize::from(opens);
        sentence.push(n);
    }
    let gear = Gear { kit: r.kit, camera: None, lens: None };
    let mut finder = Finder { r, gear, sentence, roles: vec![None; terms.len()] };
    if terms.iter().any(|t| t.class == Class::Bare) {
        finder.corrections();
        finder.pairs();
        finder.lists();
        finder.beside();
        finder.lists();
        finder.lone_pairs();
        finder.leftovers();
    }
    finder.roles
}

fn shutter_like(c: Class) -> bool {
    matches!(
        c,
        Class::ShutterFraction
            | Class::ShutterNumber
            | Class::Time
            | Class::HoldB
            | Class::HoldT
            | Class::TimeFraction
            | Class::ShutterTo
    )
}

fn aperture_like(c: Class) -> bool {
    matches!(
        c,
        Class::Aperture
            | Class::ApertureHalf
            | Class::ApertureBetween
            | Class::ApertureWidest
            | Class::ApertureSmallest
            | Class::ApertureTo
    )
}

impl Finder<'_, '_> {
    fn terms(&self) -> &[Term] {
        &self.r.found.terms
    }

    fn readings(&self, k: usize) -> (Vec<Number>, bool) {
        match self.terms()[k].args[0] {
            Some(Arg::Number { start, end }) => {
                let written = matches!(self.r.tokens[usize::from(start)].kind, Kind::Number { .. });
                (
                    self.r.found.readings(start, end).filter(|n| n.kind != NumberKind::Ordinal).copied().collect(),
                    written,
                )
            }
            _ => (Vec::new(), false),
        }
    }

    fn value(&self, k: usize) -> Option<f64> {
        self.readings(k).0.iter().find(|n| n.how != How::Homophone).map(|n| n.value)
    }

    fn as_shutter(&self, k: usize) -> f64 {
        let (readings, written) = self.readings(k);
        let mut ways = ways::shutters(readings.iter(), ShutterForm::Bare, written, &self.r.lexicon.numbers.alike);
        self.gear.loosen(&mut ways);
        ways.iter().map(|w| w.weight * self.gear.shutter(w.value)).fold(0.0, f64::max)
    }

    fn as_aperture(&self, k: usize) -> f64 {
        let (readings, written) = self.readings(k);
        let ways = ways::apertures(readings.iter(), written, &self.r.lexicon.numbers.alike);
        ways.iter().map(|w| w.weight * self.gear.aperture(w.value)).fold(0.0, f64::max)
    }

    fn as_focal(&self, k: usize) -> f64 {
        let ways = ways::values(self.readings(k).0.iter(), &[]);
        ways.iter().map(|w| w.weight * self.gear.focal(w.value)).fold(0.0, f64::max)
    }

    fn is_bare(&self, k: usize) -> bool {
        self.terms()[k].class == Class::Bare && self.roles[k].is_none()
    }

    /// The next term that carries something, and how it is linked.
    fn linked(&self, k: usize, forward: bool) -> Option<(usize, Link)> {
        let terms = self.terms();
        let mut link = Link::Next;
        let mut i = k;
        let mut commas = 0;
        for _ in 0..5 {
            let j = if forward { i + 1 } else { i.checked_sub(1)? };
            let other = terms.get(j)?;
            let (from, to) = if forward { (terms[i].end, other.start) } else { (other.end, terms[i].start) };
            for t in &self.r.tokens[usize::from(from)..usize::from(to)] {
                match t.kind {
                    Kind::Mark(',' | '-' | ':' | '"' | '\'' | '/') => commas += 1,
                    Kind::Word if self.r.lexicon.in_list("filler", t) => {}
                    _ => return None,
                }
            }
            match other.class {
                Class::At => link = Link::At,
                Class::And => {
                    if link == Link::Next {
                        link = Link::And;
                    }
                }
                Class::Correct | Class::CorrectNo | Class::Or | Class::Not | Class::Scratch | Class::Yes => {
                    link = Link::Corrected
                }
                Class::Either
                | Class::All
                | Class::LensThe
                | Class::Lens
                | Class::Focal
                | Class::FilterOn
                | Class::Support
                | Class::Light
                | Class::PlaceAt
                | Class::Doubt
                | Class::Still
                | Class::Turn
                    if commas < 2 => {}
                _ => return Some((j, link)),
            }
            i = j;
        }
        None
    }

    /// After a correction a number takes the place of the value before it.
    fn corrections(&mut self) {
        for k in 0..self.terms().len() {
            if !self.is_bare(k) {
                continue;
            }
            if self.names_frame_before(k) && self.follows_mark(k) {
                self.roles[k] = Some(Role::Frame(0.9));
                continue;
            }
            let linked = match self.linked(k, false) {
                Some((j, Link::Corrected)) => Some(j),
                _ => self.corrected_after_stop(k),
            };
            let Some(j) = linked else { continue };
            let class = self.terms()[j].class;
            if let Some(role) = self.nearer_dial(k, j) {
                self.roles[k] = Some(role);
                continue;
            }
            let role = match class {
                c if shutter_like(c) && self.as_shutter(k) >= 0.3 => Some(Role::Shutter(0.95)),
                c if aperture_like(c) && self.as_aperture(k) >= 0.3 => Some(Role::Aperture(0.95)),
                Class::Focal | Class::LensThe | Class::Lens | Class::FocalZoom | Class::LensAt
                    if self.as_focal(k) >= 0.5 =>
                {
                    Some(Role::Focal(0.95))
                }
                Class::Ei | Class::FilmAt | Class::EiBox => Some(Role::Ei(0.95)),
                Class::Frame | Class::Frames | Class::FrameWeak => Some(Role::Frame(0.95)),
                Class::Roll => Some(Role::Roll(0.95)),
                Class::Bare => self.roles[j],
                _ => None,
            };
            self.roles[k] = role;
        }
    }

    fn follows_mark(&self, k: usize) -> bool {
        let start = usize::from(self.terms()[k].start);
        start == 0 || self.r.tokens[start - 1].is_mark()
    }

    /// "EI 200. No, hang about, 160.": the value before the correction, in the sentence before.
    fn corrected_after_stop(&self, k: usize) -> Option<usize> {
        let terms = self.terms();
        let correction = |j: usize| matches!(terms[j].class, Class::Correct | Class::CorrectNo | Class::Scratch);
        let first = (0..k).rev().take_while(|j| correction(*j)).last()?;
        let j = first.checked_sub(1)?;
        let quiet = |from: u16, to: u16| {
            self.r.tokens[usize::from(from)..usize::from(to)]
                .iter()
                .all(|t| t.is_mark() || self.r.lexicon.in_list("filler", t))
        };
        (j..k).all(|i| quiet(terms[i].end, terms[i + 1].start)).then_some(j)
    }

    /// "No, six was f11": a frame spoken of before, and a form of "to be".
    fn names_frame_before(&self, k: usize) -> bool {
        let is = self.r.tokens.get(usize::from(self.terms()[k].end)).is_some_and(|t| self.r.lexicon.in_list("be", t));
        let value = self.value(k);
        is && (0..k).any(|j| {
            matches!(self.terms()[j].class, Class::Frame | Class::Frames | Class::FrameS)
                && matches!(self.terms()[j].args[0], Some(Arg::Number { start, end })
                    if self.r.found.readings(start, end).any(|n| Some(n.value) == value))
        })
    }

    /// Of a shutter and an aperture said before, the one that a number after a
    /// correction is nearer to, in stops.
    fn nearer_dial(&self, k: usize, j: usize) -> Option<Role> {
        let before = |like: &dyn Fn(Class) -> bool| {
            (0..=j).rev().take_while(|i| self.sentence[*i] == self.sentence[j]).find(|i| like(self.terms()[*i].class))
        };
        let (s, a) = (
            before(&shutter_like)?,
            before(&aperture_like).or_else(|| {
                (0..=j)
                    .rev()
                    .take_while(|i| self.sentence[*i] == self.sentence[j])
                    .find(|i| self.terms()[*i].class == Class::Bare)
            })?,
        );
        let (as_s, as_a) = (self.as_shutter(k), self.as_aperture(k));
        let value = self.value(k)?;
        let number = |i: usize| match self.terms()[i].args[0] {
            Some(Arg::Number { start, end }) => self.r.found.readings(start, end).map(|n| n.value).next(),
            _ => None,
        };
        let apart_s = number(s).map_or(9.0, |n| (n / value).log2().abs());
        let apart_a = number(a).map_or(9.0, |n| 2.0 * (n / value).log2().abs());
        if as_a >= 0.3 && (as_s < LEAST || apart_a < apart_s) {
            Some(Role::Aperture(0.95))
        } else if as_s >= 0.3 {
            Some(Role::Shutter(0.95))
        } else {
            None
        }
    }

    /// "X at Y".
    fn pairs(&mut self) {
        for k in 0..self.terms().len() {
            if !self.is_bare(k) {
                continue;
            }
            if let Some((j, Link::At)) = self.linked(k, true) {
                let class = self.terms()[j].class;
                if shutter_like(class) && self.as_aperture(k) >= 0.1 {
                    self.roles[k] = Some(Role::Aperture(self.as_aperture(k).max(0.5)));
                } else if aperture_like(class) {
                    self.roles[k] = self.shutter_or_focal(k);
                } else if self.is_bare(j) {
                    self.both_bare(k, j);
                }
            }
            if self.roles[k].is_none()
                && let Some((j, Link::At)) = self.linked(k, false)
            {
                let class = self.terms()[j].class;
                if shutter_like(class) && self.as_aperture(k) >= 0.1 {
                    self.roles[k] = Some(Role::Aperture(self.as_aperture(k).max(0.5)));
                } else if aperture_like(class) {
                    self.roles[k] = self.shutter_or_focal(k);
                }
            }
        }
    }

    fn shutter_or_focal(&self, k: usize) -> Option<Role> {
        let prime = self.value(k).is_some_and(|v| self.r.lexicon.has_prime(v));
        let after = self.linked(k, false).is_some_and(|(j, l)| l == Link::At && aperture_like(self.terms()[j].class));
        let full_stop = self
            .value(k)
            .and_then(crate::exposure::Speed::nth)
            .is_some_and(|s| crate::exposure::ShutterStep::Full.has(s));
        let share = if prime {
            PRIME_FOR_SHUTTER
        } else if after && !full_stop {
            FOCAL_AFTER_APERTURE
        } else {
            FOCAL_FOR_SHUTTER
        };
        let (s, mut f) = (self.as_shutter(k), self.as_focal(k) * share);
        if f < 0.1 {
            f = 0.0;
        }
        let zoom_named = self
            .terms()
            .iter()
            .enumerate()
            .any(|(j, t)| t.class == Class::Lens && self.sentence[j] == self.sentence[k]);
        if zoom_named {
            f *= 4.0;
        }
        let written_point = self.readings(k).0.iter().any(|n| n.kind == NumberKind::Decimal && n.how == How::Plain);
        if written_point {
            f = 0.0;
        }
        match (s >= LEAST * 0.5, f > 0.0) {
            (true, true) if f > s * 0.25 => Some(Role::ShutterOrFocal(s, f)),
            (true, _) => Some(Role::Shutter(s)),
            (false, true) => Some(Role::ShutterOrFocal(s.max(0.02), f)),
            (false, false) => None,
        }
    }

    fn both_bare(&mut self, k: usize, j: usize) {
        let plain = self.as_shutter(k) * self.as_aperture(j);
        let turned = self.as_aperture(k) * self.as_shutter(j) * 0.6;
        let focal = self.as_focal(k) * self.as_aperture(j) * FOCAL_FOR_SHUTTER * 0.5;
        let best = plain.max(turned).max(focal);
        if best < 0.25 && !(best >= 0.02 && (self.beside_settings(k) || self.nothing_else(k))) {
            return;
        }
        if turned > plain && turned >= focal {
            self.roles[k] = Some(Role::Aperture(turned / (turned + plain)));
            self.roles[j] = Some(Role::Shutter(turned / (turned + plain)));
        } else {
            self.roles[j] = Some(Role::Aperture(self.as_aperture(j)));
            self.roles[k] = self.shutter_or_focal(k);
        }
    }

    /// Whether the sentence holds nothing but phrases and small words.
    fn nothing_else(&self, k: usize) -> bool {
        let terms = self.terms();
        let first = (0..=k).rev().take_while(|j| self.sentence[*j] == self.sentence[k]).last().unwrap_or(k);
        let last = (k..terms.len()).take_while(|j| self.sentence[*j] == self.sentence[k]).last().unwrap_or(k);
        let from = (0..usize::from(terms[first].start)).rev().take_while(|i| !self.r.tokens[*i].ends_sentence()).last();
        let from = from.unwrap_or(usize::from(terms[first].start));
        let to = (usize::from(terms[last].end)..self.r.tokens.len())
            .take_while(|i| !self.r.tokens[*i].ends_sentence())
            .last();
        let to = to.map_or(usize::from(terms[last].end), |i| i + 1);
        let other = terms[first..=last].iter().any(|t| t.class == Class::Other);
        !other
            && (from..to).all(|i| {
                let t = &self.r.tokens[i];
                t.is_mark()
                    || self.r.lexicon.in_list("filler", t)
                    || terms.iter().any(|m| usize::from(m.start) <= i && i < usize::from(m.end))
            })
    }

    /// Whether the sentence, or what leads to it, speaks of a frame.
    fn beside_settings(&self, k: usize) -> bool {
        self.terms().iter().enumerate().any(|(j, t)| {
            (self.sentence[j] == self.sentence[k] || self.sentence[j] + 1 == self.sentence[k])
                && (shutter_like(t.class)
                    || aperture_like(t.class)
                    || matches!(t.class, Class::Frame | Class::Focal | Class::LensThe | Class::FilterOn | Class::Lens))
        })
    }

    /// Numbers in a row with a value are of its kind: "5.6, 8 and 11".
    fn lists(&mut self) {
        let n = self.terms().len();
        for k in (0..n).chain((0..n).rev()) {
            if !self.is_bare(k) {
                continue;
            }
            for forward in [true, false] {
                let Some((j, link)) = self.linked(k, forward) else { continue };
                if !matches!(link, Link::Next | Link::And) {
                    continue;
                }
                let class = self.terms()[j].class;
                let listed = self.listed(k);
                let role = match (class, self.roles[j]) {
                    // The same number again says the same thing.
                    (c, _) if aperture_like(c) && self.same_number(k, j) => Some(Role::Aperture(0.95)),
                    (Class::ShutterList, _) if self.as_shutter(k) >= 0.3 => Some(Role::Shutter(0.95)),
                    (Class::ApertureList, _) if self.as_aperture(k) >= 0.3 => Some(Role::Aperture(0.95)),
                    (Class::Bare, Some(Role::Shutter(w)))
                        if (link == Link::And || listed) && self.as_shutter(k) >= 0.3 =>
                    {
                        Some(Role::Shutter(w))
                    }
                    (Class::Bare, Some(Role::Aperture(w)))
                        if (link == Link::And || listed) && self.as_aperture(k) >= 0.3 =>
                    {
                        Some(Role::Aperture(w))
                    }
                    (c, _) if listed && aperture_like(c) && self.as_aperture(k) >= 0.3 => Some(Role::Aperture(0.9)),
                    (c, _) if listed && shutter_like(c) && self.as_shutter(k) >= 0.3 => Some(Role::Shutter(0.9)),
                    _ => None,
                };
                if role.is_some() {
                    self.roles[k] = role;
                    break;
                }
            }
        }
    }

    fn same_number(&self, k: usize, j: usize) -> bool {
        let Some(Arg::Number { start, end }) = self.terms()[j].args[0] else { return false };
        let value = self.value(k);
        self.r.found.readings(start, end).any(|n| Some(n.value) == value)
    }

    /// Whether the sentence is a list of values: one frame each.
    fn listed(&self, k: usize) -> bool {
        self.terms().iter().enumerate().any(|(j, t)| {
            self.sentence[j] == self.sentence[k]
                && matches!(t.class, Class::ShutterList | Class::ApertureList | Class::Bracket | Class::All)
        })
    }

    /// Beside a shutter an aperture, beside an aperture a shutter.
    fn beside(&mut self) {
        for k in 0..self.terms().len() {
            if !self.is_bare(k) {
                continue;
            }
            let has = |f: &dyn Fn(Class) -> bool, role: &dyn Fn(Role) -> bool| {
                self.terms().iter().enumerate().any(|(j, t)| {
                    self.sentence[j] == self.sentence[k] && (f(t.class) || self.roles[j].is_some_and(role))
                })
            };
            let shutter = has(&shutter_like, &|r| matches!(r, Role::Shutter(_) | Role::ShutterOrFocal(..)));
            let aperture = has(&aperture_like, &|r| matches!(r, Role::Aperture(_)));
            let near = |want: &dyn Fn(Class) -> bool, role: &dyn Fn(Role) -> bool| {
                [true, false].iter().any(|f| {
                    self.linked(k, *f).is_some_and(|(j, link)| {
                        link != Link::Corrected && (want(self.terms()[j].class) || self.roles[j].is_some_and(role))
                    })
                })
            };
            let beside_shutter = near(&shutter_like, &|r| matches!(r, Role::Shutter(_)));
            let beside_aperture = near(&aperture_like, &|r| matches!(r, Role::Aperture(_)));
            if beside_shutter && !aperture && self.as_aperture(k) >= 0.3 {
                self.roles[k] = Some(Role::Aperture(self.as_aperture(k)));
            } else if beside_aperture && !shutter && self.as_shutter(k) >= LEAST {
                self.roles[k] = self.shutter_or_focal(k);
            } else if let Some((j, _)) = self.linked(k, false)
                && self.terms()[j].class == Class::Frame
                && self.linked(k, true).is_none_or(|(n, _)| aperture_like(self.terms()[n].class))
                && self.as_shutter(k) >= 0.5
                && !shutter
            {
                self.roles[k] = Some(Role::Shutter(self.as_shutter(k)));
            }
        }
    }

    /// Whether only a point stands between two numbers: 500.5.6.
    fn run_together(&self, k: usize, j: usize) -> bool {
        let (from, to) = (usize::from(self.terms()[k].end), usize::from(self.terms()[j].start));
        to == from + 1 && self.r.tokens[from].glued && self.r.tokens[to].glued
    }

    /// Two numbers and nothing else: "five six, five hundred".
    fn lone_pairs(&mut self) {
        for k in 0..self.terms().len() {
            if !self.is_bare(k) {
                continue;
            }
            let Some((j, Link::Next)) = self.linked(k, true) else { continue };
            let run_together = self.run_together(k, j);
            let led = self.linked(k, false).is_some_and(|(p, _)| {
                matches!(self.terms()[p].class, Class::Frame | Class::Focal | Class::LensThe | Class::Lens)
            });
            if !self.is_bare(j) || !(run_together || led || self.nothing_else(k)) {
                continue;
            }
            let plain = self.as_shutter(k) * self.as_aperture(j);
            let turned = self.as_aperture(k) * self.as_shutter(j);
            if turned.max(plain) < 0.8 {
                continue;
            }
            let (s, a) = if turned > plain { (j, k) } else { (k, j) };
            let sure = turned.max(plain) / (turned + plain);
            self.roles[s] = Some(Role::Shutter(sure));
            self.roles[a] = Some(Role::Aperture(sure));
        }
    }

    /// A rating after the film; a focal length that only a zoom can mean.
    fn leftovers(&mut self) {
        for k in 0..self.terms().len() {
            if !self.is_bare(k) {
                continue;
            }
            let in_sentence = |f: &dyn Fn(Class) -> bool| {
                self.terms().iter().enumerate().any(|(j, t)| self.sentence[j] == self.sentence[k] && f(t.class))
            };
            let film = in_sentence(&|c| matches!(c, Class::Film | Class::Roll));
            let exposed = in_sentence(&|c| shutter_like(c) || aperture_like(c));
            let at = self.linked_at_before(k);
            if film && at && !exposed && self.value(k).is_some_and(|v| self.gear.ei(v) >= 1.0 && v >= 6.0) {
                self.roles[k] = Some(Role::Ei(0.9));
                continue;
            }
            let frame = |v: f64| v.fract() == 0.0 && v <= 40.0 && !self.names_filter(v);
            if self.begins(k) && self.full_exposure(k) && self.value(k).is_some_and(frame) {
                self.roles[k] = Some(Role::Frame(0.85));
                continue;
            }
            // "…, then another at 11": one dial of one frame more.
            let more = in_sentence(&|c| matches!(c, Class::Next | Class::Then | Class::OneOfThem | Class::Again));
            if more && at && !exposed {
                let (a, s) = (self.as_aperture(k), self.as_shutter(k));
                if a >= 0.9 && self.value(k).is_some_and(|v| v <= 32.0) {
                    self.roles[k] = Some(Role::Aperture(a / (a + 0.2 * s)));
                    continue;
                } else if s >= 0.9 {
                    self.roles[k] = Some(Role::Shutter(s));
                    continue;
                }
            }
            let lens = in_sentence(&|c| matches!(c, Class::Lens));
            let same = in_sentence(&|c| matches!(c, Class::Same | Class::SameAgain));
            let zoom = self.value(k).is_some_and(|v| self.gear.focal(v) >= 0.85 && v >= 15.0);
            let both = in_sentence(&shutter_like) && in_sentence(&aperture_like)
                || self
                    .roles
                    .iter()
                    .enumerate()
                    .any(|(j, r)| self.sentence[j] == self.sentence[k] && matches!(r, Some(Role::Aperture(_))));
            // "Same shutter at four": the other dial.
            if in_sentence(&|c| c == Class::SameShutter) && self.as_aperture(k) >= 0.9 {
                self.roles[k] = Some(Role::Aperture(0.9));
                continue;
            }
            if in_sentence(&|c| c == Class::SameAperture) && self.as_shutter(k) >= 0.5 {
                self.roles[k] = Some(Role::Shutter(0.9));
                continue;
            }
            let ends = self.r.tokens.get(usize::from(self.terms()[k].end)).is_none_or(super::token::Token::is_mark);
            if zoom && (lens || (same && at) || (both && (self.alone(k) || at && ends))) {
                self.roles[k] = Some(Role::Focal(0.85));
            }
        }
    }

    /// Whether a filter of the kit is called by this number.
    fn names_filter(&self, n: f64) -> bool {
        let number = format!("{n}");
        let has = |name: &str| name.split(|c: char| !c.is_ascii_digit()).any(|part| part == number);
        self.r.kit.filters.iter().any(|f| has(&f.name) || f.said.iter().any(|s| has(s)))
    }

    /// The first word of the text, with a comma after it.
    fn begins(&self, k: usize) -> bool {
        self.terms()[k].start == 0
            && self
                .r
                .tokens
                .get(usize::from(self.terms()[k].end))
                .is_some_and(|t| matches!(t.kind, Kind::Mark(',' | ':' | '.')))
    }

    fn full_exposure(&self, k: usize) -> bool {
        let any = |like: &dyn Fn(Class) -> bool, role: &dyn Fn(Role) -> bool| {
            self.terms().iter().enumerate().any(|(j, t)| j != k && (like(t.class) || self.roles[j].is_some_and(role)))
        };
        any(&shutter_like, &|r| matches!(r, Role::Shutter(_)))
            && any(&aperture_like, &|r| matches!(r, Role::Aperture(_)))
    }

    fn linked_at_before(&self, k: usize) -> bool {
        k > 0 && self.terms()[k - 1].class == Class::At && self.terms()[k - 1].end == self.terms()[k].start
    }

    /// Between commas, by itself.
    fn alone(&self, k: usize) -> bool {
        let t = &self.terms()[k];
        let mark = |i: Option<usize>| i.and_then(|i| self.r.tokens.get(i)).is_none_or(super::token::Token::is_mark);
        mark(usize::from(t.start).checked_sub(1)) && mark(Some(usize::from(t.end)))
    }
}
