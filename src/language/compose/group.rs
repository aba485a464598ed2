//! Frames that are spoken of together: one number, a run of numbers, or so many alike.

use crate::facts::FrameNumber;

use super::sure::Sure;
use super::text::{DOUBT_COSTS, GOES_WITH, LEAST_DONE, Text};
use crate::language::readings::Gear;
use crate::language::tag::{Mention, Role};
use crate::language::text::Kind;

/// A number that ends a run of numbers is as likely as not.
const ENDS_RUN: f32 = 0.5;

/// Frames this likely to be there are.
const THERE: f32 = 0.5;
/// Mentions less likely to begin a frame are not asked about.
const MAY_BEGIN: f32 = 0.02;
/// The first word of a sentence that says "next" begins a frame if it is as likely as this by itself.
const MAY_WELL_BEGIN: f32 = 0.15;
/// Two mentions that go together more than this begin one frame between them.
const ONE_FRAME: f32 = 0.5;
/// A setting this surely said and done asks for a frame.
const SURELY_DONE: f32 = 0.6;
/// Longest run of numbers, in frames: more than any roll in use holds.
const LONGEST_RUN: i16 = 80;
/// Most frames that a spoken count makes.
const MOST_COUNTED: u32 = 16;

/// One opener with the frames it stands for.
pub(super) struct Group {
    /// The mentions that begin it, the likeliest first.
    pub(super) openers: Vec<usize>,
    /// The same, time by time where it is spoken of more than once.
    pub(super) times: Vec<Vec<usize>>,
    /// How likely there are these frames.
    pub(super) there: f64,
    /// How likely they were told before this text.
    pub(super) again: f64,
    /// A number for each frame, where one was said.
    pub(super) numbers: Vec<Option<Sure<FrameNumber>>>,
    /// Mentions that went into the numbers and the count.
    pub(super) used: Vec<usize>,
}

/// What is told of a frame by itself ("except nine") is no longer among the frames told together.
fn told_apart(groups: &mut [Group]) {
    let alone: Vec<FrameNumber> =
        groups.iter().filter(|g| g.numbers.len() == 1).filter_map(|g| g.numbers[0].as_ref().map(|n| n.value)).collect();
    for group in groups.iter_mut().filter(|g| g.numbers.len() > 1) {
        group.numbers.retain(|n| n.as_ref().is_none_or(|n| !alone.contains(&n.value)));
        if group.numbers.is_empty() {
            group.numbers.push(None);
        }
    }
}

