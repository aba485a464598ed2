//! Changes of exposure, lights, supports and orders to the lab that words tell.

use super::value::Values;
use crate::language::grammar::Class;
use crate::language::phrases::{Arg, Term};
use crate::language::text::{How, NumberKind};
use std::ops::Range;

/// Lists of words that tell a light, in the order in which they are asked, with the light.
const LIGHTS: [(&str, &str); 13] = [
    ("light-backlit", "backlit"),
    ("light-low-sun", "low sun"),
    ("light-window-light", "window light"),
    ("light-dusk", "dusk"),
    ("light-dawn", "dawn"),
    ("light-night", "night"),
    ("light-fog", "fog"),
    ("light-rain", "rain"),
    ("light-hazy-sun", "hazy sun"),
    ("light-overcast", "overcast"),
    ("light-open-shade", "open shade"),
    ("light-full-sun", "full sun"),
    ("light-indoors", "indoors"),
];
/// The same for what a camera stands on.
const SUPPORTS: [(&str, &str); 4] = [
    ("support-handheld", "handheld"),
    ("support-monopod", "monopod"),
    ("support-tripod", "tripod"),
    ("support-beanbag", "beanbag"),
];
/// An amount that is surely the step of a bracket weighs more than this in the grammar.
const SURE_STEP: f32 = 0.7;
/// No film is pushed or pulled farther, stops.
const MOST_PROCESS: f64 = 4.0;
/// Nobody changes an exposure by more stops at once.
const MOST_STOPS: f64 = 12.0;

/// A change of exposure as words give it: how far, which way, with what.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shift {
    /// How far, in stops or clicks; never below 0.
    pub amount: f64,
    /// Whether `amount` counts clicks of a dial.
    pub clicks: bool,
    /// More light (`true`) or less, if the words tell.
    pub more: Option<bool>,
    /// It is so far to either side, or from one exposure to the next: a bracket.
    pub bracket: bool,
    /// Which dial the words name: the shutter (`true`) or the aperture.
    pub of_shutter: Option<bool>,
}

impl<'a> Values<'a> {
    /// A change of exposure.
    pub fn shift(&self, span: &Range<usize>) -> Option<Shift> {
        use Class as C;
        let more = [C::Open, C::Slower, C::More, C::Over, C::Extra, C::OneMoreOver];
        let less = [C::Close, C::Faster, C::Less, C::Under, C::OneMoreUnder];
        let either = [C::Comp, C::Step, C::EitherSide, C::OnExposure];
        let wanted: Vec<C> = more.iter().chain(&less).chain(&either).copied().collect();
        let amount = |term: &Term| match term.args[0] {
            Some(Arg::Amount(a)) => Some((a, false)),
            Some(Arg::Clicks(n)) => Some((n, true)),
            Some(Arg::Number { .. }) => self.readings(term.args[0]).first().map(|n| (n.value, false)),
            _ => self.fixed(term).map(|a| (a, false)),
        };
        let signed = self.terms(span, &wanted).into_iter().find_map(|t| amount(t).map(|a| (a, t)));
        // An amount by itself, as long as it goes.
        let quantities = &self.r.found.quantities;
        let best = quantities
            .iter()
            .filter(|q| q.class != C::Duration && usize::from(q.start) >= span.start && usize::from(q.end) <= span.end)
            .max_by_key(|q| (q.class != C::Amount, q.end - q.start));
        let doubles = self.has(span, "doubles");
        let doubled = doubles && signed.is_some_and(|(_, t)| matches!(t.class, C::Slower | C::Faster));
        let (amount, clicks) = match (best.filter(|_| !doubled), signed) {
            (Some(q), _) => (q.value, q.class == C::Clicks),
            (None, Some((a, _))) => a,
            // "Twice as long", "half the speed": one stop.
            (None, None) if doubles => (1.0, false),
            (None, None) => return None,
        };
        let way = signed.and_then(|(_, t)| {
            if more.contains(&t.class) {
                Some(true)
            } else if less.contains(&t.class) {
                Some(false)
            } else {
                None
            }
        });
        // A bare amount may be a step too; words such as "apart" make sure of it.
        let bracket =
            signed.is_some_and(|(_, t)| t.class == C::EitherSide || t.class == C::Step && t.weight > SURE_STEP);
        let of_shutter = signed.and_then(|(_, t)| match t.class {
            C::Open | C::Close => Some(false),
            C::Slower | C::Faster => Some(true),
            _ => None,
        });
        let whole = amount > 0.0 && amount <= MOST_STOPS;
        whole.then_some(Shift { amount, clicks, more: way, bracket, of_shutter })
    }

