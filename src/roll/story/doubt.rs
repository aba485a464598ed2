//! Which rows hang on a frame that may not be there, or may have been lost: their numbers are in
//! doubt until a number said sets the count right, and with them what was told of them.

use crate::facts::{Field, Flag, FrameNumber};
use crate::roll::record::{HANGS, shake, shaken};

use super::state::OpenRoll;

/// A frame less likely than this may be none.
const SURELY_THERE: f64 = 0.7;
/// Flags the rows of a roll whose number is in doubt. `first`: the number that frames count from.
pub(super) fn flag_doubts(roll: &mut OpenRoll, first: FrameNumber) {
    for (k, why) in in_doubt(roll, first).into_iter().enumerate() {
        let Some(why) = why else { continue };
        let around =
            [k.checked_sub(1), Some(k + 1)].into_iter().flatten().filter_map(|j| Some(&roll.shots.get(j)?.frame));
        let fields = shaken(&roll.shots[k].frame, around);
        let frame = &mut roll.shots[k].frame;
        frame.flag(Flag::Unsure(Field::Frame), why);
        frame.number_confidence = frame.number_confidence.min(HANGS);
        shake(frame, &fields);
    }
}

/// Why each row's number is in doubt, if it is.
fn in_doubt(roll: &OpenRoll, first: FrameNumber) -> Vec<Option<&'static str>> {
    let shots = &roll.shots;
    let mut out = vec![None; shots.len()];
    let told = |k: usize| shots[k].numbers.first().map(|n| n.0);
    let mut from = 0;
    let mut place = first.place() - 1;
    while from < shots.len() {
        let next = (from..shots.len()).find(|k| told(*k).is_some());
        let to = next.unwrap_or(shots.len());
        let counted = from..to;
        match next.and_then(told) {
            // The count came out right, so whatever was doubtful in it was right.
            Some(n) if n.place() == place + 1 + counted.len() as i16 => {}
            Some(_) if !counted.is_empty() => {
                out[counted].fill(Some("the number said after it does not fit the count"));
            }
            Some(_) => {}
            None => {
                let weak = counted.clone().find(|k| shots[*k].there < SURELY_THERE);
                let lost = roll.lost.iter().copied().filter(|k| *k >= from).min();
                if let Some(since) = weak.into_iter().chain(lost).min() {
                    out[since.min(to)..to].fill(Some("a frame before it may be none, or one may have been lost"));
                }
            }
        }
        place = next.and_then(told).map_or(place, FrameNumber::place);
        from = to + 1;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::super::state::Shot;
    use super::*;
    use crate::roll::record::{Frame, Status};

    /// Rows with how likely each is there, and its number where one was said.
    fn roll(rows: &[(f64, Option<u16>)], lost: &[usize]) -> OpenRoll {
        let mut number = FrameNumber::new(0);
        let shots = rows.iter().map(|(there, said)| {
            number = said.map_or(number.next(), FrameNumber::new);
            Shot {
                frame: Frame::blank(number, Status::Ok),
                numbers: said.map(|n| (FrameNumber::new(n), 1.0)).into_iter().collect(),
                at: (0, 0),
                there: *there,
            }
        });
        OpenRoll { shots: shots.collect(), lost: lost.to_vec(), ..OpenRoll::default() }
    }

    fn doubted(rows: &[(f64, Option<u16>)], lost: &[usize]) -> Vec<bool> {
        in_doubt(&roll(rows, lost), FrameNumber::new(1)).iter().map(Option::is_some).collect()
    }

    #[test]
    fn doubt_goes_on_until_a_number_sets_the_count_right() {
        assert_eq!(doubted(&[(1.0, None), (0.6, None), (1.0, None)], &[]), [false, true, true]);
        assert_eq!(doubted(&[(1.0, None), (0.6, None), (1.0, Some(3)), (1.0, None)], &[]), [false; 4]);
        assert_eq!(doubted(&[(1.0, None), (1.0, None), (1.0, Some(4)), (1.0, None)], &[]), [true, true, false, false]);
    }

    #[test]
    fn rows_behind_a_frame_that_may_be_lost_are_in_doubt() {
        assert_eq!(doubted(&[(1.0, None), (1.0, None), (1.0, None)], &[1]), [false, true, true]);
        assert_eq!(doubted(&[(1.0, None), (1.0, Some(2)), (1.0, None)], &[1]), [false, false, false]);
    }
}
