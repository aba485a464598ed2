//! Notes to rolls: what was said, act after act, becomes frames on film.

use std::collections::BTreeMap;
use std::ops::Range;

use crate::facts::{Confidence, Flag, FrameNumber, Moment, RollName, Settled, Source};
use crate::kit::{Camera, Kit, Lens};
use crate::language::Language;
use crate::language::act::{Act, BracketSaid, FilterSaid, Mode, Moved, ProcessSaid, Said, Same};
use crate::language::gear::Gear;
use crate::language::ways::Way;
use crate::speech::{Transcript, Utterance};

use super::NotedRoll;
use super::draft::{ApertureHeard, Draft, ShutterSaid, Valued};
use super::said::{Manner, weigh};
use super::shots::Shot;

/// An aperture less likely than this on the gear is something else.
const LEAST_APERTURE: f64 = 0.01;
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
    pub(super) hands: BTreeMap<Option<usize>, InHand>,
    pub(super) camera: Option<usize>,
    pub(super) camera_said: bool,
    pub(super) draft: Draft,
    held: Vec<Said>,
    pub(super) note: NoteAt,
    pending_next: Option<bool>,
    dropped: bool,
    corrected_in: usize,
    last_note_shots: Vec<(usize, usize)>,
    pub(super) this_note_shots: Vec<(usize, usize)>,
    pub(super) roll_flags: Vec<Flag>,
    /// Gear said after a frame that holds only from the next one on.
    after: Vec<Draft>,
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
        let first = self.words.iter().rev().find(|w| w.0 <= span.start);
        let last = self.words.iter().rev().find(|w| w.0 < span.end.max(1));
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
            hands: BTreeMap::new(),
            camera: only.then_some(0),
            camera_said: false,
            draft: Draft::default(),
            held: Vec::new(),
            note: NoteAt::default(),
            pending_next: None,
            dropped: false,
            corrected_in: 0,
            last_note_shots: Vec::new(),
            this_note_shots: Vec::new(),
            roll_flags: Vec::new(),
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
    fn read_group(&mut self, clip: &str, group: &[&Utterance]) {
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

    pub(super) fn read_text(&mut self) {
        let acts = self.language.acts(&self.note.text);
        self.read_acts(&acts);
    }

    fn read_acts(&mut self, acts: &[Said]) {
        if acts.iter().any(|s| s.act == Act::ScansReversed) {
            self.scans_reversed(acts);
            return;
        }
        for i in 0..acts.len() {
            self.act(acts, i);
        }
    }

    pub(super) fn end_note(&mut self) {
        self.close_draft();
        self.pending_next = None;
        self.dropped = false;
    }

    /// A remark about the scans of a roll makes no frames.
    fn scans_reversed(&mut self, acts: &[Said]) {
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

    fn begin_roll(&mut self) -> usize {
        let order = self.rolls.len();
        self.rolls.push(OpenRoll { camera: self.camera, ..OpenRoll::default() });
        self.hand().roll = Some(order);
        order
    }

    /// The roll of this name, if one was begun.
    fn roll_named(&self, name: &str) -> Option<usize> {
        let wanted = RollName::new(name).ok()?;
        self.rolls
            .iter()
            .position(|r| r.facts.name.as_ref().and_then(|n| RollName::new(&n.value).ok()).is_some_and(|n| n == wanted))
    }

    fn act(&mut self, acts: &[Said], i: usize) {
        let said = &acts[i];
        if said.mode == Mode::Denied {
            // "Not yellow, green": what was said is taken back, and something else follows.
            if let Act::Filter(FilterSaid::On(_)) = said.act {
                let same = |f: &Valued<FilterSaid>| Act::Filter(f.value.clone()) == said.act;
                self.draft.filters.retain(|f| !same(f));
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
        if self.dropped && !matches!(said.act, Act::Frames { .. } | Act::Next { .. } | Act::Roll(..)) {
            return;
        }
        if self.hold(said) {
            return;
        }
        self.apply(acts, i);
    }

    /// After a frame is rounded off, gear and words wait until it is known
    /// whether they begin the next.
    fn hold(&mut self, said: &Said) -> bool {
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

    fn release_held(&mut self) {
        for s in std::mem::take(&mut self.held) {
            self.apply(std::slice::from_ref(&s), 0);
        }
    }

    /// Ends the frame in hand and begins another.
    fn next_frame(&mut self, inherit: bool) {
        let held = std::mem::take(&mut self.held);
        let corrects = self.draft.correcting && self.draft.corrects;
        self.close_draft();
        self.draft = Draft { inherit, opened: true, corrects, ..Draft::default() };
        self.held = held;
        self.pending_next = None;
        self.dropped = false;
        self.release_held();
    }

    /// Opens the frame that a "then" or "next" promised, now that something of it is said.
    fn take_pending(&mut self) {
        if let Some(lazy) = self.pending_next.take() {
            // A frame of which only the number is known is still being described.
            let worth = self.draft.has_exposure()
                || self.draft.is_complete()
                || (!lazy && self.draft.is_frame() && self.draft.sentences > 0);
            if worth {
                self.next_frame(true);
            } else {
                self.draft.opened = true;
            }
        }
    }

    fn frames(&mut self, numbers: Vec<Vec<Way<FrameNumber>>>, said: &Said) {
        self.dropped = false;
        if self.draft.or && self.draft.numbers.len() == 1 && numbers.len() == 1 {
            for way in &numbers[0] {
                crate::language::ways::add(&mut self.draft.numbers[0], way.value, way.weight * 0.9);
            }
            self.draft.numbers_doubt = true;
            self.draft.or = false;
            return;
        }
        if self.draft.correcting && !self.draft.numbers.is_empty() {
            let same = self.draft.numbers.len() == 1
                && numbers.len() == 1
                && self.draft.numbers[0].first().map(|w| w.value) == numbers[0].first().map(|w| w.value);
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
                let correcting = self.draft.correcting;
                self.next_frame(pending);
                self.draft.correcting = correcting;
            }
        }
        self.release_held();
        self.draft.numbers = numbers;
        self.draft.numbers_doubt |= said.doubt;
        self.draft.numbers_heard = Some(self.draft.numbers_heard.unwrap_or(1.0).min(said.heard));
        self.draft.opened = true;
        self.draft.spans.push(said.span.clone());
    }

    fn apply(&mut self, acts: &[Said], i: usize) {
        let said = &acts[i];
        let real = said.mode == Mode::Real;
        match &said.act {
            Act::SentenceEnd => {
                self.draft.sentences += usize::from(self.draft.is_frame());
                self.draft.anded = false;
                self.draft.or = false;
                if self.draft.is_complete() {
                    self.draft.rounded_off = true;
                }
                if self.draft.replaced {
                    // What was wrong has been put right; what follows is new.
                    self.draft.correcting = false;
                    self.draft.replaced = false;
                }
                if self.draft.correcting {
                    self.corrected_in += 1;
                    if self.corrected_in > 1 {
                        self.draft.correcting = false;
                    }
                }
            }
            Act::Frames { numbers, weak } => {
                if *weak {
                    let follows = acts[i + 1..]
                        .iter()
                        .take_while(|s| !matches!(s.act, Act::Frames { .. }))
                        .any(|s| s.mode == Mode::Real && is_dial(&s.act));
                    if !follows && !self.draft.has_exposure() && !self.draft.wasted {
                        return;
                    }
                }
                self.frames(numbers.clone(), said);
            }
            Act::Nth(n) => self.nth(*n, acts, i),
            Act::Next { lazy } => {
                self.dropped = false;
                self.draft.or = false;
                let stronger = self.pending_next.is_none_or(|l| l);
                if stronger {
                    self.pending_next = Some(*lazy);
                }
                if !lazy {
                    // "Next, …" is a frame even if little is said of it.
                    self.draft.opened |= !self.draft.has_exposure();
                }
            }
            Act::Count(n) => {
                if self.draft.rounded_off && self.draft.is_complete() {
                    self.next_frame(false);
                }
                self.take_pending();
                if self.draft.numbers.len() != *n as usize {
                    self.draft.count = Some(*n);
                    self.draft.opened = true;
                }
                self.draft.spans.push(said.span.clone());
            }
            Act::Same(same) => self.same(*same, said),
            Act::SameAs(number) => {
                self.take_pending();
                self.draft.same_as = Some(number.clone());
                self.draft.spans.push(said.span.clone());
            }
            Act::Shutter { ways, firm } => {
                let shutter = ShutterSaid {
                    ways: ways.clone(),
                    or_focal: None,
                    doubt: said.doubt,
                    weight: said.weight,
                    heard: said.heard,
                    firm: *firm,
                    span: said.span.clone(),
                };
                if real { self.shutter(shutter) } else { self.draft.base_shutter = Some(shutter) }
            }
            Act::ShutterOrFocal { shutter, focal } => {
                let both = ShutterSaid {
                    ways: shutter.0.clone(),
                    or_focal: Some((focal.0.clone(), focal.1, shutter.1)),
                    doubt: said.doubt,
                    weight: 1.0,
                    heard: said.heard,
                    firm: true,
                    span: said.span.clone(),
                };
                if real { self.shutter(both) } else { self.draft.base_shutter = Some(both) }
            }
            Act::Aperture(a) => {
                let heard = ApertureHeard {
                    said: a.clone(),
                    doubt: said.doubt,
                    weight: said.weight,
                    heard: said.heard,
                    span: said.span.clone(),
                };
                if real { self.aperture(heard) } else { self.draft.base_aperture = Some(heard) }
            }
            Act::Focal(ways) => {
                self.take_pending();
                self.draft.focal = Some(valued(ways.clone(), said));
                self.draft.spans.push(said.span.clone());
            }
            Act::Lens(lens, _) => {
                self.take_pending();
                self.draft.lens = Some(valued(*lens, said));
                self.draft.spans.push(said.span.clone());
            }
            Act::Filter(f) => {
                self.take_pending();
                if self.draft.or
                    && let Some(last) = self.draft.filters.last_mut()
                {
                    // "Red or orange": one of the two.
                    last.doubt = true;
                    self.draft.or = false;
                    return;
                }
                if self.draft.correcting {
                    self.draft.replaced = true;
                    self.draft.filters.clear();
                }
                self.draft.filters.push(valued(f.clone(), said));
                self.draft.spans.push(said.span.clone());
            }
            Act::Change(moved, stops) => {
                if self.pending_next.is_none()
                    && self.draft.rounded_off
                    && self.draft.is_complete()
                    && !self.draft.correcting
                {
                    self.next_frame(true);
                }
                self.take_pending();
                self.draft.changes.push((*moved, *stops));
                self.draft.spans.push(said.span.clone());
            }
            Act::From => self.draft.from = true,
            Act::Extra(stops) => self.draft.extra = Some(*stops),
            Act::ToMatch(moved) => self.draft.to_match = Some(*moved),
            Act::Compensation(stops) => {
                self.take_pending();
                self.draft.comp = Some(*stops);
                self.draft.spans.push(said.span.clone());
            }
            Act::Bracket(b) => {
                // "…, then one over": the promised frame is one of a bracket.
                let frames = matches!(b, BracketSaid::Offset(..) | BracketSaid::EitherSide(_) | BracketSaid::Straight);
                if frames && self.pending_next.is_some() && self.draft.has_exposure() {
                    self.pending_next = None;
                    self.draft.bracket.push(BracketSaid::Word);
                }
                self.draft.bracket.push(*b);
                self.draft.spans.push(said.span.clone());
            }
            Act::BracketBy(moved) => self.draft.bracket_by = Some(*moved),
            Act::ListOf(moved) => {
                self.draft.list_of = Some(*moved);
                self.draft.opened = true;
            }
            Act::All => self.draft.all = true,
            // "…, dropped it to a fiftieth": another frame, or the same one if nothing was set yet.
            Act::MovedTo => {
                if self.draft.has_exposure()
                    && self.draft.is_complete()
                    && self.pending_next.is_none()
                    && !self.draft.correcting
                {
                    self.next_frame(true);
                }
                self.draft.inherit = true;
            }
            Act::And => self.draft.anded = true,
            Act::Light(l) if real => {
                self.draft.light = Some(valued(l.clone(), said));
                self.draft.spans.push(said.span.clone());
            }
            Act::Support(s) if real => {
                self.draft.support = Some(valued(s.clone(), said));
                self.draft.spans.push(said.span.clone());
            }
            Act::Wasted(strong) => {
                if !strong && !self.draft.is_frame() && !self.draft.opened {
                    return;
                }
                self.take_pending();
                self.draft.wasted = true;
                self.draft.spans.push(said.span.clone());
            }
            Act::DoubleExposure => self.draft.double = true,
            Act::Subject(text) if real => self.draft.subject.push(text.clone()),
            Act::Place(text) if real => self.draft.place.push(text.clone()),
            Act::Correct => {
                self.draft.correcting = true;
                self.draft.corrects = true;
                self.corrected_in = 0;
                self.draft.anded = false;
            }
            Act::Scratch => {
                self.draft.correcting = true;
                self.draft.corrects = true;
                self.draft.scratched = self.draft.is_frame();
                self.corrected_in = 0;
            }
            Act::ForgetLast => {
                if self.draft.is_frame() {
                    self.draft = Draft::default();
                } else {
                    self.forget_last();
                }
            }
            Act::Cancel => {
                self.draft = Draft::default();
                self.held.clear();
                self.dropped = true;
            }
            Act::Or => self.draft.or = true,
            Act::Film(_)
            | Act::Ei(_)
            | Act::BoxSpeed
            | Act::Process(_)
            | Act::Roll(..)
            | Act::RollBegun
            | Act::RollEnded(_)
            | Act::Camera(_)
            | Act::BothCameras => self.roll_act(acts, i),
            Act::Light(_) | Act::Support(_) | Act::Subject(_) | Act::Place(_) | Act::Turn | Act::ScansReversed => {}
        }
    }

    fn nth(&mut self, n: u32, acts: &[Said], i: usize) {
        let settings_follow = acts[i + 1..]
            .iter()
            .take_while(|s| !matches!(s.act, Act::SentenceEnd | Act::Frames { .. }))
            .any(|s| s.mode == Mode::Real && (is_dial(&s.act) || matches!(s.act, Act::Same(_) | Act::Wasted(_))));
        if n >= 2 && (self.draft.is_complete() || self.draft.has_exposure() && self.draft.count.is_some()) {
            if settings_follow && self.draft.numbers.len() < 2 {
                if self.draft.count.is_some_and(|c| c == n) {
                    self.draft.count = Some(n - 1).filter(|c| *c > 1);
                }
                self.pending_next = Some(false);
            }
        } else if !self.draft.has_exposure() && self.draft.numbers.is_empty() && acts[i].weight >= 0.0 && n <= 40 {
            // "First sheet, …"
            let sheet = self.note.text[acts[i].span.clone()].split_whitespace().count() >= 2;
            if sheet && !self.draft.opened && self.carries_numbers(&acts[i].span) {
                self.draft.numbers = vec![vec![Way::new(FrameNumber::new(n as u16), 0.9)]];
                self.draft.opened = true;
            }
        }
    }

    /// Whether an ordinal names a frame: "first sheet", not "the first one".
    fn carries_numbers(&self, span: &Range<usize>) -> bool {
        self.language.is_frame_word(&self.note.text[span.clone()])
    }

    fn same(&mut self, same: Same, said: &Said) {
        match same {
            Same::Film | Same::Rating => {
                self.same_film(same);
                return;
            }
            Same::Place => return,
            Same::Again if self.draft.has_exposure() && self.pending_next.is_none() && !self.draft.correcting => {
                self.next_frame(true)
            }
            Same::All
                if self.pending_next.is_none()
                    && self.draft.rounded_off
                    && self.draft.has_exposure()
                    && !self.draft.correcting =>
            {
                self.next_frame(true);
            }
            _ => self.take_pending(),
        }
        self.draft.again |= same == Same::Again;
        let same = if same == Same::Again { Same::All } else { same };
        self.draft.same.push(same);
        self.draft.spans.push(said.span.clone());
    }

    /// Whether a value begins a new frame: the one described is rounded off and this differs.
    fn begins_frame(&self, differs: bool) -> bool {
        self.draft.rounded_off
            && self.draft.is_complete()
            && differs
            && !self.draft.correcting
            && self.draft.numbers.len() < 2
    }

    fn shutter(&mut self, s: ShutterSaid) {
        let first = |s: &ShutterSaid| s.ways.iter().max_by(|a, b| a.weight.total_cmp(&b.weight)).map(|w| w.value);
        if self.draft.or
            && let Some(last) = self.draft.shutters.last_mut()
        {
            last.ways.extend(s.ways);
            last.doubt = true;
            self.draft.or = false;
            return;
        }
        let pending = self.pending_next.is_some();
        self.take_pending();
        let differs = self.draft.shutters.last().is_some_and(|l| first(l) != first(&s));
        // "… same settings. And at a hundred, an eight-hundredth …"
        let unsaid = self.draft.shutters.is_empty() && self.draft.numbers.is_empty();
        if !pending && (unsaid || differs) && self.begins_frame(true) {
            self.next_frame(true);
        }
        // A timed hold says more than the bare letter, whichever came first.
        let bulb = |s: &ShutterSaid| {
            s.ways
                .iter()
                .any(|w| matches!(w.value, crate::exposure::Shutter::Bulb(None) | crate::exposure::Shutter::Time(None)))
        };
        if let Some(last) = self.draft.shutters.last_mut()
            && (bulb(last) != bulb(&s))
            && !self.draft.correcting
        {
            let (hold, time) = if bulb(last) { (last.clone(), &s) } else { (s.clone(), &*last) };
            let is_b = hold.ways.iter().any(|w| matches!(w.value, crate::exposure::Shutter::Bulb(None)));
            let ways = time
                .ways
                .iter()
                .filter_map(|w| w.value.seconds().map(|t| (t, w.weight)))
                .map(|(t, w)| {
                    Way::new(
                        if is_b { crate::exposure::Shutter::bulb(t) } else { crate::exposure::Shutter::time(t) },
                        w,
                    )
                })
                .collect();
            *last = ShutterSaid { ways, firm: true, span: hold.span, ..time.clone() };
            return;
        }
        if self.draft.correcting {
            self.draft.replaced = true;
            self.draft.shutters.clear();
            self.draft.scratched = false;
        }
        self.draft.shutter_list |= self.draft.anded && differs;
        self.draft.anded = false;
        self.draft.spans.push(s.span.clone());
        self.draft.shutters.push(s);
    }

    fn aperture(&mut self, a: ApertureHeard) {
        use crate::language::act::ApertureSaid::Ways;
        // An f-number far from anything a lens does is no aperture: "the F-150".
        if let Ways(ways) = &a.said {
            let gear = self.gear(None);
            let best = ways.iter().map(|w| w.weight * gear.aperture(w.value)).fold(0.0, f64::max);
            if best < LEAST_APERTURE {
                return;
            }
        }
        if self.draft.or
            && let Some(last) = self.draft.apertures.last_mut()
        {
            if let (Ways(old), Ways(new)) = (&mut last.said, &a.said) {
                old.extend(new.iter().copied());
                last.doubt = true;
            }
            self.draft.or = false;
            return;
        }
        let pending = self.pending_next.is_some();
        self.take_pending();
        let differs = self.draft.apertures.last().is_some_and(|l| l.said != a.said);
        if !pending && self.draft.apertures.last().is_some() && self.begins_frame(differs) {
            self.next_frame(true);
        }
        if self.draft.correcting {
            self.draft.replaced = true;
            self.draft.apertures.clear();
            self.draft.scratched = false;
        }
        // "From f5.6 to f11": the second says where it ended.
        if self.draft.from && !self.draft.apertures.is_empty() {
            self.draft.apertures.clear();
            self.draft.from = false;
        }
        // "Opened right up": the frame before with the lens wide open.
        let ends =
            matches!(a.said, crate::language::act::ApertureSaid::Widest | crate::language::act::ApertureSaid::Smallest);
        self.draft.inherit |= ends && self.draft.shutters.is_empty() && !self.carries_alone();
        // "Opened up to f11", "a stop down at f11": the number says where it ended.
        if !self.draft.from {
            let had = !self.draft.changes.is_empty();
            self.draft.changes.retain(|(m, _)| *m == Moved::Shutter);
            self.draft.inherit |= had;
        }
        self.draft.extra = None;
        self.draft.aperture_list |= self.draft.anded && differs;
        self.draft.anded = false;
        self.draft.spans.push(a.span.clone());
        self.draft.apertures.push(a);
    }

    /// Whether no frame of this note stands before.
    fn carries_alone(&self) -> bool {
        self.this_note_shots.is_empty()
    }

    fn forget_last(&mut self) {
        let mut gone = std::mem::take(&mut self.last_note_shots);
        gone.sort_unstable();
        if let Some((roll, _)) = gone.last().copied() {
            let shots = &mut self.rolls[roll].shots;
            shots.pop();
        }
    }

    // ---------------------------------------------------------------- rolls and cameras

    fn roll_act(&mut self, acts: &[Said], i: usize) {
        let said = &acts[i];
        let real = said.mode == Mode::Real;
        match &said.act {
            Act::Camera(c) => self.camera(*c),
            Act::Roll(name, weight) => {
                // The camera named in the same sentence is the one the roll is in; so is one
                // named after it with nothing but the film between: "Roll four. The ortho, in the small one."
                let mut same_sentence = true;
                let camera = acts[i + 1..]
                    .iter()
                    .take_while(|s| {
                        same_sentence &= s.act != Act::SentenceEnd;
                        let only_film = matches!(
                            s.act,
                            Act::SentenceEnd | Act::Film(_) | Act::Ei(_) | Act::Subject(_) | Act::Camera(_)
                        );
                        only_film || same_sentence && !matches!(s.act, Act::Frames { .. } | Act::Roll(..))
                    })
                    .find_map(|s| if let Act::Camera(c) = s.act { Some(c) } else { None });
                if let Some(c) = camera {
                    self.camera(c);
                }
                self.name_roll(name, *weight);
            }
            Act::RollBegun => {
                self.close_draft();
                let has_shots =
                    self.hand().roll.is_some_and(|r| !self.rolls[r].shots.is_empty() || self.rolls[r].ended);
                if has_shots {
                    self.hand().roll = None;
                }
            }
            Act::RollEnded(name) => {
                self.close_draft();
                let index = match name {
                    Some(n) => self.roll_named(n),
                    None => self.hand().roll,
                };
                if let Some(r) = index {
                    self.rolls[r].ended = true;
                }
            }
            Act::Film(films) if real => {
                let kit = self.kit();
                let ways: Vec<Way<String>> = films
                    .iter()
                    .filter_map(|w| kit.films.get(w.value).map(|f| Way::new(f.name.clone(), w.weight)))
                    .collect();
                if let Some(w) = weigh(&ways, |_| 1.0, manner(said, 1.0)) {
                    let r = self.roll_for_facts();
                    self.rolls[r].facts.film = Some(w.settled);
                }
            }
            Act::Ei(ways) if real => {
                let gear = self.gear(None);
                if let Some(w) = weigh(ways, |n| gear.ei(*n), manner(said, 0.6)) {
                    let r = self.roll_for_facts();
                    self.rolls[r].facts.ei = Some(w.settled);
                }
            }
            Act::BoxSpeed if real => {
                let r = self.roll_for_facts();
                let film = self.rolls[r].facts.film.as_ref().and_then(|f| self.kit().film(&f.value));
                if let Some(film) = film {
                    self.rolls[r].facts.ei = Some(sure(f64::from(film.iso.get())));
                }
            }
            Act::Process(p) if real => {
                let text = match p {
                    ProcessSaid::Push(s) if *s < 0.0 => format!("pull {}", -s),
                    ProcessSaid::Push(s) => format!("push {s}"),
                    ProcessSaid::N(0.0) => "N".to_owned(),
                    ProcessSaid::N(s) if *s < 0.0 => format!("N-{}", -s),
                    ProcessSaid::N(s) => format!("N+{s}"),
                };
                let r = self.roll_for_facts();
                self.rolls[r].facts.process = Some(Settled { confidence: Confidence::new(0.95), ..sure(text) });
            }
            Act::BothCameras => {
                // What was just said of one camera's filter holds for all.
                let said = self.filters(&self.draft.filters, None);
                let filter = said.or_else(|| self.hand().filter.clone());
                for hand in self.hands.values_mut() {
                    hand.filter.clone_from(&filter);
                }
            }
            _ => {}
        }
    }

    /// The roll that a film or a rating is said of.
    fn roll_for_facts(&mut self) -> usize {
        self.roll()
    }

    fn camera(&mut self, c: usize) {
        if self.camera != Some(c) {
            self.close_draft();
            // What was said before any camera was named was said of this one.
            if self.camera.is_none()
                && let Some(hand) = self.hands.remove(&None)
            {
                self.hands.entry(Some(c)).or_insert(hand);
            }
            self.camera = Some(c);
        }
        self.camera_said = true;
        self.hand();
    }

    fn name_roll(&mut self, name: &str, weight: f64) {
        if self.draft.is_frame() && self.draft.has_exposure() && self.draft.rounded_off {
            self.close_draft();
        }
        let settled = Settled { confidence: Confidence::new(weight), ..sure(name.to_owned()) };
        if let Some(i) = self.roll_named(name) {
            // Speaking of a roll again means its camera.
            let hand = self.hands.iter().find(|(_, h)| h.roll == Some(i)).map(|(c, _)| *c);
            match hand {
                Some(c) => self.camera = c,
                None => self.hand().roll = Some(i),
            }
            return;
        }
        let current = self.hand().roll;
        match current {
            // A roll that has no name and nothing on it yet takes the name; a
            // correction renames the one just named.
            Some(r)
                if self.rolls[r].shots.is_empty() && (self.rolls[r].facts.name.is_none() || self.draft.correcting) =>
            {
                self.rolls[r].facts.name = Some(settled);
            }
            Some(r) if self.rolls[r].facts.name.is_none() && !self.rolls[r].ended && self.rolls[r].shots.len() < 3 => {
                self.rolls[r].facts.name = Some(settled);
            }
            _ => {
                if current.is_some() {
                    self.close_draft();
                }
                let r = self.begin_roll();
                self.rolls[r].facts.name = Some(settled);
            }
        }
    }

    fn same_film(&mut self, same: Same) {
        let r = self.roll();
        let before = self.rolls[..r].iter().rev().find(|o| o.facts.film.is_some()).map(|o| o.facts.clone());
        if let Some(before) = before {
            let facts = &mut self.rolls[r].facts;
            match same {
                Same::Film => facts.film = before.film,
                _ => facts.ei = before.ei,
            }
        }
    }

    // ---------------------------------------------------------------- closing a frame

    /// Makes frames of what was said, if it speaks of any.
    pub(super) fn close_draft(&mut self) {
        self.release_held_at_end();
        let draft = std::mem::take(&mut self.draft);
        if draft.scratched && draft.correcting {
            return;
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

    fn release_held_at_end(&mut self) {
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

/// How it was said; never less sure to be meant than `least`.
fn manner(said: &Said, least: f64) -> Manner {
    Manner { sure: said.weight.max(least), heard: said.heard, doubted: said.doubt }
}

fn valued<T>(value: T, said: &Said) -> Valued<T> {
    Valued { value, doubt: said.doubt, weight: said.weight, heard: said.heard }
}

/// A value that was plainly said.
pub(super) fn sure<T>(value: T) -> Settled<T> {
    Settled::from_one(value, Confidence::new(0.99), Source::Voice)
}

/// Whether an act sets or moves a dial.
fn is_dial(act: &Act) -> bool {
    matches!(
        act,
        Act::Shutter { .. }
            | Act::Aperture(_)
            | Act::ShutterOrFocal { .. }
            | Act::Change(..)
            | Act::Filter(_)
            | Act::Focal(_)
    )
}
