//! Edits through whole runs: what is written, changed by hand, and written again.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use proptest::prelude::*;

use crate::exposure::{Aperture, ExposureIndex, Shutter};
use crate::facts::{Confidence, Field, Flag, FrameNumber, KnownBy, Moment, Position, RollName, Settled, Source, Taken};
use crate::kit::{Filters, Kit};
use crate::output::{OutDir, csv};
use crate::roll::{Frame, Quote, Roll, Status, Trip};

use super::*;

fn voice<T>(value: T) -> Settled<T> {
    Settled::from_one(value, Confidence::new(0.9), Source::Voice)
}

fn frame(number: FrameNumber, shutter: &str, aperture: f64) -> Frame {
    let mut f = Frame::blank(number, Status::Ok);
    f.shutter = Some(voice(shutter.parse::<Shutter>().unwrap()));
    f.aperture = Aperture::new(aperture).map(voice);
    f.ei = ExposureIndex::new(80).map(voice);
    f.film = Some(voice("Merrow Pan 100".into()));
    f.lens = Some(voice("007".into()));
    f.filter = Some(voice(Filters(vec!["orange".into()])));
    f.focal_mm = Some(voice(80.0));
    f.subject = Some(voice("the \"old\" slipway, low water".into()));
    f.taken = Some(Taken {
        local: jiff::civil::date(2025, 6, 8).at(9, 15, 2, 0),
        offset_s: Some(3600),
        known_by: KnownBy::Container,
    });
    f.position = Position::new(54.123_456, -9.2);
    f.scans = vec![format!("roll-07/{number}.tif")];
    let at = Moment { clip: "0001.m4a".into(), at_s: 1.5, end_s: 4.0 };
    f.said = vec![Quote::new(format!("frame {number}, {shutter} at {aperture}"), at)];
    f
}

fn trip() -> Trip {
    let n = FrameNumber::new;
    let mut frames = vec![
        frame(FrameNumber::DOUBLE_ZERO, "1/15", 2.8),
        frame(n(0), "1/30", 5.6),
        frame(n(1), "1/125", 5.6),
        frame(n(2), "1/60", 8.0),
        frame(n(12).with_a(), "B 45s", 16.0),
    ];
    frames[3].flag(Flag::Unsure(Field::Shutter), "1/60 or 1/50");
    let roll = Roll {
        film: Some("Merrow Pan 100".into()),
        ei: ExposureIndex::new(80),
        capacity: Some(12),
        frames,
        other_scans: vec!["roll-07/index.tif".into()],
        ..Roll::blank(RollName::new("007").unwrap())
    };
    Trip { name: "Low Water".into(), rolls: vec![roll] }
}

fn kit() -> Kit {
    Kit::parse(
        "[[film]]\nname = \"Gull 400\"\niso = 400\n[[filter]]\nname = \"Deep Green\"\nstops = 2.5\n\
         [[lens]]\nname = \"long one\"\nfocal_mm = 150\n",
    )
    .unwrap()
}

/// An output folder, and runs over it.
struct Runs {
    dir: tempfile::TempDir,
}

impl Runs {
    fn new() -> Self {
        Self { dir: tempfile::tempdir().unwrap() }
    }

    fn out(&self) -> OutDir {
        OutDir::open(&self.dir.path().join("out"), self.dir.path()).unwrap()
    }

    fn table(&self) -> PathBuf {
        self.dir.path().join("out/rolls/007.csv")
    }

    fn text(&self) -> String {
        fs::read_to_string(self.table()).unwrap()
    }

    /// A run in which the evidence says `trip`.
    fn run(&self, mut trip: Trip) -> (Trip, Vec<String>) {
        let out = self.out();
        let mut edits = gather(&out).unwrap();
        let mut notices = edits.apply(&mut trip, &kit(), 0.8);
        notices.append(&mut edits.notices);
        for roll in &trip.rolls {
            notices.extend(write_table(&out, "007.csv", &csv::write(roll)).unwrap());
        }
        save(&out, &edits).unwrap();
        (trip, notices.iter().map(ToString::to_string).collect())
    }

    fn replace(&self, from: &str, to: &str) {
        let text = self.text();
        assert_eq!(text.matches(from).count(), 1, "{from} in {text}");
        fs::write(self.table(), text.replace(from, to)).unwrap();
    }

