//! Answers as edits: the same that a changed table makes.

use serde::{Deserialize, Serialize};

use crate::edits::{Column, Edit, Edits, Fate};
use crate::facts::{Field, Flag, FrameNumber, RollName};
use crate::kit::Kit;
use crate::roll::{Frame, Roll, Status, Trip};

use super::meaning::trial;
use super::show;

/// What the photographer answers, or changes of their own accord.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "do", rename_all = "snake_case")]
pub enum Answer {
    /// A cell reads so; the same on frames that hang on it.
    Set {
        /// The roll.
        roll: RollName,
        /// The frame.
        frame: FrameNumber,
        /// The column.
        column: Column,
        /// As typed; empty for unknown.
        text: String,
        /// Frames that hang on it.
        #[serde(default)]
        onward: Vec<FrameNumber>,
    },
    /// Flags were looked at: all is right as it is, or it is left open.
    Looked {
        /// The roll.
        roll: RollName,
        /// The frame.
        frame: FrameNumber,
        /// The flags.
        flags: Vec<Flag>,
        /// Left open.
        open: bool,
        /// Frames that hang on it.
        #[serde(default)]
        onward: Vec<FrameNumber>,
    },
    /// Words that were not used were looked at, and kept as a remark if they are worth it.
    Read {
        /// The roll.
        roll: RollName,
        /// The frame.
        frame: FrameNumber,
        /// The frame's remark from here on; none leaves it.
        remark: Option<String>,
    },
    /// A frame has another number, is none, or is one with another.
    Number {
        /// The roll.
        roll: RollName,
        /// The frame.
        frame: FrameNumber,
        /// What becomes of it.
        fate: Fate,
        /// When a number falls free, all frames after it count one less.
        #[serde(default)]
        close: bool,
    },
    /// A frame and all after it have numbers `by` further on.
    Shift {
        /// The roll.
        roll: RollName,
        /// The first frame that moves.
        frame: FrameNumber,
        /// How far; minus is back.
        by: i16,
    },
    /// A frame that was not noted stands at this number; where there is one, it and those after it move on.
    Insert {
        /// The roll.
        roll: RollName,
        /// The new frame's number.
        frame: FrameNumber,
    },
    /// A scan shows another frame; that frame's own scan takes its place.
    MoveScan {
        /// The roll.
        roll: RollName,
        /// The scan.
        scan: String,
        /// The frame that has it now, if one has.
        from: Option<FrameNumber>,
        /// The frame that it shows.
        to: FrameNumber,
    },
    /// Something of the whole roll: its name, camera, film, index, process.
    Fact {
        /// The roll.
        roll: RollName,
        /// The column; `roll` is its name.
        column: Column,
        /// As typed.
        text: String,
    },
}

/// Why an answer was not taken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Refused {
    /// The trip has no such roll.
    #[error("there is no roll {0}")]
    NoRoll(RollName),
    /// The roll has no such frame.
    #[error("roll {0} has no frame {1}")]
    NoFrame(RollName, FrameNumber),
    /// A column that is not changed this way.
    #[error("{0} is not changed so")]
    Column(Column),
    /// What was typed cannot be read.
    #[error("{0}")]
    Unread(String),
    /// A number that another frame has.
    #[error("roll {0} has a frame {1} already: join the two, or shift the frames from there on")]
    Taken(RollName, FrameNumber),
    /// A name that another roll has.
    #[error("there is a roll {0} already")]
    Roll(RollName),
    /// A film has no such number.
    #[error("no film has a frame before 00 or after 999")]
    OffTheFilm,
}

/// A trip as evidence and edits have it now.
#[derive(Debug, Clone, Copy)]
pub struct Standing<'a> {
    /// What the evidence says, under the numbers that stand now.
    pub evidence: &'a Trip,
    /// What stands.
    pub settled: &'a Trip,
    /// What the photographer owns.
    pub kit: &'a Kit,
    /// Confidence below which values are flagged, 0 to 1.
    pub unsure_below: f64,
}

