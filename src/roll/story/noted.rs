//! The story's end: rolls as noted, with what was told of them late.

use crate::exposure::ExposureIndex;
use crate::facts::{Confidence, Field, Flag, FrameNumber, Settled};
use crate::kit::Filters;
use crate::roll::record::{Frame, NotedFrame, NotedRoll};
use crate::roll::value::weigh_in_context;

use super::doubt::flag_doubts;
use super::state::{OpenRoll, State};
use super::sure::plain;

/// How sure it is that a film is rated as the kit says, where nothing was said.
const AS_IN_KIT: f64 = 0.85;

/// How sure it is that a film is rated as its box says, where nothing was said and the kit tells nothing.
const AS_ON_BOX: f64 = 0.6;
/// Words less sure than this were hardly understood.
pub(super) const HARDLY: f64 = 0.5;

impl State<'_> {
    /// The rolls, in the order they were begun.
    pub fn noted(mut self, unsure_below: f64) -> Vec<NotedRoll> {
        self.fit_folders();
        let mut out = Vec::new();
        let first = FrameNumber::new(self.kit.habits.frame_counts_from);
        for mut roll in self.rolls {
            if roll.shots.is_empty() && roll.name.is_none() {
                continue;
            }
            flag_doubts(&mut roll, first);
            let camera = roll.camera.and_then(|c| self.kit.cameras.get(c)).map(|c| c.name.clone());
            let mut noted = noted_roll(roll, camera, self.kit, unsure_below);
            weigh_in_context(&mut noted.frames, self.kit, unsure_below);
            out.push(noted);
        }
        for (name, developed) in self.developed_of {
            match out.iter_mut().find(|r| r.name.as_ref() == Some(&name)) {
                Some(roll) => drop(roll.developed.fill(&developed)),
                // Of a roll that has scans and no notes.
                None => out.push(NotedRoll { name: Some(name), developed, ..NotedRoll::default() }),
            }
        }
        out
    }
}

fn noted_roll(roll: OpenRoll, camera: Option<String>, kit: &crate::kit::Kit, unsure_below: f64) -> NotedRoll {
    let film = roll.facts.film;
    let known = film.as_ref().and_then(|f| kit.film(&f.value));
    let usual = || known.and_then(|f| f.ei).map(|e| plain(e, AS_IN_KIT));
    let on_box =
        roll.facts.box_speed.zip(known).and_then(|(sure, f)| Some(plain(ExposureIndex::new(f.iso.get())?, sure)));
    let ei = match (roll.facts.ei.or(on_box), usual()) {
        // What was hardly understood is less likely than what is usual.
        (Some(said), Some(usual)) if said.confidence.get() < HARDLY => {
            let confidence = Confidence::new(usual.confidence.get() * (1.0 - said.confidence.get()));
            Some(Settled { confidence, ..usual })
        }
        (said, usual) => said.or(usual),
    };
    // Rated by nothing that was said, it is likeliest rated as the box says.
    let ei = ei.or_else(|| Some(plain(ExposureIndex::new(known?.iso.get())?, AS_ON_BOX)));
    let frames = roll
        .shots
        .into_iter()
        .enumerate()
        .map(|(k, shot)| {
            let mut frame = shot.frame;
            frame.camera = camera.clone().map(|c| plain(c, 1.0));
            frame.film.clone_from(&film);
            frame.box_iso = known.map(|f| f.iso);
            frame.ei.clone_from(&ei);
            frame.process.clone_from(&roll.facts.process);
            always_on(&mut frame, kit);
            frame.filter_stops = frame.filter.as_ref().and_then(|f| kit.lost_to(&f.value));
            low(&mut frame, Field::Film, film.as_ref().map(conf), unsure_below);
            low(&mut frame, Field::Ei, ei.as_ref().map(conf), unsure_below);
            NotedFrame { frame, said_numbers: shot.numbers, lost_before: roll.lost.contains(&k) }
        })
        .collect();
    NotedRoll {
        name: roll.name,
        camera,
        film: film.map(|f| f.value),
        frames,
        scans_reversed: roll.reversed,
        remarks: roll.remarks,
        developed: roll.facts.developed,
    }
}

/// A filter that is always on the lens is on it whatever was said of others.
fn always_on(frame: &mut Frame, kit: &crate::kit::Kit) {
    let Some(lens) = frame.lens.as_ref() else { return };
    let Some(always) = kit.lens(&lens.value).and_then(|l| l.filter.clone()) else { return };
    let filter = frame.filter.get_or_insert_with(|| plain(Filters(Vec::new()), lens.confidence.get()));
    if !filter.value.0.contains(&always) {
        filter.why.push(format!("the {always} is always on the {}", lens.value));
        filter.value.0.insert(0, always);
    }
}

fn conf<T>(s: &Settled<T>) -> Confidence {
    s.confidence
}

fn low(frame: &mut Frame, field: Field, sure: Option<Confidence>, unsure_below: f64) {
    if sure.is_some_and(|c| c.get() < unsure_below) {
        frame.flag(Flag::Unsure(field), "heard with little certainty");
    }
}
