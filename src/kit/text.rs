//! `kit.toml` text to a [`Kit`], with errors that name the line.

use super::names::{Called, Names};
use super::owned::{Caution, Kit, KitError, MOST_FRAMES};
use super::raw::{RawHabits, RawKit};
use super::{Camera, Film, Filter, Habits, Lens, ScanHabits, SettleHabits, read};
use crate::exposure::Stops;
use std::fmt;

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
        Self::read_with_names(text).map(|(kit, cautions, _)| (kit, cautions))
    }

    /// Reads the text of a kit file, with what is odd in it and every way to call a thing.
    ///
    /// # Errors
    /// As [`Kit::read`].
    pub fn read_with_names(text: &str) -> Result<(Self, Vec<Caution>, Vec<Called>), KitError> {
        let raw: RawKit = toml::from_str(text).map_err(|e| syntax(&e))?;
        let mut names = Names::new(text);
        let mut kit = Self::default();
        let lined = |line: usize| move |what: String| KitError::Value { line, what };
        macro_rules! take {
            ($raw:expr, $into:expr, $read:expr) => {
                for thing in $raw {
                    let line = names.lines.of(&thing);
                    $into.push($read(thing.into_inner(), &mut names, &kit).map_err(lined(line))?);
                }
            };
        }
        take!(raw.camera, kit.cameras, read::camera);
        take!(raw.filter, kit.filters, read::filter);
        take!(raw.lens, kit.lenses, read::lens);
        take!(raw.film, kit.films, read::film);
        take!(raw.flash, kit.flashes, read::flash);
        take!(raw.converter, kit.converters, read::converter);
        take!(raw.bellows, kit.bellows, read::bellows);
        take!(raw.back, kit.backs, read::back);
        take!(raw.place, kit.places, read::place);
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
        names.cautions.sort_by_key(|c| c.line);
        Ok((kit, names.cautions, names.called))
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

#[cfg(test)]
mod tests {
    use crate::exposure::{ShutterStep, Speed};

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
