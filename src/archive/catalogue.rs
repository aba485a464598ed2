//! What is in an archive: its trips and their rolls, with dates and counts.

use std::collections::HashSet;

use rusqlite::Row;

use super::{Archive, ArchiveError, Query, clock};

/// A trip of the archive.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TripEntry {
    /// What it is known by.
    pub key: String,
    /// Its folder's name.
    pub name: String,
    /// Its folder.
    pub root: String,
    /// How many rolls.
    pub rolls: usize,
    /// How many frames.
    pub frames: usize,
    /// First and last day of frames whose time is known, `2025-06-18`.
    pub days: Option<(String, String)>,
}

/// A roll of the archive.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RollEntry {
    /// The trip's name.
    pub trip: String,
    /// The roll's name.
    pub roll: String,
    /// Film, if known.
    pub film: Option<String>,
    /// Camera, if known.
    pub camera: Option<String>,
    /// What it was developed in, if noted.
    pub developer: Option<String>,
    /// The sleeve of its negatives, if noted.
    pub sleeve: Option<String>,
    /// How many frames.
    pub frames: usize,
    /// First and last day of frames whose time is known.
    pub days: Option<(String, String)>,
    /// The seconds of the archive's clock that these days begin from; for a time line.
    pub first: Option<i64>,
    /// Its row.
    pub(super) id: i64,
}

impl Archive {
    /// Every trip, the latest first; those without any time last, by name.
    ///
    /// # Errors
    /// A failure of the database.
    pub fn trips(&self) -> Result<Vec<TripEntry>, ArchiveError> {
        let mut all = self.db.prepare_cached(
            "SELECT t.key, t.name, t.root, (SELECT count(*) FROM rolls r WHERE r.trip = t.id), count(f.id),
                 min(f.taken), max(f.taken)
             FROM trips t LEFT JOIN frames f ON f.trip = t.id
             GROUP BY t.id ORDER BY max(f.taken) DESC NULLS LAST, t.name, t.root",
        )?;
        let entry = |r: &Row<'_>| {
            Ok(TripEntry {
                key: r.get(0)?,
                name: r.get(1)?,
                root: r.get(2)?,
                rolls: r.get::<_, u32>(3)? as usize,
                frames: r.get::<_, u32>(4)? as usize,
                days: days(r.get(5)?, r.get(6)?),
            })
        };
        Ok(all.query_map([], entry)?.collect::<Result<_, _>>()?)
    }

    /// Every roll, the latest first.
    ///
    /// # Errors
    /// A failure of the database.
    pub fn rolls(&self) -> Result<Vec<RollEntry>, ArchiveError> {
        let mut all = self.db.prepare_cached(
            "SELECT t.name, r.name, r.film, r.camera, count(f.id), min(f.taken), max(f.taken),
                 (SELECT n.text FROM developing v JOIN names n ON n.id = v.developer WHERE v.roll = r.id),
                 (SELECT v.sleeve FROM developing v WHERE v.roll = r.id), r.id
             FROM rolls r JOIN trips t ON t.id = r.trip LEFT JOIN frames f ON f.roll = r.id
             GROUP BY r.id ORDER BY max(f.taken) DESC NULLS LAST, t.name, r.key",
        )?;
        let entry = |r: &Row<'_>| {
            Ok(RollEntry {
                trip: r.get(0)?,
                roll: r.get(1)?,
                film: r.get(2)?,
                camera: r.get(3)?,
                frames: r.get::<_, u32>(4)? as usize,
                days: days(r.get(5)?, r.get(6)?),
                first: r.get(5)?,
                developer: r.get(7)?,
                sleeve: r.get(8)?,
                id: r.get(9)?,
            })
        };
        Ok(all.query_map([], entry)?.collect::<Result<_, _>>()?)
    }

    /// As [`Self::rolls`], those with a frame that meets every term of `query`.
    ///
    /// # Errors
    /// A failure of the database.
    pub fn rolls_with(&self, query: &Query) -> Result<Vec<RollEntry>, ArchiveError> {
        let with: HashSet<i64> = self
            .matching(query, |m| format!("SELECT DISTINCT roll FROM frames WHERE id IN ({})", m.sql))?
            .into_iter()
            .collect();
        Ok(self.rolls()?.into_iter().filter(|roll| with.contains(&roll.id)).collect())
    }
}

fn days(first: Option<i64>, last: Option<i64>) -> Option<(String, String)> {
    let day = |s: i64| Some(clock::local(s)?.date().to_string());
    Some((day(first?)?, day(last?)?))
}

/// Days as text: one, or from the first to the last.
fn span(days: &Option<(String, String)>) -> String {
    match days {
        None => String::new(),
        Some((a, b)) if a == b => a.clone(),
        Some((a, b)) => format!("{a} to {b}"),
    }
}

/// The trips as a table for the terminal. `there` says whether a folder is where it was.
pub fn trips_text(trips: &[TripEntry], there: impl Fn(&str) -> bool) -> String {
    let mut rows = vec![["trip", "rolls", "frames", "days", "folder"].map(str::to_owned)];
    for t in trips {
        let folder = if there(&t.root) { t.root.clone() } else { format!("{} (not there now)", t.root) };
        rows.push([t.name.clone(), t.rolls.to_string(), t.frames.to_string(), span(&t.days), folder]);
    }
    super::table::aligned(&rows, &[1, 2])
}

/// The rolls as a table for the terminal.
pub fn rolls_text(rolls: &[RollEntry]) -> String {
    let mut rows = vec![["trip", "roll", "frames", "days", "film", "camera", "developer", "sleeve"].map(str::to_owned)];
    for r in rolls {
        let text = |t: &Option<String>| t.clone().unwrap_or_default();
        let facts = [&r.film, &r.camera, &r.developer, &r.sleeve].map(text);
        let [film, camera, developer, sleeve] = facts;
        let frames = r.frames.to_string();
        rows.push([r.trip.clone(), r.roll.clone(), frames, span(&r.days), film, camera, developer, sleeve]);
    }
    super::table::aligned(&rows, &[2])
}

#[cfg(test)]
mod tests {
    use super::super::samples::{harbour, key, stored};
    use super::*;

    #[test]
    fn trips_and_rolls_with_their_days() {
        let mut archive = stored();
        let mut bare = harbour();
        bare.name = "Undated".into();
        bare.rolls[0].frames.iter_mut().for_each(|f| f.taken = None);
        archive.store(&bare, &key("undated")).unwrap();
        let text = trips_text(&archive.trips().unwrap(), |root| root == "/trips/low-water");
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines[0], "trip       rolls  frames  days                      folder");
        assert_eq!(lines[1], "Low Water      2       6  2025-06-18 to 2025-07-01  /trips/low-water");
        assert_eq!(lines[2], "Undated        2       6                            /trips/undated (not there now)");
        let rolls = archive.rolls().unwrap();
        let named: Vec<_> = rolls.iter().map(|r| (r.trip.as_str(), r.roll.as_str(), r.frames)).collect();
        assert_eq!(named, [("Low Water", "7", 5), ("Low Water", "A3", 1), ("Undated", "7", 5), ("Undated", "A3", 1)]);
        assert!(rolls_text(&rolls).lines().nth(1).unwrap().ends_with("Merrow Pan 100  six-four-five"));
    }
}
