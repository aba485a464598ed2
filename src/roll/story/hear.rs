//! A window of the tape as statements, in the order said: frames, and facts that reach further.

use std::collections::HashSet;
use std::ops::Range;

use crate::language::compose::{Fact, FactSaid, FrameSaid, Sure};
use crate::language::tag::{Mention, Role};
use crate::language::{Aside, AsideKind, Lexicon, Number, NumberKind, Told};

use super::late::{Late, Pick, SOON, TOLD_BEFORE, late};
use super::tape::{Tape, Window};

/// A mention this likely to go with a frame is said of it.
const GOES_WITH: f32 = 0.5;
/// A frame less likely than this is none of its own, if nothing but settings is told of it.
const BEGUN: f64 = 0.5;
/// A frame this likely is one, though nothing but gear is told of it: seen in talk, gear alone stays below.
const SURELY_BEGUN: f64 = 0.95;

/// Words that begin a frame less likely than this begin none.
pub(super) const MAY_BEGIN: f64 = 0.25;
/// A speed less sure than this is hardly one.
const DOUBTFUL: f64 = 0.5;
/// Tokens from a count within which "of that" stands.
const NEAR_COUNT: usize = 4;
/// Most frames that words count at once.
const MOST_COUNTED: f64 = 36.0;

/// One statement.
#[derive(Debug, Clone)]
pub(super) enum Statement {
    /// A frame is taken, or spoken of by its number.
    Frame(Heard),
    /// There may be a frame here that was not taken for one.
    Maybe,
    /// More is said of a frame that was begun before this window's new words.
    Again(Heard),
    /// Something beside the settings, of the frame told last.
    Beside(Vec<Aside>),
    /// A fact.
    Fact {
        said: FactSaid,
        /// The camera that its clause or sentence names.
        camera: Option<usize>,
        /// Bytes of the tape.
        at: Range<usize>,
    },
}

/// A frame as heard, with what of it was said in its own words.
#[derive(Debug, Clone)]
pub(super) struct Heard {
    pub said: FrameSaid,
    /// Byte of the tape where it is begun, and its place among those begun together.
    pub at: (usize, usize),
    /// How many are begun together.
    pub together: usize,
    /// Bytes of the tape that speak of it.
    pub words: Range<usize>,
    pub camera: Option<usize>,
    /// What it says of gear itself, in order.
    pub gear: Vec<FactSaid>,
    /// What is not said is as before, or as on a frame of a number.
    pub same: Option<Option<u16>>,
    /// Token from which on its words are new.
    pub new: usize,
    /// It speaks of what is over.
    pub past: bool,
    /// What it says of gear holds from its number on.
    pub onwards: bool,
    /// It only counts frames like the one before: "took two of that".
    pub counts: bool,
    /// It speaks of frames taken before.
    pub late: Option<Late>,
    /// Its number is a number word with no word for frames: "one" may be no number at all.
    pub bare_number: bool,
    /// What it says beside the settings.
    pub asides: Vec<Aside>,
}

impl Heard {
    /// Whether it says something of the lens.
    pub fn tells_glass(&self) -> bool {
        self.gear.iter().any(|g| matches!(g.fact, Fact::Glass { .. }))
    }

    /// Whether it says something of the filter.
    pub fn tells_filter(&self) -> bool {
        self.gear.iter().any(|g| matches!(g.fact, Fact::FilterOn(..) | Fact::FilterOff))
    }
}

impl Statement {
    /// What it tells of gear and rolls.
    pub fn facts(&self) -> &[FactSaid] {
        match self {
            Self::Frame(h) | Self::Again(h) => &h.gear,
            Self::Fact { said, .. } => std::slice::from_ref(said),
            _ => &[],
        }
    }

    /// What it tells beside settings.
    pub fn asides(&self) -> &[Aside] {
        match self {
            Self::Frame(h) | Self::Again(h) => &h.asides,
            Self::Beside(all) => all,
            _ => &[],
        }
    }

