//! The order in which notes were made.
//!
//! Clips whose time is known stand by time. A note without one stands beside
//! its neighbour by name (`memo 7.wav` after `memo 6.m4a`). A note that has
//! no such neighbour stands by the frames it speaks of: before the first note
//! that records later frames of the same roll. Else the names decide. A note
//! without a time that records nothing itself, such as a remark on a roll, was
//! made afterwards and stands last.

use std::cell::OnceCell;

use crate::facts::{FrameNumber, KnownBy, RollName, caught};
use crate::language::Language;
use crate::roll::NotedRoll;
use crate::roll::story::Builder;
use crate::trip::natural_cmp;

use super::Note;

/// The notes in the order they were made.
pub fn in_order(mut notes: Vec<Note>, language: &Language) -> Vec<Note> {
    notes.sort_by(|a, b| natural_cmp(&a.name, &b.name));
    let (timed, loose): (Vec<Note>, Vec<Note>) = notes.into_iter().partition(is_timed);
    let mut line: Vec<Placed> = timed.into_iter().map(Placed::from).collect();
    line.sort_by_key(|p| p.note.taken.as_ref().map(|t| t.local));
    let mut remarks = Vec::new();
    for placed in loose.into_iter().map(Placed::from) {
        let beside = beside(&line, &placed.note);
        if beside.is_none() && placed.spoken_of(language).is_empty() {
            remarks.push(placed);
            continue;
        }
        let place = beside
            .or_else(|| by_frames(&line, placed.spoken_of(language), language))
            .unwrap_or_else(|| by_name(&line, &placed.note));
        line.insert(place, placed);
    }
    line.into_iter().chain(remarks).map(|p| p.note).collect()
}

/// A note in the line, with the rolls it speaks of once that was asked.
struct Placed {
    note: Note,
    spoken: OnceCell<Vec<Spoken>>,
}

/// A roll that a note speaks of, and the first frame number said of it.
type Spoken = (Option<RollName>, Option<FrameNumber>);

impl From<Note> for Placed {
    fn from(note: Note) -> Self {
        Self { note, spoken: OnceCell::new() }
    }
}

impl Placed {
    /// The rolls of the note when it is taken by itself. None: it records nothing, or is
    /// a remark on rolls that other notes record.
    fn spoken_of(&self, language: &Language) -> &[Spoken] {
        self.spoken.get_or_init(|| {
            let first =
                |roll: &NotedRoll| roll.frames.iter().filter_map(|f| f.said_numbers.first()).map(|(n, _)| *n).min();
            // A fault is told once the note is read with the others.
            let rolls = caught(|| {
                let mut alone = Builder::new(language, 0.0);
                alone.add(&self.note.name, &self.note.heard);
                alone.finish()
            });
            let told = |roll: &NotedRoll| !roll.frames.is_empty() || roll.remarks.is_empty();
            rolls.unwrap_or_default().into_iter().filter(told).map(|roll| (roll.name.clone(), first(&roll))).collect()
        })
    }
}

/// Whether a note's time is good enough to be put in order by.
fn is_timed(note: &Note) -> bool {
    note.taken.as_ref().is_some_and(|t| matches!(t.known_by, KnownBy::Container | KnownBy::FileName))
}

/// Before the first note whose name comes later.
fn by_name(line: &[Placed], note: &Note) -> usize {
    line.iter().position(|p| natural_cmp(&p.note.name, &note.name).is_gt()).unwrap_or(line.len())
}

/// After its nearest earlier neighbour by name, else before its nearest later one.
fn beside(line: &[Placed], note: &Note) -> Option<usize> {
    let own = family(&note.name)?;
    let kin = || line.iter().map(|p| &p.note).enumerate().filter(|(_, n)| family(&n.name).as_ref() == Some(&own));
    let earlier = kin().filter(|(_, n)| natural_cmp(&n.name, &note.name).is_lt());
    let later = kin().filter(|(_, n)| natural_cmp(&n.name, &note.name).is_gt());
    earlier
        .max_by(|a, b| natural_cmp(&a.1.name, &b.1.name))
        .map(|(i, _)| i + 1)
        .or_else(|| later.min_by(|a, b| natural_cmp(&a.1.name, &b.1.name)).map(|(i, _)| i))
}

