//! One line of an imprint, read under the camera's pattern and the marks of
//! the gear.

use std::collections::{HashMap, HashSet};

use crate::exposure::{Aperture, ExposureIndex, Shutter, Stops};
use crate::facts::{Confidence, FrameNumber, Reading, Settled, Source};
use crate::kit::{Camera, Focal, Kit, Lens};

use super::candidate::Candidate;
use super::candidate::Value;
use super::decode::{Tree, decode, ranked};
use super::lattice::{ALPHABET, Lattice};
use super::vocabulary::{self as words};
use crate::kit::imprint::{DateOrder, Pattern, Piece, Slot};

/// Chance that a slot of the pattern stands empty on a line.
const EMPTY: f64 = 1e-3;
/// Least probability at which a number or time that carries no confidence of its own is given.
const GIVEN: f64 = 0.9;
/// A second value is kept when it is at least this likely.
const KEPT: f64 = 0.005;
/// Even a line that reads clean was written, or typed off, by something that errs.
const TRUST: f64 = 0.99;
/// Longest text of a value, in characters.
const LONGEST: usize = 9;
/// Longest text that is passed over, in characters: the name of a film or a place.
const LONGEST_PASSED: usize = 30;
/// Most that is believed of a value seen in a picture that the gear cannot have written: a speed that the dial does not
/// have. As of a value spoken that the gear cannot do.
const OFF_THE_GEAR: f64 = 0.5;

/// Stops by which films are commonly pulled and pushed, with what a series' rounding adds. Source: common practice.
const PULLED: f64 = -1.1;
const PUSHED: f64 = 2.1;
/// Most that is believed of a value of which a character looks far more like another: what else speaks for it is the
/// kit alone.
const HARDLY_SEEN: f64 = 0.7;

/// Likelihood of one sight when no pattern stands behind it, for telling a line from noise.
const CHARACTER: f64 = 1.0 / 40.0;
/// How much likelier than noise a line must be; below 1, as rare values count as lines too.
const CHANCE: f64 = 1e-3;

/// Which part of the answer a piece of the chain gives.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Role {
    Literal,
    Slot(Slot),
    Year,
    Month,
    Day,
    Hour,
    Minute,
    Second,
}

/// What one line says.
#[derive(Debug, Clone, Default)]
pub(super) struct LineReading {
    /// Probability of the sight, for comparing patterns.
    pub evidence: f64,
    /// Places of the line that the imprint takes.
    pub span: (usize, usize),
    /// For each place of the line, the probability of each character under the pattern.
    pub letters: Vec<[f64; ALPHABET]>,
    pub number: Option<FrameNumber>,
    pub shutter: Option<Settled<Shutter>>,
    pub aperture: Option<Settled<Aperture>>,
    pub focal_mm: Option<Settled<f64>>,
    pub ei: Option<Settled<ExposureIndex>>,
    pub comp: Option<Settled<Stops>>,
    pub taken: Option<jiff::civil::DateTime>,
}

impl LineReading {
    /// Whether anything was read.
    pub fn is_empty(&self) -> bool {
        self.shutter.is_none()
            && self.aperture.is_none()
            && self.focal_mm.is_none()
            && self.ei.is_none()
            && self.comp.is_none()
            && self.taken.is_none()
    }

    /// Takes what the other holds and this lacks.
    pub fn join(&mut self, other: Self) {
        self.number = self.number.or(other.number);
        self.shutter = self.shutter.take().or(other.shutter);
        self.aperture = self.aperture.take().or(other.aperture);
        self.focal_mm = self.focal_mm.take().or(other.focal_mm);
        self.ei = self.ei.take().or(other.ei);
        self.comp = self.comp.take().or(other.comp);
        self.taken = self.taken.or(other.taken);
    }
}

/// Reads lines of one pattern. Made once a roll.
pub(super) struct LineReader {
    roles: Vec<Role>,
    /// One chain a lens, so that aperture and focal length go together; the
    /// last is for a lens that the kit does not have.
    chains: Vec<(f64, Vec<Tree>)>,
    /// Shutter settings as segments show them.
    shutters_on_segments: Tree,
    /// Values of each piece that are in a list.
    listed: Vec<HashSet<Value>>,
    gear: Box<Writer>,
}

