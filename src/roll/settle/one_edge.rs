//! A roll's film edge, where several sources show it, made one: what the camera
//! wrote is typed off as a table, as lines, and lies there in pictures as well.
//!
//! A frame is known by its number. Sources that have none are laid where they
//! agree most. Where two agree a value is surer; where they disagree both are
//! kept, the likelier stands, and the field is named.

use std::collections::HashMap;

use crate::facts::{Confidence, FrameNumber, RollName, Settled};
use crate::rebate::{ImprintFrame, RebateRoll};

use super::readings::{APERTURE, COMP, EI, FOCAL, Rule, SHUTTER, over};
use crate::roll::film::counted_on;

/// As likely the one as the other.
const EVEN: f64 = 0.5;

/// One edge of these sources, each with its frames in film order. `first` is
/// the number of the film's first frame.
pub fn one_edge(roll: RollName, sources: Vec<Vec<ImprintFrame>>, first: u16) -> RebateRoll {
    let numbered = |s: &Vec<ImprintFrame>| s.iter().filter(|f| f.number.is_some()).count();
    let mut sources: Vec<_> = sources.into_iter().filter(|s| !s.is_empty()).collect();
    // The one with the most numbers tells the others where they lie; the first of equals.
    sources.sort_by_key(|s| std::cmp::Reverse(numbered(s)));
    let mut frames = sources.into_iter().reduce(|edge, source| joined(edge, source, first)).unwrap_or_default();
    frames.iter_mut().enumerate().for_each(|(order, frame)| frame.order = order);
    RebateRoll { roll, frames }
}

/// Lays a source on the edge: frames of one number are one.
fn joined(mut edge: Vec<ImprintFrame>, source: Vec<ImprintFrame>, first: u16) -> Vec<ImprintFrame> {
    let mut numbers = counted_on(&edge, first);
    let own = counted_on(&source, first);
    let places: HashMap<FrameNumber, usize> = numbers.iter().enumerate().rev().map(|(i, n)| (*n, i)).collect();
    let ahead = if source.iter().any(|f| f.number.is_some()) { 0 } else { lies_ahead(&edge, &places, &source, &own) };
    let mut taken = vec![false; edge.len()];
    let mut more = Vec::new();
    for (frame, number) in source.into_iter().zip(own) {
        let number = number.moved(ahead);
        match places.get(&number).filter(|&&at| !taken[at]) {
            Some(&at) => {
                taken[at] = true;
                merge(&mut edge[at], frame);
            }
            None => more.push((number, frame)),
        }
    }
    for (number, frame) in more {
        let at = numbers.iter().position(|n| *n > number).unwrap_or(edge.len());
        numbers.insert(at, number);
        edge.insert(at, frame);
    }
    edge
}

/// How many frames further on than counted a source without numbers agrees most
/// with the edge; of equals the least.
fn lies_ahead(
    edge: &[ImprintFrame],
    places: &HashMap<FrameNumber, usize>,
    source: &[ImprintFrame],
    own: &[FrameNumber],
) -> i16 {
    let reach = i16::try_from(edge.len().max(source.len())).unwrap_or(i16::MAX);
    let fits = |ahead: i16| -> i32 {
        let there = |n: &FrameNumber| places.get(&n.moved(ahead)).map(|&at| &edge[at]);
        own.iter().zip(source).filter_map(|(n, frame)| Some(alike(there(n)?, frame))).sum()
    };
    let ways = (0..=reach).flat_map(|n| [n, -n]);
    let most = ways.clone().map(fits).max().unwrap_or(0);
    ways.into_iter().find(|&ahead| fits(ahead) == most).unwrap_or(0)
}

/// Fields in which two readings agree, less those in which they do not.
fn alike(a: &ImprintFrame, b: &ImprintFrame) -> i32 {
    fn of<T>(a: &Option<Settled<T>>, b: &Option<Settled<T>>, rule: &Rule<T>) -> i32 {
        let both = a.as_ref().zip(b.as_ref());
        both.map_or(0, |(a, b)| if (rule.same)(&a.value, &b.value) { 1 } else { -1 })
    }
    of(&a.shutter, &b.shutter, &SHUTTER)
        + of(&a.aperture, &b.aperture, &APERTURE)
        + of(&a.focal_mm, &b.focal_mm, &FOCAL)
        + of(&a.ei, &b.ei, &EI)
        + of(&a.comp, &b.comp, &COMP)
}

fn merge(edge: &mut ImprintFrame, other: ImprintFrame) {
    let mut conflicts = std::mem::take(&mut edge.conflicts);
    fn both<T: Clone>(
        edge: &mut Option<Settled<T>>,
        other: Option<Settled<T>>,
        rule: &Rule<T>,
        conflicts: &mut Vec<(crate::facts::Field, String)>,
    ) {
        *edge = match (edge.take(), other) {
            (Some(a), Some(b)) if (rule.same)(&a.value, &b.value) => Some(agreed(a, b, rule)),
            (Some(a), Some(b)) => {
                let why =
                    format!("the film edge is given as {} and as {}", (rule.show)(&a.value), (rule.show)(&b.value));
                conflicts.push((rule.field, why.clone()));
                Some(likelier(a, b, why))
            }
            (a, b) => a.or(b),
        };
    }
    both(&mut edge.shutter, other.shutter, &SHUTTER, &mut conflicts);
    both(&mut edge.aperture, other.aperture, &APERTURE, &mut conflicts);
    both(&mut edge.focal_mm, other.focal_mm, &FOCAL, &mut conflicts);
    both(&mut edge.ei, other.ei, &EI, &mut conflicts);
    both(&mut edge.comp, other.comp, &COMP, &mut conflicts);
    edge.conflicts = conflicts;
    edge.number = edge.number.or(other.number);
    edge.taken = edge.taken.or(other.taken);
    edge.image = edge.image.take().or(other.image);
    if edge.raw != other.raw {
        edge.raw = format!("{} / {}", edge.raw, other.raw);
    }
}

