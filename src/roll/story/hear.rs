//! A window of the tape as statements, in the order said: frames, and facts that reach further.

use super::late::late;
use super::statement::{FrameHeard, Late, Pick, Statement};
use super::tape::{Tape, Window};
use super::window::{BEGUN, GOES_WITH, Hearing, changes_roll};
use crate::language::compose::{Fact, FactSaid, FrameSaid};
use crate::language::tag::Role;
use crate::language::{Aside, AsideKind, Lexicon, Told};
use std::collections::HashSet;
use std::ops::Range;

/// A statement by the token at which it is told; of several there, facts come first and asides last.
type Placed = (usize, u8, Statement);

impl Hearing<'_> {
    fn statements(&self, asides: Vec<Aside>) -> Vec<Statement> {
        let mut frames = self.joined();
        self.split_by_same(&mut frames);
        self.fill_lists(&mut frames);
        self.told_one_by_one(&mut frames);
        self.sum_up(&mut frames);
        let begins: Vec<usize> = frames.iter().map(|f| self.begin(f)).collect();
        let mut taken = vec![false; self.told.said.facts.len()];
        let mut out: Vec<Placed> = Vec::new();
        for k in 0..frames.len() {
            if let Some((at, statement)) = self.frame(&frames, &begins, k, &out, &mut taken) {
                out.push((at, 1, statement));
            }
        }
        self.other_facts(&begins, &taken, &mut out);
        out.extend(self.lost(&begins).into_iter().map(|at| (at, 0, Statement::Maybe)));
        self.place_asides(asides, &mut out);
        out.sort_by_key(|(at, kind, _)| (*at, *kind));
        out.into_iter().map(|s| s.2).collect()
    }

    /// The first token that was not read in a window before.
    fn first_new(&self) -> usize {
        self.told.tokens.partition_point(|t| t.span.start + self.window.from < self.window.new)
    }

    /// One frame, and where it is told; none where its words tell of something else. Facts that go with it are `taken`.
    fn frame(
        &self,
        frames: &[FrameSaid],
        begins: &[usize],
        k: usize,
        told: &[Placed],
        taken: &mut [bool],
    ) -> Option<(usize, Statement)> {
        let (start, new, facts) = (begins[k], self.first_new(), &self.told.said.facts);
        let next = self.run_end(start, begins);
        // Words of its sentence before it are its own, unless another frame stands there.
        let sentence = self.tape.sentence_start(self.byte(start));
        let before = begins.iter().copied().filter(|b| *b < start).max().map_or(0, |b| self.byte(b + 1));
        let words = self.quote(sentence.max(before).max(self.window.from), start, next);
        let said = &self.of_its_own(&frames[k], &words);
        let backwards = facts.iter().any(|f| f.fact == Fact::ScansReversed);
        if backwards && !said.exposed() || self.tells_of_the_roll(said, &words) || self.tells_of_gear(said, start..next)
        {
            return None;
        }
        let mut heard = FrameHeard {
            said: said.clone(),
            at: (self.byte(start), begins[..k].iter().filter(|b| **b == start).count()),
            together: begins.iter().filter(|b| **b == start).count(),
            words: words.clone(),
            camera: None,
            gear: Vec::new(),
            same: None,
            new,
            late: late(self.told, self.lexicon, said, &self.tokens_of(&words, start, next)),
            past: self.tokens_of(&words, start, next).any(|i| self.lexicon.in_list("was", &self.told.tokens[i])),
            counts: said.unexposed() && self.counts_those(start.saturating_sub(2)..next),
            onwards: said.number.as_ref().is_some_and(|n| self.is_onwards(&n.tokens)),
            bare_number: said.number.as_ref().is_some_and(|n| self.is_bare(&n.tokens)),
            asides: Vec::new(),
        };
        self.take_facts(&mut heard, start, next, taken);
        if self.is_told_of_the_whole(&heard, start..next, told) {
            return None;
        }
        let slight = said.there < BEGUN && !self.is_picture(start..next);
        let again = start < new || slight;
        // "Film out, slate in. The yew, an eighth": what begins the frame tells of the film; it is on the new one.
        let dials = said.shutter.iter().map(|s| s.tokens.start).chain(said.aperture.iter().map(|a| a.tokens.start));
        let first = dials.min().unwrap_or(start);
        // "The fifty is back on the old one. Confetti, a thousandth": so does what tells of the camera.
        let turns =
            |f: &FactSaid| matches!(f.fact, Fact::Camera(_)) && self.sentence(f.tokens.start) < self.sentence(first);
        let anew =
            |f: &FactSaid| (changes_roll(&f.fact) || turns(f)) && f.tokens.start > start && f.tokens.start < first;
        let at = if facts.iter().any(anew) && first < next { first } else { start.max(new) };
        if self.tells_of_light(said, start..next) {
            heard.said.there = 0.0;
            return Some((at, Statement::Again(heard)));
        }
        Some((at, if again { Statement::Again(heard) } else { Statement::Frame(heard) }))
    }

    /// What is said of a frame's gear, its camera and its likeness to others.
    fn take_facts(&self, heard: &mut FrameHeard, start: usize, next: usize, taken: &mut [bool]) {
        let facts = &self.told.said.facts;
        // "Out, and the next one in. Yellow off": from there on it is said of another roll.
        let turned = facts.iter().filter(|f| changes_roll(&f.fact) && f.tokens.start > start);
        let turned = turned.map(|f| f.tokens.start).min().unwrap_or(usize::MAX);
        for (i, f) in facts.iter().enumerate() {
            let inside = f.tokens.start >= start && f.tokens.start < next.min(turned);
            let own = f.mention.is_none_or(|m| self.together(m, &heard.said) >= GOES_WITH);
            let in_words = heard.words.contains(&self.byte(f.tokens.start));
            match &f.fact {
                Fact::Camera(c) if own && in_words => heard.camera = Some(*c),
                Fact::Glass { .. } | Fact::FilterOn(..) | Fact::FilterOff
                    if own && inside && f.tokens.start >= heard.new && !self.holds_later(f, heard) =>
                {
                    taken[i] = true;
                    if !self.is_half_a_speed(f, &heard.said) {
                        heard.gear.push(f.clone());
                    }
                }
                Fact::Same | Fact::SameDial if in_words && !self.is_of_film(f) => {
                    heard.same = heard.same.or(Some(None));
                }
                Fact::SameAs(n) if inside => heard.same = Some(Some(*n)),
                _ => {}
            }
        }
    }

    /// "All of it was …, every one of them, except …": told once, by the frame before.
    fn is_told_of_the_whole(&self, heard: &FrameHeard, tokens: Range<usize>, told: &[Placed]) -> bool {
        let mut frames = told.iter().rev().filter_map(|s| if let Statement::Frame(h) = &s.2 { Some(h) } else { None });
        let Some(before) = frames.next() else { return false };
        let shutter = |f: &FrameSaid| f.shutter.as_ref().map(|s| s.tokens.clone());
        let shares = shutter(&heard.said).is_some() && shutter(&heard.said) == shutter(&before.said);
        let pictured = self.roles(tokens).any(|r| r == Role::Subject);
        heard.said.number.is_none()
            && (!pictured || shares)
            && matches!(before.late, Some(Late { pick: Pick::Roll(_), .. }))
            && self.tape.sentence(before.at.0) == self.tape.sentence(heard.at.0)
    }

    /// Facts that no frame took.
    fn other_facts(&self, begins: &[usize], taken: &[bool], out: &mut Vec<Placed>) {
        let new = self.first_new();
        for (i, f) in self.told.said.facts.iter().enumerate() {
            // "In with another of the same": the film.
            let of_film = f.fact == Fact::Same && self.is_of_film(f);
            let f = &if of_film { FactSaid { fact: Fact::SameFilm, ..f.clone() } } else { f.clone() };
            let plain = matches!(f.fact, Fact::Same | Fact::SameDial | Fact::SameAs(_) | Fact::TakenBack);
            if taken[i] || plain || f.tokens.start < new {
                continue;
            }
            let camera = self.camera_of(f);
            let at = self.bytes(&f.tokens);
            // "Eight, nine and ten of the slow roll": the roll comes first.
            let first = self.first_of_roll(f, begins).unwrap_or(f.tokens.start);
            out.push((first, 0, Statement::Fact { said: f.clone(), camera, at }));
        }
    }

    /// What is said beside the settings goes to the frame in whose words it stands; what stands in none's is of the
    /// frame before it.
    fn place_asides(&self, mut asides: Vec<Aside>, out: &mut Vec<Placed>) {
        for (_, _, statement) in &mut *out {
            if let Statement::Frame(h) | Statement::Again(h) = statement {
                // "Frame five, …. Took the doubler off.": from the next on.
                let told = h.said.shutter.as_ref().map_or(h.at.0, |s| self.byte(s.tokens.start));
                let sentence = |byte: usize| self.tape.sentence(byte);
                let later = |a: &Aside| {
                    matches!(a.kind, AsideKind::ConverterOn | AsideKind::ConverterOff)
                        && sentence(self.byte(a.tokens.start)) > sentence(told)
                };
                let own = |a: &Aside| h.words.contains(&self.byte(a.tokens.start)) && !later(a);
                h.asides = asides.iter().filter(|a| own(a)).cloned().collect();
            }
        }
        let taken: HashSet<usize> = out.iter().flat_map(|(_, _, s)| s.asides()).map(|a| a.tokens.start).collect();
        asides.retain(|a| !taken.contains(&a.tokens.start));
        out.extend(asides.into_iter().map(|a| (a.tokens.start, 2, Statement::Beside(vec![a]))));
    }
}

/// What a window says.
pub(super) fn statements(
    told: &Told,
    lexicon: &Lexicon,
    window: &Window,
    tape: &Tape,
    asides: Vec<Aside>,
) -> Vec<Statement> {
    Hearing { told, lexicon, window, tape }.statements(asides)
}
