//! A query in, frames out, newest first.
//!
//! The database's own planner does not know that only the first few rows are
//! wanted, so the way in is chosen here: the full-text table when words are
//! looked for, else the condition that few frames meet, else a walk from the
//! newest frame back.

use rusqlite::types::Value;
use rusqlite::{Connection, params_from_iter};

use super::clauses::{self, Clause, WayIn};
use super::found::{self, Found};
use super::{Archive, ArchiveError, Query, Sort};

/// Conditions that more frames meet than this are not counted on; a walk in
/// order, which stops at the limit, is then as quick.
const MANY: i64 = 30_000;
/// So few frames are asked one by one whether they hold the words.
const FEW: i64 = 200;

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
        let one_more = i64::try_from(limit).unwrap_or(i64::MAX).saturating_add(1);
        let ids = self.matching(query, |m| format!("{} ORDER BY {} DESC LIMIT {one_more}", m.sql, m.order))?;
        self.page(ids, limit)
    }

    /// As [`Self::find`], the first `limit` frames in an order of choice.
    ///
    /// # Errors
    /// A failure of the database.
    pub fn find_sorted(&self, query: &Query, sort: Sort, limit: usize) -> Result<Page, ArchiveError> {
        let one_more = i64::try_from(limit).unwrap_or(i64::MAX).saturating_add(1);
        let (key, turn) = (sort.key, if sort.down { "DESC" } else { "ASC" });
        let ids = self.matching(query, |m| {
            format!(
                "SELECT s.id FROM frames s WHERE s.id IN ({}) ORDER BY {key} {turn} NULLS LAST, s.id DESC LIMIT {one_more}",
                m.sql
            )
        })?;
        self.page(ids, limit)
    }

    /// How many frames meet every term of `query`.
    ///
    /// # Errors
    /// A failure of the database.
    pub fn count(&self, query: &Query) -> Result<usize, ArchiveError> {
        let count = self.matching(query, |m| format!("SELECT count(*) FROM ({})", m.sql))?;
        Ok(count.first().map_or(0, |n| usize::try_from(*n).unwrap_or_default()))
    }

    fn page(&self, mut ids: Vec<i64>, limit: usize) -> Result<Page, ArchiveError> {
        let more = ids.len() > limit;
        ids.truncate(limit);
        Ok(Page { frames: found::rows(&self.db, &ids)?, more })
    }

    /// What `whole` makes of the statement for the ids of all frames that meet a query; nothing
    /// when none can.
    pub(super) fn matching(
        &self,
        query: &Query,
        whole: impl Fn(&Matching) -> String,
    ) -> Result<Vec<i64>, ArchiveError> {
        let Some(clauses) = clauses::all(&self.db, query)? else { return Ok(Vec::new()) };
        let Some(entrance) = entrance(&self.db, &clauses)? else { return Ok(Vec::new()) };
        let found = statement(&clauses, &entrance);
        let mut run = self.db.prepare_cached(&whole(&found))?;
        Ok(run.query_map(params_from_iter(found.params), |r| r.get(0))?.collect::<Result<_, _>>()?)
    }
}

/// A statement for the ids of all frames that meet a query.
pub(super) struct Matching {
    pub(super) sql: String,
    params: Vec<Value>,
    /// By what they are newest first.
    order: String,
}

/// How a search starts.
#[derive(Debug)]
struct Entrance {
    /// The clause it starts from; none for a walk over all frames.
    clause: Option<usize>,
    /// Ids between which every frame that can meet all conditions lies.
    bounds: (i64, i64),
    /// Few frames meet the clause within the bounds: they are sorted.
    few: bool,
}

/// The cheapest way in; `None` when no frame can meet all conditions.
fn entrance(db: &Connection, clauses: &[Clause]) -> rusqlite::Result<Option<Entrance>> {
    let mut best = Entrance { clause: None, bounds: (i64::MIN, i64::MAX), few: false };
    let mut fewest = MANY;
    let mut in_order = None;
    let ways = |words: bool| {
        clauses
            .iter()
            .enumerate()
            .filter_map(|(i, c)| Some((i, c.way_in.as_ref()?)))
            .filter(move |(_, w)| w.words == words)
    };
    for (i, way) in ways(false) {
        let (count, bounds) = counted(db, way, best.bounds)?;
        if count == 0 {
            return Ok(None);
        }
        if count < MANY {
            best.bounds = (best.bounds.0.max(bounds.0), best.bounds.1.min(bounds.1));
        }
        if count < fewest {
            (fewest, best.clause, best.few) = (count, Some(i), true);
        } else if way.in_order {
            in_order.get_or_insert(i);
        }
    }
    best.clause = best.clause.or(in_order);
    // Asking the words of one frame after another is slow; where there are not
    // just a few frames to ask, the words lead in.
    for (i, way) in ways(true) {
        if fewest < FEW {
            continue;
        }
        best.clause = Some(i);
        best.few = best.bounds.0 != i64::MIN && {
            let (count, _) = counted(db, way, best.bounds)?;
            if count == 0 {
                return Ok(None);
            }
            count < MANY
        };
    }
    Ok(Some(best))
}

/// How many frames meet a condition within the bounds, up to [`MANY`], and the
/// ids between which they lie.
fn counted(db: &Connection, way: &WayIn, bounds: (i64, i64)) -> rusqlite::Result<(i64, (i64, i64))> {
    let (within, ends) = within(way.id, bounds);
    let sql = format!(
        "SELECT count(*), min(id), max(id) FROM (SELECT {} AS id FROM {} WHERE {}{within} LIMIT {MANY})",
        way.id, way.counted, way.condition
    );
    let params = way.params.iter().cloned().chain(ends);
    db.prepare_cached(&sql)?.query_row(params_from_iter(params), |r| {
        let ids: (Option<i64>, Option<i64>) = (r.get(1)?, r.get(2)?);
        Ok((r.get(0)?, (ids.0.unwrap_or(i64::MAX), ids.1.unwrap_or(i64::MIN))))
    })
}

/// The bounds as a condition on the id, where there are any.
fn within(id: &str, bounds: (i64, i64)) -> (String, Vec<Value>) {
    let mut text = String::new();
    let mut ends = Vec::new();
    for (end, open, sign) in [(bounds.0, i64::MIN, ">="), (bounds.1, i64::MAX, "<=")] {
        if end != open {
            text += &format!(" AND {id} {sign} ?");
            ends.push(end.into());
        }
    }
    (text, ends)
}

/// The statement for `clauses`, entered as chosen.
fn statement(clauses: &[Clause], entrance: &Entrance) -> Matching {
    let walk = WayIn::walk();
    let way = entrance.clause.and_then(|i| clauses[i].way_in.as_ref()).unwrap_or(&walk);
    let mut sql = format!("SELECT {} FROM {} WHERE true", way.id, way.from);
    let mut params = Vec::new();
    for (i, clause) in clauses.iter().enumerate() {
        let (text, values) = match (&clause.way_in, Some(i) == entrance.clause) {
            (Some(way), true) => (&way.condition, &way.params),
            _ => (&clause.filter, &clause.params),
        };
        // The same id under the name that the way in can seek by.
        sql += &format!(" AND {}", text.replace("f.id", way.id));
        params.extend_from_slice(values);
    }
    let (text, ends) = within(way.id, entrance.bounds);
    sql += &text;
    params.extend(ends);
    // A sum is no order that an index has: few rows are found upwards, then sorted.
    let order = if entrance.few { format!("+{}", way.id) } else { way.id.to_owned() };
    Matching { sql, params, order }
}
