//! All of an archive as text, for other programs and other times: a table, or JSON Lines.

use std::io::{self, Write};

use rusqlite::Row;
use rusqlite::types::ValueRef;
use serde_json::{Map, Value, json};

use crate::output::csv::shielded;

use super::found::each_row;
use super::{Archive, ArchiveError, Found};

/// Frames read at a time.
const BLOCK: usize = 1000;

/// What a frame has beyond what `find` gives: its name here, and its column.
const MORE_OF_A_FRAME: [(&str, &str); 2] = [("said_s", "said_s"), ("edge_s", "edge_s")];
/// The same of its roll and trip, which have lines of their own in JSON Lines.
const OF_ITS_ROLL: [(&str, &str); 9] = [
    ("trip_key", "trip_key"),
    ("results", "out"),
    ("roll_key", "roll_key"),
    ("roll_camera", "roll_camera"),
    ("roll_film", "roll_film"),
    ("roll_ei", "roll_ei"),
    ("roll_process", "roll_process"),
    ("capacity", "capacity"),
    ("roll_remarks", "roll_remarks"),
];

impl Archive {
    /// Every frame as a table (RFC 4180, UTF-8), trip by trip in film order: the columns of a roll's table after the
    /// trip and its folder, and behind them all that is stored of the frame, its roll and its trip. Searches kept by
    /// name belong to no frame and stand in JSON Lines alone.
    ///
    /// # Errors
    /// A failure of the database, or of `out`.
    pub fn write_csv(&self, out: impl Write) -> Result<(), ArchiveError> {
        let mut table = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(out);
        let failed = |e: csv::Error| ArchiveError::Output(e.into());
        let mut head = false;
        let cells = |row: &Row<'_>| {
            let frame = Found::read(row)?;
            let mut cells = frame.all_cells();
            cells.insert(1, ("folder", frame.root));
            for (name, column) in MORE_OF_A_FRAME.into_iter().chain(OF_ITS_ROLL) {
                cells.push((
                    name,
                    match stored(row, column)? {
                        Value::Null => String::new(),
                        Value::String(text) => text,
                        other => other.to_string(),
                    },
                ));
            }
            Ok(cells)
        };
        self.each_frame(cells, |cells| {
            if !head {
                table.write_record(cells.iter().map(|(name, _)| name)).map_err(failed)?;
                head = true;
            }
            table.write_record(cells.iter().map(|(_, text)| shielded(text))).map_err(failed)
        })?;
        table.flush().map_err(ArchiveError::Output)
    }

    /// Everything as JSON Lines: an object a trip, a roll, a frame and a search kept by name, told apart by `kind`. A
    /// frame has what `find` gives, with reasons and the readings that did not win, and the shutter time as it was
    /// said and as it stands on the film edge.
    ///
    /// # Errors
    /// A failure of the database, or of `out`.
    pub fn write_jsonl(&self, mut out: impl Write) -> Result<(), ArchiveError> {
        let mut line = |value: &Value| writeln!(out, "{value}").map_err(ArchiveError::Output);
        let results = self.results_by_key()?;
        for trip in self.trips()? {
            let (from, to) = trip.days.unzip();
            let results = results.iter().find(|(key, _)| *key == trip.key).map(|(_, out)| out);
            line(&json!({
                "kind": "trip", "trip": trip.name, "key": trip.key, "folder": trip.root, "results": results,
                "rolls": trip.rolls, "frames": trip.frames, "from": from, "to": to,
            }))?;
        }
        for roll in self.whole_rolls()? {
            line(&roll)?;
        }
        let object = |row: &Row<'_>| {
            let more: Map<String, Value> = MORE_OF_A_FRAME
                .into_iter()
                .map(|(name, column)| Ok((name.to_owned(), stored(row, column)?)))
                .collect::<rusqlite::Result<_>>()?;
            Ok((Found::read(row)?, more))
        };
        self.each_frame(object, |(frame, more)| {
            let mut object = serde_json::to_value(&frame)?;
            object["kind"] = "frame".into();
            object["folder"] = frame.root.into();
            for (name, value) in more.into_iter().filter(|(_, value)| !value.is_null()) {
                object[name] = value;
            }
            line(&object)
        })?;
        for (name, terms) in self.saved_searches()? {
            line(&json!({ "kind": "search", "search": name, "terms": terms }))?;
        }
        out.flush().map_err(ArchiveError::Output)
    }

    /// Where the results of every trip are, by its key.
    fn results_by_key(&self) -> Result<Vec<(String, Option<String>)>, ArchiveError> {
        let mut all = self.db.prepare("SELECT key, out FROM trips")?;
        Ok(all.query_map([], |r| Ok((r.get(0)?, r.get(1)?)))?.collect::<Result<_, _>>()?)
    }

    /// Every roll as an object, by trip.
    fn whole_rolls(&self) -> Result<Vec<Value>, ArchiveError> {
        const FACTS: [&str; 8] = ["camera", "film", "ei", "process", "capacity", "remarks", "trip_key", "key"];
        const DEVELOPING: [&str; 8] =
            ["developer", "dilution", "time", "temperature", "agitation", "date", "sleeve", "remark"];
        let mut all = self.db.prepare(
            "SELECT t.name AS trip, t.root AS folder, r.name AS roll, r.camera, r.film, r.ei, r.process, r.capacity,
                 r.remarks, t.key AS trip_key, r.key, (SELECT text FROM names WHERE id = v.developer) AS developer,
                 v.dilution, v.time, v.temperature, v.agitation, v.date, v.sleeve, v.remark
             FROM rolls r JOIN trips t ON t.id = r.trip LEFT JOIN developing v ON v.roll = r.id ORDER BY r.trip, r.id",
        )?;
        let object = |row: &Row<'_>| {
            let mut roll = Map::from_iter([("kind".to_owned(), Value::from("roll"))]);
            for name in ["trip", "folder", "roll"].into_iter().chain(FACTS) {
                roll.insert(name.to_owned(), stored(row, name)?);
            }
            roll["remarks"] = roll["remarks"].as_str().and_then(|t| serde_json::from_str(t).ok()).unwrap_or_default();
            let mut developing = Map::new();
            for name in DEVELOPING {
                developing.insert(name.to_owned(), stored(row, name)?);
            }
            developing.retain(|_, part| !part.is_null());
            if !developing.is_empty() {
                roll.insert("developed".to_owned(), developing.into());
            }
            Ok(roll.into())
        };
        Ok(all.query_map([], object)?.collect::<Result<_, _>>()?)
    }

    /// Every frame, trip by trip in film order: what `of` makes of its row.
    fn each_frame<T>(
        &self,
        of: impl Fn(&Row<'_>) -> rusqlite::Result<T>,
        mut tell: impl FnMut(T) -> Result<(), ArchiveError>,
    ) -> Result<(), ArchiveError> {
        let mut all = self.db.prepare("SELECT id FROM frames ORDER BY trip, roll, place_no")?;
        let ids: Vec<i64> = all.query_map([], |r| r.get(0))?.collect::<Result<_, _>>()?;
        for block in ids.chunks(BLOCK) {
            for frame in each_row(&self.db, block, &of)? {
                tell(frame)?;
            }
        }
        Ok(())
    }
}

