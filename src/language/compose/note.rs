//! One text put together.

use crate::exposure::{Aperture, Shutter};
use crate::facts::FrameNumber;
use crate::kit::Focal;

use super::group::Group;
use super::pick::weighed;
use super::said::Fact;
use super::said::{FrameSaid, Moved, MovedDial, NoteSaid, RollSaid};
use super::shift;
use super::sure::Sure;
use super::text::{GOES_WITH, Text};
use crate::language::grammar::Class;
use crate::language::phrases::Passage;
use crate::language::readings::{Gear, Opening, Shift, Values, Way};
use crate::language::tag::{Effect, Read, Role};

/// What only stood to be changed, or was thought of and kept, is no surer than this.
const KEPT: f64 = 0.75;
/// How likely gear in a sentence of its own was changed, where the reader takes it for thought of: it is in doubt.
const TOLD_ALONE: f32 = 0.7;
/// A number that was counted on from the one before is as sure as that, times this.
const NEXT: f64 = 0.97;
/// What follows from another value by a change is no surer than this part of it.
const CHANGED: f64 = 0.92;
/// A value that two mentions give differently is no surer than this.
const TWO_VALUES: f64 = 0.6;
/// More frames told at once are as often a number misheard, and no surer than this part of it.
const LONG_RUN: usize = 8;
const LONG_RUN_SURE: f64 = 0.75;
/// A bracket whose count was not said has this many exposures, as is usual.
const USUAL_BRACKET: usize = 3;

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

/// The settings of the frame before, for changes that go on from it.
#[derive(Default)]
struct Bases {
    shutter: Option<(Option<usize>, Sure<Shutter>)>,
    aperture: Option<(Option<usize>, Sure<Aperture>)>,
    /// What was last said outright, before any change went on from it.
    said_shutter: Option<Sure<Shutter>>,
    said_aperture: Option<Sure<Aperture>>,
    /// The last change of each dial: towards more light, and by how many stops.
    shutter_change: Option<(bool, f64)>,
    aperture_change: Option<(bool, f64)>,
}

/// Whether a change goes on from what was said outright and not from the change before: "a stop over, then a
/// stop under" and "one under, two under" are told from the middle.
fn from_middle(before: Option<(bool, f64)>, more: bool, amount: f64, further: bool) -> bool {
    !further && before.is_some_and(|(way, by)| way != more || amount > by)
}

