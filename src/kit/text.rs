//! `kit.toml` text to a [`Kit`], with errors that name the line.

use std::collections::HashSet;
use std::fmt;

use crate::exposure::{Aperture, BoxSpeed, ExposureIndex, FilterFactor, Shutter, ShutterStep, Speed, Stops};

use super::imprint::Pattern;
use super::names::{Names, shown};
use super::raw::{RawCamera, RawFilm, RawFilter, RawFocal, RawHabits, RawKit, RawLens};
use super::{Camera, Dial, Film, Filter, Focal, Habits, Lens, ScanHabits, SettleHabits};

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

/// What is odd in a kit that can be used all the same.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caution {
    /// Line, from 1.
    pub line: usize,
    /// What is odd, what becomes of it, and what to do.
    pub what: String,
}

impl fmt::Display for Caution {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: {}", self.line, self.what)
    }
}

impl Kit {
    /// Reads the text of a kit file, with what is odd in it.
    ///
    /// # Errors
    /// [`KitError`] with the line, when the text is not a kit.
    pub fn read(text: &str) -> Result<(Self, Vec<Caution>), KitError> {
        let raw: RawKit = toml::from_str(text).map_err(|e| syntax(&e))?;
        let mut names = Names::new(text);
        let mut kit = Self::default();
        for c in raw.camera {
            let line = names.lines.of(&c);
            kit.cameras.push(camera(c.into_inner(), &mut names).map_err(|what| KitError::Value { line, what })?);
        }
        let cameras: HashSet<String> = kit.cameras.iter().map(|c| c.name.clone()).collect();
        for l in raw.lens {
            let line = names.lines.of(&l);
            let lens =
                lens(l.into_inner(), &mut names).and_then(|l| match l.cameras.iter().find(|c| !cameras.contains(*c)) {
                    Some(c) => Err(format!("lens '{}' names a camera '{c}' that the kit does not have", l.name)),
                    None => Ok(l),
                });
            kit.lenses.push(lens.map_err(|what| KitError::Value { line, what })?);
        }
        for f in raw.film {
            let line = names.lines.of(&f);
            kit.films.push(film(f.into_inner(), &mut names).map_err(|what| KitError::Value { line, what })?);
        }
        for f in raw.filter {
            let line = names.lines.of(&f);
            kit.filters.push(filter(f.into_inner(), &mut names).map_err(|what| KitError::Value { line, what })?);
        }
        if let Some(raw) = raw.photographer {
            kit.habits = habits(raw, &names)?;
        }
        if let Some(below) = &raw.settle.unsure_below
            && !(0.0..=1.0).contains(below.get_ref())
        {
            let what = format!("unsure_below is {}: expected 0 to 1", below.get_ref());
            return Err(KitError::Value { line: names.lines.of(below), what });
        }
        kit.scans = ScanHabits { patterns: raw.scans.patterns };
        let unsure_below = raw.settle.unsure_below.map(toml::Spanned::into_inner);
        kit.settle = SettleHabits { trust_voice: raw.settle.trust_voice, unsure_below };
        Ok((kit, names.cautions))
    }

