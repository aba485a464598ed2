//! What recognisers do to numbers and words, undone in the tokens: torn words, numbers run
//! together, an aperture written as a part of a second. Only what hardly means anything else is mended; the
//! value is then given as if it had been written so.

use crate::exposure::{Aperture, ApertureStep};

use super::lexicon::Lexicon;
use super::marks;
use super::token::{Kind, Token};

/// A frame number beyond what the cameras hold by more than this is two numbers. Frames.
const MORE_FRAMES: u32 = 4;
/// Frames of a roll where the kit names no camera.
const USUAL_FRAMES: u32 = 40;
/// A word shorter than this is not parted. Letters.
const LEAST_WORD: usize = 5;
/// A speed slower than this one, run together with an aperture, could as well be a price or a time of day.
const LEAST_JOINED: f64 = 25.0;

impl Lexicon {
    /// Mends the tokens of a text.
    pub(super) fn mend(&self, folded: &str, tokens: &mut Vec<Token>) {
        self.part_words(folded, tokens);
        self.mend_words(tokens);
        self.mend_numbers(tokens);
        self.mend_counts(tokens);
        self.part_focals(tokens);
        self.part_frames(tokens);
        self.part_apertures(tokens);
        self.drop_hyphens(tokens);
        self.part_pairs(tokens);
        self.join_hundreds(tokens);
        self.mend_speeds(tokens);
        self.mend_apertures(tokens);
    }

    /// "Sick steenth" is one word, torn; "um" is none.
    fn mend_words(&self, tokens: &mut Vec<Token>) {
        let comma = |t: Option<&Token>| t.is_some_and(|t| t.kind == Kind::Mark(','));
        let mut k = 0;
        while k < tokens.len() {
            if self.in_list("hesitation", &tokens[k]) {
                let doubled = comma(tokens.get(k + 1)) && (k == 0 || comma(tokens.get(k - 1)));
                tokens.drain(k..=k + usize::from(doubled));
            } else {
                k += 1;
            }
        }
        for i in 0..tokens.len() {
            if let Some((parts, meant)) = self.torn.iter().find(|(parts, _)| words_at(tokens, i, parts)) {
                tokens[i].id = Some(*meant);
                join(tokens, i, parts.len());
            }
        }
    }

    /// "Polarizeron": a small word run together with the word before it.
    fn part_words(&self, folded: &str, tokens: &mut Vec<Token>) {
        let Some(small) = self.lists.get("glued") else { return };
        for i in (0..tokens.len()).rev() {
            if tokens[i].kind != Kind::Word || tokens[i].id.is_some() {
                continue;
            }
            let (span, word) = (tokens[i].span.clone(), &folded[tokens[i].span.clone()]);
            let parts = (LEAST_WORD..word.len()).filter(|k| word.is_char_boundary(*k)).find_map(|k| {
                let (head, tail) = (self.words.get(&word[..k])?, self.words.get(&word[k..])?);
                small.contains(tail).then_some((k, *head, *tail))
            });
            if let Some((k, head, tail)) = parts {
                let glued = tokens[i].glued;
                tokens[i] = Token { glued, ..word_token(head, span.start..span.start + k) };
                tokens.insert(i + 1, word_token(tail, span.start + k..span.end));
            }
        }
    }

    /// "Frame A," is frame eight, "F/A" is f/8, "I.6" is 5.6.
    fn mend_numbers(&self, tokens: &mut Vec<Token>) {
        for i in 1..tokens.len() {
            let ends = || tokens.get(i + 1).is_none_or(|t| t.is_mark() || self.in_list("be", t));
            if self.in_list("frame-word", &tokens[i - 1]) && ends() {
                self.takes_number(tokens, i, "after-frame");
            }
            let stroke = i > 1 && tokens[i].glued && matches!(tokens[i - 1].kind, Kind::Mark('/' | '-' | '.'));
            if stroke && self.in_list("f-word", &tokens[i - 2]) && self.takes_number(tokens, i, "after-f") {
                tokens[i - 1].kind = Kind::Mark('/');
            }
        }
        for i in (0..tokens.len()).rev() {
            if i + 2 >= tokens.len() {
                continue;
            }
            let point = tokens[i + 1].glued && matches!(tokens[i + 1].kind, Kind::Mark('.' | ','));
            let value = 5.0 + number(&tokens[i + 2]).unwrap_or(0.0) / 10.0;
            if self.in_list("heard-five", &tokens[i]) && point && tokens[i + 2].glued && marks::full_aperture(value) {
                tokens[i].kind = Kind::Number { value, digits: 1, decimals: 1 };
                join(tokens, i, 3);
            }
        }
    }

