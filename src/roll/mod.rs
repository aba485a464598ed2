//! Frames on the film of one camera: the record, and how it comes about from
//! what was said, scanned and printed on the edge.

mod align;
pub mod build;
mod noted;
mod record;

pub use noted::{NotedFrame, NotedRoll};
pub use record::{Frame, Quote, Roll, Status, Trip};
