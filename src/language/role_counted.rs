//! Bare numbers that count the frames on: "Frame five, …. Six, a stop less. Seven was …".

use super::class::Class;
use super::number::{How, NumberKind};
use super::role::{Finder, Role, aperture_like, opens, shutter_like};
use super::term::Arg;
use super::token::{Kind, Token};
use crate::facts::FrameNumber;

/// How far a number may lead past the last one and still name a frame.
const LEAP: f64 = 3.0;

/// What is said between one frame and the next.
#[derive(Debug, Clone, Copy, Default)]
struct Described {
    shutter: bool,
    aperture: bool,
    /// Sameness, a change, a loss: enough to tell of a frame.
    whole: bool,
    /// A filter, a lens, light.
    other: bool,
}

impl Described {
    fn fully(self) -> bool {
        self.whole || self.shutter && self.aperture
    }

    fn at_all(self) -> bool {
        self.fully() || self.shutter || self.aperture || self.other
    }
}

impl Finder<'_, '_> {
    /// Gives the role of a frame to numbers that carry a count on. This comes
    /// before all else, since they part what is said of one frame from the next.
    pub(super) fn counted(&mut self) {
        let mut last: Option<f64> = None;
        let mut named: Vec<f64> = Vec::new();
        let mut since = 0;
        for k in 0..self.terms().len() {
            let class = self.terms()[k].class;
            match class {
                Class::Frame | Class::FrameThat | Class::FrameS | Class::FrameLost | Class::Frames => {
                    last = self.number_of(k).or(last);
                    since = k;
                }
                Class::FrameWeak if last.is_none() => last = self.number_of(k),
                // "Six and seven, …; eight, …"
                Class::Bare if last.is_none() && self.begins_list(k) => last = self.number_of(k + 2),
                Class::Again if !self.follows_mark(k) => continue,
                Class::Next | Class::SameAgain | Class::Again => last = last.map(|l| l + 1.0),
                Class::Bare if self.counts_things(k) => {
                    self.roles[k] = Some(Role::Count(0.95));
                    continue;
                }
                // The last of "frames three, four and five".
                Class::Bare if last.is_some() && self.in_frame_list(k) => {
                    last = self.number_of(k).or(last);
                    since = k;
                }
                Class::Bare if self.counts_on(k, last, &named, since) => {
                    self.roles[k] = Some(Role::Frame(0.9));
                    last = self.number_of(k);
                    since = k;
                }
                _ => continue,
            }
            named.extend(last);
        }
    }

    /// The whole number of a term.
    fn number_of(&self, k: usize) -> Option<f64> {
        let Some(Arg::Number { start, end }) = self.terms()[k].args[0] else { return None };
        let whole = |n: &&super::number::Number| n.kind == NumberKind::Cardinal && n.value.fract() == 0.0;
        let mut readings: Vec<_> = self.r.found.readings(start, end).filter(whole).collect();
        readings.sort_by_key(|n| n.how != How::Plain);
        readings.first().map(|n| n.value)
    }

    /// Whether a number goes on with a list that a word for frames began.
    fn in_frame_list(&self, k: usize) -> bool {
        let terms = self.terms();
        let mut i = k;
        while i > 0 {
            i -= 1;
            match terms[i].class {
                Class::To | Class::And | Class::Bare => {}
                Class::Frames => return true,
                // "Frame one and two": the next number only.
                Class::Frame => return self.number_of(k) == self.number_of(i).map(|n| n + (k - i).div_ceil(2) as f64),
                _ => return false,
            }
            let quiet = |t: &Token| t.kind == Kind::Mark(',');
            if !self.r.tokens[usize::from(terms[i].end)..usize::from(terms[i + 1].start)].iter().all(quiet) {
                return false;
            }
        }
        false
    }

    /// Whether a sentence begins with two numbers joined, and a mark behind them.
    fn begins_list(&self, k: usize) -> bool {
        let terms = self.terms();
        let (Some(join), Some(second)) = (terms.get(k + 1), terms.get(k + 2)) else { return false };
        let joined = matches!(join.class, Class::And | Class::To) && second.class == Class::Bare;
        let tight = join.start == terms[k].end && second.start == join.end;
        let parted = self.r.tokens.get(usize::from(second.end)).is_some_and(Token::is_mark);
        let grows = self.number_of(k).zip(self.number_of(k + 2)).is_some_and(|(a, b)| b > a);
        joined && tight && parted && grows && self.opens_clause(k) == Some(true)
    }