    /// What words from `i` are heard for, as a list of this name has it: how many words, and what is meant.
    fn heard_as(&self, list: &str, tokens: &[Token], i: usize) -> impl Iterator<Item = (usize, u32)> {
        let heard = self.heard_in_place.iter().filter(move |(l, parts, _)| l == list && words_at(tokens, i, parts));
        heard.map(|(_, parts, meant)| (parts.len(), *meant))
    }

    /// Makes a word the number that this list has it for; whether it has it.
    fn takes_number(&self, tokens: &mut [Token], i: usize, list: &str) -> bool {
        let meant = self.heard_as(list, tokens, i).next().map(|(_, meant)| meant);
        tokens[i].id = meant.or(tokens[i].id);
        meant.is_some()
    }

    /// "2 at the wake, both a thousandth": two of the wake.
    fn mend_counts(&self, tokens: &mut [Token]) {
        let Some(of) = self.first_of("count-of") else { return };
        for i in 0..tokens.len().saturating_sub(2) {
            let begins = i == 0 || tokens[i - 1].is_mark();
            let two = whole(&tokens[i]) == Some(2) && number(&tokens[i + 2]).is_none();
            let both = tokens[i + 2..].iter().take_while(|t| !t.ends_sentence()).any(|t| self.in_list("both", t));
            if begins && two && both && self.in_list("at", &tokens[i + 1]) {
                tokens[i + 1].id = Some(of);
            }
        }
    }

    /// "Frame 8200mm" is frame 8 with the 200: a frame number and a focal
    /// length of the kit that a recogniser has written as one.
    fn part_focals(&self, tokens: &mut Vec<Token>) {
        for i in (1..tokens.len().saturating_sub(1)).rev() {
            if tokens[i - 1].kind == Kind::Word
                && self.in_list("focal-unit", &tokens[i + 1])
                && let Some(n) = whole(&tokens[i]).filter(|n| *n >= 100)
                && let Some(digits) = self.focal_digits(n)
            {
                part(tokens, i, digits);
            }
        }
    }

    /// How many digits of a frame number and a focal length, written as one, are the focal length's.
    fn focal_digits(&self, n: u32) -> Option<usize> {
        if self.focals.iter().any(|f| f.covers(f64::from(n))) {
            return None;
        }
        let fits = |digits: &u32| {
            let (head, tail) = (n / 10_u32.pow(*digits), n % 10_u32.pow(*digits));
            (1..=40).contains(&head) && self.focals.iter().any(|f| f.covers(f64::from(tail)))
        };
        [3_u32, 2].into_iter().find(fits).map(|digits| digits as usize)
    }

    /// "Frame 660" is frame 6, a sixtieth; "sheet 1.5" is sheet 1, a half.
    fn part_frames(&self, tokens: &mut Vec<Token>) {
        let most = self.most_frames.map_or(USUAL_FRAMES, |n| u32::from(n) + MORE_FRAMES);
        for i in (1..tokens.len()).rev() {
            if !self.in_list("frame-word", &tokens[i - 1]) {
                continue;
            }
            if let Kind::Number { value, decimals: 1, .. } = tokens[i].kind
                && value.fract() == 0.5
            {
                part(tokens, i, 2);
                comma_before(tokens, i + 1);
            }
            // "Frame 00".
            if matches!(tokens[i].kind, Kind::Number { value: 0.0, digits: 2, decimals: 0 }) {
                part(tokens, i, 1);
            }
            let Some(n) = whole(&tokens[i]).filter(|n| *n > most) else { continue };
            let fits = |head: u32, tail: u32| (1..=most).contains(&head) && tail >= 10 && marks::speed(f64::from(tail));
            if let Some(digits) = only_split(n, fits) {
                part(tokens, i, digits);
                comma_before(tokens, i + 1);
            }
        }
    }