    /// For a person who follows the story.
    pub fn shown(&self, tape: &Tape) -> String {
        let frame = |kind: &str, h: &Heard| {
            let s = &h.said;
            let show = |v: Option<String>| v.unwrap_or_else(|| "-".to_owned());
            format!(
                "{kind} {:.2} before {:.2} number {} shutter {} aperture {}{}{}{} {:?} {:?}",
                s.there,
                s.again,
                show(s.number.as_ref().map(|n| format!("{} ({:.2})", n.value, n.sure))),
                show(s.shutter.as_ref().map(|n| format!("{} ({:.2})", n.value, n.sure))),
                show(s.aperture.as_ref().map(|n| format!("{} ({:.2})", n.value, n.sure))),
                if h.same.is_some() { " same" } else { "" },
                h.late.as_ref().map_or(String::new(), |l| format!(" late {l:?}")),
                if s.wasted.is_some() { " wasted" } else { "" },
                h.gear.iter().map(|g| &g.fact).collect::<Vec<_>>(),
                tape.text(&h.words),
            )
        };
        match self {
            Self::Frame(h) => frame("frame", h),
            Self::Again(h) => frame("again", h),
            Self::Beside(all) => format!("beside {:?}", all.iter().map(|a| a.kind).collect::<Vec<_>>()),
            Self::Maybe => "a frame may be lost".to_owned(),
            Self::Fact { said, camera, at } => {
                format!("fact {:?} ({:.2}) of camera {camera:?} {:?}", said.fact, said.sure, tape.text(at))
            }
        }
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

/// The sentence at which a window would better be cut and read in two, where a frame is lost in the whole.
pub(super) fn tear(told: &Told, lexicon: &Lexicon, window: &Window, tape: &Tape) -> Option<usize> {
    Hearing { told, lexicon, window, tape }.tear()
}

struct Hearing<'a> {
    told: &'a Told,
    lexicon: &'a Lexicon,
    window: &'a Window,
    tape: &'a Tape,
}

impl Hearing<'_> {
    /// The byte of the tape where a token begins.
    fn byte(&self, token: usize) -> usize {
        self.told.tokens.get(token).map_or(self.window.to, |t| t.span.start + self.window.from)
    }

    fn bytes(&self, tokens: &Range<usize>) -> Range<usize> {
        let end = tokens.end.checked_sub(1).and_then(|t| self.told.tokens.get(t));
        self.byte(tokens.start)..end.map_or(self.window.to, |t| t.span.end + self.window.from)
    }

    fn together(&self, mention: usize, frame: &FrameSaid) -> f32 {
        if frame.begun_by.contains(&mention) {
            return 1.0;
        }
        let read = &self.told.read;
        let weight: f32 = frame.begun_by.iter().map(|o| read.mentions[*o].opens).sum();
        let all: f32 = frame.begun_by.iter().map(|o| read.mentions[*o].opens * read.together[mention][*o]).sum();
        all / weight.max(f32::MIN_POSITIVE)
    }

    /// The sentence at which to read anew, where the reading has lost a frame: two sentences have a
    /// whole exposure and only one frame between them, or a sentence begins with a word for frames
    /// and none begins in it.
    fn tear(&self) -> Option<usize> {
        let sentence = |token: usize| self.tape.sentence(self.byte(token));
        let mentions = &self.told.read.mentions;
        let frames = &self.told.said.frames;
        let begins = |f: &FrameSaid| f.begun_by.iter().map(|o| mentions[*o].tokens.start).min();
        let mut begun: Vec<usize> = frames.iter().filter_map(begins).collect();
        begun.sort_unstable();
        begun.dedup();
        let begun: Vec<usize> = begun.into_iter().map(sentence).collect();
        // What is read as taken back, though no word takes anything back, was a picture of its own.
        let taken_back = self.told.said.facts.iter().any(|f| f.fact == Fact::TakenBack);
        let said = |m: &Mention| m.done() || !taken_back && m.standing[2] > m.standing[1];
        let of = |role| mentions.iter().filter(move |m| m.role == role && said(m)).map(|m| sentence(m.tokens.start));
        let same = self.told.said.facts.iter().filter(|f| f.fact == Fact::Same).map(|f| sentence(f.tokens.start));
        let mut exposed: Vec<usize> = of(Role::Shutter).filter(|s| of(Role::Aperture).any(|a| a == *s)).collect();
        exposed.extend(same.filter(|s| begun.contains(s)));
        exposed.sort_unstable();
        exposed.dedup();
        let frame = |s: &usize| begun.partition_point(|b| b <= s).max(1);
        let twice = exposed.windows(2).find(|w| frame(&w[0]) == frame(&w[1])).map(|w| w[0] + 1);
        let first = |i: &usize| *i == 0 || sentence(*i) != sentence(*i - 1);
        let lost = || {
            (1..self.told.tokens.len())
                .filter(first)
                .filter(|i| self.lexicon.in_list("frame-word", &self.told.tokens[*i]))
                .map(sentence)
                .find(|s| !begun.contains(s))
        };
        twice.or_else(lost)
    }

