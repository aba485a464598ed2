//! Terms to acts: what each number is for, what was done and what only thought.

use std::ops::Range;

use crate::kit::Kit;

use super::act::{Act, Mode, Said};
use super::class::Class;
use super::lexicon::Lexicon;
use super::mended::Mend;
use super::role::{self, Role};
use super::term::{Arg, Found, Term};
use super::token::{Kind, Token};
use super::ways::{self, Way};

/// How sure a speed is that was said so that it stands for two.
pub(super) const LOOSELY_SAID: f64 = 0.25;

/// A text, read as far as acts.
pub struct Reading<'a> {
    /// The folded text.
    pub folded: &'a str,
    /// The text as it was.
    pub text: &'a str,
    /// Its tokens.
    pub tokens: &'a [Token],
    /// Its phrases and numbers.
    pub found: &'a Found,
    /// The grammar and the kit's names.
    pub lexicon: &'a Lexicon,
    /// The kit.
    pub kit: &'a Kit,
}

impl Reading<'_> {
    /// Whether a filter of the kit is called by this number.
    pub(super) fn names_filter(&self, n: f64) -> bool {
        let number = format!("{n}");
        let has = |name: &str| name.split(|c: char| !c.is_ascii_digit()).any(|part| part == number);
        self.kit.filters.iter().any(|f| has(&f.name) || f.said.iter().any(|s| has(s)))
    }
}

/// All acts of a stretch of text, in order. `modes` are those in which it begins, and then those in
/// which it ends.
pub(super) fn acts(reading: &Reading<'_>, modes: &mut Modes) -> Vec<Said> {
    let roles = role::assign(reading);
    let begun = Modes { since: 0, ..*modes };
    let mut writer = Writer { r: reading, roles, out: Vec::new(), modes: begun, mended: 1.0 };
    writer.write();
    *modes = writer.modes;
    writer.out
}

/// What is said to be done or not, as the words go by.
#[derive(Debug, Clone, Copy)]
pub(super) struct Modes {
    pub(super) mode: Mode,
    /// A claim about earlier words reaches only to the next comma.
    until_comma: bool,
    /// The next value alone is denied.
    deny_next: bool,
    /// What follows is not done, to the next frame that is named.
    dead: bool,
    doubt_next: bool,
    /// Another time or a mere supposition: only a plain return to what was done ends it.
    firm: bool,
    /// Token after the words that began the mode.
    since: usize,
}

impl Default for Modes {
    fn default() -> Self {
        Self {
            mode: Mode::Real,
            until_comma: false,
            deny_next: false,
            dead: false,
            doubt_next: false,
            firm: false,
            since: 0,
        }
    }
}

pub(super) struct Writer<'a, 'r> {
    pub(super) r: &'r Reading<'a>,
    pub(super) roles: Vec<Option<Role>>,
    pub(super) out: Vec<Said>,
    pub(super) modes: Modes,
    /// How sure the mends in the words being written are.
    pub(super) mended: f64,
}

impl Writer<'_, '_> {
    pub(super) fn write(&mut self) {
        let terms = &self.r.found.terms;
        let mut at = 0_usize;
        let mut k = 0;
        let mut clause = self.out.len();
        let mut free_from = 0_usize;
        while at < self.r.tokens.len() {
            if k < terms.len() && usize::from(terms[k].start) == at {
                let used = self.term(k, &mut clause);
                self.mended = 1.0;
                let last = &terms[k + used - 1];
                at = usize::from(last.end);
                k += used;
                continue;
            }
            let token = &self.r.tokens[at];
            if token.is_mark() {
                self.free_text(free_from..at);
                free_from = at + 1;
                self.mark(token, &mut clause);
            }
            at += 1;
        }
        self.free_text(free_from..self.r.tokens.len());
    }

