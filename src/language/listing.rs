//! Numbers that stand by themselves, and lists of frames.

use std::ops::Range;

use super::act::{Act, ApertureSaid};
use super::class::Class;
use super::number::{How, NumberKind};
use super::role::Role;
use super::statement::{LOOSELY_SAID, Writer};
use super::term::Term;
use super::token::{Kind, Token};
use super::ways::{self, ShutterForm, Way};

/// A number less than this that means nothing is chatter.
const LEAST_UNREAD: f64 = 10.0;

impl Writer<'_, '_> {
    pub(super) fn bare(&mut self, k: usize, span: Range<usize>) {
        let term = &self.r.found.terms[k];
        let alike = &self.r.lexicon.numbers.alike;
        let (readings, written) = self.readings(term.args[0]);
        let readings: Vec<_> = readings.copied().collect();
        let Some(role) = self.roles[k] else {
            if let Some(n) = readings.first().filter(|n| n.value >= LEAST_UNREAD) {
                self.push(Act::Unread(n.value), 1.0, span);
            }
            return;
        };
        let (act, weight) = match role {
            Role::Shutter(w) => (
                Act::Shutter { ways: ways::shutters(readings.iter(), ShutterForm::Bare, written, alike), firm: true },
                w,
            ),
            Role::Aperture(w) => {
                (Act::Aperture(ApertureSaid::Ways(ways::apertures(readings.iter(), written, alike))), w)
            }
            Role::Focal(w) => (Act::Focal(ways::values(readings.iter(), alike)), w),
            Role::Ei(w) => (Act::Ei(ways::values(readings.iter(), alike)), w),
            Role::Frame(w) => (Act::Frames { numbers: vec![ways::frames(readings.iter(), alike)], weak: false }, w),
            Role::Roll(w) => (Act::Roll(self.lettered(term, readings[0].value), w), w),
            Role::Count(w) => (Act::Count(readings[0].value as u32), w),
            Role::ShutterOrFocal(s, f) => (
                Act::ShutterOrFocal {
                    shutter: (ways::shutters(readings.iter(), ShutterForm::Bare, written, alike), s),
                    focal: (ways::values(readings.iter(), alike), f),
                },
                s + f,
            ),
        };
        // "One sixty" is never said plainly.
        let loosely = !written && matches!(role, Role::Shutter(_)) && ways::said_loosely(&readings);
        self.push(act, if loosely { LOOSELY_SAID.min(weight) } else { weight }, span);
    }

    /// A roll's name: the number, with the letter written against it.
    fn lettered(&self, term: &Term, number: f64) -> String {
        let first = usize::from(term.start);
        let letter = first
            .checked_sub(1)
            .map(|i| &self.r.tokens[i])
            .filter(|t| self.r.tokens[first].glued && t.kind == Kind::Word && t.span.len() == 1)
            .map(|t| self.r.folded[t.span.clone()].to_uppercase());
        format!("{}{number}", letter.unwrap_or_default())
    }

    pub(super) fn term_text(&self, term: &Term) -> &str {
        &self.r.folded[self.span(term)]
    }

    /// Whether the number of a single frame is the first of a list.
    pub(super) fn list_follows(&self, k: usize) -> bool {
        let terms = &self.r.found.terms;
        terms[k].class == Class::Frame
            && matches!((terms.get(k + 1), terms.get(k + 2)), (Some(a), Some(b))
                if matches!(a.class, Class::To | Class::And) && a.start == terms[k].end && self.term_text(a) != "-"
                    && b.start == a.end && self.list_number(b).is_some() && terms.get(k + 3).is_none_or(|n| n.class != Class::At))
            && self.first_number(k).zip(self.list_number(&terms[k + 2])).is_some_and(|(a, b)| b > a)
    }

    pub(super) fn first_number(&self, k: usize) -> Option<u16> {
        self.frame_number(self.r.found.terms[k].args[0]).first().map(|w| w.value.place() as u16)
    }

    pub(super) fn list_number(&self, term: &Term) -> Option<u16> {
        if term.class != Class::Bare {
            return None;
        }
        let (mut readings, _) = self.readings(term.args[0]);
        readings
            .find(|n| n.kind == NumberKind::Cardinal && n.how == How::Plain && n.value < 1000.0)
            .map(|n| n.value as u16)
    }

    /// Frame numbers from a head on: "four to seven", "3, 4, 5", "ten and eleven".
    pub(super) fn frame_list(&self, k: usize) -> (Vec<Vec<Way<crate::facts::FrameNumber>>>, usize) {
        let terms = &self.r.found.terms;
        let mut numbers = vec![self.frame_number(terms[k].args[0])];
        let mut used = 1;
        self.extend_list(k, &mut used, &mut numbers);
        (numbers, used)
    }

