//! A roll from everything that is known of it: each value settled from all its readings, what follows from them, and what
//! wants a look. Nothing is thrown away: what did not win stays beside what did.

mod edge_film;
mod matching;
#[cfg(test)]
mod matching_tests;
pub mod on_lens;
mod one_edge;
mod readings;
mod review;
mod timeline;

pub use matching::{MatchSettings, match_roll};
pub use on_lens::depth;
pub use one_edge::one_edge;
pub use review::review;
pub use timeline::ClipFacts;