    fn edits(&self) -> Vec<String> {
        list(&self.out()).unwrap().all.iter().map(ToString::to_string).collect()
    }
}

fn of(trip: &Trip, number: &str) -> Frame {
    let number = number.parse().unwrap();
    trip.rolls[0].frames.iter().find(|f| f.number == number).unwrap().clone()
}

#[test]
fn an_edit_survives_five_more_runs() {
    let runs = Runs::new();
    runs.run(trip());
    runs.replace("B 45s,45", "B 90s,45");
    runs.replace("007,12A,ok", "007,12A,wasted");
    let first = runs.run(trip()).0;
    for _ in 0..5 {
        let (again, notices) = runs.run(trip());
        assert_eq!(again, first);
        assert_eq!(notices, [] as [&str; 0]);
    }
    let f = of(&first, "12A");
    let shutter = f.shutter.unwrap();
    assert_eq!((shutter.value, &shutter.sources[..]), (Shutter::bulb(90.0), &[Source::Edit][..]));
    assert_eq!(shutter.others[0].value, Shutter::bulb(45.0));
    assert_eq!(f.status, Status::Wasted);
    assert!(runs.text().contains("B 90s,90,"), "{}", runs.text());
    assert_eq!(
        runs.edits(),
        ["roll 007 frame 12A: status 'ok' -> 'wasted'", "roll 007 frame 12A: shutter 'B 45s' -> 'B 90s'"]
    );
}

#[test]
fn new_evidence_that_disagrees_is_flagged_until_it_is_seen() {
    let runs = Runs::new();
    runs.run(trip());
    runs.replace("1/125,", "1/250,");
    assert_eq!(of(&runs.run(trip()).0, "1").flags, []);
    let mut other = trip();
    other.rolls[0].frames[2].shutter = Some(voice(Shutter::fraction(30)));
    let conflict = Flag::Conflict(Field::Shutter);
    for _ in 0..2 {
        let f = of(&runs.run(other.clone()).0, "1");
        assert_eq!((f.shutter.unwrap().value, &f.flags[..]), (Shutter::fraction(250), &[conflict][..]));
        assert!(f.reasons[0].1.contains("from 1/125 to 1/250; the evidence now says 1/30"), "{:?}", f.reasons);
    }
    // Taken away by hand: seen, the edit stands, until the evidence moves once more.
    runs.replace("conflict:shutter", "");
    for _ in 0..2 {
        let f = of(&runs.run(other.clone()).0, "1");
        assert_eq!((f.shutter.unwrap().value, &f.flags[..]), (Shutter::fraction(250), &[][..]));
    }
    other.rolls[0].frames[2].shutter = Some(voice(Shutter::fraction(500)));
    assert_eq!(of(&runs.run(other.clone()).0, "1").flags, [conflict]);
    // Evidence that comes round to the edit is no conflict.
    other.rolls[0].frames[2].shutter = Some(voice(Shutter::fraction(250)));
    assert_eq!(of(&runs.run(other).0, "1").flags, []);
}

/// Killed between the steps of a table, once an edit and a new frame weigh alike.
#[test]
fn a_run_killed_before_the_table_tells_nothing_that_is_not_so() {
    let runs = Runs::new();
    runs.run(trip());
    runs.replace("1/125,", "1/250,");
    let mut more = trip();
    more.rolls[0].frames.insert(4, frame(FrameNumber::new(3), "1/60", 11.0));
    {
        let (out, mut killed) = (runs.out(), more.clone());
        let mut edits = gather(&out).unwrap();
        edits.apply(&mut killed, &kit(), 0.8);
        save(&out, &edits).unwrap();
        state::begin_table(&out, "007.csv", &csv::write(&killed.rolls[0])).unwrap();
    }
    let (after, notices) = runs.run(more);
    assert_eq!(notices, [] as [&str; 0]);
    assert_eq!(of(&after, "1").shutter.unwrap().value, Shutter::fraction(250));
    assert_eq!(runs.edits(), ["roll 007 frame 1: shutter '1/125' -> '1/250'"]);
}

#[test]
fn set_back_to_the_evidence_it_is_an_edit_no_more() {
    let runs = Runs::new();
    runs.run(trip());
    runs.replace("1/125,", "1/250,");
    runs.run(trip());
    runs.replace("1/250,", "1/125,");
    let (after, _) = runs.run(trip());
    assert_eq!(of(&after, "1").shutter.unwrap().sources, [Source::Voice]);
    assert_eq!(runs.edits(), [] as [&str; 0]);
}

