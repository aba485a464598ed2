//! The account of a roll: every note, scan and print that goes in comes out, once.

use crate::facts::RollName;

use super::evidence::Evidence;
use super::solve::Place;
use crate::roll::record::Frame;

/// The account of a roll does not add up. This is a fault of the program, never
/// of its input: nothing may be written over what an earlier run wrote.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the account of roll {roll} does not add up: of {given} {what} {found} came out")]
pub struct Unaccounted {
    /// The roll.
    pub roll: RollName,
    /// Notes, scans or edge prints.
    pub what: &'static str,
    /// How many went in.
    pub given: usize,
    /// How many came out, each counted as often as it stands there.
    pub found: usize,
}

/// Whether each note, picture and print stands in one place exactly.
pub fn of_places(roll: &RollName, e: &Evidence<'_>, places: &[Place]) -> Result<(), Unaccounted> {
    once(roll, "notes", e.notes.len(), places.iter().filter_map(|p| p.note))?;
    once(roll, "pictures", e.pictures.len(), places.iter().filter_map(|p| p.picture))?;
    once(roll, "edge prints", e.imprints.len(), places.iter().filter_map(|p| p.imprint))
}

/// Whether as many scan files stand in the rows as lie in the roll's folder, but for those of no frame.
pub fn of_scans(roll: &RollName, given: usize, frames: &[Frame]) -> Result<(), Unaccounted> {
    let found = frames.iter().map(|f| f.scans.len()).sum();
    if found == given { Ok(()) } else { Err(Unaccounted { roll: roll.clone(), what: "scans", given, found }) }
}

fn once(
    roll: &RollName,
    what: &'static str,
    given: usize,
    stand: impl Iterator<Item = usize>,
) -> Result<(), Unaccounted> {
    let mut times = vec![0_usize; given];
    stand.for_each(|i| times[i] += 1);
    if times.iter().all(|&n| n == 1) {
        return Ok(());
    }
    Err(Unaccounted { roll: roll.clone(), what, given, found: times.iter().sum() })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_missing_and_what_stands_twice_is_told() {
        let roll = RollName::new("7").unwrap();
        let check = |stand: &[usize]| once(&roll, "notes", 3, stand.iter().copied());
        assert_eq!(check(&[2, 0, 1]), Ok(()));
        let why = check(&[]).unwrap_err().to_string();
        assert_eq!(why, "the account of roll 7 does not add up: of 3 notes 0 came out");
        assert_eq!(check(&[0, 0, 2]).unwrap_err().found, 3);
        assert!(of_scans(&roll, 1, &[]).is_err());
    }
}