    fn counts_on(&self, k: usize, last: Option<f64>, named: &[f64], since: usize) -> bool {
        let Some(v) = self.number_of(k) else { return false };
        // "Five was at eleven and six at eight": both frames spoken of before.
        let terms = self.terms();
        let joined = terms.get(k + 1).is_some_and(|t| t.class == Class::At && t.start == terms[k].end);
        let and = k > 0 && terms[k - 1].class == Class::And && terms[k - 1].end == terms[k].start;
        if and && joined && named.contains(&v) && matches!(self.roles[since], Some(Role::Frame(_))) {
            return true;
        }
        let possible = (1.0..1000.0).contains(&v) && self.gear.frame(FrameNumber::new(v as u16)) >= 1.0;
        let Some(begins) = self.opens_clause(k).filter(|_| possible) else { return false };
        let after = self.r.tokens.get(usize::from(terms[k].end));
        let is = after.is_some_and(|t| self.r.lexicon.in_list("be", t));
        let said = self.described(k);
        let Some(last) = last else {
            return begins && terms[k].start <= 3 && said.fully() && (is || self.counted_on_later(k, v));
        };
        let next = v == last + 1.0;
        if is {
            return (next || named.contains(&v) || v > last && v <= last + LEAP) && said.at_all();
        }
        // "Eight at a sixtieth" gives an aperture first.
        if !next || joined && self.as_aperture(k).max(self.as_shutter(k)) >= 0.3 {
            return false;
        }
        if terms.get(k + 1).is_some_and(|t| t.start == terms[k].end && tells_of_frame(t.class)) {
            return true;
        }
        // The number may be the aperture that the frame before still wants.
        let before = self.described_between(since, k);
        let wanted = !before.whole && (!before.aperture && self.as_aperture(k) >= 0.3 && !said.aperture);
        // "…, then three I stopped down to eleven."
        let then = k > 0 && terms[k - 1].class == Class::Then && terms[k - 1].end == terms[k].start;
        if begins {
            said.at_all() && !wanted
        } else if then && before.fully() {
            said.at_all()
        } else {
            said.fully() && (before.fully() || said.whole && !wanted)
        }
    }

    /// "Eight. Nets drying, …. Nine. …": the number after it stands in the same way.
    fn counted_on_later(&self, k: usize, v: f64) -> bool {
        let marked = |j: usize| {
            let after = self.r.tokens.get(usize::from(self.terms()[j].end));
            after.is_some_and(|t| matches!(t.kind, Kind::Mark('.' | ',' | ':')))
        };
        let bare = |j: &usize| self.terms()[*j].class == Class::Bare;
        let next = |j: &usize| self.number_of(*j) == Some(v + 1.0) && self.opens_clause(*j) == Some(true) && marked(*j);
        marked(k) && (k + 1..self.terms().len()).filter(bare).any(|j| next(&j))
    }

    /// "Two of the wake, both a thousandth": a setting is said of all of them.
    fn counts_things(&self, k: usize) -> bool {
        let (terms, tokens) = (self.terms(), &self.r.tokens);
        let after = usize::from(terms[k].end);
        let few = self.number_of(k).is_some_and(|n| n.fract() == 0.0 && (2.0..10.0).contains(&n));
        let of = tokens.get(after).is_some_and(|t| self.r.lexicon.in_list("count-of", t));
        // A word may stand between: "both the 1000".
        let sets = |j: usize| {
            terms.get(j + 1).is_some_and(|t| {
                (shutter_like(t.class) || t.class == Class::Bare) && t.start.saturating_sub(terms[j].end) <= 1
            })
        };
        let of_all = |j: &usize| terms[*j].class == Class::All && sets(*j);
        let here = |j: &usize| {
            let between = tokens.get(after..usize::from(terms[*j].start));
            between.is_some_and(|between| !between.iter().any(Token::ends_sentence))
        };
        few && of && self.opens_clause(k) == Some(true) && (k + 1..terms.len()).take_while(here).any(|j| of_all(&j))
    }