#[test]
fn a_flag_taken_away_stays_away_while_its_value_stands() {
    let runs = Runs::new();
    runs.run(trip());
    runs.replace("unsure:shutter", "");
    for _ in 0..3 {
        assert_eq!(of(&runs.run(trip()).0, "2").flags, []);
    }
    let mut other = trip();
    other.rolls[0].frames[3].shutter = Some(voice(Shutter::fraction(50)));
    assert_eq!(of(&runs.run(other).0, "2").flags, [Flag::Unsure(Field::Shutter)]);
}

#[test]
fn what_is_cleared_is_unknown_and_what_is_added_lives_on() {
    let runs = Runs::new();
    runs.run(trip());
    let mut lines: Vec<String> = runs.text().lines().map(str::to_owned).collect();
    lines[0].push_str(",Rating,remark");
    lines[3].push_str(",4,\"print, large\"");
    lines[4] = lines[4].replacen(",8,orange,", ",,orange,", 1);
    lines.push("007,20,wasted,,,,,,,,,1/8".into());
    fs::write(runs.table(), lines.join("\n")).unwrap();
    for _ in 0..3 {
        let (after, notices) = runs.run(trip());
        assert_eq!(notices, [] as [&str; 0]);
        let (one, two, new) = (of(&after, "1"), of(&after, "2"), of(&after, "20"));
        assert_eq!((one.rating, one.remark.as_deref()), (Some(4), Some("print, large")));
        assert_eq!(two.aperture, None);
        assert_eq!((new.status, new.shutter.unwrap().value), (Status::Wasted, Shutter::fraction(8)));
        assert_eq!(after.rolls[0].frames.len(), 6);
    }
}

#[test]
fn the_kit_follows_an_edit() {
    let runs = Runs::new();
    runs.run(trip());
    runs.replace("B 45s,45,16,orange", "B 45s,45,16,deep green");
    let text = runs.text().replace("Merrow Pan 100", "gull 400").replacen("007,gull", "LONG ONE,gull", 1);
    fs::write(runs.table(), text).unwrap();
    let (after, _) = runs.run(trip());
    let f = of(&after, "12A");
    assert_eq!((f.filter.unwrap().value.to_string().as_str(), f.filter_stops.unwrap().get()), ("Deep Green", 2.5));
    assert_eq!((f.film.unwrap().value.as_str(), f.box_iso.unwrap().get()), ("Gull 400", 400));
    assert!(f.flags.contains(&Flag::Unsure(Field::Ei)));
    assert_eq!(after.rolls[0].film.as_deref(), Some("Gull 400"));
    let long = of(&after, "00");
    assert_eq!((long.lens.unwrap().value.as_str(), long.focal_mm.unwrap().value), ("long one", 150.0));
}

#[test]
fn a_scan_given_by_hand_is_no_other_frames() {
    let runs = Runs::new();
    runs.run(trip());
    runs.replace("roll-07/1.tif", "roll-07/2.tif");
    let (after, _) = runs.run(trip());
    let (one, two) = (of(&after, "1"), of(&after, "2"));
    assert_eq!((&one.scans[..], one.status), (&["roll-07/2.tif".to_owned()][..], Status::Ok));
    assert_eq!((&two.scans[..], two.status), (&[][..], Status::Unscanned));
    assert!(two.flags.contains(&Flag::Unsure(Field::Scan)));
    runs.replace("roll-07/12A.tif", "roll-07/none.tif");
    let (_, notices) = runs.run(trip());
    assert!(notices[0].contains("cannot be used here"), "{notices:?}");
}

