//! All of an archive as text, for other programs and other times: a table, or JSON Lines.

use std::io::{self, Write};

use serde_json::{Value, json};

use crate::output::csv::shielded;

use super::found::rows;
use super::{Archive, ArchiveError, Found};

/// Frames read at a time.
const BLOCK: usize = 1000;

impl Archive {
    /// Every frame as a table (RFC 4180, UTF-8), trip by trip in film order, with the columns of
    /// a roll's table after the trip and its folder.
    ///
    /// # Errors
    /// A failure of the database, or of `out`.
    pub fn write_csv(&self, out: impl Write) -> Result<(), ArchiveError> {
        let mut table = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(out);
        let failed = |e: csv::Error| ArchiveError::Output(e.into());
        let mut head = false;
        self.each_frame(|frame| {
            let mut cells = frame.cells();
            cells.insert(1, ("folder", frame.root.clone()));
            if !head {
                table.write_record(cells.iter().map(|(name, _)| name)).map_err(failed)?;
                head = true;
            }
            table.write_record(cells.iter().map(|(_, text)| shielded(text))).map_err(failed)
        })?;
        table.flush().map_err(ArchiveError::Output)
    }

    /// Everything as JSON Lines: an object a trip, a roll and a frame, told apart by `kind`. A
    /// frame has what `find` gives, with reasons and the readings that did not win.
    ///
    /// # Errors
    /// A failure of the database, or of `out`.
    pub fn write_jsonl(&self, mut out: impl Write) -> Result<(), ArchiveError> {
        let mut line = |value: &Value| writeln!(out, "{value}").map_err(ArchiveError::Output);
        for trip in self.trips()? {
            let (from, to) = trip.days.unzip();
            line(&json!({
                "kind": "trip", "trip": trip.name, "key": trip.key, "folder": trip.root,
                "rolls": trip.rolls, "frames": trip.frames, "from": from, "to": to,
            }))?;
        }
        for roll in self.whole_rolls()? {
            line(&roll)?;
        }
        self.each_frame(|frame| {
            let mut object = serde_json::to_value(&frame)?;
            object["kind"] = "frame".into();
            object["folder"] = frame.root.into();
            line(&object)
        })?;
        out.flush().map_err(ArchiveError::Output)
    }

    /// Every roll as an object, by trip.
    fn whole_rolls(&self) -> Result<Vec<Value>, ArchiveError> {
        let mut all = self.db.prepare(
            "SELECT t.name, t.root, r.name, r.camera, r.film, r.ei, r.process, r.capacity, r.remarks
             FROM rolls r JOIN trips t ON t.id = r.trip ORDER BY r.trip, r.id",
        )?;
        let object = |r: &rusqlite::Row<'_>| {
            let text = |i| r.get::<_, Option<String>>(i);
            let number = |i| r.get::<_, Option<i64>>(i);
            let remarks: Value = serde_json::from_str(&r.get::<_, String>(8)?).unwrap_or_default();
            Ok(json!({
                "kind": "roll", "trip": text(0)?, "folder": text(1)?, "roll": text(2)?, "camera": text(3)?,
                "film": text(4)?, "ei": number(5)?, "process": text(6)?, "capacity": number(7)?, "remarks": remarks,
            }))
        };
        Ok(all.query_map([], object)?.collect::<Result<_, _>>()?)
    }

    /// Every frame, trip by trip in film order.
    fn each_frame(&self, mut tell: impl FnMut(Found) -> Result<(), ArchiveError>) -> Result<(), ArchiveError> {
        let mut all = self.db.prepare("SELECT id FROM frames ORDER BY trip, roll, place_no")?;
        let ids: Vec<i64> = all.query_map([], |r| r.get(0))?.collect::<Result<_, _>>()?;
        for block in ids.chunks(BLOCK) {
            for frame in rows(&self.db, block)? {
                tell(frame)?;
            }
        }
        Ok(())
    }
}

/// Whether a failure is a reader that has gone, as with `| head`.
pub fn reader_gone(why: &ArchiveError) -> bool {
    matches!(why, ArchiveError::Output(e) if e.kind() == io::ErrorKind::BrokenPipe)
}

#[cfg(test)]
mod tests {
    use super::super::samples::stored;
    use super::*;

    #[test]
    fn all_of_it_comes_out_both_ways() {
        let archive = stored();
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
}