impl Text<'_> {
    /// The groups of a text, in order of the words that likeliest begin them.
    pub(super) fn groups(&self, gear: &Gear<'_>) -> Vec<Group> {
        let mut out: Vec<Group> = Vec::new();
        for openers in self.beginnings() {
            let there = 1.0 - openers.iter().map(|o| 1.0 - self.opens(*o)).product::<f32>();
            let number = openers.iter().copied().find(|o| self.mention(*o).role == Role::Number).or_else(|| {
                let goes = |i: &usize| self.together(*i, &openers);
                let number = |i: &usize| {
                    let m = self.mention(*i);
                    m.role == Role::Number && m.done() && goes(i) >= GOES_WITH
                };
                let all = (0..self.read.mentions.len()).filter(number);
                all.max_by(|a, b| goes(a).total_cmp(&goes(b)))
            });
            let times = vec![openers.clone()];
            let again = openers.first().map_or(0.0, |o| f64::from(self.mention(*o).again));
            let used = openers.clone();
            let mut group = Group { there: f64::from(there), again, numbers: vec![None], used, openers, times };
            if let Some(i) = number {
                let m = self.mention(i);
                let sure = m.sure
                    * m.standing[0].max(LEAST_DONE)
                    * self.together(i, &group.openers)
                    * (1.0 - DOUBT_COSTS * m.doubted);
                let several = self.values.frames(&m.tokens);
                if several.is_empty() {
                    group.numbers[0] = self.number_with_side(i, &mut group, gear, f64::from(sure));
                } else {
                    let number = |n| Some(Sure::new(n, f64::from(sure), m.tokens.clone()));
                    group.numbers = several.into_iter().map(number).collect();
                }
                group.used.push(i);
                if let Some(before) = out.last_mut() {
                    self.join_run(before, &group, i);
                }
            }
            // A number that was had already speaks of the same frame again.
            let again = group.numbers[0].as_ref().and_then(|n| {
                out.iter().position(|g| {
                    let same = g.numbers.len() == 1 && g.numbers[0].as_ref().is_some_and(|o| o.value == n.value);
                    same && self.camera_of(&g.openers) == self.camera_of(&group.openers)
                })
            });
            match again {
                Some(k) => {
                    let first = out.remove(k);
                    group.openers.extend(first.openers);
                    group.times.extend(first.times);
                    group.used.extend(first.used);
                    group.there = group.there.max(first.there);
                    group.again = first.again;
                    out.insert(k, group);
                }
                None => out.push(group),
            }
        }
        self.share_numbers(&mut out);
        told_apart(&mut out);
        self.one_bracket(&mut out);
        let openers: Vec<Vec<usize>> = out.iter().map(|g| g.openers.clone()).collect();
        let shared =
            |i| -> Vec<usize> { (0..openers.len()).filter(|g| self.together(i, &openers[*g]) >= GOES_WITH).collect() };
        let taken: Vec<FrameNumber> = out.iter().flat_map(|g| g.numbers.iter().flatten().map(|n| n.value)).collect();
        for (g, group) in out.iter_mut().enumerate() {
            self.count(group, &taken, |i| match shared(i)[..] {
                [] => Some(0),
                // "Eight of it, the last at a sixtieth": the first has those that are told of no further.
                [one] if one == g => Some(0),
                [first, _] if first == g => Some(1),
                _ => None,
            });
        }
        out
    }

    /// A number, with the side of the holder where that is named apart from it: "side A of holder eight".
    fn number_with_side(
        &self,
        mention: usize,
        group: &mut Group,
        gear: &Gear<'_>,
        sure: f64,
    ) -> Option<Sure<FrameNumber>> {
        let others: Vec<usize> = (0..self.read.mentions.len())
            .filter(|o| *o != mention && self.mention(*o).role == Role::Number && self.mention(*o).done())
            .filter(|o| self.together(*o, &group.openers) >= GOES_WITH)
            .collect();
        let mut number = self.number(mention, gear, sure);
        let mut side = self.values.side_alone(&self.mention(mention).tokens);
        for o in others {
            let tokens = &self.mention(o).tokens;
            match (&number, self.values.side_alone(tokens)) {
                (_, Some(s)) => side = Some(s),
                (None, None) => number = self.number(o, gear, sure),
                _ => continue,
            }
            group.used.push(o);
        }
        match (number, side) {
            (Some(n), Some(side)) if !n.value.has_side() => {
                Some(n.map(|n| if side == 'a' { n.with_a() } else { n.with_b() }))
            }
            (n, _) => n,
        }
    }

    /// "Five to seven" of three frames that each have words of their own: a number each.
    fn share_numbers(&self, groups: &mut [Group]) {
        for at in 0..groups.len() {
            let Some(i) = groups[at]
                .used
                .iter()
                .copied()
                .find(|i| self.mention(*i).role == Role::Number && groups[at].numbers.len() > 1)
            else {
                continue;
            };
            let of: Vec<usize> = (0..groups.len())
                .filter(|g| groups[*g].used.contains(&i) && groups[*g].numbers.len() == groups[at].numbers.len())
                .collect();
            if of.len() < 2 {
                continue;
            }
            let all = groups[at].numbers.clone();
            for (k, g) in of.iter().enumerate() {
                let last = k + 1 == of.len();
                groups[*g].numbers = if last { all[k.min(all.len())..].to_vec() } else { all[k..=k].to_vec() };
            }
        }
    }

    /// How likely a frame begins with a mention. A sentence that starts with a frame's number is about it, and one
    /// that starts with "next" or "another" begins one if that is likely at all.
    fn opens(&self, i: usize) -> f32 {
        let m = self.mention(i);
        let is = |list, t: usize| self.r.lexicon.in_list(list, &self.r.tokens[t]);
        let starts = |t: usize| t == 0 || matches!(self.r.tokens[t - 1].kind, Kind::Mark('.' | '!' | '?'));
        let at = m.tokens.start;
        match m.role {
            Role::Number if m.done() => {
                let first = if at > 0 && !is("frame-word", at) && is("frame-word", at - 1) { at - 1 } else { at };
                if is("frame-word", first) && starts(first) { m.opens.max(THERE) } else { m.opens }
            }
            Role::Steer if m.opens >= MAY_WELL_BEGIN && is("begins-next", at) => {
                let first = if at > 0 && is("and", at - 1) { at - 1 } else { at };
                if starts(first) { m.opens.max(THERE) } else { m.opens }
            }
            _ => m.opens,
        }
    }

    /// Mentions that begin frames, those of one frame together; the likeliest of each first.
    fn beginnings(&self) -> Vec<Vec<usize>> {
        let may = |i: &usize| {
            let m = self.mention(*i);
            m.role != Role::Other && (m.done() || m.role == Role::Steer)
        };
        let mut all: Vec<usize> =
            (0..self.read.mentions.len()).filter(may).filter(|i| self.opens(*i) >= MAY_BEGIN).collect();
        all.sort_by(|a, b| self.opens(*b).total_cmp(&self.opens(*a)));
        let mut out: Vec<Vec<usize>> = Vec::new();
        for i in all {
            // What belongs to several frames goes with each of them, but they do not go with it.
            let goes = |o: usize| self.read.together(i, o).min(self.read.together(o, i));
            let best = out
                .iter_mut()
                .map(|g| (goes(g[0]), g))
                .max_by(|a, b| a.0.total_cmp(&b.0))
                .filter(|(p, _)| *p >= ONE_FRAME);
            match best {
                Some((_, group)) => group.push(i),
                None => out.push(vec![i]),
            }
        }
        let there = |g: &Vec<usize>| 1.0 - g.iter().map(|o| 1.0 - self.opens(*o)).product::<f32>();
        let mut kept: Vec<Vec<usize>> = out.iter().filter(|g| there(g) >= THERE).cloned().collect();
        if kept.is_empty() {
            let set = |i: &usize| {
                let m = self.mention(*i);
                let dial = matches!(m.role, Role::Shutter | Role::Aperture);
                dial && m.sure * m.standing[0] >= SURELY_DONE
            };
            // "Two more of those" tells frames too.
            let counted = |i: &usize| {
                let m = self.mention(*i);
                m.role == Role::Count && m.sure * m.standing[0] >= SURELY_DONE
            };
            let all = || 0..self.read.mentions.len();
            let settings: Vec<usize> = all().filter(set).chain(all().filter(counted)).collect();
            match out.into_iter().find(|g| !settings.is_empty() && !g.is_empty()) {
                Some(group) => kept.push(group),
                None => kept.extend(settings.first().map(|i| vec![*i])),
            }
        }
        self.keep_exposures(&mut kept);
        kept.sort_by_key(|g| g[0]);
        kept
    }

    /// A sentence with a whole exposure that goes with no frame tells one of its own.
    fn keep_exposures(&self, kept: &mut Vec<Vec<usize>>) {
        let loose = |role: Role, kept: &[Vec<usize>]| -> Vec<usize> {
            let is = |i: &usize| {
                let m = self.mention(*i);
                m.role == role && m.sure * m.standing[0] >= SURELY_DONE
            };
            let alone = |i: &usize| kept.iter().all(|g| self.together(*i, g) < GOES_WITH);
            (0..self.read.mentions.len()).filter(is).filter(alone).collect()
        };
        let one_sentence = |a: usize, b: usize| {
            let between = self.mention(a.min(b)).tokens.end..self.mention(a.max(b)).tokens.start;
            !self.r.tokens[between].iter().any(|t| t.ends_sentence())
        };
        let apertures = loose(Role::Aperture, kept);
        for s in loose(Role::Shutter, kept) {
            if let Some(a) = apertures.iter().copied().find(|a| one_sentence(s, *a))
                && kept.iter().all(|g| self.together(s, g) < GOES_WITH)
            {
                kept.push(vec![s.min(a)]);
            }
        }
    }

    /// Whether a bracket is spoken of as such, by its step or its width.
    pub(super) fn bracket_said(&self) -> bool {
        self.read
            .mentions
            .iter()
            .any(|m| m.role == Role::Change && m.done() && self.values.shift(&m.tokens).is_some_and(|s| s.bracket))
    }

    /// "One over, one under": two changes the two ways, with no setting or number of a frame between them.
    fn both_ways(&self) -> bool {
        let told =
            |m: &&Mention| matches!(m.role, Role::Change | Role::Number | Role::Shutter | Role::Aperture) && m.done();
        let way = |m: &Mention| (m.role == Role::Change).then(|| self.values.shift(&m.tokens)?.more).flatten();
        let all: Vec<Option<bool>> = self.read.mentions.iter().filter(told).map(way).collect();
        all.windows(2).any(|w| matches!(w, [Some(a), Some(b)] if a != b))
    }

    /// The exposures of a bracket are counted by its words: what begins one without a setting, a
    /// number or a picture of its own is no group of its own.
    fn one_bracket(&self, groups: &mut Vec<Group>) {
        if groups.len() < 2 || !(self.bracket_said() || self.both_ways()) {
            return;
        }
        let own = |g: &Group| {
            g.used.iter().chain(&g.openers).any(|i| {
                let m = self.mention(*i);
                let role = matches!(m.role, Role::Number | Role::Shutter | Role::Aperture | Role::Subject);
                role && groups.iter().filter(|o| self.together(*i, &o.openers) >= GOES_WITH).count() == 1
            })
        };
        let keep: Vec<bool> = groups.iter().map(own).collect();
        let mut at = 0;
        let first = keep.iter().position(|k| *k).unwrap_or(0);
        groups.retain(|_| {
            at += 1;
            keep[at - 1] || at - 1 == first
        });
    }

    /// The camera that the frames of some openers are said to be in.
    fn camera_of(&self, openers: &[usize]) -> Option<usize> {
        let named = |i: &usize| {
            let m = self.mention(*i);
            m.role == Role::Camera && m.done() && self.together(*i, openers) >= GOES_WITH
        };
        let last = (0..self.read.mentions.len()).rfind(named)?;
        self.values.camera(&self.mention(last).tokens).first().map(|w| w.value)
    }

    /// "Three to seven": the numbers between belong to the group that the first began.
    fn join_run(&self, before: &mut Group, group: &Group, number: usize) {
        let (Some(Some(a)), Some(Some(b))) = (before.numbers.last(), group.numbers.first()) else { return };
        let m = self.mention(number);
        let Some(first) = before.used.iter().map(|i| self.mention(*i)).find(|m| m.role == Role::Number) else { return };
        let between = first.tokens.start + 1..m.tokens.start;
        let joins = |i: usize| {
            let t = &self.r.tokens[i];
            t.kind == Kind::Mark('-') || self.r.lexicon.in_list("run-of-frames", t)
        };
        let joined = between.len() <= 2 && between.into_iter().any(joins);
        let (from, to) = (a.value.place(), b.value.place());
        if (m.ends_run >= ENDS_RUN || joined) && to > from + 1 && to - from <= LONGEST_RUN {
            let (sure, tokens) = (a.sure.min(b.sure), a.tokens.clone());
            for n in from + 1..to {
                let number = FrameNumber::new(n.max(0) as u16);
                before.numbers.push(Some(Sure::new(number, sure, tokens.clone())));
            }
        }
    }

    /// "Two of those": so many frames, less those of the count that other groups tell; none where the count is not
    /// this group's.
    fn count(&self, group: &mut Group, taken: &[FrameNumber], told_elsewhere: impl Fn(usize) -> Option<usize>) {
        let counts = |i: &usize| {
            let m = self.mention(*i);
            m.role == Role::Count && m.done() && self.together(*i, &group.openers) >= GOES_WITH
        };
        let counts: Vec<usize> = (0..self.read.mentions.len()).filter(counts).collect();
        for i in counts {
            let Some(n) = self.values.count(&self.mention(i).tokens).filter(|n| *n <= MOST_COUNTED) else { continue };
            group.used.push(i);
            // "Two more": beside the one that the group's other words tell.
            let more = usize::from(group.openers != [i] && self.values.goes_further(&self.mention(i).tokens));
            let Some(here) = told_elsewhere(i).and_then(|others| (n as usize + more).checked_sub(others)) else {
                continue;
            };
            if group.numbers.len() == 1 && here > 1 {
                let first = group.numbers[0].clone();
                for k in 1..here {
                    let next = first.clone().map(|f| f.map(|v| v.moved(k as i16)));
                    // Another group's number ends the count.
                    if next.as_ref().is_some_and(|n| taken.contains(&n.value)) {
                        break;
                    }
                    group.numbers.push(next);
                }
            }
        }
    }
}
