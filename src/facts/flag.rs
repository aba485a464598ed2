//! What wants a look.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

macro_rules! fields {
    ($($(#[$doc:meta])* $name:ident = $text:literal),+ $(,)?) => {
        /// A field of a frame, named as its column.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(rename_all = "snake_case")]
        pub enum Field { $($(#[$doc])* $name),+ }

        impl Field {
            /// Every field, in the order of the columns.
            pub const ALL: &'static [Self] = &[$(Self::$name),+];

            /// The column's name.
            pub const fn as_str(self) -> &'static str {
                match self { $(Self::$name => $text),+ }
            }
        }
    };
}

fields! {
    /// Roll.
    Roll = "roll",
    /// Frame number.
    Frame = "frame",
    /// What became of it.
    Status = "status",
    /// Scan files.
    Scan = "scan",
    /// When.
    Taken = "taken",
    /// Camera.
    Camera = "camera",
    /// Lens.
    Lens = "lens",
    /// Film.
    Film = "film",
    /// Focal length.
    FocalMm = "focal_mm",
    /// Box speed.
    BoxIso = "box_iso",
    /// Exposure index.
    Ei = "ei",
    /// Shutter.
    Shutter = "shutter",
    /// Aperture.
    Aperture = "aperture",
    /// Filter.
    Filter = "filter",
    /// Compensation.
    CompStops = "comp_stops",
    /// Light.
    Light = "light",
    /// Support.
    Support = "support",
    /// Subject.
    Subject = "subject",
    /// Place.
    Place = "place",
    /// Process.
    Process = "process",
    /// Flash, converter, bellows.
    Extras = "extras",
}

impl fmt::Display for Field {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

impl FromStr for Field {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        Self::ALL.iter().copied().find(|f| f.as_str() == text).ok_or(())
    }
}

/// A code in the `flags` column.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum Flag {
    /// Below the confidence that the user set.
    Unsure(Field),
    /// Two sources disagree.
    Conflict(Field),
    /// Outside what the gear can do, or unusual for the light.
    Odd(Field),
    /// Slower than the hand-holding rule.
    Shake,
    /// Not said for this frame, carried from an earlier one.
    Carried(Field),
    /// Matched to its scan on weak evidence.
    GuessScan,
    /// The clip that it was told in is gone; its words were kept.
    GoneClip,
}

impl Flag {
    /// The field that it is about, if it is about one alone.
    pub const fn field(self) -> Option<Field> {
        match self {
            Self::Unsure(x) | Self::Conflict(x) | Self::Odd(x) | Self::Carried(x) => Some(x),
            Self::Shake | Self::GuessScan | Self::GoneClip => None,
        }
    }
}

impl fmt::Display for Flag {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unsure(x) => write!(f, "unsure:{x}"),
            Self::Conflict(x) => write!(f, "conflict:{x}"),
            Self::Odd(x) => write!(f, "odd:{x}"),
            Self::Shake => f.write_str("shake"),
            Self::Carried(x) => write!(f, "carried:{x}"),
            Self::GuessScan => f.write_str("guess:scan"),
            Self::GoneClip => f.write_str("gone:clip"),
        }
    }
}

impl FromStr for Flag {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        let bad = || format!("'{text}' is no flag");
        match text.split_once(':') {
            None if text == "shake" => Ok(Self::Shake),
            Some(("guess", "scan")) => Ok(Self::GuessScan),
            Some(("gone", "clip")) => Ok(Self::GoneClip),
            Some((kind, field)) => {
                let field: Field = field.parse().map_err(|()| bad())?;
                match kind {
                    "unsure" => Ok(Self::Unsure(field)),
                    "conflict" => Ok(Self::Conflict(field)),
                    "odd" => Ok(Self::Odd(field)),
                    "carried" => Ok(Self::Carried(field)),
                    _ => Err(bad()),
                }
            }
            None => Err(bad()),
        }
    }
}

impl TryFrom<String> for Flag {
    type Error = String;
    fn try_from(text: String) -> Result<Self, String> {
        text.parse()
    }
}

impl From<Flag> for String {
    fn from(flag: Flag) -> Self {
        flag.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_flag_reads_back() {
        let mut all = vec![Flag::Shake, Flag::GuessScan, Flag::GoneClip];
        for &f in Field::ALL {
            all.extend([Flag::Unsure(f), Flag::Conflict(f), Flag::Odd(f), Flag::Carried(f)]);
        }
        for flag in all {
            assert_eq!(flag.to_string().parse::<Flag>(), Ok(flag));
        }
        assert!("unsure:moon".parse::<Flag>().is_err());
        assert!("".parse::<Flag>().is_err());
    }
}
