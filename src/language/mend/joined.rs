//! Numbers that a recogniser wrote as one, or tore apart: parted and joined in the tokens, where
//! there is just one way that fits the gear and the marks.

use crate::exposure::Speed;
use crate::kit::Dial;

use super::edit::{LEAST_JOINED, join, number, whole, word_token};
use crate::language::grammar::Lexicon;
use crate::language::text::{Kind, Mend, Token, marks};

/// A frame number beyond what the cameras hold by more than this is two numbers. Frames.
const MORE_FRAMES: u32 = 4;
/// Frames of a roll where the kit names no camera.
const USUAL_FRAMES: u32 = 40;
impl Lexicon {
    /// "Frame 8200mm" is frame 8 with the 200: a frame number and a focal
    /// length of the kit that a recogniser has written as one.
    pub fn part_focals(&self, tokens: &mut Vec<Token>) {
        for i in (1..tokens.len().saturating_sub(1)).rev() {
            if tokens[i - 1].kind == Kind::Word
                && self.in_list("focal-unit", &tokens[i + 1])
                && let Some(n) = whole(&tokens[i]).filter(|n| *n >= 100)
                && let Some(digits) = self.focal_digits(n)
            {
                part(tokens, i, digits, Mend::FrameFocal);
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
    pub fn part_frames(&self, tokens: &mut Vec<Token>) {
        let most = self.most_frames.map_or(USUAL_FRAMES, |n| u32::from(n) + MORE_FRAMES);
        for i in (1..tokens.len()).rev() {
            if !self.in_list("frame-word", &tokens[i - 1]) {
                continue;
            }
            if let Kind::Number { value, decimals: 1, .. } = tokens[i].kind
                && value.fract() * 2.0 == 1.0
            {
                part(tokens, i, 2, Mend::FrameHalf);
                self.comma_before(tokens, i + 1);
            }
            // "Frame 00".
            if matches!(tokens[i].kind, Kind::Number { value: 0.0, digits: 2, decimals: 0 }) {
                part(tokens, i, 1, None);
            }
            let Some(n) = whole(&tokens[i]).filter(|n| *n > most) else { continue };
            let fits = |head: u32, tail: u32| (1..=most).contains(&head) && tail >= 10 && marks::speed(f64::from(tail));
            if let Some(digits) = only_split(n, fits) {
                part(tokens, i, digits, Mend::FrameSpeed);
                self.comma_before(tokens, i + 1);
            }
        }
    }

    /// "F1160th" is f/11, a sixtieth; "f 5635 mil" is f/5.6 and a lens of 35 mm.
    pub fn part_apertures(&self, tokens: &mut Vec<Token>) {
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
                part(tokens, i, digits, Mend::StopRun);
                self.comma_before(tokens, i + 1);
            }
        }
    }

    /// A comma that was said but not written.
    fn comma_before(&self, tokens: &mut Vec<Token>, i: usize) {
        let start = tokens[i].span.start;
        let id = self.words.get(",").copied();
        tokens.insert(i, Token { kind: Kind::Mark(','), span: start..start, glued: true, id, mend: None });
    }

    /// "A 100 and 60th" is one number.
    pub fn join_hundreds(&self, tokens: &mut Vec<Token>) {
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
                tokens[i].mend = Some(Mend::Hundred);
                join(tokens, i, 3);
            }
        }
    }

    /// "10-stop", "N-D-3.0" and "Plover-400" are names and measures like those without a hyphen.
    pub fn drop_hyphens(&self, tokens: &mut Vec<Token>) {
        let letter = |t: &Token| t.kind == Kind::Word && t.span.len() == 1;
        for i in (1..tokens.len().saturating_sub(1)).rev() {
            let stop = number(&tokens[i - 1]).is_some() && self.in_list("stop-word", &tokens[i + 1]);
            if stop && tokens[i].kind == Kind::Mark('.') {
                tokens.remove(i);
                continue;
            }
            if tokens[i].kind != Kind::Mark('-') {
                continue;
            }
            let glued = tokens[i].glued && tokens[i + 1].glued;
            let named =
                tokens[i - 1].kind == Kind::Word && tokens[i - 1].span.len() > 2 && number(&tokens[i + 1]).is_some();
            let measure =
                number(&tokens[i - 1]).is_some() && (self.measures(&tokens[i + 1]) || self.is_suffix(&tokens[i + 1]));
            // "A-100 and 60th", "10. Stop on".
            let article = self.is_article(&tokens[i - 1]) && number(&tokens[i + 1]).is_some();
            let letters = i > 1 && letter(&tokens[i - 1]) && letter(&tokens[i - 2]) && number(&tokens[i + 1]).is_some();
            // "T - 2.5 minutes".
            let held = self.in_list("hold-letter", &tokens[i - 1])
                && number(&tokens[i + 1]).is_some()
                && tokens.get(i + 2).is_some_and(|t| self.in_list("time-unit", t));
            if glued && (measure || letters || named || article) || held {
                tokens.remove(i);
            }
        }
    }

    /// "125.8", "250/11", "4/500" and "125-8" are a speed and an aperture.
    pub fn part_pairs(&self, tokens: &mut Vec<Token>) {
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
                    let slow = value.trunc() < LEAST_JOINED;
                    part(tokens, i, usize::from(decimals), if slow { Mend::SlowPairPoint } else { Mend::PairPoint });
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
                let mend = if mark == Some(Kind::Mark('/')) { Mend::PairStroke } else { Mend::PairDash };
                tokens[i].mend = Some(mend);
                tokens[i + 2].mend = Some(mend);
                tokens[i + 1] = word_token(at, tokens[i + 1].span.clone());
            }
        }
    }

    /// "Frame 12, 258, …": 250 and 8, written as one number that is nothing else.
    pub fn part_sums(&self, tokens: &mut Vec<Token>) {
        let Some(at) = self.first_of("at") else { return };
        for i in (1..tokens.len()).rev() {
            let ends = tokens.get(i + 1).is_none_or(|t| t.ends_sentence() || t.kind == Kind::Mark(','));
            // "127.f8" has its aperture.
            let set = tokens.get(i + 2).is_some_and(|t| self.in_list("f-word", t) || self.in_list("at", t));
            let alone = tokens[i - 1].is_mark() && !tokens[i].glued && ends && !set;
            let Some(n) = whole(&tokens[i]).filter(|n| alone && *n >= 100 && !marks::speed(f64::from(*n))) else {
                continue;
            };
            if self.focals.iter().any(|f| f.covers(f64::from(n))) {
                continue;
            }
            let fits = |speed: u32, stop: u32| {
                let mark = Speed::nth(f64::from(speed));
                let on_dial = |d: &Dial| mark.is_some_and(|m| d.marks().contains(&m));
                speed >= 25 && self.dials.iter().any(on_dial) && stop > 1 && marks::full_aperture(f64::from(stop))
            };
            let added = [4, 8].into_iter().filter(|stop| fits(n - stop, *stop)).map(|stop| (n - stop, stop));
            let run = only_split(n, fits).map(|digits| 10_u32.pow(digits as u32)).map(|scale| (n / scale, n % scale));
            let mut ways = added.chain(run);
            let (Some((speed, stop)), None) = (ways.next(), ways.next()) else { continue };
            let end = tokens[i].span.end;
            let [speed, stop] = [speed, stop].map(|n| made(n, &tokens[i], Mend::PairRun));
            tokens.splice(i..=i, [speed, word_token(at, end..end), Token { glued: false, ..stop }]);
        }
    }
}