/// What the kit's gear can have written; an empty list knows of nothing that it cannot.
struct Writer {
    camera: Option<Camera>,
    lenses: Vec<Lens>,
    ratings: Vec<u32>,
}

impl Writer {
    fn can_write(&self, value: Value) -> bool {
        match value {
            Value::Shutter(s) => self.camera.as_ref().is_none_or(|c| c.dial.allows(s)),
            Value::Aperture(a) => self.lenses.is_empty() || self.lenses.iter().any(|l| l.allows(a)),
            Value::Focal(tenths) => {
                let has = |l: &Lens| match l.focal {
                    Focal::Prime(f) => (f * 10.0).round() as u32 == tenths,
                    Focal::Zoom(a, b) => (a * 10.0..=b * 10.0).contains(&f64::from(tenths)),
                };
                self.lenses.is_empty() || self.lenses.iter().any(has)
            }
            // Films are pushed by two stops and pulled by one; what lies beyond is mostly a digit lost or one too many.
            Value::Ei(e) => {
                let common = |r: &u32| (PULLED..=PUSHED).contains(&(f64::from(e.get()) / f64::from(*r)).log2());
                self.ratings.is_empty() || self.ratings.iter().any(common)
            }
            _ => true,
        }
    }
}

impl LineReader {
    /// A reader of whole lines. With `numbered` a frame number may stand in
    /// front, if the pattern has none.
    pub fn new(pattern: &Pattern, kit: &Kit, camera: Option<&Camera>, numbered: bool) -> Self {
        let lenses: Vec<&Lens> = kit.lenses.iter().filter(|l| camera.is_none_or(|c| l.fits(&c.name))).collect();
        let known = if lenses.is_empty() { 0.0 } else { 0.97 / lenses.len() as f64 };
        let weighed =
            lenses.iter().map(|l| (known, Some(*l))).chain([(if lenses.is_empty() { 1.0 } else { 0.03 }, None)]);
        let numbered = numbered && !pattern.slots().any(|s| s == Slot::Frame);
        let mut roles = Vec::new();
        let mut chains: Vec<(f64, Vec<Tree>)> = Vec::new();
        for (weight, lens) in weighed {
            let built = chain(pattern, kit, camera, lens, numbered);
            roles = built.iter().map(|(role, _)| *role).collect();
            chains.push((weight, built.iter().map(|(_, list)| Tree::new(list)).collect()));
        }
        let listed =
            (0..roles.len()).map(|k| chains.iter().flat_map(|(_, chain)| chain[k].values()).collect()).collect();
        let shutters_on_segments = with_empty(words::shutters(camera, true));
        let gear = Writer {
            camera: camera.cloned(),
            lenses: lenses.into_iter().cloned().collect(),
            ratings: kit.films.iter().flat_map(|f| [Some(f.iso.get()), f.ei.map(|e| e.get())]).flatten().collect(),
        };
        Self { roles, chains, shutters_on_segments: Tree::new(&shutters_on_segments), listed, gear: Box::new(gear) }
    }

    /// A reader of cells of one column.
    pub fn of_cells(slot: Slot, kit: &Kit, camera: Option<&Camera>) -> Self {
        Self::new(&Pattern::only(slot), kit, camera, false)
    }