impl Text<'_> {
    /// The one camera that a text names.
    fn only_camera(&self) -> Option<usize> {
        let mut all: Vec<usize> = (0..self.read.mentions.len())
            .filter(|i| self.mention(*i).role == Role::Camera && self.mention(*i).done())
            .filter_map(|i| self.values.camera(&self.mention(i).tokens).first().map(|w| w.value))
            .collect();
        all.dedup();
        match all[..] {
            [one] => Some(one),
            _ if self.r.kit.cameras.len() == 1 => Some(0),
            _ => None,
        }
    }

    fn first<T: PartialEq + Copy>(
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

    /// The side of the sheet holder before that a group is said to be: "side B".
    fn side_said(&self, group: &Group) -> Option<char> {
        let number = |i: &&usize| self.mention(**i).role == Role::Number;
        group.used.iter().filter(number).find_map(|i| self.values.side_alone(&self.mention(*i).tokens))
    }

    /// "Wide open" on a lens that is not known here.
    fn end_said(&self, column: usize, used: &mut [bool]) -> Option<Sure<bool>> {
        let mut all = self.of(Role::Aperture, column, true).into_iter().rev();
        all.find_map(|i| {
            let tokens = &self.mention(i).tokens;
            let smallest = match self.values.aperture(tokens)? {
                Opening::Widest => false,
                Opening::Smallest => true,
                Opening::Number(_) => return None,
            };
            used[i] = true;
            Some(Sure::new(smallest, self.sure(i, Some(column)), tokens.clone()))
        })
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

    /// Applies what was changed; a bracket gives one step a frame.
    #[allow(clippy::too_many_arguments, reason = "one frame's parts, taken apart by their dial")]
    fn changes(
        &self,
        group: &Group,
        column: usize,
        gear: &Gear<'_>,
        bases: &mut Bases,
        shutters: &[(usize, Sure<Shutter>)],
        apertures: &[(usize, Sure<Aperture>)],
        frame: &mut FrameSaid,
        used: &mut [bool],
    ) -> Option<Vec<Step>> {
        frame.shutter = one_of(shutters);
        frame.aperture = one_of(apertures);
        let own = |all: Option<usize>| all.is_some_and(|i| column == 0 || self.goes[i][column - 1] < GOES_WITH);
        if own(shutters.last().map(|s| s.0)) {
            bases.said_shutter = frame.shutter.clone();
            bases.shutter_change = None;
        }
        if own(apertures.last().map(|a| a.0)) {
            bases.said_aperture = frame.aperture.clone();
            bases.aperture_change = None;
        }
        let alone = self.goes.first().is_some_and(|g| g.len() == 1);
        let mut steps: Vec<Shift> = Vec::new();
        let mut offsets: Vec<f64> = Vec::new();
        let spoken = self.r.found.terms.iter().any(|t| matches!(t.class, Class::Bracket | Class::BracketCount));
        // "One over, one under", of one frame alone: a bracket told step by step.
        let changes: Vec<usize> = self.of(Role::Change, column, true);
        let signs: Vec<bool> =
            changes.iter().filter_map(|i| self.values.shift(&self.mention(*i).tokens)?.more).collect();
        let both = alone && signs.contains(&true) && signs.contains(&false);
        let mut made_up = None;
        for i in changes {
            let m = self.mention(i);
            let Some(by) = self.values.shift(&m.tokens) else {
                if self.values.makes_up(&m.tokens) {
                    used[i] = true;
                    made_up = Some((self.sure(i, Some(column)), m.tokens.clone()));
                }
                continue;
            };
            let sure = self.sure(i, Some(column)) * f64::from(m.effect.1);
            used[i] = true;
            if let (true, Some(more), None) = (both, by.more, by.of_shutter) {
                offsets.push(if more { by.amount } else { -by.amount });
                continue;
            }
            let effect = match m.effect.0 {
                _ if alone && (by.bracket || spoken && by.more.is_none()) => Effect::Bracket,
                Effect::Bracket if !alone => Effect::Nothing,
                // Nothing of this frame was said but the change: it moved something.
                Effect::Nothing
                    if self.only_repeats(column, shutters, apertures)
                        || shutters.is_empty() && apertures.is_empty() && by.of_shutter.is_some() =>
                {
                    match (by.of_shutter, by.more) {
                        (Some(true), Some(more)) => Effect::Shutter(more),
                        (Some(false), Some(more)) => Effect::Aperture(more),
                        (None, Some(more)) => Effect::Either(more),
                        (_, None) => Effect::Nothing,
                    }
                }
                effect => effect,
            };
            match effect {
                Effect::Nothing => {}
                Effect::Compensation(more) => {
                    // The words tell the sign better than the reader, where they do.
                    let stops = if by.more.unwrap_or(more) { by.amount } else { -by.amount };
                    frame.comp = Some(Sure::new(stops, sure, m.tokens.clone()));
                    offsets.push(stops);
                }
                Effect::Aperture(more) => {
                    let more = by.more.unwrap_or(more);
                    let further = self.values.goes_further(&m.tokens);
                    let middle = from_middle(bases.aperture_change, more, by.amount, further);
                    bases.aperture_change = Some((more, by.amount));
                    let middle = bases.said_aperture.clone().filter(|_| middle);
                    let from = middle.or_else(|| base(&frame.aperture, apertures, &bases.aperture));
                    if let Some((from, value)) =
                        from.and_then(|f| Some((f.clone(), shift::aperture(f.value, by, more, gear)?)))
                    {
                        frame.aperture = Some(Sure::new(value, from.sure.min(sure) * CHANGED, m.tokens.clone()));
                    } else {
                        frame.moved.push(Moved { dial: MovedDial::Aperture, by, more, sure, tokens: m.tokens.clone() });
                    }
                }
                Effect::Shutter(more) => {
                    let more = by.more.unwrap_or(more);
                    let further = self.values.goes_further(&m.tokens);
                    let middle = from_middle(bases.shutter_change, more, by.amount, further);
                    bases.shutter_change = Some((more, by.amount));
                    let middle = bases.said_shutter.clone().filter(|_| middle);
                    let from = middle.or_else(|| base(&frame.shutter, shutters, &bases.shutter));
                    if let Some((from, value)) =
                        from.and_then(|f| Some((f.clone(), shift::shutter(f.value, by, more, gear)?)))
                    {
                        frame.shutter = Some(Sure::new(value, from.sure.min(sure) * CHANGED, m.tokens.clone()));
                    } else {
                        frame.moved.push(Moved { dial: MovedDial::Shutter, by, more, sure, tokens: m.tokens.clone() });
                    }
                }
                Effect::Either(more) => {
                    let from = base(&frame.aperture, apertures, &bases.aperture);
                    if let Some((from, value)) =
                        from.and_then(|f| Some((f.clone(), shift::aperture(f.value, by, more, gear)?)))
                    {
                        frame.aperture =
                            Some(Sure { others: vec![(from.value, 0.5)], ..Sure::new(value, 0.5, m.tokens.clone()) });
                        frame.either = true;
                    } else {
                        frame.moved.push(Moved { dial: MovedDial::Either, by, more, sure, tokens: m.tokens.clone() });
                    }
                }
                Effect::Bracket => steps.push(by),
            }
        }
        if let Some((sure, tokens)) = made_up {
            make_up(frame, bases, gear, sure, tokens);
        }
        // Steps said one by one, "one over, one under", are a bracket too, where no frame is told by itself.
        let apart = alone && offsets.len() > 1 && offsets.iter().any(|o| *o > 0.0) && offsets.iter().any(|o| *o < 0.0);
        match (steps.first(), apart) {
            (None, false) => None,
            (step, true) => {
                frame.comp = None;
                let amount = step.filter(|s| !s.clicks).map(|s| s.amount);
                let stops = |o: &f64| amount.map_or(*o, |a| if o.abs() == 1.0 { o.signum() * a } else { *o });
                let dial = self.dial();
                let all = std::iter::once(0.0).chain(offsets.iter().map(stops));
                Some(all.map(|stops| Step { stops, clicks: false, dial }).collect())
            }
            (Some(by), false) => {
                frame.comp = None;
                Some(self.bracket(group, column, *by))
            }
        }
    }

    /// Whether a frame has only what the one before it had: no number of either dial was said for it.
    fn only_repeats(
        &self,
        column: usize,
        shutters: &[(usize, Sure<Shutter>)],
        apertures: &[(usize, Sure<Aperture>)],
    ) -> bool {
        let shared = |i: usize| column > 0 && self.goes[i][column - 1] >= GOES_WITH;
        column > 0
            && !(shutters.is_empty() && apertures.is_empty())
            && shutters.iter().all(|s| shared(s.0))
            && apertures.iter().all(|a| shared(a.0))
    }

    /// The dial that a bracket is said to be made with.
    fn dial(&self) -> Dial {
        let has = |class| self.r.found.terms.iter().any(|t| t.class == class);
        if has(Class::BracketByAperture) || has(Class::ApertureList) {
            Dial::Aperture
        } else if has(Class::BracketByShutter) || has(Class::ShutterList) {
            Dial::Shutter
        } else {
            Dial::None
        }
    }

    /// The steps of a bracket: the middle, then one less and one more, and so on.
    fn bracket(&self, group: &Group, column: usize, by: Shift) -> Vec<Step> {
        let count = self
            .of(Role::Count, column, true)
            .into_iter()
            .find_map(|i| self.values.count(&self.mention(i).tokens))
            .map_or(0, |n| n as usize);
        let size = if group.numbers.len() > 1 { group.numbers.len() } else { count.max(USUAL_BRACKET) };
        let dial = self.dial();
        (0..size)
            .map(|k| {
                let far = k.div_ceil(2) as f64;
                let stops = if k % 2 == 1 { -far * by.amount } else { far * by.amount };
                Step { stops, clicks: by.clicks, dial }
            })
            .collect()
    }

    fn glass(&self, column: usize, camera: Option<usize>, frame: &mut FrameSaid, used: &mut [bool]) {
        let kit = self.r.kit;
        for i in self.of(Role::Lens, column, true) {
            let tokens = self.mention(i).tokens.clone();
            let sure = self.sure(i, Some(column));
            let glass = self.values.glass(&tokens);
            let fits = |l: usize| match camera {
                Some(c) if !kit.lenses[l].fits(&kit.cameras[c].name) => 0.2,
                _ => 1.0,
            };
            if let Some(lens) = weighed(glass.lens, fits, sure, tokens.clone()) {
                frame.lens = Some(lens);
            } else if glass.focal.is_empty() && glass.end.is_none() && frame.lens.is_none() {
                frame.lens_as_said = Some(Sure::new(self.values.thing_words(&tokens), sure, tokens.clone()));
            }
            if let Some(focal) =
                weighed(glass.focal, |mm| Gear { kit, camera: None, lens: None }.focal(mm), sure, tokens.clone())
            {
                frame.focal = Some(focal);
            }
            if let (Some(long), Some(zoom)) = (glass.end, self.zoom(frame, camera)) {
                let Focal::Zoom(a, b) = kit.lenses[zoom].focal else { continue };
                frame.focal = Some(Sure::new(if long { b } else { a }, sure, tokens.clone()));
                frame.lens.get_or_insert(Sure::new(zoom, sure, tokens));
            }
            used[i] = true;
        }
        match (&frame.lens, &frame.focal) {
            (Some(lens), None) => {
                if let Focal::Prime(mm) = kit.lenses[lens.value].focal {
                    frame.focal =
                        Some(Sure { value: mm, sure: lens.sure, others: Vec::new(), tokens: lens.tokens.clone() });
                }
            }
            // A length that only one lens has names it.
            (None, Some(focal)) => {
                let mut able = (0..kit.lenses.len()).filter(|l| kit.lenses[*l].focal.covers(focal.value));
                if let (Some(one), None) = (able.next(), able.next()) {
                    frame.lens = Some(Sure::new(one, focal.sure, focal.tokens.clone()));
                }
            }
            _ => {}
        }
    }

    /// The zoom that is in hand, or the only one there is.
    fn zoom(&self, frame: &FrameSaid, camera: Option<usize>) -> Option<usize> {
        let kit = self.r.kit;
        if let Some(l) = &frame.lens {
            return kit.lenses[l.value].focal.is_zoom().then_some(l.value);
        }
        let fits = |l: &usize| camera.is_none_or(|c| kit.lenses[*l].fits(&kit.cameras[c].name));
        let mut zooms = (0..kit.lenses.len()).filter(|l| kit.lenses[*l].focal.is_zoom()).filter(fits);
        match (zooms.next(), zooms.next()) {
            (Some(one), None) => Some(one),
            _ => None,
        }
    }

    fn filters(&self, column: usize, frame: &mut FrameSaid, used: &mut [bool]) {
        let kit = self.r.kit;
        for i in self.of(Role::Filter, column, true) {
            let tokens = self.mention(i).tokens.clone();
            let sure = self.sure(i, Some(column));
            let ways = self.values.filters_meant(&tokens);
            let bare = self.values.bare(&tokens);
            used[i] = true;
            let mut names = frame.filter.take().map_or_else(Vec::new, |f| f.value);
            let mut surest = sure;
            if bare {
                names.clear();
            } else if ways.is_empty() {
                // "The filter" alone names none.
                if let Some(words) = self.values.name_words(&tokens) {
                    frame.filter_unknown = true;
                    names.push(words);
                } else if names.is_empty() {
                    continue;
                }
            } else {
                for w in ways {
                    let name = &kit.filters[w.value].name;
                    if !names.contains(name) {
                        names.push(name.clone());
                        surest = surest.min(sure * w.weight.min(1.0));
                    }
                }
            }
            frame.filter = Some(Sure::new(names, surest, tokens));
        }
    }

    /// What is said in words of a frame.
    fn words(&self, column: usize, frame: &mut FrameSaid, used: &mut [bool]) {
        let span = |i: usize| &self.read.mentions[i].tokens;
        for i in self.of(Role::Subject, column, true) {
            used[i] = true;
            let words = self.values.words(span(i));
            let sure = self.sure(i, Some(column));
            frame.subject = Some(match frame.subject.take() {
                Some(s) if s.value.contains(&words) => s,
                Some(s) => {
                    frame.pictured.push(span(i).clone());
                    Sure::new(format!("{} {words}", s.value), s.sure.min(sure), s.tokens)
                }
                None => {
                    frame.pictured = vec![span(i).clone()];
                    Sure::new(words, sure, span(i).clone())
                }
            });
        }
        let one = |role: Role, used: &mut [bool], read: &dyn Fn(usize) -> String| {
            let i = self
                .of(role, column, true)
                .into_iter()
                .max_by(|a, b| self.sure(*a, Some(column)).total_cmp(&self.sure(*b, Some(column))))?;
            used[i] = true;
            Some(Sure::new(read(i), self.sure(i, Some(column)), span(i).clone()))
        };
        frame.light = one(Role::Light, used, &|i| self.values.light(span(i)));
        frame.support = one(Role::Support, used, &|i| self.values.support(span(i)));
        frame.process = one(Role::Process, used, &|i| self.values.process(span(i)));
        frame.film = self.first(Role::Film, column, used, |i| self.values.film(span(i)));
        frame.ei = self.first(Role::Rating, column, used, |i| self.values.plain(span(i)));
        for i in self.of(Role::Wasted, column, true) {
            used[i] = true;
            frame.wasted = Some(frame.wasted.unwrap_or(0.0).max(self.sure(i, Some(column))));
        }
    }

    /// What holds for the roll: what says so, and what no frame took.
    fn roll(&self, used: &mut [bool]) -> RollSaid {
        let mut roll = RollSaid::default();
        let mut box_speed = None;
        for (i, m) in self.read.mentions.iter().enumerate() {
            let of_frame = self.goes[i].iter().any(|p| *p >= GOES_WITH);
            let facts = matches!(m.role, Role::Film | Role::Rating | Role::Camera | Role::Process);
            let for_roll = m.role == Role::Roll || facts && (m.of_roll >= 0.5 || !of_frame);
            if !m.done() || !for_roll {
                continue;
            }
            let tokens = m.tokens.clone();
            let sure = self.sure(i, None);
            used[i] = true;
            match m.role {
                Role::Roll => {
                    roll.spoken = true;
                    if let Some(name) = self.values.roll(&tokens) {
                        roll.name = Some(Sure::new(name, sure, tokens));
                    }
                }
                Role::Film => match weighed(self.values.film(&tokens), |_| 1.0, sure, tokens.clone()) {
                    Some(film) => roll.film = Some(film),
                    None if roll.film.is_none() => {
                        roll.film_as_said = Some(Sure::new(self.values.words(&tokens), sure, tokens))
                    }
                    None => {}
                },
                Role::Rating => {
                    if self.values.plain(&tokens).is_empty() && self.values.has(&tokens, "box") {
                        box_speed = Some((sure, tokens));
                    } else {
                        roll.ei = weighed(self.values.plain(&tokens), |_| 1.0, sure, tokens).or(roll.ei.take());
                    }
                }
                Role::Camera => {
                    // Of two cameras, the one that the roll is surely in.
                    let camera = weighed(self.values.camera(&tokens), |_| 1.0, f64::from(m.of_roll), tokens);
                    if camera.as_ref().is_some_and(|c| roll.camera.as_ref().is_none_or(|o| o.sure <= c.sure)) {
                        roll.camera = camera;
                    }
                }
                _ => roll.process = Some(Sure::new(self.values.process(&tokens), sure, tokens)),
            }
        }
        if let (Some((sure, tokens)), Some(film)) = (box_speed, &roll.film) {
            let iso = f64::from(self.r.kit.films[film.value].iso.get());
            roll.ei.get_or_insert(Sure::new(iso, sure.min(film.sure), tokens));
        }
        roll
    }
}

/// The shortest time a shutter is held open by hand, in seconds; our choice, a little
/// under the half second that a release can still be counted at.
const SHORTEST_BY_HAND: f64 = 0.3;

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

/// The lens of a camera that has but one.
fn only_lens<'k>(kit: &'k crate::kit::Kit, camera: Option<&crate::kit::Camera>) -> Option<&'k crate::kit::Lens> {
    let camera = camera?;
    let mut fits = kit.lenses.iter().filter(|l| l.fits(&camera.name));
    match (fits.next(), fits.next()) {
        (Some(one), None) => Some(one),
        _ => None,
    }
}

