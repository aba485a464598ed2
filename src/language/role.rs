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
    /// How many frames.
    Count(f64),
    /// A shutter speed or a focal length, and the weight of each.
    ShutterOrFocal(f64, f64),
}

/// What stands beside a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Link {
    /// Joined by "at" or the like.
    At,
    /// Parted by a comma, or by nothing.
    Next,
    /// By a word of correction, or by "or".
    Corrected,
    /// A joining word of a list.
    And,
}

/// The least weight a role needs.
pub(super) const LEAST: f64 = 0.2;

/// A role that is hardly likelier than another: the value will be flagged.
const TOSS_UP: f64 = 0.25;

/// The weight of a role that is `sure` against the next best, 0 to 1.
pub(super) fn against_rival(sure: f64) -> f64 {
    if sure < 0.7 { TOSS_UP } else { sure }
}

pub(super) struct Finder<'a, 'r> {
    pub(super) r: &'r Reading<'a>,
    pub(super) gear: Gear<'r>,
    pub(super) sentence: Vec<usize>,
    pub(super) roles: Vec<Option<Role>>,
}

/// A role for every term that is a bare number; none for other terms and for
/// numbers that mean nothing here.
pub fn assign(r: &Reading<'_>) -> Vec<Option<Role>> {
    let terms = &r.found.terms;
    let gear = Gear { kit: r.kit, camera: None, lens: None };
    let mut finder = Finder { r, gear, sentence: Vec::new(), roles: vec![None; terms.len()] };
    if terms.iter().any(|t| t.class == Class::Bare) {
        finder.counted();
        finder.sentence = sentences(r, &finder.roles);
        finder.corrections();
        finder.rows();
        finder.pairs();
        finder.lists();
        finder.beside();
        finder.lists();
        finder.lone_pairs();
        finder.leftovers();
        finder.places();
    }
    finder.roles
}

/// The sentence of each term, counted on where a term speaks of another frame.
fn sentences(r: &Reading<'_>, roles: &[Option<Role>]) -> Vec<usize> {
    let (mut n, mut token) = (0, 0);
    let mut all = Vec::with_capacity(roles.len());
    for (t, role) in r.found.terms.iter().zip(roles) {
        while token < usize::from(t.start) {
            n += usize::from(r.tokens[token].ends_sentence());
            token += 1;
        }
        n += usize::from(opens(t.class) || matches!(role, Some(Role::Frame(_))));
        all.push(n);
    }
    all
}

/// Whether a phrase speaks of another frame.
pub(super) fn opens(c: Class) -> bool {
    matches!(
        c,
        Class::Frame
            | Class::Next
            | Class::Then
            | Class::Nth
            | Class::FrameNth
            | Class::OneOfThem
            | Class::Same
            | Class::SameAgain
    )
}

pub(super) fn shutter_like(c: Class) -> bool {
    matches!(
        c,
        Class::ShutterFraction
            | Class::ShutterNumber
            | Class::Time
            | Class::HoldB
            | Class::HoldT
            | Class::TimeFraction
            | Class::HalfInList
            | Class::ShutterTo
    )
}

pub(super) fn aperture_like(c: Class) -> bool {
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
    pub(super) fn terms(&self) -> &[Term] {
        &self.r.found.terms
    }

    pub(super) fn readings(&self, k: usize) -> (Vec<Number>, bool) {
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

    pub(super) fn value(&self, k: usize) -> Option<f64> {
        self.readings(k).0.iter().find(|n| n.how != How::Homophone).map(|n| n.value)
    }

    pub(super) fn as_shutter(&self, k: usize) -> f64 {
        let (readings, written) = self.readings(k);
        let mut ways = ways::shutters(readings.iter(), ShutterForm::Bare, written, &self.r.lexicon.numbers.alike);
        self.gear.loosen(&mut ways);
        ways.iter().map(|w| w.weight * self.gear.shutter(w.value)).fold(0.0, f64::max)
    }

    pub(super) fn as_aperture(&self, k: usize) -> f64 {
        let (readings, written) = self.readings(k);
        let ways = ways::apertures(readings.iter(), written, &self.r.lexicon.numbers.alike);
        ways.iter().map(|w| w.weight * self.gear.aperture(w.value)).fold(0.0, f64::max)
    }

    pub(super) fn as_focal(&self, k: usize) -> f64 {
        let ways = ways::values(self.readings(k).0.iter(), &[]);
        ways.iter().map(|w| w.weight * self.gear.focal(w.value)).fold(0.0, f64::max)
    }

    pub(super) fn is_bare(&self, k: usize) -> bool {
        self.terms()[k].class == Class::Bare && self.roles[k].is_none() && !self.points_at(k)
    }

    /// The terms of the sentence that `k` stands in.
    pub(super) fn of_sentence(&self, k: usize) -> std::ops::Range<usize> {
        let n = self.sentence[k];
        self.sentence.partition_point(|s| *s < n)..self.sentence.partition_point(|s| *s <= n)
    }

    /// The term that ends where token `end` begins, if `k` or one before it does.
    pub(super) fn ending_at(&self, k: usize, end: usize) -> Option<&Term> {
        self.terms()[..k].iter().rev().take_while(|t| usize::from(t.end) >= end).find(|t| usize::from(t.end) == end)
    }

    /// "This one", "that one": no number.
    fn points_at(&self, k: usize) -> bool {
        let t = &self.terms()[k];
        let before = usize::from(t.start).checked_sub(1).map(|i| &self.r.tokens[i]);
        t.len() == 1 && before.is_some_and(|b| self.r.lexicon.in_list("leading", b)) && self.value(k) == Some(1.0)
    }

    /// The next term that carries something, and how it is linked.
    pub(super) fn linked(&self, k: usize, forward: bool) -> Option<(usize, Link)> {
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
                | Class::TurnBack
                | Class::TurnWeak
                    if commas < 2 => {}
                _ => return Some((j, link)),
            }
            i = j;
        }
        None
    }
}