impl Answer {
    /// Whether it changes which frame is which, so that a table written before would be misread.
    pub const fn moves_frames(&self) -> bool {
        match self {
            Self::Number { .. } | Self::Shift { .. } | Self::Insert { .. } => true,
            Self::Fact { column, .. } => matches!(column, Column::Roll),
            Self::Set { .. } | Self::Looked { .. } | Self::Read { .. } | Self::MoveScan { .. } => false,
        }
    }

    /// Puts the answer among the edits.
    ///
    /// # Errors
    /// [`Refused`]; then nothing was changed.
    pub fn lay(&self, edits: &mut Edits, at: Standing<'_>) -> Result<(), Refused> {
        match self {
            Self::Set { roll, frame, column, text, onward } => {
                if !Column::values().any(|c| c == *column) {
                    return Err(Refused::Column(*column));
                }
                let roll = at.roll(roll)?;
                let first = at.frame(roll, *frame)?;
                let text = read(*column, &show::cell(roll, first, *column), text)?;
                for frame in std::iter::once(frame).chain(onward) {
                    at.set(edits, roll, *frame, *column, &text)?;
                }
                Ok(())
            }
            Self::Looked { roll, frame, flags, open, onward } => {
                let roll = at.roll(roll)?;
                at.frame(roll, *frame)?;
                for number in std::iter::once(frame).chain(onward) {
                    let frame = at.frame(roll, *number)?;
                    for flag in flags.iter().filter(|f| frame.flags.contains(f)) {
                        at.looked(edits, roll, frame, *flag, *open);
                    }
                }
                Ok(())
            }
            Self::Read { roll, frame, remark } => {
                let roll = at.roll(roll)?;
                edits.put(Edit::read(&roll.name, at.frame(roll, *frame)?));
                match remark {
                    Some(text) => at.set(edits, roll, *frame, Column::Remark, text),
                    None => Ok(()),
                }
            }
            Self::Number { roll, frame, fate, close } => at.number(edits, at.roll(roll)?, *frame, *fate, *close),
            Self::Shift { roll, frame, by } => at.shift(edits, at.roll(roll)?, *frame, *by),
            Self::Insert { roll, frame } => at.insert(edits, at.roll(roll)?, *frame),
            Self::MoveScan { roll, scan, from, to } => at.move_scan(edits, at.roll(roll)?, scan, *from, *to),
            Self::Fact { roll, column: Column::Roll, text } => {
                let roll = at.roll(roll)?;
                let name = RollName::new(text).map_err(|e| Refused::Unread(e.to_string()))?;
                if at.settled.rolls.iter().any(|r| r.name == name && r.name != roll.name) {
                    return Err(Refused::Roll(name));
                }
                edits.rename_roll(&roll.name, &name);
                Ok(())
            }
            Self::Fact { roll, column, text } => {
                if !matches!(column, Column::Camera | Column::Film | Column::Ei | Column::Process) {
                    return Err(Refused::Column(*column));
                }
                let roll = at.roll(roll)?;
                for frame in &roll.frames {
                    let text = read(*column, &show::cell(roll, frame, *column), text)?;
                    at.set(edits, roll, frame.number, *column, &text)?;
                }
                Ok(())
            }
        }
    }
}

fn read(column: Column, was: &str, text: &str) -> Result<String, Refused> {
    column.understood(was, text).map_err(Refused::Unread)
}

