//! Things of a kit from their tables, each checked: what makes no sense is an error, what is odd a caution.

use crate::exposure::{Aperture, BoxSpeed, ExposureIndex, FilterFactor, Shutter, ShutterStep, Speed, Stops};
use crate::facts::Position;

use super::density::Density;
use super::imprint::Pattern;
use super::names::{Names, shown};
use super::owned::{Kit, MOST_FRAMES};
use super::raw::{
    RawBack, RawBellows, RawCamera, RawConverter, RawFilm, RawFilter, RawFocal, RawLens, RawNamed, RawPlace,
};
use super::{Back, Bellows, Camera, Converter, Dial, Film, Filter, Flash, Focal, Lens, Place};

/// Ends that only the older series has.
const OLD_ENDS: [f64; 6] = [25.0, 50.0, 100.0, 200.0, 300.0, 400.0];

fn speed(text: &str) -> Result<Speed, String> {
    match text.parse::<Shutter>() {
        Ok(Shutter::Timed(s)) => Ok(s),
        _ => Err(format!("'{text}' is no marked shutter speed: expected such as 1/125 or 2s")),
    }
}

pub(super) fn camera(raw: RawCamera, names: &mut Names, _: &Kit) -> Result<Camera, String> {
    let (name, said) = names.named("camera", raw.name, raw.said)?;
    let named = |e: String| format!("camera '{name}': {e}");
    let view = raw.format.is_sheet();
    let dial = if let Some(marks) = &raw.marks {
        let mut speeds = Vec::new();
        let mut time = view;
        for m in marks {
            match m.as_str() {
                "B" => {}
                "T" => time = true,
                m => speeds.push(speed(m).map_err(named)?),
            }
        }
        // A pinhole or a lens in a cap has B or T alone.
        if marks.is_empty() {
            return Err(named("its marks are empty".to_owned()));
        }
        let step = marks_step(&speeds);
        Dial::new(speeds, step, time)
    } else {
        let [slow, fast] = raw.shutters.clone().unwrap_or_else(|| ["30s".into(), "1/8000".into()]);
        let (slow, fast) = (speed(&slow).map_err(named)?, speed(&fast).map_err(named)?);
        if slow.seconds() <= fast.seconds() {
            return Err(named(format!("its slowest speed {slow} is not slower than its fastest {fast}")));
        }
        let default = if raw.shutters.is_some() { ShutterStep::Full } else { ShutterStep::Third };
        let mut step = raw.shutter_step.unwrap_or(default);
        let old_end = |s: Speed| s.is_fraction() && OLD_ENDS.contains(&s.number());
        if step == ShutterStep::Full && (old_end(slow) || old_end(fast)) {
            step = ShutterStep::Old;
        }
        Dial::between(slow, fast, step, view)
    };
    let leaf_max = raw.leaf_max.as_deref().map(speed).transpose().map_err(named)?;
    let flash_sync = raw.flash_sync.as_deref().map(speed).transpose().map_err(named)?;
    if let Some(n) = raw.holders
        && (!view || n == 0 || n > MOST_FRAMES / 2)
    {
        let what = format!("{n} holders: expected 1 to {} on a camera for sheet film", MOST_FRAMES / 2);
        return Err(named(what));
    }
    let holders = raw.holders;
    // A holder has a sheet on either side.
    let usual = holders.map_or(raw.format.frames(), |n| 2 * n);
    let frames = raw.frames.unwrap_or(usual);
    if frames == 0 || frames > MOST_FRAMES {
        return Err(named(format!("{frames} frames a roll: expected 1 to {MOST_FRAMES}")));
    }
    let imprint = raw.imprint.and_then(|text| match text.get_ref().parse::<Pattern>() {
        Ok(pattern) => Some(pattern),
        Err(why) => {
            names.caution(&text, format!("camera '{name}': imprint, {why}; what it prints is not read until then"));
            None
        }
    });
    Ok(Camera { frames, name, said, format: raw.format, dial, leaf_max, flash_sync, holders, imprint })
}

