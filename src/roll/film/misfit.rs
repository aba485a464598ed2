//! What the scans tell of the count: where they do not fit it, the numbers that nobody said are in doubt, and with them
//! the settings that hang on them.

use crate::facts::{Field, Flag};
use crate::scans::ScanFolder;

use super::solve::Place;
use crate::roll::record::{Frame, HANGS, NotedFrame, NotedRoll, Roll, Status, shake, shaken};

/// A number this sure, said and found where it was said to be, holds whatever the scans tell.
const SURELY_SAID: f64 = 0.85;
/// Frames so far off may have been meant.
const NEAR: usize = 2;
/// Frames at the end that nobody noted, before the count is in doubt: the last of a roll is often shot off.
const SHOT_OFF: usize = 1;

/// So many notes without scans, and scans without notes, and the notes may be of another roll.
const FAR_OFF: usize = 3;

/// What is told of a roll.
const OF_ROLL: [Field; 3] = [Field::Camera, Field::Film, Field::Ei];
/// What is told of a frame.
const OF_FRAME: [Field; 7] =
    [Field::Lens, Field::FocalMm, Field::Shutter, Field::Aperture, Field::Filter, Field::Light, Field::Support];

/// Flags the frames of a roll whose number nobody said, where notes are left without a scan or scans without a note.
/// `places` stand as the frames do.
pub fn flag_count(frames: &mut [Frame], places: &[Place], notes: &[NotedFrame]) {
    if frames.iter().all(|f| f.scans.is_empty()) {
        return;
    }
    let unnoted = |f: &Frame| f.status == Status::Unnoted;
    let tail = frames.iter().rev().take_while(|f| unnoted(f)).count();
    let between = frames.iter().filter(|f| unnoted(f)).count() - tail;
    let unscanned = frames.iter().filter(|f| f.status == Status::Unscanned).count();
    let off = unscanned + between + tail.saturating_sub(SHOT_OFF);
    if off == 0 {
        return;
    }
    let said = |k: usize| {
        let note = places[k].note.map(|i| &notes[i]);
        note.and_then(|n| n.said_numbers.first()).is_some_and(|(n, p)| *n == places[k].number && *p >= SURELY_SAID)
    };
    for k in (0..frames.len()).filter(|k| places[*k].note.is_some() && !said(*k)).collect::<Vec<_>>() {
        let around = k.saturating_sub(NEAR)..(k + NEAR + 1).min(frames.len());
        let around = around.filter(|j| *j != k).map(|j| &frames[j]).filter(|f| !unnoted(f));
        let fields = shaken(&frames[k], around);
        let frame = &mut frames[k];
        frame.number_confidence = frame.number_confidence.min(HANGS);
        frame.flag(Flag::Unsure(Field::Frame), "the roll's scans do not fit the count");
        if frame.status == Status::Unscanned {
            shake(frame, &told(frame, &OF_ROLL));
        }
        if off >= FAR_OFF || frame.status == Status::Unscanned {
            shake(frame, &told(frame, &OF_FRAME));
        } else {
            shake(frame, &fields);
        }
    }
}

/// Whether a roll of the notes has no scans though the trip has folders of scans, one of which may be its own or all of
/// which are others'.
pub fn is_unplaced(noted: &NotedRoll, folders: &[ScanFolder], all: &[NotedRoll]) -> bool {
    let claimed = |f: &ScanFolder| all.iter().any(|n| n.name.as_ref() == Some(&f.roll));
    !folders.is_empty() && (noted.name.is_none() || folders.iter().any(|f| !claimed(f)))
}

/// Flags all of a roll that may be part of another.
pub fn flag_unplaced(roll: &mut Roll) {
    for frame in &mut roll.frames {
        frame.number_confidence = frame.number_confidence.min(HANGS);
        frame.flag(Flag::Unsure(Field::Frame), "no folder of scans is this roll's; it may be part of another");
        shake(frame, &told(frame, &OF_ROLL));
        shake(frame, &told(frame, &OF_FRAME));
    }
}

/// Those of these fields that are known of a frame.
fn told(frame: &Frame, of: &[Field]) -> Vec<Field> {
    of.iter().copied().filter(|f| frame.ground(*f).is_some()).collect()
}