    pub(super) fn mark(&mut self, token: &Token, clause: &mut usize) {
        if self.modes.until_comma {
            self.modes.until_comma = false;
            self.modes.mode = Mode::Real;
        }
        if token.ends_sentence() {
            self.modes.mode = Mode::Real;
            self.modes.firm = false;
            self.modes.doubt_next = false;
            self.modes.deny_next = false;
            self.push(Act::SentenceEnd, 1.0, token.span.clone());
        }
        self.modes.deny_next = false;
        if token.kind == Kind::Mark(',') || token.ends_sentence() {
            *clause = self.out.len();
        }
    }

    pub(super) fn push(&mut self, act: Act, weight: f64, span: Range<usize>) {
        let value = is_value(&act);
        let mut mode = if self.modes.dead && value { Mode::Unreal } else { self.modes.mode };
        let mut doubt = false;
        if value {
            if self.modes.deny_next {
                mode = Mode::Denied;
                self.modes.deny_next = false;
            }
            if self.modes.doubt_next {
                doubt = true;
                self.modes.doubt_next = false;
            }
        }
        self.out.push(Said { act, mode, doubt, weight, heard: 1.0, mended: self.mended, span });
    }

    /// That one frame more begins at `at`, before acts already written.
    fn insert_next(&mut self, at: usize, weight: f64, span: Range<usize>) {
        let act = Act::Next { lazy: false };
        self.out.insert(at, Said { act, mode: Mode::Real, doubt: false, weight, heard: 1.0, mended: 1.0, span });
    }

    /// How sure the least sure mend in the words of some terms is.
    fn mend_in(&self, terms: Range<usize>) -> f64 {
        let tokens =
            usize::from(self.r.found.terms[terms.start].start)..usize::from(self.r.found.terms[terms.end - 1].end);
        self.r.tokens[tokens].iter().filter_map(|t| t.mend).map(Mend::sure).fold(1.0, f64::min)
    }

    pub(super) fn span(&self, term: &Term) -> Range<usize> {
        let t = self.r.tokens;
        t[usize::from(term.start)].span.start..t[usize::from(term.end) - 1].span.end
    }

    /// Writes the acts of a term; how many terms were used up.
    pub(super) fn term(&mut self, k: usize, clause: &mut usize) -> usize {
        let term = &self.r.found.terms[k];
        let span = self.span(term);
        let w = f64::from(term.weight);
        self.mended = self.mend_in(k..k + 1);
        // A rehearsal is over once a later sentence names a frame.
        if matches!(term.class, Class::Frame | Class::Frames)
            && self.out.last().is_some_and(|s| s.act == Act::SentenceEnd)
        {
            self.modes.dead = false;
        }
        match term.class {
            Class::Frames | Class::Frame if term.class == Class::Frames || self.list_follows(k) => {
                let (numbers, used) = self.frame_list(k);
                let end = self.span(&self.r.found.terms[k + used - 1]).end;
                self.mended = self.mend_in(k..k + used);
                self.push(Act::Frames { numbers, weak: false }, w, span.start..end);
                used
            }
            // "Zoomed to 300 for the next": the next frame begins before the gear.
            // "…, a thirtieth for the second": what this clause says is the next frame's.
            Class::ForNth => {
                let first = self.readings(term.args[0]).0.any(|n| n.value == 1.0);
                if !first {
                    self.insert_next(*clause, w, span);
                }
                1
            }
            Class::ForNext => {
                let gear = |s: &Said| {
                    matches!(s.act, Act::Focal(_) | Act::Lens(..) | Act::Filter(_) | Act::Change(..) | Act::Clicks(..))
                };
                let at = self.out[*clause..].iter().position(gear).map_or(self.out.len(), |i| *clause + i);
                self.insert_next(at, w, span);
                1
            }
            Class::Bare => {
                if let Some((numbers, used)) = self.bare_list(k) {
                    let end = self.span(&self.r.found.terms[k + used - 1]).end;
                    self.mended = self.mend_in(k..k + used);
                    self.push(Act::Frames { numbers, weak: false }, w, span.start..end);
                    return used;
                }
                self.bare(k, span);
                1
            }
            _ => {
                self.cue(term, span.clone(), clause);
                if let Some(act) = self.act_of(term) {
                    for act in act {
                        self.push(act, w, span.clone());
                    }
                    if self.half_understood(term)
                        && let Some(said) = self.out.last_mut()
                    {
                        said.doubt = true;
                    }
                }
                1
            }
        }
    }

