//! `spooltalk kit add` and `spooltalk kit check`.

use std::io::Write as _;
use std::path::{Path, PathBuf};

use toml_edit::{ArrayOfTables, DocumentMut, Item};

use crate::cli::Exit;
use crate::cli::args::{KitAddArgs, KitCheckArgs, KitCommand};
use crate::cli::failure::Failure;
use crate::cli::places::Places;
use crate::cli::print;
use crate::cli::settle;
use crate::kit::{Kit, Missing};
use crate::language::{Language, reach};
use crate::output::OutDir;
use crate::output::words::{counted, in_kit};
use crate::pipeline::Settled;

/// Adds to a kit or looks it through.
pub fn kit(command: &KitCommand) -> Result<Exit, Failure> {
    match command {
        KitCommand::Add(args) => add(args),
        KitCommand::Check(args) => check(args),
    }
}

/// Writes what was heard and is not in the kit into it. Its comments and order stay as they are.
fn add(args: &KitAddArgs) -> Result<Exit, Failure> {
    let out = settle::results(&args.trip, args.out.as_deref())?;
    let out = OutDir::open(&out, &args.trip).map_err(Failure::nothing)?;
    let heard = Settled::kept(&out).map_err(Failure::nothing)?.missing;
    let wanted = |m: &&Missing| args.names.is_empty() || args.names.iter().any(|n| n.eq_ignore_ascii_case(&m.name));
    let missing: Vec<&Missing> = heard.iter().filter(wanted).collect();
    if let Some(name) = args.names.iter().find(|n| !heard.iter().any(|m| n.eq_ignore_ascii_case(&m.name))) {
        let all: Vec<String> = heard.iter().map(|m| format!("\"{}\"", m.name)).collect();
        let all = if all.is_empty() { "nothing".to_owned() } else { all.join(", ") };
        return Err(Failure::usage(format_args!("'{name}' was not heard, or is in the kit: there is {all}")));
    }
    if missing.is_empty() {
        return print::text("nothing was heard that is not in the kit\n");
    }
    let path = in_use(args.kit.as_deref(), &args.trip);
    let before = if path.is_file() { settle::kit_text(&path)? } else { String::new() };
    let (text, added) =
        with(&before, &missing).map_err(|why| Failure::usage(format_args!("{}: {why}", path.display())))?;
    write(&path, &text)?;
    let mut told = String::new();
    for m in &missing {
        let how = match (m.is_whole(), added.contains(&m.name)) {
            (_, false) => "is there already",
            (true, true) => "added; look at its figures",
            (false, true) => "added as a comment: fill in its figure and take the # away",
        };
        told += &format!("{m}: {how}\n");
    }
    print::text(&format!("{told}{} was written\n", path.display()))
}

/// The kit file that a trip is read with: the one asked for, the trip's, the user's own; a new one in the trip.
fn in_use(asked: Option<&Path>, trip: &Path) -> PathBuf {
    let own = trip.join("kit.toml");
    let users = Places::usual().kit().filter(|p| p.is_file());
    match asked {
        Some(path) => path.to_owned(),
        None if own.is_file() => own,
        None => users.unwrap_or(own),
    }
}

/// A kit's text with more things, and the names of those that were added.
fn with(text: &str, missing: &[&Missing]) -> Result<(String, Vec<String>), String> {
    let plain = text.strip_prefix('\u{FEFF}').unwrap_or(text);
    Kit::read(plain).map_err(|e| e.to_string())?;
    let mut document: DocumentMut = plain.parse().map_err(|e: toml_edit::TomlError| e.to_string())?;
    let mut comments = String::new();
    let mut added = Vec::new();
    for m in missing {
        let table = m.table();
        if !m.is_whole() {
            if !plain.contains(&table) {
                comments += &format!("\n{table}");
                added.push(m.name.clone());
            }
            continue;
        }
        let one: DocumentMut = table.parse().map_err(|e: toml_edit::TomlError| e.to_string())?;
        let kind = m.kind.as_str();
        let new = one.get(kind).and_then(Item::as_array_of_tables).and_then(|all| all.get(0)).cloned();
        let Some(mut new) = new else { continue };
        let there = document.entry(kind).or_insert_with(|| Item::ArrayOfTables(ArrayOfTables::new()));
        let Some(all) = there.as_array_of_tables_mut() else {
            return Err(format!("{kind} is written in one line: write each {kind} as [[{kind}]]"));
        };
        let named = |t: &toml_edit::Table| t.get("name").and_then(Item::as_str) == Some(m.name.as_str());
        if all.iter().any(named) {
            continue;
        }
        new.decor_mut().set_prefix("\n");
        new.set_position(None);
        all.push(new);
        added.push(m.name.clone());
    }
    let mut text = document.to_string();
    if !comments.is_empty() && !text.is_empty() && !text.ends_with('\n') {
        text.push('\n');
    }
    text += &comments;
    Kit::read(&text).map_err(|e| format!("could not be added to: {e}"))?;
    Ok((text, added))
}

