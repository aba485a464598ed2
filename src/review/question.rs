//! A doubt as a question: why it is asked, and the likeliest answers with what they would mean.

use super::choice::Choice;
use super::choices;
use super::doubt::{About, Doubt, Gravity};
use super::{Answer, show};
use crate::edits::{Column, unread};
use crate::facts::{Field, FrameNumber, RollName};
use crate::kit::Kit;
use crate::output::words;
use crate::roll::{Frame, Roll, Trip};
use serde::Serialize;

/// A question to the photographer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Question {
    /// The same as long as it is about the same.
    pub id: String,
    /// The roll.
    pub roll: RollName,
    /// The frame.
    pub frame: FrameNumber,
    /// How grave.
    pub gravity: Gravity,
    /// What is asked, in a few words.
    pub title: String,
    /// Why, one sentence each.
    pub why: Vec<String>,
    /// The likeliest answers, what stands first.
    pub choices: Vec<Choice>,
    /// The column that a typed answer goes to.
    pub column: Option<Column>,
    /// What stands there now, as in the table.
    pub value: String,
    /// Frames that hang on the answer.
    pub onward: Vec<FrameNumber>,
    /// Right as it is.
    pub right: Answer,
    /// Left open.
    pub open: Answer,
}

/// The question that a doubt of `trip` asks; none when there is no such frame.
pub fn ask(doubt: &Doubt, trip: &Trip, kit: &Kit, unsure_below: f64) -> Option<Question> {
    let roll = trip.rolls.iter().find(|r| r.name == doubt.roll)?;
    let at = roll.frames.iter().position(|f| f.number == doubt.frame)?;
    let frame = &roll.frames[at];
    let look = choices::Look { roll, at, kit, unsure_below };
    let (column, choices) = match doubt.about {
        About::Field(Field::Frame) => (None, look.numbers()),
        About::Field(Field::Scan) => (None, look.scans()),
        About::Held => (Some(Column::Support), look.supports()),
        About::Unread => (Some(Column::Remark), look.unread()),
        About::Field(field) => {
            let column = Column::values().find(|c| c.as_str() == field.as_str());
            (column, column.map(|c| look.values(field, c)).unwrap_or_default())
        }
    };
    // What hangs on a number is not found right with it: it only falls back on its own ground.
    let own = |open: bool| doubt.flags.iter().copied().filter(|f| open || About::of(*f) == doubt.about).collect();
    let read = || Answer::Read { roll: doubt.roll.clone(), frame: doubt.frame, remark: None };
    let words = doubt.about == About::Unread;
    let looked_at = |open| Answer::Looked {
        roll: doubt.roll.clone(),
        frame: doubt.frame,
        flags: own(open),
        open,
        onward: doubt.onward.clone(),
    };
    Some(Question {
        id: doubt.id(),
        roll: doubt.roll.clone(),
        frame: doubt.frame,
        gravity: doubt.gravity,
        title: title(doubt, frame),
        why: why(doubt, frame),
        choices,
        column,
        value: column.map(|c| show::cell(roll, frame, c)).unwrap_or_default(),
        onward: doubt.onward.clone(),
        right: if words { read() } else { looked_at(false) },
        open: if words { read() } else { looked_at(true) },
    })
}

fn title(doubt: &Doubt, frame: &Frame) -> String {
    match doubt.about {
        About::Field(Field::Frame) => format!("Is there a frame {}?", frame.number),
        About::Field(Field::Scan) => "Which scan shows it?".to_owned(),
        About::Field(field) => format!("Which {}?", words::field(field)),
        About::Held => "Was it held by hand?".to_owned(),
        About::Unread => "What was meant?".to_owned(),
    }
}

fn why(doubt: &Doubt, frame: &Frame) -> Vec<String> {
    let sentence = |flag: &crate::facts::Flag| match words::reason(frame, *flag) {
        Some(why) => format!("{}: {why}", words::flag(*flag)),
        None => words::flag(*flag),
    };
    if doubt.about == About::Unread {
        return vec![format!("said and not used: {}", unread(frame))];
    }
    doubt.flags.iter().map(sentence).collect()
}

/// Where a frame is on its roll.
pub(super) fn place_of(roll: &Roll, frame: FrameNumber) -> Option<usize> {
    roll.frames.iter().position(|f| f.number == frame)
}
