//! The reader at work: a text in, mentions and what goes with which frame out.

use std::collections::HashMap;
use std::ops::Range;

use super::features;
use super::features::names;
use super::mention::{Effect, Mention, Role, stretches};
use super::net::{Net, sigmoid, softmax};
use super::pieces::Pieces;
use super::weights::{Weights, WeightsError};
use crate::language::phrases::Passage;

/// What the reader makes of a text.
#[derive(Debug, Clone, Default)]
pub struct Read {
    /// Mentions, in order.
    pub mentions: Vec<Mention>,
    /// For each mention, the first of those read together with it, and how likely it goes with the frame of each of
    /// these, where that has one frame alone. Mentions of different stretches were never seen together.
    together: Vec<(usize, Vec<f32>)>,
}

impl Read {
    /// Adds what was made of the next stretch of a text, whose first token is `at`.
    pub fn push(&mut self, next: Self, at: usize) {
        let before = self.mentions.len();
        self.mentions
            .extend(next.mentions.into_iter().map(|m| Mention { tokens: m.tokens.start + at..m.tokens.end + at, ..m }));
        self.together.extend(next.together.into_iter().map(|(first, row)| (first + before, row)));
    }

    /// How likely a mention goes with the frame of another, where that has one frame alone.
    pub fn together(&self, mention: usize, other: usize) -> f32 {
        let (first, row) = &self.together[mention];
        other.checked_sub(*first).and_then(|i| row.get(i)).copied().unwrap_or(0.0)
    }

    /// Says how likely a mention goes with the frame of another of the same text.
    pub fn set_together(&mut self, mention: usize, other: usize, p: f32) {
        let (first, row) = &mut self.together[mention];
        if other < *first {
            row.splice(0..0, std::iter::repeat_n(0.0, *first - other));
            *first = other;
        }
        let at = other - *first;
        row.resize(row.len().max(at + 1), 0.0);
        row[at] = p;
    }
}

/// The learned reader.
pub struct Reader {
    pieces: Pieces,
    net: Net,
    /// For each feature of this program, its row in the net's table.
    rows: Vec<Option<usize>>,
}

impl Reader {
    /// From the table of word pieces and the file of weights.
    ///
    /// # Errors
    /// [`WeightsError`] where they are not such files, are damaged, or do not go together.
    pub fn new(pieces: &str, weights: &[u8]) -> Result<Self, WeightsError> {
        let pieces = Pieces::from_lines(pieces).ok_or(WeightsError::Other)?;
        let weights = Weights::read(weights)?;
        let row: HashMap<&str, usize> = weights.features.iter().map(String::as_str).zip(0..).collect();
        let rows = names().iter().map(|n| row.get(n.as_str()).copied()).collect();
        let net = Net::load(&weights).ok_or_else(|| WeightsError::Damaged("its shape".to_owned()))?;
        Ok(Self { pieces, net, rows })
    }

    /// Reads a text that was read as far as its phrases. A long one is read in stretches, cut where
    /// sentences end.
    pub fn read(&self, r: &Passage<'_>) -> Read {
        let pieces: Vec<Vec<u32>> = r.tokens.iter().map(|t| self.pieces.of(&r.folded[t.span.clone()])).collect();
        let features: Vec<Vec<usize>> =
            features(r).iter().map(|f| f.iter().filter_map(|k| self.rows[usize::from(*k)]).collect()).collect();
        let mut out = Read::default();
        let mut from = 0;
        while from < r.tokens.len() {
            let to = self.stretch(r, &pieces, from);
            self.add(r, from, &pieces[from..to], &features[from..to], &mut out);
            from = to;
        }
        out
    }

