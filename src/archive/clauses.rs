//! Terms of a query as conditions of the database. Everything typed goes in as a
//! parameter; only names and numbers made here stand in the text.

use rusqlite::types::Value;
use rusqlite::{Connection, params};

use crate::facts::Position;

use super::compare::Span;
use super::fields::{Field, Kind};
use super::query::{Query, Term, Test};
use super::store::first_id_at;
use super::{ArchiveError, geo};

/// One condition.
#[derive(Debug)]
pub(super) struct Clause {
    /// Holds for a frame `f`.
    pub filter: String,
    pub params: Vec<Value>,
    /// How a search may start from it.
    pub way_in: Option<WayIn>,
}

/// A table or index that a search starts from.
#[derive(Debug)]
pub(super) struct WayIn {
    /// What to read, frames under the name `f`.
    pub from: String,
    /// The part of it that is enough to count by.
    pub counted: String,
    /// The condition in terms of it.
    pub condition: String,
    pub params: Vec<Value>,
    /// The frame's id, in terms of it.
    pub id: &'static str,
    /// It gives ids in order, so that a limit ends it early.
    pub in_order: bool,
    /// It is the full-text table.
    pub words: bool,
}

impl WayIn {
    /// All frames, newest first.
    pub fn walk() -> Self {
        let from = "frames f NOT INDEXED".to_owned();
        Self {
            counted: from.clone(),
            from,
            condition: String::new(),
            params: Vec::new(),
            id: "f.id",
            in_order: true,
            words: false,
        }
    }
}

impl Clause {
    fn only(filter: String, params: Vec<Value>) -> Self {
        Self { filter, params, way_in: None }
    }

    fn indexed(index: &str, filter: String, params: Vec<Value>, in_order: bool) -> Self {
        let from = format!("frames f INDEXED BY {index}");
        let way_in = WayIn {
            counted: from.clone(),
            from,
            condition: filter.clone(),
            params: params.clone(),
            id: "f.id",
            in_order,
            words: false,
        };
        Self { filter, params, way_in: Some(way_in) }
    }
}

/// The conditions behind others: ` AND …` for each.
pub(super) fn and(clauses: &[Clause]) -> String {
    clauses.iter().map(|c| format!(" AND {}", c.filter)).collect()
}

/// The conditions of all terms; `None` when no frame can meet them.
pub(super) fn all(db: &Connection, query: &Query) -> Result<Option<Vec<Clause>>, ArchiveError> {
    let mut clauses = words(&query.terms);
    for term in query.terms.iter().filter(|t| !matches!(t.test, Test::Words { .. })) {
        let Some(clause) = clause(db, &term.test)? else {
            if term.not {
                continue;
            }
            return Ok(None);
        };
        clauses.push(if term.not {
            Clause::only(format!("({}) IS NOT TRUE", clause.filter), clause.params)
        } else {
            clause
        });
    }
    Ok(Some(clauses))
}

