//! Frames on the film of one camera: the record, and how it comes about from
//! what was said, scanned and printed on the edge.

mod account;
mod align;
mod by_light;
mod context;
mod developed;
mod distinct;
mod edge_film;
mod evidence;
mod extras;
mod film;
mod ground;
mod hanging;
mod matching;
#[cfg(test)]
mod matching_tests;
mod misfit;
pub mod note;
mod noted;
mod one_edge;
mod pairing;
mod product;
mod record;
mod review;
mod settle;
mod solve;
pub mod story;
mod timeline;
mod weights;

pub use account::Unaccounted;
pub use context::settle_again;
pub use developed::Developed;
pub use distinct::distinct_names;
pub use extras::{Draw, Extras, Focus, OnLens, depth};
pub use ground::Ground;
pub use hanging::HANGS_ON_NUMBER;
pub use matching::{MatchSettings, match_roll};
pub use misfit::{flag_unplaced, is_unplaced};
pub use noted::{NotedFrame, NotedRoll};
pub use one_edge::one_edge;
pub use pairing::{RollParts, pair_rolls};
pub use record::{EdgeRead, Frame, Quote, Roll, Status, Trip};
pub use review::review;
pub use timeline::ClipFacts;