/// One dial moved since the frame before: the other goes the other way by as much.
fn make_up(frame: &mut FrameSaid, bases: &Bases, gear: &Gear<'_>, sure: f64, tokens: std::ops::Range<usize>) {
    let (Some((_, aperture)), Some((_, shutter))) = (&bases.aperture, &bases.shutter) else { return };
    let by = |stops: f64| Shift { amount: stops.abs(), clicks: false, more: None, bracket: false, of_shutter: None };
    let opened = frame.aperture.as_ref().map_or(0.0, |a| a.value.over(aperture.value).get());
    let ratio = |a: &Sure<Shutter>| Some((a.value.seconds()? / shutter.value.seconds()?).log2());
    let slowed = frame.shutter.as_ref().and_then(ratio).unwrap_or(0.0);
    if slowed.abs() > opened.abs() {
        let value = shift::aperture(aperture.value, by(slowed), slowed < 0.0, gear);
        frame.aperture =
            value.map(|v| Sure::new(v, sure.min(aperture.sure) * CHANGED, tokens)).or(frame.aperture.take());
    } else if opened.abs() > 0.0 {
        let value = shift::shutter(shutter.value, by(opened), opened < 0.0, gear);
        frame.shutter = value.map(|v| Sure::new(v, sure.min(shutter.sure) * CHANGED, tokens)).or(frame.shutter.take());
    }
}

