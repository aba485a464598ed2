//! Frames of a window put right before they are told: what was told in two parts is one, what was counted is several.

use super::late::SOON;
use super::statement::TOLD_BEFORE;
use super::window::{BEGUN, GOES_WITH, Hearing};
use crate::language::compose::{Fact, FrameSaid, Sure};
use crate::language::tag::{Mention, Role};
use crate::language::{Number, NumberKind};
use std::ops::Range;

/// Most frames that words count at once.
const MOST_COUNTED: f64 = 36.0;

impl Hearing<'_> {
    /// What is said of a frame told before is said in its own words: the settings of the frame before are not its.
    pub(super) fn of_its_own(&self, said: &FrameSaid, words: &Range<usize>) -> FrameSaid {
        let mut own = said.clone();
        if said.again >= TOLD_BEFORE {
            let inside = |t: &Range<usize>| self.byte(t.start) >= words.start;
            own.shutter = own.shutter.filter(|s| inside(&s.tokens));
            own.aperture = own.aperture.filter(|a| inside(&a.tokens));
        }
        own
    }

    /// "Twelve, the vicar, sixteen, and that's it. All of that was a one-two-five, except the two of the tuba": what
    /// sums a roll up is no part of its last frame.
    pub(super) fn sum_up(&self, frames: &mut Vec<FrameSaid>) {
        for k in (0..frames.len()).rev() {
            let own = self.sentence(self.begin(&frames[k]));
            let sums = |t: &Range<usize>| {
                let at = self.sentence(t.start);
                let first = t.start - (0..t.start).rev().take_while(|i| self.sentence(*i) == at).count();
                at > own && self.sums_up(first..t.start)
            };
            let shutter = frames[k].shutter.clone().filter(|s| sums(&s.tokens));
            let aperture = frames[k].aperture.clone().filter(|a| sums(&a.tokens));
            let Some(at) = shutter.as_ref().map(|s| &s.tokens).or(aperture.as_ref().map(|a| &a.tokens)) else {
                continue;
            };
            let (first, at) = (self.sentence(at.start), at.start);
            let opener = self.told.read.mentions.iter().position(|m| self.sentence(m.tokens.start) == first);
            let Some(opener) = opener.filter(|o| self.told.read.mentions[*o].tokens.start <= at) else { continue };
            if shutter.is_some() {
                frames[k].shutter = None;
            }
            if aperture.is_some() {
                frames[k].aperture = None;
            }
            let sum = FrameSaid {
                shutter,
                aperture,
                there: BEGUN,
                again: 1.0,
                begun_by: vec![opener],
                ..FrameSaid::default()
            };
            frames.insert(k + 1, sum);
        }
    }

    /// "All of that was".
    fn sums_up(&self, tokens: Range<usize>) -> bool {
        let listed = |list: &str, n: usize| {
            self.told.tokens[tokens.clone()].iter().take(n).any(|t| self.lexicon.in_list(list, t))
        };
        listed("all-of", SOON) && listed("was", usize::MAX)
    }

    /// "Fourteen, fifteen and sixteen": what stands in a list of numbers is one.
    pub(super) fn fill_lists(&self, frames: &mut Vec<FrameSaid>) {
        for k in (1..frames.len()).rev() {
            let (Some(a), Some(b)) = (&frames[k - 1].number, &frames[k].number) else { continue };
            let between = a.tokens.end..b.tokens.start;
            let missed = a.value.next();
            let word = |i: usize| {
                let of = |(at, n): (usize, &Number)| at == i && n.value == f64::from(missed.place());
                self.told.numbers().any(of)
            };
            let listed = !between.is_empty() && between.clone().all(|i| self.joins(i) || word(i));
            if missed.next() != b.value || !listed || !between.clone().any(word) {
                continue;
            }
            let number = Sure::new(missed, a.sure.min(b.sure), between.clone());
            for f in &mut frames[k - 1..=k] {
                f.shutter = f.shutter.take().filter(|s| !between.contains(&s.tokens.start));
                f.aperture = f.aperture.take().filter(|s| !between.contains(&s.tokens.start));
            }
            let one = FrameSaid { number: Some(number), ..frames[k].clone() };
            frames.insert(k, one);
        }
    }

    /// The frames, where a picture told first and its settings told then are not two.
    pub(super) fn joined(&self) -> Vec<FrameSaid> {
        let frames = &self.numbered();
        let mut out: Vec<FrameSaid> = Vec::new();
        for (k, frame) in frames.iter().enumerate() {
            let start = self.begin(frame);
            let next =
                frames[k + 1..].iter().map(|f| self.begin(f)).find(|b| *b > start).unwrap_or(self.told.tokens.len());
            let alone = |k: usize| frames.iter().filter(|f| self.begin(f) == self.begin(&frames[k])).count() == 1;
            let before = |k: usize| self.begin(&frames[k - 1])..start;
            if k > 0
                && alone(k)
                && (self.has_picture_only(before(k)) && self.has_settings_only(frame, start..next)
                    || alone(k - 1) && self.goes_on(&frames[k - 1], before(k), frame, start..next))
            {
                let first = self.begin(&frames[k - 1]);
                for before in out.iter_mut().filter(|f| self.begin(f) == first) {
                    settle(before, frame);
                }
                // "Two more of them, same settings": the count is of both parts.
                if alone(k - 1) && frames[k - 1].number.is_none() {
                    let one = out.last().cloned();
                    out.extend(one.into_iter().cycle().take(self.counted(&frames[k - 1]).saturating_sub(1)));
                }
            } else {
                out.push(frame.clone());
            }
        }
        out
    }

    /// How many frames words count; 1 where they do not.
    fn counted(&self, frame: &FrameSaid) -> usize {
        let all = || self.told.read.mentions.iter().enumerate();
        let count =
            |m: &(usize, &Mention)| m.1.role == Role::Count && m.1.done() && self.together(m.0, frame) >= GOES_WITH;
        let Some((_, m)) = all().find(count) else { return 1 };
        let plain = |(at, n): &(usize, &Number)| m.tokens.contains(at) && n.kind == NumberKind::Cardinal;
        let n = self.told.numbers().find(plain).map_or(1.0, |(_, n)| n.value);
        if (1.0..=MOST_COUNTED).contains(&n) { n as usize } else { 1 }
    }

    /// "Pulled back to one thirty-five, same settings." behind a frame that was told whole: another.
    pub(super) fn split_by_same(&self, frames: &mut Vec<FrameSaid>) {
        for same in self.told.said.facts.iter().filter(|f| f.fact == Fact::Same && !self.is_of_film(f)) {
            let own = self.sentence(same.tokens.start);
            if frames.iter().any(|f| self.sentence(self.begin(f)) == own) {
                continue;
            }
            let Some(k) = frames.iter().rposition(|f| self.begin(f) < same.tokens.start) else { continue };
            let from = self.begin(&frames[k]);
            let told = |tokens: &Range<usize>| self.sentence(tokens.start) < own && tokens.start >= from;
            // "Same. Same.": another each time.
            let whole = frames[k].shutter.as_ref().is_some_and(|s| told(&s.tokens))
                && frames[k].aperture.as_ref().is_some_and(|a| told(&a.tokens))
                || self.is_same(&(from..same.tokens.start));
            let first = self.told.read.mentions.iter().position(|m| self.sentence(m.tokens.start) == own);
            if let (true, Some(first)) = (whole, first) {
                let frame = FrameSaid { there: BEGUN, begun_by: vec![first], ..FrameSaid::default() };
                frames.insert(k + 1, frame);
            }
        }
    }

    /// The frames with the numbers that were said of them: what was counted on is for the roll to count.
    fn numbered(&self) -> Vec<FrameSaid> {
        let mut frames = self.told.said.frames.clone();
        for k in (1..frames.len()).rev() {
            let at = |f: &FrameSaid| f.number.as_ref().map(|n| n.tokens.clone());
            if frames[k].begun_by != frames[k - 1].begun_by && at(&frames[k]) == at(&frames[k - 1]) {
                frames[k].number = None;
            }
        }
        frames
    }

    /// "Three of the stand. A sixtieth at eight, then eleven, then sixteen": counted, then told one by one.
    pub(super) fn told_one_by_one(&self, frames: &mut Vec<FrameSaid>) {
        let mut k = 0;
        while k < frames.len() {
            let n = frames[k..].iter().take_while(|f| f.begun_by == frames[k].begun_by).count();
            let plain = |f: &FrameSaid| {
                let end = frames
                    .iter()
                    .map(|f| self.begin(f))
                    .filter(|b| *b > self.begin(f))
                    .min()
                    .unwrap_or(self.told.tokens.len());
                !self.roles(self.begin(f)..end).any(|r| r == Role::Subject)
            };
            let more = |f: &&FrameSaid| {
                let dial = f.shutter.is_some() || f.aperture.is_some();
                dial && f.number.is_none() && f.begun_by != frames[k].begun_by && plain(f)
            };
            let behind = frames[k + n..].iter().take_while(more).count();
            if n > 1 && frames[k].number.is_none() && behind + 1 == n {
                frames.drain(k + 1..k + n);
            }
            k += frames[k..].iter().take_while(|f| f.begun_by == frames[k].begun_by).count();
        }
    }

    /// Whether words tell of a picture, and nothing of how it was taken.
    fn has_picture_only(&self, tokens: Range<usize>) -> bool {
        let dials = |r| matches!(r, Role::Shutter | Role::Aperture | Role::Change | Role::Wasted);
        !self.roles(tokens.clone()).any(dials) && !self.is_same(&tokens)
    }

    /// "Three B, closed down to forty-five. Ten elephants, bulb.", "as above. Opened a stop.": one dial that
    /// was not told of the frame before, and nothing that tells of another picture.
    fn goes_on(&self, before: &FrameSaid, told: Range<usize>, frame: &FrameSaid, tokens: Range<usize>) -> bool {
        let dial = |r: Role| matches!(r, Role::Shutter | Role::Aperture | Role::Change);
        let other = |r: Role| !dial(r) && !matches!(r, Role::Other | Role::Light | Role::Support);
        let has = |range: &Range<usize>, role: Role| self.roles(range.clone()).any(|r| r == role);
        let told_of = |range: &Range<usize>| has(range, Role::Shutter) && has(range, Role::Aperture);
        let twice = [Role::Shutter, Role::Aperture, Role::Change].into_iter().any(|r| has(&told, r) && has(&tokens, r));
        let picture = before.number.is_some() || has(&told, Role::Subject) || self.is_same(&told);
        let moved = self.roles(tokens.clone()).any(dial) && !self.roles(tokens.clone()).any(other);
        let whole = told_of(&told) || told_of(&tokens);
        picture && moved && frame.number.is_none() && !twice && !whole && !self.is_same(&tokens)
    }

    /// Whether words tell how a picture was taken, and not of another.
    fn has_settings_only(&self, frame: &FrameSaid, tokens: Range<usize>) -> bool {
        let other = |m: &Mention| match m.role {
            Role::Number | Role::Wasted => true,
            // "Both an eighth": those that were counted before.
            Role::Count => !m.tokens.clone().any(|t| self.says_both(t)),
            _ => false,
        };
        let opener = frame.begun_by.first().map(|o| self.told.read.mentions[*o].role);
        let begins = match opener {
            Some(Role::Steer) => self.is_same(&(tokens.start..tokens.start + 1)) || self.says_both(tokens.start),
            Some(role) => role != Role::Subject && role != Role::Number,
            None => false,
        };
        begins && frame.number.is_none() && !self.mentions(tokens).any(other)
    }
}

/// The settings of a frame that was told in two parts.
fn settle(frame: &mut FrameSaid, settings: &FrameSaid) {
    fn take<T: Clone>(to: &mut Option<T>, from: &Option<T>) {
        if from.is_some() {
            to.clone_from(from);
        }
    }
    if settings.aperture_end.is_some() {
        frame.aperture = None;
    }
    take(&mut frame.shutter, &settings.shutter);
    take(&mut frame.aperture, &settings.aperture);
    take(&mut frame.aperture_end, &settings.aperture_end);
    take(&mut frame.comp, &settings.comp);
    take(&mut frame.light, &settings.light);
    take(&mut frame.support, &settings.support);
    frame.either |= settings.either;
    frame.moved.extend(settings.moved.iter().cloned());
    frame.there = frame.there.max(settings.there);
    frame.begun_by.extend(settings.begun_by.iter().copied());
}