    fn statements(&self, mut asides: Vec<Aside>) -> Vec<Statement> {
        let new = self.told.tokens.partition_point(|t| t.span.start + self.window.from < self.window.new);
        let mut frames = self.joined();
        self.split_by_same(&mut frames);
        self.fill_lists(&mut frames);
        self.told_one_by_one(&mut frames);
        self.sum_up(&mut frames);
        let begin = |f: &FrameSaid| f.begun_by.first().map_or(0, |o| self.told.read.mentions[*o].tokens.start);
        let begins: Vec<usize> = frames.iter().map(begin).collect();
        let facts = &self.told.said.facts;
        let backwards = facts.iter().any(|f| f.fact == Fact::ScansReversed);
        let mut taken = vec![false; facts.len()];
        let mut out: Vec<(usize, u8, Statement)> = Vec::new();
        for (k, said) in frames.iter().enumerate() {
            let start = begins[k];
            let nth = begins[..k].iter().filter(|b| **b == start).count();
            let next = self.run_end(start, &begins);
            // Words of its sentence before it are its own, unless another frame stands there.
            let sentence = self.tape.sentence_start(self.byte(start));
            let before = begins.iter().copied().filter(|b| *b < start).max().map_or(0, |b| self.byte(b + 1));
            let words = self.quote(sentence.max(before).max(self.window.from), start, next);
            let said = &self.of_its_own(said, &words);
            let exposed = said.shutter.is_some() && said.aperture.is_some();
            if backwards && !exposed || self.tells_of_the_roll(said, &words) || self.tells_of_gear(said, start..next) {
                continue;
            }
            let mut heard = Heard {
                said: said.clone(),
                at: (self.byte(start), nth),
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
            // "Out, and the next one in. Yellow off": from there on it is said of another roll.
            let turned = facts.iter().filter(|f| changes_roll(&f.fact) && f.tokens.start > start);
            let turned = turned.map(|f| f.tokens.start).min().unwrap_or(usize::MAX);
            for (i, f) in facts.iter().enumerate() {
                let inside = f.tokens.start >= start && f.tokens.start < next.min(turned);
                let own = f.mention.is_none_or(|m| self.together(m, said) >= GOES_WITH);
                match &f.fact {
                    Fact::Camera(c) if own && words.contains(&self.byte(f.tokens.start)) => heard.camera = Some(*c),
                    Fact::Glass { .. } | Fact::FilterOn(..) | Fact::FilterOff
                        if own && inside && f.tokens.start >= new && !self.holds_later(f, &heard) =>
                    {
                        taken[i] = true;
                        if !self.is_half_a_speed(f, said) {
                            heard.gear.push(f.clone());
                        }
                    }
                    Fact::Same | Fact::SameDial
                        if words.contains(&self.byte(f.tokens.start)) && !self.is_of_film(f) =>
                    {
                        heard.same = heard.same.or(Some(None))
                    }
                    Fact::SameAs(n) if inside => heard.same = Some(Some(*n)),
                    _ => {}
                }
            }
            // "All of it was …, every one of them, except …": told once.
            let whole = |h: &Heard| matches!(h.late, Some(Late { pick: Pick::Roll(_), .. }));
            let before = out.iter().rev().find_map(|o| if let Statement::Frame(h) = &o.2 { Some(h) } else { None });
            let shares = |b: &Heard| {
                let own = |f: &FrameSaid| f.shutter.as_ref().map(|s| s.tokens.clone());
                own(said).is_some() && own(said) == own(&b.said)
            };
            if said.number.is_none()
                && (!self.roles(start..next).any(|r| r == Role::Subject) || before.is_some_and(shares))
                && before.is_some_and(|b| whole(b) && self.tape.sentence(b.at.0) == self.tape.sentence(heard.at.0))
            {
                continue;
            }
            let slight = said.there < BEGUN && !self.is_picture(start..next);
            let again = start < new || slight;
            // "Film out, slate in. The yew, an eighth": what begins the frame tells of the film; it is on the new one.
            let dials = said.shutter.iter().map(|s| s.tokens.start).chain(said.aperture.iter().map(|a| a.tokens.start));
            let first = dials.min().unwrap_or(start);
            let sentence = |token: usize| self.tape.sentence(self.byte(token));
            // "The fifty is back on the old one. Confetti, a thousandth": so does what tells of the camera.
            let turns = |f: &FactSaid| matches!(f.fact, Fact::Camera(_)) && sentence(f.tokens.start) < sentence(first);
            let anew = |f: &&FactSaid| {
                (changes_roll(&f.fact) || turns(f)) && f.tokens.start > start && f.tokens.start < first
            };
            let at = if facts.iter().any(|f| anew(&f)) && first < next { first } else { start.max(new) };
            if self.tells_of_light(said, start..next) {
                heard.said.there = 0.0;
                out.push((at, 1, Statement::Again(heard)));
                continue;
            }
            out.push((at, 1, if again { Statement::Again(heard) } else { Statement::Frame(heard) }));
        }
        for (i, f) in facts.iter().enumerate() {
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
            let first = self.first_of_roll(f, &begins).unwrap_or(f.tokens.start);
            out.push((first, 0, Statement::Fact { said: f.clone(), camera, at }));
        }
        out.extend(self.lost(&begins).into_iter().map(|at| (at, 0, Statement::Maybe)));
        // What stands in no frame's words is said of the frame before it.
        for (_, _, statement) in &mut out {
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
        out.sort_by_key(|(at, kind, _)| (*at, *kind));
        out.into_iter().map(|s| s.2).collect()
    }

    /// What is said of a frame told before is said in its own words: the settings of the frame before are not its.
    fn of_its_own(&self, said: &FrameSaid, words: &Range<usize>) -> FrameSaid {
        let mut own = said.clone();
        if said.again >= TOLD_BEFORE {
            let inside = |t: &Range<usize>| self.byte(t.start) >= words.start;
            own.shutter = own.shutter.filter(|s| inside(&s.tokens));
            own.aperture = own.aperture.filter(|a| inside(&a.tokens));
        }
        own
    }

    /// "Twelve, the vicar, sixteen, and that's it. All of that was a one-two-five, except the two of the tuba": what
    /// sums a roll up is no part of its last frame.
    fn sum_up(&self, frames: &mut Vec<FrameSaid>) {
        let sentence = |token: usize| self.tape.sentence(self.byte(token));
        let begin = |f: &FrameSaid| f.begun_by.first().map_or(0, |o| self.told.read.mentions[*o].tokens.start);
        for k in (0..frames.len()).rev() {
            let own = sentence(begin(&frames[k]));
            let sums = |t: &Range<usize>| {
                let at = sentence(t.start);
                let first = t.start - (0..t.start).rev().take_while(|i| sentence(*i) == at).count();
                at > own && self.sums_up(first..t.start)
            };
            let shutter = frames[k].shutter.clone().filter(|s| sums(&s.tokens));
            let aperture = frames[k].aperture.clone().filter(|a| sums(&a.tokens));
            let Some(at) = shutter.as_ref().map(|s| &s.tokens).or(aperture.as_ref().map(|a| &a.tokens)) else {
                continue;
            };
            let (first, at) = (sentence(at.start), at.start);
            let opener = self.told.read.mentions.iter().position(|m| sentence(m.tokens.start) == first);
            let Some(opener) = opener.filter(|o| self.told.read.mentions[*o].tokens.start <= at) else { continue };
            if shutter.is_some() {
                frames[k].shutter = None;
            }
            if aperture.is_some() {
                frames[k].aperture = None;
            }
            let sum = FrameSaid {
                shutter,
                aperture,
                there: BEGUN,
                again: 1.0,
                begun_by: vec![opener],
                ..FrameSaid::default()
            };
            frames.insert(k + 1, sum);
        }
    }

    /// "All of that was".
    fn sums_up(&self, tokens: Range<usize>) -> bool {
        let listed = |list: &str, n: usize| {
            self.told.tokens[tokens.clone()].iter().take(n).any(|t| self.lexicon.in_list(list, t))
        };
        listed("all-of", SOON) && listed("was", usize::MAX)
    }

    /// Where the first frame of a sentence begins that goes on to say of which roll it is.
    fn first_of_roll(&self, fact: &FactSaid, begins: &[usize]) -> Option<usize> {
        let names = matches!(fact.fact, Fact::Roll(_) | Fact::RollCalled(_) | Fact::RollNth(_));
        let at = fact.tokens.start;
        let of = (at.saturating_sub(2)..at).any(|i| self.lexicon.in_list("of-roll", &self.told.tokens[i]));
        let own = self.tape.sentence(self.byte(at));
        let first = begins.iter().copied().filter(|b| *b < at && self.tape.sentence(self.byte(*b)) == own).min();
        first.filter(|_| names && of)
    }

    /// Where a sentence may begin a frame, or has a whole exposure, and none begins in it.
    fn lost(&self, begins: &[usize]) -> Vec<usize> {
        let sentence = |token: usize| self.tape.sentence(self.byte(token));
        let openers = self.told.said.frames.iter().flat_map(|f| &f.begun_by);
        let mut begun: Vec<usize> = openers.map(|o| sentence(self.told.read.mentions[*o].tokens.start)).collect();
        begun.extend(begins.iter().map(|b| sentence(*b)));
        let mentions = || self.told.read.mentions.iter().filter(|m| m.done() && m.role != Role::Other);
        let of = |role| mentions().filter(move |m| m.role == role).map(|m| sentence(m.tokens.start));
        let exposures: Vec<usize> = of(Role::Shutter).filter(|s| of(Role::Aperture).any(|a| a == *s)).collect();
        let mut out: Vec<usize> = Vec::new();
        for m in mentions().filter(|m| !begun.contains(&sentence(m.tokens.start))) {
            let own = sentence(m.tokens.start);
            let dial = |role| mentions().any(|o| o.role == role && sentence(o.tokens.start) == own);
            let exposed = dial(Role::Shutter) && dial(Role::Aperture);
            let known = out.iter().any(|o| sentence(*o) == own);
            // A frame begun before that has its exposure already does not take this one.
            let before = |s: &usize| *s < own && begun.contains(s);
            let again = exposed && exposures.iter().any(before);
            if !known && (f64::from(m.opens) >= MAY_BEGIN || again) {
                out.push(m.tokens.start);
            }
        }
        out
    }

    /// The token before which what is said of a frame ends: where the next begins. "Seven and
    /// eight, the long lens" says it of both.
    fn run_end(&self, start: usize, begins: &[usize]) -> usize {
        let mut later: Vec<usize> = begins.iter().copied().filter(|b| *b > start).collect();
        later.sort_unstable();
        let mut from = start;
        for b in later {
            let number = |i: usize| {
                let mut all = self.told.read.mentions.iter();
                all.any(|m| m.role == Role::Number && m.tokens.contains(&i))
            };
            if !(from..b).all(|i| self.joins(i) || number(i)) {
                return b;
            }
            from = b;
        }
        self.told.tokens.len()
    }

    /// Whether a token may stand between the numbers of a list.
    fn joins(&self, i: usize) -> bool {
        let t = &self.told.tokens[i];
        t.is_mark() || self.lexicon.in_list("setting-after", t) || self.lexicon.in_list("frame-word", t)
    }

    /// Whether "the same" is said in a sentence that puts a new film in.
    fn is_of_film(&self, same: &FactSaid) -> bool {
        let sentence = |f: &FactSaid| self.tape.sentence(self.byte(f.tokens.start));
        let begun = |f: &&FactSaid| f.fact == Fact::RollBegun && sentence(f) == sentence(same);
        self.told.said.facts.iter().any(|f| begun(&f)) && !self.mentions_dial(sentence(same))
    }

    /// Whether a sentence of the tape sets a dial.
    fn mentions_dial(&self, sentence: usize) -> bool {
        let dial = |m: &Mention| matches!(m.role, Role::Shutter | Role::Aperture) && m.done();
        let own = |m: &Mention| self.tape.sentence(self.byte(m.tokens.start)) == sentence;
        self.told.read.mentions.iter().any(|m| dial(m) && own(m))
    }

    /// "Fourteen, fifteen and sixteen": what stands in a list of numbers is one.
    fn fill_lists(&self, frames: &mut Vec<FrameSaid>) {
        for k in (1..frames.len()).rev() {
            let (Some(a), Some(b)) = (&frames[k - 1].number, &frames[k].number) else { continue };
            let between = a.tokens.end..b.tokens.start;
            let missed = a.value.next();
            let word = |i: usize| {
                let of = |(at, n): (usize, &Number)| at == i && n.value == f64::from(missed.place());
                self.told.numbers().any(of)
            };
            let listed = !between.is_empty() && between.clone().all(|i| self.joins(i) || word(i));
            if missed.next() != b.value || !listed || !between.clone().any(word) {
                continue;
            }
            let number = Sure::new(missed, a.sure.min(b.sure), between.clone());
            for f in &mut frames[k - 1..=k] {
                f.shutter = f.shutter.take().filter(|s| !between.contains(&s.tokens.start));
                f.aperture = f.aperture.take().filter(|s| !between.contains(&s.tokens.start));
            }
            let one = FrameSaid { number: Some(number), ..frames[k].clone() };
            frames.insert(k, one);
        }
    }

    /// Whether a frame has nothing of its own, in words that tell what film goes in which camera.
    fn tells_of_the_roll(&self, said: &FrameSaid, words: &Range<usize>) -> bool {
        let of_roll = |f: &FactSaid| {
            let kind = matches!(
                f.fact,
                Fact::Roll(_)
                    | Fact::RollBegun
                    | Fact::Film(_)
                    | Fact::FilmAsSaid(_)
                    | Fact::Rating(_)
                    | Fact::BoxSpeed
            );
            kind && words.contains(&self.byte(f.tokens.start))
        };
        let empty = said.unexposed() && said.number.is_none() && said.comp.is_none();
        empty && self.told.said.facts.iter().any(of_roll)
    }

    /// "She's got the thirty-five on to start": gear, and nothing that makes a picture.
    fn tells_of_gear(&self, said: &FrameSaid, tokens: Range<usize>) -> bool {
        let makes = |r: Role| {
            !matches!(r, Role::Lens | Role::Filter | Role::Camera | Role::Steer | Role::Roll | Role::Film | Role::Other)
        };
        let gear = |r: Role| matches!(r, Role::Lens | Role::Filter);
        let empty = said.number.is_none() && said.aperture_end.is_none() && said.light.is_none();
        let empty = empty && said.there < SURELY_BEGUN;
        let worn = |t: Range<usize>| self.roles(t.clone()).any(gear) && !self.roles(t).any(makes);
        let framed = self.told.tokens[tokens.clone()].iter().any(|t| self.lexicon.in_list("frame-word", t));
        empty && !framed && !self.is_same(&tokens) && worn(tokens)
    }

    /// "Overcast.", "On the tripod.": of the frame before.
    fn tells_of_light(&self, said: &FrameSaid, tokens: Range<usize>) -> bool {
        let light = |r: Role| matches!(r, Role::Light | Role::Support);
        let other = |r: Role| !light(r) && !matches!(r, Role::Steer | Role::Other);
        let empty = said.unexposed() && said.number.is_none() && said.comp.is_none() && said.aperture_end.is_none();
        let told = self.roles(tokens.clone()).any(light) && !self.roles(tokens.clone()).any(other);
        let steers = self.told.tokens[tokens.clone()].iter().any(|t| self.lexicon.in_list("begins-next", t));
        empty && told && !steers && !self.is_same(&tokens)
    }

    /// "Still the orange. … Filter off.": what a later sentence says anew holds from then on.
    fn holds_later(&self, fact: &FactSaid, heard: &Heard) -> bool {
        let sentence = |t: &Range<usize>| self.tape.sentence(self.byte(t.start));
        let glass = |f: &FactSaid| matches!(f.fact, Fact::Glass { .. });
        let own = sentence(&fact.tokens);
        let told = heard.said.shutter.as_ref().map(|s| sentence(&s.tokens));
        let again = heard.gear.iter().any(|b| glass(b) == glass(fact) && sentence(&b.tokens) < own);
        again && told.is_some_and(|t| t < own)
    }

    /// "One twenty … fifth", heard as a number and a speed that no dial has: no lens.
    fn is_half_a_speed(&self, fact: &FactSaid, said: &FrameSaid) -> bool {
        let Some(speed) = said.shutter.as_ref().filter(|s| s.sure < DOUBTFUL) else { return false };
        let number = |i: usize| self.told.numbers().any(|(at, _)| at == i);
        matches!(fact.fact, Fact::Glass { .. })
            && fact.tokens.clone().all(number)
            && fact.tokens.end <= speed.tokens.start
            && (fact.tokens.end..speed.tokens.start).all(|i| self.told.tokens[i].is_mark())
    }

    /// Whether neither a number nor what stands before it is a word for frames.
    fn is_bare(&self, tokens: &Range<usize>) -> bool {
        let near = &self.told.tokens[tokens.start.saturating_sub(1)..tokens.end];
        !near.iter().any(|t| self.lexicon.in_list("frame-word", t))
    }

    /// "Two of that": a count of what was told before, and no other.
    fn counts_those(&self, tokens: Range<usize>) -> bool {
        let end = tokens.end.min(self.told.tokens.len());
        let those = |m: &Mention| {
            m.role == Role::Count
                && self.told.tokens[m.tokens.start..end]
                    .iter()
                    .take(NEAR_COUNT)
                    .any(|t| self.lexicon.in_list("those", t))
        };
        self.mentions(tokens.clone()).any(those) && !self.roles(tokens).any(|r| r == Role::Subject)
    }

    /// "From five B on."
    fn is_onwards(&self, number: &Range<usize>) -> bool {
        let listed = |i: usize, list: &str| self.told.tokens.get(i).is_some_and(|t| self.lexicon.in_list(list, t));
        let from = (number.start.saturating_sub(2)..number.start).any(|i| listed(i, "from"));
        from && (number.end..number.end + 2).any(|i| listed(i, "onwards"))
    }

    /// The tokens that speak of a frame.
    fn tokens_of(&self, words: &Range<usize>, start: usize, next: usize) -> Range<usize> {
        let from = self.told.tokens.partition_point(|t| t.span.start + self.window.from < words.start);
        from.min(start)..next
    }

    /// What is done in a stretch, mention by mention.
    fn mentions(&self, tokens: Range<usize>) -> impl Iterator<Item = &Mention> {
        self.told.read.mentions.iter().filter(move |m| tokens.contains(&m.tokens.start) && m.done())
    }

    /// What words of a stretch are for.
    fn roles(&self, tokens: Range<usize>) -> impl Iterator<Item = Role> {
        self.mentions(tokens).map(|m| m.role)
    }

    /// The frames, where a picture told first and its settings told then are not two.
    fn joined(&self) -> Vec<FrameSaid> {
        let begin = |f: &FrameSaid| f.begun_by.first().map_or(0, |o| self.told.read.mentions[*o].tokens.start);
        let frames = &self.numbered();
        let mut out: Vec<FrameSaid> = Vec::new();
        for (k, frame) in frames.iter().enumerate() {
            let start = begin(frame);
            let next = frames[k + 1..].iter().map(begin).find(|b| *b > start).unwrap_or(self.told.tokens.len());
            let alone = |k: usize| frames.iter().filter(|f| begin(f) == begin(&frames[k])).count() == 1;
            let before = |k: usize| begin(&frames[k - 1])..start;
            if k > 0
                && alone(k)
                && (self.has_picture_only(before(k)) && self.has_settings_only(frame, start..next)
                    || alone(k - 1) && self.goes_on(&frames[k - 1], before(k), frame, start..next))
            {
                let first = begin(&frames[k - 1]);
                for before in out.iter_mut().filter(|f| begin(f) == first) {
                    settle(before, frame);
                }
                // "Two more of them, same settings": the count is of both parts.
                if alone(k - 1) && frames[k - 1].number.is_none() {
                    let one = out.last().cloned();
                    out.extend(one.into_iter().cycle().take(self.counted(&frames[k - 1]).saturating_sub(1)));
                }
            } else {
                out.push(frame.clone());
            }
        }
        out
    }

    /// How many frames words count; 1 where they do not.
    fn counted(&self, frame: &FrameSaid) -> usize {
        let all = || self.told.read.mentions.iter().enumerate();
        let count =
            |m: &(usize, &Mention)| m.1.role == Role::Count && m.1.done() && self.together(m.0, frame) >= GOES_WITH;
        let Some((_, m)) = all().find(count) else { return 1 };
        let plain = |(at, n): &(usize, &Number)| m.tokens.contains(at) && n.kind == NumberKind::Cardinal;
        let n = self.told.numbers().find(plain).map_or(1.0, |(_, n)| n.value);
        if (1.0..=MOST_COUNTED).contains(&n) { n as usize } else { 1 }
    }

    /// "Pulled back to one thirty-five, same settings." behind a frame that was told whole: another.
    fn split_by_same(&self, frames: &mut Vec<FrameSaid>) {
        let sentence = |token: usize| self.tape.sentence(self.byte(token));
        let begin = |f: &FrameSaid| f.begun_by.first().map_or(0, |o| self.told.read.mentions[*o].tokens.start);
        for same in self.told.said.facts.iter().filter(|f| f.fact == Fact::Same && !self.is_of_film(f)) {
            let own = sentence(same.tokens.start);
            if frames.iter().any(|f| sentence(begin(f)) == own) {
                continue;
            }
            let Some(k) = frames.iter().rposition(|f| begin(f) < same.tokens.start) else { continue };
            let from = begin(&frames[k]);
            let told = |tokens: &Range<usize>| sentence(tokens.start) < own && tokens.start >= from;
            // "Same. Same.": another each time.
            let whole = frames[k].shutter.as_ref().is_some_and(|s| told(&s.tokens))
                && frames[k].aperture.as_ref().is_some_and(|a| told(&a.tokens))
                || self.is_same(&(from..same.tokens.start));
            let first = self.told.read.mentions.iter().position(|m| sentence(m.tokens.start) == own);
            if let (true, Some(first)) = (whole, first) {
                let frame = FrameSaid { there: BEGUN, begun_by: vec![first], ..FrameSaid::default() };
                frames.insert(k + 1, frame);
            }
        }
    }

    /// The frames with the numbers that were said of them: what was counted on is for the roll to count.
    fn numbered(&self) -> Vec<FrameSaid> {
        let mut frames = self.told.said.frames.clone();
        for k in (1..frames.len()).rev() {
            let at = |f: &FrameSaid| f.number.as_ref().map(|n| n.tokens.clone());
            if frames[k].begun_by != frames[k - 1].begun_by && at(&frames[k]) == at(&frames[k - 1]) {
                frames[k].number = None;
            }
        }
        frames
    }

    /// "Three of the stand. A sixtieth at eight, then eleven, then sixteen": counted, then told one by one.
    fn told_one_by_one(&self, frames: &mut Vec<FrameSaid>) {
        let begin = |f: &FrameSaid| f.begun_by.first().map_or(0, |o| self.told.read.mentions[*o].tokens.start);
        let mut k = 0;
        while k < frames.len() {
            let n = frames[k..].iter().take_while(|f| f.begun_by == frames[k].begun_by).count();
            let plain = |f: &FrameSaid| {
                let end = frames.iter().map(begin).filter(|b| *b > begin(f)).min().unwrap_or(self.told.tokens.len());
                !self.roles(begin(f)..end).any(|r| r == Role::Subject)
            };
            let more = |f: &&FrameSaid| {
                let dial = f.shutter.is_some() || f.aperture.is_some();
                dial && f.number.is_none() && f.begun_by != frames[k].begun_by && plain(f)
            };
            let behind = frames[k + n..].iter().take_while(more).count();
            if n > 1 && frames[k].number.is_none() && behind + 1 == n {
                frames.drain(k + 1..k + n);
            }
            k += frames[k..].iter().take_while(|f| f.begun_by == frames[k].begun_by).count();
        }
    }

    /// Whether words tell of a picture of their own: what is in it, its number, or its whole exposure.
    fn is_picture(&self, tokens: Range<usize>) -> bool {
        let says = |role| self.roles(tokens.clone()).any(|r| r == role);
        says(Role::Subject)
            || says(Role::Number)
            || says(Role::Shutter) && says(Role::Aperture)
            || self.is_same(&tokens) && !says(Role::Shutter) && !says(Role::Aperture)
    }

    /// Whether words tell of a picture, and nothing of how it was taken.
    fn has_picture_only(&self, tokens: Range<usize>) -> bool {
        let dials = |r| matches!(r, Role::Shutter | Role::Aperture | Role::Change | Role::Wasted);
        !self.roles(tokens.clone()).any(dials) && !self.is_same(&tokens)
    }

    /// "Three B, closed down to forty-five. Ten elephants, bulb.", "as above. Opened a stop.": one dial that
    /// was not told of the frame before, and nothing that tells of another picture.
    fn goes_on(&self, before: &FrameSaid, told: Range<usize>, frame: &FrameSaid, tokens: Range<usize>) -> bool {
        let dial = |r: Role| matches!(r, Role::Shutter | Role::Aperture | Role::Change);
        let other = |r: Role| !dial(r) && !matches!(r, Role::Other | Role::Light | Role::Support);
        let has = |range: &Range<usize>, role: Role| self.roles(range.clone()).any(|r| r == role);
        let told_of = |range: &Range<usize>| has(range, Role::Shutter) && has(range, Role::Aperture);
        let twice = [Role::Shutter, Role::Aperture, Role::Change].into_iter().any(|r| has(&told, r) && has(&tokens, r));
        let picture = before.number.is_some() || has(&told, Role::Subject) || self.is_same(&told);
        let moved = self.roles(tokens.clone()).any(dial) && !self.roles(tokens.clone()).any(other);
        let whole = told_of(&told) || told_of(&tokens);
        picture && moved && frame.number.is_none() && !twice && !whole && !self.is_same(&tokens)
    }

    /// Whether words tell how a picture was taken, and not of another.
    fn has_settings_only(&self, frame: &FrameSaid, tokens: Range<usize>) -> bool {
        let other = |m: &Mention| match m.role {
            Role::Number | Role::Wasted => true,
            // "Both an eighth": those that were counted before.
            Role::Count => !m.tokens.clone().any(|t| self.says_both(t)),
            _ => false,
        };
        let opener = frame.begun_by.first().map(|o| self.told.read.mentions[*o].role);
        let begins = match opener {
            Some(Role::Steer) => self.is_same(&(tokens.start..tokens.start + 1)) || self.says_both(tokens.start),
            Some(role) => role != Role::Subject && role != Role::Number,
            None => false,
        };
        begins && frame.number.is_none() && !self.mentions(tokens).any(other)
    }

    /// Whether a word means those that were counted before.
    fn says_both(&self, token: usize) -> bool {
        self.lexicon.in_list("both-of", &self.told.tokens[token])
    }

    /// Whether words say that something is as before.
    fn is_same(&self, tokens: &Range<usize>) -> bool {
        let same = |f: &FactSaid| matches!(f.fact, Fact::Same | Fact::SameAs(_)) && tokens.contains(&f.tokens.start);
        self.told.said.facts.iter().any(same)
    }

    /// The words of a frame: to the end of the last sentence before the next frame's.
    fn quote(&self, from: usize, start: usize, next: usize) -> Range<usize> {
        let last = next.saturating_sub(1).max(start);
        let next_sentence = self.tape.sentence_start(self.byte(next));
        let end = if next < self.told.tokens.len() && next_sentence > self.byte(start) {
            next_sentence
        } else {
            self.bytes(&(start..last + 1)).end
        };
        from..end.max(self.bytes(&(start..start + 1)).end)
    }

    /// The camera that a fact is said of: named in its clause, or before it in its sentence; of a
    /// roll and its film, also after it.
    fn camera_of(&self, fact: &FactSaid) -> Option<usize> {
        let sentence = |token: usize| self.tape.sentence(self.byte(token));
        let own = sentence(fact.tokens.start);
        let cameras: Vec<(usize, usize)> = self
            .told
            .said
            .facts
            .iter()
            .filter_map(|f| if let Fact::Camera(c) = f.fact { Some((f.tokens.start, c)) } else { None })
            .filter(|(t, _)| sentence(*t) == own)
            .collect();
        let at = fact.tokens.start;
        let one_clause = |t: usize| {
            let between = t.min(at)..t.max(at);
            !self.told.tokens[between].iter().any(crate::language::Token::is_mark)
        };
        let clause = cameras.iter().filter(|c| one_clause(c.0)).min_by_key(|c| c.0.abs_diff(at));
        let before = || cameras.iter().rev().find(|c| c.0 <= at);
        let of_roll = !matches!(fact.fact, Fact::Glass { .. } | Fact::FilterOn(..) | Fact::FilterOff);
        let after = || cameras.iter().find(|c| of_roll && c.0 > at);
        clause.or_else(before).or_else(after).map(|c| c.1)
    }
}

/// Whether a fact takes one film out or puts another in.
fn changes_roll(fact: &Fact) -> bool {
    matches!(fact, Fact::RollBegun | Fact::RollEnded | Fact::Roll(_) | Fact::RollNth(_))
}

/// The settings of a frame that was told in two parts.
fn settle(frame: &mut FrameSaid, settings: &FrameSaid) {
    fn take<T: Clone>(to: &mut Option<T>, from: &Option<T>) {
        if from.is_some() {
            to.clone_from(from);
        }
    }
    if settings.aperture_end.is_some() {
        frame.aperture = None;
    }
    take(&mut frame.shutter, &settings.shutter);
    take(&mut frame.aperture, &settings.aperture);
    take(&mut frame.aperture_end, &settings.aperture_end);
    take(&mut frame.comp, &settings.comp);
    take(&mut frame.light, &settings.light);
    take(&mut frame.support, &settings.support);
    frame.either |= settings.either;
    frame.moved.extend(settings.moved.iter().cloned());
    frame.there = frame.there.max(settings.there);
    frame.begun_by.extend(settings.begun_by.iter().copied());
}
