//! Frames on the film of one camera: the record, and how it comes about from
//! what was said, scanned and printed on the edge.

mod account;
mod align;
pub mod build;
mod build_acts;
mod build_dials;
mod build_rolls;
mod by_light;
mod change;
mod context;
mod distinct;
mod doubts;
mod draft;
mod edge_film;
mod evidence;
mod film;
mod matching;
#[cfg(test)]
mod matching_tests;
mod merge;
pub mod note;
mod noted;
mod one_edge;
mod pairing;
mod product;
mod record;
mod review;
mod said;
mod settle;
mod shots;
mod shots_dials;
mod shots_gear;
mod solve;
pub mod story;
mod timeline;
mod weights;

pub use account::Unaccounted;
pub use distinct::distinct_names;
pub use matching::{MatchSettings, match_roll};
pub use noted::{NotedFrame, NotedRoll};
pub use one_edge::one_edge;
pub use pairing::{RollParts, pair_rolls};
pub use record::{Frame, Quote, Roll, Status, Trip};
pub use review::review;
pub use timeline::ClipFacts;
