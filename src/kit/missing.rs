//! Things that were spoken of and are not in the kit, and the lines that would add them.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::density::Density;

/// A kind of thing that a kit holds, in the order of its tables.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum ThingKind {
    /// A lens.
    Lens,
    /// A film.
    Film,
    /// A filter.
    Filter,
    /// A flash.
    Flash,
    /// A converter.
    Converter,
}

impl ThingKind {
    /// The name of its table, and of the thing.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Lens => "lens",
            Self::Film => "film",
            Self::Filter => "filter",
            Self::Flash => "flash",
            Self::Converter => "converter",
        }
    }
}

/// A thing that was heard and is not in the kit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Missing {
    /// What it is.
    pub kind: ThingKind,
    /// As it was said, without what stands before it.
    pub name: String,
    /// How many times it was heard.
    pub times: usize,
    /// What was said of it in figures: focal length in mm, film speed, times longer.
    pub figure: Option<f64>,
}

/// Usual losses of filters by colour, in stops; what is engraved on one's own counts.
/// Source: `tests/reference/filter-factors.csv` (daylight, panchromatic film).
const USUAL: [(&str, f64); 9] = [
    ("yellow-green", 2.0),
    ("light red", 2.6),
    ("deep red", 4.0),
    ("yellow", 1.0),
    ("orange", 1.6),
    ("red", 3.0),
    ("green", 2.6),
    ("blue", 2.6),
    ("polariser", 1.3),
];

impl Missing {
    /// The table that would add it to a kit. Where a figure is missing that a kit must have, the lines are comments.
    pub fn table(&self) -> String {
        let name = super::quoted(&self.name);
        let head = format!("[[{}]]\nname = {name}\n", self.kind.as_str());
        let figure = self.figure.or_else(|| self.figure_in_name());
        let (line, whole) = match (self.kind, figure) {
            (ThingKind::Lens, Some(mm)) => (format!("focal_mm = {mm}\n"), true),
            (ThingKind::Lens, None) => ("focal_mm = 0        # how long is it?\n".to_owned(), false),
            (ThingKind::Film, Some(iso)) => (format!("iso = {}\n", iso.round() as u32), true),
            (ThingKind::Film, None) => ("iso = 0             # what stands on its box?\n".to_owned(), false),
            (ThingKind::Filter, _) => (self.filter_line(), true),
            (ThingKind::Flash, _) => (String::new(), true),
            (ThingKind::Converter, Some(times)) => (format!("times = {times}\n"), true),
            (ThingKind::Converter, None) => ("times = 0           # how many times longer?\n".to_owned(), false),
        };
        // A name that is a number alone is heard as that number; one of words is said as it is.
        let text = head + &line;
        if whole {
            return text;
        }
        text.lines().map(|l| format!("# {l}\n")).collect()
    }

    /// Whether [`Self::table`] is more than comments.
    pub fn is_whole(&self) -> bool {
        !self.table().starts_with('#')
    }

    fn filter_line(&self) -> String {
        if matches!(Density::of(&self.name), Some(Density::Stops(_))) {
            return String::new();
        }
        let usual = USUAL.iter().find(|(colour, _)| self.name.to_lowercase().contains(colour));
        match usual {
            Some((_, stops)) => format!("stops = {stops:.1}         # usual; what is engraved on yours counts\n"),
            None => "stops = 0           # what does it lose?\n".to_owned(),
        }
    }

    /// "Portmere four hundred" was written with its speed.
    fn figure_in_name(&self) -> Option<f64> {
        let figure = self.name.split_whitespace().rev().find_map(|w| w.parse::<f64>().ok())?;
        match self.kind {
            ThingKind::Film => (3.0..=6400.0).contains(&figure).then_some(figure),
            ThingKind::Lens => (8.0..=2000.0).contains(&figure).then_some(figure),
            _ => None,
        }
    }
}

/// `yellow filter (6 times)`.
impl fmt::Display for Missing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let kind = self.kind.as_str();
        f.write_str(&self.name)?;
        if self.kind == ThingKind::Lens && self.name.parse::<f64>().is_ok() {
            f.write_str(" mm")?;
        }
        if !self.name.to_lowercase().split_whitespace().any(|w| w == kind) {
            write!(f, " {kind}")?;
        }
        match self.times {
            1 => f.write_str(" (once)"),
            n => write!(f, " ({n} times)"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::Kit;
    use super::*;

    fn missing(kind: ThingKind, name: &str, figure: Option<f64>) -> Missing {
        Missing { kind, name: name.to_owned(), times: 3, figure }
    }

    #[test]
    fn what_is_whole_is_a_kit_and_what_is_not_is_a_comment() {
        for (m, whole) in [
            (missing(ThingKind::Filter, "yellow", None), true),
            (missing(ThingKind::Filter, "ND8", None), true),
            (missing(ThingKind::Filter, "mist", None), true),
            (missing(ThingKind::Lens, "90", Some(90.0)), true),
            (missing(ThingKind::Lens, "macro lens", None), false),
            (missing(ThingKind::Film, "lantern 400", None), true),
            (missing(ThingKind::Film, "old \"stock\"", None), false),
            (missing(ThingKind::Flash, "flash", None), true),
            (missing(ThingKind::Converter, "2x converter", Some(2.0)), true),
        ] {
            let kit = Kit::parse(&m.table()).unwrap();
            let things =
                kit.filters.len() + kit.lenses.len() + kit.films.len() + kit.flashes.len() + kit.converters.len();
            assert_eq!((m.is_whole(), things), (whole, usize::from(whole)), "{}", m.table());
        }
        assert_eq!(missing(ThingKind::Filter, "yellow", None).to_string(), "yellow filter (3 times)");
        assert_eq!(missing(ThingKind::Lens, "macro lens", None).to_string(), "macro lens (3 times)");
    }

    #[test]
    fn usual_losses_are_those_of_the_table() {
        // tests/reference/filter-factors.csv; the first row of each colour but for green, which is number 58.
        let table = include_str!("../../tests/reference/filter-factors.csv");
        let mut reader = csv::Reader::from_reader(table.as_bytes());
        let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
        for (colour, stops) in USUAL {
            let of = |r: &&csv::StringRecord| &r[2] == colour || &r[0] == colour;
            let given: Vec<f64> = rows.iter().filter(of).filter_map(|r| r[4].parse().ok()).collect();
            assert!(given.iter().any(|g| (g - stops).abs() < 0.06), "{colour}: {stops}, the table has {given:?}");
        }
    }
}
