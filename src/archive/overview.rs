//! What a page over the years shows: rolls by day, films by year, places.

use rusqlite::Row;

use super::catalogue::RollEntry;
use super::{Archive, ArchiveError};

/// Dots drawn at most, those with most frames first; more would be a page too heavy to open.
const DOTS: usize = 4000;

/// An archive at a glance.
#[derive(Debug, Clone, PartialEq)]
pub struct Overview {
    /// Every roll, the latest first.
    pub rolls: Vec<RollEntry>,
    /// Frames of a film in a year; `None` for a year or film that is not known.
    pub films: Vec<(Option<String>, Option<i64>, u32)>,
    /// Places that frames were taken at, most frames first.
    pub places: Vec<Dot>,
}

/// A place, to about a kilometre, and what was taken there.
#[derive(Debug, Clone, PartialEq)]
pub struct Dot {
    /// Degrees.
    pub lat: f64,
    /// Degrees.
    pub lon: f64,
    /// How many frames.
    pub frames: u32,
    /// A name that was said for it.
    pub name: Option<String>,
}

impl Archive {
    /// The archive at a glance.
    ///
    /// # Errors
    /// A failure of the database.
    pub fn overview(&self) -> Result<Overview, ArchiveError> {
        let mut films = self.db.prepare(
            "SELECT (SELECT text FROM names WHERE id = f.film), CAST(strftime('%Y', f.taken, 'unixepoch') AS INTEGER) AS year,
                 count(*) FROM frames f GROUP BY f.film, year ORDER BY year, count(*) DESC",
        )?;
        let mut places = self.db.prepare(
            "SELECT lat, lon, frames, (SELECT d.place FROM details d WHERE d.frame = last) FROM (
                 SELECT round(lat, 2) AS lat, round(lon, 2) AS lon, count(*) AS frames, max(id) AS last
                 FROM frames WHERE lat IS NOT NULL GROUP BY 1, 2
             ) ORDER BY frames DESC, lat, lon LIMIT ?1",
        )?;
        let dot = |r: &Row<'_>| Ok(Dot { lat: r.get(0)?, lon: r.get(1)?, frames: r.get(2)?, name: r.get(3)? });
        Ok(Overview {
            rolls: self.rolls()?,
            films: films.query_map([], |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?)))?.collect::<Result<_, _>>()?,
            places: places.query_map([DOTS as i64], dot)?.collect::<Result<_, _>>()?,
        })
    }
}
