//! All lines of a picture, read the way the film lies.

use image::GrayImage;

use super::find::{Candidate, candidates};
use super::grid::{Grid, explained, power, suggested};
use super::plane::Plane;
use super::sight::{Sight, sight};
use super::strip::{HEIGHT, MARGIN, Way, scale, straightened};
use super::templates::{Family, Template, looks_of};
use crate::facts::Source;
use crate::rebate::frame::ImprintFrame;
use crate::rebate::lattice::ALPHABET;
use crate::rebate::line::{LineReader, LineReading};

/// Least share of the ink that characters must account for before a line is looked at closely.
const SHARE: f32 = 0.45;
/// Share of the best way's ink that another way must account for to be decoded too.
const RIVAL: f32 = 0.85;
/// Distances between characters tried, at most, while the pattern explains none of them.
const STARTS: usize = 4;
/// By what share a distance must differ to be another.
const OTHER_PITCH: f32 = 0.04;
/// Least share of the ink, by squares, that the likeliest characters must explain.
const EXPLAINED: f32 = 0.3;
/// Characters looked at beyond either end of the ink found.
const BEYOND: usize = 8;
/// Probability from which a character counts as known.
const KNOWN: f64 = 0.7;
/// Score, in nats, that no accident reaches.
const PLAIN: f64 = 12.0;
/// Longest side of a picture that is looked at, pixels.
const LONGEST_SIDE: f32 = 4500.0;

/// One line read.
#[derive(Debug, Clone, PartialEq)]
pub struct ImprintLine {
    /// What it says.
    pub frame: ImprintFrame,
    /// The likeliest character of each place, and how sure each is, 0 to 1.
    pub letters: Vec<(char, f64)>,
    /// Middle of the line in the picture, fractions of its width and height.
    pub centre: (f64, f64),
}

/// What the camera's prints in one picture say.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ImprintPicture {
    /// Lines in reading order along the film.
    pub lines: Vec<ImprintLine>,
    /// The print is darker than its ground, as on a negative.
    pub negative: bool,
    /// The film is seen from the wrong side.
    pub mirrored: bool,
    /// Quarter turns clockwise that bring the film upright (after undoing the
    /// mirror image, left for right, when there is one).
    pub quarters: u8,
}

/// A line under one way of lying.
struct Read {
    reading: LineReading,
    letters: Vec<(char, f64)>,
    raw: String,
    /// How much better than an accident the pattern explains the line, in nats.
    score: f64,
    /// How much better than a blank line the characters explain the ink, in nats.
    gain: f64,
    /// Middle along and across the line's direction, and half its length, in pixels of the turned picture.
    middle: (f32, f32),
    half: f32,
    /// The line that it stands on.
    line: Candidate,
    /// More of the line, where the imprint reaches to an end of what was looked at.
    longer: Option<Candidate>,
}

/// How the film lies in the picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Lying {
    turned: bool,
    dark: bool,
    way: Way,
}