#[test]
fn what_cannot_be_taken_is_said_and_kept() {
    let runs = Runs::new();
    runs.run(trip());
    let text = runs
        .text()
        .replace("at_s\r\n", "at_s,print\r\n")
        .replacen("B 45s", "long", 1)
        .replace(",1.5\r\n", ",1.5,yes\r\n");
    fs::write(runs.table(), &text).unwrap();
    let (_, notices) = runs.run(trip());
    let all = notices.join("\n");
    for part in
        ["column 'print' is not known", "shutter 'long' is no shutter setting", "is kept as it was in kept/007-"]
    {
        assert!(all.contains(part), "{part}: {all}");
    }
    let kept = fs::read_dir(runs.dir.path().join("out/kept")).unwrap().next().unwrap().unwrap().path();
    assert_eq!(fs::read_to_string(kept).unwrap(), text);
    fs::write(runs.table(), "no table at all").unwrap();
    let (_, notices) = runs.run(trip());
    assert!(notices[0].contains("no column named 'frame'"), "{notices:?}");
    assert_eq!(fs::read_dir(runs.dir.path().join("out/kept")).unwrap().count(), 2);
    fs::remove_dir_all(runs.dir.path().join("out/.state")).unwrap();
    fs::write(runs.table(), "frame,remark\n1,mine").unwrap();
    assert!(runs.run(trip()).1.join("\n").contains("is kept as it was"));
}

#[test]
fn kept_edits_that_do_not_read_stop_the_run() {
    let runs = Runs::new();
    runs.run(trip());
    runs.replace("1/125,", "1/250,");
    runs.run(trip());
    fs::write(runs.dir.path().join("out/.state/edits.json"), "{").unwrap();
    let why = gather(&runs.out()).unwrap_err();
    assert!(matches!(why, EditsError::Kept { .. }), "{why}");
}

#[test]
fn a_run_broken_off_between_copy_and_table_makes_no_edits() {
    let mut other = trip();
    other.rolls[0].frames[3].shutter = Some(voice(Shutter::fraction(500)));
    let bytes = csv::write(&other.rolls[0]);
    for table_written in [false, true] {
        let runs = Runs::new();
        runs.run(trip());
        runs.out().write(".state/rolls/007.csv.next", &bytes).unwrap();
        if table_written {
            runs.out().write("rolls/007.csv", &bytes).unwrap();
        }
        assert_eq!(runs.edits(), [] as [&str; 0]);
        runs.replace("1/125,", "1/250,");
        assert_eq!(runs.edits(), ["roll 007 frame 1: shutter '1/125' -> '1/250'"]);
    }
}

#[test]
fn rows_and_columns_may_stand_anywhere() {
    let written = csv::write(&trip().rolls[0]);
    let rows = csv::read(&written).unwrap();
    let mut columns: Vec<&str> = rows[0].iter().map(|(c, _)| c).collect();
    columns.reverse();
    let mut text = format!("\u{feff}{}\r\n", columns.join(";"));
    for row in rows.iter().rev() {
        // `00` comes back as `0`, commas and quotes as the spreadsheet likes.
        let cell = |c: &&str| match (row.get(c).unwrap(), *c) {
            ("00", "frame") => "0".to_owned(),
            ("007", _) => "7".to_owned(),
            ("1/15", _) => "15. Jan".to_owned(),
            ("5.6", _) => "5,6".to_owned(),
            ("54.123456", _) => "54,123456".to_owned(),
            (cell, _) => format!("\"{}\"", cell.replace('"', "\"\"")),
        };
        text += &format!("{}\r\n", columns.iter().map(cell).collect::<Vec<_>>().join(";"));
    }
    let changes = find_changes(&written, text.as_bytes()).unwrap();
    assert_eq!(changes.edits, []);
    assert!(!changes.leftovers);
    assert_eq!(changes.notices.len(), 1, "{:?}", changes.notices);
    assert!(changes.notices[0].text.contains("1 cells came back as dates"), "{:?}", changes.notices);
}