/// One term that is no word; `None` when no frame meets it.
fn clause(db: &Connection, test: &Test) -> Result<Option<Clause>, ArchiveError> {
    Ok(Some(match test {
        Test::Words { .. } => return Ok(None),
        Test::Name { field, text, whole } => {
            let ids = name_ids(db, *field, text, *whole)?;
            let column = field.column();
            let one_of = match &ids[..] {
                [] => return Ok(None),
                [id] => format!("f.{column} = {id}"),
                _ => format!("f.{column} IN ({})", list(&ids)),
            };
            match field {
                Field::Support | Field::Process => Clause::only(one_of, vec![]),
                _ => Clause::indexed(&format!("frames_{column}"), one_of, vec![], ids.len() == 1),
            }
        }
        Test::Number { field, span } => {
            let (text, params) = between(&format!("f.{}", field.column()), span);
            match field {
                Field::Lost | Field::Iso => Clause::only(text, params),
                Field::Focal => Clause::indexed("frames_focal", text, params, false),
                Field::Comp | Field::Rating => {
                    let column = field.column();
                    let known = format!("{text} AND f.{column} IS NOT NULL");
                    Clause::indexed(&format!("frames_{column}"), known, params, false)
                }
                _ => Clause::indexed(&format!("frames_{}", field.column()), text, params, false),
            }
        }
        Test::Taken(span) => taken(span),
        Test::Status(status) if *status == crate::roll::Status::Ok => Clause::only("f.status = 'ok'".into(), vec![]),
        Test::Status(status) => Clause::indexed(
            "frames_lost",
            format!("(f.status = '{}' AND f.status <> 'ok')", status.as_str()),
            vec![],
            true,
        ),
        Test::Flag(code) => flag(code),
        Test::Frame(number) => Clause::only("f.frame = ?".into(), vec![number.to_string().into()]),
        Test::Roll(name) => {
            let filter = "EXISTS (SELECT 1 FROM rolls r WHERE r.id = f.roll AND r.key = ?)".to_owned();
            let key = Value::from(name.key().to_owned());
            // Rolls called 7 are on many trips; only a name of its own leads in.
            let mut ids = db.prepare_cached("SELECT id FROM rolls WHERE key = ?1 LIMIT 100")?;
            let ids: Vec<i64> = ids.query_map([name.key()], |r| r.get(0))?.collect::<Result<_, _>>()?;
            match ids.len() {
                0 => return Ok(None),
                1..100 => Clause::indexed("frames_roll", format!("f.roll IN ({})", list(&ids)), vec![], ids.len() == 1),
                _ => Clause::only(filter, vec![key]),
            }
        }
        Test::Developer { text, whole } => match &name_ids(db, Field::Developer, text, *whole)?[..] {
            [] => return Ok(None),
            ids => developed(&format!("developer IN ({})", list(ids)), vec![]),
        },
        Test::Sleeve(name) => developed("sleeve = ?", vec![name.clone().into()]),
        Test::Near(position, km) => near(*position, *km),
        Test::Has(field) => has(*field),
    }))
}

/// Frames of rolls whose developing notes meet a condition.
fn developed(condition: &str, params: Vec<Value>) -> Clause {
    let rolls = format!("f.roll IN (SELECT roll FROM developing WHERE {condition})");
    Clause::indexed("frames_roll", rolls, params, false)
}

fn list(ids: &[i64]) -> String {
    ids.iter().map(i64::to_string).collect::<Vec<_>>().join(",")
}

/// Ids of the names, or trips, that hold `text`. Compared here, because the
/// database folds the case of ASCII letters only.
fn name_ids(db: &Connection, field: Field, text: &str, whole: bool) -> rusqlite::Result<Vec<i64>> {
    let wanted = text.to_lowercase();
    let (sql, kind) = match field {
        Field::Trip => ("SELECT id, name FROM trips WHERE ?1 IS NOT NULL", ""),
        _ => ("SELECT id, text FROM names WHERE kind = ?1", field.column()),
    };
    let mut names = db.prepare_cached(sql)?;
    let rows = names.query_map(params![kind], |r| Ok((r.get::<_, i64>(0)?, r.get::<_, String>(1)?)))?;
    let mut ids = Vec::new();
    for row in rows {
        let (id, name) = row?;
        let name = name.to_lowercase();
        // `none` stands for no filter and is no part of a name.
        if if whole || wanted == "none" { name == wanted } else { name.contains(&wanted) } {
            ids.push(id);
        }
    }
    Ok(ids)
}

fn between<T: Copy + Into<Value>>(column: &str, span: &Span<T>) -> (String, Vec<Value>) {
    let mut parts = Vec::new();
    let mut params = Vec::new();
    for (end, with, without) in [(span.low, ">=", ">"), (span.high, "<=", "<")] {
        if let Some((value, belongs)) = end {
            parts.push(format!("{column} {} ?", if belongs { with } else { without }));
            params.push(value.into());
        }
    }
    (parts.join(" AND "), params)
}

/// Ids rise with time, so a span of time is also a span of ids; the exact time
/// is checked as well.
fn taken(span: &Span<i64>) -> Clause {
    // Ids of one second spill into the next when more than a thousand frames share it.
    const SPILL_S: i64 = 3600;
    let (mut text, mut params) = between("+f.taken", span);
    if let Some((low, _)) = span.low {
        text.push_str(" AND f.id >= ?");
        params.push(first_id_at(low).into());
    }
    if let Some((high, _)) = span.high {
        text.push_str(" AND f.id <= ?");
        params.push(first_id_at(high.saturating_add(SPILL_S)).into());
    }
    let way_in = WayIn { condition: text.clone(), params: params.clone(), ..WayIn::walk() };
    Clause { filter: text, params, way_in: Some(way_in) }
}

