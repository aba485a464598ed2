//! `kit.toml` text to a [`Kit`], with errors that name the line.

use std::collections::HashSet;

use serde::Deserialize;

use crate::exposure::{
    Aperture, ApertureStep, BoxSpeed, ExposureIndex, FilterFactor, Shutter, ShutterStep, Speed, Stops,
};
use crate::facts::Field;

use super::{Camera, Dial, Film, Filter, Focal, Format, Habits, Lens, ScanHabits, SettleHabits};

/// Everything the photographer owns.
#[derive(Debug, Clone, Default)]
pub struct Kit {
    /// Cameras.
    pub cameras: Vec<Camera>,
    /// Lenses.
    pub lenses: Vec<Lens>,
    /// Films.
    pub films: Vec<Film>,
    /// Filters.
    pub filters: Vec<Filter>,
    /// The photographer's habits.
    pub habits: Habits,
    /// The lab's habits.
    pub scans: ScanHabits,
    /// Who wins where sources disagree.
    pub settle: SettleHabits,
}

/// What is wrong with a kit file.
#[derive(Debug, thiserror::Error)]
pub enum KitError {
    /// Not TOML, or not the tables and keys expected; the message holds the line.
    #[error("{0}")]
    Syntax(String),
    /// A value that makes no sense.
    #[error("line {line}: {what}")]
    Value {
        /// Line of the table it stands in.
        line: usize,
        /// What is wrong, and what was expected.
        what: String,
    },
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawKit {
    #[serde(default)]
    camera: Vec<toml::Spanned<RawCamera>>,
    #[serde(default)]
    lens: Vec<toml::Spanned<RawLens>>,
    #[serde(default)]
    film: Vec<toml::Spanned<RawFilm>>,
    #[serde(default)]
    filter: Vec<toml::Spanned<RawFilter>>,
    photographer: Option<RawHabits>,
    #[serde(default)]
    scans: RawScans,
    #[serde(default)]
    settle: RawSettle,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawCamera {
    name: String,
    #[serde(default)]
    said: Vec<String>,
    format: Format,
    frames: Option<u16>,
    shutters: Option<[String; 2]>,
    shutter_step: Option<ShutterStep>,
    marks: Option<Vec<String>>,
    leaf_max: Option<String>,
    imprint: Option<String>,
}

#[derive(Deserialize)]
#[serde(untagged)]
enum RawFocal {
    Prime(f64),
    Zoom([f64; 2]),
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawLens {
    name: String,
    #[serde(default)]
    said: Vec<String>,
    focal_mm: RawFocal,
    widest: Option<f64>,
    smallest: Option<f64>,
    aperture_step: Option<ApertureStep>,
    #[serde(default)]
    cameras: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawFilm {
    name: String,
    #[serde(default)]
    said: Vec<String>,
    iso: u32,
    ei: Option<u32>,
    reciprocity_p: Option<f64>,
    edge_code: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawFilter {
    name: String,
    #[serde(default)]
    said: Vec<String>,
    stops: Option<f64>,
    factor: Option<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawHabits {
    frame_counts_from: Option<u16>,
    timezone: Option<String>,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
struct RawScans {
    #[serde(default)]
    patterns: Vec<String>,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
struct RawSettle {
    #[serde(default)]
    trust_voice: Vec<Field>,
    unsure_below: Option<f64>,
}

impl Kit {
    /// Reads the text of a kit file.
    ///
    /// # Errors
    /// [`KitError`] with the line, when the text is not a kit.
    pub fn parse(text: &str) -> Result<Self, KitError> {
        let raw: RawKit = toml::from_str(text).map_err(|e| KitError::Syntax(e.to_string().trim_end().to_owned()))?;
        let at = |start: usize| text.as_bytes()[..start.min(text.len())].iter().filter(|b| **b == b'\n').count() + 1;
        let mut kit = Self::default();
        for c in raw.camera {
            let line = at(c.span().start);
            kit.cameras.push(camera(c.into_inner()).map_err(|what| KitError::Value { line, what })?);
        }
        let cameras: HashSet<String> = kit.cameras.iter().map(|c| c.name.clone()).collect();
        for l in raw.lens {
            let line = at(l.span().start);
            let lens = lens(l.into_inner()).and_then(|l| match l.cameras.iter().find(|c| !cameras.contains(*c)) {
                Some(c) => Err(format!("lens '{}' names a camera '{c}' that the kit does not have", l.name)),
                None => Ok(l),
            });
            kit.lenses.push(lens.map_err(|what| KitError::Value { line, what })?);
        }
        for f in raw.film {
            let line = at(f.span().start);
            kit.films.push(film(f.into_inner()).map_err(|what| KitError::Value { line, what })?);
        }
        for f in raw.filter {
            let line = at(f.span().start);
            kit.filters.push(filter(f.into_inner()).map_err(|what| KitError::Value { line, what })?);
        }
        if let Some(p) = raw.photographer {
            kit.habits = Habits { frame_counts_from: p.frame_counts_from.unwrap_or(1), timezone: p.timezone };
        }
        if let Some(zone) = &kit.habits.timezone {
            jiff::tz::TimeZone::get(zone).map_err(|_| {
                let line = text.lines().position(|l| l.trim_start().starts_with("timezone")).map_or(1, |i| i + 1);
                KitError::Value { line, what: format!("no time zone '{zone}': expected a name such as Atlantic/Faroe") }
            })?;
        }
        kit.scans = ScanHabits { patterns: raw.scans.patterns };
        kit.settle = SettleHabits { trust_voice: raw.settle.trust_voice, unsure_below: raw.settle.unsure_below };
        Ok(kit)
    }

    /// The camera of this name.
    pub fn camera(&self, name: &str) -> Option<&Camera> {
        self.cameras.iter().find(|c| c.name == name)
    }

    /// The lens of this name.
    pub fn lens(&self, name: &str) -> Option<&Lens> {
        self.lenses.iter().find(|l| l.name == name)
    }

    /// The film of this name.
    pub fn film(&self, name: &str) -> Option<&Film> {
        self.films.iter().find(|f| f.name == name)
    }

    /// The filter of this name.
    pub fn filter(&self, name: &str) -> Option<&Filter> {
        self.filters.iter().find(|f| f.name == name)
    }

    /// Light lost to a stack of filters, when the kit knows each of them.
    pub fn lost_to(&self, filters: &super::Filters) -> Option<Stops> {
        filters.0.iter().map(|name| self.filter(name).map(|f| f.lost.get())).sum::<Option<f64>>().map(Stops::new)
    }
}

/// Ends that only the older series has.
const OLD_ENDS: [f64; 6] = [25.0, 50.0, 100.0, 200.0, 300.0, 400.0];

fn speed(text: &str) -> Result<Speed, String> {
    match text.parse::<Shutter>() {
        Ok(Shutter::Timed(s)) => Ok(s),
        _ => Err(format!("'{text}' is no marked shutter speed: expected such as 1/125 or 2s")),
    }
}

fn camera(raw: RawCamera) -> Result<Camera, String> {
    let named = |e: String| format!("camera '{}': {e}", raw.name);
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
        if speeds.is_empty() {
            return Err(named("its marks hold no speed".to_owned()));
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
    let frames = raw.frames.unwrap_or(raw.format.frames());
    if frames == 0 || frames > 999 {
        return Err(named(format!("{frames} frames a roll: expected 1 to 999")));
    }
    Ok(Camera { frames, name: raw.name, said: raw.said, format: raw.format, dial, leaf_max, imprint: raw.imprint })
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

fn lens(raw: RawLens) -> Result<Lens, String> {
    let focal = match raw.focal_mm {
        RawFocal::Prime(f) if f > 0.0 && f < 10_000.0 => Focal::Prime(f),
        RawFocal::Zoom([a, b]) if a > 0.0 && a < b && b < 10_000.0 => Focal::Zoom(a, b),
        _ => return Err(format!("lens '{}': focal_mm wants a length in mm, or [shortest, longest]", raw.name)),
    };
    let widest = raw.widest.map(|n| aperture(n, &raw.name)).transpose()?;
    let smallest = raw.smallest.map(|n| aperture(n, &raw.name)).transpose()?;
    if let (Some(w), Some(s)) = (widest, smallest)
        && w >= s
    {
        return Err(format!("lens '{}': widest {w} must be a smaller number than smallest {s}", raw.name));
    }
    Ok(Lens { focal, widest, smallest, step: raw.aperture_step, name: raw.name, said: raw.said, cameras: raw.cameras })
}

fn film(raw: RawFilm) -> Result<Film, String> {
    let bad = |n: u32| format!("film '{}': {n} is no film speed", raw.name);
    let iso = BoxSpeed::new(raw.iso).ok_or_else(|| bad(raw.iso))?;
    let ei = raw.ei.map(|n| ExposureIndex::new(n).ok_or_else(|| bad(n))).transpose()?;
    if let Some(p) = raw.reciprocity_p
        && !(1.0..=2.0).contains(&p)
    {
        return Err(format!("film '{}': reciprocity_p {p} is outside 1.0 to 2.0", raw.name));
    }
    Ok(Film { iso, ei, reciprocity_p: raw.reciprocity_p, edge_code: raw.edge_code, name: raw.name, said: raw.said })
}

fn filter(raw: RawFilter) -> Result<Filter, String> {
    let lost = match (raw.stops, raw.factor) {
        (Some(s), None) if (0.0..=30.0).contains(&s) => Stops::new(s),
        (None, Some(f)) => {
            FilterFactor::new(f).ok_or_else(|| format!("filter '{}': a factor is 1 or more, not {f}", raw.name))?.lost()
        }
        (None, None) => Stops::new(0.0),
        (Some(_), Some(_)) => return Err(format!("filter '{}': give stops or factor, not both", raw.name)),
        (Some(s), None) => return Err(format!("filter '{}': {s} stops is outside 0 to 30", raw.name)),
    };
    Ok(Filter { lost, name: raw.name, said: raw.said })
}

#[cfg(test)]
mod tests {
    use super::*;

    const KIT: &str = r#"
[[camera]]
name = "half plate"
format = "4x5"
shutters = ["1s", "1/200"]

[[camera]]
name = "rangefinder"
format = "135"
marks = ["1s", "1/2", "1/5", "1/10", "1/25", "1/50", "1/100", "1/200", "1/500", "B", "T"]

[[lens]]
name = "50"
focal_mm = 50
widest = 2
smallest = 16
cameras = ["rangefinder"]

[[filter]]
name = "green"
factor = 4
"#;

    #[test]
    fn old_ends_mean_the_old_series() {
        let kit = Kit::parse(KIT).unwrap();
        assert_eq!(kit.cameras[0].dial.step(), ShutterStep::Old);
        assert!(kit.cameras[0].dial.has(Speed::fraction(25)));
        assert!(kit.cameras[0].dial.has_time(), "a view camera has T");
        assert_eq!(kit.cameras[0].frames, 20);
        assert_eq!(kit.cameras[1].dial.step(), ShutterStep::Old);
        assert_eq!(kit.filters[0].lost, Stops::new(2.0));
    }

    #[test]
    fn errors_name_the_line() {
        let unknown = Kit::parse("[[camera]]\nname = \"a\"\nformat = \"135\"\ncolour = 1\n").unwrap_err().to_string();
        assert!(unknown.contains("line 4") || unknown.contains("4 |"), "{unknown}");
        let lens = Kit::parse("\n\n[[lens]]\nname = \"x\"\nfocal_mm = 50\nwidest = 8\nsmallest = 4\n").unwrap_err();
        assert!(lens.to_string().starts_with("line 3:"), "{lens}");
        assert!(
            Kit::parse("[photographer]\ntimezone = \"Atlantic/Nowhere\"").unwrap_err().to_string().contains("line 2")
        );
    }
}