/// Two readings of one value: it is wrong only where both are.
fn agreed<T: Clone>(a: Settled<T>, b: Settled<T>, rule: &Rule<T>) -> Settled<T> {
    let sure = 1.0 - (1.0 - a.confidence.get()) * (1.0 - b.confidence.get());
    let value = (rule.finer)(&a.value, &b.value);
    let mut both = a;
    both.others.extend(b.others);
    both.others.retain(|o| !(rule.same)(&o.value, &value));
    Settled { value, confidence: Confidence::new(sure), ..both }
}

/// Two readings that contradict each other: one is right where the other is wrong. The first of equals stands.
fn likelier<T>(a: Settled<T>, b: Settled<T>, why: String) -> Settled<T> {
    let (p, q) = (a.confidence.get(), b.confidence.get());
    let (for_a, for_b) = (p * (1.0 - q), q * (1.0 - p));
    // Both certain: no telling.
    let share = if for_a + for_b > 0.0 { for_a / (for_a + for_b) } else { EVEN };
    let a = Settled { confidence: Confidence::new(share), ..a };
    let b = Settled { confidence: Confidence::new(1.0 - share), ..b };
    if share < EVEN { over(b, a, why) } else { over(a, b, why) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exposure::{Aperture, Shutter};
    use crate::facts::{Field, Source};

    /// `4:60` is frame 4 at 1/60, `-:60` one without a number; all at f/8.
    fn source(text: &str) -> Vec<ImprintFrame> {
        fn read<T>(value: T) -> Option<Settled<T>> {
            Some(Settled::from_one(value, Confidence::new(0.9), Source::Rebate))
        }
        let frame = |(order, word): (usize, &str)| {
            let (number, shutter) = word.split_once(':').unwrap();
            ImprintFrame {
                shutter: read(Shutter::fraction(shutter.parse().unwrap())),
                aperture: read(Aperture::new(8.0).unwrap()),
                raw: word.to_owned(),
                ..ImprintFrame::blank(number.parse().ok(), order)
            }
        };
        text.split_whitespace().enumerate().map(frame).collect()
    }

    fn edge(sources: &[&str]) -> Vec<ImprintFrame> {
        one_edge(RollName::new("7").unwrap(), sources.iter().map(|s| source(s)).collect(), 1).frames
    }

    fn shown(frames: &[ImprintFrame]) -> String {
        let number = |f: &ImprintFrame| f.number.map_or("-".to_owned(), |n| n.to_string());
        let rows = frames.iter().map(|f| {
            let doubt = if f.conflicts.is_empty() { "" } else { "!" };
            format!("{}:{}{doubt}", number(f), f.shutter.as_ref().unwrap().value)
        });
        rows.collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn sources_that_agree_are_one_and_surer() {
        let frames = edge(&["1:60 2:125", "-:60 -:125", "2:125 3:250"]);
        assert_eq!(shown(&frames), "1:1/60 2:1/125 3:1/250");
        let sure = |i: usize| frames[i].shutter.as_ref().unwrap().confidence.get();
        assert!((sure(0) - 0.99).abs() < 1e-9 && (sure(1) - 0.999).abs() < 1e-9 && (sure(2) - 0.9).abs() < 1e-9);
        assert_eq!(frames.iter().map(|f| f.order).collect::<Vec<_>>(), [0, 1, 2]);
        assert_eq!(frames[1].raw, "2:125 / -:125");
    }

    #[test]
    fn sources_that_disagree_are_kept_and_named() {
        let frames = edge(&["1:60 2:125", "1:60 2:250"]);
        assert_eq!(shown(&frames), "1:1/60 2:1/125!");
        let shutter = frames[1].shutter.as_ref().unwrap();
        assert_eq!((shutter.others[0].value, shutter.confidence.get()), (Shutter::fraction(250), 0.5));
        let why = "the film edge is given as 1/125 and as 1/250";
        assert_eq!(frames[1].conflicts, [(Field::Shutter, why.to_owned())]);
    }

    #[test]
    fn a_source_without_numbers_lies_where_it_agrees() {
        assert_eq!(shown(&edge(&["-:125 -:250", "1:60 2:125 3:250 4:30"])), "1:1/60 2:1/125 3:1/250 4:1/30");
        // Nothing tells: as counted.
        assert_eq!(shown(&edge(&["-:60 -:60", "-:60 -:60 -:60"])), "-:1/60 -:1/60 -:1/60");
        assert_eq!(shown(&edge(&["5:60", "-:30 -:60 -:125"])), "-:1/30 5:1/60 -:1/125");
    }

    #[test]
    fn a_number_that_stands_twice_loses_no_frame() {
        assert_eq!(edge(&["4:60 -:125 5:250", "5:250 5:30"]).len(), 4);
        assert!(edge(&[]).is_empty());
    }
}
