//! What was between lens and film or beside them, and what was said of a frame beyond its settings.

use serde::{Deserialize, Serialize};

use crate::exposure::Stops;

/// A converter on the lens.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OnLens {
    /// Its kit name, or as said.
    pub name: String,
    /// How many times longer it makes the lens, where that is known.
    pub times: Option<f64>,
    /// Light lost, where that is known.
    pub lost: Option<Stops>,
}

/// How far the lens was drawn out beyond where it is sharp at infinity.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Draw {
    /// The distance from lens to film, mm.
    Extension(f64),
    /// The same in focal lengths.
    FocalLengths(f64),
    /// Tubes of so many mm between lens and camera.
    Tube(f64),
    /// So many times the exposure.
    Factor(f64),
    /// So many stops.
    Lost(Stops),
    /// Drawn out, not said how far.
    Unknown,
}

/// What the lens was focused at.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Focus {
    /// Metres.
    Metres(f64),
    /// Infinity.
    Infinity,
}

/// Beside the settings of a frame. Nothing that was not said is in it.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Extras {
    /// The flash that was used, by its kit name or `flash`.
    pub flash: Option<String>,
    /// The converter on the lens.
    pub converter: Option<OnLens>,
    /// How far the lens was drawn out.
    pub draw: Option<Draw>,
    /// Light lost to that, where it is known.
    pub draw_lost: Option<Stops>,
    /// It was taken by the self-timer.
    pub self_timer: bool,
    /// What the lens was focused at.
    pub focus: Option<Focus>,
    /// From where to where it is sharp, metres; far is none at infinity. From focus, focal length, aperture and format.
    pub sharp: Option<(f64, Option<f64>)>,
    /// A print of it is wanted.
    pub print: bool,
}

impl Extras {
    /// Whether nothing was said.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// Light lost to converter and bellows; none where something is on that loses an unknown amount.
    pub fn lost(&self) -> Option<Stops> {
        let converter = self.converter.as_ref().map_or(Some(Stops::ZERO), |c| c.lost)?;
        let draw = self.draw.map_or(Some(Stops::ZERO), |_| self.draw_lost)?;
        Some(Stops::new(converter.get() + draw.get()))
    }

    /// As [`Self::lost`], none too where neither is on.
    pub fn cost(&self) -> Option<Stops> {
        (self.converter.is_some() || self.draw.is_some()).then(|| self.lost()).flatten()
    }

    /// What is on or was used, as the table has it.
    pub fn names(&self) -> Vec<String> {
        let draw = self.draw.map(|d| match d {
            Draw::Extension(mm) => format!("bellows {mm} mm"),
            Draw::FocalLengths(n) => format!("bellows {n} focal lengths"),
            Draw::Tube(mm) => format!("tube {mm} mm"),
            Draw::Factor(n) => format!("bellows factor {n}"),
            Draw::Lost(_) | Draw::Unknown => "bellows".to_owned(),
        });
        let converter = self.converter.as_ref().map(|c| c.name.clone());
        let timer = self.self_timer.then(|| "self-timer".to_owned());
        let print = self.print.then(|| "print".to_owned());
        [self.flash.clone(), converter, draw, timer, print].into_iter().flatten().collect()
    }
}
