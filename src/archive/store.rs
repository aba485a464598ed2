//! A trip into the archive: its old rows out, its new rows in, in one transaction.

use std::collections::HashMap;

use rusqlite::{CachedStatement, OptionalExtension, Transaction, TransactionBehavior, params};
use serde::Serialize;
use serde_json::{Map, Value};

use crate::exposure::ev100;
use crate::facts::{Settled, Source};
use crate::output::focus_text;
use crate::roll::{Frame, Roll, Trip};

use super::{Archive, ArchiveError, clock, developing, rule};

/// What a trip is known by in the archive.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TripKey {
    /// Stays the same when the trip is taken in again.
    pub id: String,
    /// The trip folder, from where scans and clips are found.
    pub root: String,
    /// Where its results are, from where pages are found.
    pub out: String,
}

/// Ids hold this many frames to the second before they spill into the next.
const PER_SECOND: i64 = 1 << 10;
/// Seconds from 1900 to 1970: ids of timed frames stay positive.
const TO_1900: i64 = 2_208_988_800;
/// Ids from here up say a time; below stand frames of trips without any.
const TIMED: i64 = 1 << 32;

/// The lowest id of a frame taken at these local clock seconds.
pub(super) fn first_id_at(seconds: i64) -> i64 {
    seconds.saturating_add(TO_1900).saturating_mul(PER_SECOND).clamp(TIMED, i64::MAX - 2 * PER_SECOND)
}

impl Archive {
    /// Puts `trip` in, in place of what was there under the same `key.id`.
    /// All of it or, on an error, nothing.
    ///
    /// # Errors
    /// A failure of the database.
    pub fn store(&mut self, trip: &Trip, key: &TripKey) -> Result<(), ArchiveError> {
        let tx = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        remove(&tx, &key.id)?;
        insert(&tx, trip, key)?;
        tx.commit()?;
        Ok(())
    }

    /// What the trip in the folder `root` is known by, if one is.
    ///
    /// # Errors
    /// A failure of the database.
    pub fn key_at(&self, root: &str) -> Result<Option<String>, ArchiveError> {
        let mut one = self.db.prepare_cached("SELECT key FROM trips WHERE root = ?1 ORDER BY id DESC")?;
        Ok(one.query_row([root], |r| r.get(0)).optional()?)
    }

    /// What the only trip in the archive is known by, and where its folder was.
    ///
    /// # Errors
    /// A failure of the database.
    pub fn only_trip(&self) -> Result<Option<(String, String)>, ArchiveError> {
        let mut all = self.db.prepare_cached("SELECT key, root FROM trips LIMIT 2")?;
        let trips: Vec<(String, String)> =
            all.query_map([], |r| Ok((r.get(0)?, r.get(1)?)))?.collect::<Result<_, _>>()?;
        Ok(<[_; 1]>::try_from(trips).ok().map(|[one]| one))
    }

    /// Takes a trip out. Nothing happens when it is not there.
    ///
    /// # Errors
    /// A failure of the database.
    pub fn forget(&mut self, key_id: &str) -> Result<(), ArchiveError> {
        let tx = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        remove(&tx, key_id)?;
        tx.commit()?;
        Ok(())
    }
}

fn remove(tx: &Transaction<'_>, key_id: &str) -> Result<(), ArchiveError> {
    let trip: Option<i64> = tx.query_row("SELECT id FROM trips WHERE key = ?1", [key_id], |r| r.get(0)).optional()?;
    if let Some(trip) = trip {
        tx.execute("DELETE FROM words WHERE rowid IN (SELECT id FROM frames WHERE trip = ?1)", [trip])?;
        tx.execute("DELETE FROM trips WHERE id = ?1", [trip])?;
    }
    Ok(())
}

fn insert(tx: &Transaction<'_>, trip: &Trip, key: &TripKey) -> Result<(), ArchiveError> {
    tx.execute(
        "INSERT INTO trips (key, name, root, out) VALUES (?1, ?2, ?3, ?4)",
        params![key.id, trip.name, key.root, key.out],
    )?;
    let trip_id = tx.last_insert_rowid();
    let mut rows = Rows::new(tx, trip_id)?;
    let mut time = trip.rolls.iter().flat_map(|r| &r.frames).find_map(seconds_of);
    for roll in &trip.rolls {
        let roll_id = insert_roll(tx, trip_id, roll)?;
        if !roll.developed.is_empty() {
            let developer = rows.names.id("developer", roll.developed.developer.as_deref())?;
            developing::insert(tx, roll_id, developer, &roll.developed)?;
        }
        time = roll.frames.iter().find_map(seconds_of).or(time);
        for (place, frame) in roll.frames.iter().enumerate() {
            time = seconds_of(frame).or(time);
            rows.insert(roll_id, place, frame, time)?;
        }
    }
    Ok(())
}

