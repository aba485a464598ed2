//! What worked: the exposure given against the daylight rule by film, light and filter, set
//! against the photographer's own ratings.

use std::collections::HashMap;

use rusqlite::params_from_iter;

use crate::exposure::{Spread, Stops};

use super::habits_text::signed;
use super::{Archive, ArchiveError, Query, clauses};

/// Ratings from here up, of 5, are of frames that worked. A choice, told in the table's head.
const GOOD: u8 = 4;

/// Rated frames that have film, light and filter in common.
#[derive(Debug, Clone, PartialEq)]
pub struct Worked {
    /// Film; none where it is not known.
    pub film: Option<String>,
    /// Light.
    pub light: Option<String>,
    /// Filters on the lens; none where it is not known.
    pub filter: Option<String>,
    /// How the frames rated 4 or 5 lie against the rule, plus is over.
    pub good: Option<Spread>,
    /// How those rated 1 to 3 do.
    pub other: Option<Spread>,
}

impl Worked {
    fn rated(&self) -> usize {
        [self.good, self.other].into_iter().flatten().map(|s| s.count).sum()
    }
}

impl Archive {
    /// The rated frames that `query` finds and whose light has a rule, by film, light and filter;
    /// most frames first.
    ///
    /// # Errors
    /// A failure of the database.
    pub fn worked(&self, query: &Query) -> Result<Vec<Worked>, ArchiveError> {
        let Some(clauses) = clauses::all(&self.db, query)? else { return Ok(Vec::new()) };
        let tests = clauses::and(&clauses);
        let sql = format!(
            "SELECT f.film, f.light, f.filter, f.rating, f.rule_stops FROM frames f
             WHERE f.rating IS NOT NULL AND f.rule_stops IS NOT NULL{tests}"
        );
        let mut run = self.db.prepare(&sql)?;
        let mut rows = run.query(params_from_iter(clauses.iter().flat_map(|c| &c.params)))?;
        let mut groups: HashMap<[Option<i64>; 3], [Vec<Stops>; 2]> = HashMap::new();
        while let Some(row) = rows.next()? {
            let group = groups.entry([row.get(0)?, row.get(1)?, row.get(2)?]).or_default();
            let good = row.get::<_, u8>(3)? >= GOOD;
            group[usize::from(!good)].push(Stops::new(row.get(4)?));
        }
        let names = self.names()?;
        let mut all: Vec<Worked> = groups
            .into_iter()
            .map(|(ids, [good, other])| {
                let [film, light, filter] = ids.map(|id| names.get(&id?).cloned());
                Worked { film, light, filter, good: Spread::of(good), other: Spread::of(other) }
            })
            .collect();
        all.sort_by(|a, b| {
            let name = |w: &Worked| (w.film.clone(), w.light.clone(), w.filter.clone());
            b.rated().cmp(&a.rated()).then_with(|| name(a).cmp(&name(b)))
        });
        Ok(all)
    }
}

/// As a table for the terminal; nothing where nothing was rated.
pub fn worked_text(all: &[Worked]) -> String {
    if all.is_empty() {
        return String::new();
    }
    let heads =
        ["what worked", "light", "filter", "rated 4 or 5", "middle half", "of", "rated 1 to 3", "middle half", "of"];
    let mut rows = vec![heads.map(str::to_owned)];
    for w in all {
        let name = |n: &Option<String>| n.clone().unwrap_or_else(|| "(not known)".into());
        let spread = |s: &Option<Spread>| match s {
            None => [String::new(), String::new(), "0".to_owned()],
            // One frame has no spread.
            Some(s) if s.count == 1 => [signed(s.median), String::new(), "1".to_owned()],
            Some(s) => {
                let half = format!("{} to {}", signed(s.lower_quarter), signed(s.upper_quarter));
                [signed(s.median), half, s.count.to_string()]
            }
        };
        let ([a, b, c], [d, e, f]) = (spread(&w.good), spread(&w.other));
        rows.push([name(&w.film), name(&w.light), name(&w.filter), a, b, c, d, e, f]);
    }
    super::table::aligned(&rows, &[3, 4, 5, 6, 7, 8]) + "\n"
}

#[cfg(test)]
mod tests {
    use super::super::samples::{harbour, key};
    use super::*;

    #[test]
    fn rated_exposures_by_film_light_and_filter() {
        let mut trip = harbour();
        // Frame 2 (orange off, EV 12.23 at the scene: 0.2 under the rule) three times, rated 5, 4 and 2.
        let two = trip.rolls[0].frames[2].clone();
        for (n, rating) in [(5, 5), (6, 4), (7, 2)] {
            let mut frame = two.clone();
            frame.number = crate::facts::FrameNumber::new(n);
            frame.rating = Some(rating);
            trip.rolls[0].frames.push(frame);
        }
        let mut archive = Archive::in_memory().unwrap();
        archive.store(&trip, &key("rated")).unwrap();
        let all = archive.worked(&Query::default()).unwrap();
        assert_eq!(all.len(), 2);
        let first = &all[0];
        let names = [&first.film, &first.light, &first.filter].map(|n| n.as_deref().unwrap());
        assert_eq!(names, ["Merrow Pan 100", "open shade", "none"]);
        assert_eq!((first.good.unwrap().count, first.other.unwrap().count), (2, 1));
        assert!((first.good.unwrap().median.get() + 0.23).abs() < 0.01, "{first:?}");
        let text = worked_text(&all);
        let lines: Vec<&str> = text.lines().collect();
        assert!(lines[1].starts_with("Merrow Pan 100  open shade  none"), "{text}");
        assert!(lines[1].ends_with("-0.2                1"), "{text}");
        assert_eq!(worked_text(&archive.worked(&Query::parse("film:gull").unwrap()).unwrap()), "");
    }
}
