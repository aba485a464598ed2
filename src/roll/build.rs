//! Notes to rolls: what was said, act after act, becomes frames on film.

use std::collections::{BTreeMap, HashMap};
use std::ops::Range;

use crate::facts::{Confidence, FrameNumber, Moment, RollName, Settled, Source};
use crate::kit::{Camera, Kit, Lens};
use crate::language::act::{Act, FilterSaid, Mode, Said};
use crate::language::gear::Gear;
use crate::language::ways::Way;
use crate::language::{Language, MOST_TOKENS};
use crate::speech::{Transcript, Utterance};

use super::NotedRoll;
use super::draft::{ApertureHeard, Draft, ShutterSaid, Valued};
use super::said::Manner;
use super::shots::Shot;

/// An aperture less likely than this on the gear is something else.
pub(super) const LEAST_APERTURE: f64 = 0.01;
/// A pause that ends a frame's description, seconds.
const LONG_PAUSE_S: f64 = 2.5;
/// A pause that ends a sentence, seconds.
const SHORT_PAUSE_S: f64 = 0.7;

/// A value that holds for a roll.
#[derive(Debug, Clone, Default)]
pub struct RollFacts {
    /// Its name.
    pub name: Option<Settled<String>>,
    /// Film, by its kit name.
    pub film: Option<Settled<String>>,
    /// Exposure index.
    pub ei: Option<Settled<f64>>,
    /// Process asked for.
    pub process: Option<Settled<String>>,
}

/// A roll in a camera.
#[derive(Debug, Clone, Default)]
pub(super) struct OpenRoll {
    pub facts: RollFacts,
    pub shots: Vec<Shot>,
    pub ended: bool,
    pub reversed: bool,
    pub remarks: Vec<String>,
    /// The camera it was begun in.
    pub camera: Option<usize>,
}

/// A camera in use, and what is on it.
#[derive(Debug, Clone, Default)]
pub(super) struct InHand {
    pub roll: Option<usize>,
    pub lens: Option<Settled<String>>,
    pub focal: Option<Settled<f64>>,
    pub filter: Option<Settled<crate::kit::Filters>>,
}

/// Gathers the notes of a trip, in the order they were made.
pub struct Builder<'a> {
    pub(super) language: &'a Language,
    pub(super) unsure_below: f64,
    /// Settings that hold until changed are carried from frame to frame.
    pub(super) carries: bool,
    pub(super) rolls: Vec<OpenRoll>,
    /// The first roll that was given each name, by its key.
    named: HashMap<String, usize>,
    pub(super) hands: BTreeMap<Option<usize>, InHand>,
    pub(super) camera: Option<usize>,
    pub(super) camera_said: bool,
    pub(super) draft: Draft,
    pub(super) held: Vec<Said>,
    /// What the meter was last said to read.
    pub(super) last_read: (Option<ShutterSaid>, Option<ApertureHeard>),
    pub(super) note: NoteAt,
    pub(super) pending_next: Option<bool>,
    pub(super) dropped: bool,
    pub(super) corrected_in: usize,
    pub(super) last_note_shots: Vec<(usize, usize)>,
    pub(super) this_note_shots: Vec<(usize, usize)>,
    /// Gear said after a frame that holds only from the next one on.
    pub(super) after: Vec<Draft>,
}

/// Where the words being read were said.
#[derive(Debug, Clone, Default)]
pub(super) struct NoteAt {
    pub clip: String,
    pub text: String,
    /// Byte where each word begins, with its start and end in seconds.
    pub words: Vec<(usize, f64, f64, f64)>,
}

impl NoteAt {
    /// Where a stretch of the text was said.
    pub fn moment(&self, span: &Range<usize>) -> Moment {
        let last_of = |count: usize| count.checked_sub(1).map(|i| &self.words[i]);
        let first = last_of(self.words.partition_point(|w| w.0 <= span.start));
        let last = last_of(self.words.partition_point(|w| w.0 < span.end.max(1)));
        Moment { clip: self.clip.clone(), at_s: first.map_or(0.0, |w| w.1), end_s: last.map_or(0.0, |w| w.2) }
    }
}