    /// Cues that change what is real, doubted or denied.
    pub(super) fn cue(&mut self, term: &Term, span: Range<usize>, clause: &mut usize) {
        let back = |out: &mut Vec<Said>, mode: Mode, from: usize| {
            for said in &mut out[from..] {
                if is_value(&said.act) && !matches!(said.act, Act::Frames { .. }) {
                    said.mode = mode;
                }
            }
        };
        match term.class {
            Class::Meter | Class::Should => self.begin(Mode::Base, term, false),
            Class::Unreal | Class::Elsewhere => {
                // What stands before it in the same clause belongs to it.
                back(&mut self.out, Mode::Unreal, *clause);
                self.begin(Mode::Unreal, term, term.class == Class::Elsewhere);
            }
            Class::Supposed => self.begin(Mode::Unreal, term, true),
            Class::Claimed => {
                self.begin(Mode::Unreal, term, false);
                self.modes.until_comma = true;
            }
            Class::Turn | Class::TurnBack | Class::TurnWeak | Class::Gave if self.turns(term) => {
                self.modes.mode = Mode::Real;
                self.modes.firm = false;
                self.modes.until_comma = false;
                self.push(Act::Turn, 1.0, span);
                *clause = self.out.len();
            }
            // "Metered a sixtieth at f8. Used that."
            Class::DidIt => {
                let measured = self.out.iter().position(|s| s.mode == Mode::Base && is_value(&s.act));
                back(&mut self.out, Mode::Real, measured.unwrap_or(*clause));
            }
            Class::DoubtBefore => self.doubt_before(),
            Class::Not => self.modes.deny_next = true,
            Class::Idea => {
                if let Some(said) = self.out.iter_mut().rev().find(|s| is_value(&s.act)) {
                    said.mode = Mode::Unreal;
                }
            }
            Class::Cancel => {
                let any = self.out.iter().any(|s| s.mode == Mode::Real && is_setting(&s.act));
                if any {
                    self.push(Act::Cancel, 1.0, span);
                } else {
                    self.modes.dead = true;
                }
            }
            Class::Doubt => self.doubt(term),
            Class::Frame | Class::Frames | Class::Next | Class::Then => {}
            _ => {}
        }
    }

    fn begin(&mut self, mode: Mode, term: &Term, firm: bool) {
        self.modes.mode = mode;
        self.modes.until_comma = false;
        self.modes.firm = firm;
        self.modes.since = usize::from(term.end);
    }

    /// Whether words lead back to what was done. "It was" does not, right behind
    /// "the meter said"; nor does "I used" behind "last year".
    fn turns(&self, term: &Term) -> bool {
        match term.class {
            Class::TurnBack => true,
            _ if self.modes.mode == Mode::Real => true,
            _ if self.modes.firm => false,
            // What was only claimed ends with what it was.
            Class::TurnWeak if self.modes.until_comma => true,
            Class::TurnWeak => {
                let from = self.modes.since.min(usize::from(term.start));
                self.r.tokens[from..usize::from(term.start)].iter().any(Token::is_mark)
            }
            _ => true,
        }
    }

    /// "I think f8": the value after it if one follows before any mark; else the one before.
    pub(super) fn doubt(&mut self, term: &Term) {
        let after = usize::from(term.end);
        let terms = &self.r.found.terms;
        let next = terms[terms.partition_point(|t| usize::from(t.start) < after)..].iter().find(|t| t.class.is_value());
        let marked = next.is_none_or(|n| self.r.tokens[after..usize::from(n.start)].iter().any(Token::is_mark));
        let far = next.is_some_and(|n| usize::from(n.start) > after + 4);
        if !marked && !far {
            self.modes.doubt_next = true;
            return;
        }
        self.doubt_before();
    }