/// Reads every line of a picture. `image` is the name that frames carry.
pub(in crate::rebate) fn read_picture(picture: &GrayImage, readers: &[LineReader], image: &str) -> ImprintPicture {
    let whole = Plane::of(picture);
    let whole = whole.smaller(whole.w.max(whole.h) as f32 / LONGEST_SIDE);
    if whole.w < 40 || whole.h < 12 {
        return ImprintPicture::default();
    }
    let planes = [whole.clone(), whole.turned()];
    let mut totals: Vec<(Lying, f64, Vec<Read>)> = Vec::new();
    // The strip's own direction first; the other only when that says nothing.
    let upright = whole.h > whole.w;
    for turned in [upright, !upright] {
        if totals.iter().flat_map(|(_, _, reads)| reads).any(|r| r.score > PLAIN) {
            break;
        }
        let plane = &planes[usize::from(turned)];
        for candidate in candidates(plane) {
            // Once a line is plain, what is unlike it is not looked at.
            let plain = totals.iter().flat_map(|(_, _, reads)| reads).find(|r| r.score > PLAIN);
            let unlike = |r: &Read| {
                let size = (candidate.height / r.line.height).ln().abs();
                candidate.dark != r.line.dark || size > 0.35 || (candidate.slope - r.line.slope).abs() > 0.03
            };
            if plain.is_some_and(unlike) {
                continue;
            }
            let found = read_whole(plane, &candidate, readers);
            for (way, read) in found {
                let lying = Lying { turned, dark: candidate.dark, way };
                match totals.iter_mut().find(|(l, ..)| *l == lying) {
                    Some((_, _, reads)) => reads.push(read),
                    None => totals.push((lying, 0.0, vec![read])),
                }
            }
        }
    }
    for (_, total, reads) in &mut totals {
        keep_best(reads);
        *total = reads.iter().map(|r| r.score).sum();
    }
    let Some((lying, _, mut reads)) = totals.into_iter().max_by(|a, b| a.1.total_cmp(&b.1)) else {
        return ImprintPicture::default();
    };
    let plane = &planes[usize::from(lying.turned)];
    reads.extend(on_the_same_line(plane, &reads, lying.way, readers));
    keep_best(&mut reads);
    let towards = if lying.way.runs_left() { -1.0 } else { 1.0 };
    reads.sort_by(|a, b| (a.middle.0 * towards).total_cmp(&(b.middle.0 * towards)));
    let lines = reads.into_iter().enumerate().map(|(order, r)| {
        let (x, y) = (f64::from(r.middle.0) / plane.w as f64, f64::from(r.middle.1) / plane.h as f64);
        let number = r.reading.number;
        ImprintLine {
            frame: r.reading.into_frame(order, number, r.raw, Some(image.to_owned())),
            letters: r.letters,
            // The turned picture's x is the other's 1 − … down its height.
            centre: if lying.turned { (y, 1.0 - x) } else { (x, y) },
        }
    });
    ImprintPicture {
        lines: lines.collect(),
        negative: lying.dark,
        mirrored: lying.way.is_mirrored(),
        quarters: u8::from(lying.turned) + if lying.way.is_turned_over() { 2 } else { 0 },
    }
}

/// Of readings that lie over each other the best.
fn keep_best(reads: &mut Vec<Read>) {
    reads.sort_by(|a, b| b.score.total_cmp(&a.score));
    let mut kept: Vec<Read> = Vec::new();
    for read in reads.drain(..) {
        let over = |k: &Read| {
            (k.middle.0 - read.middle.0).abs() < k.half.max(read.half)
                && (k.middle.1 - read.middle.1).abs() < 0.5 * k.half.max(read.half)
        };
        if !kept.iter().any(over) {
            kept.push(read);
        }
    }
    *reads = kept;
}

/// A camera prints beside every frame of a strip at one height: where a line
/// was read, others are looked for along its direction, however faint.
fn on_the_same_line(plane: &Plane, reads: &[Read], way: Way, readers: &[LineReader]) -> Vec<Read> {
    let Some(model) = reads.first().map(|r| r.line) else { return Vec::new() };
    let (length, step) = (22.0 * model.height, 13.0 * model.height);
    let mut taken: Vec<(f32, f32)> = reads.iter().map(|r| (r.middle.0 - r.half, r.middle.0 + r.half)).collect();
    taken.push((plane.w as f32, f32::INFINITY));
    taken.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut found = Vec::new();
    let mut free = 0.0;
    for (from, to) in taken {
        let mut x0 = free;
        while from - x0 > 5.0 * model.height {
            let x1 = (x0 + length).min(from);
            for lift in [0.0, -0.5, 0.5] {
                let y0 = model.y0 + model.slope * (x0 - model.x0) + lift * model.height;
                let there = Candidate { x0, x1, y0, ..model };
                found.extend(read_whole(plane, &there, readers).into_iter().filter(|(w, _)| *w == way).map(|(_, r)| r));
            }
            x0 += step;
        }
        free = free.max(to);
    }
    found
}

