//! Frames that are spoken of together: one number, a run of numbers, or so many alike.

use crate::facts::FrameNumber;

use super::super::class::Class;
use super::super::gear::Gear;
use super::super::tag::Role;
use super::pick::{GOES_WITH, Text};
use super::said::Sure;

/// Frames this likely to be there are.
const THERE: f32 = 0.3;
/// Mentions less likely to begin a frame are not asked about.
const MAY_BEGIN: f32 = 0.02;
/// Two mentions that go together more than this begin one frame between them.
const ONE_FRAME: f32 = 0.7;
/// A setting this surely said and done asks for a frame.
const SURELY_DONE: f32 = 0.6;
/// Most tokens between two numbers that are told in a row.
const BETWEEN: usize = 2;
/// Longest run of numbers, in frames: more than any roll in use holds.
const LONGEST_RUN: i16 = 80;
/// Most frames that a spoken count makes.
const MOST_COUNTED: u32 = 72;

/// One opener with the frames it stands for.
pub(super) struct Group {
    /// The mentions that begin it, the likeliest first.
    pub(super) openers: Vec<usize>,
    /// How likely there are these frames.
    pub(super) there: f64,
    /// A number for each frame, where one was said.
    pub(super) numbers: Vec<Option<Sure<FrameNumber>>>,
    /// Mentions that went into the numbers and the count.
    pub(super) used: Vec<usize>,
    /// It is the end of a run that the group before began.
    pub(super) ends_run: bool,
}

