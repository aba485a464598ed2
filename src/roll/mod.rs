//! Frames on the film of one camera: the record, and how it comes about from
//! what was said, scanned and printed on the edge.
//!
//! Sub-rooms stand in the order in which a roll comes about, and each uses only those above it: record, value, story,
//! film, settle; then one note read on its own.

mod record;

mod value;

pub mod story;

mod film;

mod settle;

pub mod note;

pub use film::{RollParts, Unaccounted, flag_unplaced, is_unplaced, pair_rolls};
pub use record::{
    Developed, Draw, EdgeRead, Extras, Focus, Frame, Ground, HANGS_ON_NUMBER, NotedFrame, NotedRoll, OnLens, Quote,
    Roll, Status, Trip, distinct_names,
};
pub use settle::{ClipFacts, MatchSettings, depth, match_roll, one_edge, review};
pub use value::settle_again;
