//! The tables and keys of `kit.toml` as they are written, before anything is asked of them.

use serde::Deserialize;
use toml::Spanned;

use crate::exposure::{ApertureStep, ShutterStep};
use crate::facts::Field;

use super::Format;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawKit {
    #[serde(default)]
    pub camera: Vec<Spanned<RawCamera>>,
    #[serde(default)]
    pub lens: Vec<Spanned<RawLens>>,
    #[serde(default)]
    pub film: Vec<Spanned<RawFilm>>,
    #[serde(default)]
    pub filter: Vec<Spanned<RawFilter>>,
    #[serde(default)]
    pub flash: Vec<Spanned<RawNamed>>,
    #[serde(default)]
    pub converter: Vec<Spanned<RawConverter>>,
    #[serde(default)]
    pub bellows: Vec<Spanned<RawBellows>>,
    #[serde(default)]
    pub back: Vec<Spanned<RawBack>>,
    #[serde(default)]
    pub place: Vec<Spanned<RawPlace>>,
    pub photographer: Option<RawHabits>,
    #[serde(default)]
    pub scans: RawScans,
    #[serde(default)]
    pub settle: RawSettle,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawCamera {
    pub name: Spanned<String>,
    #[serde(default)]
    pub said: Vec<Spanned<String>>,
    pub format: Format,
    pub frames: Option<u16>,
    pub shutters: Option<[String; 2]>,
    pub shutter_step: Option<ShutterStep>,
    pub marks: Option<Vec<String>>,
    pub leaf_max: Option<String>,
    pub flash_sync: Option<String>,
    pub holders: Option<u16>,
    pub imprint: Option<Spanned<String>>,
}

#[derive(Deserialize)]
#[serde(untagged, expecting = "expected a focal length in mm such as 75, or [80, 200] for a zoom")]
pub(super) enum RawFocal {
    Prime(f64),
    Zoom([f64; 2]),
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawLens {
    pub name: Spanned<String>,
    #[serde(default)]
    pub said: Vec<Spanned<String>>,
    pub focal_mm: RawFocal,
    pub widest: Option<f64>,
    pub smallest: Option<f64>,
    pub aperture_step: Option<ApertureStep>,
    pub filter: Option<String>,
    #[serde(default)]
    pub cameras: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawFilm {
    pub name: Spanned<String>,
    #[serde(default)]
    pub said: Vec<Spanned<String>>,
    pub iso: u32,
    pub ei: Option<u32>,
    pub reciprocity_p: Option<f64>,
    pub edge_code: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawFilter {
    pub name: Spanned<String>,
    #[serde(default)]
    pub said: Vec<Spanned<String>>,
    pub stops: Option<f64>,
    pub factor: Option<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawNamed {
    pub name: Spanned<String>,
    #[serde(default)]
    pub said: Vec<Spanned<String>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawConverter {
    pub name: Spanned<String>,
    #[serde(default)]
    pub said: Vec<Spanned<String>>,
    pub times: f64,
    pub stops: Option<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawBellows {
    pub name: Spanned<String>,
    #[serde(default)]
    pub said: Vec<Spanned<String>>,
    pub longest_mm: Option<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawBack {
    pub name: Spanned<String>,
    #[serde(default)]
    pub said: Vec<Spanned<String>>,
    pub camera: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawPlace {
    pub name: Spanned<String>,
    #[serde(default)]
    pub said: Vec<Spanned<String>>,
    pub lat: Option<f64>,
    pub lon: Option<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawHabits {
    pub frame_counts_from: Option<Spanned<i64>>,
    pub timezone: Option<Spanned<String>>,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
pub(super) struct RawScans {
    #[serde(default)]
    pub patterns: Vec<String>,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
pub(super) struct RawSettle {
    #[serde(default)]
    pub trust_voice: Vec<Field>,
    pub unsure_below: Option<Spanned<f64>>,
}
