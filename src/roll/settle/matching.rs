//! One roll from everything that is known of it: notes, scans, edge prints.

use crate::facts::{Confidence, Field, Flag, FrameNumber, RollName, Settled, Source};
use crate::kit::Kit;
use crate::rebate::RebateRoll;
use crate::scans::{Picture, ScanFolder};

use super::readings::Judge;
use super::review::review;
use super::timeline::{ClipFacts, place_in_time};
use super::{edge_film, on_lens};
use crate::roll::film::{Evidence, Place, Unaccounted, account, misfit, solve};
use crate::roll::record::{EdgeRead, Frame, NotedFrame, NotedRoll, Roll, Status};

/// How sure a row without words is of its roll's camera and film: one roll is seldom in two cameras.
const OF_ROLL: f64 = 0.95;

/// Links less sure than this are flagged in any case: nearly all are surer, and
/// a wrong one takes its neighbours along. Chosen by the simulator's table in
/// `DEVELOPERS.md`.
const GUESS_BELOW: f64 = 0.975;

/// What the user set.
#[derive(Debug, Clone, PartialEq)]
pub struct MatchSettings {
    /// Confidence below which a value, or a link to a scan, is flagged.
    pub unsure_below: f64,
}

/// Lays notes, scans and edge prints of one roll on the film and settles each
/// frame. At least one of the three should be there. Nothing is dropped: every
/// note, every scan and every print stands in the roll. `clock` tells when and
/// where a clip was recorded, by its path relative to `notes/`.
///
/// # Errors
/// [`Unaccounted`] when something of it was dropped all the same.
pub fn match_roll(
    noted: Option<NotedRoll>,
    scans: Option<&ScanFolder>,
    rebate: Option<&RebateRoll>,
    kit: &Kit,
    clock: &dyn Fn(&str) -> Option<ClipFacts>,
    settings: &MatchSettings,
) -> Result<Roll, Unaccounted> {
    let name = noted
        .as_ref()
        .and_then(|n| n.name.clone())
        .or_else(|| scans.map(|s| s.roll.clone()))
        .or_else(|| rebate.map(|r| r.roll.clone()))
        .unwrap_or_else(|| RollName::new("unnamed").expect("letters"));
    let noted = noted.unwrap_or_default();
    let camera = noted.camera.clone().or_else(|| match &kit.cameras[..] {
        [only] => Some(only.name.clone()),
        _ => None,
    });
    let capacity = camera.as_deref().and_then(|c| kit.camera(c)).map(|c| c.frames);
    let pictures = scans.map(ScanFolder::pictures).unwrap_or_default();
    let first = kit.habits.frame_counts_from;
    let evidence = Evidence::new(&noted.frames, &pictures, rebate, first, capacity, noted.scans_reversed);
    let mut frames = if pictures.is_empty() && rebate.is_none_or(|r| r.frames.is_empty()) {
        noted.frames.iter().map(|n| without_scan(n.frame.clone())).collect()
    } else {
        let places = solve(&evidence);
        account::of_places(&name, &evidence, &places)?;
        rows(&evidence, &places, &noted, camera.as_deref(), kit, settings)
    };
    account::of_scans(&name, pictures.iter().map(|p| p.paths.len()).sum(), &frames)?;
    let edge_code = scans.and_then(ScanFolder::film_code);
    if let Some(code) = edge_code {
        edge_film::compare(&mut frames, kit, code);
    }
    place_in_time(&mut frames, kit, clock);
    for frame in &mut frames {
        on_lens::fit(frame, kit);
        review(frame, kit, settings.unsure_below);
    }
    let held = |get: fn(&Frame) -> Option<String>| frames.iter().find_map(get);
    Ok(Roll {
        name,
        film: noted
            .film
            .clone()
            .or_else(|| held(|f| f.film.as_ref().map(|s| s.value.clone())))
            .or_else(|| edge_code.and_then(|code| edge_film::film_of_code(kit, code)).map(str::to_owned)),
        ei: frames.iter().find_map(|f| f.ei.as_ref().map(|s| s.value)),
        process: held(|f| f.process.as_ref().map(|s| s.value.clone())),
        camera,
        capacity,
        frames,
        other_scans: scans.map(ScanFolder::other_files).unwrap_or_default(),
        remarks: noted.remarks,
        developed: noted.developed,
    })
}

fn without_scan(mut frame: Frame) -> Frame {
    if frame.status == Status::Ok {
        frame.status = Status::Unscanned;
    }
    frame
}