impl<'a> Builder<'a> {
    /// An empty trip; settings below `unsure_below` are flagged.
    pub fn new(language: &'a Language, unsure_below: f64) -> Self {
        let only = language.kit().cameras.len() == 1;
        Self {
            language,
            unsure_below,
            carries: true,
            rolls: Vec::new(),
            named: HashMap::new(),
            hands: BTreeMap::new(),
            camera: only.then_some(0),
            camera_said: false,
            draft: Draft::default(),
            held: Vec::new(),
            last_read: (None, None),
            note: NoteAt::default(),
            pending_next: None,
            dropped: false,
            corrected_in: 0,
            last_note_shots: Vec::new(),
            this_note_shots: Vec::new(),
            after: Vec::new(),
        }
    }

    pub(super) fn kit(&self) -> &'a Kit {
        self.language.kit()
    }

    /// Adds one clip or text, in order of time. `clip` is its path relative to `notes/`.
    pub fn add(&mut self, clip: &str, heard: &Transcript) {
        self.begin_note();
        let mut group: Vec<&Utterance> = Vec::new();
        for utterance in &heard.utterances {
            // A long pause in speech parts what is said; text has no pauses, only lines.
            let paused =
                group.last().is_some_and(|l| utterance.start_s - l.end_s > LONG_PAUSE_S || utterance.end_s == 0.0);
            if paused {
                self.read_group(clip, &std::mem::take(&mut group));
            }
            group.push(utterance);
        }
        self.read_group(clip, &group);
        self.end_note();
    }

    /// Reads what was said between two long pauses as one text.
    pub(super) fn read_group(&mut self, clip: &str, group: &[&Utterance]) {
        self.close_draft();
        let mut text = String::new();
        let mut words = Vec::new();
        let mut firsts = Vec::with_capacity(group.len());
        for (i, utterance) in group.iter().enumerate() {
            // A short pause ends a sentence, unless the words say that it goes on.
            let pause = i.checked_sub(1).map_or(0.0, |l| utterance.start_s - group[l].end_s);
            if pause > SHORT_PAUSE_S && !text.ends_with(['.', ',', ';', ':', '!', '?']) {
                text.push('.');
            }
            firsts.push(words.len());
            for w in &utterance.words {
                if !text.is_empty() {
                    text.push(' ');
                }
                words.push((text.len(), w.start_s, w.end_s, w.confidence.get()));
                text.push_str(&w.text);
            }
        }
        self.note = NoteAt { clip: clip.to_owned(), text, words };
        let mut acts = self.language.acts(&self.note.text);
        for (utterance, first) in group.iter().zip(firsts) {
            if let Some(start) = self.note.words.get(first).map(|w| w.0) {
                self.language.listened(&utterance.words, &utterance.scored, &mut acts, start);
            }
        }
        self.read_acts(&acts);
        self.close_draft();
    }

    pub(super) fn begin_note(&mut self) {
        self.last_note_shots = std::mem::take(&mut self.this_note_shots);
        self.dropped = false;
    }

    pub(super) fn read_acts(&mut self, acts: &[Said]) {
        self.turn_by_count(acts);
        if acts.iter().any(|s| s.act == Act::ScansReversed) {
            self.scans_reversed(acts);
            return;
        }
        for part in parts(acts) {
            for i in 0..part.len() {
                self.act(part, i);
            }
        }
    }

    pub(super) fn end_note(&mut self) {
        self.close_draft();
        self.pending_next = None;
        self.dropped = false;
    }

    /// A remark about the scans of a roll makes no frames.
    pub(super) fn scans_reversed(&mut self, acts: &[Said]) {
        let name = acts.iter().find_map(|s| match &s.act {
            Act::Roll(name, _) => Some(name.clone()),
            _ => None,
        });
        let index = match name {
            Some(name) => self.roll_named(&name),
            None => self.hand().roll.or_else(|| self.rolls.len().checked_sub(1)),
        };
        if let Some(i) = index {
            self.rolls[i].reversed = true;
            let text = self.note.text.clone();
            self.rolls[i].remarks.push(text);
        }
    }

    pub(super) fn hand(&mut self) -> &mut InHand {
        self.hands.entry(self.camera).or_default()
    }

    pub(super) fn camera_in_hand(&self) -> Option<&'a Camera> {
        self.camera.and_then(|i| self.kit().cameras.get(i))
    }

    pub(super) fn gear(&self, lens: Option<&'a Lens>) -> Gear<'a> {
        Gear { kit: self.kit(), camera: self.camera_in_hand(), lens }
    }

    /// The roll in the camera in hand; begun if there is none.
    pub(super) fn roll(&mut self) -> usize {
        if let Some(i) = self.hand().roll {
            return i;
        }
        self.begin_roll()
    }

    pub(super) fn begin_roll(&mut self) -> usize {
        let order = self.rolls.len();
        self.rolls.push(OpenRoll { camera: self.camera, ..OpenRoll::default() });
        self.hand().roll = Some(order);
        order
    }

    /// The roll of this name, if one was begun.
    pub(super) fn roll_named(&self, name: &str) -> Option<usize> {
        let wanted = RollName::new(name).ok()?;
        let has =
            |r: &OpenRoll| r.facts.name.as_ref().and_then(|n| RollName::new(&n.value).ok()) == Some(wanted.clone());
        let first = *self.named.get(wanted.key())?;
        // One that was given another name since is no longer the one.
        if has(&self.rolls[first]) { Some(first) } else { self.rolls.iter().position(has) }
    }

    pub(super) fn give_name(&mut self, r: usize, name: Settled<String>) {
        if let Ok(known) = RollName::new(&name.value) {
            let first = self.named.entry(known.key().to_owned()).or_insert(r);
            *first = r.min(*first);
        }
        self.rolls[r].facts.name = Some(name);
    }

    pub(super) fn act(&mut self, acts: &[Said], i: usize) {
        let said = &acts[i];
        if said.mode == Mode::Denied {
            // "Not yellow, green": what was said is taken back, and something else follows.
            if let Act::Filter(FilterSaid::On(denied)) = &said.act {
                let likeliest = |ways: &[Way<usize>]| ways.first().map(|w| w.value);
                let same = |f: &FilterSaid| matches!(f, FilterSaid::On(ways) if likeliest(ways) == likeliest(denied));
                self.draft.filters.retain(|f| !same(&f.value));
            }
            return;
        }
        if said.mode == Mode::Unreal {
            // A claim about a frame still says which frame is meant.
            if let Act::Frames { numbers, weak: false } = &said.act
                && acts[i + 1..].iter().any(|s| s.mode == Mode::Real && is_dial(&s.act))
            {
                self.frames(numbers.clone(), said);
                self.draft.corrects = true;
            }
            return;
        }
        if self.dropped
            && !matches!(said.act, Act::Frames { .. } | Act::ThatFrame(_) | Act::Next { .. } | Act::Roll(..))
        {
            return;
        }
        if self.hold(said) {
            return;
        }
        self.apply(acts, i);
    }

    /// After a frame is rounded off, gear and words wait until it is known
    /// whether they begin the next.
    pub(super) fn hold(&mut self, said: &Said) -> bool {
        if !self.draft.rounded_off || self.pending_next.is_some() || self.draft.correcting {
            return false;
        }
        match said.act {
            Act::Focal(_)
            | Act::Lens(..)
            | Act::Filter(_)
            | Act::Subject(_)
            | Act::Place(_)
            | Act::Support(_)
            | Act::Light(_) => {
                self.held.push(said.clone());
                true
            }
            // Words of a sentence that says nothing else belong to the frame described.
            Act::SentenceEnd if !self.held.is_empty() => {
                let (words, gear): (Vec<Said>, Vec<Said>) = std::mem::take(&mut self.held)
                    .into_iter()
                    .partition(|s| matches!(s.act, Act::Subject(_) | Act::Place(_) | Act::Support(_) | Act::Light(_)));
                for s in words {
                    self.apply(std::slice::from_ref(&s), 0);
                }
                self.held = gear;
                true
            }
            _ => false,
        }
    }

    pub(super) fn release_held(&mut self) {
        for s in std::mem::take(&mut self.held) {
            self.apply(std::slice::from_ref(&s), 0);
        }
    }

    /// Ends the frame in hand and begins another.
    pub(super) fn next_frame(&mut self, inherit: bool) {
        let held = std::mem::take(&mut self.held);
        let corrects = self.draft.correcting && self.draft.corrects;
        // Frames announced by their number and then told one by one are not made twice.
        if self.draft.announced && !self.draft.rounded_off {
            self.draft.count = None;
        }
        self.close_draft();
        self.draft = Draft { inherit, opened: true, corrects, ..Draft::default() };
        self.held = held;
        self.pending_next = None;
        self.dropped = false;
        self.release_held();
    }

    /// Opens the frame that a "then" or "next" promised, now that something of it is said.
    pub(super) fn take_pending(&mut self) {
        if let Some(lazy) = self.pending_next.take() {
            // A frame of which only the number is known is still being described.
            // "Both an eight-hundredth, the first f8 and the second f11": what they share came first.
            let shared = self.draft.all && !self.draft.is_complete();
            let worth = self.draft.has_exposure() && !shared
                || self.draft.is_complete()
                || (!lazy && self.draft.is_frame() && self.draft.sentences > 0);
            if worth {
                self.next_frame(true);
            } else {
                self.draft.opened = true;
            }
        }
    }

    pub(super) fn frames(&mut self, numbers: Vec<Vec<Way<FrameNumber>>>, said: &Said) {
        self.dropped = false;
        if self.draft.or && self.draft.numbers.len() == 1 && numbers.len() == 1 {
            for way in &numbers[0] {
                crate::language::ways::add(&mut self.draft.numbers[0], way.value, way.weight * 0.9);
            }
            self.draft.numbers_manner.doubted = true;
            self.draft.or = false;
            return;
        }
        // Once put right, a frame is done: "…, two was an eighth, three's the fifteenth".
        let corrected = self.draft.correcting && self.draft.replaced && self.draft.has_exposure();
        if self.draft.correcting && !self.draft.numbers.is_empty() && !corrected {
            let same = self.draft.numbers.len() == 1
                && numbers.len() == 1
                && self.draft.numbers[0].first().map(|w| w.value) == numbers[0].first().map(|w| w.value);
            // "Frame six …, no, other way about, five was …": a frame described before.
            let wanted = numbers.first().and_then(|n| n.first()).map(|w| w.value);
            let known = self
                .hands
                .get(&self.camera)
                .and_then(|h| h.roll)
                .is_some_and(|r| self.rolls[r].shots.iter().any(|s| Some(s.frame.number) == wanted));
            if !same && known && self.draft.has_exposure() && numbers.len() == 1 {
                self.next_frame(false);
                self.draft.correcting = true;
                self.draft.corrects = true;
                self.draft.numbers = numbers;
                self.draft.spans.push(said.span.clone());
                return;
            }
            // "No, frame five was…": the settings said before are not lost.
            if !same || !self.draft.has_exposure() {
                self.draft.numbers = numbers;
            }
            self.draft.spans.push(said.span.clone());
            return;
        }
        let pending = self.pending_next.take().is_some();
        if self.draft.has_exposure() || !self.draft.numbers.is_empty() || self.draft.wasted || self.draft.is_complete()
        {
            // "It went off in the bag. Lost frame two.": the loss has its number now.
            let lost = self.draft.wasted && !self.draft.has_exposure();
            let own = self.draft.numbers.is_empty() && (!self.draft.rounded_off || lost) && !pending;
            if !own {
                let correcting = self.draft.correcting && !corrected;
                self.next_frame(pending);
                self.draft.correcting = correcting;
                self.draft.corrects |= corrected;
            }
        }
        self.release_held();
        self.draft.numbers = numbers;
        self.draft.numbers_manner.add(Manner::of(said));
        self.draft.opened = true;
        self.draft.spans.push(said.span.clone());
    }

    pub(super) fn forget_last(&mut self) {
        let mut gone = std::mem::take(&mut self.last_note_shots);
        gone.sort_unstable();
        if let Some((roll, _)) = gone.last().copied() {
            let shots = &mut self.rolls[roll].shots;
            shots.pop();
        }
    }

    // ---------------------------------------------------------------- rolls and cameras

    // ---------------------------------------------------------------- closing a frame

    /// Makes frames of what was said, if it speaks of any.
    pub(super) fn close_draft(&mut self) {
        self.release_held_at_end();
        let draft = std::mem::take(&mut self.draft);
        if draft.scratched && draft.correcting {
            return;
        }
        if draft.base_shutter.is_some() || draft.base_aperture.is_some() {
            self.last_read = (draft.base_shutter.clone(), draft.base_aperture.clone());
        }
        if draft.is_frame() {
            let made = self.shoot(draft);
            self.this_note_shots.extend(made);
        } else {
            self.gear_only(&draft);
        }
        for gear in std::mem::take(&mut self.after) {
            self.gear_only(&gear);
        }
    }

    pub(super) fn release_held_at_end(&mut self) {
        let held = std::mem::take(&mut self.held);
        for s in held {
            let missing = match s.act {
                Act::Focal(_) | Act::Lens(..) => self.draft.focal.is_none() && self.draft.lens.is_none(),
                Act::Filter(_) => self.draft.filters.is_empty(),
                _ => true,
            };
            if missing {
                self.apply(std::slice::from_ref(&s), 0);
            } else {
                // It holds from the next frame on.
                let mut gear = Draft::default();
                match s.act {
                    Act::Focal(ref w) => gear.focal = Some(valued(w.clone(), &s)),
                    Act::Lens(l, _) => gear.lens = Some(valued(l, &s)),
                    Act::Filter(ref f) => gear.filters.push(valued(f.clone(), &s)),
                    _ => {}
                }
                self.after.push(gear);
            }
        }
    }

    /// The rolls, in the order they were begun.
    pub fn finish(mut self) -> Vec<NotedRoll> {
        self.close_draft();
        self.noted()
    }
}

