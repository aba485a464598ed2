//! Words that speak of frames taken before: "the first four were", "the lead horse was", "all of it".

use std::ops::Range;

use crate::language::compose::FrameSaid;
use crate::language::tag::Role;
use crate::language::{Lexicon, Number, NumberKind, Told};

use super::state::State;
use super::statement::{FrameHeard, Late, Pick, TOLD_BEFORE};
use crate::roll::record::Status;

/// Words this likely to have been taken back were.
const TAKEN_BACK: f32 = 0.5;

/// Letters by which words are compared: enough to see past endings.
const STEM: usize = 5;
/// Shorter words say little of a picture.
const LEAST_LETTERS: usize = 3;
/// Most frames that "the first five" means.
const MOST: usize = 40;
/// Tokens behind "was" within which a setting is what it was: "the boots were really with five six".
const NEAR: usize = 4;
/// Tokens within which words that mean all of them begin what is said.
pub(super) const SOON: usize = 3;

/// Whether the words of a frame speak of frames taken before, and of which.
// Long: one way of speaking of earlier frames after the other; the first that fits counts.
pub(super) fn late(told: &Told, lexicon: &Lexicon, said: &FrameSaid, tokens: &Range<usize>) -> Option<Late> {
    let listed = |list: &str| {
        let at = told.tokens[tokens.clone()].iter().position(|t| lexicon.in_list(list, t));
        at.map(|i| i + tokens.start)
    };
    let number_behind = |i: usize| {
        let n = told.numbers().find(|(at, n)| *at == i + 1 && n.value.fract() == 0.0);
        n.map(|(_, n)| n.value as usize).filter(|n| (1..=MOST).contains(n))
    };
    let roles = |role: Role| {
        let inside =
            move |m: &&crate::language::tag::Mention| tokens.contains(&m.tokens.start) && m.role == role && m.done();
        told.read.mentions.iter().filter(inside)
    };
    let opener = said.begun_by.first().map(|o| told.read.mentions[*o].role);
    // "The second of the bench": a place among pictures, no frame's number.
    let ordinal_at = |at: usize| {
        let is = |(i, n): (usize, &Number)| i == at && n.kind == NumberKind::Ordinal;
        told.numbers().any(is)
    };
    let framed = |n: &Range<usize>| {
        let near = n.start.saturating_sub(1)..(n.end + 1).min(told.tokens.len());
        told.tokens[near].iter().any(|t| lexicon.in_list("frame-word", t))
    };
    let pictured = roles(Role::Subject).next().is_some();
    let number = said.number.as_ref().map(|n| &n.tokens);
    let number = number.filter(|n| !pictured || framed(n) || !(n.start..n.end).any(ordinal_at));
    // "That one's no good."
    let bare = said.shutter.is_none() && said.aperture.is_none() && number.is_none();
    if said.wasted.is_some()
        && bare
        && let Some(at) = listed("that-one")
        && roles(Role::Subject).next().is_none()
    {
        let begins = matches!(opener, Some(Role::Steer | Role::Number | Role::Count));
        // "I let it off at the sky, that one's gone": the frame is told before it is spoken of.
        let told = said.begun_by.iter().any(|o| told.read.mentions[*o].tokens.start + 1 < at);
        return (!begins && !told).then_some(Late { picture: Vec::new(), pick: Pick::Last(1) });
    }
    // "Both of those bare."
    let gear = said.filter.is_some() || said.lens.is_some() || said.focal.is_some();
    if bare && gear && listed("both-of").is_some() && roles(Role::Subject).next().is_none() {
        return Some(Late { picture: Vec::new(), pick: Pick::Last(2) });
    }
    // "Ah, the bench, I had my strap before the lens, it is lost."
    let value = |i: usize| {
        let sets = |r: Role| r.is_setting() || matches!(r, Role::Light | Role::Support);
        told.read.mentions.iter().any(|m| sets(m.role) && (i + 1..=i + NEAR).contains(&m.tokens.start))
    };
    let was = tokens.clone().any(|i| lexicon.in_list("was", &told.tokens[i]) && value(i));
    // "So for that whole roll, a twenty-fifth, the lot."
    let summed = number.is_none()
        && !bare
        && !pictured
        && roles(Role::Count).next().is_none()
        && roles(Role::Roll).next().is_some()
        && listed("all-of").is_some();
    // "The yew: sixteen, not twenty-two."
    let withdrawn =
        told.read.mentions.iter().filter(|m| tokens.contains(&m.tokens.start) && m.standing[2] > TAKEN_BACK);
    let dial = |r: Role| {
        r == Role::Aperture && said.aperture.is_some() && said.shutter.is_none()
            || r == Role::Shutter && said.shutter.is_some() && said.aperture.is_none()
    };
    let denied = |m: &crate::language::tag::Mention| {
        m.tokens.start > 0 && lexicon.in_list("denied", &told.tokens[m.tokens.start - 1])
    };
    let instead = pictured && withdrawn.clone().any(|m| dial(m.role) && denied(m));
    let told_before = said.again >= TOLD_BEFORE;
    let past = told_before || was || instead || summed || bare && said.wasted.is_some();
    if !past
        || bare && said.wasted.is_none() && said.filter.is_none() && said.focal.is_none() && said.aperture_end.is_none()
    {
        return None;
    }
    let some = |list: &str| listed(list).and_then(number_behind);
    if let Some(n) = some("first-of") {
        return Some(Late { picture: Vec::new(), pick: Pick::First(n) });
    }
    if let Some(n) = some("last-of") {
        return Some(Late { picture: Vec::new(), pick: Pick::Last(n.max(1)) });
    }
    // "All of that, one to ten, was a sixtieth.", "All of that was a sixtieth, except the two of the tuba."
    let begins_all = listed("all-of").is_some_and(|at| at < tokens.start + SOON);
    let pictured_first = roles(Role::Subject).next().map(|m| m.tokens.start);
    let excepted = listed("except").is_some_and(|e| pictured_first.is_some_and(|p| e < p));
    if begins_all && was && (number.is_some() || excepted) {
        return Some(Late { picture: Vec::new(), pick: Pick::Roll(listed("except").is_some()) });
    }
    if number.is_some() {
        return None;
    }
    let picture: Vec<String> = roles(Role::Subject)
        .flat_map(|m| told.tokens[m.tokens.clone()].iter())
        .filter_map(|t| stem(&told.folded[t.span.clone()]))
        .collect();
    let counted = roles(Role::Count)
        .flat_map(|m| told.numbers().filter(|(at, _)| m.tokens.contains(at)))
        .map(|(_, n)| n.value)
        .find(|n| n.fract() == 0.0 && (2.0..=MOST as f64).contains(n))
        .map(|n| n as usize);
    let ordinal = told
        .numbers()
        .find(|(at, n)| tokens.contains(at) && n.kind == NumberKind::Ordinal && n.value <= 4.0 && n.value >= 1.0);
    let pick = match ordinal {
        _ if picture.is_empty() && listed("all-of").is_some() => Pick::Roll(listed("except").is_some()),
        _ if picture.is_empty() => return None,
        _ if listed("both-of").is_some() || listed("all-of").is_some() => counted.map_or(Pick::Every, Pick::Some),
        Some((_, n)) => Pick::Nth(n.value as usize - 1),
        None => Pick::One,
    };
    Some(Late { picture, pick })
}

