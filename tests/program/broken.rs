//! A trip of broken files of every kind, made by `scripts/broken-corpus`: each is named, nothing else is lost.

use std::path::Path;
use std::process::{Command, Stdio};

use crate::builder::program;

#[test]
fn every_broken_file_of_every_kind_is_named() {
    let home = tempfile::tempdir().expect("a folder");
    let trip = home.path().join("trip");
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("scripts/broken-corpus");
    let made =
        Command::new("python3").arg(script).arg(&trip).stderr(Stdio::inherit()).output().expect("python3 starts");
    assert!(made.status.success());
    let broken = String::from_utf8(made.stdout).expect("text");
    assert!(broken.lines().count() > 200, "{broken}");
    for arguments in [&["ingest", "--check"][..], &["ingest"]] {
        let output = program(home.path()).args(arguments).arg(&trip).output().expect("the program starts");
        let said = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(1), "{said}");
        assert!(!said.contains("panicked") && !said.contains("a fault of this program"), "{said}");
        // A check reads no more of a picture than its header.
        let by_header = |name: &&str| {
            !arguments.contains(&"--check") || !name.starts_with("scans/") && !name.starts_with("rebate/")
        };
        // Names that are shown with escapes are known by their ends, which no two have.
        let told = |name: &str| match name.chars().all(|c| matches!(c, ' '..='~') && c != '\\') {
            true => said.contains(name),
            false => said.contains(name.rsplit(' ').next().unwrap_or(name)),
        };
        let unnamed: Vec<&str> = broken.lines().filter(by_header).filter(|name| !told(name)).collect();
        assert!(unnamed.is_empty(), "{arguments:?}: {unnamed:#?}\n{said}");
    }
    let tables = ["7", "R7"].map(|roll| std::fs::read_to_string(trip.join(format!("spooltalk/rolls/{roll}.csv"))));
    let table = tables.into_iter().flatten().next().expect("the sound roll's table");
    assert!(table.contains("R7/0001.png") && table.contains("1/60"), "{table}");
}