    /// Reads a line.
    pub fn read(&self, line: &Lattice, source: Source) -> LineReading {
        let found = self.suggestions(line);
        let decoded: Vec<_> = self
            .chains
            .iter()
            .map(|(weight, chain)| {
                let known = self.roles.iter().zip(chain).map(|(role, known)| match role {
                    Role::Slot(Slot::Shutter) if line.segments => &self.shutters_on_segments,
                    _ => known,
                });
                let trees: Vec<Vec<&Tree>> =
                    known.zip(&found).map(|(k, f)| std::iter::once(k).chain(f).collect()).collect();
                (*weight, decode(line, &trees))
            })
            .collect();
        let evidence: f64 = decoded.iter().map(|(w, d)| w * d.evidence).sum();
        let mut reading = LineReading { evidence, ..LineReading::default() };
        let raw = line.text();
        if evidence <= CHANCE * CHARACTER.powi(raw.len() as i32) {
            return reading;
        }
        let likeliest = decoded.iter().max_by(|a, b| (a.0 * a.1.evidence).total_cmp(&(b.0 * b.1.evidence)));
        reading.span = likeliest.map_or((0, 0), |(_, d)| d.span);
        let raw = line.text_of(reading.span.0..reading.span.1);
        reading.letters = vec![[0.0; ALPHABET]; line.cells.len()];
        for (weight, d) in &decoded {
            let share = weight * d.evidence / evidence;
            for (to, from) in reading.letters.iter_mut().flatten().zip(d.letters.iter().flatten()) {
                *to += share * from;
            }
        }
        let mut parts: HashMap<&'static str, (u16, f64)> = HashMap::new();
        for (k, role) in self.roles.iter().enumerate() {
            let mut values: HashMap<Value, f64> = HashMap::new();
            for (weight, d) in &decoded {
                for (v, p) in &d.pieces[k] {
                    *values.entry(*v).or_default() += weight * d.evidence * p;
                }
            }
            let values = ranked(values);
            let mut part = |name| {
                if let Some((Value::Part(n), p)) = values.first() {
                    parts.insert(name, (*n, *p));
                }
            };
            match role {
                Role::Literal => {}
                Role::Year => part("year"),
                Role::Month => part("month"),
                Role::Day => part("day"),
                Role::Hour => part("hour"),
                Role::Minute => part("minute"),
                Role::Second => part("second"),
                Role::Slot(slot) => {
                    let can = values.first().is_none_or(|(v, _)| self.gear.can_write(*v));
                    let unlike: f64 = decoded.iter().map(|(w, d)| w * d.evidence * d.unlike[k]).sum();
                    let most = match line.is_typed() {
                        true => 1.0,
                        false if !can => OFF_THE_GEAR,
                        false if unlike > 0.5 * evidence => HARDLY_SEEN,
                        false if line.segments && is_lone_b(&values, &raw) => HARDLY_SEEN,
                        false => 1.0,
                    };
                    reading.put(*slot, &values, most, source, &raw);
                }
            }
        }
        reading.taken = moment(&parts);
        reading
    }

    /// For each piece, values of no list that the line spells out.
    fn suggestions(&self, line: &Lattice) -> Vec<Option<Tree>> {
        let text: Vec<char> = line.text().chars().collect();
        let found = self.roles.iter().zip(&self.listed).map(|(role, listed)| {
            let Role::Slot(slot) = role else { return None };
            let mut list: Vec<Candidate> = Vec::new();
            let is_passed = matches!(slot, Slot::Passed(_));
            let longest = if is_passed { LONGEST_PASSED } else { LONGEST };
            for from in 0..text.len() {
                for to in from + 1..=text.len().min(from + longest) {
                    let window: String = text[from..to].iter().collect();
                    if let Some((value, prior)) = words::free(*slot, &window)
                        && (is_passed || !listed.contains(&value) && !list.iter().any(|c| c.value == value))
                    {
                        list.extend(Candidate::new(&window, value, prior * line.foreign));
                    }
                }
            }
            (!list.is_empty()).then(|| Tree::new(&list))
        });
        found.collect()
    }
}