    pub(super) fn extend_list(
        &self,
        k: usize,
        used: &mut usize,
        numbers: &mut Vec<Vec<Way<crate::facts::FrameNumber>>>,
    ) {
        let terms = &self.r.found.terms;
        loop {
            let last = &terms[k + *used - 1];
            let mut next = k + *used;
            let mut range = false;
            let mut linked = false;
            if let Some(t) = terms.get(next)
                && matches!(t.class, Class::To | Class::And)
                && self.only_commas(last.end, t.start)
            {
                range = t.class == Class::To;
                linked = true;
                next += 1;
            }
            let Some(t) = terms.get(next) else { return };
            let previous = &terms[next - 1];
            let Some(n) = self.list_number(t).filter(|_| self.only_commas(previous.end, t.start)) else { return };
            let commas = previous.end != t.start;
            let before = numbers.last().and_then(|w| w.first()).map_or(0, |w| w.value.place());
            let grows = i32::from(n) > i32::from(before);
            // Without a joining word a number must carry the list on.
            if !linked && (!grows || i32::from(n) != i32::from(before) + 1) {
                let explicit_list = commas && grows && numbers.len() > 1;
                if !explicit_list {
                    return;
                }
            }
            if !grows || (range && i32::from(n) - i32::from(before) > 80) {
                return;
            }
            // "frames 2, 3 at f8": the last may belong to what follows; a joined "at" says so.
            if !linked && terms.get(next + 1).is_some_and(|a| a.class == Class::At && a.start == t.end) {
                return;
            }
            if range {
                for between in before + 1..n as i16 {
                    numbers.push(vec![Way::new(crate::facts::FrameNumber::new(between as u16), 1.0)]);
                }
            }
            numbers.push(self.frame_number(t.args[0]));
            *used = next + 1 - k;
        }
    }

    pub(super) fn only_commas(&self, from: u16, to: u16) -> bool {
        self.r.tokens[usize::from(from)..usize::from(to)].iter().all(|t| t.kind == Kind::Mark(','))
    }

    /// Numbers at the start of a sentence that are frames: "8, 9 and 10 are all…".
    pub(super) fn bare_list(&self, k: usize) -> Option<(Vec<Vec<Way<crate::facts::FrameNumber>>>, usize)> {
        let terms = &self.r.found.terms;
        let mark_before = usize::from(terms[k].start) == 0 || self.r.tokens[usize::from(terms[k].start) - 1].is_mark();
        let starts = usize::from(terms[k].start) == 0
            || self.r.tokens[usize::from(terms[k].start) - 1].kind == Kind::Mark(':')
            || self.r.tokens[..usize::from(terms[k].start)]
                .iter()
                .rev()
                .find(|t| t.kind != Kind::Mark(',') && !self.r.lexicon.in_list("filler", t))
                .is_none_or(Token::ends_sentence)
            || self.out.last().is_some_and(|s| matches!(s.act, Act::Count(_) | Act::Correct));
        let n = self.list_number(&terms[k])?;
        if n > 100 {
            return None;
        }
        if mark_before && self.carries_on(k, n) {
            return Some((vec![self.frame_number(terms[k].args[0])], 1));
        }
        if !starts && !mark_before {
            return None;
        }
        let mut numbers = vec![self.frame_number(terms[k].args[0])];
        let mut used = 1;
        self.extend_list(k, &mut used, &mut numbers);
        let after = terms.get(k + used);
        let said_so = after.is_some_and(|t| {
            matches!(t.class, Class::All | Class::Same | Class::SameAgain)
                && self.only_commas(terms[k + used - 1].end, t.start)
        });
        let single = used == 1
            && after.is_some_and(|t| {
                matches!(t.class, Class::Same | Class::SameAgain) && self.only_commas(terms[k].end, t.start)
            })
            && self.out.iter().any(|s| matches!(s.act, Act::Frames { .. }));
        // "Six and seven, a fiftieth at f8": two in a row that begin a sentence.
        let end = usize::from(terms[k + used - 1].end);
        let row = starts && used == 3 && numbers.len() == 2 && self.r.tokens.get(end).is_some_and(Token::is_mark);
        // "Eleven through fourteen, all a sixtieth at f8": a range that begins a sentence.
        let range = starts
            && numbers.len() > 2
            && terms[k + 1].class == Class::To
            && self.r.tokens.get(end).is_some_and(Token::is_mark)
            && terms[k + used..].iter().any(|t| matches!(t.class, Class::All | Class::Same | Class::ShutterFraction));
        let value = |w: &Vec<Way<crate::facts::FrameNumber>>| w.first().map_or(0, |w| w.value.place());
        let consecutive = numbers.windows(2).all(|w| value(&w[1]) == value(&w[0]) + 1);
        if !starts && !consecutive {
            return None;
        }
        (numbers.len() >= 2 && (said_so || used >= 5 && starts || row || range) || single && starts)
            .then_some((numbers, used))
    }

    /// "…, fourteen the same, fifteen a stop down": the next number, and what became of it.
    pub(super) fn carries_on(&self, k: usize, n: u16) -> bool {
        let last = self.out.iter().rev().find_map(|s| match &s.act {
            Act::Frames { numbers, .. } => numbers.last().and_then(|w| w.first()).map(|w| w.value.place()),
            _ => None,
        });
        let terms = &self.r.found.terms;
        let follows = terms.get(k + 1).is_some_and(|t| {
            t.start == terms[k].end
                && matches!(
                    t.class,
                    Class::Same | Class::SameAgain | Class::Open | Class::Close | Class::Slower | Class::Faster
                )
        });
        follows && last.is_some_and(|l| i32::from(l) + 1 == i32::from(n))
    }
}
