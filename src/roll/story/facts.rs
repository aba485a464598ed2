//! Facts that reach beyond a frame: cameras and gear from here on, films and ratings for a whole roll.

use crate::exposure::ExposureIndex;
use crate::facts::RollName;
use crate::kit::Back;
use crate::language::compose::{Fact, FactSaid};

use super::late::stem;
use super::state::{KnownRoll, RollFacts, State};
use super::sure::plain;

/// What is less likely than this does not take the place of what is known.
const LIKELY: f64 = 0.5;

/// A name that no folder has is none unless it is this sure: "I've loaded three" is read as one at 0.8.
const SURE_NAME: f64 = 0.9;

/// What contradicts a rating must be this part as sure as it: "at eighty, six four five" names the film's format.
const AS_SURE: f64 = 0.8;
/// A rating that far off is none unless it is this sure: a choice, as for names.
const SURE_RATING: f64 = SURE_NAME;
/// Stops that a film is seldom rated off its box: what is farther is likelier another number ("forty", of roll forty).
const FAR_FROM_BOX: f64 = 2.5;

/// What words are compared by.
pub(super) fn stems(words: &str) -> Vec<String> {
    words.split_whitespace().filter_map(stem).collect()
}

/// The number at the end of a name: "back 1".
fn numbered(own: &str) -> Option<RollName> {
    let last = own.split_whitespace().next_back().filter(|w| w.bytes().all(|b| b.is_ascii_digit()))?;
    RollName::new(last).ok()
}