impl LineReading {
    fn put(&mut self, slot: Slot, values: &[(Value, f64)], most: f64, source: Source, raw: &str) {
        match slot {
            Slot::Shutter | Slot::ShutterS => {
                self.shutter = settled(values, most, source, raw, |v| match v {
                    Value::Shutter(s) => Some(s),
                    _ => None,
                })
            }
            Slot::Aperture => {
                self.aperture = settled(values, most, source, raw, |v| match v {
                    Value::Aperture(a) => Some(a),
                    _ => None,
                })
            }
            Slot::FocalMm => {
                self.focal_mm = settled(values, most, source, raw, |v| match v {
                    Value::Focal(t) => Some(f64::from(t) / 10.0),
                    _ => None,
                })
            }
            Slot::Ei => {
                self.ei = settled(values, most, source, raw, |v| match v {
                    Value::Ei(e) => Some(e),
                    _ => None,
                })
            }
            Slot::Comp => {
                self.comp = settled(values, most, source, raw, |v| match v {
                    Value::Comp(h) => Some(stops(h)),
                    _ => None,
                })
            }
            Slot::Frame => {
                self.number = match values.first() {
                    Some((Value::Frame(n), p)) if *p >= GIVEN => Some(*n),
                    _ => None,
                }
            }
            Slot::Date(_) | Slot::Time | Slot::Taken | Slot::Passed(_) => {}
        }
    }
}

/// Hundredths as stops; a written 0.3 or 0.33 means a third.
fn stops(hundredths: i32) -> Stops {
    let thirds = (f64::from(hundredths) * 3.0 / 100.0).round() / 3.0;
    let n = f64::from(hundredths) / 100.0;
    Stops::new(if (thirds - n).abs() < 0.04 { thirds } else { n })
}

/// The likeliest value with the others that remain possible.
fn settled<T>(
    values: &[(Value, f64)],
    most: f64,
    source: Source,
    raw: &str,
    pick: impl Fn(Value) -> Option<T>,
) -> Option<Settled<T>> {
    let (best, p) = values.first()?;
    let mut answer = Settled::from_one(pick(*best)?, Confidence::new((p * TRUST).min(most)), source);
    if most < p * TRUST {
        answer.why.push(match most <= OFF_THE_GEAR {
            true => format!("the edge shows {best}, which none of the kit's gear can have written"),
            false => format!("the edge line '{raw}' looks little like {best}"),
        });
    }
    for (value, p) in &values[1..] {
        if *p >= KEPT
            && let Some(value) = pick(*value)
        {
            let confidence = Confidence::new(p * TRUST);
            answer.others.push(Reading::new(value, confidence, source));
        }
    }
    if *p < GIVEN {
        let rest: Vec<String> =
            values[1..].iter().filter(|(v, p)| *p >= 0.02 && *v != Value::Absent).map(|(v, _)| v.to_string()).collect();
        let or = if rest.is_empty() { String::new() } else { format!(", or {}", rest.join(", ")) };
        answer.why.push(format!("the edge line '{raw}' can be read as {best}{or}"));
    }
    Some(answer)
}

fn moment(parts: &HashMap<&'static str, (u16, f64)>) -> Option<jiff::civil::DateTime> {
    let part = |name| parts.get(name).filter(|(_, p)| *p >= GIVEN).map(|(n, _)| *n as i16);
    let small = |name| part(name).map(|n| n as i8);
    let second = if parts.contains_key("second") { small("second")? } else { 0 };
    jiff::civil::DateTime::new(
        part("year")?,
        small("month")?,
        small("day")?,
        small("hour")?,
        small("minute")?,
        second,
        0,
    )
    .ok()
}

/// The chain of a pattern for one lens.
fn chain(
    pattern: &Pattern,
    kit: &Kit,
    camera: Option<&Camera>,
    lens: Option<&Lens>,
    numbered: bool,
) -> Vec<(Role, Vec<Candidate>)> {
    let mut chain = Vec::new();
    if numbered {
        let mut list = words::frames(&[" ", ". ", ": ", ") ", ", ", " - "], 0.5);
        list.extend(Candidate::new("", Value::Absent, 0.5));
        chain.push((Role::Slot(Slot::Frame), list));
    }
    for piece in pattern.pieces() {
        match piece {
            // A literal is laid character by character, so that one of them
            // may be hidden without the whole being lost.
            Piece::Literal(text) => chain.push((Role::Literal, literal(text))),
            Piece::Slot(slot) => slot_pieces(&mut chain, *slot, kit, camera, lens),
        }
    }
    chain
}

