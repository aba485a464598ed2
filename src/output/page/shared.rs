//! What holds for a whole roll, so that no frame needs to say it.

use crate::facts::{Field, Flag};
use crate::roll::{Frame, Roll};

/// Fields that may hold for a roll and are then said at its head.
const SHARED: [Field; 8] =
    [Field::Film, Field::Ei, Field::Camera, Field::Lens, Field::FocalMm, Field::Support, Field::Place, Field::Process];

/// The fields that every noted frame of a roll has alike, with their value as in the table, and
/// nothing in doubt about it.
#[derive(Debug, Clone, Default)]
pub struct Shared(Vec<(Field, String)>);

impl Shared {
    /// Of a roll.
    pub fn of(roll: &Roll) -> Self {
        let noted: Vec<&Frame> = roll.frames.iter().filter(|f| !f.said.is_empty()).collect();
        let alike = |field: Field| {
            let cell = |f: &&Frame| Some(f.ground(field)?.cell());
            let first = cell(noted.first()?)?;
            let sure = |f: &&Frame| !f.flags.iter().any(|flag| concerns(*flag, field, false));
            let all = noted.len() > 1 && noted.iter().all(|f| cell(f).as_ref() == Some(&first) && sure(f));
            all.then_some((field, first))
        };
        Self(SHARED.into_iter().filter_map(alike).collect())
    }

    /// What all frames have in a field.
    pub fn value(&self, field: Field) -> Option<&str> {
        self.0.iter().find(|(f, _)| *f == field).map(|(_, text)| text.as_str())
    }

    /// Whether a frame has in a field what all have.
    pub fn covers(&self, frame: &Frame, field: Field) -> bool {
        self.value(field).is_some_and(|all| frame.ground(field).is_none_or(|g| g.cell() == all))
    }
}

/// Whether a flag is about this field; that it was carried over only where asked.
pub(super) fn concerns(flag: Flag, field: Field, carried: bool) -> bool {
    match flag {
        Flag::Unsure(x) | Flag::Conflict(x) | Flag::Odd(x) => x == field,
        Flag::Carried(x) => carried && x == field,
        Flag::Shake => carried && field == Field::Shutter,
        Flag::GuessScan | Flag::GoneClip => false,
    }
}
