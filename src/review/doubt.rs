//! What of a settled trip is in doubt, gravest first.

use serde::{Deserialize, Serialize};

use crate::facts::{Field, Flag, FrameNumber, RollName};
use crate::output::words;
use crate::roll::HANGS_ON_NUMBER;
use crate::roll::{Frame, Roll, Trip};

/// How grave a doubt is, gravest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Gravity {
    /// Two sources disagree.
    Conflict,
    /// A setting is not sure.
    Unsure,
    /// Whether there is such a frame, or its number.
    Frame,
    /// The note and the scan may not belong together.
    Link,
    /// Something was said and not used.
    Unread,
    /// A setting is unusual for the gear or the light.
    Odd,
    /// Only worth a look: slow for hand-holding.
    Look,
}

impl Gravity {
    /// Every one, gravest first.
    pub const ALL: [Self; 7] =
        [Self::Conflict, Self::Unsure, Self::Frame, Self::Link, Self::Unread, Self::Odd, Self::Look];

    /// In a few words.
    pub const fn label(self) -> &'static str {
        match self {
            Self::Conflict => "sources disagree",
            Self::Unsure => "not sure",
            Self::Frame => "frames in doubt",
            Self::Link => "scans in doubt",
            Self::Unread => "said and not used",
            Self::Odd => "unusual",
            Self::Look => "slow for hand-holding",
        }
    }

    const fn of(flag: Flag) -> Option<Self> {
        match flag {
            Flag::Unsure(Field::Frame) | Flag::Conflict(Field::Frame) => Some(Self::Frame),
            Flag::GuessScan | Flag::Unsure(Field::Scan) | Flag::Conflict(Field::Scan) => Some(Self::Link),
            Flag::Conflict(_) => Some(Self::Conflict),
            Flag::Unsure(_) => Some(Self::Unsure),
            Flag::Odd(_) => Some(Self::Odd),
            Flag::Shake => Some(Self::Look),
            Flag::Carried(_) | Flag::GoneClip => None,
        }
    }
}

/// What of a frame a doubt is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum About {
    /// A field: its value, its number under `frame`, its scans under `scan`.
    Field(Field),
    /// How it was held.
    Held,
    /// What was said and not used.
    Unread,
}

/// A frame's number.
const NUMBER: About = About::Field(Field::Frame);

impl About {
    /// What a flag is about.
    pub const fn of(flag: Flag) -> Self {
        match flag {
            Flag::Unsure(f) | Flag::Conflict(f) | Flag::Odd(f) | Flag::Carried(f) => Self::Field(f),
            Flag::GuessScan => Self::Field(Field::Scan),
            // Never in doubt; it would be about what was said.
            Flag::GoneClip => Self::Unread,
            Flag::Shake => Self::Held,
        }
    }
}

/// One thing in doubt: all flags that are about one field of one frame.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Doubt {
    /// The roll.
    pub roll: RollName,
    /// The frame.
    pub frame: FrameNumber,
    /// What it is about.
    pub about: About,
    /// How grave.
    pub gravity: Gravity,
    /// The flags, most pressing first.
    pub flags: Vec<Flag>,
    /// Frames after this one that hang on the same: settled with it, if the photographer likes.
    pub onward: Vec<FrameNumber>,
}

impl Doubt {
    /// A name for it, the same as long as it is about the same.
    pub fn id(&self) -> String {
        let about = match self.about {
            About::Field(field) => field.as_str(),
            About::Held => "held",
            About::Unread => "unread",
        };
        format!("{}/{}/{about}", self.roll, self.frame)
    }
}

/// All doubts of a trip that were not looked at, gravest first; those alike in the order of film.
pub fn doubts(trip: &Trip) -> Vec<Doubt> {
    let mut found: Vec<Doubt> = Vec::new();
    for roll in &trip.rolls {
        for (at, frame) in roll.frames.iter().enumerate() {
            let first = found.len();
            if frame.said.iter().any(|q| !q.unread.is_empty()) {
                let (about, gravity) = (About::Unread, Gravity::Unread);
                let (roll, frame) = (roll.name.clone(), frame.number);
                found.push(Doubt { roll, frame, about, gravity, flags: Vec::new(), onward: Vec::new() });
            }
            let open: Vec<Flag> = frame.flags.iter().copied().filter(|f| !frame.looked_at.contains(f)).collect();
            let number_open = open.contains(&Flag::Unsure(Field::Frame));
            for (flag, gravity) in open.into_iter().filter_map(|f| Some((f, Gravity::of(f)?))) {
                // What is in doubt for the frame's number alone is settled, or left, with that.
                let hangs = number_open && words::reason(frame, flag) == Some(HANGS_ON_NUMBER);
                let (about, gravity) = if hangs { (NUMBER, Gravity::Frame) } else { (About::of(flag), gravity) };
                match found[first..].iter_mut().find(|d| d.about == about) {
                    Some(doubt) => {
                        doubt.flags.push(flag);
                        doubt.gravity = doubt.gravity.min(gravity);
                    }
                    None => found.push(Doubt {
                        roll: roll.name.clone(),
                        frame: frame.number,
                        about,
                        gravity,
                        flags: vec![flag],
                        onward: onward(roll, at, about),
                    }),
                }
            }
        }
    }
    for doubt in &mut found {
        doubt.flags.sort_by_key(|f| (About::of(*f) != doubt.about, words::FlagKind::of(*f)));
    }
    // Stable: rolls and frames stay in their order.
    found.sort_by_key(|d| d.gravity);
    found
}

/// The frames after one that hang on what it has: those to which the value was carried on, or whose
/// numbers go on counting from its own.
pub fn onward(roll: &Roll, at: usize, about: About) -> Vec<FrameNumber> {
    let About::Field(field) = about else { return Vec::new() };
    let cell = |f: &Frame| f.ground(field).map(|g| g.cell());
    let hangs = |f: &Frame, value: &Option<String>| match field {
        Field::Frame => f.flags.contains(&Flag::Unsure(Field::Frame)),
        Field::Scan => false,
        _ => f.flags.contains(&Flag::Carried(field)) && cell(f) == *value,
    };
    let value = cell(&roll.frames[at]);
    roll.frames[at + 1..].iter().take_while(|f| hangs(f, &value)).map(|f| f.number).collect()
}