/// What a word is compared by; none for short ones.
pub(super) fn stem(word: &str) -> Option<String> {
    let letters: String = word.chars().filter(|c| c.is_alphabetic()).flat_map(char::to_lowercase).collect();
    (letters.len() >= LEAST_LETTERS && letters != "the").then(|| letters.chars().take(STEM).collect())
}

impl State<'_> {
    /// The rows that are meant: roll and place. Empty where none fits.
    pub fn meant(&self, late: &Late) -> Vec<(usize, usize)> {
        let Some(r) = self.talked_of(self.camera) else { return Vec::new() };
        let all = |r: usize| (0..self.rolls[r].shots.len()).map(move |k| (r, k));
        match late.pick {
            Pick::First(n) => all(r).take(n).collect(),
            Pick::Last(n) => all(r).skip(self.rolls[r].shots.len().saturating_sub(n)).collect(),
            Pick::Roll(_) => all(r).collect(),
            Pick::Every | Pick::Some(_) | Pick::Nth(_) | Pick::One => {
                // The roll in hand before the others, the latest of these first.
                let mut order: Vec<usize> = (0..self.rolls.len()).rev().filter(|o| *o != r).collect();
                order.insert(0, r);
                let fits: Vec<Vec<(usize, usize)>> =
                    order.into_iter().map(|r| self.fitting(r, &late.picture)).collect();
                let Some(rows) = fits.into_iter().find(|f| !f.is_empty()) else { return Vec::new() };
                match late.pick {
                    Pick::Nth(k) => rows.get(k).copied().into_iter().collect(),
                    Pick::Every => rows,
                    Pick::Some(n) => {
                        let (r, first) = rows[0];
                        (first..self.rolls[r].shots.len()).take(n.max(rows.len())).map(|k| (r, k)).collect()
                    }
                    _ => rows.last().copied().into_iter().collect(),
                }
            }
        }
    }

    /// Rows told without their exposure that it is told of now: "First two of the lift, a thousandth at eight." The
    /// last row is none of them: that was told just now.
    pub fn left_open(&self, heard: &FrameHeard) -> Vec<(usize, usize)> {
        let said = &heard.said;
        let dialled = said.shutter.is_some() || said.aperture.is_some();
        let Some(subject) = said.subject.as_ref().filter(|_| dialled && said.number.is_none() && heard.same.is_none())
        else {
            return Vec::new();
        };
        let picture: Vec<String> = subject.value.split_whitespace().filter_map(stem).collect();
        let Some(r) = self.talked_of(self.camera) else { return Vec::new() };
        let open = |k: usize| {
            let frame = &self.rolls[r].shots[k].frame;
            let bare = said.shutter.is_none() || frame.shutter.is_none();
            bare && (said.aperture.is_none() || frame.aperture.is_none()) && frame.status == Status::Ok
        };
        let rows = self.fitting(r, &picture);
        let last = self.rolls[r].shots.len().saturating_sub(1);
        if rows.iter().any(|(_, k)| *k == last || !open(*k)) {
            return Vec::new();
        }
        rows.into_iter().take(heard.together).skip(heard.at.1).take(1).collect()
    }

    /// The frames of a roll whose words fit the picture best, if they fit at all.
    fn fitting(&self, roll: usize, picture: &[String]) -> Vec<(usize, usize)> {
        let score = |k: usize| {
            let frame = &self.rolls[roll].shots[k].frame;
            let subject = frame.subject.as_ref().map_or("", |s| s.value.as_str());
            let words: Vec<String> = subject.split_whitespace().filter_map(stem).collect();
            picture.iter().filter(|p| words.contains(p)).count()
        };
        let scores: Vec<usize> = (0..self.rolls[roll].shots.len()).map(score).collect();
        let best = scores.iter().copied().max().unwrap_or(0);
        if best == 0 || 2 * best < picture.len() {
            return Vec::new();
        }
        (0..scores.len()).filter(|k| scores[*k] == best).map(|k| (roll, k)).collect()
    }
}
