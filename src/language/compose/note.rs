//! One text put together.

use super::change::Bases;
use super::gear_on::only_lens;
use super::group::Group;
use super::pick::weighed;
use super::said::Fact;
use super::said::{FrameSaid, NoteSaid};
use super::sure::Sure;
use super::text::Text;
use crate::exposure::Shutter;
use crate::facts::FrameNumber;
use crate::language::phrases::Passage;
use crate::language::readings::{Gear, Values, Way};
use crate::language::tag::{Read, Role};

/// What only stood to be changed, or was thought of and kept, is no surer than this.
const KEPT: f64 = 0.75;
/// How likely gear in a sentence of its own was changed, where the reader takes it for thought of: it is in doubt.
const TOLD_ALONE: f32 = 0.7;
/// A number that was counted on from the one before is as sure as that, times this.
const NEXT: f64 = 0.97;
/// More frames told at once are as often a number misheard, and no surer than this part of it.
const LONG_RUN: usize = 8;
const LONG_RUN_SURE: f64 = 0.75;
/// The shortest time a shutter is held open by hand, in seconds; our choice, a little
/// under the half second that a release can still be counted at.
const SHORTEST_BY_HAND: f64 = 0.3;

impl Text<'_> {
    pub(super) fn first<T: PartialEq + Copy>(
        &self,
        role: Role,
        column: usize,
        used: &mut [bool],
        ways: impl Fn(usize) -> Vec<Way<T>>,
    ) -> Option<Sure<T>> {
        let mut found: Option<Sure<T>> = None;
        for i in self.of(role, column, true) {
            let tokens = self.mention(i).tokens.clone();
            if let Some(s) = weighed(ways(i), |_| 1.0, self.sure(i, Some(column)), tokens) {
                used[i] = true;
                found = Some(s);
            }
        }
        found
    }

    /// The frames of a group, one after the other; `numbered` are the numbers that some group was given outright.
    #[allow(clippy::too_many_arguments, reason = "what goes on from frame to frame")]
    fn frames(
        &self,
        group: &Group,
        column: usize,
        only: Option<usize>,
        bases: &mut Bases,
        numbered: &[FrameNumber],
        out: &mut Vec<FrameSaid>,
        used: &mut [bool],
    ) {
        let kit = self.r.kit;
        group.used.iter().for_each(|i| used[*i] = true);
        let mut frame = FrameSaid {
            there: group.there,
            again: group.again,
            begun_by: group.openers.clone(),
            ..FrameSaid::default()
        };
        frame.camera = self.first(Role::Camera, column, used, |i| self.values.camera(&self.mention(i).tokens));
        let camera = frame.camera.as_ref().map(|s| s.value).or(only);
        self.glass(column, camera, &mut frame, used);
        let camera = camera.and_then(|c| kit.cameras.get(c));
        let lens = frame.lens.as_ref().and_then(|l| kit.lenses.get(l.value)).or_else(|| only_lens(kit, camera));
        let gear = Gear { kit, camera, lens };
        self.filters(column, &mut frame, used);
        let shutters = self.settings(Role::Shutter, column, used, |i, sure| self.shutter(i, &gear, sure));
        let shutters = held_open(shutters, &gear);
        let apertures = self.settings(Role::Aperture, column, used, |i, sure| self.aperture(i, &gear, sure));
        frame.aperture_end = if apertures.is_empty() { self.end_said(column, used) } else { None };
        let bracket = self.changes(group, column, &gear, bases, &shutters, &apertures, &mut frame, used);
        self.words(column, &mut frame, used);
        let size = bracket.as_ref().map_or(group.numbers.len(), |b| b.len().max(group.numbers.len()));
        if size > LONG_RUN {
            frame.less_sure(LONG_RUN_SURE);
        }
        for k in 0..size {
            let mut one = frame.clone();
            one.number = group.numbers.get(k).cloned().flatten();
            // A frame behind a numbered one is the next on the film.
            let before = out.last().and_then(|f| f.number.clone());
            let before = before.filter(|n| !numbered.contains(&n.value.next()) || self.side_said(group).is_some());
            if let (None, Some(before)) = (&one.number, before) {
                let side = self.side_said(group);
                one.number = Some(Sure {
                    sure: before.sure * NEXT,
                    ..before.map(|n| match side {
                        Some('a') => n.with_a(),
                        Some(_) => n.with_b(),
                        None => n.next(),
                    })
                });
            }
            // "A sixtieth, a thirtieth and a fifteenth" for three frames alike: one each.
            if shutters.len() == size && size > 1 {
                one.shutter = Some(shutters[k].1.clone());
            }
            if apertures.len() == size && size > 1 {
                one.aperture = Some(apertures[k].1.clone());
            }
            if let Some(b) = &bracket {
                b.get(k).iter().for_each(|b| b.put(&mut one, &gear));
            }
            bases.shutter = one.shutter.clone().map(|s| (shutters.last().map(|s| s.0), s)).or(bases.shutter.take());
            bases.aperture = one.aperture.clone().map(|s| (apertures.last().map(|s| s.0), s)).or(bases.aperture.take());
            out.push(one);
        }
    }

    /// Settings of one dial that go with a frame: those done, else those only thought of.
    fn settings<T>(
        &self,
        role: Role,
        column: usize,
        used: &mut [bool],
        value: impl Fn(usize, f64) -> Option<Sure<T>>,
    ) -> Vec<(usize, Sure<T>)> {
        let mut out = Vec::new();
        for i in self.of(role, column, true) {
            if let Some(s) = value(i, self.sure(i, Some(column))) {
                used[i] = true;
                out.push((i, s));
            }
        }
        if out.is_empty() {
            for i in self.of(role, column, false) {
                let goes = f64::from(self.goes[i][column]);
                if let Some(s) = value(i, f64::from(self.mention(i).sure) * goes * KEPT) {
                    used[i] = true;
                    out.push((i, s));
                }
            }
        }
        out
    }
}