#[test]
fn a_changed_number_is_taken_and_a_lost_row_is_said() {
    let runs = Runs::new();
    runs.run(trip());
    runs.replace("007,2,ok", "007,3,ok");
    for _ in 0..2 {
        let (after, notices) = runs.run(trip());
        assert_eq!(notices, [] as [&str; 0]);
        let numbers: Vec<String> = after.rolls[0].frames.iter().map(|f| f.number.to_string()).collect();
        assert_eq!(numbers, ["00", "0", "1", "3", "12A"]);
        assert_eq!(of(&after, "3").said[0].text, "frame 2, 1/60 at 8");
    }
    assert_eq!(runs.edits(), ["roll 007 frame 2: frame '2' -> '3'"]);
    // A cell of it is known by the number that stands, and back is back.
    runs.replace("roll-07/2.tif", "");
    runs.run(trip());
    assert_eq!(runs.edits().len(), 2);
    runs.replace("007,3,", "007,2,");
    let (after, _) = runs.run(trip());
    assert_eq!(of(&after, "2").scans, [] as [&str; 0]);
    assert_eq!(runs.edits(), ["roll 007 frame 2: scan 'roll-07/2.tif' -> nothing"]);

    let written = csv::write(&trip().rolls[0]);
    let text = String::from_utf8(written.clone()).unwrap();
    let changes = find_changes(&written, text.replacen("007,2,ok", "007,1,ok", 1).as_bytes()).unwrap();
    assert_eq!(changes.edits, []);
    assert!(changes.leftovers && changes.notices[0].to_string().contains("changed to 1, which another row has"));
    let without: Vec<&str> = text.lines().filter(|l| !l.starts_with("007,2,")).collect();
    let changes = find_changes(&written, without.join("\n").as_bytes()).unwrap();
    assert_eq!(changes.edits, []);
    assert!(changes.notices[0].to_string().contains("its row was taken out"));
}

#[test]
fn numbers_may_change_places_and_are_taken_once() {
    let runs = Runs::new();
    runs.run(trip());
    runs.replace("007,1,ok", "007,9,ok");
    runs.replace("007,2,ok", "007,1,ok");
    runs.replace("007,9,ok", "007,2,ok");
    // A run that was broken off before it wrote the tables finds them once more.
    for _ in 0..3 {
        gather(&runs.out()).unwrap();
    }
    let (after, notices) = runs.run(trip());
    assert_eq!(notices, [] as [&str; 0]);
    assert_eq!(
        (of(&after, "1").said[0].text.as_str(), of(&after, "2").said[0].text.as_str()),
        ("frame 2, 1/60 at 8", "frame 1, 1/125 at 5.6")
    );
}

#[test]
fn a_flag_taken_away_comes_back_with_another_reading() {
    let runs = Runs::new();
    runs.run(trip());
    runs.replace("unsure:shutter", "");
    assert_eq!(of(&runs.run(trip()).0, "2").flags, []);
    let mut other = trip();
    let heard = crate::facts::Reading::new(Shutter::fraction(15), Confidence::new(0.4), Source::Rebate);
    other.rolls[0].frames[3].shutter.as_mut().unwrap().others.push(heard);
    assert_eq!(of(&runs.run(other).0, "2").flags, [Flag::Unsure(Field::Shutter)]);
}

/// Saves the table from LibreOffice Calc the way it was opened, cells as shown.
fn through_calc(soffice: &Path, table: &Path, dir: &Path) -> Vec<u8> {
    let profile = format!("-env:UserInstallation=file://{}", dir.join("profile").display());
    let convert = |file: &Path, filter: &str, to: &str| {
        let out = dir.join(to);
        let status = Command::new(soffice)
            .args([&profile, "--headless", "--norestore", "--convert-to", filter, "--outdir"])
            .arg(&out)
            .arg(file)
            .output()
            .unwrap();
        assert!(status.status.success(), "{status:?}");
        out
    };
    // The 9th token is "detect special numbers": dates are made of what looks like one.
    let sheet = dir.join("sheet");
    let status = Command::new(soffice)
        .args([
            &profile,
            "--headless",
            "--norestore",
            "--infilter=Text - txt - csv (StarCalc):44,34,76,1,,1033,false,true",
        ])
        .args(["--convert-to", "ods", "--outdir"])
        .arg(&sheet)
        .arg(table)
        .output()
        .unwrap();
    assert!(status.status.success(), "{status:?}");
    let ods = sheet.join(table.with_extension("ods").file_name().unwrap());
    let back = convert(&ods, "csv:Text - txt - csv (StarCalc):59,34,76,1,,0,false,true,false", "back");
    fs::read(back.join(table.file_name().unwrap())).unwrap()
}

