//! What recognisers do to words, undone in the tokens: words torn apart or run together, words heard
//! for a number, for the end of a speed or for what joins a speed to an aperture. Each token that was
//! made up so says how; what it is worth is told in `mended`.

use crate::exposure::{Aperture, ApertureStep};

use super::edit::{LEAST_JOINED, join, number, whole, word_token, words_at};
use super::joined::join_stroke;
use crate::language::grammar::{Lexicon, word};
use crate::language::text::{Kind, Mend, Token, marks, tokens};

/// A word shorter than this is not parted. Letters.
const LEAST_WORD: usize = 5;
/// What is longer than this is no word, nor two run together. Bytes.
const LONGEST_WORD: usize = 60;

impl Lexicon {
    /// Tokens of folded text, known and mended.
    pub fn tokens(&self, folded: &str) -> Vec<Token> {
        self.known(folded, tokens(folded).collect())
    }

    /// Tokens of folded text with the numbers of the words that the lexicon knows, mended.
    pub fn known(&self, folded: &str, mut all: Vec<Token>) -> Vec<Token> {
        for t in &mut all {
            t.id = self.words.get(&*word(folded, t)).copied();
        }
        self.mend(folded, &mut all);
        all
    }

    /// Mends the tokens of a text.
    fn mend(&self, folded: &str, tokens: &mut Vec<Token>) {
        self.part_words(folded, tokens);
        self.mend_words(tokens);
        self.mend_numbers(tokens);
        self.mend_counts(tokens);
        self.mend_stops(tokens);
        self.part_focals(tokens);
        self.part_frames(tokens);
        self.part_apertures(tokens);
        self.drop_hyphens(tokens);
        self.part_pairs(tokens);
        self.part_sums(tokens);
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
                tokens[i].mend = Some(Mend::Torn);
                join(tokens, i, parts.len());
            }
        }
    }

    /// "Polarizeron": a small word run together with the word before it.
    fn part_words(&self, folded: &str, tokens: &mut Vec<Token>) {
        let Some(small) = self.lists.get("glued") else { return };
        for i in (0..tokens.len()).rev() {
            if tokens[i].kind != Kind::Word || tokens[i].id.is_some() || tokens[i].span.len() > LONGEST_WORD {
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
        for i in 0..tokens.len() {
            if self.sets_aperture(tokens, i + 1) {
                self.takes_number(tokens, i, "before-aperture", Mend::SpeedSound);
            }
        }
        for i in 1..tokens.len() {
            let ends = tokens.get(i + 1).is_none_or(|t| t.is_mark() || self.in_list("be", t));
            if self.in_list("frame-word", &tokens[i - 1])
                && !self.takes_number(tokens, i, "after-frame-any", Mend::FrameSound)
                && ends
            {
                self.takes_number(tokens, i, "after-frame", Mend::FrameSound);
            }
            let stroke = i > 1 && tokens[i].glued && matches!(tokens[i - 1].kind, Kind::Mark('/' | '-' | '.'));
            if stroke
                && self.in_list("f-word", &tokens[i - 2])
                && self.takes_number(tokens, i, "after-f", Mend::StopSound)
            {
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
                tokens[i].mend = Some(Mend::FiveSound);
                join(tokens, i, 3);
            }
        }
    }

    /// Whether "at" and an aperture of the full stops stand at token `i`.
    pub fn sets_aperture(&self, tokens: &[Token], i: usize) -> bool {
        let aperture = |t: &Token| self.in_list("f-word", t) || number(t).is_some_and(marks::full_aperture);
        tokens.get(i).is_some_and(|t| self.in_list("at", t)) && tokens.get(i + 1).is_some_and(aperture)
    }

    /// "Opened up to a stop": two stops.
    fn mend_stops(&self, tokens: &mut Vec<Token>) {
        for i in 1..tokens.len() {
            let moved = self.in_list("moves-dial", &tokens[i - 1]);
            let Some((parts, meant)) = self.heard_as("heard-two", tokens, i).next().filter(|_| moved) else { continue };
            if tokens.get(i + parts).is_some_and(|t| self.in_list("stop-word", t)) {
                tokens[i].id = Some(meant);
                tokens[i].mend = Some(Mend::StopsSound);
                join(tokens, i, parts);
            }
        }
    }

    /// What words from `i` are heard for, as a list of this name has it: how many words, and what is meant.
    fn heard_as(&self, list: &str, tokens: &[Token], i: usize) -> impl Iterator<Item = (usize, u32)> {
        let heard = self.heard_in_place.iter().filter(move |(l, parts, _)| l == list && words_at(tokens, i, parts));
        heard.map(|(_, parts, meant)| (parts.len(), *meant))
    }

    /// Makes a word the number that this list has it for; whether it has it.
    fn takes_number(&self, tokens: &mut [Token], i: usize, list: &str, mend: Mend) -> bool {
        let Some((_, meant)) = self.heard_as(list, tokens, i).next() else { return false };
        tokens[i].id = Some(meant);
        tokens[i].mend = Some(mend);
        true
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

    /// "60 if at 22", "30 fit 16": the end of "sixtieth", heard as a word; "30 that 5.6".
    fn mend_speeds(&self, tokens: &mut Vec<Token>) {
        let (Some(at), Some(th)) = (self.first_of("at"), self.numbers.suffixes.first().copied()) else { return };
        let mut i = 1;
        while i + 1 < tokens.len() {
            if number(&tokens[i - 1]).is_some_and(|n| n >= 10.0 && marks::speed(n)) {
                let links = tokens[i + 1..].iter().take(2).take_while(|t| self.links(t)).count();
                let behind = |k: usize| tokens.get(k).and_then(number).is_some_and(marks::full_aperture);
                if links > 0 && behind(i + 1 + links) && self.in_list("heard-th", &tokens[i]) {
                    tokens[i - 1].mend = Some(Mend::SpeedEnd);
                    tokens[i] = Token { glued: true, ..word_token(th, tokens[i].span.clone()) };
                } else if behind(i + 1) && self.in_list("heard-th-at", &tokens[i]) {
                    let span = tokens[i].span.clone();
                    tokens[i - 1].mend = Some(Mend::SpeedEnd);
                    tokens[i] = Token { glued: true, ..word_token(th, span.start..span.start) };
                    tokens.insert(i + 1, word_token(at, span));
                } else if behind(i + 1) && self.in_list("surely-at", &tokens[i]) || self.leads_to_f(tokens, i) {
                    if !self.in_list("at", &tokens[i]) {
                        tokens[i - 1].mend.get_or_insert(Mend::BareLink);
                        tokens[i + 1].mend.get_or_insert(Mend::BareLink);
                    }
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
                tokens.insert(i + 1, Token { mend: Some(Mend::StopHeard), ..word_token(meant, span) });
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
                tokens[i + links].mend = Some(Mend::StopNth);
            } else if part || plain || joined || !marks::full_aperture(value) || self.changes(tokens, i) {
                continue;
            }
            if tokens.get(after).is_none_or(|t| !self.measures(t)) {
                if !plain {
                    tokens[i + links].mend.get_or_insert(Mend::Link);
                }
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
    pub fn links(&self, t: &Token) -> bool {
        self.in_list("heard-at", t) || t.id.is_some() && t.id == self.first_of("at")
    }

    /// Whether a word shortly before says that one value becomes another: "from a 30th to 8".
    fn changes(&self, tokens: &[Token], i: usize) -> bool {
        tokens[..i].iter().rev().take(6).take_while(|t| !t.is_mark()).any(|t| self.in_list("changing", t))
    }

    pub(in crate::language) fn measures(&self, t: &Token) -> bool {
        self.in_list("measure", t) || self.in_list("focal-unit", t)
    }

    pub(in crate::language) fn is_article(&self, t: &Token) -> bool {
        t.id.is_some_and(|id| self.numbers.articles.contains(&id))
    }

    pub(in crate::language) fn is_suffix(&self, t: &Token) -> bool {
        t.id.is_some_and(|id| self.numbers.suffixes.contains(&id))
    }

    pub(in crate::language) fn first_of(&self, list: &str) -> Option<u32> {
        self.lists.get(list)?.first().copied()
    }
}