/// What step a list of marks amounts to: the old series if any mark is only
/// there, else the commonest distance.
fn marks_step(speeds: &[Speed]) -> ShutterStep {
    let full = ShutterStep::Full.marks();
    if speeds.iter().all(|s| full.contains(s)) {
        return ShutterStep::Full;
    }
    let mut sorted: Vec<f64> = speeds.iter().map(|s| s.seconds().log2()).collect();
    sorted.sort_by(f64::total_cmp);
    let mut gaps: Vec<f64> = sorted.windows(2).map(|w| w[1] - w[0]).collect();
    gaps.sort_by(f64::total_cmp);
    match gaps.get(gaps.len() / 2).copied().unwrap_or(1.0) {
        g if g < 0.42 => ShutterStep::Third,
        g if g < 0.7 => ShutterStep::Half,
        _ => ShutterStep::Old,
    }
}

fn aperture(n: f64, whose: &str) -> Result<Aperture, String> {
    Aperture::new(n).ok_or_else(|| format!("lens '{whose}': {n} is no f-number"))
}

pub(super) fn lens(raw: RawLens, names: &mut Names, kit: &Kit) -> Result<Lens, String> {
    let (name, said) = names.named("lens", raw.name, raw.said)?;
    let focal = match raw.focal_mm {
        RawFocal::Prime(f) if f > 0.0 && f < 10_000.0 => Focal::Prime(f),
        RawFocal::Zoom([a, b]) if a > 0.0 && a < b && b < 10_000.0 => Focal::Zoom(a, b),
        _ => return Err(format!("lens '{}': focal_mm wants a length in mm, or [shortest, longest]", name)),
    };
    let widest = raw.widest.map(|n| aperture(n, &name)).transpose()?;
    let smallest = raw.smallest.map(|n| aperture(n, &name)).transpose()?;
    if let (Some(w), Some(s)) = (widest, smallest)
        && w > s
    {
        return Err(format!("lens '{}': widest {w} must not be a larger number than smallest {s}", name));
    }
    let cameras: Vec<String> = raw.cameras.iter().map(|c| shown(c)).collect();
    if let Some(c) = cameras.iter().find(|c| kit.camera(c).is_none()) {
        return Err(format!("lens '{name}' names a camera '{c}' that the kit does not have"));
    }
    let filter = raw.filter.map(|f| shown(&f));
    if let Some(f) = filter.as_ref().filter(|f| kit.filter(f).is_none()) {
        return Err(format!(
            "lens '{name}' has a filter '{f}' always on that the kit does not have: add it as a [[filter]]"
        ));
    }
    Ok(Lens { focal, widest, smallest, step: raw.aperture_step, filter, name, said, cameras })
}

pub(super) fn film(raw: RawFilm, names: &mut Names, _: &Kit) -> Result<Film, String> {
    let (name, said) = names.named("film", raw.name, raw.said)?;
    let bad = |n: u32| format!("film '{name}': {n} is no film speed");
    let iso = BoxSpeed::new(raw.iso).ok_or_else(|| bad(raw.iso))?;
    let ei = raw.ei.map(|n| ExposureIndex::new(n).ok_or_else(|| bad(n))).transpose()?;
    if let Some(p) = raw.reciprocity_p
        && !(1.0..=2.0).contains(&p)
    {
        return Err(format!("film '{name}': reciprocity_p {p} is outside 1.0 to 2.0"));
    }
    Ok(Film { iso, ei, reciprocity_p: raw.reciprocity_p, edge_code: raw.edge_code, name, said })
}