    /// Where a stretch that begins at a token ends: with the text, or with the last sentence that is seen whole.
    fn stretch(&self, r: &Passage<'_>, pieces: &[Vec<u32>], from: usize) -> usize {
        let room = self.net.most() - 2;
        let mut used = 0;
        let mut sentence = None;
        for (i, p) in pieces.iter().enumerate().skip(from) {
            used += p.len();
            if used > room {
                return sentence.unwrap_or(i).max(from + 1);
            }
            if r.tokens[i].ends_sentence() {
                sentence = Some(i + 1);
            }
        }
        pieces.len()
    }

    fn add(&self, r: &Passage<'_>, from: usize, pieces: &[Vec<u32>], features: &[Vec<usize>], out: &mut Read) {
        let most = self.net.most() - 2;
        let mut ids = vec![self.pieces.opens];
        let mut token = vec![None];
        for (i, of) in pieces.iter().enumerate() {
            // One token of more pieces than can be seen is no word.
            let of = &of[..of.len().min(most)];
            token.extend(std::iter::repeat_n(Some(i), of.len()));
            ids.extend(of);
        }
        ids.push(self.pieces.closes);
        token.push(None);
        let seen = self.net.encode(&ids, &token, features);
        let shares: Vec<Vec<f32>> = self
            .net
            .roles(&seen)
            .rows()
            .into_iter()
            .map(|row| {
                let mut row = row.to_vec();
                softmax(&mut row);
                row
            })
            .collect();
        let (standing, bits, effects) = (self.net.standing(&seen), self.net.bits(&seen), self.net.effects(&seen));
        let before = out.mentions.len();
        let mut starts = Vec::new();
        for (tokens, role, sure) in joined(stretches(&shares), |t| holds(r, from, t)) {
            let at = tokens.start;
            starts.push(at);
            let mut stands = standing.row(at).to_vec();
            softmax(&mut stands);
            let mut moves = effects.row(at).to_vec();
            softmax(&mut moves);
            let (k, p) = moves.iter().enumerate().fold((0, 0.0), |b, (k, p)| if *p > b.1 { (k, *p) } else { b });
            let bit = |k: usize| sigmoid(bits[(at, k)]);
            out.mentions.push(Mention {
                tokens: tokens.start + from..tokens.end + from,
                role: Role::ALL[role].0,
                sure,
                standing: [stands[0], stands[1], stands[2]],
                opens: bit(0),
                ends_run: bit(1),
                doubted: bit(2),
                of_roll: bit(3),
                again: bit(4),
                effect: (Effect::ALL[k], p),
            });
        }
        if !starts.is_empty() {
            let p = self.net.together(&seen, &starts, &starts);
            out.together.extend(p.rows().into_iter().map(|r| (before, r.to_vec())));
        }
    }
}

/// Whether tokens of a stretch hold a number or a name of the kit.
fn holds(r: &Passage<'_>, from: usize, tokens: &Range<usize>) -> bool {
    let inside =
        |start: u16, end: u16| usize::from(start) >= tokens.start + from && usize::from(end) <= tokens.end + from;
    r.found.numbers.iter().any(|n| inside(n.start, n.end)) || r.found.named.iter().any(|n| inside(n.start, n.end))
}

/// Joins a stretch that holds nothing by itself ("frame", "the") to one of the same role behind it.
fn joined(
    all: Vec<(Range<usize>, usize, f32)>,
    holds: impl Fn(&Range<usize>) -> bool,
) -> Vec<(Range<usize>, usize, f32)> {
    let leads = [Role::Number, Role::Lens, Role::Rating, Role::Roll, Role::Aperture, Role::Shutter, Role::Camera];
    let mut out: Vec<(Range<usize>, usize, f32)> = Vec::new();
    for (tokens, role, sure) in all {
        match out.last_mut() {
            Some((before, same, _))
                if before.end == tokens.start
                    && *same == role
                    && leads.contains(&Role::ALL[role].0)
                    && !holds(before) =>
            {
                before.end = tokens.end;
                out.last_mut().expect("there is one").2 = sure;
            }
            _ => out.push((tokens, role, sure)),
        }
    }
    out
}