fn insert_roll(tx: &Transaction<'_>, trip: i64, roll: &Roll) -> Result<i64, ArchiveError> {
    tx.prepare_cached(
        "INSERT INTO rolls (trip, key, name, camera, film, ei, process, capacity, remarks)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
    )?
    .execute(params![
        trip,
        roll.name.key(),
        roll.name.as_str(),
        roll.camera,
        roll.film,
        roll.ei.map(|e| e.get()),
        roll.process,
        roll.capacity,
        serde_json::to_string(&roll.remarks)?,
    ])?;
    Ok(tx.last_insert_rowid())
}

/// The statements that write one frame.
struct Rows<'a> {
    trip: i64,
    last_in_block: CachedStatement<'a>,
    frame: CachedStatement<'a>,
    details: CachedStatement<'a>,
    flag: CachedStatement<'a>,
    words: CachedStatement<'a>,
    names: Names<'a>,
}

impl<'a> Rows<'a> {
    fn new(tx: &'a Transaction<'_>, trip: i64) -> rusqlite::Result<Self> {
        Ok(Self {
            trip,
            last_in_block: tx.prepare_cached("SELECT max(id) FROM frames WHERE id >= ?1 AND id < ?2")?,
            frame: tx.prepare_cached(
                "INSERT INTO frames (id, trip, roll, place_no, frame, status, taken, offset_s, camera, lens, film,
                     filter, light, support, process, focal_mm, box_iso, ei, seconds, aperture, filter_stops,
                     comp_stops, ev100, lat, lon, confidence, rating, rule_stops, said_s, edge_s)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17, ?18, ?19, ?20,
                     ?21, ?22, ?23, ?24, ?25, ?26, ?27,
                     ?28, ?29, ?30)",
            )?,
            details: tx.prepare_cached(
                "INSERT INTO details (frame, scan, shutter, known_by, subject, place, source, flags, reasons, said,
                     clip, at_s, alternatives, remark, extras, extra_stops, focus_m)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17)",
            )?,
            flag: tx.prepare_cached("INSERT OR IGNORE INTO frame_flags (flag, frame) VALUES (?1, ?2)")?,
            words: tx.prepare_cached(
                "INSERT INTO words (rowid, said, subject, place, gear, remark) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
            )?,
            names: Names::new(tx)?,
        })
    }

    fn insert(&mut self, roll: i64, place: usize, f: &Frame, time: Option<i64>) -> Result<(), ArchiveError> {
        let id = self.free_id(time)?;
        let filter = f.filter.as_ref().map(|x| x.value.to_string());
        let settings = f.aperture.as_ref().zip(f.shutter.as_ref()).zip(f.ei.as_ref());
        let ev = settings.and_then(|((a, s), e)| ev100(a.value, s.value, e.value)).map(|ev| ev.get());
        let stops = (f.filter_stops.map(|x| x.get()), f.comp.as_ref().map(|x| x.value.get()));
        self.frame.execute(params![
            id,
            self.trip,
            roll,
            place as i64,
            f.number.to_string(),
            f.status.as_str(),
            seconds_of(f),
            f.taken.as_ref().and_then(|t| t.offset_s),
            self.names.id("camera", value(&f.camera))?,
            self.names.id("lens", value(&f.lens))?,
            self.names.id("film", value(&f.film))?,
            self.names.id("filter", filter.as_deref())?,
            self.names.id("light", value(&f.light))?,
            self.names.id("support", value(&f.support))?,
            self.names.id("process", value(&f.process))?,
            f.focal_mm.as_ref().map(|x| x.value),
            f.box_iso.map(|x| x.get()),
            f.ei.as_ref().map(|x| x.value.get()),
            f.shutter.as_ref().and_then(|x| x.value.seconds()),
            f.aperture.as_ref().map(|x| x.value.number()),
            stops.0,
            stops.1,
            ev,
            f.position.map(|p| p.lat),
            f.position.map(|p| p.lon),
            f.confidence(),
            f.rating,
            rule_stops(f, ev),
            shutter_by(f, &[Source::Voice]),
            shutter_by(f, &[Source::Rebate, Source::Typed]),
        ])?;
        let said = said(f);
        self.details.execute(params![
            id,
            joined(f.scans.iter(), "|"),
            f.shutter.as_ref().map(|x| x.value.to_string()),
            f.taken.as_ref().map(|t| serde_json::to_value(t.known_by)).transpose()?.as_ref().and_then(Value::as_str),
            value(&f.subject),
            value(&f.place),
            joined(f.sources().iter().map(|s| s.as_str()), "+").unwrap_or_default(),
            joined(f.flags.iter().map(ToString::to_string), "|").unwrap_or_default(),
            serde_json::to_string(&f.reasons)?,
            said,
            f.said.first().map(|q| q.at.clip.as_str()),
            f.said.first().map(|q| q.at.at_s),
            alternatives(f)?.to_string(),
            f.remark,
            joined(f.extras.names().into_iter(), "+"),
            f.extras.cost().map(|s| s.get()),
            f.extras.focus.map(focus_text),
        ])?;
        for flag in &f.flags {
            self.flag.execute(params![flag.to_string(), id])?;
        }
        self.words.execute(params![id, said, value(&f.subject), value(&f.place), gear(f), f.remark])?;
        Ok(())
    }

    /// The next free id at or after `time`.
    fn free_id(&mut self, time: Option<i64>) -> rusqlite::Result<i64> {
        let (mut from, mut to) = match time {
            Some(s) => (first_id_at(s), first_id_at(s) + PER_SECOND),
            None => (0, TIMED),
        };
        loop {
            let last: Option<i64> = self.last_in_block.query_row([from, to], |r| r.get(0))?;
            match last.map_or(from, |id| id + 1) {
                id if id < to => return Ok(id),
                _ => (from, to) = (to, to + PER_SECOND),
            }
        }
    }
}