/// The last said of one dial's settings; less sure where others differ.
fn one_of<T: Clone + PartialEq>(all: &[(usize, Sure<T>)]) -> Option<Sure<T>> {
    let best = all.iter().map(|(_, s)| s).max_by(|a, b| a.sure.total_cmp(&b.sure))?;
    let mut chosen = all.iter().rev().map(|(_, s)| s).find(|s| s.sure >= 0.8 * best.sure).unwrap_or(best).clone();
    let others: Vec<(T, f64)> =
        all.iter().filter(|(_, s)| s.value != chosen.value).map(|(_, s)| (s.value.clone(), s.sure)).collect();
    if !others.is_empty() {
        chosen.sure = chosen.sure.min(TWO_VALUES);
        chosen.others.extend(others);
    }
    Some(chosen)
}

/// What a change goes on from: the frame's own setting; but one that the frame before went on from
/// already stands for that frame's result.
fn base<T: Clone + PartialEq>(
    own: &Option<Sure<T>>,
    said: &[(usize, Sure<T>)],
    before: &Option<(Option<usize>, Sure<T>)>,
) -> Option<Sure<T>> {
    match (own, before) {
        (Some(o), Some((Some(from), result)))
            if said.last().is_some_and(|s| s.0 == *from) && o.value != result.value =>
        {
            Some(result.clone())
        }
        (Some(o), _) => Some(o.clone()),
        (None, Some((_, result))) => Some(result.clone()),
        (None, None) => None,
    }
}

#[derive(Clone, Copy, PartialEq)]
enum Dial {
    Aperture,
    Shutter,
    None,
}

/// One exposure of a bracket.
struct Step {
    stops: f64,
    clicks: bool,
    dial: Dial,
}

impl Step {
    fn put(&self, frame: &mut FrameSaid, gear: &Gear<'_>) {
        let by = Shift { amount: self.stops.abs(), clicks: self.clicks, more: None, bracket: false, of_shutter: None };
        let more = self.stops > 0.0;
        if self.stops == 0.0 {
            return;
        }
        match self.dial {
            Dial::Aperture => {
                frame.aperture = frame
                    .aperture
                    .take()
                    .map(|s| Sure { value: shift::aperture(s.value, by, more, gear).unwrap_or(s.value), ..s });
            }
            Dial::Shutter => {
                frame.shutter = frame
                    .shutter
                    .take()
                    .map(|s| Sure { value: shift::shutter(s.value, by, more, gear).unwrap_or(s.value), ..s });
            }
            Dial::None => frame.comp = Some(Sure::new(self.stops, frame.there, 0..0)),
        }
    }
}
