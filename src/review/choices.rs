//! The likeliest answers to a question.

use crate::edits::{Column, Fate, unread};
use crate::exposure::{Light, Support};
use crate::facts::{Field, FrameNumber};
use crate::kit::Kit;
use crate::output::words;
use crate::roll::{Frame, Roll, Status};

use super::choice::Choice;
use super::doubt::{About, onward};
use super::meaning::meaning;
use super::{Answer, show};

/// As many as there are digits to press.
const MOST: usize = 9;

/// A frame in its roll, looked at with the kit.
pub struct Look<'a> {
    /// The roll.
    pub roll: &'a Roll,
    /// Where the frame is in it.
    pub at: usize,
    /// What the photographer owns.
    pub kit: &'a Kit,
    /// Confidence below which values are flagged.
    pub unsure_below: f64,
}

impl Look<'_> {
    fn frame(&self) -> &Frame {
        &self.roll.frames[self.at]
    }

    /// Answers for the value of a field: what stands, the other readings, then what the frames
    /// beside it and the kit have, as long as keys are left.
    pub fn values(&self, field: Field, column: Column) -> Vec<Choice> {
        let frame = self.frame();
        let stands = show::cell(self.roll, frame, column);
        let shares = words::whole_percents(&words::shares(frame, field));
        let mut choices: Vec<Choice> = Vec::new();
        let mut add = |text: &str, share: Option<u32>, source: Option<&'static str>| {
            let same = |c: &Choice| matches!(&c.answer, Answer::Set { text: t, .. } if t == text);
            if text.is_empty() || choices.len() == MOST || choices.iter().any(same) {
                return;
            }
            choices.push(Choice {
                label: show::value(column, text),
                means: meaning(self.roll, self.at, self.kit, self.unsure_below, column, text),
                share,
                source,
                scan: None,
                stands: text == stands,
                answer: self.set(column, text, field),
            });
        };
        let sources = show::sources(frame, field);
        add(&stands, shares.first().copied(), sources);
        let likely = frame.readings(field).into_iter().zip(shares.into_iter().skip(1)).filter(|(_, p)| *p > 0);
        for (reading, share) in likely {
            add(&reading.value, Some(share), Some(reading.source.as_str()));
        }
        for text in self.likely(field, column) {
            add(&text, None, None);
        }
        choices
    }

    /// Values that the frames beside it have, and that the kit has.
    fn likely(&self, field: Field, column: Column) -> Vec<String> {
        let beside = [self.at.checked_sub(1), Some(self.at + 1)].into_iter().flatten();
        let beside = beside.filter_map(|i| self.roll.frames.get(i)).map(|f| show::cell(self.roll, f, column));
        let kit = self.kit;
        let camera = self.frame().camera.as_ref().map(|c| c.value.as_str());
        let owned: Vec<String> = match field {
            Field::Camera => kit.cameras.iter().map(|c| c.name.clone()).collect(),
            Field::Lens => {
                let fits = |l: &&crate::kit::Lens| camera.is_none_or(|c| l.fits(c));
                kit.lenses.iter().filter(fits).map(|l| l.name.clone()).collect()
            }
            Field::Film => kit.films.iter().map(|f| f.name.clone()).collect(),
            Field::Filter => kit.filters.iter().map(|f| f.name.clone()).chain(["none".to_owned()]).collect(),
            Field::Support => Support::ALL.iter().map(|s| s.as_str().to_owned()).collect(),
            Field::Light => Light::ALL.iter().map(|l| l.as_str().to_owned()).collect(),
            Field::Ei => {
                let film = self.frame().film.as_ref().and_then(|f| kit.film(&f.value));
                film.iter()
                    .flat_map(|f| [f.ei.map(|e| e.get()), Some(f.iso.get())])
                    .flatten()
                    .map(|n| n.to_string())
                    .collect()
            }
            _ => Vec::new(),
        };
        beside.chain(owned).collect()
    }

    fn set(&self, column: Column, text: &str, field: Field) -> Answer {
        Answer::Set {
            roll: self.roll.name.clone(),
            frame: self.frame().number,
            column,
            text: text.to_owned(),
            onward: onward(self.roll, self.at, About::Field(field)),
        }
    }

    /// How a frame that was slow may have been held.
    pub fn supports(&self) -> Vec<Choice> {
        self.values(Field::Support, Column::Support)
    }

    /// Answers for words that were not used.
    pub fn unread(&self) -> Vec<Choice> {
        let frame = self.frame();
        let words = unread(frame);
        let remark = frame.remark.iter().cloned().chain([words]).collect::<Vec<_>>().join("; ");
        let (roll, number) = (self.roll.name.clone(), frame.number);
        vec![Choice {
            label: "Keep it as a remark".into(),
            means: remark.clone(),
            share: None,
            source: None,
            scan: None,
            stands: false,
            answer: Answer::Read { roll, frame: number, remark: Some(remark) },
        }]
    }

    /// Answers for a frame's number.
    pub fn numbers(&self) -> Vec<Choice> {
        let (roll, here) = (&self.roll.name, self.frame().number);
        let taken = |n: FrameNumber| self.roll.frames.iter().any(|f| f.number == n);
        let plain = |label: String, means: &str, answer| Choice {
            label,
            means: means.to_owned(),
            share: None,
            source: None,
            scan: None,
            stands: false,
            answer,
        };
        let mut choices = Vec::new();
        if let Some(before) = self.at.checked_sub(1).map(|i| self.roll.frames[i].number) {
            let answer = Answer::Number { roll: roll.clone(), frame: here, fate: Fate::With(before), close: true };
            choices.push(plain(
                format!("The same as {before}"),
                "the two rows are one frame, and all after it count one less",
                answer,
            ));
        }
        let out = Answer::Number { roll: roll.clone(), frame: here, fate: Fate::Out, close: true };
        choices.push(plain("No such frame".to_owned(), "it is taken out, and all after it count one less", out));
        for (by, means) in [(1, "a frame before it was not noted"), (-1, "one before it was counted that is none")] {
            let to = here.moved(by);
            if by < 0 && (taken(to) || to == here) {
                continue;
            }
            let answer = Answer::Shift { roll: roll.clone(), frame: here, by };
            choices.push(plain(format!("It is {to}"), &format!("{means}; all after it go along"), answer));
        }
        choices
    }

    /// Answers for which scan shows a frame: its own, those of the frames beside it, none.
    pub fn scans(&self) -> Vec<Choice> {
        let frame = self.frame();
        let roll = &self.roll.name;
        let choice = |label: String, means: String, scan: Option<String>, stands, answer| Choice {
            label,
            means,
            share: None,
            source: None,
            scan,
            stands,
            answer,
        };
        let mut choices = Vec::new();
        if !frame.scans.is_empty() {
            let same = self.set(Column::Scan, &frame.scans.join("|"), Field::Scan);
            let sure = (frame.scan_confidence * 100.0).floor() as u32;
            let own = choice(
                show::base(&frame.scans[0]),
                "it has this scan now".into(),
                frame.scans.first().cloned(),
                true,
                same,
            );
            choices.push(Choice { share: Some(sure), ..own });
        }
        let beside = (1..=2usize).flat_map(|d| [self.at.checked_sub(d), Some(self.at + d)]).flatten();
        for other in beside.filter_map(|i| self.roll.frames.get(i)) {
            let Some(scan) = other.scans.first() else { continue };
            let noted = if other.status == Status::Unnoted { ", of which nothing was said" } else { "" };
            let means = if frame.scans.is_empty() {
                format!("it stands at frame {}{noted}", other.number)
            } else {
                format!("it stands at frame {}{noted}, which gets this one's", other.number)
            };
            let answer =
                Answer::MoveScan { roll: roll.clone(), scan: scan.clone(), from: Some(other.number), to: frame.number };
            choices.push(choice(show::base(scan), means, Some(scan.clone()), false, answer));
        }
        if !frame.scans.is_empty() {
            let none = self.set(Column::Scan, "", Field::Scan);
            choices.push(choice("None of them".into(), "the frame was not scanned".into(), None, false, none));
        }
        choices
    }
}
