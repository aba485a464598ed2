//! What each phrase does, once it is known which phrases a text has.

use super::act::{Act, ApertureSaid, BracketSaid, FilterSaid, Moved, ProcessSaid, Same};
use super::class::Class;
use super::lexicon::Gear;
use super::number::{How, NumberKind};
use super::statement::Writer;
use super::term::{Arg, Term};
use super::token::{Kind, Token};
use super::trie::NO_VALUE;
use super::ways::{self, ShutterForm, Way};

impl Writer<'_, '_> {
    /// What a term does, if it is not a number to be given a role.
    pub(super) fn act_of(&self, term: &Term) -> Option<Vec<Act>> {
        let text = || (term.value != NO_VALUE).then(|| self.r.lexicon.values[term.value as usize].clone());
        let fixed = || text().and_then(|t| t.parse::<f64>().ok());
        let first = || self.number(term.args[0]).first().map(|w| w.value);
        let amount = || match term.args[0] {
            Some(Arg::Amount(a)) => Some(a),
            Some(Arg::Number { .. }) => first(),
            _ => fixed(),
        };
        let change = |moved: Moved, sign: f64| match term.args[0] {
            Some(Arg::Clicks(n)) => Some(Act::Clicks(moved, sign * n)),
            _ => amount().map(|a| Act::Change(moved, sign * a)),
        };
        let seconds = || match term.args[0] {
            Some(Arg::Time(s)) => Some(s),
            Some(Arg::Number { .. }) => first(),
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
            Class::Time => {
                let mut ways = ways::timed(seconds()?, alike);
                // "500s" is how a five-hundredth is written.
                let last = &self.r.tokens[usize::from(term.end) - 1];
                if last.glued && self.r.lexicon.in_list("plural", last) {
                    ways::plural_or_seconds(&mut ways, seconds()?);
                }
                one(Act::Shutter { ways, firm: false })
            }
            Class::HalfInList
                if !self.stands_as_time(term) && !self.out.iter().any(|s| s.act == Act::ListOf(Moved::Shutter)) =>
            {
                None
            }
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
            Class::Open => one(change(Moved::Aperture, 1.0)?),
            Class::Close => one(change(Moved::Aperture, -1.0)?),
            Class::Slower => one(change(Moved::Shutter, 1.0)?),
            Class::Faster => one(change(Moved::Shutter, -1.0)?),
            Class::More => one(change(Moved::Either, 1.0)?),
            Class::Less => one(change(Moved::Either, -1.0)?),
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
            Class::Over if self.asks_lab(term) => one(Act::Process(ProcessSaid::N(amount()?))),
            Class::Under if self.asks_lab(term) => one(Act::Process(ProcessSaid::N(-amount()?))),
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
            // "Yellow on the folder": which camera, then what is on it.
            Class::FilterOn => match gear(0)? {
                (Gear::Filter(i), w) => {
                    let on = Act::Filter(FilterSaid::On(vec![Way::new(i.into(), w.into())]));
                    match gear(1) {
                        Some((Gear::Camera(c), _)) => Some(vec![Act::Camera(c.into()), on]),
                        _ => one(on),
                    }
                }
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
            Class::FilterNone => match gear(0) {
                Some((Gear::Camera(c), _)) => Some(vec![Act::Camera(c.into()), Act::Filter(FilterSaid::None)]),
                _ => one(Act::Filter(FilterSaid::None)),
            },
            Class::FilterStill => one(Act::Filter(FilterSaid::Still)),
            Class::FilterCost => term.args.iter().flatten().find_map(|a| match a {
                Arg::Gear(Gear::Filter(i), w) => {
                    Some(vec![Act::Filter(FilterSaid::On(vec![Way::new(usize::from(*i), f64::from(*w))]))])
                }
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
            // "Frame thirty-seven, must have loaded it tight" begins none.
            Class::RollNew if self.frame_in_sentence() => None,
            Class::RollNew => one(Act::RollBegun),
            // "…, loading thirty-one": the next roll's name, if one was just spoken of.
            Class::RollNext => {
                let spoken = self.out.iter().any(|s| matches!(s.act, Act::RollEnded(_) | Act::Roll(..)));
                let name = self.roll_name(term.args[0]).filter(|_| spoken)?;
                Some(vec![Act::RollBegun, Act::Roll(name, f64::from(term.weight))])
            }
            Class::RollEnd => one(Act::RollEnded(self.roll_name(term.args[0]))),
            Class::Camera => match gear(0)? {
                (Gear::Camera(i), _) => one(Act::Camera(i.into())),
                _ => None,
            },
            Class::SameFilm => one(Act::Same(Same::Film)),
            Class::SameRating => one(Act::Same(Same::Rating)),
            Class::BothCameras => one(Act::BothCameras),
            Class::Frame => one(Act::Frames { numbers: vec![self.frame_number(term.args[0])], weak: false }),
            Class::FrameThat => one(Act::ThatFrame(self.frame_number(term.args[0]))),
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
    pub(super) fn stands_as_time(&self, term: &Term) -> bool {
        let terms = &self.r.found.terms;
        let k = terms.partition_point(|t| t.start < term.start);
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
        let one_at = k > 0 && terms[k - 1].class == Class::OneOfThem && terms[k - 1].end == term.start;
        let beside = k > 0
            && self.only_commas(terms[k - 1].end, term.start)
            && matches!(
                terms[k - 1].class,
                Class::Aperture | Class::TimeFraction | Class::ShutterFraction | Class::Time
            );
        next || before || beside || one_at
    }

    /// Whether an offset of one may be a count: "one over".
    pub(super) fn countable(&self, term: &Term) -> bool {
        let words = usize::from(term.end) - usize::from(term.start);
        matches!(term.args[0], Some(Arg::Amount(a)) if a == 1.0)
            && words <= 2
            && !self.r.tokens[usize::from(term.start)].is_mark()
    }

    /// "Rated at 50 and minus 1": the N of "N minus one" heard as a small word, where nothing is exposed.
    fn asks_lab(&self, term: &Term) -> bool {
        let sentence = self.out.iter().rposition(|s| s.act == Act::SentenceEnd).map_or(0, |i| i + 1);
        let rated = self.out[sentence..].iter().any(|s| matches!(s.act, Act::Ei(_) | Act::Film(_)));
        let exposed = self.out[sentence..].iter().any(|s| matches!(s.act, Act::Shutter { .. } | Act::Aperture(_)));
        let before = usize::from(term.start).checked_sub(1).map(|i| &self.r.tokens[i]);
        rated && !exposed && before.is_some_and(|t| self.r.lexicon.in_list("heard-n", t))
    }

    /// Whether this sentence has spoken of a frame.
    fn frame_in_sentence(&self) -> bool {
        let sentence = self.out.iter().rposition(|s| s.act == Act::SentenceEnd).map_or(0, |i| i + 1);
        self.out[sentence..].iter().any(|s| matches!(s.act, Act::Frames { .. }))
    }

    /// "Fresh roll, number fourteen": the number is the roll's.
    pub(super) fn names_roll(&self, term: &Term) -> bool {
        let at = self.r.tokens[usize::from(term.start)].span.start;
        let sentence = self.out.iter().rposition(|s| s.act == Act::SentenceEnd).map_or(0, |i| i + 1);
        let begun = self.out[sentence..].iter().any(|s| s.act == Act::RollBegun && s.span.end <= at);
        begun && !self.out[sentence..].iter().any(|s| matches!(s.act, Act::Roll(..)))
    }

    /// The film named, with the others that the same words may name.
    pub(super) fn films(&self, term: &Term, (gear, weight): (Gear, f32)) -> Vec<Way<usize>> {
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

    pub(super) fn roll_name(&self, arg: Option<Arg>) -> Option<String> {
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
    pub(super) fn words_from(&self, start: usize) -> String {
        let end = (start..self.r.tokens.len()).find(|i| self.r.tokens[*i].is_mark()).unwrap_or(self.r.tokens.len());
        // A number belongs to the next value.
        let value = |t: &&Term| usize::from(t.start) > start && t.class.is_value();
        let value = self.r.found.terms[self.r.found.terms.partition_point(|t| usize::from(t.start) <= start)..]
            .iter()
            .find(value)
            .map_or(end, |t| usize::from(t.start));
        let end = end.min(start + 6).min(value.max(start + 1));
        self.r.text[self.r.tokens[start].span.start..self.r.tokens[end - 1].span.end].to_owned()
    }

    pub(super) fn fraction(&self, term: &Term, arg: Option<Arg>, form: ShutterForm) -> Act {
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
}