/// A value as it is stored.
fn stored(row: &Row<'_>, column: &str) -> rusqlite::Result<Value> {
    Ok(match row.get_ref(column)? {
        ValueRef::Null => Value::Null,
        ValueRef::Integer(n) => n.into(),
        ValueRef::Real(x) => x.into(),
        ValueRef::Text(text) | ValueRef::Blob(text) => String::from_utf8_lossy(text).into(),
    })
}

/// Whether a failure is a reader that has gone, as with `| head`.
pub fn reader_gone(why: &ArchiveError) -> bool {
    matches!(why, ArchiveError::Output(e) if e.kind() == io::ErrorKind::BrokenPipe)
}

#[cfg(test)]
mod tests {
    use super::super::samples::{everything, stored as small};
    use super::*;

    #[test]
    fn all_of_it_comes_out_both_ways() {
        let archive = small();
        let mut table = Vec::new();
        archive.write_csv(&mut table).unwrap();
        let mut reader = csv::Reader::from_reader(table.as_slice());
        let head: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
        assert_eq!(&head[..5], ["trip", "folder", "roll", "frame", "status"]);
        let frames: Vec<String> = reader.records().map(|r| r.unwrap()[3].to_owned()).collect();
        assert_eq!(frames, ["00", "1", "2", "3", "12A", "1"], "in film order");

        let mut lines = Vec::new();
        archive.write_jsonl(&mut lines).unwrap();
        let lines: Vec<Value> =
            String::from_utf8(lines).unwrap().lines().map(|l| serde_json::from_str(l).unwrap()).collect();
        let kinds = |kind: &str| lines.iter().filter(|l| l["kind"] == kind).count();
        assert_eq!((kinds("trip"), kinds("roll"), kinds("frame")), (1, 2, 6));
        assert_eq!(lines[1]["remarks"], json!(["edge fogged"]));
        let two = lines.iter().find(|l| l["kind"] == "frame" && l["frame"] == "2").unwrap();
        assert_eq!((&two["folder"], &two["known_by"]), (&json!("/trips/low-water"), &json!("container")));
        assert_eq!(two["alternatives"]["shutter"][0]["value"], "1/50");
        assert_eq!(two["reasons"], json!([["unsure:shutter", "1/60 or 1/50"]]));
    }