fn flag(code: &str) -> Clause {
    let kind = !code.contains(':') && code != "shake";
    let (text, params): (&str, Vec<Value>) = if kind {
        ("g.flag >= ? AND g.flag < ?", vec![format!("{code}:").into(), format!("{code};").into()])
    } else {
        ("g.flag = ?", vec![code.to_owned().into()])
    };
    Clause {
        filter: format!("EXISTS (SELECT 1 FROM frame_flags g WHERE {text} AND g.frame = f.id)"),
        params: params.clone(),
        // A frame may carry several flags of a kind, so only a whole code leads in.
        way_in: (!kind).then(|| WayIn {
            from: "frame_flags g CROSS JOIN frames f ON f.id = g.frame".into(),
            counted: "frame_flags g".into(),
            condition: text.into(),
            params,
            id: "g.frame",
            in_order: true,
            words: false,
        }),
    }
}

fn near(place: Position, km: f64) -> Clause {
    let bounds = geo::Bounds::around(place, km);
    let mut text = "f.lat IS NOT NULL AND f.lat BETWEEN ? AND ?".to_owned();
    let mut params: Vec<Value> = vec![bounds.south.into(), bounds.north.into()];
    if let Some((west, east)) = bounds.west_east {
        text.push_str(if west <= east { " AND f.lon BETWEEN ? AND ?" } else { " AND (f.lon >= ? OR f.lon <= ?)" });
        params.extend([west.into(), east.into()]);
    }
    text.push_str(" AND km_between(f.lat, f.lon, ?, ?) <= ?");
    params.extend([place.lat.into(), place.lon.into(), km.into()]);
    Clause::indexed("frames_position", text, params, false)
}

fn has(field: Field) -> Clause {
    match field.kind() {
        Kind::Text => Clause::only(
            format!("EXISTS (SELECT 1 FROM details d WHERE d.frame = f.id AND d.{} <> '')", field.column()),
            vec![],
        ),
        Kind::Developer | Kind::Sleeve => developed(&format!("{} IS NOT NULL", field.column()), vec![]),
        _ if field == Field::Rating => Clause::indexed("frames_rating", "f.rating IS NOT NULL".into(), vec![], false),
        _ => Clause::only(format!("f.{} IS NOT NULL", field.column()), vec![]),
    }
}

/// All words together, as one question to the full-text table.
fn words(terms: &[Term]) -> Vec<Clause> {
    let of = |not: bool| -> Vec<String> { terms.iter().filter(|t| t.not == not).filter_map(phrase).collect() };
    let (with, without) = (of(false), of(true));
    if with.is_empty() {
        let absent = |expression: String| {
            let text = "NOT EXISTS (SELECT 1 FROM words WHERE words MATCH ? AND words.rowid = f.id)";
            Clause::only(text.into(), vec![expression.into()])
        };
        return without.into_iter().map(absent).collect();
    }
    let mut expression = with.join(" AND ");
    for phrase in without {
        expression = format!("({expression}) NOT {phrase}");
    }
    let params: Vec<Value> = vec![expression.into()];
    vec![Clause {
        filter: "EXISTS (SELECT 1 FROM words WHERE words MATCH ? AND words.rowid = f.id)".into(),
        params: params.clone(),
        way_in: Some(WayIn {
            from: "words CROSS JOIN frames f ON f.id = words.rowid".into(),
            counted: "words".into(),
            condition: "words MATCH ?".into(),
            params,
            id: "words.rowid",
            in_order: true,
            words: true,
        }),
    }]
}

/// A phrase in the full-text table's language, in which a quoted text is nothing
/// but words.
fn phrase(term: &Term) -> Option<String> {
    let Test::Words { field, text, prefix } = &term.test else { return None };
    let column = field.map(|f| format!("{} : ", f.column())).unwrap_or_default();
    let words = text.replace('"', "\"\"").replace('\0', " ");
    Some(format!("{column}\"{words}\"{}", if *prefix { " *" } else { "" }))
}
