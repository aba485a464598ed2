//! The daylight rule: what a light usually asks for.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::{ExposureValue, Stops};

macro_rules! lights {
    ($($(#[$doc:meta])* $name:ident = $text:literal, $low:literal, $high:literal;)+) => {
        /// A light by its usual name.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
        #[serde(try_from = "String", into = "String")]
        pub enum Light { $($(#[$doc])* $name),+ }

        impl Light {
            /// Every light, about from bright to dark.
            pub const ALL: &'static [Self] = &[$(Self::$name),+];

            /// As the `light` column has it.
            pub const fn as_str(self) -> &'static str {
                match self { $(Self::$name => $text),+ }
            }

            /// The range of EV at ISO 100 that it usually asks for, darkest first.
            pub const fn ev100(self) -> (ExposureValue, ExposureValue) {
                match self { $(Self::$name => (ExposureValue::new($low), ExposureValue::new($high))),+ }
            }
        }
    };
}

// Sources: NAVEDTRA 14262 p. 7-27 (apertures for daylight) and the encyclopaedia's "Exposure
// value" table 2, after ANSI PH2.7-1973 and -1986, as in tests/reference/daylight-rule.csv.
// "Common practice" where a line says so.
lights! {
    /// Sun on light sand or snow.
    SunOnSand = "sun on sand", 16.0, 16.0;
    /// Bright sun from the front.
    FullSun = "full sun", 15.0, 15.0;
    /// Weak sun, soft shadows; cloudy but bright.
    HazySun = "hazy sun", 14.0, 14.0;
    /// The sun from the side: one less.
    SideLight = "side light", 14.0, 14.0;
    /// Against the light: two less.
    Backlit = "backlit", 13.0, 13.0;
    /// Clouds that still throw light, no shadows.
    CloudyBright = "cloudy bright", 13.0, 13.0;
    /// Clouds. Between the two tables, "cloudy" 13 and "heavy overcast" 12: speakers mean either.
    Overcast = "overcast", 12.0, 13.0;
    /// Dark clouds.
    HeavyOvercast = "heavy overcast", 12.0, 12.0;
    /// In the shade under clear sky: f/5.6 in the tables, f/4 in a second tradition (common practice).
    OpenShade = "open shade", 11.0, 12.0;
    /// Shade under trees or roofs. Common practice.
    DeepShade = "deep shade", 10.0, 11.0;
    /// Mist and fog by day. Common practice.
    Fog = "fog", 11.0, 13.0;
    /// Rain by day. Common practice.
    Rain = "rain", 10.0, 12.0;
    /// The last or first hour of sun.
    GoldenHour = "golden hour", 12.0, 14.0;
    /// The sun low, yet no sunset. As the hour before it.
    LowSun = "low sun", 12.0, 14.0;
    /// The setting sun: 12 to 14 just before, 12 at sunset, f/4 by the rule's last line.
    Sunset = "sunset", 11.0, 14.0;
    /// Just after sunset; later it falls without end, so the range is wide below. Common practice from 9 down.
    Dusk = "dusk", 5.0, 11.0;
    /// Just before sunrise. As dusk; common practice.
    Dawn = "dawn", 5.0, 11.0;
    /// The sky still blue, lamps lit. Common practice.
    BlueHour = "blue hour", 4.0, 9.0;
    /// Neon and other bright signs.
    Neon = "neon", 9.0, 10.0;
    /// A stage or a sports hall.
    Stage = "stage light", 8.0, 9.0;
    /// Bonfires, burning buildings.
    Firelight = "firelight", 9.0, 9.0;
    /// Streets and windows at night.
    StreetNight = "street light", 5.0, 8.0;
    /// Buildings under floodlights.
    Floodlit = "floodlit", 3.0, 5.0;
    /// Rooms without a more exact word: homes 5 to 7, work areas to 8, galleries to 11.
    Indoors = "indoors", 5.0, 11.0;
    /// A room by its window. Common practice: church or barn 3 to 6, nearer the window more.
    WindowLight = "window light", 3.0, 9.0;
    /// By candles.
    Candlelight = "candlelight", 4.0, 4.0;
    /// Night without a more exact word: from the moon, −6, to bright streets, 8.
    Night = "night", -6.0, 8.0;
    /// Land under the moon: full −2 to a quarter −6.
    Moonlight = "moonlight", -6.0, -2.0;
    /// Northern lights.
    Aurora = "aurora", -6.0, -3.0;
}

/// Stops within which a frame agrees with the rule. Source: encyclopaedia "Exposure value".
pub const RULE_TOLERANCE: Stops = Stops::new(1.0);

impl Light {
    /// How much more light a frame got than this light asks for, where the scene was
    /// metered at `scene` (see [`scene_ev100`](super::scene_ev100)). Zero anywhere within
    /// the light's range; plus is over, minus is under.
    ///
    /// ```
    /// use spooltalk::exposure::{ExposureValue, Light, Stops};
    /// assert_eq!(Light::FullSun.over_rule(ExposureValue::new(13.0)), Stops::new(2.0));
    /// assert_eq!(Light::OpenShade.over_rule(ExposureValue::new(11.4)), Stops::ZERO);
    /// ```
    pub fn over_rule(self, scene: ExposureValue) -> Stops {
        let (dark, bright) = self.ev100();
        if scene < dark {
            scene.over(dark)
        } else if scene > bright {
            scene.over(bright)
        } else {
            Stops::ZERO
        }
    }
}

impl fmt::Display for Light {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

/// A text that names no light.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("'{0}' names no light the daylight rule knows")]
pub struct LightError(pub String);

impl FromStr for Light {
    type Err = LightError;

    fn from_str(text: &str) -> Result<Self, LightError> {
        let name = text.trim().to_lowercase();
        Self::ALL.iter().copied().find(|l| l.as_str() == name).ok_or_else(|| LightError(text.to_owned()))
    }
}

impl TryFrom<String> for Light {
    type Error = LightError;
    fn try_from(text: String) -> Result<Self, LightError> {
        text.parse()
    }
}

impl From<Light> for String {
    fn from(light: Light) -> Self {
        light.as_str().to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_light_reads_back_and_has_a_range() {
        for &light in Light::ALL {
            assert_eq!(light.to_string().parse(), Ok(light));
            let (dark, bright) = light.ev100();
            assert!(dark <= bright, "{light}");
            assert_eq!(light.over_rule(dark), Stops::ZERO);
            assert_eq!(light.over_rule(bright.opened_by(Stops::new(-1.0))), Stops::new(-1.0), "{light}");
        }
        assert!("moon".parse::<Light>().is_err());
    }
}