    /// Columns that only tie rows together or keep their order.
    const LINKS: [&str; 9] = [
        "trips.id",
        "rolls.id",
        "rolls.trip",
        "names.id",
        "names.kind",
        "frames.id",
        "frames.trip",
        "frames.roll",
        "frames.place_no",
    ];
    /// Links of the other tables, and texts that are stored a second time to be searched by.
    const ELSEWHERE: [&str; 4] = ["details.frame", "frame_flags.frame", "frame_flags.flag", "developing.roll"];
    /// What stands under another name than its column's: in JSON Lines, and in the table.
    const RENAMED: [(&str, &str, &str); 24] = [
        ("trips.key", "key", "trip_key"),
        ("trips.name", "trip", "trip"),
        ("trips.root", "folder", "folder"),
        ("trips.out", "results", "results"),
        ("rolls.key", "key", "roll_key"),
        ("rolls.name", "roll", "roll"),
        ("rolls.camera", "camera", "roll_camera"),
        ("rolls.film", "film", "roll_film"),
        ("rolls.ei", "ei", "roll_ei"),
        ("rolls.process", "process", "roll_process"),
        ("rolls.remarks", "remarks", "roll_remarks"),
        ("frames.taken", "taken", "taken"),
        ("frames.offset_s", "taken", "taken"),
        ("frames.seconds", "shutter", "shutter"),
        ("developing.developer", "developed.developer", "developer"),
        ("developing.dilution", "developed.dilution", "dilution"),
        ("developing.time", "developed.time", "dev_time"),
        ("developing.temperature", "developed.temperature", "temperature"),
        ("developing.agitation", "developed.agitation", "agitation"),
        ("developing.date", "developed.date", "developed"),
        ("developing.sleeve", "developed.sleeve", "sleeve"),
        ("developing.remark", "developed.remark", "dev_remark"),
        ("searches.name", "search", ""),
        ("searches.terms", "terms", ""),
    ];

    /// A value of a stored column as the exports write it.
    fn as_written(archive: &Archive, column: &str, value: Value) -> Value {
        let name = |id: &Value| {
            let sql = "SELECT text FROM names WHERE id = ?1";
            archive.db.query_row(sql, [id.as_i64()], |r| r.get::<_, String>(0)).unwrap()
        };
        match column {
            "frames.camera"
            | "frames.lens"
            | "frames.film"
            | "frames.filter"
            | "frames.light"
            | "frames.support"
            | "frames.process"
            | "developing.developer" => name(&value).into(),
            // Written as one text each, a time and a mark: that there is one is checked.
            "frames.taken" | "frames.offset_s" | "frames.seconds" => Value::Bool(true),
            "details.reasons" | "details.alternatives" | "rolls.remarks" | "searches.terms" => {
                serde_json::from_str(value.as_str().unwrap()).unwrap()
            }
            _ => value,
        }
    }