/// Acts in parts that begin with a sentence and are as long as what is read together, so that
/// looking back and ahead takes no longer in a long text.
fn parts(mut acts: &[Said]) -> impl Iterator<Item = &[Said]> {
    std::iter::from_fn(move || {
        let ends = |(i, s): &(usize, &Said)| *i >= MOST_TOKENS || s.act == Act::SentenceEnd && *i >= MOST_TOKENS / 2;
        let end = acts.iter().enumerate().find(ends).map_or(acts.len(), |(i, _)| i + 1);
        let (part, rest) = acts.split_at(end);
        acts = rest;
        (!part.is_empty()).then_some(part)
    })
}

pub(super) fn valued<T>(value: T, said: &Said) -> Valued<T> {
    Valued { value, manner: Manner::of(said) }
}

/// A value that was plainly said.
pub(super) fn sure<T>(value: T) -> Settled<T> {
    Settled::from_one(value, Confidence::new(0.99), Source::Voice)
}

/// Whether an act sets or moves a dial.
pub(super) fn is_dial(act: &Act) -> bool {
    matches!(
        act,
        Act::Shutter { .. }
            | Act::Aperture(_)
            | Act::ShutterOrFocal { .. }
            | Act::Change(..)
            | Act::Clicks(..)
            | Act::Filter(_)
            | Act::Focal(_)
    )
}