impl Text<'_> {
    /// The groups of a text, in order of the words that likeliest begin them.
    pub(super) fn groups(&self, gear: &Gear<'_>) -> Vec<Group> {
        let mut out: Vec<Group> = Vec::new();
        for openers in self.beginnings() {
            let there = 1.0 - openers.iter().map(|o| 1.0 - self.mention(*o).opens).product::<f32>();
            let number = openers
                .iter()
                .copied()
                .find(|o| self.mention(*o).role == Role::Number)
                .or_else(|| {
                    let goes = |i: &usize| self.together(*i, &openers);
                    self.of(Role::Number, &openers, true).into_iter().max_by(|a, b| goes(a).total_cmp(&goes(b)))
                });
            let mut group =
                Group { there: f64::from(there), numbers: vec![None], used: openers.clone(), openers, ends_run: false };
            if let Some(i) = number {
                group.numbers[0] = self.number(i, gear, self.sure(i, Some(&group.openers)));
                group.used.push(i);
                let run = self.run_told(i, &group.openers);
                if let Some(first) = group.numbers[0].clone().filter(|_| !run.is_empty()) {
                    group.numbers = run.into_iter().map(|n| Some(Sure::new(n, first.sure, first.tokens.clone()))).collect();
                }
                if let Some(before) = out.last_mut() {
                    self.join_run(before, &mut group, i);
                }
            }
            // A number that was had already speaks of the same frame again.
            let again = group.numbers[0].as_ref().and_then(|n| {
                out.iter().position(|g| g.numbers.len() == 1 && g.numbers[0].as_ref().is_some_and(|o| o.value == n.value))
            });
            match again {
                Some(k) => {
                    let first = out.remove(k);
                    group.openers.extend(first.openers);
                    group.used.extend(first.used);
                    group.there = group.there.max(first.there);
                    out.insert(k, group);
                }
                None => out.push(group),
            }
        }
        let openers: Vec<Vec<usize>> = out.iter().map(|g| g.openers.clone()).collect();
        let alone = |i| openers.iter().filter(|o| self.together(i, o) >= GOES_WITH).count() <= 1;
        for group in &mut out {
            self.count(group, alone);
        }
        out
    }

    /// Mentions that begin frames, those of one frame together; the likeliest of each first.
    fn beginnings(&self) -> Vec<Vec<usize>> {
        let may = |i: &usize| {
            let m = self.mention(*i);
            m.role != Role::Other && (m.done() || m.role == Role::Steer)
        };
        let mut all: Vec<usize> =
            (0..self.read.mentions.len()).filter(may).filter(|i| self.mention(*i).opens >= MAY_BEGIN).collect();
        all.sort_by(|a, b| self.mention(*b).opens.total_cmp(&self.mention(*a).opens));
        let mut out: Vec<Vec<usize>> = Vec::new();
        for i in all {
            let goes = |o: usize| (self.read.together[i][o] + self.read.together[o][i]) / 2.0;
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
        let there = |g: &Vec<usize>| 1.0 - g.iter().map(|o| 1.0 - self.mention(*o).opens).product::<f32>();
        let mut kept: Vec<Vec<usize>> = out.iter().filter(|g| there(g) >= THERE).cloned().collect();
        if kept.is_empty() {
            let set = |i: &usize| {
                let m = self.mention(*i);
                let dial = matches!(m.role, Role::Shutter | Role::Aperture);
                dial && m.sure * m.standing[0] >= SURELY_DONE
            };
            let settings: Vec<usize> = (0..self.read.mentions.len()).filter(set).collect();
            match out.into_iter().find(|g| !settings.is_empty() && !g.is_empty()) {
                Some(group) => kept.push(group),
                None => kept.extend(settings.first().map(|i| vec![*i])),
            }
        }
        kept.extend(self.whole.iter().map(|(_, opener)| vec![*opener]));
        let orphans = self.orphans(&kept);
        kept.extend(orphans.into_iter().map(|o| vec![o]));
        kept.sort_by_key(|g| g[0]);
        kept
    }

    /// "Eight nine ten", "two and three": numbers told in a row.
    fn run_told(&self, number: usize, openers: &[usize]) -> Vec<FrameNumber> {
        let own = self.values.run(&self.mention(number).tokens);
        if !own.is_empty() {
            return own;
        }
        let mut parts: Vec<usize> = openers.iter().copied().filter(|o| self.mention(*o).role == Role::Number).collect();
        parts.sort_unstable();
        let beside = |w: &[usize]| self.mention(w[1]).tokens.start - self.mention(w[0]).tokens.end <= BETWEEN;
        let first = |i: &usize| self.values.frame(&self.mention(*i).tokens).first().map(|w| w.value);
        let values: Vec<FrameNumber> = parts.iter().filter_map(first).collect();
        let runs = values.len() == parts.len()
            && parts.len() > 1
            && parts.windows(2).all(beside)
            && values.windows(2).all(|w| w[1] == w[0].next());
        if runs { values } else { Vec::new() }
    }

    /// "Three to seven": the numbers between belong to the group that the first began.
    fn join_run(&self, before: &mut Group, group: &mut Group, number: usize) {
        let (Some(Some(a)), Some(Some(b))) = (before.numbers.last(), group.numbers.first()) else { return };
        let m = self.mention(number);
        let Some(first) = before.used.iter().map(|i| self.mention(*i)).find(|m| m.role == Role::Number) else { return };
        let between = first.tokens.end..m.tokens.start;
        let joined = self.r.found.terms.iter().any(|t| {
            t.class == Class::To && usize::from(t.start) >= between.start && usize::from(t.end) <= between.end
        }) && between.len() <= 2;
        let (from, to) = (a.value.place(), b.value.place());
        if (m.ends_run >= 0.5 || joined) && to > from && to - from <= LONGEST_RUN {
            let (sure, tokens) = (a.sure.min(b.sure), a.tokens.clone());
            for n in from + 1..to {
                let number = FrameNumber::new(n.max(0) as u16);
                before.numbers.push(Some(Sure::new(number, sure, tokens.clone())));
            }
            group.ends_run = true;
        }
    }

    /// "Two of those": so many frames, if only this group is counted.
    fn count(&self, group: &mut Group, alone: impl Fn(usize) -> bool) {
        for i in self.of(Role::Count, &group.openers.clone(), true) {
            let Some(n) = self.values.count(&self.mention(i).tokens).filter(|n| *n <= MOST_COUNTED) else { continue };
            group.used.push(i);
            if alone(i) && group.numbers.len() == 1 && n > 1 && !group.ends_run {
                let first = group.numbers[0].clone();
                for k in 1..n {
                    let next = first.clone().map(|f| f.map(|v| v.moved(k as i16)));
                    group.numbers.push(next);
                }
            }
        }
    }
}