/// Ids of recurring names.
struct Names<'a> {
    add: CachedStatement<'a>,
    get: CachedStatement<'a>,
    known: HashMap<(&'static str, String), i64>,
}

impl<'a> Names<'a> {
    fn new(tx: &'a Transaction<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            add: tx.prepare_cached("INSERT OR IGNORE INTO names (kind, text) VALUES (?1, ?2)")?,
            get: tx.prepare_cached("SELECT id FROM names WHERE kind = ?1 AND text = ?2")?,
            known: HashMap::new(),
        })
    }

    fn id(&mut self, kind: &'static str, text: Option<&str>) -> rusqlite::Result<Option<i64>> {
        let Some(text) = text else { return Ok(None) };
        let key = (kind, text.to_owned());
        if let Some(&id) = self.known.get(&key) {
            return Ok(Some(id));
        }
        self.add.execute(params![kind, text])?;
        let id = self.get.query_row(params![kind, text], |r| r.get(0))?;
        self.known.insert(key, id);
        Ok(Some(id))
    }
}

/// Where the exposure lies against what the light asks for; none with a flash, or where something loses an unknown amount.
fn rule_stops(f: &Frame, ev: Option<f64>) -> Option<f64> {
    let lost = f.extras.lost().filter(|_| f.extras.flash.is_none())?.get();
    let filter = f.filter_stops.map_or(0.0, |s| s.get());
    rule::over(value(&f.light), ev, Some(filter + lost), f.comp.as_ref().map(|x| x.value.get()))
}

fn value(s: &Option<Settled<String>>) -> Option<&str> {
    s.as_ref().map(|s| s.value.as_str())
}

/// The shutter time that one of these sources gave, in seconds.
fn shutter_by(f: &Frame, sources: &[Source]) -> Option<f64> {
    let settled = f.shutter.as_ref()?;
    let won = settled.sources.iter().any(|s| sources.contains(s)).then_some(settled.value);
    let lost = || settled.others.iter().find(|r| sources.contains(&r.source)).map(|r| r.value);
    won.or_else(lost)?.seconds()
}

fn seconds_of(f: &Frame) -> Option<i64> {
    f.taken.as_ref().map(|t| clock::seconds(t.local))
}

fn joined(parts: impl Iterator<Item = impl AsRef<str>>, with: &str) -> Option<String> {
    let parts: Vec<_> = parts.collect();
    let texts: Vec<&str> = parts.iter().map(AsRef::as_ref).collect();
    (!texts.is_empty()).then(|| texts.join(with))
}

fn said(f: &Frame) -> Option<String> {
    joined(f.said.iter().map(|q| q.text.as_str()), " / ")
}

/// What was used, as words to search: a filter's name is followed by `filter`,
/// so that `orange filter` finds it even when only `orange` was said.
fn gear(f: &Frame) -> String {
    let mut words: Vec<String> = [&f.camera, &f.lens, &f.film, &f.light, &f.support]
        .into_iter()
        .filter_map(|s| value(s).map(str::to_owned))
        .collect();
    if let Some(filter) = f.filter.as_ref().filter(|x| !x.value.is_none()) {
        words.extend(filter.value.0.iter().map(|name| format!("{name} filter")));
    }
    words.extend(f.extras.names());
    words.join(" ; ")
}

/// The readings that did not win, by field. Empty ones are left out.
fn alternatives(f: &Frame) -> Result<Value, serde_json::Error> {
    let mut all = Map::new();
    let mut add = |name: &str, others: serde_json::Result<Value>| -> serde_json::Result<()> {
        let others = others?;
        if others.as_array().is_some_and(|a| !a.is_empty()) {
            all.insert(name.to_owned(), others);
        }
        Ok(())
    };
    fn others<T: Serialize>(s: &Option<Settled<T>>) -> serde_json::Result<Value> {
        s.as_ref().map_or(Ok(Value::Null), |s| serde_json::to_value(&s.others))
    }
    add("camera", others(&f.camera))?;
    add("lens", others(&f.lens))?;
    add("film", others(&f.film))?;
    add("focal_mm", others(&f.focal_mm))?;
    add("ei", others(&f.ei))?;
    add("shutter", others(&f.shutter))?;
    add("aperture", others(&f.aperture))?;
    add("filter", others(&f.filter))?;
    add("comp_stops", others(&f.comp))?;
    add("light", others(&f.light))?;
    add("support", others(&f.support))?;
    add("subject", others(&f.subject))?;
    add("place", others(&f.place))?;
    add("process", others(&f.process))?;
    Ok(Value::Object(all))
}
