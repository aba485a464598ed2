//! What can be said beside the settings, by the names of `asides.txt`.

use std::ops::Range;

macro_rules! kinds {
    ($($name:ident = $text:literal),+ $(,)?) => {
        /// What an aside tells.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        #[allow(missing_docs, reason = "named as in the grammar")]
        pub enum AsideKind { $($name),+, Place }

        impl AsideKind {
            pub(in crate::language) fn named(text: &str) -> Option<Self> {
                match text { $($text => Some(Self::$name),)+ _ => None }
            }
        }
    };
}

kinds! {
    Flash = "flash", NoFlash = "flash-none",
    Converter = "converter", ConverterOn = "converter-on", ConverterTimes = "converter-times", ConverterOff = "converter-off",
    Extension = "extension", ExtensionCm = "extension-cm", ExtensionDouble = "extension-double",
    ExtensionTimes = "extension-times", Tube = "tube", BellowsFactor = "bellows-factor",
    BellowsStops = "bellows-stops", Bellows = "bellows",
    SelfTimer = "self-timer", NoSelfTimer = "self-timer-none",
    Focus = "focus", FocusCm = "focus-cm", FocusFeet = "focus-feet", FocusInfinity = "focus-infinity",
    Developed = "developed", Sleeve = "sleeve", Celsius = "celsius", Fahrenheit = "fahrenheit",
    Dilution = "dilution", RollNamed = "roll-named",
    Rating = "rating", Print = "print", NoPrint = "print-none",
}

impl AsideKind {
    /// Whether it only means something where developing is told.
    pub const fn is_of_developing(self) -> bool {
        matches!(
            self,
            Self::Developed | Self::Sleeve | Self::Celsius | Self::Fahrenheit | Self::Dilution | Self::RollNamed
        )
    }
}

/// One thing said beside the settings.
#[derive(Debug, Clone, PartialEq)]
pub struct Aside {
    /// What it tells.
    pub kind: AsideKind,
    /// The figure said, if one was.
    pub value: Option<f64>,
    /// The second figure, if there is one.
    pub second: Option<f64>,
    /// The thing of the kit that is named, by its place among its like.
    pub gear: Option<usize>,
    /// How sure it is, 0 to 1.
    pub sure: f64,
    /// Its tokens.
    pub tokens: Range<usize>,
}