impl<'a> Standing<'a> {
    fn roll(self, name: &RollName) -> Result<&'a Roll, Refused> {
        self.settled.rolls.iter().find(|r| r.name == *name).ok_or_else(|| Refused::NoRoll(name.clone()))
    }

    fn frame(self, roll: &'a Roll, number: FrameNumber) -> Result<&'a Frame, Refused> {
        let found = roll.frames.iter().find(|f| f.number == number);
        found.ok_or_else(|| Refused::NoFrame(roll.name.clone(), number))
    }

    /// What the evidence says in a cell.
    fn said(self, roll: &Roll, number: FrameNumber, column: Column) -> String {
        let of = self.evidence.rolls.iter().find(|r| r.name == roll.name);
        let frame = of.and_then(|r| r.frames.iter().find(|f| f.number == number));
        of.zip(frame).map(|(r, f)| show::cell(r, f, column)).unwrap_or_default()
    }

    fn set(
        self,
        edits: &mut Edits,
        roll: &Roll,
        number: FrameNumber,
        column: Column,
        text: &str,
    ) -> Result<(), Refused> {
        let frame = self.frame(roll, number)?;
        let was = self.said(roll, number, column);
        let edit = Edit { evidence: Some(was.clone()), ..Edit::new(&roll.name, number, column, &was, text) };
        let made = edits.all.iter().any(|e| e.same_cell(&edit) && e.makes_a_frame());
        edits.put(if made { Edit { was: String::new(), ..edit } } else { edit });
        // A value chosen settles what was in doubt about it; where it is what the evidence says,
        // that is all there is to keep.
        let field: Option<Field> = column.as_str().parse().ok();
        let of_it = |f: &&Flag| match f {
            Flag::Unsure(x) | Flag::Conflict(x) | Flag::Odd(x) => Some(*x) == field,
            Flag::GuessScan => column == Column::Scan,
            Flag::Shake => column == Column::Support,
            Flag::Carried(_) | Flag::GoneClip => false,
        };
        let kept = edits.all.iter().any(|e| is_cell(e, roll, number, column));
        if !kept {
            // Set back after another answer, the flags are those of the evidence.
            let now = show::cell(roll, frame, column) == text;
            let before = self.evidence.rolls.iter().find(|r| r.name == roll.name);
            let before = before.and_then(|r| r.frames.iter().find(|f| f.number == number));
            let frame = if now { frame } else { before.unwrap_or(frame) };
            for flag in frame.flags.iter().filter(of_it) {
                self.looked(edits, roll, frame, *flag, false);
            }
        } else {
            // Set by hand for two that disagreed: one of them was chosen.
            edits.all.retain(|e| {
                let flag = e.now.parse::<Flag>().ok();
                let here = e.roll == roll.name && e.frame == number && e.column == Column::Flags;
                !(here && e.was.is_empty() && flag.as_ref().is_some_and(|f| of_it(&f)))
            });
        }
        // Chosen in spite of what gear or rule say: that was seen.
        if kept && let Some(with) = trial(roll, frame, self.kit, self.unsure_below, column, text) {
            for flag in with.flags.iter().filter(|f| of_it(f) && matches!(f, Flag::Odd(_) | Flag::Shake)) {
                edits.put(Edit::looked_at(&roll.name, &with, *flag, false));
            }
        }
        Ok(())
    }

    fn looked(self, edits: &mut Edits, roll: &Roll, frame: &Frame, flag: Flag, open: bool) {
        let edit = Edit::looked_at(&roll.name, frame, flag, open);
        let by_hand = |e: &Edit| e.same_cell(&edit) && e.was.is_empty() && !e.now.is_empty();
        if !open && edits.all.iter().any(by_hand) {
            edits.all.retain(|e| !by_hand(e));
            return;
        }
        // An edit that new evidence speaks against: it was seen, and the edit stands.
        if let (Flag::Conflict(field), false) = (flag, open) {
            let edited =
                |e: &&mut Edit| e.roll == roll.name && e.frame == frame.number && e.column.as_str() == field.as_str();
            if let Some(old) = edits.all.iter_mut().find(edited) {
                old.was = self.said(roll, frame.number, old.column);
                return;
            }
        }
        edits.put(edit);
    }

    fn number(
        self,
        edits: &mut Edits,
        roll: &Roll,
        number: FrameNumber,
        fate: Fate,
        close: bool,
    ) -> Result<(), Refused> {
        self.frame(roll, number)?;
        match fate {
            Fate::Number(to) if to == number => return Ok(()),
            Fate::Number(to) if roll.frames.iter().any(|f| f.number == to) => {
                return Err(Refused::Taken(roll.name.clone(), to));
            }
            Fate::With(other) => {
                self.frame(roll, other)?;
                if other == number {
                    return Ok(());
                }
            }
            Fate::Number(_) | Fate::Out => {}
        }
        let mut moves = vec![(roll.name.clone(), number, fate)];
        if close && !matches!(fate, Fate::Number(_)) {
            // Each takes the number of the one before it, so that gaps that were there stay.
            let after: Vec<FrameNumber> = run(roll, number).skip(1).collect();
            if let Fate::With(other) = fate
                && after.contains(&other)
            {
                moves[0].2 = Fate::With(other.moved(-1));
            }
            moves.extend(after.iter().map(|n| (roll.name.clone(), *n, Fate::Number(n.moved(-1)))));
        }
        edits.move_numbers(&moves);
        Ok(())
    }

    fn shift(self, edits: &mut Edits, roll: &Roll, from: FrameNumber, by: i16) -> Result<(), Refused> {
        self.frame(roll, from)?;
        let moved: Vec<FrameNumber> = roll.frames.iter().map(|f| f.number).filter(|n| *n >= from).collect();
        let mut moves = Vec::new();
        for number in &moved {
            let to = number.moved(by);
            if to.place() != number.place() + by || to.place() > 999 {
                return Err(Refused::OffTheFilm);
            }
            if roll.frames.iter().any(|f| f.number == to && !moved.contains(&to)) {
                return Err(Refused::Taken(roll.name.clone(), to));
            }
            moves.push((roll.name.clone(), *number, Fate::Number(to)));
        }
        edits.move_numbers(&moves);
        Ok(())
    }

    fn insert(self, edits: &mut Edits, roll: &Roll, number: FrameNumber) -> Result<(), Refused> {
        let moves: Vec<_> = run(roll, number).map(|n| (roll.name.clone(), n, Fate::Number(n.moved(1)))).collect();
        if moves.iter().any(|(_, n, _)| n.place() >= 999) {
            return Err(Refused::OffTheFilm);
        }
        edits.move_numbers(&moves);
        edits.put(Edit::new(&roll.name, number, Column::Status, "", Status::Unscanned.as_str()));
        Ok(())
    }

    fn move_scan(
        self,
        edits: &mut Edits,
        roll: &Roll,
        scan: &str,
        from: Option<FrameNumber>,
        to: FrameNumber,
    ) -> Result<(), Refused> {
        let target = self.frame(roll, to)?;
        if target.scans.iter().any(|s| s == scan) {
            return Ok(());
        }
        self.set(edits, roll, to, Column::Scan, scan)?;
        if let Some(from) = from {
            let rest: Vec<&str> =
                self.frame(roll, from)?.scans.iter().map(String::as_str).filter(|s| *s != scan).collect();
            let swapped: Vec<&str> = rest.into_iter().chain(target.scans.iter().map(String::as_str)).collect();
            self.set(edits, roll, from, Column::Scan, &swapped.join("|"))?;
        }
        Ok(())
    }
}

fn is_cell(edit: &Edit, roll: &Roll, frame: FrameNumber, column: Column) -> bool {
    edit.roll == roll.name && edit.frame == frame && edit.column == column
}

/// The frame of this number and those that follow it without a gap.
fn run(roll: &Roll, from: FrameNumber) -> impl Iterator<Item = FrameNumber> {
    let numbers: Vec<FrameNumber> = roll.frames.iter().map(|f| f.number).filter(|n| *n >= from).collect();
    let mut next = from.place();
    numbers.into_iter().take_while(move |n| {
        let follows = n.place() <= next;
        next = n.place() + 1;
        follows
    })
}
