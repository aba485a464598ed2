//! Edits kept under the output folder, and the tables that were written.
//!
//! `.state/rolls/` holds each table as it was last written. A table is written in
//! steps: the table as it lies there becomes the copy, as its edits are taken in; the
//! new one is put beside it as `.next`; the table itself; the copy in place. A run that
//! is killed between them leaves a table that is one of the two copies to the byte, or,
//! once it is changed by hand, differs less from the one it was.

use std::collections::BTreeMap;
use std::fs;

use serde::{Deserialize, Serialize};

use crate::output::OutDir;

use super::{Changes, Edit, Edits, EditsError, Notice, find_changes};

const EDITS: &str = ".state/edits.json";
const VERSION: u32 = 1;

#[derive(Serialize, Deserialize)]
struct Kept {
    version: u32,
    edits: Vec<Edit>,
    /// Tables that were taken in as they lay, by their BLAKE3 hash: a run that was broken off before it wrote them anew
    /// leaves them so, and nothing of them is taken in twice.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    taken: BTreeMap<String, String>,
}

/// Reads the edits kept, adds those found in the tables, and keeps all of them.
/// To be called before anything is written.
///
/// # Errors
/// [`EditsError::Kept`] when the kept edits do not read; a failure to write.
pub fn gather(out: &OutDir) -> Result<Edits, EditsError> {
    let mut edits = kept(out)?;
    for table in tables(out) {
        let Some(on_disk) = out.read(&format!("rolls/{table}")) else { continue };
        let hash = blake3::hash(&on_disk).to_hex().to_string();
        if edits.taken.get(&table) == Some(&hash) {
            continue;
        }
        let mut changes = match changes_of(out, &table, &on_disk) {
            Ok(changes) => changes,
            Err(why) => {
                let text = format!("{why}; nothing was read from it");
                Changes {
                    notices: vec![Notice { place: format!("rolls/{table}"), text }],
                    leftovers: true,
                    ..Changes::default()
                }
            }
        };
        if changes.leftovers {
            edits.refused.push(format!("rolls/{table}"));
            changes.notices.push(keep_copy(out, &table, &on_disk)?);
        }
        edits.notices.append(&mut changes.notices);
        if !changes.edits.is_empty() || changes.leftovers {
            edits.taken.insert(table, hash);
        }
        edits.merge(changes.edits);
    }
    save(out, &edits)?;
    Ok(edits)
}

/// The edits kept and those not yet taken in, without writing anything.
///
/// # Errors
/// [`EditsError::Kept`] when the kept edits do not read.
pub fn list(out: &OutDir) -> Result<Edits, EditsError> {
    let mut edits = kept(out)?;
    for table in tables(out) {
        let on_disk = out.read(&format!("rolls/{table}"));
        let new = |bytes: &Vec<u8>| edits.taken.get(&table).is_none_or(|h| *h != *blake3::hash(bytes).to_hex());
        let changes = on_disk.filter(new).map(|on_disk| changes_of(out, &table, &on_disk));
        match changes {
            Some(Ok(changes)) => {
                edits.notices.extend(changes.notices);
                edits.merge(changes.edits);
            }
            Some(Err(why)) => edits.notices.push(Notice { place: format!("rolls/{table}"), text: why.to_string() }),
            None => {}
        }
    }
    Ok(edits)
}

/// Keeps the edits, with what the evidence says now.
///
/// # Errors
/// A failure to write.
pub fn save(out: &OutDir, edits: &Edits) -> Result<(), EditsError> {
    if edits.all.is_empty() && out.read(EDITS).is_none() {
        return Ok(());
    }
    let kept = Kept { version: VERSION, edits: edits.all.clone(), taken: edits.taken.clone() };
    let mut bytes = serde_json::to_vec_pretty(&kept).expect("edits have only text keys");
    bytes.push(b'\n');
    out.write(EDITS, &bytes)?;
    Ok(())
}

/// Writes the table `rolls/FILE`, whose edits were gathered, and remembers it.
/// A table that nobody remembers writing is copied to `kept/` first; the notice
/// says so.
///
/// # Errors
/// A failure to write.
pub fn write_table(out: &OutDir, file: &str, bytes: &[u8]) -> Result<Option<Notice>, EditsError> {
    let [table, copy, next] = names(file);
    let unknown = out.read(&copy).is_none() && out.read(&next).is_none();
    let notice = match out.read(&table) {
        Some(on_disk) if unknown && on_disk != bytes => Some(keep_copy(out, file, &on_disk)?),
        _ => None,
    };
    begin_table(out, file, bytes)?;
    out.write(&table, bytes)?;
    out.write(&copy, bytes)?;
    out.remove(&next)?;
    Ok(notice)
}

/// A table, its copy, and the copy of the one that is about to be written.
fn names(file: &str) -> [String; 3] {
    [format!("rolls/{file}"), format!(".state/rolls/{file}"), format!(".state/rolls/{file}.next")]
}

/// The steps before the table itself is written: as it lies there, its edits are taken in; the new one stands by.
pub(super) fn begin_table(out: &OutDir, file: &str, bytes: &[u8]) -> Result<(), EditsError> {
    let [table, copy, next] = names(file);
    if let (Some(on_disk), Some(_)) = (out.read(&table), out.read(&copy)) {
        out.write(&copy, &on_disk)?;
    }
    out.write(&next, bytes)?;
    Ok(())
}

fn kept(out: &OutDir) -> Result<Edits, EditsError> {
    let Some(bytes) = out.read(EDITS) else { return Ok(Edits::default()) };
    let fail = |why: String| EditsError::Kept { path: EDITS.into(), why };
    let kept: Kept = serde_json::from_slice(&bytes).map_err(|e| fail(e.to_string()))?;
    if kept.version == VERSION {
        Ok(Edits { all: kept.edits, taken: kept.taken, ..Edits::default() })
    } else {
        Err(fail(format!("is of version {}", kept.version)))
    }
}

/// Names of the tables that were written.
fn tables(out: &OutDir) -> Vec<String> {
    let copies = fs::read_dir(out.root().join(".state/rolls")).into_iter().flatten().flatten();
    let mut names: Vec<String> = copies
        .filter_map(|entry| entry.file_name().into_string().ok())
        .map(|name| name.strip_suffix(".next").map(str::to_owned).unwrap_or(name))
        .filter(|name| name.ends_with(".csv"))
        .collect();
    names.sort();
    names.dedup();
    names
}

/// What was changed in a table since a run wrote it.
fn changes_of(out: &OutDir, table: &str, on_disk: &[u8]) -> Result<Changes, crate::output::TableError> {
    let copy = out.read(&format!(".state/rolls/{table}"));
    let next = out.read(&format!(".state/rolls/{table}.next"));
    let found: Vec<Changes> =
        [copy, next].into_iter().flatten().map(|written| find_changes(&written, on_disk)).collect::<Result<_, _>>()?;
    Ok(found.into_iter().min_by_key(|c| c.edits.len() + c.notices.len()).unwrap_or_default())
}

/// Keeps a table as the photographer left it.
fn keep_copy(out: &OutDir, file: &str, bytes: &[u8]) -> Result<Notice, EditsError> {
    let stem = file.strip_suffix(".csv").unwrap_or(file);
    let kept = format!("kept/{stem}-{}.csv", &blake3::hash(bytes).to_hex()[..8]);
    out.write(&kept, bytes)?;
    Ok(Notice { place: format!("rolls/{file}"), text: format!("is kept as it was in {kept}") })
}
