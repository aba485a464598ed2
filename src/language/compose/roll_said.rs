//! What holds for the roll, and words about a frame that are no settings.

use super::pick::weighed;
use super::said::{FrameSaid, RollSaid};
use super::sure::Sure;
use super::text::{GOES_WITH, Text};
use crate::language::tag::Role;

/// A fact this likely to be of the roll holds for it.
const OF_ROLL: f32 = 0.5;

impl Text<'_> {
    /// What is said in words of a frame.
    pub(super) fn words(&self, column: usize, frame: &mut FrameSaid, used: &mut [bool]) {
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
    pub(super) fn roll(&self, used: &mut [bool]) -> RollSaid {
        let mut roll = RollSaid::default();
        let mut box_speed = None;
        for (i, m) in self.read.mentions.iter().enumerate() {
            let of_frame = self.goes[i].iter().any(|p| *p >= GOES_WITH);
            let facts = matches!(m.role, Role::Film | Role::Rating | Role::Camera | Role::Process);
            let for_roll = m.role == Role::Roll || facts && (m.of_roll >= OF_ROLL || !of_frame);
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