    /// Whether nothing but small words stands between a mark and the number;
    /// `true` inside if the mark ends a sentence.
    fn opens_clause(&self, k: usize) -> Option<bool> {
        let terms = self.terms();
        let mut i = usize::from(terms[k].start);
        while i > 0 {
            let token = &self.r.tokens[i - 1];
            if token.is_mark() {
                let parts = matches!(token.kind, Kind::Mark(',' | ':' | '-' | '"' | '(')) && !token.glued
                    || matches!(token.kind, Kind::Mark(',' | ':'));
                return (token.ends_sentence() || parts).then_some(self.leads(i - 1));
            }
            let joining = self.ending_at(k, i).filter(|t| {
                matches!(
                    t.class,
                    Class::And
                        | Class::Then
                        | Class::Turn
                        | Class::TurnBack
                        | Class::TurnWeak
                        | Class::Yes
                        | Class::Correct
                        | Class::CorrectNo
                        | Class::Still
                )
            });
            i = match joining {
                Some(t) => usize::from(t.start),
                None if self.r.lexicon.in_list("counting", token) => i - 1,
                None => return None,
            };
        }
        Some(true)
    }

    /// Whether a mark ends a sentence, or has only small words before it in its own: "Okay so, six …".
    pub(super) fn leads(&self, mark: usize) -> bool {
        let small = |i: &usize| {
            let t = &self.r.tokens[*i];
            t.kind == Kind::Mark(',') || self.r.lexicon.in_list("filler", t)
        };
        let before = (0..=mark).rev().find(|i| !small(i));
        before.is_none_or(|i| self.r.tokens[i].ends_sentence())
    }

    /// What is said after a number, up to the next frame or the end of the sentence after.
    fn described(&self, k: usize) -> Described {
        let to = self.terms().len();
        self.described_between(k, to)
    }

    fn described_between(&self, from: usize, to: usize) -> Described {
        let terms = self.terms();
        let next = self.number_of(from).map(|n| n + 1.0);
        let mut found = Described::default();
        let mut sentences = 0;
        // A number that is a sentence by itself: "Eight. Nets drying. A sixtieth at f11."
        let alone = self.r.tokens.get(usize::from(terms[from].end)).is_some_and(Token::ends_sentence);
        let most = if alone { 2 } else { 1 };
        for j in from + 1..to {
            let t = &terms[j];
            let gap = &self.r.tokens[usize::from(terms[j - 1].end)..usize::from(t.start)];
            sentences += gap.iter().filter(|t| t.ends_sentence()).count();
            if sentences > most || opens(t.class) && !matches!(t.class, Class::Same | Class::SameAgain | Class::Then) {
                break;
            }
            match t.class {
                c if shutter_like(c) => found.shutter = true,
                c if aperture_like(c) => found.aperture = true,
                c if tells_of_frame(c) => found.whole = true,
                Class::FilterOn | Class::FilterNone | Class::Lens | Class::LensThe | Class::Focal | Class::Light => {
                    found.other = true;
                }
                Class::Bare => {
                    let at = |i: Option<usize>| i.and_then(|i| terms.get(i)).is_some_and(|t| t.class == Class::At);
                    if at(Some(j + 1)) && self.as_shutter(j) >= 0.3 {
                        found.shutter = true;
                    } else if at(j.checked_sub(1)) && self.as_aperture(j) >= 0.3 {
                        found.aperture = true;
                    } else if self.number_of(j) == next && self.opens_clause(j).is_some() {
                        break;
                    } else if found.shutter && self.as_aperture(j) >= 0.3 {
                        found.aperture = true;
                    }
                }
                _ => {}
            }
        }
        found
    }
}

/// Whether a phrase right after a number says what became of the frame of that number.
fn tells_of_frame(c: Class) -> bool {
    matches!(
        c,
        Class::Same
            | Class::SameAgain
            | Class::SameAs
            | Class::SameShutter
            | Class::SameAperture
            | Class::Open
            | Class::Close
            | Class::Slower
            | Class::Faster
            | Class::Less
            | Class::More
            | Class::Wasted
            | Class::WastedWeak
            | Class::MovedTo
            | Class::ApertureTo
            | Class::ShutterTo
    )
}
