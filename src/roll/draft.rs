//! One frame, or a group of frames spoken of together, while it is being described.

use std::ops::Range;

use crate::exposure::Shutter;
use crate::facts::FrameNumber;
use crate::language::act::{ApertureSaid, BracketSaid, FilterSaid, Moved, Same};
use crate::language::ways::Way;

use super::said::Manner;

/// A shutter setting as said.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ShutterSaid {
    pub ways: Vec<Way<Shutter>>,
    /// Taken as a focal length instead, with the weight of that against the shutter's.
    pub or_focal: Option<(Vec<Way<f64>>, f64, f64)>,
    pub manner: Manner,
    pub firm: bool,
    pub span: Range<usize>,
}

/// An aperture as said.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ApertureHeard {
    pub said: ApertureSaid,
    pub manner: Manner,
    pub span: Range<usize>,
}

/// A plain value as said.
#[derive(Debug, Clone)]
pub(super) struct Valued<T> {
    pub value: T,
    pub manner: Manner,
}

/// What has been said of the frame so far.
#[derive(Debug, Clone, Default)]
pub(super) struct Draft {
    pub numbers: Vec<Vec<Way<FrameNumber>>>,
    pub numbers_manner: Manner,
    /// Numbers came after the settings.
    pub count: Option<u32>,
    /// The count was given before any frame was described: "two goes at it: …".
    pub announced: bool,
    pub all: bool,
    pub shutters: Vec<ShutterSaid>,
    pub apertures: Vec<ApertureHeard>,
    pub focal: Option<Valued<Vec<Way<f64>>>>,
    pub lens: Option<Valued<usize>>,
    pub filters: Vec<Valued<FilterSaid>>,
    pub comp: Option<f64>,
    pub light: Option<Valued<String>>,
    pub support: Option<Valued<String>>,
    pub subject: Vec<String>,
    pub place: Vec<String>,
    pub same: Vec<Same>,
    /// "Same again": one frame more.
    pub again: bool,
    pub same_as: Option<Vec<Way<FrameNumber>>>,
    pub changes: Vec<(Moved, f64)>,
    /// How the changes were said.
    pub changes_manner: Manner,
    /// Numbers that went unread while it was described.
    pub unread: Vec<f64>,
    pub from: bool,
    pub extra: Option<f64>,
    pub to_match: Option<Moved>,
    pub bracket: Vec<BracketSaid>,
    pub list_of: Option<Moved>,
    pub bracket_by: Option<Moved>,
    pub wasted: bool,
    pub double: bool,
    /// What is missing comes from the frame before.
    pub inherit: bool,
    /// A frame was spoken of, even if nothing of it was said.
    pub opened: bool,
    /// Readings of a meter, or what it should have been.
    pub base_shutter: Option<ShutterSaid>,
    pub base_aperture: Option<ApertureHeard>,
    /// What comes next replaces what was said.
    pub correcting: bool,
    /// It was said that something before was wrong.
    pub corrects: bool,
    /// Something was replaced since a correction was announced.
    pub replaced: bool,
    /// It was taken back, and nothing has replaced it yet.
    pub scratched: bool,
    /// The last two values of a kind were joined by "and".
    pub anded: bool,
    /// Values of one kind that make one frame each.
    pub shutter_list: bool,
    pub aperture_list: bool,
    /// The next value is another possibility.
    pub or: bool,
    pub spans: Vec<Range<usize>>,
    /// A sentence ended since both dials were known.
    pub rounded_off: bool,
    /// What came after that, until it is known which frame it belongs to.
    pub weak_number: bool,
    /// Sentences since it became a frame.
    pub sentences: usize,
}

impl Draft {
    /// Whether something was set on a dial.
    pub fn has_exposure(&self) -> bool {
        !self.shutters.is_empty() || !self.apertures.is_empty()
    }

    /// Whether both dials are known, or will be from the frame before.
    pub fn is_complete(&self) -> bool {
        (!self.shutters.is_empty() && !self.apertures.is_empty())
            || (!self.changes.is_empty() || self.same.contains(&Same::All) || self.same_as.is_some())
            || self.wasted
            || (self.has_exposure() && self.inherit)
    }

    /// Whether it speaks of a frame at all.
    pub fn is_frame(&self) -> bool {
        let numbers = !self.numbers.is_empty() && !self.weak_number;
        let firm = self.shutters.iter().any(|s| s.firm) || !self.apertures.is_empty();
        let changed = self.changes.iter().any(|c| c.0 != Moved::Either) || self.to_match.is_some();
        numbers
            || firm
            || (self.wasted)
            || (self.opened && (changed || !self.shutters.is_empty() || !self.same.is_empty() || self.has_bracket()))
            || (self.same.contains(&Same::All)
                && (self.opened || self.has_exposure() || self.count.is_some() || self.again))
            || self.same_as.is_some()
            || (changed && self.opened)
            || (changed && self.base_shutter.is_some() && self.base_aperture.is_some())
            || self.count.is_some() && self.shutters.iter().any(|s| s.firm)
            || (self.opened && self.inherit && !self.changes.is_empty())
            || (self.comp.is_some() && !self.shutters.is_empty())
    }

