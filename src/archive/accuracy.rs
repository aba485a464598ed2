//! How well the shutter is told: what was said against what the camera wrote on the film edge.

use std::collections::BTreeMap;

use rusqlite::params_from_iter;

use crate::exposure::{Spread, Stops};

use super::habits_text::signed;
use super::{Archive, ArchiveError, Query, clauses};

/// So close the same mark is meant: marks are rounded, by up to a twentieth of a stop and more at
/// 1/15, 1/30 and 1/60 (1/60 for 1/64 is 0.09); the next mark of a third-step dial is 0.33 away.
const SAME_STOPS: f64 = 0.17;

/// Frames of one camera of which the shutter was said and is on the film edge.
#[derive(Debug, Clone, PartialEq)]
pub struct Accuracy {
    /// The camera; none where it is not known.
    pub camera: Option<String>,
    /// How many frames.
    pub frames: usize,
    /// Of these, those on which both say the same.
    pub same: usize,
    /// Where they differ: what the edge has against what was said; plus is a longer time.
    pub off: Option<Spread>,
}

impl Archive {
    /// How well the shutter was told on the frames that `query` finds, camera by camera.
    ///
    /// # Errors
    /// A failure of the database.
    pub fn accuracy(&self, query: &Query) -> Result<Vec<Accuracy>, ArchiveError> {
        let Some(clauses) = clauses::all(&self.db, query)? else { return Ok(Vec::new()) };
        let tests = clauses::and(&clauses);
        let sql = format!(
            "SELECT (SELECT text FROM names WHERE id = f.camera), f.said_s, f.edge_s FROM frames f
             WHERE f.edge_s IS NOT NULL AND f.said_s IS NOT NULL AND f.edge_s > 0 AND f.said_s > 0{tests}"
        );
        let mut run = self.db.prepare(&sql)?;
        let mut rows = run.query(params_from_iter(clauses.iter().flat_map(|c| &c.params)))?;
        let mut cameras: BTreeMap<Option<String>, Vec<f64>> = BTreeMap::new();
        while let Some(row) = rows.next()? {
            let (said, edge): (f64, f64) = (row.get(1)?, row.get(2)?);
            cameras.entry(row.get(0)?).or_default().push((edge / said).log2());
        }
        let mut all: Vec<Accuracy> = cameras.into_iter().map(|(camera, stops)| of(camera, &stops)).collect();
        all.sort_by_key(|a| std::cmp::Reverse(a.frames));
        Ok(all)
    }
}

fn of(camera: Option<String>, stops: &[f64]) -> Accuracy {
    let differ: Vec<f64> = stops.iter().copied().filter(|s| s.abs() > SAME_STOPS).collect();
    Accuracy {
        camera,
        frames: stops.len(),
        same: stops.len() - differ.len(),
        off: Spread::of(differ.into_iter().map(Stops::new)),
    }
}

/// As a table for the terminal; nothing where nothing can be compared.
pub fn accuracy_text(all: &[Accuracy]) -> String {
    if all.is_empty() {
        return String::new();
    }
    let mut rows = vec![
        ["shutter, said against edge", "frames", "same", "where not: edge less said", "from", "to"].map(str::to_owned),
    ];
    for a in all {
        let name = a.camera.clone().unwrap_or_else(|| "(not known)".into());
        let [median, low, high] = a.off.map_or_else(Default::default, |s| [s.median, s.low, s.high].map(signed));
        rows.push([name, a.frames.to_string(), a.same.to_string(), median, low, high]);
    }
    super::table::aligned(&rows, &[1, 2, 3, 4, 5]) + "\n"
}

#[cfg(test)]
mod tests {
    use super::super::samples::{harbour, key, voice};
    use super::*;
    use crate::exposure::Shutter;
    use crate::facts::{Confidence, Reading, Settled, Source};

    #[test]
    fn what_was_said_is_held_against_the_edge() {
        let mut trip = harbour();
        let edge = |n| Settled::from_one(Shutter::fraction(n), Confidence::new(0.99), Source::Rebate);
        // Agreed, printed a stop longer than said, and printed alone.
        trip.rolls[0].frames[1].shutter.as_mut().unwrap().sources.push(Source::Rebate);
        let mut lost = edge(30);
        lost.others = vec![Reading::new(Shutter::fraction(60), Confidence::new(0.4), Source::Voice)];
        trip.rolls[0].frames[2].shutter = Some(lost);
        trip.rolls[0].frames[3].shutter = Some(edge(250));
        trip.rolls[1].frames[0].shutter = Some(voice(Shutter::fraction(500)));
        let mut archive = Archive::in_memory().unwrap();
        archive.store(&trip, &key("edge")).unwrap();
        let all = archive.accuracy(&Query::default()).unwrap();
        let [one] = &all[..] else { panic!("{all:?}") };
        assert_eq!((one.camera.as_deref(), one.frames, one.same), (Some("six-four-five"), 2, 1));
        let off = one.off.unwrap();
        assert!(off.count == 1 && (off.median.get() - 1.0).abs() < 0.01, "{off:?}");
        let text = accuracy_text(&all);
        assert!(text.lines().nth(1).unwrap().contains("+1.0"), "{text}");
        assert_eq!(archive.accuracy(&Query::parse("film:gull").unwrap()).unwrap(), []);
        assert_eq!(accuracy_text(&[]), "");
    }
}