fn literal(text: &str) -> Vec<Candidate> {
    let squeezed = text.split(' ').filter(|w| !w.is_empty()).collect::<Vec<_>>().join(" ");
    let front = if text.starts_with(' ') && !squeezed.is_empty() { " " } else { "" };
    let back = if text.ends_with(' ') { " " } else { "" };
    // The alphabet ends at the underscore; what lies above is left out.
    let text: String = format!("{front}{squeezed}{back}").chars().filter(|c| ('\u{20}'..='_').contains(c)).collect();
    words::literals(&[&text], Value::Text)
}

fn slot_pieces(
    chain: &mut Vec<(Role, Vec<Candidate>)>,
    slot: Slot,
    kit: &Kit,
    camera: Option<&Camera>,
    lens: Option<&Lens>,
) {
    let list = match slot {
        Slot::Shutter => words::shutters(camera, false),
        Slot::ShutterS => words::seconds_written(camera),
        Slot::Passed(_) => Vec::new(),
        Slot::Aperture => words::apertures(lens),
        Slot::FocalMm => words::focals(lens),
        Slot::Ei => words::indexes(&kit.films),
        Slot::Comp => words::compensations(),
        Slot::Frame => words::frames(&[""], 1.0),
        Slot::Date(order) => {
            let between = || (Role::Literal, words::literals(&["-", "/", ".", " ", ""], Value::Text));
            let year = (Role::Year, words::years());
            let month = (Role::Month, words::parts(1..=12, 2));
            let day = (Role::Day, words::parts(1..=31, 2));
            let [a, b, c] = match order {
                DateOrder::Ymd => [year, month, day],
                DateOrder::Dmy => [day, month, year],
                DateOrder::Mdy => [month, day, year],
            };
            chain.extend([a, between(), b, between(), c]);
            return;
        }
        Slot::Taken => {
            slot_pieces(chain, Slot::Date(DateOrder::Ymd), kit, camera, lens);
            chain.push((Role::Literal, words::literals(&["T", " "], Value::Text)));
            slot_pieces(chain, Slot::Time, kit, camera, lens);
            return;
        }
        Slot::Time => {
            chain.push((Role::Hour, words::parts(0..=23, 2)));
            chain.push((Role::Literal, words::literals(&[":", ".", " "], Value::Text)));
            chain.push((Role::Minute, words::parts(0..=59, 2)));
            chain.push((Role::Second, words::seconds()));
            return;
        }
    };
    chain.push((Role::Slot(slot), with_empty(list)));
}

/// The list, and that nothing stands in the slot.
fn with_empty(mut list: Vec<Candidate>) -> Vec<Candidate> {
    list.extend(Candidate::new("", Value::Absent, EMPTY));
    list
}