    /// Whether it is a bracket of exposures.
    pub fn has_bracket(&self) -> bool {
        self.bracket
            .iter()
            .any(|b| matches!(b, BracketSaid::Offset(..) | BracketSaid::EitherSide(_) | BracketSaid::Count(_)))
    }
}

/// The offsets of a bracket in the order said, stops, and none when it is not one.
///
/// A lone offset without the word is compensation, not a bracket: `Err` with it.
pub(super) fn offsets(said: &[BracketSaid], numbered: bool) -> Result<Option<Vec<f64>>, f64> {
    if said.contains(&BracketSaid::No) {
        return Ok(None);
    }
    let step = said.iter().find_map(|b| if let BracketSaid::Step(s) = b { Some(*s) } else { None });
    let either = said.iter().find_map(|b| if let BracketSaid::EitherSide(s) = b { Some(*s) } else { None });
    let count = said.iter().find_map(|b| if let BracketSaid::Count(n) = b { Some(*n) } else { None });
    let word = said.contains(&BracketSaid::Word);
    let mut listed: Vec<f64> = Vec::new();
    let mut straight = false;
    for b in said {
        match *b {
            // "one over" is one exposure over by the step, where a step was said.
            BracketSaid::Offset(o, countable) => listed.push(if countable { o * step.unwrap_or(1.0) } else { o }),
            BracketSaid::Straight => {
                straight = true;
                listed.push(0.0);
            }
            _ => {}
        }
    }
    if let Some(all) = spread(&listed, step, count) {
        return Ok(Some(all));
    }
    let real = listed.iter().filter(|o| **o != 0.0).count();
    if let Some(s) = either {
        return Ok(Some(vec![0.0, s, -s]));
    }
    if real == 0 {
        return Ok(count.or(if word && step.is_some() { Some(3) } else { None }).map(|n| {
            let step = step.unwrap_or(1.0);
            let mut all = vec![0.0];
            for i in 1..n.min(99) {
                let size = f64::from(i.div_ceil(2)) * step;
                all.push(if i % 2 == 1 { size } else { -size });
            }
            all.truncate(n as usize);
            all
        }));
    }
    if real == 1 && !word && (!straight || numbered) {
        return Err(listed.into_iter().find(|o| *o != 0.0).unwrap_or(0.0));
    }
    if straight {
        return Ok(Some(listed));
    }
    let mut all = vec![0.0];
    all.extend(listed);
    Ok(Some(all))
}

/// "From minus two thirds to plus two thirds in thirds, five of them": the ends of a row.
fn spread(ends: &[f64], step: Option<f64>, count: Option<u32>) -> Option<Vec<f64>> {
    let (&[a, b], step) = (ends, step?) else { return None };
    let steps = ((b - a).abs() / step).round();
    let fits = (steps * step - (b - a).abs()).abs() < 0.1 && count.is_some_and(|n| f64::from(n) == steps + 1.0);
    fits.then(|| (0..=steps as u32).map(|i| a + f64::from(i) * step * (b - a).signum()).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use BracketSaid::{Count, EitherSide, Offset, Step, Straight, Word};

    #[test]
    fn brackets_in_the_order_said() {
        assert_eq!(offsets(&[Word, Offset(1.0, true), Offset(-1.0, true)], false), Ok(Some(vec![0.0, 1.0, -1.0])));
        assert_eq!(offsets(&[Offset(-1.0, true), Straight, Offset(1.0, true)], false), Ok(Some(vec![-1.0, 0.0, 1.0])));
        assert_eq!(offsets(&[Word, Count(5), Step(1.0)], false), Ok(Some(vec![0.0, 1.0, -1.0, 2.0, -2.0])));
        let row = [Count(5), Step(0.5), Offset(-1.0, false), Offset(1.0, false)];
        assert_eq!(offsets(&row, false), Ok(Some(vec![-1.0, -0.5, 0.0, 0.5, 1.0])));
        assert_eq!(offsets(&[EitherSide(2.0)], false), Ok(Some(vec![0.0, 2.0, -2.0])));
        assert_eq!(offsets(&[Offset(1.33, false)], false), Err(1.33));
        assert_eq!(offsets(&[Word], false), Ok(None));
    }
}
