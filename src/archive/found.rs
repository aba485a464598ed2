//! A frame as found: a row with its names written out.

use rusqlite::{Connection, Row};
use serde::Serialize;

use super::{ArchiveError, clock};

/// A frame as found. Fields are named as in the roll's table; what is unknown is left out.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs, reason = "named as the columns of the roll's table")]
pub struct Found {
    pub trip: String,
    /// Where the trip folder was when it was taken in.
    #[serde(skip)]
    pub root: String,
    /// Where the trip's results were, if that is known.
    #[serde(skip)]
    pub out: Option<String>,
    pub roll: String,
    pub frame: String,
    pub status: String,
    #[serde(flatten)]
    pub rest: Rest,
}

macro_rules! rest {
    ($($(#[$doc:meta])* $name:ident: $type:ty),+ $(,)?) => {
        /// The fields that may be unknown.
        #[derive(Debug, Clone, PartialEq, Serialize)]
        #[allow(missing_docs, reason = "named as the columns of the roll's table")]
        pub struct Rest {
            $($(#[$doc])* #[serde(skip_serializing_if = "Option::is_none")] pub $name: Option<$type>),+
        }

        impl Rest {
            fn read(row: &Row<'_>) -> rusqlite::Result<Self> {
                Ok(Self { $($name: <$type as FromCell>::cell(row, stringify!($name))?),+ })
            }

            fn cells(&self) -> Vec<(&'static str, String)> {
                vec![$((stringify!($name), self.$name.as_ref().map_or_else(String::new, |v| FromCell::text(v)))),+]
            }
        }
    };
}

rest! {
    scan: String,
    taken: Clock,
    /// How the time is known.
    known_by: String,
    camera: String,
    lens: String,
    film: String,
    focal_mm: f64,
    box_iso: i64,
    ei: i64,
    shutter: String,
    aperture: f64,
    filter: String,
    filter_stops: f64,
    comp_stops: f64,
    ev100: f64,
    /// More light than the light that was said asks for, stops.
    rule_stops: f64,
    light: String,
    support: String,
    subject: String,
    place: String,
    lat: f64,
    lon: f64,
    process: String,
    source: String,
    confidence: f64,
    flags: String,
    said: String,
    clip: String,
    at_s: f64,
    /// Flash, converter and so on, joined by `+`.
    extras: String,
    /// Light lost to converter and bellows, stops.
    extra_stops: f64,
    /// Metres, or `infinity`.
    focus_m: String,
    rating: i64,
    remark: String,
    /// How the roll was developed: in what.
    developer: String,
    dilution: String,
    /// How long it was developed.
    dev_time: String,
    temperature: String,
    agitation: String,
    /// On which day it was developed.
    developed: String,
    /// The sleeve that its negatives are in.
    sleeve: String,
    /// Anything else of how it was developed.
    dev_remark: String,
    /// Why each flag was raised.
    reasons: serde_json::Value,
    /// Readings that did not win, by field.
    alternatives: serde_json::Value,
}

/// Local time with its offset where known, as RFC 3339.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(transparent)]
pub struct Clock(pub String);

/// A cell of the database that may be empty.
trait FromCell: Sized {
    fn cell(row: &Row<'_>, column: &str) -> rusqlite::Result<Option<Self>>;
    fn text(&self) -> String;
}

impl FromCell for String {
    fn cell(row: &Row<'_>, column: &str) -> rusqlite::Result<Option<Self>> {
        Ok(row.get::<_, Option<Self>>(column)?.filter(|t| !t.is_empty()))
    }
    fn text(&self) -> String {
        self.clone()
    }
}

impl FromCell for i64 {
    fn cell(row: &Row<'_>, column: &str) -> rusqlite::Result<Option<Self>> {
        row.get(column)
    }
    fn text(&self) -> String {
        self.to_string()
    }
}

impl FromCell for f64 {
    /// To a millionth; what is finer comes of the arithmetic.
    fn cell(row: &Row<'_>, column: &str) -> rusqlite::Result<Option<Self>> {
        Ok(row.get::<_, Option<Self>>(column)?.map(|x| (x * 1e6).round() / 1e6))
    }
    fn text(&self) -> String {
        self.to_string()
    }
}

impl FromCell for Clock {
    fn cell(row: &Row<'_>, column: &str) -> rusqlite::Result<Option<Self>> {
        let seconds: Option<i64> = row.get(column)?;
        let offset_s = row.get("offset_s")?;
        let local = seconds.and_then(clock::local);
        // How the time is known does not show in its text.
        let known_by = crate::facts::KnownBy::Container;
        Ok(local.map(|local| Self(crate::facts::Taken { local, offset_s, known_by }.rfc3339())))
    }
    fn text(&self) -> String {
        self.0.clone()
    }
}

impl FromCell for serde_json::Value {
    fn cell(row: &Row<'_>, column: &str) -> rusqlite::Result<Option<Self>> {
        let text: String = row.get(column)?;
        let value = serde_json::from_str(&text)
            .map_err(|e| rusqlite::Error::FromSqlConversionFailure(0, rusqlite::types::Type::Text, Box::new(e)))?;
        Ok(Some(value).filter(|v| v != &serde_json::json!({}) && v != &serde_json::json!([])))
    }
    fn text(&self) -> String {
        self.to_string()
    }
}

impl Found {
    /// From a whole row.
    pub(super) fn read(row: &Row<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            trip: row.get("trip")?,
            root: row.get("root")?,
            out: row.get("out")?,
            roll: row.get("roll")?,
            frame: row.get("frame")?,
            status: row.get("status")?,
            rest: Rest::read(row)?,
        })
    }

    /// Every field with its name, in the order of the table; unknown is empty. Without reasons and readings that
    /// did not win.
    pub fn cells(&self) -> Vec<(&'static str, String)> {
        self.all_cells().into_iter().filter(|(name, _)| !matches!(*name, "alternatives" | "reasons")).collect()
    }

    /// As [`Self::cells`], with reasons and the readings that did not win.
    pub(super) fn all_cells(&self) -> Vec<(&'static str, String)> {
        let mut cells = vec![
            ("trip", self.trip.clone()),
            ("roll", self.roll.clone()),
            ("frame", self.frame.clone()),
            ("status", self.status.clone()),
        ];
        cells.extend(self.rest.cells());
        cells
    }
}

/// The frames of `ids`, in that order.
pub(super) fn rows(db: &Connection, ids: &[i64]) -> Result<Vec<Found>, ArchiveError> {
    each_row(db, ids, Found::read)
}

/// What `of` makes of the whole row of each frame of `ids`, in that order.
pub(super) fn each_row<T>(
    db: &Connection,
    ids: &[i64],
    of: impl Fn(&Row<'_>) -> rusqlite::Result<T>,
) -> Result<Vec<T>, ArchiveError> {
    let mut one = db.prepare_cached("SELECT * FROM frame_rows WHERE id = ?1")?;
    Ok(ids.iter().map(|id| one.query_row([id], &of)).collect::<Result<_, _>>()?)
}
