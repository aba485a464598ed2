//! spooltalk: from a photographer's spoken notes, scans and edge prints to a
//! checked record of every frame.
//!
//! Data goes one way: clips → words → mentions → statements → frames → rolls
//! matched with scans and edge prints → settled rows → tables, pages, sidecars,
//! archive. Rooms stand in import order: each uses only rooms above it.

pub mod archive;
pub mod audio;
pub mod cli;
pub mod edits;
pub mod exposure;
pub mod facts;
pub mod kit;
pub mod language;
pub mod output;
pub mod pictures;
pub mod pipeline;
pub mod plan;
pub mod rebate;
pub mod report;
pub mod review;
pub mod roll;
pub mod scans;
pub mod speech;
pub mod trip;

/// Version of the program.
pub const VERSION: &str = env!("CARGO_PKG_VERSION");