    /// "F1160th" is f/11, a sixtieth; "f 5635 mil" is f/5.6 and a lens of 35 mm.
    fn part_apertures(&self, tokens: &mut Vec<Token>) {
        for i in (1..tokens.len()).rev() {
            let before = if tokens[i - 1].kind == Kind::Mark('-') && i > 1 { i - 2 } else { i - 1 };
            if !self.in_list("f-word", &tokens[before]) {
                continue;
            }
            let Some(n) = whole(&tokens[i]).filter(|n| *n >= 100) else { continue };
            let after = tokens.get(i + 1);
            let focal = after.is_some_and(|t| self.in_list("focal-unit", t));
            let fits = |head: u32, tail: u32| {
                let tail = f64::from(tail);
                head > 1
                    && aperture_digits(head)
                    && if focal { self.reaches(tail) } else { tail >= 10.0 && marks::speed(tail) }
            };
            if let Some(digits) = only_split(n, fits) {
                part(tokens, i, digits);
                comma_before(tokens, i + 1);
            }
        }
    }

    /// "A 100 and 60th" is one number.
    fn join_hundreds(&self, tokens: &mut Vec<Token>) {
        for i in (0..tokens.len()).rev() {
            if i + 3 >= tokens.len() {
                continue;
            }
            let and = tokens[i + 1].id.is_some_and(|id| self.numbers.ands.contains(&id));
            let (Some(n), Some(rest)) = (whole(&tokens[i]), whole(&tokens[i + 2])) else { continue };
            let parts = n.is_multiple_of(100) && (1..=900).contains(&n) && (10..100).contains(&rest);
            let sum = f64::from(n) + f64::from(rest);
            if and && parts && self.is_suffix(&tokens[i + 3]) && marks::speed(sum) {
                tokens[i].kind = Kind::Number { value: sum, digits: 3, decimals: 0 };
                join(tokens, i, 3);
            }
        }
    }

    /// "10-stop", "N-D-3.0" and "Plover-400" are names and measures like those without a hyphen.
    fn drop_hyphens(&self, tokens: &mut Vec<Token>) {
        let letter = |t: &Token| t.kind == Kind::Word && t.span.len() == 1;
        for i in (1..tokens.len().saturating_sub(1)).rev() {
            let stop = number(&tokens[i - 1]).is_some() && self.in_list("stop-word", &tokens[i + 1]);
            if stop && tokens[i].kind == Kind::Mark('.') {
                tokens.remove(i);
                continue;
            }
            if tokens[i].kind != Kind::Mark('-') || !tokens[i].glued || !tokens[i + 1].glued {
                continue;
            }
            let named =
                tokens[i - 1].kind == Kind::Word && tokens[i - 1].span.len() > 2 && number(&tokens[i + 1]).is_some();
            let measure =
                number(&tokens[i - 1]).is_some() && (self.measures(&tokens[i + 1]) || self.is_suffix(&tokens[i + 1]));
            // "A-100 and 60th", "10. Stop on".
            let article = self.is_article(&tokens[i - 1]) && number(&tokens[i + 1]).is_some();
            let letters = i > 1 && letter(&tokens[i - 1]) && letter(&tokens[i - 2]) && number(&tokens[i + 1]).is_some();
            if measure || letters || named || article {
                tokens.remove(i);
            }
        }
    }

