//! What a heard value could be mistaken for on the gear there is, each as it would be said.

use std::ops::Range;

use crate::exposure::{Aperture, ApertureStep, MARKED_SPEEDS, Shutter};
use crate::facts::FrameNumber;
use crate::kit::Focal;

use crate::language::note::Language;
use crate::language::readings::{Gear, OFF_DIAL, Opening, Values, Way};
use crate::language::tag::{Mention, Role};
use crate::language::text::distance;

/// What the gear cannot do counts, where the likeliest is looked for: little, so that the words decide where nothing is possible.
const OFF_GEAR: f64 = 0.01;

/// Other wordings asked about, at most.
const MOST: usize = 3;
/// Gear that likely allows a value.
const ALLOWED: f64 = 0.5;
/// Letters that may differ, as a part of those that two wordings do not share.
const DIFFER: f64 = 0.6;
/// A word of so many letters is swallowed easily: "two fiftieth", "a fiftieth".
const SWALLOWED: usize = 3;

/// A value in doubt; films and filters by their index in the kit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Value {
    /// A shutter setting.
    Shutter(Shutter),
    /// An aperture.
    Aperture(Aperture),
    /// A frame's number.
    Frame(FrameNumber),
    /// A focal length, millimetres.
    Focal(f64),
    /// An exposure index.
    Ei(f64),
    /// A film.
    Film(usize),
    /// A filter.
    Filter(usize),
}

/// The bytes of the text that say a value, and the wordings: first of the value heard, then of others.
type Mistakable = (Range<usize>, Vec<(String, Value)>);

impl Language {
    /// What the value of a mention could be mistaken for. None where nothing is to be asked.
    /// `span`: the bytes of its words.
    pub fn mistakable(
        &self,
        mention: &Mention,
        tokens: &Range<usize>,
        values: &Values<'_>,
        text: &str,
        span: &Range<usize>,
    ) -> Option<Mistakable> {
        let words = text.get(span.clone())?;
        let whole = |values: Vec<(String, Value)>| Some((span.clone(), values));
        match mention.role {
            Role::Shutter => whole(self.shutter_values(&values.shutter(tokens))),
            Role::Aperture => match values.aperture(tokens)? {
                Opening::Number(ways) => whole(self.aperture_values(&ways, words)),
                Opening::Widest | Opening::Smallest => None,
            },
            Role::Number if values.frames(tokens).len() < 2 => whole(self.frame_values(&values.frame(tokens), words)),
            Role::Lens => {
                let primes = self.kit().lenses.iter().filter_map(|l| match l.focal {
                    Focal::Prime(mm) => Some(mm),
                    Focal::Zoom(..) => None,
                });
                let gear = self.gear();
                let ways = values.plain(tokens);
                self.number_values(&ways, primes.collect(), |mm| gear.focal(mm), Value::Focal, text, span)
            }
            Role::Rating => {
                let marks = MARKED_SPEEDS.iter().map(|s| f64::from(*s)).collect();
                let gear = self.gear();
                self.number_values(&values.plain(tokens), marks, |ei| gear.ei(ei), Value::Ei, text, span)
            }
            Role::Film => {
                let names: Vec<Vec<&str>> = self.kit().films.iter().map(|f| names(&f.name, &f.said)).collect();
                name_values(values.film(tokens).first()?.value, &names, Value::Film, text, span)
            }
            Role::Filter => {
                let names: Vec<Vec<&str>> = self.kit().filters.iter().map(|f| names(&f.name, &f.said)).collect();
                name_values(values.filters(tokens).first()?.value, &names, Value::Filter, text, span)
            }
            _ => None,
        }
    }