    /// Reads the text of a kit file, whatever is odd in it.
    ///
    /// # Errors
    /// As [`Kit::read`].
    pub fn parse(text: &str) -> Result<Self, KitError> {
        Self::read(text).map(|(kit, _)| kit)
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

/// What the reader of TOML says of nesting that is too deep.
const TOO_DEEP: [&str; 2] = ["cannot recurse further; max recursion depth met", "recursion limit"];

/// A fault in the words of the reader of TOML, or in plainer ones.
fn syntax(e: &toml::de::Error) -> KitError {
    let plain = "brackets inside brackets, more than a kit has: take them out";
    let what = TOO_DEEP.iter().fold(e.to_string(), |what, theirs| what.replace(theirs, plain));
    KitError::Syntax(what.trim_end().to_owned())
}

/// The most that a film's first frame can count, as far as a roll can be long. Frames.
const MOST_FRAMES: u16 = 999;

fn habits(raw: RawHabits, names: &Names) -> Result<Habits, KitError> {
    let mut habits = Habits::default();
    if let Some(from) = raw.frame_counts_from {
        let count = u16::try_from(*from.get_ref()).ok().filter(|n| *n <= MOST_FRAMES);
        habits.frame_counts_from = count.ok_or_else(|| KitError::Value {
            line: names.lines.of(&from),
            what: format!(
                "frame_counts_from is {}: expected the number of the first frame, 0 to {MOST_FRAMES}",
                from.get_ref()
            ),
        })?;
    }
    if let Some(zone) = raw.timezone {
        jiff::tz::TimeZone::get(zone.get_ref()).map_err(|_| KitError::Value {
            line: names.lines.of(&zone),
            what: format!("no time zone '{}': expected a name such as Atlantic/Faroe", zone.get_ref()),
        })?;
        habits.timezone = Some(zone.into_inner());
    }
    Ok(habits)
}

/// Ends that only the older series has.
const OLD_ENDS: [f64; 6] = [25.0, 50.0, 100.0, 200.0, 300.0, 400.0];

fn speed(text: &str) -> Result<Speed, String> {
    match text.parse::<Shutter>() {
        Ok(Shutter::Timed(s)) => Ok(s),
        _ => Err(format!("'{text}' is no marked shutter speed: expected such as 1/125 or 2s")),
    }
}

fn camera(raw: RawCamera, names: &mut Names) -> Result<Camera, String> {
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
    let frames = raw.frames.unwrap_or(raw.format.frames());
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
    Ok(Camera { frames, name, said, format: raw.format, dial, leaf_max, imprint })
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

fn lens(raw: RawLens, names: &mut Names) -> Result<Lens, String> {
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
    let cameras = raw.cameras.iter().map(|c| shown(c)).collect();
    Ok(Lens { focal, widest, smallest, step: raw.aperture_step, name, said, cameras })
}

fn film(raw: RawFilm, names: &mut Names) -> Result<Film, String> {
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

fn filter(raw: RawFilter, names: &mut Names) -> Result<Filter, String> {
    let (name, said) = names.named("filter", raw.name, raw.said)?;
    let lost = match (raw.stops, raw.factor) {
        (Some(s), None) if (0.0..=30.0).contains(&s) => Stops::new(s),
        (None, Some(f)) => {
            FilterFactor::new(f).ok_or_else(|| format!("filter '{name}': a factor is 1 or more, not {f}"))?.lost()
        }
        (None, None) => Stops::new(0.0),
        (Some(_), Some(_)) => return Err(format!("filter '{name}': give stops or factor, not both")),
        (Some(s), None) => return Err(format!("filter '{name}': {s} stops is outside 0 to 30")),
    };
    Ok(Filter { lost, name, said })
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

    #[test]
    fn what_is_odd_is_told_and_the_kit_goes_on() {
        let odd = KIT.replace("name = \"green\"", "name = \"green\"\nsaid = [\"\", \"g\\u0000\"]")
            + &format!("\n[[filter]]\nname = \"green\"\n\n[[filter]]\nname = \"{}\"\n", "long ".repeat(50));
        let odd = odd.replacen("format = \"4x5\"", "format = \"4x5\"\nimprint = \"{aperture\"", 1);
        let (kit, cautions) = Kit::read(&odd).unwrap();
        assert_eq!(kit.filters[0].said, ["g "]);
        assert!(kit.cameras[0].imprint.is_none() && kit.filters.len() == 3);
        let told: Vec<String> = cautions.iter().map(ToString::to_string).collect();
        let expected = [
            ("line 5: ", "'{' is not closed"),
            ("line 22: ", "blank way"),
            ("line 22: ", "U+0000"),
            ("line 26: ", "line 21"),
            ("line 29: ", "longer than 200"),
        ];
        assert_eq!(told.len(), expected.len(), "{told:#?}");
        for (line, what) in expected {
            assert!(told.iter().any(|t| t.starts_with(line) && t.contains(what)), "{line}{what}: {told:#?}");
        }
        assert_eq!(Kit::read(KIT).unwrap().1, []);
    }
}
