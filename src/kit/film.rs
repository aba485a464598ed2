//! Films: speed, rating, reciprocity.

use crate::exposure::{BoxSpeed, ExposureIndex};

/// A film.
#[derive(Debug, Clone)]
pub struct Film {
    /// As it stands in the output.
    pub name: String,
    /// What the photographer calls it.
    pub said: Vec<String>,
    /// Speed on the box.
    pub iso: BoxSpeed,
    /// How this photographer rates it, if other than the box.
    pub ei: Option<ExposureIndex>,
    /// Exponent of `t' = t^p`, if known.
    pub reciprocity_p: Option<f64>,
    /// Film code on the edge of 135 film, such as `115-4`.
    pub edge_code: Option<String>,
}