    fn gear(&self) -> Gear<'_> {
        Gear { kit: self.kit(), camera: None, lens: None }
    }

    /// The likeliest way on the gear, and the marks that are said alike.
    fn shutter_values(&self, ways: &[Way<Shutter>]) -> Vec<(String, Value)> {
        let gear = self.gear();
        let Some(heard) = likeliest(ways, |s| gear.shutter(s).max(OFF_DIAL)) else { return Vec::new() };
        let said = self.say_shutter(heard);
        if said.is_empty() {
            return Vec::new();
        }
        let marks = self.kit().cameras.iter().flat_map(|c| c.dial.marks().iter().copied()).map(Shutter::Timed);
        let others = marks.chain(ways.iter().map(|w| w.value)).filter(|s| *s != heard && gear.shutter(*s) >= ALLOWED);
        let others = others.flat_map(|s| self.say_shutter(s).into_iter().map(move |t| (t, Value::Shutter(s))));
        nearest(said, Value::Shutter(heard), others.collect())
    }

    /// How a part of a second is said: one sixtieth may be 1/160, and that is a hundred and sixtieth too.
    fn say_shutter(&self, s: Shutter) -> Vec<String> {
        let Shutter::Timed(speed) = s else { return Vec::new() };
        let spoken = self.lexicon().spoken();
        let n = speed.number();
        if n.fract() != 0.0 || n < 4.0 || !speed.is_fraction() {
            return Vec::new();
        }
        let n = n as u32;
        match spoken.joined(n, true) {
            Some(joined) if n < 200 => vec![joined, spoken.part(n)],
            Some(joined) => vec![joined],
            None => vec![spoken.part(n)],
        }
    }

    fn aperture_values(&self, ways: &[Way<Aperture>], text: &str) -> Vec<(String, Value)> {
        let gear = self.gear();
        let Some(heard) = likeliest(ways, |a| gear.aperture(a).max(OFF_GEAR)) else { return Vec::new() };
        let letter = text.starts_with(['f', 'F']);
        let say = |a: Aperture| {
            let number = self.lexicon().spoken().decimal(a.number());
            if letter { format!("f {number}") } else { number }
        };
        let others = ApertureStep::Full
            .marks()
            .into_iter()
            .chain(ways.iter().map(|w| w.value))
            .filter(|a| *a != heard && gear.aperture(*a) >= ALLOWED)
            .map(|a| (say(a), Value::Aperture(a)))
            .collect();
        nearest(vec![say(heard)], Value::Aperture(heard), others)
    }

    fn frame_values(&self, ways: &[Way<FrameNumber>], text: &str) -> Vec<(String, Value)> {
        let Some(heard) = ways.first().map(|w| w.value) else { return Vec::new() };
        // The word before the number stays as it was heard.
        let head: String = text
            .split_whitespace()
            .take_while(|w| !w.starts_with(|c: char| c.is_ascii_digit()))
            .take(1)
            .map(|w| format!("{w} "))
            .collect();
        let say = |n: FrameNumber| format!("{head}{}", self.lexicon().spoken().cardinal(n.place().max(0) as u32));
        let gear = self.gear();
        let others = ways[1..]
            .iter()
            .filter(|w| gear.frame(w.value) >= ALLOWED)
            .map(|w| (say(w.value), Value::Frame(w.value)))
            .collect();
        nearest(vec![say(heard)], Value::Frame(heard), others)
    }

    /// A number that the recogniser wrote in figures, with what stands right behind them: "90mm".
    fn number_values(
        &self,
        ways: &[Way<f64>],
        marks: Vec<f64>,
        gear: impl Fn(f64) -> f64,
        value: fn(f64) -> Value,
        text: &str,
        span: &Range<usize>,
    ) -> Option<Mistakable> {
        let heard = likeliest(ways, |n| gear(n).max(OFF_GEAR))?;
        let figures = |p: &Range<usize>| {
            let word = &text[p.clone()];
            let end = word.find(|c: char| !c.is_ascii_digit()).unwrap_or(word.len());
            word[..end].parse::<f64>().ok().map(|n| (n, end))
        };
        let (part, end) = pieces(text, span)
            .filter_map(|p| figures(&p).filter(|(n, _)| *n == heard).map(|(_, end)| (p, end)))
            .last()?;
        let unit = text[part.start + end..part.end].trim_matches(|c: char| !c.is_alphanumeric());
        let say = |n: f64| {
            let whole = n.fract() == 0.0 && (1.0..100_000.0).contains(&n);
            whole.then(|| format!("{} {unit}", self.lexicon().spoken().cardinal(n as u32)).trim_end().to_owned())
        };
        let others = marks.into_iter().chain(ways.iter().map(|w| w.value));
        let others = others.filter(|n| *n != heard && gear(*n) >= ALLOWED);
        let others = others.filter_map(|n| say(n).map(|t| (t, value(n)))).collect();
        Some((part, nearest(vec![say(heard)?], value(heard), others)))
    }
}

fn likeliest<T: Copy>(ways: &[Way<T>], gear: impl Fn(T) -> f64) -> Option<T> {
    let score = |w: &Way<T>| w.weight * gear(w.value);
    ways.iter().max_by(|a, b| score(a).total_cmp(&score(b))).map(|w| w.value)
}

/// Names that a piece of gear goes by. One without a word in it is none.
fn names<'a>(name: &'a str, said: &'a [String]) -> Vec<&'a str> {
    std::iter::once(name).chain(said.iter().map(String::as_str)).filter(|n| !n.trim().is_empty()).collect()
}

