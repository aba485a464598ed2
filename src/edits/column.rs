//! The columns that may be edited, and what their cells are.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::cell::{self, Kind, Sameness};
use super::understood::Understood;

macro_rules! columns {
    ($($name:ident = $text:literal, $kind:ident;)+) => {
        /// A column that may be edited, in the order of the table.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(rename_all = "snake_case")]
        #[allow(missing_docs, reason = "named as in the table")]
        pub enum Column { $($name),+ }

        impl Column {
            /// Every one, in the order of the table.
            pub const ALL: &'static [Self] = &[$(Self::$name),+];

            /// Its name in the table.
            pub const fn as_str(self) -> &'static str {
                match self { $(Self::$name => $text),+ }
            }

            const fn kind(self) -> Kind {
                match self { $(Self::$name => Kind::$kind),+ }
            }
        }
    };
}

columns! {
    Roll = "roll", Name;
    Frame = "frame", Number;
    Status = "status", Status;
    Scan = "scan", Scan;
    Taken = "taken", Taken;
    Camera = "camera", Name;
    Lens = "lens", Name;
    Film = "film", Name;
    FocalMm = "focal_mm", Positive;
    BoxIso = "box_iso", Speed;
    Ei = "ei", Speed;
    Shutter = "shutter", Shutter;
    Aperture = "aperture", Aperture;
    Filter = "filter", Filter;
    FilterStops = "filter_stops", Stops;
    CompStops = "comp_stops", Stops;
    Light = "light", Name;
    Support = "support", Name;
    Subject = "subject", Text;
    Place = "place", Text;
    Lat = "lat", Degrees;
    Lon = "lon", Degrees;
    Process = "process", Name;
    Flags = "flags", Flags;
    Rating = "rating", Rating;
    Remark = "remark", Text;
}

impl Column {
    /// Columns of values: all but those that say which frame it is, and the flags.
    pub fn values() -> impl Iterator<Item = Self> {
        Self::ALL.iter().copied().filter(|c| !matches!(c, Self::Roll | Self::Frame | Self::Flags))
    }

    /// Whether it bears on the exposure that a frame was given or needed.
    pub const fn bears_on_exposure(self) -> bool {
        matches!(self, Self::Shutter | Self::Aperture | Self::Ei | Self::Filter | Self::CompStops | Self::Light)
    }

    /// Whether a cell that read `was` still means it.
    pub(super) fn same(self, was: &str, cell: &str) -> Sameness {
        cell::same(self.kind(), was, cell)
    }

    /// What a changed cell means, in the table's own form.
    ///
    /// # Errors
    /// What is wrong with it and what would do.
    pub fn understood(self, was: &str, cell: &str) -> Result<String, String> {
        self.read(was, cell).map(|u| u.text)
    }

    /// What a changed cell means.
    pub(super) fn read(self, was: &str, cell: &str) -> Result<Understood, String> {
        cell::read(self.kind(), was, cell)
    }
}

impl fmt::Display for Column {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

#[cfg(test)]
mod tests {
    use crate::facts::COLUMNS;
    use crate::output::OWN_COLUMNS;

    use super::Column;

    #[test]
    fn every_column_stands_in_the_table_in_this_order() {
        let table: Vec<&str> = COLUMNS.into_iter().chain(OWN_COLUMNS).collect();
        let at: Vec<usize> = Column::ALL.iter().map(|c| table.iter().position(|t| *t == c.as_str()).unwrap()).collect();
        assert!(at.is_sorted());
    }
}
