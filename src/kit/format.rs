//! Film formats: frame size and frames a roll.

use std::fmt;

use serde::Deserialize;

macro_rules! formats {
    ($($(#[$doc:meta])* $name:ident = $text:literal, $width:literal x $height:literal, $frames:literal, $sheet:literal);+ $(;)?) => {
        /// A film format, by its trade designation.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize)]
        pub enum Format { $($(#[$doc])* #[serde(rename = $text)] $name),+ }

        impl Format {
            /// Every format.
            pub const ALL: &'static [Self] = &[$(Self::$name),+];

            /// Trade designation.
            pub const fn as_str(self) -> &'static str {
                match self { $(Self::$name => $text),+ }
            }

            /// Image width and height in millimetres.
            pub const fn size_mm(self) -> (f64, f64) {
                match self { $(Self::$name => ($width, $height)),+ }
            }

            /// Frames on a usual roll; for sheets, holder sides in a usual case of holders.
            pub const fn frames(self) -> u16 {
                match self { $(Self::$name => $frames),+ }
            }

            /// Whether it is cut film, one picture a sheet.
            pub const fn is_sheet(self) -> bool {
                match self { $(Self::$name => $sheet),+ }
            }
        }
    };
}

// Source of sizes and counts: encyclopaedia articles "135 film", "120 film",
// "127 film", "Sheet film"; ISO 732:2000 and ISO 1007:2000. Sheets per case: common practice.
formats! {
    /// 24 × 36 mm.
    F135 = "135", 36.0 x 24.0, 36, false;
    /// 18 × 24 mm, half frame.
    Half = "135-half", 18.0 x 24.0, 72, false;
    /// 4 × 4 cm on 127 film.
    F127 = "127", 40.0 x 40.0, 12, false;
    /// 6 × 4.5 cm.
    F645 = "6x4.5", 41.5 x 56.0, 16, false;
    /// 6 × 6 cm.
    F66 = "6x6", 56.0 x 56.0, 12, false;
    /// 6 × 7 cm.
    F67 = "6x7", 70.0 x 56.0, 10, false;
    /// 6 × 8 cm.
    F68 = "6x8", 77.0 x 56.0, 9, false;
    /// 6 × 9 cm.
    F69 = "6x9", 84.0 x 56.0, 8, false;
    /// 6 × 12 cm.
    F612 = "6x12", 118.0 x 56.0, 6, false;
    /// 6 × 17 cm.
    F617 = "6x17", 168.0 x 56.0, 4, false;
    /// 4 × 5 inch sheet.
    S45 = "4x5", 127.0 x 101.6, 20, true;
    /// 5 × 7 inch sheet.
    S57 = "5x7", 177.8 x 127.0, 20, true;
    /// 8 × 10 inch sheet.
    S810 = "8x10", 254.0 x 203.2, 20, true;
}

impl Format {
    /// Whether a camera for it takes backs or holders, so that a film may leave it and come back: those of the small
    /// formats keep a film until it is done. Common practice.
    pub const fn comes_in_backs(self) -> bool {
        !matches!(self, Self::F135 | Self::Half | Self::F127)
    }

    /// Image diagonal in millimetres.
    pub fn diagonal_mm(self) -> f64 {
        let (w, h) = self.size_mm();
        w.hypot(h)
    }
}

impl fmt::Display for Format {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}
