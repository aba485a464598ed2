//! How somebody photographs: frames by film, light, filter, lens and year, how they lie
//! against the daylight rule, how many were hardly held still, how they are rated.

use std::collections::HashMap;

use rusqlite::params_from_iter;

use crate::exposure::{Spread, Stops};

use super::{Archive, ArchiveError, Query, clauses};

/// What frames are told apart by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum By {
    /// Film.
    Film,
    /// Light.
    Light,
    /// Filters on the lens.
    Filter,
    /// Lens.
    Lens,
    /// Year taken.
    Year,
}

impl By {
    /// Every one, in the order shown.
    pub const ALL: [Self; 5] = [Self::Film, Self::Light, Self::Filter, Self::Lens, Self::Year];

    /// The column it is kept in.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Film => "film",
            Self::Light => "light",
            Self::Filter => "filter",
            Self::Lens => "lens",
            Self::Year => "year",
        }
    }
}

/// Frames that have one thing in common.
#[derive(Debug, Clone, PartialEq)]
pub struct Habit {
    /// The film, light, filter, lens or year; none where it is not known.
    pub name: Option<String>,
    /// How many frames.
    pub frames: usize,
    /// How they lie against what their light asks for, plus is over; none where
    /// no light was said.
    pub rule: Option<Spread>,
    /// How many are flagged as hardly held still.
    pub shake: usize,
    /// The photographer's own ratings, 1 to 5: their mean and how many.
    pub rating: Option<(f64, usize)>,
}

/// One way of telling frames apart, most frames first; years in their order.
#[derive(Debug, Clone, PartialEq)]
pub struct Habits {
    /// By what.
    pub by: By,
    /// The groups.
    pub groups: Vec<Habit>,
}

#[derive(Default)]
struct Group {
    frames: usize,
    rule: Vec<Stops>,
    shake: usize,
    ratings: Vec<u8>,
}

impl Archive {
    /// The habits that show in the frames that `query` finds; all of them for an
    /// empty one.
    ///
    /// # Errors
    /// A failure of the database.
    pub fn habits(&self, query: &Query) -> Result<Vec<Habits>, ArchiveError> {
        let mut groups: HashMap<(By, Option<i64>), Group> = HashMap::new();
        if let Some(clauses) = clauses::all(&self.db, query)? {
            let tests: Vec<&str> = clauses.iter().map(|c| c.filter.as_str()).collect();
            let sql = format!(
                "SELECT f.film, f.light, f.filter, f.lens, CAST(strftime('%Y', f.taken, 'unixepoch') AS INTEGER), f.rule_stops,
                     f.rating,
                     EXISTS (SELECT 1 FROM frame_flags g WHERE g.flag = 'shake' AND g.frame = f.id)
                 FROM frames f{}{}",
                if tests.is_empty() { "" } else { " WHERE " },
                tests.join(" AND ")
            );
            let mut run = self.db.prepare(&sql)?;
            let mut rows = run.query(params_from_iter(clauses.iter().flat_map(|c| &c.params)))?;
            while let Some(row) = rows.next()? {
                for (i, by) in By::ALL.into_iter().enumerate() {
                    let group = groups.entry((by, row.get(i)?)).or_default();
                    group.frames += 1;
                    group.rule.extend(row.get::<_, Option<f64>>(5)?.map(Stops::new));
                    group.ratings.extend(row.get::<_, Option<u8>>(6)?);
                    group.shake += usize::from(row.get::<_, bool>(7)?);
                }
            }
        }
        let names = self.names()?;
        Ok(By::ALL
            .into_iter()
            .map(|by| {
                let of = groups.iter().filter(|((b, _), _)| *b == by);
                let mut groups: Vec<Habit> =
                    of.map(|((_, id), g)| habit(id.and_then(|id| named(by, id, &names)), g)).collect();
                match by {
                    // The year that is not known stands last, as the group that is not known does elsewhere.
                    By::Year => groups.sort_by(|a, b| (a.name.is_none(), &a.name).cmp(&(b.name.is_none(), &b.name))),
                    _ => groups.sort_by(|a, b| b.frames.cmp(&a.frames).then_with(|| a.name.cmp(&b.name))),
                }
                Habits { by, groups }
            })
            .collect())
    }

    pub(super) fn names(&self) -> rusqlite::Result<HashMap<i64, String>> {
        let mut all = self.db.prepare_cached("SELECT id, text FROM names")?;
        all.query_map([], |r| Ok((r.get(0)?, r.get(1)?)))?.collect()
    }
}

/// What a group is called.
fn named(by: By, id: i64, names: &HashMap<i64, String>) -> Option<String> {
    if by == By::Year { Some(id.to_string()) } else { names.get(&id).cloned() }
}

fn habit(name: Option<String>, group: &Group) -> Habit {
    let rated = group.ratings.len();
    let sum: f64 = group.ratings.iter().copied().map(f64::from).sum();
    Habit {
        name,
        frames: group.frames,
        rule: Spread::of(group.rule.iter().copied()),
        shake: group.shake,
        rating: (rated > 0).then(|| (sum / rated as f64, rated)),
    }
}

#[cfg(test)]
mod tests {
    use super::super::samples::stored;
    use super::*;

    #[test]
    fn frames_are_told_apart() {
        let habits = stored().habits(&Query::default()).unwrap();
        let film = &habits[0].groups;
        let names: Vec<_> = film.iter().map(|h| (h.name.as_deref(), h.frames, h.shake)).collect();
        assert_eq!(names, [(Some("Merrow Pan 100"), 3, 1), (None, 2, 0), (Some("Gull 400"), 1, 0)]);
        // Scenes of EV 14.26 (two stops of filter), 12.23 and 2.83 in open shade, which asks for 11 to 12.
        let rule = film[0].rule.unwrap();
        assert_eq!(rule.count, 3);
        let near = |a: Stops, b: f64| (a.get() - b).abs() < 0.01;
        assert!(near(rule.low, -2.26) && near(rule.median, -0.23) && near(rule.high, 8.17), "{rule:?}");
        assert_eq!(film[0].rating, Some((4.0, 1)));
        assert_eq!((film[1].rule, film[1].rating), (None, None));
        let years: Vec<_> = habits[4].groups.iter().map(|h| (h.name.as_deref(), h.frames)).collect();
        assert_eq!(years, [(Some("2025"), 2), (None, 4)]);
        let filters = &habits[2].groups;
        assert_eq!(filters[0].name, None);
        let lens = stored().habits(&Query::parse("film:gull").unwrap()).unwrap();
        assert_eq!(lens[3].groups.iter().map(|h| h.frames).collect::<Vec<_>>(), [1]);
        assert_eq!(stored().habits(&Query::parse("film:none").unwrap()).unwrap()[0].groups, []);
    }
}