/// Reads a line every way round; where it turns out to be longer than it was
/// found, all of it.
fn read_whole(plane: &Plane, candidate: &Candidate, readers: &[LineReader]) -> Vec<(Way, Read)> {
    let mut found = read_line(plane, candidate, readers);
    if let Some((way, read)) = found.iter().max_by(|a, b| a.1.score.total_cmp(&b.1.score))
        && let Some(longer) = read.longer
    {
        let better = |(w, r): &(Way, Read)| w == way && r.score > read.score;
        let more: Vec<_> = read_line(plane, &longer, readers).into_iter().filter(better).collect();
        found.extend(more);
    }
    found
}

/// Reads a line every way round that is not out of the question.
fn read_line(plane: &Plane, candidate: &Candidate, readers: &[LineReader]) -> Vec<(Way, Read)> {
    let (strip, candidate) = straightened(plane, candidate);
    let (strip, candidate) = (&strip, &candidate);
    let soft = strip.boxed(1, 1);
    let views: Vec<(Way, Plane)> = Way::ALL.into_iter().map(|way| (way, way.brought_upright(&soft))).collect();
    let seen = |grid: Grid, way: Way| grid.seen(strip, way.is_turned_over(), way.is_mirrored());
    let mut starts: Vec<(f32, Grid, usize, Family)> = Vec::new();
    for grid in suggested(strip) {
        for (v, (way, view)) in views.iter().enumerate() {
            for family in Family::ALL {
                let grid = seen(grid, *way);
                starts.push((grid.accounted(view, &looks_of(family)[1]), grid, v, family));
            }
        }
    }
    starts.sort_by(|a, b| b.0.total_cmp(&a.0));
    let Some((accounted, grid, v, _)) = starts.first() else { return Vec::new() };
    if *accounted < SHARE * power(&views[*v].1, grid) {
        return Vec::new();
    }
    let mut reads: Vec<(Way, Read)> = Vec::new();
    let mut tried: Vec<(f32, Family)> = Vec::new();
    for start in 0..STARTS {
        // The best start of each family is brought to its place; then the other ways follow from it.
        let mut placed: Vec<(f32, Grid, Family)> = Vec::new();
        for family in Family::ALL {
            let other = |pitch: f32| tried.iter().all(|(p, f)| *f != family || (p / pitch - 1.0).abs() > OTHER_PITCH);
            let Some((_, grid, v, _)) = starts.iter().find(|s| s.3 == family && other(s.1.pitch)) else { continue };
            tried.push((grid.pitch, family));
            let (fitted, accounted) = grid.fitted(&views[*v].1, &looks_of(family)[1]);
            placed.push((accounted, seen(fitted, views[*v].0), family));
        }
        let mut ways: Vec<(f32, Grid, usize, Family)> = Vec::new();
        for (_, grid, family) in placed {
            for (v, (way, view)) in views.iter().enumerate() {
                let grid = seen(grid, *way);
                ways.push((grid.accounted(view, &looks_of(family)[1]), grid, v, family));
            }
        }
        let top = ways.iter().map(|w| w.0).fold(0.0, f32::max);
        for (_, grid, v, family) in ways.into_iter().filter(|w| w.0 > RIVAL * top) {
            let way = views[v].0;
            let upright = way.brought_upright(strip);
            let Some(read) = decoded(&upright, way, grid, family, candidate, readers) else { continue };
            // Of many tries one fits anything a little.
            if start > 0 && read.score <= PLAIN {
                continue;
            }
            match reads.iter_mut().find(|(w, _)| *w == way) {
                Some((_, best)) if best.score >= read.score => {}
                Some((_, best)) => *best = read,
                None => reads.push((way, read)),
            }
        }
        // Of soft characters the ink alone does not tell how many there are.
        if reads.iter().any(|(_, r)| r.score > PLAIN) {
            break;
        }
    }
    // The same ink stands behind each way, so that the fit counts as well.
    let best = reads.iter().map(|(_, r)| r.gain).fold(0.0, f64::max);
    for (_, read) in &mut reads {
        read.score -= 0.5 * (best - read.gain);
    }
    reads.retain(|(_, r)| r.score > 0.0);
    reads
}