    /// Whether a change is said to make up for that of the other dial: "shut the stop to suit".
    pub fn makes_up(&self, span: &Range<usize>) -> bool {
        self.has(span, "makes-up")
    }

    /// Whether a change is said to go on from another: "another third".
    pub fn goes_further(&self, span: &Range<usize>) -> bool {
        self.has(span, "further")
    }

    /// Light, in the grammar's words; else as it was said.
    pub fn light(&self, span: &Range<usize>) -> String {
        self.worded(span, Class::Light, &LIGHTS)
    }

    /// Support, in the grammar's words; else as it was said.
    pub fn support(&self, span: &Range<usize>) -> String {
        self.worded(span, Class::Support, &SUPPORTS)
    }

    fn worded(&self, span: &Range<usize>, class: Class, hints: &[(&str, &'static str)]) -> String {
        let has = |list: &str| self.has(span, list);
        let term = self.terms(span, &[class]).into_iter().find_map(|t| self.text(t));
        let hint = || hints.iter().find(|(list, _)| has(list)).map(|(_, value)| *value);
        term.or_else(hint).map_or_else(|| self.words(span), str::to_owned)
    }

    /// What is asked of the lab: `push 1`, `N+1`, or as it was said.
    pub fn process(&self, span: &Range<usize>) -> String {
        use Class as C;
        let has = |list| self.has(span, list);
        let wanted = [C::Push, C::Pull, C::NPlus, C::NMinus, C::ProcessNormal];
        let named = |c: &[C]| !self.terms(span, c).is_empty();
        let number = || {
            let whole = self.number(span, |n| n.kind == NumberKind::Cardinal && n.how == How::Plain);
            whole.first().map(|n| n.value).filter(|n| *n <= MOST_PROCESS)
        };
        let signs = [("plus", "N+"), ("minus", "N-"), ("push", "push "), ("pull", "pull ")];
        let sign = signs.iter().find(|(list, _)| has(list));
        if let (Some((_, text)), Some(n)) = (sign, number())
            && !named(&wanted[..4])
        {
            return format!("{text}{n}");
        }
        if has("normal") && sign.is_none() && !named(&wanted) {
            return "N".to_owned();
        }
        if let Some(term) = self.terms(span, &wanted).first() {
            let amount = match term.args[0] {
                Some(Arg::Amount(a)) => Some(a),
                Some(Arg::Number { .. }) => self.readings(term.args[0]).first().map(|n| n.value),
                _ => self.fixed(term),
            };
            let amount = amount.unwrap_or(1.0);
            return match term.class {
                C::Push => format!("push {amount}"),
                C::Pull => format!("pull {amount}"),
                C::NPlus => format!("N+{amount}"),
                C::NMinus => format!("N-{amount}"),
                _ => "N".to_owned(),
            };
        }
        self.words(span)
    }

    /// The words as they were written.
    pub fn words(&self, span: &Range<usize>) -> String {
        let tokens = &self.r.tokens[span.clone()];
        match (tokens.first(), tokens.last()) {
            (Some(a), Some(b)) => self.r.text[a.span.start..b.span.end].to_owned(),
            _ => String::new(),
        }
    }

    /// The same for a thing of the kit, with the word for such things that stands right behind: "the macro" | "lens".
    pub fn thing_words(&self, span: &Range<usize>) -> String {
        let behind = self.r.tokens.get(span.end).is_some_and(|t| self.r.lexicon.in_list("thing", t));
        self.words(&(span.start..span.end + usize::from(behind)))
    }
}