/// "At 1/4" behind a speed is f/1.4.
pub fn join_stroke(tokens: &mut Vec<Token>, i: usize) {
    let Some([a, stroke, b]) = tokens.get(i..i + 3) else { return };
    let (Some(a), Some(b), '/') = (whole(a), whole(b), if let Kind::Mark(m) = stroke.kind { m } else { ' ' }) else {
        return;
    };
    let value = f64::from(a) + f64::from(b) / 10.0;
    if a < 10 && b < 10 && marks::full_aperture(value) {
        tokens[i].kind = Kind::Number { value, digits: 1, decimals: 1 };
        tokens[i].mend = Some(Mend::StopStroke);
        join(tokens, i, 3);
    }
}

/// Parts a written number: its last `digits` signs become a number of their own.
fn part(tokens: &mut Vec<Token>, i: usize, digits: usize, mend: impl Into<Option<Mend>>) {
    let mend = mend.into();
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
        mend,
    };
    tokens[i] = token(head, middle - span.start, span.start..middle, glued);
    tokens.insert(i + 1, token(tail, digits, middle..span.end, false));
}

/// A whole number in the place of another.
fn made(value: u32, of: &Token, mend: Mend) -> Token {
    let digits = 1 + value.max(1).ilog10() as u8;
    Token { kind: Kind::Number { value: f64::from(value), digits, decimals: 0 }, mend: Some(mend), ..of.clone() }
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
