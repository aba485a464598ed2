//! A query in, frames out, newest first.
//!
//! The database's own planner does not know that only the first few rows are
//! wanted, so the way in is chosen here: the full-text table when words are
//! looked for, else the condition that few frames meet, else a walk from the
//! newest frame back.

use rusqlite::types::Value;
use rusqlite::{Connection, OptionalExtension, params_from_iter};

use super::clauses::{self, Clause, WayIn};
use super::found::{self, Found};
use super::{Archive, ArchiveError, Query};

/// Above this many frames a condition is not counted on; a walk in order, which
/// stops at the limit, is then as quick.
const FEW: i64 = 4_000;

/// What a search gave.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// The frames, newest first.
    pub frames: Vec<Found>,
    /// There are more than the limit let through.
    pub more: bool,
}

impl Archive {
    /// The newest `limit` frames that meet every term of `query`.
    ///
    /// # Errors
    /// A failure of the database.
    pub fn find(&self, query: &Query, limit: usize) -> Result<Page, ArchiveError> {
        let mut ids = self.find_ids(query, limit.saturating_add(1))?;
        let more = ids.len() > limit;
        ids.truncate(limit);
        let frames = found::rows(&self.db, &ids)?;
        Ok(Page { frames, more })
    }

    /// Ids of the frames that [`Self::find`] gives.
    pub(super) fn find_ids(&self, query: &Query, limit: usize) -> Result<Vec<i64>, ArchiveError> {
        let Some(clauses) = clauses::all(&self.db, query)? else { return Ok(Vec::new()) };
        let (sql, params) = statement(&self.db, &clauses, limit)?;
        let mut run = self.db.prepare_cached(&sql)?;
        let ids = run.query_map(params_from_iter(params), |r| r.get(0))?.collect::<Result<_, _>>()?;
        Ok(ids)
    }
}

/// The statement for `clauses`, entered by the cheapest way.
fn statement(db: &Connection, clauses: &[Clause], limit: usize) -> rusqlite::Result<(String, Vec<Value>)> {
    let walk = WayIn::walk();
    let chosen = cheapest(db, clauses)?;
    let way = chosen.and_then(|i| clauses[i].way_in.as_ref()).unwrap_or(&walk);
    let mut sql = format!("SELECT {} FROM {}", way.id, way.from);
    let mut params = Vec::new();
    let mut word = " WHERE ";
    for (i, clause) in clauses.iter().enumerate() {
        let (text, values) = match (&clause.way_in, Some(i) == chosen) {
            (Some(way), true) => (&way.condition, &way.params),
            _ => (&clause.filter, &clause.params),
        };
        sql.push_str(word);
        // The same id under the name that the way in can seek by.
        sql.push_str(&text.replace("f.id", way.id));
        params.extend_from_slice(values);
        word = " AND ";
    }
    sql.push_str(&format!(" ORDER BY {} DESC LIMIT {}", way.id, i64::try_from(limit).unwrap_or(i64::MAX)));
    Ok((sql, params))
}

/// The clause to enter by; none for a walk over all frames.
fn cheapest(db: &Connection, clauses: &[Clause]) -> rusqlite::Result<Option<usize>> {
    let mut best: Option<(usize, i64)> = None;
    for (i, clause) in clauses.iter().enumerate() {
        let Some(way) = &clause.way_in else { continue };
        let sql = format!("SELECT count(*) FROM (SELECT 1 FROM {} WHERE {} LIMIT {FEW})", way.counted, way.condition);
        let count = db
            .prepare_cached(&sql)?
            .query_row(params_from_iter(&way.params), |r| r.get::<_, i64>(0))
            .optional()?
            .unwrap_or(0);
        // One that stops at the limit by itself is never worse than a walk.
        let cost = if count < FEW {
            count
        } else if way.in_order {
            FEW + 1
        } else {
            continue;
        };
        if best.is_none_or(|(_, c)| cost < c) {
            best = Some((i, cost));
        }
    }
    Ok(best.map(|(i, _)| i))
}
