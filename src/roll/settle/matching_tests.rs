//! Rolls in words, matched.
//!
//! Notes are written as `7` (frame 7 was said), `-` (noted, no number said),
//! `x5` and `x` (wasted); pictures by their file names, blank ones with `!`.

use super::matching::{MatchSettings, match_roll};
use crate::exposure::Aperture;
use crate::facts::{Confidence, Field, Flag, FrameNumber, RollName, Settled, Source};
use crate::kit::Kit;
use crate::roll::record::{Frame, NotedFrame, NotedRoll, Roll, Status};
use crate::scans::{Scan, ScanFolder, names_say};

const KIT: &str = "[[camera]]\nname = \"box\"\nformat = \"6x4.5\"\nframes = 16\n";

fn notes(text: &str) -> NotedRoll {
    let frames = text.split_whitespace().enumerate().map(|(i, word)| {
        let wasted = word.starts_with('x');
        let said: Option<FrameNumber> = word.trim_start_matches(['x', '-']).parse().ok();
        let status = if wasted { Status::Wasted } else { Status::Ok };
        let number = said.unwrap_or(FrameNumber::new(i as u16 + 1));
        NotedFrame {
            frame: Frame::blank(number, status),
            said_numbers: said.map(|n| (n, 1.0)).into_iter().collect(),
            lost_before: false,
        }
    });
    NotedRoll {
        name: RollName::new("7").ok(),
        camera: Some("box".to_owned()),
        frames: frames.collect(),
        ..NotedRoll::default()
    }
}

fn folder(files: &[&str]) -> ScanFolder {
    let roll = RollName::new("R07").unwrap();
    let plain: Vec<&str> = files.iter().map(|f| f.trim_start_matches('!')).collect();
    let says = names_say(&plain, &roll, 16, false, &[]);
    let scans = says.into_iter().zip(files).map(|(s, f)| Scan {
        path: f.trim_start_matches('!').to_owned(),
        kind: s.kind,
        number: s.number,
        picture: s.picture,
        scanned: None,
        is_blank: f.starts_with('!'),
        film_code: None,
    });
    let mut scans: Vec<Scan> = scans.collect();
    scans.sort_by_key(|s| s.picture);
    ScanFolder { roll, scans }
}

fn matched(noted: NotedRoll, files: &[&str]) -> Roll {
    let kit = Kit::parse(KIT).unwrap();
    match_roll(Some(noted), Some(&folder(files)), None, &kit, &|_| None, &MatchSettings { unsure_below: 0.8 })
        .expect("nothing is lost")
}

/// `frame=scan` of every row; the status where it is not ok, the flags after `!`.
fn shown(roll: &Roll) -> String {
    let row = |f: &Frame| {
        let status = if f.status == Status::Ok { "" } else { &f.status.as_str()[..3] };
        let flags: Vec<String> = f.flags.iter().map(ToString::to_string).collect();
        let flags = if flags.is_empty() { String::new() } else { format!("!{}", flags.join(",")) };
        format!("{}={}{status}{flags}", f.number, f.scans.join("|"))
    };
    roll.frames.iter().map(row).collect::<Vec<_>>().join(" ")
}

fn numbered(range: impl Iterator<Item = u32>) -> Vec<String> {
    range.map(|i| format!("{i:03}.jpg")).collect()
}

fn strs(files: &[String]) -> Vec<&str> {
    files.iter().map(String::as_str).collect()
}

#[test]
fn said_numbers_and_scan_numbers_meet() {
    let files = numbered([1, 2, 3, 5, 6].into_iter());
    assert_eq!(
        shown(&matched(notes("1 2 4 5 6"), &strs(&files))),
        "1=001.jpg 2=002.jpg 3=003.jpgunn 4=uns 5=005.jpg 6=006.jpg"
    );
}

