//! How rolls were developed, in the database.

use rusqlite::functions::FunctionFlags;
use rusqlite::{Connection, Transaction, params};

use crate::roll::Developed;

/// What stood before developing notes while they were kept as a remark.
const AS_REMARK: &str = "developed: ";

/// Makes `developing_part(remark, part)` known to `db`: a part of the developing notes that a remark holds, or ''
/// for the part '' of any such remark. NULL where there is none.
pub(super) fn teach(db: &Connection) -> rusqlite::Result<()> {
    let flags = FunctionFlags::SQLITE_DETERMINISTIC | FunctionFlags::SQLITE_UTF8;
    db.create_scalar_function("developing_part", 2, flags, |ctx| {
        let (remark, part) = (ctx.get::<String>(0)?, ctx.get::<String>(1)?);
        let Some(noted) = remark.strip_prefix(AS_REMARK).and_then(Developed::of_line) else { return Ok(None) };
        if part.is_empty() {
            return Ok(Some(String::new()));
        }
        Ok(noted.parts().into_iter().find(|(name, _)| *name == part).map(|(_, text)| text.to_owned()))
    })
}

/// Writes how a roll was developed, its developer under the id of its name.
pub(super) fn insert(
    tx: &Transaction<'_>,
    roll: i64,
    developer: Option<i64>,
    noted: &Developed,
) -> rusqlite::Result<()> {
    tx.prepare_cached(
        "INSERT INTO developing (roll, developer, dilution, time, temperature, agitation, date, sleeve, remark)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
    )?
    .execute(params![
        roll,
        developer,
        noted.dilution,
        noted.time,
        noted.temperature,
        noted.agitation,
        noted.date,
        noted.sleeve,
        noted.remark,
    ])?;
    Ok(())
}