/// Whether the likeliest value is a B that stands alone: segments draw it as they draw an open 6, so that it is only what
/// no mark of the dial is. In `BULB` the other letters speak for it.
fn is_lone_b(values: &[(Value, f64)], raw: &str) -> bool {
    matches!(values.first(), Some((Value::Shutter(Shutter::Bulb(_)), _))) && !raw.contains("UL")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rebate::made_up::KIT;

    fn read(pattern: &str, text: &str) -> LineReading {
        let kit = Kit::parse(KIT).unwrap();
        let reader = LineReader::new(&pattern.parse().unwrap(), &kit, kit.cameras.first(), true);
        reader.read(&Lattice::typed(text), Source::Rebate)
    }

    /// Shutter, aperture, focal length, index with their confidences.
    fn plain(text: &str) -> [Option<(String, f64)>; 4] {
        let r = read("{shutter} F{aperture} {focal_mm}MM ISO{ei}", text);
        fn of<T: ToString>(s: Option<Settled<T>>) -> Option<(String, f64)> {
            s.map(|s| (s.value.to_string(), s.confidence.get()))
        }
        [of(r.shutter), of(r.aperture), of(r.focal_mm), of(r.ei.map(|e| e.map(ExposureIndex::get)))]
    }

    #[track_caller]
    fn sure(text: &str, want: [&str; 4]) {
        for (got, want) in plain(text).into_iter().zip(want) {
            let (value, confidence) = got.unwrap_or_else(|| panic!("{text}: nothing for {want}"));
            assert!(value == want && confidence > 0.9, "{text}: {value} ({confidence:.3}), expected {want}");
        }
    }

    #[test]
    fn clean_lines_read_surely() {
        sure("1/250 F8 80MM ISO80", ["1/250", "8", "80", "80"]);
        sure("BULB F16 80MM ISO80", ["B", "16", "80", "80"]);
        sure("2S F5.6 120MM ISO100", ["2s", "5.6", "120", "100"]);
        sure("1/60  f2.8  80mm  iso400", ["1/60", "2.8", "80", "400"]);
    }

    #[test]
    fn usual_slips_do_no_harm() {
        sure("1/25O F8 8OMM IS080", ["1/250", "8", "80", "80"]);
        sure("7/125 F56 80MM ISO80", ["1/125", "5.6", "80", "80"]);
        sure("I/12S FB 12OMM lSOB0", ["1/125", "8", "120", "80"]);
        sure("B F1l 80MM 1SO80", ["B", "11", "80", "80"]);
        sure("8ULB F5,6 80 MM ISO 80", ["B", "5.6", "80", "80"]);
        sure("1/125F8 80MM ISO80", ["1/125", "8", "80", "80"]);
    }

    #[test]
    fn a_wrong_mark_is_doubtful_not_silent() {
        // 1/135 is no mark: either a slip for 1/125 or a camera unlike the kit's.
        let [shutter, ..] = plain("1/135 F8 80MM ISO80");
        assert!(shutter.unwrap().1 < 0.9);
        // f/32 is beyond the 80; the 120 has it. One of the two was misread.
        let [_, aperture, focal, _] = plain("1/125 F32 120MM ISO80");
        assert!(aperture.unwrap().1 > 0.9 && focal.unwrap().1 > 0.9);
    }

    #[test]
    fn a_number_in_front_is_the_frame() {
        let pattern = "{shutter} F{aperture} {focal_mm}MM ISO{ei}";
        assert_eq!(read(pattern, "01  1/250 F8 80MM ISO80").number, Some(FrameNumber::new(1)));
        assert_eq!(read(pattern, "12a: 1/250 F8 80MM ISO80").number, Some(FrameNumber::new(12).with_a()));
        assert_eq!(read(pattern, "1/250 F8 80MM ISO80").number, None);
        assert_eq!(read("{frame} {shutter} F{aperture}", "O7 1/250 F8").number, Some(FrameNumber::new(7)));
    }

    #[test]
    fn dates_times_and_compensation() {
        let r = read("{date} {time} {shutter} {comp}", "2025-06-18 14:05 1/60 +0.3");
        assert_eq!(r.taken, Some(jiff::civil::date(2025, 6, 18).at(14, 5, 0, 0)));
        assert_eq!(r.comp.unwrap().value, Stops::new(1.0 / 3.0));
        let r = read("{date:dmy} {time}", "18.06.25 14:05:30");
        assert_eq!(r.taken, Some(jiff::civil::date(2025, 6, 18).at(14, 5, 30, 0)));
        assert_eq!(read("{comp}EV", "-1.5EV").comp.unwrap().value, Stops::new(-1.5));
    }

    #[test]
    fn columns_of_a_table_are_read_or_passed_over() {
        let r = read(
            "{roll} {film} {shutter_s} F{aperture} {comp_stops} {taken}",
            "A3 SALLOW 100 0.008 F8 -1.5 2025-06-18T14:05",
        );
        assert_eq!(r.shutter.unwrap().value.to_string(), "1/125");
        assert_eq!(r.aperture.unwrap().value.to_string(), "8");
        assert_eq!(r.comp.unwrap().value, Stops::new(-1.5));
        assert_eq!(r.taken, Some(jiff::civil::date(2025, 6, 18).at(14, 5, 0, 0)));
        let r = read("{place}, {shutter} {camera}", "NET LOFT, 1/60 BOX SIX");
        assert_eq!(r.shutter.unwrap().value.to_string(), "1/60");
    }

    #[test]
    fn a_value_of_which_a_character_looks_like_another_is_never_given_as_sure() {
        let kit = Kit::parse(KIT).unwrap();
        let pattern = "F{aperture} ISO{ei}".parse().unwrap();
        let reader = LineReader::new(&pattern, &kit, kit.cameras.first(), false);
        let text = "F8 ISO200";
        let mut lattice = Lattice { foreign: 0.01, ..Lattice::typed(text) };
        let place = text.find("200").unwrap();
        assert!(reader.read(&lattice, Source::Rebate).ei.unwrap().confidence.get() > 0.9);
        // A stroke where the kit leaves a 2 as all that it can be.
        let cell = &mut lattice.cells[place].likelihood;
        let index = |c| crate::rebate::lattice::index(c).unwrap();
        (cell[index('2')], cell[index('/')]) = (0.01, 1.0);
        let read = reader.read(&lattice, Source::Rebate);
        assert!(read.aperture.unwrap().confidence.get() > 0.9);
        let ei = read.ei.unwrap();
        assert_eq!((ei.value.get(), ei.confidence.get() <= HARDLY_SEEN), (200, true), "{:?}", ei.confidence);
    }

    #[test]
    fn a_b_alone_on_segments_is_never_sure() {
        let kit = Kit::parse(KIT).unwrap();
        let reader = LineReader::new(
            &"{shutter} F{aperture} {focal_mm} {ei}".parse().unwrap(),
            &kit,
            kit.cameras.first(),
            false,
        );
        let sure = |text: &str| {
            let lattice = Lattice { foreign: 0.01, segments: true, ..Lattice::typed(text) };
            let shutter = reader.read(&lattice, Source::Rebate).shutter.unwrap();
            assert_eq!(shutter.value, Shutter::Bulb(None), "{text}");
            shutter.confidence.get()
        };
        assert!(sure("B F8 80 100") <= HARDLY_SEEN && sure("BULB F8 80 100") > 0.9);
    }

    #[test]
    fn what_no_gear_can_have_written_is_never_given_as_sure() {
        let kit = Kit::parse(KIT).unwrap();
        let pattern = "{shutter} F{aperture} {focal_mm}MM ISO{ei}".parse().unwrap();
        let reader = LineReader::new(&pattern, &kit, kit.cameras.first(), false);
        // As plain as a picture can be; 1/2000 is beyond the dial, f/45 beyond every lens.
        let seen = |text: &str| {
            let lattice = Lattice { foreign: 0.01, ..Lattice::typed(text) };
            let r = reader.read(&lattice, Source::Rebate);
            [r.shutter.map(|s| s.confidence.get()), r.aperture.map(|s| s.confidence.get())]
        };
        let below = |p: &Option<f64>| p.is_none_or(|p| p <= OFF_THE_GEAR);
        assert!(below(&seen("1/2000 F8 80MM ISO80")[0]) && seen("1/1000 F8 80MM ISO80")[0] > Some(0.9));
        assert!(below(&seen("1/60 F45 80MM ISO80")[1]) && seen("1/60 F22 80MM ISO80")[1] > Some(0.9));
        // 85 mm is no lens of the kit. Its films are of 100, rated 80, and 400: 32 and 3200 are further off than films go.
        let ei = |n| Value::Ei(ExposureIndex::new(n).unwrap());
        let can = [Value::Focal(800), ei(80), ei(40), ei(200), ei(1600), Value::Shutter(Shutter::Bulb(None))];
        assert!(can.into_iter().all(|v| reader.gear.can_write(v)));
        assert!([Value::Focal(850), ei(32), ei(3200)].into_iter().all(|v| !reader.gear.can_write(v)));
    }

    #[test]
    fn a_missing_field_stays_empty() {
        let [shutter, aperture, focal, ei] = plain("1/250 F8 ISO80");
        assert!(shutter.is_some() && aperture.is_some() && focal.is_none() && ei.is_some());
    }
}