    /// "…, or so": the value said last in the sentence.
    fn doubt_before(&mut self) {
        let sentence = self.out.iter().rposition(|s| s.act == Act::SentenceEnd).map_or(0, |i| i + 1);
        if let Some(said) = self.out[sentence..].iter_mut().rev().find(|s| is_value(&s.act)) {
            said.doubt = true;
        }
    }

    pub(super) fn readings<'s>(
        &'s self,
        arg: Option<Arg>,
    ) -> (impl Iterator<Item = &'s super::number::Number> + 's, bool) {
        let (start, end) = match arg {
            Some(Arg::Number { start, end }) => (start, end),
            _ => (0, 0),
        };
        let written = self.r.tokens.get(usize::from(start)).is_some_and(|t| matches!(t.kind, Kind::Number { .. }));
        (self.r.found.readings(start, end), written)
    }

    pub(super) fn apertures(&self, arg: Option<Arg>) -> Vec<Way<crate::exposure::Aperture>> {
        let (readings, written) = self.readings(arg);
        ways::apertures(readings, written, &self.r.lexicon.numbers.alike)
    }

    pub(super) fn number(&self, arg: Option<Arg>) -> Vec<Way<f64>> {
        let (readings, _) = self.readings(arg);
        ways::values(readings, &self.r.lexicon.numbers.alike)
    }

    pub(super) fn frame_number(&self, arg: Option<Arg>) -> Vec<Way<crate::facts::FrameNumber>> {
        let (readings, _) = self.readings(arg);
        ways::frames(readings, &self.r.lexicon.numbers.alike)
    }
}

impl Class {
    /// Whether it says a value that can be doubted or denied.
    pub(super) const fn is_value(self) -> bool {
        matches!(
            self,
            Self::ShutterFraction
                | Self::ShutterNumber
                | Self::ShutterTo
                | Self::Time
                | Self::TimeFraction
                | Self::HoldB
                | Self::HoldT
                | Self::Bulb
                | Self::TimeT
                | Self::Aperture
                | Self::ApertureHalf
                | Self::ApertureBetween
                | Self::ApertureWidest
                | Self::ApertureSmallest
                | Self::ApertureTo
                | Self::Focal
                | Self::FocalZoom
                | Self::Lens
                | Self::LensAt
                | Self::LensThe
                | Self::FilterOn
                | Self::FilterOff
                | Self::FilterSwap
                | Self::FilterNone
                | Self::Film
                | Self::FilmAt
                | Self::Ei
                | Self::Frame
                | Self::Gave
                | Self::TimeParts
                | Self::Bare
                | Self::Roll
                | Self::Light
                | Self::Support
        )
    }

    /// Whether words of it may also be part of a subject.
    pub(super) const fn is_loose(self) -> bool {
        matches!(
            self,
            Self::PlaceAt
                | Self::At
                | Self::And
                | Self::To
                | Self::Yes
                | Self::From
                | Self::Idea
                | Self::Still
                | Self::Other
                | Self::Turn
                | Self::TurnBack
                | Self::TurnWeak
        )
    }
}

/// Whether an act says something of a frame that can be done or not.
pub(super) fn is_value(act: &Act) -> bool {
    is_setting(act)
        || matches!(
            act,
            Act::Frames { .. }
                | Act::ThatFrame(_)
                | Act::Film(_)
                | Act::Ei(_)
                | Act::BoxSpeed
                | Act::Process(_)
                | Act::Light(_)
                | Act::Support(_)
                | Act::Wasted(_)
                | Act::Roll(..)
                | Act::Count(_)
        )
}

/// Whether an act sets something on the camera.
pub(super) fn is_setting(act: &Act) -> bool {
    matches!(
        act,
        Act::Shutter { .. }
            | Act::Aperture(_)
            | Act::ShutterOrFocal { .. }
            | Act::Focal(_)
            | Act::Lens(..)
            | Act::Filter(_)
            | Act::Change(..)
            | Act::Clicks(..)
            | Act::Compensation(_)
            | Act::Bracket(_)
    )
}
