//! Terms to acts: what each number is for, what was done and what only thought.

use std::ops::Range;

use crate::kit::Kit;

use super::act::{Act, ApertureSaid, BracketSaid, FilterSaid, Mode, Moved, ProcessSaid, Said, Same};
use super::class::Class;
use super::lexicon::{Gear, Lexicon};
use super::number::{How, NumberKind};
use super::role::{self, Role};
use super::term::{Arg, Found, Term};
use super::token::{Kind, Token};
use super::trie::NO_VALUE;
use super::ways::{self, ShutterForm, Way};

/// How sure a speed is that was said so that it stands for two.
const LOOSELY_SAID: f64 = 0.25;

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

/// All acts of a text, in order.
pub fn acts(reading: &Reading<'_>) -> Vec<Said> {
    let roles = role::assign(reading);
    let mut writer = Writer { r: reading, roles, out: Vec::new(), modes: Modes::default() };
    writer.write();
    writer.out
}

/// What is said to be done or not, as the words go by.
#[derive(Debug, Clone, Copy)]
struct Modes {
    mode: Mode,
    /// A claim about earlier words reaches only to the next comma.
    until_comma: bool,
    /// The next value alone is denied.
    deny_next: bool,
    /// The rest of the note is not done.
    dead: bool,
    doubt_next: bool,
}

impl Default for Modes {
    fn default() -> Self {
        Self { mode: Mode::Real, until_comma: false, deny_next: false, dead: false, doubt_next: false }
    }
}

struct Writer<'a, 'r> {
    r: &'r Reading<'a>,
    roles: Vec<Option<Role>>,
    out: Vec<Said>,
    modes: Modes,
}