    /// "125.8", "250/11", "4/500" and "125-8" are a speed and an aperture.
    fn part_pairs(&self, tokens: &mut Vec<Token>) {
        let Some(at) = self.first_of("at") else { return };
        for i in (0..tokens.len()).rev() {
            let measured = |t: Option<&Token>| t.is_some_and(|t| self.measures(t) || self.is_suffix(t));
            if i > 0 && (self.in_list("f-word", &tokens[i - 1]) || tokens[i - 1].kind == Kind::Mark('-')) {
                continue;
            }
            if let Kind::Number { value, decimals: decimals @ 1..=2, .. } = tokens[i].kind {
                let tail = (value.fract() * 10_f64.powi(i32::from(decimals))).round();
                // "An 8.32", "and 8.11".
                let said_a = i > 0
                    && (self.is_article(&tokens[i - 1]) || decimals == 2 && self.in_list("and-for-at", &tokens[i - 1]));
                let least = if said_a { 2.0 } else { LEAST_JOINED };
                let fits = value.trunc() >= least && marks::speed(value.trunc()) && marks::full_aperture(tail);
                let free = !measured(tokens.get(i + 1));
                if fits && free && tokens[i].span.len() > usize::from(decimals) + 1 {
                    part(tokens, i, usize::from(decimals));
                    let point = tokens[i].span.end - 1;
                    tokens[i].span.end = point;
                    tokens.insert(i + 1, word_token(at, point..point + 1));
                }
                continue;
            }
            let mark = tokens.get(i + 1).filter(|t| t.glued).map(|t| t.kind);
            let Some((n, d)) = whole(&tokens[i]).zip(tokens.get(i + 2).filter(|t| t.glued).and_then(number)) else {
                continue;
            };
            let n = f64::from(n);
            let speed_first = n >= LEAST_JOINED && marks::speed(n) && marks::full_aperture(d) && !self.has_prime(n);
            let joined = match mark {
                Some(Kind::Mark('/')) => {
                    speed_first || n > 1.0 && marks::full_aperture(n) && d >= LEAST_JOINED && marks::full_speed(d)
                }
                // A range runs up, and "at 30-2" is 32.
                Some(Kind::Mark('-')) => speed_first && d < n && (i == 0 || !self.links(&tokens[i - 1])),
                _ => false,
            };
            if joined && !measured(tokens.get(i + 3)) {
                // "4/500s".
                if tokens.get(i + 3).is_some_and(|t| t.glued && self.in_list("plural", t)) {
                    tokens.remove(i + 3);
                }
                tokens[i + 1] = word_token(at, tokens[i + 1].span.clone());
            }
        }
    }

    /// "60 if at 22", "30 fit 16": the end of "sixtieth", heard as a word; "30 that 5.6".
    fn mend_speeds(&self, tokens: &mut Vec<Token>) {
        let (Some(at), Some(th)) = (self.first_of("at"), self.numbers.suffixes.first().copied()) else { return };
        let mut i = 1;
        while i + 1 < tokens.len() {
            if number(&tokens[i - 1]).is_some_and(|n| n >= 10.0 && marks::speed(n)) {
                let links = tokens[i + 1..].iter().take(2).take_while(|t| self.links(t)).count();
                let behind = |k: usize| tokens.get(k).and_then(number).is_some_and(marks::full_aperture);
                if links > 0 && behind(i + 1 + links) && self.in_list("heard-th", &tokens[i]) {
                    tokens[i] = Token { glued: true, ..word_token(th, tokens[i].span.clone()) };
                } else if behind(i + 1) && self.in_list("heard-th-at", &tokens[i]) {
                    let span = tokens[i].span.clone();
                    tokens[i] = Token { glued: true, ..word_token(th, span.start..span.start) };
                    tokens.insert(i + 1, word_token(at, span));
                } else if behind(i + 1) && self.in_list("surely-at", &tokens[i]) || self.leads_to_f(tokens, i) {
                    tokens[i].id = Some(at);
                }
            }
            i += 1;
        }
    }

    /// "A 15 to F16": what stands between a speed and the letter of an aperture.
    fn leads_to_f(&self, tokens: &[Token], i: usize) -> bool {
        let f = |k: usize| tokens.get(k).is_some_and(|t| self.in_list("f-word", t));
        f(i + 1) && self.links(&tokens[i]) && (i < 2 || !f(i - 2)) && !self.changes(tokens, i)
    }