/// A name without its numbers and its extension: what numbered neighbours share. A letter that
/// stands alone at the end counts as well ("15_a", "15_b").
fn family(name: &str) -> Option<String> {
    let stem = name.rsplit_once('.').map_or(name, |(stem, _)| stem);
    let counted = match stem.strip_suffix(|c: char| c.is_ascii_alphabetic()) {
        Some(before) if before.ends_with(|c: char| !c.is_alphabetic()) => before,
        _ => stem,
    };
    let bare: String = counted.chars().filter(|c| !c.is_ascii_digit()).collect();
    (bare.len() < counted.len()).then(|| bare.to_lowercase())
}

/// Before the first note with later frames of a roll spoken of here too, else after the
/// last that speaks of the roll.
fn by_frames(line: &[Placed], rolls: &[Spoken], language: &Language) -> Option<usize> {
    let mut last = None;
    for (i, placed) in line.iter().enumerate() {
        for (other, theirs) in placed.spoken_of(language) {
            let mine = rolls.iter().filter(|(name, _)| name.is_some() && name == other).find_map(|(_, first)| *first);
            match (mine, theirs) {
                (Some(mine), Some(theirs)) if *theirs > mine => return Some(i),
                (Some(_), Some(_)) => last = Some(i + 1),
                _ => {}
            }
        }
    }
    last
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::facts::Taken;
    use crate::kit::Kit;
    use crate::speech::{TextKind, transcript};

    fn text(name: &str, text: &str) -> Note {
        Note { heard: transcript(text.as_bytes(), TextKind::Plain).unwrap(), ..note(name, None) }
    }

    fn note(name: &str, minute: Option<i8>) -> Note {
        let taken = minute.map(|m| Taken {
            local: date(2025, 9, 13).at(9, m, 0, 0),
            offset_s: None,
            known_by: KnownBy::Container,
        });
        Note { name: name.to_owned(), taken, ..Note::default() }
    }

    fn ordered(notes: Vec<Note>) -> Vec<String> {
        let language = Language::english(Kit::default());
        in_order(notes, &language).into_iter().map(|n| n.name).collect()
    }

    #[test]
    fn time_beats_the_name() {
        let notes = vec![note("VID_2.mp4", Some(30)), note("IMG_1.mov", Some(20)), note("IMG_0.mov", Some(40))];
        assert_eq!(ordered(notes), ["IMG_1.mov", "VID_2.mp4", "IMG_0.mov"]);
    }

    #[test]
    fn an_untimed_clip_stands_beside_its_neighbour() {
        let notes = vec![
            note("memo 12.m4a", Some(50)),
            note("memo 9.m4a", Some(10)),
            note("memo 11.wav", None),
            note("memo 10.wav", None),
            note("memo 8.wav", None),
            note("b.m4a", Some(20)),
        ];
        assert_eq!(ordered(notes), ["memo 8.wav", "memo 9.m4a", "memo 10.wav", "memo 11.wav", "b.m4a", "memo 12.m4a"]);
    }

    #[test]
    fn without_times_names_decide() {
        let frame = "Frame 1, f8 at a 60th.";
        let notes = vec![text("b", frame), text("a 10", frame), text("a 9", frame)];
        assert_eq!(ordered(notes), ["a 9", "a 10", "b"]);
    }

    #[test]
    fn a_letter_at_the_end_of_a_name_counts_too() {
        let names = ["VN_15_a", "VN_15_b", "VN_15_c", "VN_16_a", "VN_16_b"];
        let notes = ["VN_16_a", "VN_15_b", "VN_16_b", "VN_15_a", "VN_15_c"].map(|n| text(n, "Hello."));
        assert_eq!(ordered(notes.into()), names);
    }

    #[test]
    fn texts_stand_by_the_frames_they_record() {
        let notes = vec![
            text("boat.txt", "Still roll 30. Frame 7, f8 at a 60th."),
            text("monday.txt", "Roll 30. Frame 1, f8 at a 60th. Frame 2, f11 at a 60th."),
            text("market.txt", "Roll 31. Frame 1, f8 at a 60th."),
        ];
        assert_eq!(ordered(notes), ["monday.txt", "boat.txt", "market.txt"]);
    }

    #[test]
    fn a_remark_on_a_roll_stands_last() {
        let lab = "About roll 30: the lab scanned it tail first.";
        let roll = "Roll 30. Frame 1, f8 at a 60th.";
        assert_eq!(
            ordered(vec![text("from the lab.txt", lab), text("quay.txt", roll)]),
            ["quay.txt", "from the lab.txt"]
        );
    }
}