pub(super) fn filter(raw: RawFilter, names: &mut Names, _: &Kit) -> Result<Filter, String> {
    let at = raw.name.clone();
    let (name, said) = names.named("filter", raw.name, raw.said)?;
    let engraved = Density::of(&name);
    let lost = match (raw.stops, raw.factor) {
        (Some(s), None) if (0.0..=30.0).contains(&s) => Some(Stops::new(s)),
        (None, Some(f)) => {
            let factor =
                FilterFactor::new(f).ok_or_else(|| format!("filter '{name}': a factor is 1 or more, not {f}"))?;
            Some(factor.lost())
        }
        (None, None) => None,
        (Some(_), Some(_)) => return Err(format!("filter '{name}': give stops or factor, not both")),
        (Some(s), None) => return Err(format!("filter '{name}': {s} stops is outside 0 to 30")),
    };
    let lost = match (lost, engraved) {
        (Some(given), Some(Density::Stops(says))) if (given.get() - says.get()).abs() > DENSITY_OFF => {
            let what = format!(
                "filter '{name}' says {:.1} stops by its name and {:.1} by its figure, which counts: put one of them right",
                says.get(),
                given.get()
            );
            names.caution(&at, what);
            given
        }
        (Some(given), _) => given,
        (None, Some(Density::Stops(says))) => says,
        (None, Some(Density::Ambiguous(likely))) => {
            let taken = likely.map_or("it is taken to lose nothing".to_owned(), |s| {
                format!("it is taken for {} stop{}", s.get(), if s.get() == 1.0 { "" } else { "s" })
            });
            let what =
                format!("filter '{name}': a factor to some makers and a density to others; {taken}: give stops = ");
            names.caution(&at, what + "the stops that it loses");
            likely.unwrap_or(Stops::ZERO)
        }
        (None, Some(Density::Plain)) => {
            names.caution(&at, format!("filter '{name}': it is not said what it loses: give stops"));
            Stops::ZERO
        }
        (None, None) => Stops::ZERO,
    };
    Ok(Filter { lost, name, said })
}

/// A name and a figure of a neutral density filter that lie further apart disagree. Stops: what rounding to thirds can make.
const DENSITY_OFF: f64 = 0.2;

pub(super) fn flash(raw: RawNamed, names: &mut Names, _: &Kit) -> Result<Flash, String> {
    let (name, said) = names.named("flash", raw.name, raw.said)?;
    Ok(Flash { name, said })
}

/// The most that a converter makes a lens longer.
const LONGEST_CONVERTER: f64 = 4.0;

pub(super) fn converter(raw: RawConverter, names: &mut Names, _: &Kit) -> Result<Converter, String> {
    let (name, said) = names.named("converter", raw.name, raw.said)?;
    if !(raw.times > 1.0 && raw.times <= LONGEST_CONVERTER) {
        return Err(format!("converter '{name}': times is {}: expected such as 1.4 or 2", raw.times));
    }
    let stops = raw.stops.unwrap_or(2.0 * raw.times.log2());
    if !(0.0..=10.0).contains(&stops) {
        return Err(format!("converter '{name}': {stops} stops is outside 0 to 10"));
    }
    Ok(Converter { name, said, times: raw.times, lost: Stops::new(stops) })
}

pub(super) fn bellows(raw: RawBellows, names: &mut Names, _: &Kit) -> Result<Bellows, String> {
    let (name, said) = names.named("bellows", raw.name, raw.said)?;
    if let Some(mm) = raw.longest_mm.filter(|mm| !(*mm > 0.0 && *mm < 10_000.0)) {
        return Err(format!("bellows '{name}': longest_mm is {mm}: expected a length in mm"));
    }
    Ok(Bellows { name, said, longest_mm: raw.longest_mm })
}

pub(super) fn back(raw: RawBack, names: &mut Names, kit: &Kit) -> Result<Back, String> {
    let (name, said) = names.named("back", raw.name, raw.said)?;
    let camera = shown(&raw.camera);
    if kit.camera(&camera).is_none() {
        return Err(format!("back '{name}' names a camera '{camera}' that the kit does not have"));
    }
    Ok(Back { name, said, camera })
}

pub(super) fn place(raw: RawPlace, names: &mut Names, _: &Kit) -> Result<Place, String> {
    let (name, said) = names.named("place", raw.name, raw.said)?;
    let position = match (raw.lat, raw.lon) {
        (None, None) => None,
        (Some(lat), Some(lon)) => Some(Position::new(lat, lon).ok_or_else(|| {
            format!("place '{name}': {lat}, {lon} is nowhere: expected degrees, -90 to 90 and -180 to 180")
        })?),
        _ => return Err(format!("place '{name}': give lat and lon, or neither")),
    };
    Ok(Place { name, said, position })
}