    /// What stands for "at eight" behind a speed: "at 8th", "to 8", "that it".
    fn mend_apertures(&self, tokens: &mut Vec<Token>) {
        let Some(at) = self.first_of("at") else { return };
        let mut i = 1;
        while i < tokens.len() {
            let Some(exact) = self.ends_speed(tokens, i) else {
                i += 1;
                continue;
            };
            i += 1;
            // "A 60th rate", "a 500th that it", and nothing after it.
            let said = self.heard_as("after-speed", tokens, i).find(|(parts, _)| {
                let ends = tokens.get(i + parts).is_none_or(|t| t.is_mark() && !t.glued || t.ends_sentence());
                exact && ends
            });
            if let Some((parts, meant)) = said {
                join(tokens, i, parts);
                let span = tokens[i].span.clone();
                tokens[i] = word_token(at, span.start..span.start);
                tokens.insert(i + 1, word_token(meant, span));
                continue;
            }
            let fast = i > 1 && number(&tokens[i - 2]).is_some_and(|n| n >= LEAST_JOINED);
            let joins = |t: &&Token| self.links(t) || fast && self.in_list("and-for-at", t);
            let links = tokens[i..].iter().take(2).take_while(joins).count();
            if links > 0 && exact {
                join_stroke(tokens, i + links);
            }
            let Some(value) = tokens.get(i + links).and_then(number).filter(|_| links > 0) else { continue };
            let (plain, after) = (self.in_list("at", &tokens[i]), i + links + 1);
            let part = tokens.get(after).is_some_and(|t| t.glued && self.is_suffix(t));
            let joined = self.in_list("and-for-at", &tokens[i]);
            if part && exact && self.sounds_like_aperture(value) && !self.changes(tokens, i) {
                tokens.remove(after);
            } else if part || plain || joined || !marks::full_aperture(value) || self.changes(tokens, i) {
                continue;
            }
            if tokens.get(after).is_none_or(|t| !self.measures(t)) {
                tokens[i].id = Some(at);
                join(tokens, i, links);
            }
        }
    }

    /// Whether a number is an f-number, or sounds like one.
    fn sounds_like_aperture(&self, n: f64) -> bool {
        let aperture = |n: f64| Aperture::new(n).is_some_and(|a| ApertureStep::Third.has(a));
        let alike = |(a, b): &(u32, u32)| f64::from(*a) == n && aperture(f64::from(*b));
        aperture(n) || self.numbers.alike.iter().any(alike)
    }

    /// Whether a speed ends before token `i + 1`: "a 250th" for certain, "a 250" as likely as not.
    fn ends_speed(&self, tokens: &[Token], i: usize) -> Option<bool> {
        let speed = |k: usize| number(&tokens[k]).is_some_and(marks::speed);
        if tokens[i].glued && self.is_suffix(&tokens[i]) && speed(i - 1) {
            return Some(true);
        }
        let article = self.is_article(&tokens[i - 1]);
        let fast = number(&tokens[i]).is_some_and(|n| n >= 15.0);
        (article && fast && speed(i)).then_some(false)
    }

    /// What is heard for the word between a speed and an aperture.
    fn links(&self, t: &Token) -> bool {
        self.in_list("heard-at", t) || t.id.is_some() && t.id == self.first_of("at")
    }

    /// Whether a word shortly before says that one value becomes another: "from a 30th to 8".
    fn changes(&self, tokens: &[Token], i: usize) -> bool {
        tokens[..i].iter().rev().take(6).take_while(|t| !t.ends_sentence()).any(|t| self.in_list("changing", t))
    }

    fn measures(&self, t: &Token) -> bool {
        self.in_list("measure", t) || self.in_list("focal-unit", t)
    }

    fn is_article(&self, t: &Token) -> bool {
        t.id.is_some_and(|id| self.numbers.articles.contains(&id))
    }

