//! What is said of gear, rolls and time, mention by mention, in the order said: for who tells a
//! whole day's story, where such words hold beyond the frame that they stand beside.

use std::ops::Range;

use super::pick::weighed;
use super::said::{Fact, FactSaid};
use super::sure::Sure;
use super::text::Text;
use crate::language::grammar::{Class, KitThing};
use crate::language::phrases::{Arg, Term};
use crate::language::readings::Gear;
use crate::language::tag::Role;
use crate::language::text::{How, Kind, Number, NumberKind, Token};

/// A name of the kit as surely said as this.
const SURELY_CALLED: f32 = 0.9;
/// So many words after a filter's name "off" may stand.
const OFF_WITHIN: usize = 3;

impl Text<'_> {
    /// All facts of a text, in order of their words.
    pub(super) fn facts(&self) -> Vec<FactSaid> {
        let mut out: Vec<FactSaid> = (0..self.read.mentions.len()).flat_map(|i| self.fact(i)).collect();
        for t in &self.r.found.terms {
            let number = |a| self.values.frame(a).first().map(|w| w.value.place().max(0) as u16);
            let tokens = usize::from(t.start)..usize::from(t.end);
            let fact = match t.class {
                Class::ScansReversed => Fact::ScansReversed,
                Class::SameShutter | Class::SameAperture => Fact::SameDial,
                Class::Correct | Class::CorrectNo | Class::Scratch => Fact::TakenBack,
                Class::BothCameras => Fact::BothCameras,
                Class::SameFilm => Fact::SameFilm,
                Class::SameRating => Fact::SameRating,
                Class::EiBox if t.args[0].is_none() => Fact::BoxSpeed,
                Class::Same | Class::SameAgain => Fact::Same,
                Class::SameAs => match number(&tokens) {
                    Some(n) => Fact::SameAs(n),
                    None => Fact::Same,
                },
                _ => continue,
            };
            out.push(FactSaid { fact, sure: f64::from(t.weight), of_roll: 0.0, tokens, mention: None });
        }
        out.extend(self.cameras_called());
        out.sort_by_key(|f| f.tokens.start);
        out
    }

    /// Cameras that a sentence begins with, by a name of the kit in words that serve nothing else: "Now
    /// grandfather." Further on, they may only be spoken of.
    fn cameras_called(&self) -> Vec<FactSaid> {
        let free = |tokens: &Range<usize>| {
            let over = |m: &Range<usize>| m.start < tokens.end && tokens.start < m.end;
            let first = |i: usize| i == 0 || self.r.tokens[i - 1].ends_sentence();
            let begins = first(tokens.start) || first(tokens.start - 1);
            let number = self.r.found.numbers.iter().any(|n| tokens.contains(&usize::from(n.start)));
            begins && !number && !self.r.is_article(tokens) && self.read.mentions.iter().all(|m| !over(&m.tokens))
        };
        let camera = |t: &Term| match t.args[0] {
            Some(Arg::Gear(KitThing::Camera(i), w)) if t.class == Class::Camera && w * t.weight >= SURELY_CALLED => {
                let tokens = usize::from(t.start)..usize::from(t.end);
                let fact = Fact::Camera(usize::from(i));
                Some(FactSaid { fact, sure: f64::from(t.weight), of_roll: 0.0, tokens, mention: None })
            }
            _ => None,
        };
        self.r.found.terms.iter().filter_map(camera).filter(|f| free(&f.tokens)).collect()
    }

    fn fact(&self, i: usize) -> Vec<FactSaid> {
        let m = self.mention(i);
        let goes_on = |k: usize| {
            self.read.mentions.get(k).is_some_and(|o| o.role == Role::Roll && o.tokens.end == m.tokens.start)
        };
        // "Roll | thirty-one" is told once.
        if !m.done() || m.role == Role::Roll && i > 0 && goes_on(i - 1) {
            return Vec::new();
        }
        let tokens = &m.tokens;
        // "At fifty, not a hundred."
        let denied = tokens.start > 0 && self.r.lexicon.in_list("denied", &self.r.tokens[tokens.start - 1]);
        let instead = self.read.mentions.iter().enumerate().any(|(k, o)| k != i && o.role == m.role && o.done());
        if denied && instead && matches!(m.role, Role::Rating | Role::Film | Role::Roll) {
            return Vec::new();
        }
        let mut sure = self.sure(i, None);
        let facts = match m.role {
            Role::Camera => {
                let other = self.values.has(tokens, "other-one");
                // "The next one, same camera": the one in hand.
                let same = self.says(Class::SameCamera, tokens);
                let named = self.values.camera(tokens).first().filter(|_| !same).map(|w| Fact::Camera(w.value));
                let sized = || self.sized_camera(tokens).map(Fact::Camera);
                named.or(other.then_some(Fact::OtherCamera)).or_else(sized).into_iter().collect()
            }
            Role::Roll => self.roll_facts(&self.run_of(i)),
            Role::Film if self.says(Class::SameFilm, tokens) => Vec::new(),
            Role::Film => match self.values.film(tokens).first() {
                Some(w) => vec![Fact::Film(w.value)],
                None => self.values.name_words(tokens).map(Fact::FilmAsSaid).into_iter().collect(),
            },
            Role::Rating => {
                let gear = Gear { kit: self.r.kit, camera: None, lens: None };
                let ei = weighed(self.values.plain(tokens), |n| gear.ei(n), 1.0, tokens.clone());
                ei.map(|s: Sure<f64>| {
                    sure *= s.sure * gear.ei(s.value);
                    Fact::Rating(s.value)
                })
                .into_iter()
                .collect()
            }
            Role::Process => vec![Fact::Process(self.values.process(tokens))],
            Role::Lens if self.says(Class::SameLens, tokens) => Vec::new(),
            // "Long. Eight to twelve": what names a camera and no lens.
            Role::Lens => match (self.glass_said(tokens), self.values.camera_named(tokens).first()) {
                (Fact::Glass { lens: None, focal: None, .. }, Some(camera)) => vec![Fact::Camera(camera.value)],
                (glass, _) => vec![glass],
            },
            Role::Filter => vec![self.filter_said(tokens)],
            _ => Vec::new(),
        };
        // A name that was only come near to is in doubt.
        let near = match m.role {
            Role::Film => self.values.film(tokens).first().map_or(1.0, |w| w.weight.min(1.0)),
            Role::Filter => self.values.filter_near(tokens),
            _ => 1.0,
        };
        sure *= near;
        facts
            .into_iter()
            .map(|fact| FactSaid {
                fact,
                sure,
                of_roll: f64::from(m.of_roll),
                tokens: tokens.clone(),
                mention: Some(i),
            })
            .collect()
    }

    /// "The big camera": the one whose film is the largest, where one is.
    fn sized_camera(&self, tokens: &Range<usize>) -> Option<usize> {
        let big = self.values.has(tokens, "big-camera");
        if !big && !self.values.has(tokens, "small-camera") {
            return None;
        }
        let size = |c: &crate::kit::Camera| {
            let (width, height) = c.format.size_mm();
            width * height
        };
        let mut all: Vec<(usize, f64)> = self.r.kit.cameras.iter().map(size).enumerate().collect();
        all.sort_by(|a, b| if big { b.1.total_cmp(&a.1) } else { a.1.total_cmp(&b.1) });
        match all[..] {
            [first, second, ..] if first.1 != second.1 => Some(first.0),
            _ => None,
        }
    }

    fn says(&self, class: Class, tokens: &Range<usize>) -> bool {
        let within = |t: &Term| usize::from(t.start) < tokens.end && usize::from(t.end) > tokens.start;
        self.r.found.terms.iter().any(|t| t.class == class && within(t))
    }

    /// The words of a roll's mention, with those of mentions that go straight on.
    fn run_of(&self, first: usize) -> Range<usize> {
        let mut tokens = self.mention(first).tokens.clone();
        for next in &self.read.mentions[first + 1..] {
            if next.role != Role::Roll || next.tokens.start != tokens.end {
                break;
            }
            tokens.end = next.tokens.end;
        }
        tokens
    }

    /// "That's seven done": a name, and what became of it.
    fn roll_facts(&self, tokens: &Range<usize>) -> Vec<Fact> {
        let has = |class: &[Class]| {
            let near = tokens.start.saturating_sub(1)..tokens.end + 1;
            self.r.found.all.iter().any(|t| {
                class.contains(&t.class)
                    && near.start <= usize::from(t.start)
                    && usize::from(t.end) <= near.end
                    && usize::from(t.start) < tokens.end
                    && usize::from(t.end) > tokens.start
            })
        };
        let listed = |list: &str| self.values.has(tokens, list);
        // "The next one", "the torn one": no name.
        let named = listed("roll-word") || has(&[Class::Roll]) || !self.is_one(tokens);
        let nth = self.r.found.numbers.iter().find(|n| {
            let (start, end) = (usize::from(n.start), usize::from(n.end));
            // "Second roll", "that second roll": the number stands before the word.
            let word = |i: &usize| self.r.tokens.get(*i).is_some_and(|t| self.r.lexicon.in_list("roll-word", t));
            n.kind == NumberKind::Ordinal && n.value >= 1.0 && tokens.contains(&start) && word(&end)
        });
        let name = match nth {
            Some(n) => Some(Fact::RollNth(n.value as usize)),
            None => self.roll_name(tokens).filter(|_| named).map(Fact::Roll),
        };
        let begun = name.is_none() && (has(&[Class::RollNew, Class::RollNext]) || listed("roll-coming"));
        let ended = has(&[Class::RollEnd]) || name.is_none() && !begun && listed("roll-done");
        let tells = |t: &&Token| !["roll-word", "filler"].iter().any(|l| self.r.lexicon.in_list(l, t));
        let words = self.r.tokens[tokens.clone()].iter().filter(tells).map(|t| &self.r.text[t.span.clone()]);
        let mut words: Vec<&str> = words.collect();
        // "Back one."
        if !words.is_empty() && self.is_one(tokens) {
            words.push("1");
        }
        let meant = !words.is_empty() || listed("that-one");
        let called = (name.is_none() && !begun && !ended && meant).then(|| Fact::RollCalled(words.join(" ")));
        let begun = begun.then_some(Fact::RollBegun);
        name.into_iter().chain(ended.then_some(Fact::RollEnded)).chain(begun).chain(called).collect()
    }

    /// The name of a roll: as it is spelled, a number, a letter.
    fn roll_name(&self, tokens: &Range<usize>) -> Option<String> {
        let inside = |n: &&Number| tokens.contains(&usize::from(n.start));
        let all = || self.r.found.numbers.iter().filter(inside);
        // "That's it for this roll": no four.
        if all().next().is_some() && all().all(|n| matches!(n.how, How::Homophone | How::Heard)) {
            return None;
        }
        let letter = |i: usize| {
            let t = &self.r.tokens[i];
            (t.kind == Kind::Word && t.span.len() == 1).then(|| self.r.folded[t.span.clone()].to_uppercase())
        };
        let last = tokens.end.checked_sub(1).and_then(letter);
        if let Some(digits) = self.spelled(tokens) {
            return Some(digits + &last.unwrap_or_default());
        }
        // "Back A" is one, "a back" is none.
        self.values.roll(tokens).or_else(|| last.filter(|_| tokens.len() > 1))
    }

    /// "Four four seven one", "four oh": digits said one by one.
    fn spelled(&self, tokens: &Range<usize>) -> Option<String> {
        let digit = |i: usize| {
            let of = |n: &&Number| {
                (usize::from(n.start), usize::from(n.end)) == (i, i + 1)
                    && n.kind == NumberKind::Cardinal
                    && n.how == How::Plain
            };
            let value = self.r.found.numbers.iter().find(of)?.value;
            let apart = self.r.tokens[i].kind == Kind::Word || !self.r.tokens[i].glued;
            (apart && value.fract() == 0.0 && (0.0..=9.0).contains(&value)).then_some(value)
        };
        let from = tokens.clone().find(|i| digit(*i).is_some())?;
        let digits: Vec<f64> = (from..tokens.end).map_while(digit).collect();
        (digits.len() > 1).then(|| digits.iter().map(f64::to_string).collect())
    }

    /// Whether the only number in a stretch is the word for one.
    fn is_one(&self, tokens: &Range<usize>) -> bool {
        let inside = |n: &&Number| tokens.contains(&usize::from(n.start));
        let mut all = self.r.found.numbers.iter().filter(inside).peekable();
        let word = |n: &Number| self.r.tokens[usize::from(n.start)].kind == Kind::Word;
        all.peek().is_some() && all.all(|n| n.value == 1.0 && word(n))
    }

    fn glass_said(&self, tokens: &Range<usize>) -> Fact {
        let glass = self.values.glass(tokens);
        let gear = Gear { kit: self.r.kit, camera: None, lens: None };
        let lens = glass.lens.first().map(|w| w.value);
        let focal = weighed(glass.focal, |mm| gear.focal(mm), 1.0, tokens.clone()).map(|s| s.value);
        let end = lens.map(|l| self.r.kit.lenses[l].focal).zip(glass.end).and_then(|(focal, long)| match focal {
            crate::kit::Focal::Zoom(a, b) => Some(if long { b } else { a }),
            crate::kit::Focal::Prime(_) => None,
        });
        let as_said =
            (lens.is_none() && focal.is_none() && glass.end.is_none()).then(|| self.values.thing_words(tokens));
        Fact::Glass { lens, focal: focal.or(end), as_said }
    }

    fn filter_said(&self, tokens: &Range<usize>) -> Fact {
        // "The mist's off."
        let after = self.r.tokens[tokens.end..].iter().take_while(|t| !t.is_mark() || t.kind == Kind::Mark('\''));
        let off = after.take(OFF_WITHIN).any(|t| self.r.lexicon.in_list("off", t));
        if self.values.bare(tokens) || off {
            return Fact::FilterOff;
        }
        let mut names: Vec<String> = Vec::new();
        for w in self.values.filters_meant(tokens) {
            let name = &self.r.kit.filters[w.value].name;
            if !names.contains(name) {
                names.push(name.clone());
            }
        }
        let known = !names.is_empty();
        Fact::FilterOn(if known { names } else { vec![self.values.words(tokens)] }, known)
    }
}