    fn same(stored: &Value, written: &Value) -> bool {
        match (stored, written) {
            (Value::Bool(true), written) => !written.is_null() && written != "",
            (Value::Number(a), Value::String(b)) => b.parse().is_ok_and(|b| close(a.as_f64().unwrap(), b)),
            (Value::Number(a), Value::Number(b)) => close(a.as_f64().unwrap(), b.as_f64().unwrap()),
            (Value::String(a), Value::String(b)) => a == b,
            (nested, Value::String(text)) => serde_json::from_str::<Value>(text).is_ok_and(|v| v == *nested),
            (a, b) => a == b,
        }
    }

    /// To the millionth that is written.
    fn close(a: f64, b: f64) -> bool {
        (a - b).abs() < 1e-6
    }

    /// Every value of every column of every table, by the names that the database itself gives: a column that a later
    /// version adds and the export forgets fails here.
    #[test]
    fn every_stored_column_of_every_table_is_exported() {
        let archive = everything();
        let mut table = Vec::new();
        archive.write_csv(&mut table).unwrap();
        let mut reader = csv::Reader::from_reader(table.as_slice());
        let head: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
        let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
        let mut lines = Vec::new();
        archive.write_jsonl(&mut lines).unwrap();
        let lines: Vec<Value> =
            String::from_utf8(lines).unwrap().lines().map(|l| serde_json::from_str(l).unwrap()).collect();

        let mut tables = archive.db.prepare(
            "SELECT m.name, c.name FROM sqlite_schema m JOIN pragma_table_info(m.name) c
             WHERE m.type = 'table' AND m.name NOT LIKE 'words%' AND m.name NOT LIKE 'sqlite%'",
        );
        let columns: Vec<(String, String)> = tables
            .as_mut()
            .unwrap()
            .query_map([], |r| Ok((r.get(0)?, r.get(1)?)))
            .unwrap()
            .collect::<Result<_, _>>()
            .unwrap();
        assert!(columns.len() > 60, "{columns:?}");
        let mut seen = 0;
        for (table, column) in columns {
            let full = format!("{table}.{column}");
            if LINKS.contains(&full.as_str()) || ELSEWHERE.contains(&full.as_str()) || full == "names.text" {
                continue;
            }
            let renamed = RENAMED.iter().find(|(stored, ..)| *stored == full);
            let (json_name, csv_name) = renamed.map_or((column.as_str(), column.as_str()), |(_, j, c)| (*j, *c));
            let kind = match table.as_str() {
                "trips" => "trip",
                "rolls" | "developing" => "roll",
                "searches" => "search",
                _ => "frame",
            };
            let mut all = archive.db.prepare(&format!("SELECT \"{column}\" FROM {table}")).unwrap();
            let values: Vec<Value> =
                all.query_map([], |r| stored(r, &column)).unwrap().collect::<Result<_, _>>().unwrap();
            let values = values.into_iter().filter(|v| !v.is_null() && v != "" && v != "{}" && v != "[]");
            let values: Vec<Value> = values.map(|v| as_written(&archive, &full, v)).collect();
            assert!(!values.is_empty(), "no {full} is stored, so that it proves nothing");
            for value in values {
                let pointer = format!("/{}", json_name.replace('.', "/"));
                let written = lines.iter().filter(|l| l["kind"] == kind).filter_map(|l| l.pointer(&pointer));
                assert!(written.clone().any(|w| same(&value, w)), "JSON Lines: no {full} {value} as {json_name}");
                seen += 1;
                if !csv_name.is_empty() {
                    let at = head.iter().position(|h| h == csv_name);
                    let at = at.unwrap_or_else(|| panic!("the table has no column for {full}"));
                    let cells = |r: &csv::StringRecord| Value::from(r[at].trim_start_matches('\'').to_owned());
                    assert!(rows.iter().any(|r| same(&value, &cells(r))), "the table: no {full} {value} as {csv_name}");
                }
            }
        }
        assert!(seen > 100, "only {seen} values");
    }
}
