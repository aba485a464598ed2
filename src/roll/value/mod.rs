//! What each part of the evidence for a heard value counts, and what the frames around it and the light say of it. Knows
//! values and their readings; which words they came from, and which scan they are on, is nothing to it.

mod by_light;
mod context;
mod weights;

pub use by_light::over_rule;
pub use context::{settle_again, weigh_in_context};
pub use weights::{mended_right, sound_weight, words_right};