impl State<'_> {
    /// Lets a fact change the state. `camera` is the one that its sentence names; `next` the number
    /// of the frame spoken of next, where one is said; `words` its clause up to it.
    /// `behind` is the word that follows.
    // Long: one arm a kind of fact, each a few lines on the one state.
    pub fn learn(&mut self, said: &FactSaid, camera: Option<usize>, next: Option<i16>, words: &str, behind: &str) {
        // "Roll twelve. The film, in the big one": the first camera named takes what was told before it.
        if let (Some(c), None) = (camera, self.camera) {
            self.turn(c);
        }
        if let Some(c) = camera {
            self.hand_over(c);
        }
        let of = camera.or(self.camera);
        if let Some(back) = self.back(&said.fact) {
            return self.put_on(back);
        }
        match &said.fact {
            Fact::Camera(c) => self.turn(*c),
            Fact::OtherCamera => {
                let not_this = |c: &usize| Some(*c) != self.camera;
                let used: Vec<usize> = self.hands.keys().flatten().copied().filter(not_this).collect();
                let all: Vec<usize> = (0..self.kit.cameras.len()).filter(not_this).collect();
                if let (&[one], _) | ([], &[one]) = (&used[..], &all[..]) {
                    self.turn(one);
                }
            }
            // "I've loaded three": no folder's name, and hardly a name. "Roll one, thirty-two still": nor that of frames
            // told long before.
            Fact::Roll(name) if self.is_strange(name) && (said.sure < SURE_NAME || self.is_unnamed(of)) => {}
            Fact::Roll(name) => {
                if let Some(name) = self.known_as(name).or_else(|| RollName::new(name).ok()) {
                    self.name(name, of, next, words);
                    if let Some(r) = self.topic {
                        self.rolls[r].with_camera |= camera.is_some();
                    }
                }
            }
            Fact::RollNth(n) if self.rolls.len() >= *n => self.topic = Some(n - 1),
            // "That roll": the one just spoken of.
            Fact::RollCalled(own) if own.is_empty() => self.topic = self.topic.or(self.digressed),
            Fact::RollCalled(own) => {
                if let Some(name) = self.known_as(own) {
                    self.name(name, of, next, words);
                } else if let Some(r) = numbered(own).and_then(|n| self.aliases.iter().find(|a| a.0 == n)).map(|a| a.1)
                {
                    self.turn_to(r);
                    self.topic = Some(r);
                } else if let Some(r) = self.called(own) {
                    self.topic = Some(r);
                    if !self.rolls[r].ended && !self.is_full(r) {
                        self.turn_to(r);
                    }
                } else if self.is_another(own) {
                    let r = self.begin(of);
                    self.rolls[r].called = stems(own);
                    self.topic = Some(r);
                } else if let Some(r) = self.topic.filter(|r| self.rolls[*r].shots.is_empty()) {
                    // "Thirty-one is in the gold back": what it is called from here on, though "back" was not heard as
                    // part of it.
                    self.rolls[r].called.extend(stems(own));
                    self.rolls[r].called.extend(stem(behind));
                    self.aliases.extend(numbered(own).map(|n| (n, r)));
                } else if let Some(r) = self.pictured(own) {
                    self.topic = Some(r);
                }
            }
            // "Now the next one": hardly a roll.
            Fact::RollBegun if said.sure < LIKELY => {}
            Fact::RollBegun | Fact::RollNth(_) => {
                let r = self.hand(of).roll;
                let used = r.is_none_or(|r| !self.rolls[r].shots.is_empty() || self.rolls[r].ended);
                // "On the new roll, three": it is in hand already.
                let goes_on = r.is_some_and(|r| {
                    let following = self.following(r).place();
                    !self.rolls[r].ended && following > 1 && next == Some(following)
                });
                if used && !goes_on {
                    if let Some(r) = r {
                        self.rolls[r].ended = true;
                    }
                    self.begin(of);
                }
            }
            Fact::RollEnded => {
                if let Some(r) = self.topic.or(self.hand(of).roll) {
                    self.rolls[r].ended = true;
                }
            }
            Fact::Film(film) => {
                let name = self.kit.films[*film].name.clone();
                self.film(name, said, of);
            }
            Fact::FilmAsSaid(name) => {
                let r = self.spoken_of(of);
                self.rolls[r].facts.film.get_or_insert(plain(name.clone(), said.sure));
            }
            Fact::Rating(ei) => {
                let Some(ei) = ExposureIndex::new(ei.round() as u32) else { return };
                let kit = self.kit;
                let facts = self.facts_of(of);
                let known = facts.ei.as_ref().map_or(0.0, |e| e.confidence.get());
                let iso = facts.film.as_ref().and_then(|f| kit.film(&f.value)).map(|f| f64::from(f.iso.get()));
                let odd = iso.is_some_and(|iso| (f64::from(ei.get()) / iso).log2().abs() > FAR_FROM_BOX);
                let least = if odd { SURE_RATING } else { LIKELY };
                if said.sure >= least.max(AS_SURE * known) || said.sure > known {
                    facts.ei = Some(plain(ei, said.sure));
                }
            }
            Fact::BoxSpeed => self.facts_of(of).box_speed = Some(said.sure),
            Fact::SameFilm => {
                let film = self.facts_before(of, |f| f.film.is_some()).and_then(|f| f.film);
                let facts = self.facts_of(of);
                if facts.film.is_none() {
                    facts.film = film;
                }
            }
            Fact::SameRating => {
                let before = self.facts_before(of, |f| f.ei.is_some() || f.box_speed.is_some());
                let facts = self.facts_of(of);
                if let (None, Some(before)) = (&facts.ei, before) {
                    (facts.ei, facts.box_speed) = (before.ei, before.box_speed);
                }
            }
            Fact::BothCameras => {
                if let Some(gear) = self.last_gear.take() {
                    let all: Vec<Option<usize>> = self.hands.keys().copied().collect();
                    for camera in all {
                        self.mount(&gear, camera);
                    }
                }
            }
            Fact::Process(process) => self.facts_of(of).process = Some(plain(process.clone(), said.sure)),
            Fact::FilterOn(names, ours) if let Some(r) = self.roll_of_colour(&names.join(" "), *ours, behind) => {
                self.topic = Some(r);
                self.turn_to(r);
            }
            Fact::Glass { .. } | Fact::FilterOn(..) | Fact::FilterOff => self.mount(said, of),
            Fact::Same | Fact::SameDial | Fact::SameAs(_) | Fact::TakenBack | Fact::ScansReversed => {}
        }
    }

    /// The back of the kit that is named, where no roll's folder has that name.
    fn back(&self, fact: &Fact) -> Option<usize> {
        let (Fact::Roll(said) | Fact::RollCalled(said)) = fact else { return None };
        let words = stems(said);
        if self.known_as(said).is_some() {
            return None;
        }
        let called = |b: &Back| {
            std::iter::once(&b.name)
                .chain(&b.said)
                .any(|n| n.eq_ignore_ascii_case(said) || !words.is_empty() && stems(n) == words)
        };
        self.kit.backs.iter().position(called)
    }

    /// A back is put on its camera: the roll in it is in hand; where none is, the one that was just begun, or a new one.
    fn put_on(&mut self, back: usize) {
        let camera = self.kit.cameras.iter().position(|c| c.name == self.kit.backs[back].camera);
        if let Some(c) = camera {
            self.turn(c);
        }
        let free = |s: &Self, r: usize| {
            s.backs.values().all(|o| *o != r) && (s.backs.is_empty() || s.rolls[r].shots.is_empty())
        };
        let in_hand = self.hand(camera).roll;
        let r = match self.backs.get(&back).copied().filter(|r| !self.rolls[*r].ended) {
            Some(r) => r,
            None => match in_hand.filter(|r| free(self, *r)) {
                Some(r) => r,
                None => self.begin(camera),
            },
        };
        self.backs.insert(back, r);
        self.topic = Some(r);
        self.turn_to(r);
    }

    /// The roll that a fact is said of: the sentence's, else the one in the camera.
    fn spoken_of(&mut self, camera: Option<usize>) -> usize {
        match self.topic {
            Some(r) => r,
            None => self.roll_in(camera),
        }
    }

    /// What is known of the last roll before the one spoken of that `has` it.
    fn facts_before(&mut self, camera: Option<usize>, has: impl Fn(&RollFacts) -> bool) -> Option<RollFacts> {
        let own = if self.coming.is_some() { usize::MAX } else { self.spoken_of(camera) };
        let others = (0..self.rolls.len()).rev().filter(|r| *r != own && has(&self.rolls[*r].facts));
        let (same, any): (Vec<usize>, Vec<usize>) = others.partition(|r| self.rolls[*r].camera == camera);
        same.first().or(any.first()).map(|r| self.rolls[*r].facts.clone())
    }

    fn facts_of(&mut self, camera: Option<usize>) -> &mut RollFacts {
        if self.coming.is_some() {
            return self.coming.get_or_insert_default();
        }
        let r = self.spoken_of(camera);
        &mut self.rolls[r].facts
    }

    /// The roll of the trip's folders that a spoken name means: spelt alike, as it was said, the same number in words,
    /// or all its words.
    pub fn known_as(&self, said: &str) -> Option<RollName> {
        let name = RollName::new(said).ok()?;
        let words = stems(said);
        let alike = |k: &KnownRoll| k.name == name;
        let number = |k: &KnownRoll| k.number.as_deref() == Some(name.key());
        let worded = |k: &KnownRoll| !k.stems.is_empty() && k.stems.iter().all(|s| words.contains(s));
        let one = |fits: &dyn Fn(&KnownRoll) -> bool| {
            let mut all = self.known.iter().filter(|k| fits(k));
            all.next().filter(|_| all.next().is_none()).map(|k| k.name.clone())
        };
        one(&alike).map(|_| name.clone()).or_else(|| one(&number)).or_else(|| one(&worded))
    }

    /// Names the roll in a camera, turns to the roll of that name, or begins it.
    fn name(&mut self, name: RollName, camera: Option<usize>, next: Option<i16>, words: &str) {
        // "Done at thirteen": the count.
        let counter = self.hand(camera).roll.and_then(|r| self.rolls[r].counter);
        if self.named(&name).is_none() && counter.is_some_and(|c| c.to_string() == name.key()) {
            return;
        }
        // "Roll twenty-one in back two", where no folder is called two: another name for it.
        let known = self.known.iter().any(|k| k.name == name);
        let named_now = self.topic.filter(|r| self.rolls[*r].shots.is_empty() && self.rolls[*r].name.is_some());
        if let (Some(r), false, false, None) = (named_now, known, self.known.is_empty(), self.named(&name)) {
            self.aliases.push((name, r));
            return;
        }
        if let Some(r) = self.aliases.iter().find(|(alias, _)| *alias == name).map(|a| a.1).filter(|_| !known) {
            self.topic = Some(r);
            self.turn_to(r);
            return;
        }
        // "Back B is roll thirty-two": another name for it.
        if !known && name.key().chars().all(char::is_alphabetic) && self.named(&name).is_none() {
            match self.aliases.iter().find(|(alias, _)| *alias == name).map(|a| a.1) {
                Some(r) => self.turn_to(r),
                None => self.alias = Some(name),
            }
            return;
        }
        if let Some(r) = self.named(&name) {
            self.topic = Some(r);
            let out = self.rolls[r].ended || self.is_full(r);
            if !out {
                self.turn_to(r);
            }
            return;
        }
        if let Some(c) = camera {
            self.turn(c);
        }
        let in_camera = self.hand(camera).roll;
        let in_camera = in_camera.filter(|r| self.takes_name(*r, next));
        let r = in_camera.or_else(|| self.goes_on_at(next)).unwrap_or_else(|| self.begin(camera));
        self.turn_to(r);
        self.rolls[r].name = Some(name);
        self.rolls[r].called = stems(words);
        self.topic = Some(r);
        if let Some(alias) = self.alias.take() {
            self.aliases.push((alias, r));
        }
    }

    /// The one roll that was named with words like these: "the grey one", after "the grey back is film fifteen".
    fn called(&self, words: &str) -> Option<usize> {
        let words = stems(words);
        let all = |r: usize| words.iter().all(|w| self.rolls[r].called.contains(w));
        self.only(&|r| usize::from(all(r) && !words.is_empty()))
    }

    /// "Green back", after "the yellow back": one more, where the trip has a folder for it and the last had its frames.
    fn is_another(&self, words: &str) -> bool {
        let words = stems(words);
        let known = |w: &String| self.rolls.iter().any(|r| r.called.contains(w));
        let begun = self.rolls.iter().all(|r| !r.shots.is_empty());
        begun && words.iter().any(known) && !words.iter().all(known) && self.unclaimed() > 0
    }

    /// The roll that words for a filter mean where one was called so: "red back", and "the red" if no filter of the
    /// kit is (`ours`).
    fn roll_of_colour(&self, words: &str, ours: bool, behind: &str) -> Option<usize> {
        let behind = stem(behind);
        let back = |r: &usize| behind.as_ref().is_some_and(|b| self.rolls[*r].called.contains(b));
        self.called(words).filter(|r| !ours || back(r))
    }

    /// Whether a camera has a roll with frames and no name, where others are called as the trip's folders are.
    fn is_unnamed(&self, camera: Option<usize>) -> bool {
        let roll = self.hands.get(&camera).and_then(|h| h.roll).map(|r| &self.rolls[r]);
        roll.is_some_and(|r| r.name.is_none() && !r.shots.is_empty()) && self.unclaimed() < self.known.len()
    }

    /// Whether a name is no folder's and no roll's, though a folder has no roll yet.
    fn is_strange(&self, said: &str) -> bool {
        let known = self.known_as(said).is_some() || RollName::new(said).is_ok_and(|n| self.named(&n).is_some());
        !known && self.unclaimed() > 0
    }

    /// The one roll of whose pictures words like these were said most: "the yard roll".
    fn pictured(&self, words: &str) -> Option<usize> {
        let words = stems(words);
        let tells = |text: &str| stems(text).iter().any(|w| words.contains(w));
        self.only(&|r| {
            let said = self.rolls[r].shots.iter().flat_map(|s| &s.frame.said);
            said.filter(|q| tells(&q.text)).count()
        })
    }

    /// The roll with the highest score, where just one has it.
    fn only(&self, score: &dyn Fn(usize) -> usize) -> Option<usize> {
        let best = (0..self.rolls.len()).map(score).max().filter(|s| *s > 0)?;
        let mut all = (0..self.rolls.len()).filter(|r| score(*r) == best);
        all.next().filter(|_| all.next().is_none())
    }

    /// The one roll without a name that a number goes on with: "Roll 12, frame five" after four there.
    fn goes_on_at(&self, next: Option<i16>) -> Option<usize> {
        let fits = |r: &usize| {
            let roll = &self.rolls[*r];
            roll.name.is_none() && !roll.ended && roll.counter.is_some() && Some(self.following(*r).place()) == next
        };
        let mut all = (0..self.rolls.len()).filter(fits);
        all.next().filter(|_| all.next().is_none())
    }

    /// Takes a roll in hand that was begun: its camera is meant from here on.
    pub fn turn_to(&mut self, roll: usize) {
        let camera = self.rolls[roll].camera;
        if let Some(c) = camera {
            self.turn(c);
        }
        self.hand(camera).roll = Some(roll);
    }

    /// Whether a new name is that of a roll that is in a camera already.
    fn takes_name(&self, roll: usize, next: Option<i16>) -> bool {
        let r = &self.rolls[roll];
        if r.shots.is_empty() {
            return r.name.is_none();
        }
        let goes_on = next.is_none_or(|n| r.counter.is_none_or(|c| n > c.place()));
        r.name.is_none() && !r.ended && goes_on && self.coming.is_none()
    }

    /// A film: that of the roll spoken of; where this has another and was begun, a film to come.
    fn film(&mut self, name: String, said: &FactSaid, camera: Option<usize>) {
        let has = |s: &Self, r: usize| s.rolls[r].facts.film.as_ref().map(|f| f.value == name);
        let in_hand = self.topic.or(self.hand(camera).roll);
        let known = in_hand.and_then(|r| has(self, r));
        let begun = in_hand.is_some_and(|r| !self.rolls[r].shots.is_empty());
        let ended = in_hand.is_some_and(|r| self.rolls[r].ended || self.is_full(r));
        let film = plain(name.clone(), said.sure);
        let named_here = in_hand.is_some() && self.topic == self.hands.get(&camera).and_then(|h| h.roll);
        match known {
            Some(true) => {}
            // Named in this sentence: the film is told with it.
            _ if named_here => {
                let r = self.spoken_of(camera);
                self.rolls[r].facts.film = Some(film);
            }
            None if !ended => {
                let r = self.spoken_of(camera);
                self.rolls[r].facts.film = Some(film);
            }
            Some(false) if !begun => {
                let r = self.spoken_of(camera);
                self.rolls[r].facts.film = Some(film);
            }
            _ => {
                let other = (0..self.rolls.len()).rev().find(|r| has(self, *r) == Some(true));
                match other {
                    Some(r) => self.topic = Some(r),
                    None => self.coming.get_or_insert_default().film = Some(film),
                }
            }
        }
    }

    /// A remark on the scans of a roll: the one spoken of, else the last.
    pub fn reversed(&mut self, remark: &str) {
        let in_hand = self.hand(self.camera).roll;
        let last = self.rolls.len().checked_sub(1);
        if let Some(r) = self.topic.or(in_hand).or(last) {
            self.rolls[r].reversed = true;
            self.rolls[r].remarks.push(remark.to_owned());
        }
    }
}