#[test]
fn nobody_counts_but_the_scanner() {
    let files: Vec<String> = (1..=6).map(|i| format!("img{i:03}A.jpg")).collect();
    // The wasted one may have been left out, and another not noted.
    assert_eq!(
        shown(&matched(notes("- - - x - -"), &strs(&files))),
        "1=img001A.jpg 2=img002A.jpg 3=img003A.jpg 4=img004A.jpgwas!guess:scan 5=img005A.jpg!guess:scan 6=img006A.jpg!guess:scan"
    );
    let files: Vec<String> = (1234..=1239).map(|i| format!("IMG_{i}.jpg")).collect();
    assert_eq!(
        shown(&matched(notes("- - - - - -"), &strs(&files))),
        "1=IMG_1234.jpg 2=IMG_1235.jpg 3=IMG_1236.jpg 4=IMG_1237.jpg 5=IMG_1238.jpg 6=IMG_1239.jpg"
    );
}

#[test]
fn a_reversed_strip_with_gaps_and_a_black_frame() {
    let files: Vec<String> = (1..=16)
        .filter(|i| ![5, 10].contains(i))
        .map(|i| format!("{}A4_{i:03}.jpg", if i == 12 { "!" } else { "" }))
        .collect();
    let want = "1=A4_016.jpg 2=A4_015.jpg 3=A4_014.jpg 4=A4_013.jpgunn 5=A4_012.jpgwas 6=A4_011.jpg 7=uns \
                8=A4_009.jpg 9=A4_008.jpgunn 10=A4_007.jpg 11=A4_006.jpg 12=uns 13=A4_004.jpgunn 14=A4_003.jpg \
                15=A4_002.jpg 16=A4_001.jpg";
    let mut noted = notes("1 2 3 x5 6 7 8 10 11 12 14 15 16");
    noted.scans_reversed = true;
    assert_eq!(shown(&matched(noted, &strs(&files))), want);
}

#[test]
fn a_scanner_that_skips_what_it_does_not_scan() {
    // Frames 3 and 7 were not scanned; the files count on.
    let files = numbered(1..=8);
    let roll = matched(notes("1 2 x3 4 5 6 x7 8 9 10"), &strs(&files));
    let links: Vec<String> = roll.frames.iter().map(|f| format!("{}={}", f.number, f.scans.join("|"))).collect();
    assert_eq!(
        links.join(" "),
        "1=001.jpg 2=002.jpg 3= 4=003.jpg 5=004.jpg 6=005.jpg 7= 8=006.jpg 9=007.jpg 10=008.jpg"
    );
    // Had the files been numbered as the film, 9 and 10 would be missing: the
    // middle is not sure.
    assert!(roll.frames[4].flags.contains(&Flag::GuessScan));
}

#[test]
fn a_wrong_number_does_not_pull_a_note_away() {
    let files = numbered(1..=8);
    assert_eq!(
        shown(&matched(notes("1 2 3 14 5 6 7 8"), &strs(&files))),
        "1=001.jpg 2=002.jpg 3=003.jpg 4=004.jpg!unsure:frame 5=005.jpg 6=006.jpg 7=007.jpg 8=008.jpg"
    );
}

#[test]
fn what_cannot_be_known_is_flagged() {
    // One of eight was not noted, and no number was said: which?
    let files = numbered(1..=8);
    let roll = matched(notes("- - - - - - -"), &strs(&files));
    assert_eq!(roll.frames.iter().filter(|f| f.status == Status::Unnoted).count(), 1);
    assert!(roll.frames.iter().filter(|f| f.flags.is_empty()).count() <= 3, "{}", shown(&roll));
}

#[test]
fn nothing_is_lost() {
    let files = ["001.jpg", "002.jpg", "harbour.jpg", "index.jpg", "003.tif", "003.jpg"];
    let roll = matched(notes("1 2 3 3 -"), &files);
    let mut scans: Vec<&str> = roll.frames.iter().flat_map(|f| &f.scans).map(String::as_str).collect();
    scans.sort_unstable();
    assert_eq!(scans, ["001.jpg", "002.jpg", "003.jpg", "003.tif", "harbour.jpg"]);
    assert_eq!(roll.other_scans, ["index.jpg"]);
    assert_eq!(roll.frames.iter().filter(|f| f.status != Status::Unnoted).count(), 5);
}