    fn is_suffix(&self, t: &Token) -> bool {
        t.id.is_some_and(|id| self.numbers.suffixes.contains(&id))
    }

    fn first_of(&self, list: &str) -> Option<u32> {
        self.lists.get(list)?.first().copied()
    }
}

fn words_at(tokens: &[Token], i: usize, words: &[u32]) -> bool {
    tokens.get(i..i + words.len()).is_some_and(|t| t.iter().zip(words).all(|(t, w)| t.id == Some(*w)))
}

/// Makes `n` tokens one, the first, over all of their text.
fn join(tokens: &mut Vec<Token>, i: usize, n: usize) {
    tokens[i].span.end = tokens[i + n - 1].span.end;
    tokens.drain(i + 1..i + n);
}

/// "At 1/4" behind a speed is f/1.4.
fn join_stroke(tokens: &mut Vec<Token>, i: usize) {
    let Some([a, stroke, b]) = tokens.get(i..i + 3) else { return };
    let (Some(a), Some(b), '/') = (whole(a), whole(b), if let Kind::Mark(m) = stroke.kind { m } else { ' ' }) else {
        return;
    };
    let value = f64::from(a) + f64::from(b) / 10.0;
    if a < 10 && b < 10 && marks::full_aperture(value) {
        tokens[i].kind = Kind::Number { value, digits: 1, decimals: 1 };
        join(tokens, i, 3);
    }
}

fn word_token(id: u32, span: std::ops::Range<usize>) -> Token {
    Token { kind: Kind::Word, span, glued: false, id: Some(id) }
}

fn number(t: &Token) -> Option<f64> {
    if let Kind::Number { value, .. } = t.kind { Some(value) } else { None }
}

fn whole(t: &Token) -> Option<u32> {
    if let Kind::Number { value, decimals: 0, .. } = t.kind { Some(value as u32) } else { None }
}

/// Parts a written number: its last `digits` signs become a number of their own.
fn part(tokens: &mut Vec<Token>, i: usize, digits: usize) {
    let Token { kind: Kind::Number { value, decimals, .. }, span, glued, .. } = tokens[i].clone() else { return };
    let Some(middle) = span.end.checked_sub(digits).filter(|m| *m > span.start) else { return };
    let scale = 10_f64.powi(digits as i32);
    let (head, tail) = match usize::from(decimals) {
        0 => ((value / scale).trunc(), value % scale),
        // All signs behind the point, or the point too.
        d if d == digits => (value.trunc(), (value.fract() * scale).round()),
        _ => (value.trunc(), value.fract()),
    };
    let token = |value: f64, digits: usize, span, glued| Token {
        kind: Kind::Number { value, digits: digits as u8, decimals: u8::from(value.fract() != 0.0) },
        span,
        glued,
        id: None,
    };
    tokens[i] = token(head, middle - span.start, span.start..middle, glued);
    tokens.insert(i + 1, token(tail, digits, middle..span.end, false));
}

/// A comma that was said but not written.
fn comma_before(tokens: &mut Vec<Token>, i: usize) {
    let start = tokens[i].span.start;
    tokens.insert(i, Token { kind: Kind::Mark(','), span: start..start, glued: true, id: None });
}

/// How many digits the tail has in the one way to part a number that fits; none where several do.
fn only_split(n: u32, fits: impl Fn(u32, u32) -> bool) -> Option<usize> {
    let digits = n.checked_ilog10()?;
    let split = |d: &u32| {
        let (head, tail) = (n / 10_u32.pow(*d), n % 10_u32.pow(*d));
        // A tail does not begin with a nought.
        tail.checked_ilog10() == Some(*d - 1) && fits(head, tail)
    };
    let mut ways = (1..=digits).filter(split);
    let first = ways.next()?;
    ways.next().is_none().then_some(first as usize)
}

/// An f-number as its digits are written without a point: 8, 11, 56.
fn aperture_digits(n: u32) -> bool {
    marks::full_aperture(f64::from(n)) || (14..=99).contains(&n) && marks::full_aperture(f64::from(n) / 10.0)
}