/// Gear that is told in a short sentence of its own ("Filter off.") was changed, whatever was only thought of in
/// the sentence before.
pub fn told_alone(r: &Passage<'_>, read: &mut Read) {
    let ends = |t: usize| r.tokens.get(t).is_none_or(|t| t.ends_sentence());
    for m in &mut read.mentions {
        let gear = matches!(m.role, Role::Lens | Role::Filter);
        let alone = (m.tokens.start == 0 || ends(m.tokens.start - 1)) && ends(m.tokens.end);
        if gear && alone && m.standing[1] > m.standing[0] {
            m.standing = [TOLD_ALONE, 1.0 - TOLD_ALONE, 0.0];
        }
    }
}

/// Puts a text together from what the reader makes of it.
pub fn compose(r: &Passage<'_>, read: &Read) -> NoteSaid {
    let mut text = Text { r, read, values: Values::of(r), goes: Vec::new() };
    let mut used = vec![false; read.mentions.len()];
    let camera = text.only_camera();
    let note_gear = Gear { kit: r.kit, camera: camera.and_then(|c| r.kit.cameras.get(c)), lens: None };
    let groups = text.groups(&note_gear);
    text.settle(&groups);
    let mut said = NoteSaid::default();
    let mut bases = Bases::default();
    let numbered: Vec<FrameNumber> = groups.iter().flat_map(|g| g.numbers.iter().flatten().map(|n| n.value)).collect();
    for (g, group) in groups.iter().enumerate() {
        text.frames(group, g, camera, &mut bases, &numbered, &mut said.frames, &mut used);
    }
    said.facts = text.facts();
    said.roll = text.roll(&mut used);
    said.unread = text.unread(&used, said.facts.iter().any(|f| f.fact == Fact::TakenBack));
    said
}

/// B or T with the time said apart from it: "on B, a count of twenty".
fn held_open(all: Vec<(usize, Sure<Shutter>)>, gear: &Gear<'_>) -> Vec<(usize, Sure<Shutter>)> {
    let open = all.iter().rev().find(|(_, s)| matches!(s.value, Shutter::Bulb(None) | Shutter::Time(None)));
    let time = all.iter().rev().find(|(_, s)| s.value.seconds().is_some());
    let (Some((_, open)), Some((i, time))) = (open, time) else { return all };
    // As it was said: a dial has no say in how long it was held open.
    let readings = std::iter::once((time.value, 1.0)).chain(time.others.iter().copied());
    let said = |r: &(Shutter, f64)| r.1 / gear.shutter(r.0);
    let by_hand = |r: &(Shutter, f64)| r.0.seconds().is_some_and(|s| s >= SHORTEST_BY_HAND);
    let likeliest = readings.filter(by_hand).max_by(|a, b| said(a).total_cmp(&said(b)));
    let Some(seconds) = likeliest.and_then(|r| r.0.seconds()) else { return all };
    let value = if matches!(open.value, Shutter::Time(_)) { Shutter::time(seconds) } else { Shutter::bulb(seconds) };
    vec![(*i, Sure { value, sure: open.sure.min(time.sure), others: Vec::new(), tokens: time.tokens.clone() })]
}