/// What a line says under the pattern that fits it best.
fn likeliest(readers: &[LineReader], seen: &Sight) -> Option<LineReading> {
    readers
        .iter()
        .map(|r| r.read(&seen.lattice, Source::Rebate))
        .filter(|r| !r.is_empty())
        .max_by(|a, b| a.evidence.total_cmp(&b.evidence))
}

/// For each place of a line the shape of its character, where the pattern leaves little doubt.
fn shapes(strip: &Plane, grid: &Grid, seen: &Sight, reading: &LineReading) -> Vec<Option<&'static Template>> {
    let place = |(k, letters): (usize, &[f64; ALPHABET])| {
        let letter = (0..ALPHABET).find(|i| letters[*i] > KNOWN)?;
        let window = grid.window(strip, k);
        let fit = |t: &Template| explained(&window, &t.samples, t.power);
        let forms = seen.look.templates.iter().skip(1).filter(|t| t.letter == letter);
        forms.max_by(|a, b| fit(a).total_cmp(&fit(b)))
    };
    reading.letters.iter().step_by(seen.lattice.stride).enumerate().map(place).collect()
}

/// The likeliest reading of a grid under any of the patterns.
fn decoded(
    strip: &Plane,
    way: Way,
    grid: Grid,
    family: Family,
    candidate: &Candidate,
    readers: &[LineReader],
) -> Option<Read> {
    let mut grid = grid.widened(strip, BEYOND);
    let mut seen = sight(strip, &grid, family).filter(|s| s.share > EXPLAINED)?;
    let mut reading = likeliest(readers, &seen)?;
    // Now that the characters are mostly known, they tell better where they stand.
    let settled = grid.settled(strip, &shapes(strip, &grid, &seen, &reading));
    if let Some(again) = sight(strip, &settled, family)
        && let Some(better) = likeliest(readers, &again)
        && again.gain > seen.gain
    {
        (grid, seen, reading) = (settled, again, better);
    }
    let score = reading.evidence.max(1e-300).ln() - seen.lattice.without_imprint().ln();
    if score <= 0.0 {
        return None;
    }
    // Where the imprint itself stands, in the picture.
    let (start, end) = reading.span;
    let stride = seen.lattice.stride;
    let place = |cell: usize| {
        let x = grid.x + (cell / stride) as f32 * grid.pitch;
        let x = if way.runs_left() { strip.w as f32 - x } else { x };
        candidate.x0 + (x - MARGIN) * scale(candidate)
    };
    let (a, b) = (place(start), place(end));
    let middle = 0.5 * (a + b);
    let cells = seen.lattice.cells.len();
    let mut ends = (start <= stride, end + stride >= cells);
    if way.runs_left() {
        ends = (ends.1, ends.0);
    }
    let letters = seen.letters[start / stride..end.div_ceil(stride)].to_vec();
    let off = (grid.top + 0.5 * (grid.height - HEIGHT as f32)) * scale(candidate);
    let line = Candidate {
        y0: candidate.y0 + if way.is_turned_over() { -off } else { off },
        height: grid.height * scale(candidate),
        ..*candidate
    };
    Some(Read {
        raw: seen.lattice.text_of(start..end),
        score,
        gain: seen.gain,
        letters,
        reading,
        middle: (middle, line.y0 + line.slope * (middle - line.x0)),
        half: 0.5 * (a - b).abs(),
        longer: (ends.0 || ends.1).then(|| candidate.longer(ends.0, ends.1)),
        line,
    })
}