#[test]
fn evidence_alone_tells_a_reversed_roll() {
    let files = [
        "001.jpg", "002.jpg", "!003.jpg", "!004.jpg", "005.jpg", "006.jpg", "007.jpg", "008.jpg", "009.jpg", "010.jpg",
    ];
    let roll = matched(notes("1 2 3 4 5 6 x7 x8 9 10"), &files);
    let scan = |n: &str| roll.frames.iter().find(|f| f.number.to_string() == n).unwrap().scans.join("|");
    assert_eq!([scan("8"), scan("1"), scan("10")], ["003.jpg", "010.jpg", "001.jpg"], "{}", shown(&roll));
}

#[test]
fn a_note_too_many_does_not_push_the_others() {
    let files: Vec<String> = (1..=16).map(|i| format!("000123_{i:02}.jpg")).collect();
    let roll = matched(notes("1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16 -"), &strs(&files));
    let (said, stray) = roll.frames.split_at(16);
    for (frame, file) in said.iter().zip(&files) {
        assert_eq!(frame.scans, std::slice::from_ref(file), "{}", shown(&roll));
    }
    // Only beside it is there doubt.
    assert!(said[..14].iter().all(|f| f.flags.is_empty()), "{}", shown(&roll));
    assert_eq!((stray[0].status, stray[0].scans.len()), (Status::Unscanned, 0));
}

/// Numbers of this range, as words.
fn said(range: impl Iterator<Item = u32>) -> String {
    range.map(|n| n.to_string()).collect::<Vec<_>>().join(" ")
}

#[test]
fn far_more_scans_than_notes_take_none_away() {
    for (noted, scanned) in [(36, 440), (300, 700)] {
        let files = numbered(1..=scanned);
        let roll = matched(notes(&said(1..=noted)), &strs(&files));
        let linked = |f: &&Frame| f.scans == [format!("{:03}.jpg", f.number.place())];
        assert_eq!(roll.frames.len(), scanned as usize);
        assert_eq!(roll.frames.iter().filter(|f| f.status == Status::Ok).filter(linked).count(), noted as usize);
    }
}

fn exposed(mut noted: NotedRoll, apertures: &[f64]) -> NotedRoll {
    for (note, f) in noted.frames.iter_mut().zip(apertures) {
        note.frame.aperture = Some(Settled::from_one(Aperture::new(*f).unwrap(), Confidence::new(0.95), Source::Voice));
    }
    noted
}

fn doubted(roll: &Roll) -> Vec<bool> {
    roll.frames.iter().map(|f| f.flags.contains(&Flag::Unsure(Field::Aperture))).collect()
}

#[test]
fn scans_that_do_not_fit_the_count_put_what_hangs_on_it_in_doubt() {
    let stops = [8.0, 8.0, 8.0, 11.0, 16.0, 16.0, 16.0];
    let files = numbered(1..=6);
    let roll = matched(exposed(notes("- - - - - - -"), &stops), &strs(&files));
    // One note too many, anywhere: what is as on the frames around it stays, but for the one that has no scan.
    assert_eq!(doubted(&roll), [false, true, true, true, true, true, true]);
    assert!(roll.frames.iter().all(|f| f.flags.contains(&Flag::Unsure(Field::Frame))));
    // Numbers that were said hold.
    let roll = matched(exposed(notes("1 2 3 4 5 6 7"), &stops), &strs(&files));
    assert_eq!(doubted(&roll), [false; 7]);
    // The last frame of a roll is often shot off.
    let roll = matched(exposed(notes("- - - - -"), &stops), &strs(&files));
    assert_eq!(doubted(&roll), [false; 6]);
    // Three that nobody spoke of: the notes may be of another roll.
    let roll = matched(exposed(notes("- -"), &[8.0; 2]), &strs(&files));
    assert!(roll.frames.iter().zip(doubted(&roll)).all(|(f, doubted)| doubted == f.aperture.is_some()));
}

#[test]
fn frames_that_nobody_noted_are_likelier_at_the_end() {
    let files = numbered(1..=6);
    let roll = matched(notes("1 - - - -"), &strs(&files));
    let statuses: Vec<bool> = roll.frames.iter().map(|f| f.status == Status::Unnoted).collect();
    assert_eq!(statuses, [false, false, false, false, false, true]);
}