impl Writer<'_, '_> {
    fn write(&mut self) {
        let terms = &self.r.found.terms;
        let mut at = 0_usize;
        let mut k = 0;
        let mut clause = self.out.len();
        let mut free_from = 0_usize;
        while at < self.r.tokens.len() {
            if k < terms.len() && usize::from(terms[k].start) == at {
                let used = self.term(k, &mut clause);
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
        self.push(Act::SentenceEnd, 1.0, self.r.text.len()..self.r.text.len());
    }

    fn mark(&mut self, token: &Token, clause: &mut usize) {
        if self.modes.until_comma {
            self.modes.until_comma = false;
            self.modes.mode = Mode::Real;
        }
        if token.ends_sentence() {
            self.modes.mode = Mode::Real;
            self.modes.doubt_next = false;
            self.modes.deny_next = false;
            self.push(Act::SentenceEnd, 1.0, token.span.clone());
        }
        if token.kind == Kind::Mark(',') {
            self.modes.deny_next = false;
        }
        if token.kind == Kind::Mark(',') || token.ends_sentence() {
            *clause = self.out.len();
        }
    }

    fn push(&mut self, act: Act, weight: f64, span: Range<usize>) {
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
        self.out.push(Said { act, mode, doubt, weight, heard: 1.0, span });
    }

    fn span(&self, term: &Term) -> Range<usize> {
        let t = self.r.tokens;
        t[usize::from(term.start)].span.start..t[usize::from(term.end) - 1].span.end
    }

    /// Writes the acts of a term; how many terms were used up.
    fn term(&mut self, k: usize, clause: &mut usize) -> usize {
        let term = &self.r.found.terms[k];
        let span = self.span(term);
        let w = f64::from(term.weight);
        match term.class {
            Class::Frames | Class::Frame if term.class == Class::Frames || self.list_follows(k) => {
                let (numbers, used) = self.frame_list(k);
                let end = self.span(&self.r.found.terms[k + used - 1]).end;
                self.push(Act::Frames { numbers, weak: false }, w, span.start..end);
                used
            }
            Class::Bare => {
                if let Some((numbers, used)) = self.bare_list(k) {
                    let end = self.span(&self.r.found.terms[k + used - 1]).end;
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
                }
                1
            }
        }
    }

    /// Cues that change what is real, doubted or denied.
    fn cue(&mut self, term: &Term, span: Range<usize>, clause: &mut usize) {
        let back = |out: &mut Vec<Said>, mode: Mode, from: usize| {
            for said in &mut out[from..] {
                if is_value(&said.act) && !matches!(said.act, Act::Frames { .. }) {
                    said.mode = mode;
                }
            }
        };
        match term.class {
            Class::Meter | Class::Should => {
                self.modes.mode = Mode::Base;
                self.modes.until_comma = false;
            }
            Class::Unreal => {
                // What stands before it in the same clause belongs to it.
                back(&mut self.out, Mode::Unreal, *clause);
                self.modes.mode = Mode::Unreal;
                self.modes.until_comma = false;
            }
            Class::Claimed => {
                self.modes.mode = Mode::Unreal;
                self.modes.until_comma = true;
            }
            Class::Turn | Class::Gave => {
                self.modes.mode = Mode::Real;
                self.modes.until_comma = false;
                self.push(Act::Turn, 1.0, span);
                *clause = self.out.len();
            }
            Class::DidIt => back(&mut self.out, Mode::Real, *clause),
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

    /// "I think f8": the value after it if one follows before any mark; else the one before.
    fn doubt(&mut self, term: &Term) {
        let after = usize::from(term.end);
        let next = self.r.found.terms.iter().find(|t| usize::from(t.start) >= after && t.class.is_value());
        let marked = next.is_none_or(|n| self.r.tokens[after..usize::from(n.start)].iter().any(Token::is_mark));
        let far = next.is_some_and(|n| usize::from(n.start) > after + 4);
        if !marked && !far {
            self.modes.doubt_next = true;
            return;
        }
        let sentence = self.out.iter().rposition(|s| s.act == Act::SentenceEnd).map_or(0, |i| i + 1);
        if let Some(said) = self.out[sentence..].iter_mut().rev().find(|s| is_value(&s.act)) {
            said.doubt = true;
        }
    }

    fn readings<'s>(&'s self, arg: Option<Arg>) -> (impl Iterator<Item = &'s super::number::Number> + 's, bool) {
        let (start, end) = match arg {
            Some(Arg::Number { start, end }) => (start, end),
            _ => (0, 0),
        };
        let written = self.r.tokens.get(usize::from(start)).is_some_and(|t| matches!(t.kind, Kind::Number { .. }));
        (self.r.found.readings(start, end), written)
    }

    fn fraction(&self, term: &Term, arg: Option<Arg>, form: ShutterForm) -> Act {
        let (readings, written) = self.readings(arg);
        let ordinal = self.readings(arg).0.any(|n| n.kind == NumberKind::Ordinal);
        let kind =
            move |n: &&super::number::Number| (n.kind == NumberKind::Ordinal) == ordinal && n.how != How::Homophone;
        let stroke =
            self.r.tokens[usize::from(term.start)..usize::from(term.end)].iter().any(|t| t.kind == Kind::Mark('/'));
        let form = if stroke { ShutterForm::Slash } else { form };
        let ways = ways::shutters(readings.filter(kind), form, written, &self.r.lexicon.numbers.alike);
        // A lone tenth or fifth is as often something else.
        let small = ways.first().is_some_and(|w| w.value.seconds().is_some_and(|s| s >= 0.099));
        Act::Shutter { ways, firm: !small || term.len() > 3 }
    }

    fn apertures(&self, arg: Option<Arg>) -> Vec<Way<crate::exposure::Aperture>> {
        let (readings, written) = self.readings(arg);
        ways::apertures(readings, written, &self.r.lexicon.numbers.alike)
    }

    fn number(&self, arg: Option<Arg>) -> Vec<Way<f64>> {
        let (readings, _) = self.readings(arg);
        ways::values(readings, &self.r.lexicon.numbers.alike)
    }

    fn frame_number(&self, arg: Option<Arg>) -> Vec<Way<crate::facts::FrameNumber>> {
        let (readings, _) = self.readings(arg);
        ways::frames(readings, &self.r.lexicon.numbers.alike)
    }

    /// What a term does, if it is not a number to be given a role.
    fn act_of(&self, term: &Term) -> Option<Vec<Act>> {
        let text = || (term.value != NO_VALUE).then(|| self.r.lexicon.values[term.value as usize].clone());
        let fixed = || text().and_then(|t| t.parse::<f64>().ok());
        let first = || self.number(term.args[0]).first().map(|w| w.value);
        let amount = || match term.args[0] {
            Some(Arg::Amount(a)) => Some(a),
            Some(Arg::Number { .. }) => first(),
            _ => fixed(),
        };
        let seconds = || match term.args[0] {
            Some(Arg::Time(s)) => Some(s),
            _ => None,
        };
        let gear = |i: usize| match term.args[i] {
            Some(Arg::Gear(g, w)) => Some((g, w)),
            _ => None,
        };
        let alike = &self.r.lexicon.numbers.alike;
        let one = |act: Act| Some(vec![act]);
        match term.class {
            Class::ShutterFraction => one(self.fraction(term, term.args[0], ShutterForm::Fraction)),
            Class::ShutterNumber | Class::Gave => {
                let (readings, written) = self.readings(term.args[0]);
                let mut ways = ways::shutters(readings, ShutterForm::Bare, written, alike);
                // "a 30s" is how a thirtieth is written, and thirty seconds.
                let last = &self.r.tokens[usize::from(term.end) - 1];
                if last.kind == Kind::Word && last.glued {
                    ways.iter_mut().for_each(|w| w.weight *= ways::weight::S_FOR_TH);
                    if let Some(n) = first()
                        && let Some(s) = crate::exposure::Speed::seconds_mark(n)
                    {
                        ways.retain(|w| w.value != crate::exposure::Shutter::Timed(s));
                        ways::add(&mut ways, crate::exposure::Shutter::Timed(s), ways::weight::S_FOR_TH);
                    }
                }
                one(Act::Shutter { ways, firm: false })
            }
            Class::ShutterTo => {
                let (readings, written) = self.readings(term.args[0]);
                one(Act::Shutter { ways: ways::shutters(readings, ShutterForm::Bare, written, alike), firm: false })
            }
            Class::Time => one(Act::Shutter { ways: ways::timed(seconds()?, alike), firm: false }),
            Class::HalfInList if !self.out.iter().any(|s| s.act == Act::ListOf(Moved::Shutter)) => None,
            Class::HalfInList => {
                one(Act::Shutter { ways: vec![Way::new(crate::exposure::Shutter::fraction(2), 1.0)], firm: false })
            }
            Class::TimeFraction if term.weight < 0.9 && !self.stands_as_time(term) => None,
            Class::TimeFraction => {
                let ways = vec![Way::new(crate::exposure::Shutter::fraction(fixed()? as u32), 1.0)];
                one(Act::Shutter { ways, firm: false })
            }
            Class::HoldB => {
                one(Act::Shutter { ways: vec![Way::new(crate::exposure::Shutter::bulb(seconds()?), 1.0)], firm: true })
            }
            Class::HoldT => {
                one(Act::Shutter { ways: vec![Way::new(crate::exposure::Shutter::time(seconds()?), 1.0)], firm: true })
            }
            Class::Bulb => {
                one(Act::Shutter { ways: vec![Way::new(crate::exposure::Shutter::Bulb(None), 1.0)], firm: false })
            }
            Class::TimeT => {
                one(Act::Shutter { ways: vec![Way::new(crate::exposure::Shutter::Time(None), 1.0)], firm: false })
            }
            Class::CountOf => one(Act::Shutter { ways: ways::timed(first()?, alike), firm: false }),
            Class::ShutterList => one(Act::ListOf(Moved::Shutter)),
            Class::ApertureList => one(Act::ListOf(Moved::Aperture)),
            Class::Aperture | Class::ApertureTo => match fixed() {
                Some(n) => {
                    let a = crate::exposure::Aperture::new(n)?;
                    one(Act::Aperture(ApertureSaid::Ways(vec![Way::new(a, 1.0)])))
                }
                None => one(Act::Aperture(ApertureSaid::Ways(self.apertures(term.args[0])))),
            },
            Class::ApertureHalf => one(Act::Aperture(ApertureSaid::Past(self.apertures(term.args[0]), fixed()?))),
            Class::ApertureBetween => {
                one(Act::Aperture(ApertureSaid::Between(self.apertures(term.args[0]), self.apertures(term.args[1]))))
            }
            Class::ApertureWidest => one(Act::Aperture(ApertureSaid::Widest)),
            Class::ApertureSmallest => one(Act::Aperture(ApertureSaid::Smallest)),
            Class::Open => one(Act::Change(Moved::Aperture, amount()?)),
            Class::Close => one(Act::Change(Moved::Aperture, -amount()?)),
            Class::Slower => one(Act::Change(Moved::Shutter, amount()?)),
            Class::Faster => one(Act::Change(Moved::Shutter, -amount()?)),
            Class::More => one(Act::Change(Moved::Either, amount()?)),
            Class::Less => one(Act::Change(Moved::Either, -amount()?)),
            Class::ToMatch => one(Act::ToMatch(Moved::Shutter)),
            Class::ToMatchAperture => one(Act::ToMatch(Moved::Aperture)),
            Class::Bracket => one(Act::Bracket(BracketSaid::Word)),
            Class::BracketCount => one(Act::Bracket(BracketSaid::Count(first()? as u32))),
            Class::BracketAround => one(Act::Bracket(BracketSaid::Around)),
            Class::EitherSide => one(Act::Bracket(BracketSaid::EitherSide(amount()?))),
            Class::Step if term.weight > 0.7 => {
                Some(vec![Act::Bracket(BracketSaid::Word), Act::Bracket(BracketSaid::Step(amount()?))])
            }
            Class::Step => one(Act::Bracket(BracketSaid::Step(amount()?))),
            Class::Over => one(Act::Bracket(BracketSaid::Offset(amount()?, self.countable(term)))),
            Class::Under => one(Act::Bracket(BracketSaid::Offset(-amount()?, self.countable(term)))),
            Class::OneMoreOver => {
                Some(vec![Act::Bracket(BracketSaid::Word), Act::Bracket(BracketSaid::Offset(amount()?, false))])
            }
            Class::OneMoreUnder => {
                Some(vec![Act::Bracket(BracketSaid::Word), Act::Bracket(BracketSaid::Offset(-amount()?, false))])
            }
            Class::Extra => one(Act::Extra(amount()?)),
            Class::And => one(Act::And),
            Class::From => one(Act::From),
            Class::OnExposure => one(Act::Bracket(BracketSaid::Straight)),
            Class::NoBracket => one(Act::Bracket(BracketSaid::No)),
            Class::Focal | Class::FocalZoom => one(Act::Focal(self.number(term.args[0]))),
            Class::LensThe => one(Act::Focal(self.number(term.args[0]))),
            Class::Lens => match gear(0)? {
                (Gear::Lens(i), w) => one(Act::Lens(i.into(), w.into())),
                _ => None,
            },
            Class::LensAt => {
                let (lens, number) = match (term.args[0], term.args[1]) {
                    (Some(Arg::Gear(Gear::Lens(i), w)), n) | (n, Some(Arg::Gear(Gear::Lens(i), w))) => ((i, w), n),
                    _ => return None,
                };
                Some(vec![Act::Lens(lens.0.into(), lens.1.into()), Act::Focal(self.number(number))])
            }
            Class::SameLens => one(Act::Same(Same::Lens)),
            Class::FilterOn => match gear(0)? {
                (Gear::Filter(i), _) => one(Act::Filter(FilterSaid::On(i.into()))),
                _ => None,
            },
            Class::FilterOff => match gear(0)? {
                (Gear::Filter(i), _) => one(Act::Filter(FilterSaid::Off(i.into()))),
                _ => None,
            },
            Class::FilterSwap => match (gear(0)?, gear(1)?) {
                ((Gear::Filter(a), _), (Gear::Filter(b), _)) => one(Act::Filter(FilterSaid::Swap(a.into(), b.into()))),
                _ => None,
            },
            Class::FilterNone => one(Act::Filter(FilterSaid::None)),
            Class::FilterStill => one(Act::Filter(FilterSaid::Still)),
            Class::FilterCost => term.args.iter().flatten().find_map(|a| match a {
                Arg::Gear(Gear::Filter(i), _) => Some(vec![Act::Filter(FilterSaid::On(usize::from(*i)))]),
                _ => None,
            }),
            Class::Film | Class::FilmAt | Class::PushTo => {
                let film = Act::Film(self.films(term, gear(0)?));
                match term.class {
                    Class::Film => one(film),
                    _ => Some(vec![film, Act::Ei(self.number(term.args[1]))]),
                }
            }
            Class::Ei | Class::PushToEi => one(Act::Ei(self.number(term.args[0]))),
            Class::EiBox => match term.args[0] {
                Some(_) => one(Act::Ei(self.number(term.args[0]))),
                None => one(Act::BoxSpeed),
            },
            Class::Push => one(Act::Process(ProcessSaid::Push(amount()?))),
            Class::Pull => one(Act::Process(ProcessSaid::Push(-amount()?))),
            Class::NPlus => one(Act::Process(ProcessSaid::N(amount()?))),
            Class::NMinus => one(Act::Process(ProcessSaid::N(-amount()?))),
            Class::ProcessNormal => one(Act::Process(ProcessSaid::N(0.0))),
            Class::Roll => one(Act::Roll(self.roll_name(term.args[0])?, f64::from(term.weight))),
            Class::RollNew => one(Act::RollBegun),
            Class::RollEnd => one(Act::RollEnded(self.roll_name(term.args[0]))),
            Class::Camera => match gear(0)? {
                (Gear::Camera(i), _) => one(Act::Camera(i.into())),
                _ => None,
            },
            Class::SameFilm => one(Act::Same(Same::Film)),
            Class::SameRating => one(Act::Same(Same::Rating)),
            Class::BothCameras => one(Act::BothCameras),
            Class::Frame => one(Act::Frames { numbers: vec![self.frame_number(term.args[0])], weak: false }),
            Class::FrameWeak if self.names_roll(term) => {
                let n = self.frame_number(term.args[0]).first()?.value;
                one(Act::Roll(n.to_string(), 0.9))
            }
            Class::FrameWeak => one(Act::Frames { numbers: vec![self.frame_number(term.args[0])], weak: true }),
            Class::FrameLost => Some(vec![
                Act::Frames { numbers: vec![self.frame_number(term.args[0])], weak: false },
                Act::Wasted(true),
            ]),
            Class::FrameA => {
                let numbers =
                    self.frame_number(term.args[0]).iter().map(|w| Way::new(w.value.with_a(), w.weight)).collect();
                one(Act::Frames { numbers: vec![numbers], weak: term.len() < 3 })
            }
            Class::Frame00 => {
                let number = vec![Way::new(crate::facts::FrameNumber::DOUBLE_ZERO, 1.0)];
                one(Act::Frames { numbers: vec![number], weak: false })
            }
            Class::FrameNth => {
                let (mut readings, _) = self.readings(term.args[0]);
                let n = readings.find(|n| n.kind == NumberKind::Ordinal && n.how == How::Plain)?.value;
                one(Act::Nth(n as u32))
            }
            Class::Nth => {
                let (mut readings, _) = self.readings(term.args[0]);
                let n = readings.find(|n| n.kind == NumberKind::Ordinal && n.how == How::Plain)?.value;
                (n <= 36.0).then(|| vec![Act::Nth(n as u32)])
            }
            Class::FirstOne => one(Act::Next { lazy: true }),
            // "…, and again" with nothing after it is the same again.
            Class::Again => {
                // "full sun again" speaks of the light.
                let first = usize::from(term.start).checked_sub(1).is_none_or(|i| self.r.tokens[i].is_mark());
                let last = self.r.tokens.get(usize::from(term.end)).is_none_or(Token::is_mark);
                let settings = self.out.iter().any(|s| matches!(s.act, Act::Shutter { .. } | Act::Aperture(_)));
                match (last, settings && (first || term.len() > 1)) {
                    (true, true) => one(Act::Same(Same::Again)),
                    (true, false) => None,
                    (false, _) => one(Act::Next { lazy: false }),
                }
            }
            Class::Next => one(Act::Next { lazy: false }),
            Class::NextWeak | Class::Then | Class::OneOfThem => one(Act::Next { lazy: true }),
            Class::LastFrames => one(Act::Count(first()? as u32)),
            Class::CountSame => Some(vec![Act::Next { lazy: true }, Act::Count(first()? as u32), Act::Same(Same::All)]),
            Class::BracketByAperture => one(Act::BracketBy(Moved::Aperture)),
            Class::BracketByShutter => one(Act::BracketBy(Moved::Shutter)),
            Class::Count => match fixed() {
                Some(n) => one(Act::Count(n as u32)),
                None => one(Act::Count(first()? as u32)),
            },
            Class::All => one(Act::All),
            Class::Same => one(Act::Same(Same::All)),
            Class::SameAgain => one(Act::Same(Same::Again)),
            Class::SameAs => one(Act::SameAs(self.frame_number(term.args[0]))),
            Class::SameShutter => one(Act::Same(Same::Shutter)),
            Class::SameAperture => one(Act::Same(Same::Aperture)),
            Class::PlaceSame => one(Act::Same(Same::Place)),
            Class::Correct | Class::CorrectNo => one(Act::Correct),
            Class::Scratch => one(Act::Scratch),
            Class::ForgetLast | Class::IgnoreNote => one(Act::ForgetLast),
            Class::Or => one(Act::Or),
            Class::Comp => one(Act::Compensation(amount()?)),
            Class::Wasted => one(Act::Wasted(true)),
            Class::WastedWeak => one(Act::Wasted(false)),
            Class::MovedTo => one(Act::MovedTo),
            Class::TimeParts => {
                let seconds = first()? / fixed()?;
                one(Act::Shutter { ways: ways::timed((seconds * 1000.0).round() / 1000.0, alike), firm: true })
            }
            Class::FrameS => one(Act::Frames { numbers: vec![self.frame_number(term.args[0])], weak: true }),
            Class::DoubleExposure => one(Act::DoubleExposure),
            Class::Light => one(Act::Light(text()?)),
            Class::Support => one(Act::Support(text()?)),
            Class::SupportBraced => one(Act::Support(self.words_from(usize::from(term.start)))),
            Class::ScansReversed => one(Act::ScansReversed),
            _ => None,
        }
    }

    /// Whether "a half" is a time: joined to an aperture, or by itself between marks.
    fn stands_as_time(&self, term: &Term) -> bool {
        let terms = &self.r.found.terms;
        let k = terms.iter().position(|t| std::ptr::eq(t, term)).unwrap_or(0);
        let aperture = |t: &Term| {
            matches!(t.class, Class::Aperture | Class::ApertureSmallest | Class::ApertureWidest | Class::Bare)
        };
        let next = match (terms.get(k + 1), terms.get(k + 2)) {
            (Some(a), Some(b)) if a.class == Class::At && a.start == term.end => aperture(b),
            (Some(a), _) if self.only_commas(term.end, a.start) => a.class == Class::Aperture,
            _ => false,
        };
        let before = k > 0
            && terms[k - 1].class == Class::At
            && terms[k - 1].end == term.start
            && self.out.iter().any(|s| matches!(s.act, Act::Aperture(_)));
        let beside = k > 0
            && self.only_commas(terms[k - 1].end, term.start)
            && matches!(
                terms[k - 1].class,
                Class::Aperture | Class::TimeFraction | Class::ShutterFraction | Class::Time
            );
        next || before || beside
    }

    /// Whether an offset of one may be a count: "one over".
    fn countable(&self, term: &Term) -> bool {
        let words = usize::from(term.end) - usize::from(term.start);
        matches!(term.args[0], Some(Arg::Amount(a)) if a == 1.0)
            && words <= 2
            && !self.r.tokens[usize::from(term.start)].is_mark()
    }

    /// "Fresh roll, number fourteen": the number is the roll's.
    fn names_roll(&self, term: &Term) -> bool {
        let at = self.r.tokens[usize::from(term.start)].span.start;
        let sentence = self.out.iter().rposition(|s| s.act == Act::SentenceEnd).map_or(0, |i| i + 1);
        let begun = self.out[sentence..].iter().any(|s| s.act == Act::RollBegun && s.span.end <= at);
        begun && !self.out[sentence..].iter().any(|s| matches!(s.act, Act::Roll(..)))
    }

    /// The film named, with the others that the same words may name.
    fn films(&self, term: &Term, (gear, weight): (Gear, f32)) -> Vec<Way<usize>> {
        let mut films = Vec::new();
        if let Gear::Film(i) = gear {
            films.push(Way::new(usize::from(i), f64::from(weight)));
        }
        for rival in &self.r.found.rivals {
            if rival.start == term.start
                && rival.end == term.end
                && rival.class == term.class
                && let Some(Arg::Gear(Gear::Film(i), w)) = rival.args[0]
            {
                ways::add(&mut films, usize::from(i), f64::from(w));
            }
        }
        films.sort_by(|a, b| b.weight.total_cmp(&a.weight));
        films
    }

    fn roll_name(&self, arg: Option<Arg>) -> Option<String> {
        let Some(Arg::Name { start, end }) = arg else { return None };
        let letter = (self.r.tokens[usize::from(start)].kind == Kind::Word
            && self.r.tokens[usize::from(start)].span.len() == 1)
            .then(|| self.r.folded[self.r.tokens[usize::from(start)].span.clone()].to_uppercase());
        let from = if letter.is_some() { start + 1 } else { start };
        let number = self
            .r
            .found
            .readings(from, end)
            .filter(|n| n.kind == NumberKind::Cardinal)
            .max_by(|a, b| a.weight.total_cmp(&b.weight))
            .map(|n| format!("{}", n.value));
        match (letter, number) {
            (Some(l), Some(n)) => Some(format!("{l}{n}")),
            (None, Some(n)) => Some(n),
            (Some(l), None) => Some(l),
            (None, None) => None,
        }
    }

    /// Words from a token to the next mark, as they were written.
    fn words_from(&self, start: usize) -> String {
        let end = (start..self.r.tokens.len()).find(|i| self.r.tokens[*i].is_mark()).unwrap_or(self.r.tokens.len());
        let end = end.min(start + 6);
        self.r.text[self.r.tokens[start].span.start..self.r.tokens[end - 1].span.end].to_owned()
    }

    fn bare(&mut self, k: usize, span: Range<usize>) {
        let term = &self.r.found.terms[k];
        let Some(role) = self.roles[k] else { return };
        let alike = &self.r.lexicon.numbers.alike;
        let (readings, written) = self.readings(term.args[0]);
        let readings: Vec<_> = readings.copied().collect();
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
            Role::Roll(w) => (Act::Roll(readings[0].value.to_string(), w), w),
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

    fn term_text(&self, term: &Term) -> &str {
        &self.r.folded[self.span(term)]
    }

    /// Whether the number of a single frame is the first of a list.
    fn list_follows(&self, k: usize) -> bool {
        let terms = &self.r.found.terms;
        terms[k].class == Class::Frame
            && matches!((terms.get(k + 1), terms.get(k + 2)), (Some(a), Some(b))
                if matches!(a.class, Class::To | Class::And) && a.start == terms[k].end && self.term_text(a) != "-"
                    && b.start == a.end && self.list_number(b).is_some() && terms.get(k + 3).is_none_or(|n| n.class != Class::At))
            && self.first_number(k).zip(self.list_number(&terms[k + 2])).is_some_and(|(a, b)| b > a)
    }

    fn first_number(&self, k: usize) -> Option<u16> {
        self.frame_number(self.r.found.terms[k].args[0]).first().map(|w| w.value.place() as u16)
    }

    fn list_number(&self, term: &Term) -> Option<u16> {
        if term.class != Class::Bare {
            return None;
        }
        let (mut readings, _) = self.readings(term.args[0]);
        readings
            .find(|n| n.kind == NumberKind::Cardinal && n.how == How::Plain && n.value < 1000.0)
            .map(|n| n.value as u16)
    }

    /// Frame numbers from a head on: "four to seven", "3, 4, 5", "ten and eleven".
    fn frame_list(&self, k: usize) -> (Vec<Vec<Way<crate::facts::FrameNumber>>>, usize) {
        let terms = &self.r.found.terms;
        let mut numbers = vec![self.frame_number(terms[k].args[0])];
        let mut used = 1;
        self.extend_list(k, &mut used, &mut numbers);
        (numbers, used)
    }

    fn extend_list(&self, k: usize, used: &mut usize, numbers: &mut Vec<Vec<Way<crate::facts::FrameNumber>>>) {
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

    fn only_commas(&self, from: u16, to: u16) -> bool {
        self.r.tokens[usize::from(from)..usize::from(to)].iter().all(|t| t.kind == Kind::Mark(','))
    }

    /// Numbers at the start of a sentence that are frames: "8, 9 and 10 are all…".
    fn bare_list(&self, k: usize) -> Option<(Vec<Vec<Way<crate::facts::FrameNumber>>>, usize)> {
        let terms = &self.r.found.terms;
        let mark_before = usize::from(terms[k].start) == 0 || self.r.tokens[usize::from(terms[k].start) - 1].is_mark();
        let starts = usize::from(terms[k].start) == 0
            || self.r.tokens[usize::from(terms[k].start) - 1].kind == Kind::Mark(':')
            || self.r.tokens[usize::from(terms[k].start) - 1].ends_sentence()
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
        let value = |w: &Vec<Way<crate::facts::FrameNumber>>| w.first().map_or(0, |w| w.value.place());
        let consecutive = numbers.windows(2).all(|w| value(&w[1]) == value(&w[0]) + 1);
        if !starts && !consecutive {
            return None;
        }
        (numbers.len() >= 2 && (said_so || used >= 5 && starts || row) || single && starts).then_some((numbers, used))
    }

    /// "…, fourteen the same, fifteen a stop down": the next number, and what became of it.
    fn carries_on(&self, k: usize, n: u16) -> bool {
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

    /// What is left of a stretch between marks: a subject, and where it is.
    fn free_text(&mut self, range: Range<usize>) {
        if range.is_empty() {
            return;
        }
        let covered = |i: usize| {
            self.r.found.terms.iter().find(|t| usize::from(t.start) <= i && i < usize::from(t.end)).map(|t| t.class)
        };
        let mut free = 0;
        let mut settings = 0;
        let mut place_from = None;
        let mut first = None;
        let mut last = range.start;
        for i in range.clone() {
            let class = covered(i);
            let loose = class.is_none() || class.is_some_and(|c| c.is_loose());
            if !loose {
                settings += 1;
                continue;
            }
            let token = &self.r.tokens[i];
            if class == Some(Class::PlaceAt) || class == Some(Class::At) {
                place_from.get_or_insert(i);
                continue;
            }
            let filler = token.kind != Kind::Word || self.r.lexicon.in_list("filler", token) || class.is_some();
            if !filler {
                free += 1;
                first.get_or_insert(i);
                last = i + 1;
            }
        }
        if free == 0 || (settings > 0 && free == 1 && settings > 4) {
            return;
        }
        let first = first.unwrap_or(range.start);
        let text = self.loose_words(first..last, &covered);
        let span = self.r.tokens[first].span.start..self.r.tokens[last - 1].span.end;
        let mode = self.modes.mode;
        if let Some(p) = place_from.filter(|p| p + 1 < last) {
            let place = self.loose_words(p + 1..last, &covered);
            if !place.is_empty() {
                self.out.push(Said {
                    act: Act::Place(place),
                    mode,
                    doubt: false,
                    weight: 0.6,
                    heard: 1.0,
                    span: span.clone(),
                });
            }
        }
        self.out.push(Said { act: Act::Subject(text), mode, doubt: false, weight: 0.6, heard: 1.0, span });
    }

    fn loose_words(&self, range: Range<usize>, covered: &dyn Fn(usize) -> Option<Class>) -> String {
        let mut words: Vec<&str> = Vec::new();
        for i in range {
            if covered(i).is_none_or(|c| c.is_loose()) && !self.r.tokens[i].is_mark() {
                words.push(&self.r.text[self.r.tokens[i].span.clone()]);
            }
        }
        words.join(" ")
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
        )
    }
}

/// Whether an act says something of a frame that can be done or not.
fn is_value(act: &Act) -> bool {
    is_setting(act)
        || matches!(
            act,
            Act::Frames { .. }
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
fn is_setting(act: &Act) -> bool {
    matches!(
        act,
        Act::Shutter { .. }
            | Act::Aperture(_)
            | Act::ShutterOrFocal { .. }
            | Act::Focal(_)
            | Act::Lens(..)
            | Act::Filter(_)
            | Act::Change(..)
            | Act::Compensation(_)
            | Act::Bracket(_)
    )
}