#[test]
fn a_table_comes_back_from_calc_unharmed() {
    let path = std::env::var_os("PATH").unwrap_or_default();
    let Some(soffice) = std::env::split_paths(&path).map(|p| p.join("soffice")).find(|p| p.is_file()) else {
        eprintln!("SKIPPED: LibreOffice Calc (soffice) is not installed; the spreadsheet round trip was not tested");
        return;
    };
    let runs = Runs::new();
    runs.run(trip());
    let written = fs::read(runs.table()).unwrap();
    let dir = tempfile::tempdir().unwrap();
    let back = through_calc(&soffice, &runs.table(), dir.path());
    let text = String::from_utf8(back.clone()).unwrap();
    assert!(!text.contains(",ok,") && text.contains(";ok;"), "{text}");
    let changes = find_changes(&written, &back).unwrap();
    assert_eq!(changes.edits, [], "{text}");
    assert!(!changes.leftovers, "{:?}\n{text}", changes.notices);
    // And with an edit made there.
    fs::write(runs.table(), text.replacen("B 45s", "B 90s", 1).replacen("slipway", "SLIPWAY", 1)).unwrap();
    let (after, _) = runs.run(trip());
    assert_eq!(of(&after, "12A").shutter.unwrap().value, Shutter::bulb(90.0));
    assert_eq!(runs.edits().len(), 2, "{:?}", runs.edits());
    let text = runs.text();
    assert_eq!(text.matches("SLIPWAY").count(), 1, "{text}");
}

/// A value of a column, and the forms that a spreadsheet may give it.
fn dressed() -> impl Strategy<Value = (Column, String, String)> {
    let fraction = prop::sample::select(vec![2u32, 4, 8, 15, 30, 60, 125, 250, 500, 1000]);
    let shutter = (fraction, 0..4).prop_map(|(n, form)| {
        let plain = format!("1/{n}");
        let cell = match form {
            0 => plain.clone(),
            1 => format!("{:.6}", 1.0 / f64::from(n)),
            2 if n <= 31 => format!("{n:02}-Jan"),
            3 if (30..100).contains(&n) => format!("Jan-{n}"),
            _ => format!(" {plain} s"),
        };
        (Column::Shutter, plain, cell)
    });
    let stop = prop::sample::select(vec![1.4, 2.8, 3.5, 4.0, 5.6, 6.7, 8.0, 9.5, 11.0, 16.0, 22.0]);
    let aperture = (stop, 0..5).prop_map(|(n, form)| {
        let plain = Aperture::new(n).unwrap().to_string();
        let date = plain.split_once('.').map(|(d, m)| format!("{:0>2}.{:0>2}.2025", d, m));
        let cell = match form {
            0 => plain.clone(),
            1 => plain.replace('.', ","),
            2 => format!("{n:.2}"),
            3 => format!("f/{plain}"),
            _ => date.unwrap_or_else(|| plain.clone()),
        };
        (Column::Aperture, plain, cell)
    });
    let remark = "[a-z][a-z ,;\"']{0,20}[a-z]".prop_map(|t: String| {
        let t = t.split_whitespace().collect::<Vec<_>>().join(" ");
        (Column::Remark, t.clone(), t)
    });
    let rating = (1..=5u8).prop_map(|n| (Column::Rating, n.to_string(), format!("{n}.0")));
    prop_oneof![shutter, aperture, remark, rating]
}

proptest! {
    /// What is typed into a cell, in any dress, is found as that and nothing else is.
    #[test]
    fn edits_in_any_dress_are_found(row in 0usize..5, (column, now, cell) in dressed()) {
        let trip = trip();
        let written = csv::write(&trip.rolls[0]);
        let rows = csv::read(&written).unwrap();
        let mut header: Vec<&str> = rows[0].iter().map(|(c, _)| c).collect();
        header.extend(["rating", "remark"]);
        let mut writer = ::csv::WriterBuilder::new().delimiter(b';').from_writer(Vec::new());
        writer.write_record(&header).unwrap();
        for (i, r) in rows.iter().enumerate() {
            let edited = |c: &&str| if i == row && *c == column.as_str() { cell.clone() } else { r.get(c).unwrap_or("").to_owned() };
            writer.write_record(header.iter().map(edited)).unwrap();
        }
        let changes = find_changes(&written, &writer.into_inner().unwrap()).unwrap();
        let was = rows[row].get(column.as_str()).unwrap_or("");
        let found: Vec<_> = changes.edits.iter().map(|e| (e.frame, e.column, e.now.as_str())).collect();
        if was == now {
            prop_assert_eq!(found, vec![]);
        } else {
            prop_assert_eq!(found, vec![(trip.rolls[0].frames[row].number, column, now.as_str())]);
        }
    }
}