/// The frames of the roll in film order.
fn rows(
    e: &Evidence<'_>,
    places: &[Place],
    noted: &NotedRoll,
    camera: Option<&str>,
    kit: &Kit,
    settings: &MatchSettings,
) -> Vec<Frame> {
    let judge = Judge { kit, unsure_below: settings.unsure_below };
    let mut frames: Vec<Frame> = Vec::with_capacity(places.len());
    for (at, place) in places.iter().enumerate() {
        let mut frame = match place.note {
            Some(i) => said_frame(&e.notes[i], place, settings),
            None => unsaid_frame(e, places, at, noted, camera),
        };
        if let Some(j) = place.picture {
            show(&mut frame, &e.pictures[j]);
        } else if place.note.is_some() {
            frame = without_scan(frame);
        }
        frame.scan_confidence = if e.pictures.is_empty() { 1.0 } else { place.scan_sure };
        // A row without a note says nothing that could be wrong.
        let least = if place.note.is_some() { settings.unsure_below.max(GUESS_BELOW) } else { settings.unsure_below };
        if place.stray || frame.scan_confidence < least {
            let why = match (place.note, place.picture) {
                _ if place.stray => "the film has no frame left for this note",
                (Some(_), Some(_)) => "the note and the scan may not belong together",
                (Some(_), None) => "a scan of this frame may stand elsewhere",
                (None, _) => "one of the notes may be of this frame",
            };
            frame.flag(Flag::GuessScan, format!("{why} ({:.0} % sure)", frame.scan_confidence * 100.0));
        }
        if let Some(j) = place.imprint {
            judge.reconcile(&mut frame, &e.imprints[j], place.print_sure);
            let print = &e.imprints[j];
            frame.edge = Some(EdgeRead { raw: print.raw.clone(), image: print.image.clone() });
        }
        frames.push(frame);
    }
    misfit::flag_count(&mut frames, places, e.notes);
    frames
}

fn show(frame: &mut Frame, picture: &Picture) {
    frame.scans = picture.paths.clone();
}

fn said_frame(note: &NotedFrame, place: &Place, settings: &MatchSettings) -> Frame {
    let mut frame = note.frame.clone();
    frame.number = place.number;
    frame.number_confidence = place.number_sure;
    if frame.status != Status::Wasted {
        frame.status = Status::Ok;
    }
    let heard = |n: FrameNumber| note.said_numbers.is_empty() || note.said_numbers.iter().any(|(m, _)| *m == n);
    if !heard(place.number) {
        let said: Vec<String> = note.said_numbers.iter().map(|(n, _)| n.to_string()).collect();
        let why = format!("said to be frame {}, but it lies at {}", said.join(" or "), place.number);
        frame.flag(Flag::Unsure(Field::Frame), why);
    } else if place.number_sure < settings.unsure_below {
        frame.flag(Flag::Unsure(Field::Frame), format!("its number is {:.0} % sure", place.number_sure * 100.0));
    }
    frame
}

/// A frame that nobody noted: what holds for the whole roll, and for the EI
/// and the process what held for the frame before it.
fn unsaid_frame(e: &Evidence<'_>, places: &[Place], at: usize, noted: &NotedRoll, camera: Option<&str>) -> Frame {
    let mut frame = Frame::blank(places[at].number, Status::Unnoted);
    frame.number_confidence = places[at].number_sure;
    let noted_at = |p: &Place| p.note.map(|i| &e.notes[i].frame);
    let nearest = places[..at].iter().rev().find_map(noted_at).or_else(|| places[at + 1..].iter().find_map(noted_at));
    if let Some(near) = nearest {
        frame.camera = near.camera.clone();
        frame.film = near.film.clone();
        frame.box_iso = near.box_iso;
        frame.ei = near.ei.clone();
        frame.process = near.process.clone();
    }
    let of_roll = |name: &str| Settled::from_one(name.to_owned(), Confidence::new(OF_ROLL), Source::Voice);
    frame.camera = frame.camera.or_else(|| noted.camera.as_deref().map(of_roll)).or_else(|| camera.map(of_kit));
    frame.film = frame.film.or_else(|| noted.film.as_deref().map(of_roll));
    frame
}

/// The kit's only camera, which nobody named.
fn of_kit(name: &str) -> Settled<String> {
    let why = vec!["the kit has no other camera".to_owned()];
    Settled { sources: Vec::new(), why, ..Settled::from_one(name.to_owned(), Confidence::new(OF_ROLL), Source::Voice) }
}