/// Writes a kit, whole or not at all.
pub(super) fn write(path: &Path, text: &str) -> Result<(), Failure> {
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let written = std::fs::create_dir_all(folder).and_then(|()| {
        let mut file = tempfile::NamedTempFile::new_in(folder)?;
        if let Ok(there) = std::fs::metadata(path) {
            file.as_file().set_permissions(there.permissions())?;
        }
        file.write_all(text.as_bytes())?;
        file.persist(path).map_err(|e| e.error).map(drop)
    });
    written.map_err(|e| Failure::at(path, e))
}

/// Tells what is odd in a kit, double, or unreachable by voice.
fn check(args: &KitCheckArgs) -> Result<Exit, Failure> {
    let path = match &args.kit {
        Some(path) if path.is_dir() => path.join("kit.toml"),
        Some(path) => path.clone(),
        None => in_use(None, Path::new(".")),
    };
    if !path.is_file() {
        return Err(Failure::usage(format_args!("{}: no kit there: name a kit file or a trip", path.display())));
    }
    let text = settle::kit_text(&path)?;
    let plain = text.strip_prefix('\u{FEFF}').unwrap_or(&text);
    let (kit, mut cautions, called) =
        Kit::read_with_names(plain).map_err(|e| Failure::usage(format_args!("{}: {e}", path.display())))?;
    let things = in_kit(&kit);
    cautions.extend(reach(&Language::english(kit), &called));
    cautions.sort_by_key(|c| c.line);
    for caution in &cautions {
        print::text(&format!("{}: {caution}\n", path.display()))?;
    }
    let (verdict, exit) = match cautions.len() {
        0 => ("nothing is odd".to_owned(), Exit::Done),
        n => (format!("{} to look at", counted(n, "thing")), Exit::Partly),
    };
    print::text(&format!("{}: {verdict}\n", things))?;
    Ok(exit)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kit::ThingKind;

    fn missing(kind: ThingKind, name: &str, figure: Option<f64>) -> Missing {
        Missing { kind, name: name.to_owned(), times: 2, figure }
    }

    #[test]
    fn what_is_there_stays_to_the_byte() {
        let kit = "# My kit\n\n[[camera]]\nname = \"Quill\"   # the old one\nformat = \"6x6\"\n\n\
            # Glass\n[[filter]]\nname = \"green\"\nfactor = 4 # engraved\n\n[[film]]\nname = \"Bellbuoy\"\niso = 125\n";
        let yellow = missing(ThingKind::Filter, "yellow", None);
        let macro_lens = missing(ThingKind::Lens, "macro lens", None);
        let ninety = missing(ThingKind::Lens, "90", Some(90.0));
        let (text, added) = with(kit, &[&yellow, &macro_lens, &ninety]).unwrap();
        assert_eq!(added, ["yellow", "macro lens", "90"]);
        let read = Kit::parse(&text).unwrap();
        assert_eq!((read.filters.len(), read.lenses.len()), (2, 1));
        let mut rest = text.lines();
        for line in kit.lines() {
            assert!(rest.any(|l| l == line), "{line:?} is gone or out of order in\n{text}");
        }
        assert!(text.contains("# [[lens]]\n# name = \"macro lens\""), "{text}");
        // Said again, nothing is added twice.
        assert_eq!(with(&text, &[&yellow, &macro_lens]).unwrap(), (text, Vec::new()));
    }
}