/// The words of the span that come nearest to a name of what was heard, and the names of others.
fn name_values(
    heard: usize,
    all: &[Vec<&str>],
    value: fn(usize) -> Value,
    text: &str,
    span: &Range<usize>,
) -> Option<Mistakable> {
    let words: Vec<Range<usize>> = pieces(text, span).collect();
    let mut best: Option<(usize, Range<usize>, &str)> = None;
    for name in all.get(heard)? {
        let long = name.split_whitespace().count();
        for window in words.windows(long) {
            let part = window[0].start..window[long - 1].end;
            let letters = text[part.clone()].trim_end_matches(|c: char| c.is_ascii_punctuation()).to_lowercase();
            let most = name.len() / 3;
            if let Some(off) = distance(&letters, &name.to_lowercase(), most)
                && best.as_ref().is_none_or(|(least, ..)| off < *least)
            {
                best = Some((off, part, name));
            }
        }
    }
    let (_, part, said) = best?;
    let others = all.iter().enumerate().filter(|(i, _)| *i != heard);
    let others = others.flat_map(|(i, names)| names.iter().map(move |n| ((*n).to_owned(), value(i))));
    Some((part, nearest(vec![said.to_owned()], value(heard), others.collect())))
}

/// The words within a span of the text.
fn pieces<'a>(text: &'a str, span: &Range<usize>) -> impl Iterator<Item = Range<usize>> + 'a {
    let (from, to) = (span.start, span.end);
    let words = text[from..to].split_whitespace();
    words.map(move |w| {
        let start = w.as_ptr() as usize - text.as_ptr() as usize;
        start..start + w.len()
    })
}

/// The wordings of what was heard, and what is said most like one of them.
fn nearest(said: Vec<String>, heard: Value, others: Vec<(String, Value)>) -> Vec<(String, Value)> {
    let apart = |t: &str| said.iter().filter_map(|s| apart(s, t)).min();
    let mut near: Vec<(usize, String, Value)> =
        others.into_iter().filter_map(|(t, v)| apart(&t).map(|d| (d, t, v))).collect();
    near.sort_by(|a, b| a.0.cmp(&b.0).then_with(|| a.1.cmp(&b.1)));
    near.dedup_by(|a, b| a.1 == b.1);
    if near.is_empty() {
        return Vec::new();
    }
    let near = near.into_iter().take(MOST).map(|(_, t, v)| (t, v));
    said.into_iter().map(|t| (t, heard)).chain(near).collect()
}

/// How many letters two wordings differ by, where they could be taken for each other. Words that
/// both begin or end with say nothing, nor does a word that both have in the middle.
fn apart(a: &str, b: &str) -> Option<usize> {
    let (a, b): (Vec<&str>, Vec<&str>) = (a.split_whitespace().collect(), b.split_whitespace().collect());
    let before = a.iter().zip(&b).take_while(|(x, y)| x == y).count();
    let (a, b) = (&a[before..], &b[before..]);
    let after = a.iter().rev().zip(b.iter().rev()).take_while(|(x, y)| x == y).count();
    let (a, b) = (&a[..a.len() - after], &b[..b.len() - after]);
    let own = |these: &[&str], those: &[&str]| {
        these.iter().filter(|w| !those.contains(w)).copied().collect::<Vec<_>>().join(" ")
    };
    let (a, b) = (own(a, b), own(b, a));
    let long = a.len().max(b.len());
    let most = if long <= SWALLOWED { long } else { (long as f64 * DIFFER) as usize };
    distance(&a, &b, most).filter(|d| *d > 0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kit::Kit;

    #[test]
    fn what_is_taken_for_each_other() {
        for (a, b) in [
            ("a fifteenth", "a fiftieth"),
            ("two fiftieth", "a fiftieth"),
            ("one twenty fifth", "a twenty fifth"),
            ("f eight", "f eighteen"),
            ("ninety mm", "nineteen mm"),
            ("frame nine", "frame five"),
        ] {
            assert!(apart(a, b).is_some(), "{a}, {b}");
        }
        for (a, b) in [
            ("five point six", "two point eight"),
            ("f eleven", "f sixteen"),
            ("yellow", "orange"),
            ("f four", "f four"),
        ] {
            assert_eq!(apart(a, b), None, "{a}, {b}");
        }
    }

    #[test]
    fn a_name_left_empty_in_the_kit_is_passed_over() {
        let filter = |name: &str| format!("[[filter]]\nname = \"{name}\"\nsaid = [\"\", \" \"]\nstops = 1\n");
        let kit = Kit::parse(&(filter("light yellow") + &filter("right yellow"))).unwrap();
        let all: Vec<Vec<&str>> = kit.filters.iter().map(|f| names(&f.name, &f.said)).collect();
        let text = "light yellow on";
        let (part, values) = name_values(0, &all, Value::Filter, text, &(0..text.len())).unwrap();
        let said: Vec<&str> = values.iter().map(|(t, _)| t.as_str()).collect();
        assert_eq!((&text[part], &said[..]), ("light yellow", &["light yellow", "right yellow"][..]));
    }
}
