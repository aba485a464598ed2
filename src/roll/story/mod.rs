//! The story of a trip: what was said, clip after clip, becomes frames on rolls.
//!
//! There is one state (cameras, what is on each, each roll's counter, which camera is spoken of);
//! statements change it, each with its reach. Corrections change rows, never the state.

mod beside;
mod cut;
mod describe;
mod developed;
mod doubt;
mod ear;
mod facts;
mod folders;
mod gear;
mod hear;
mod joined;
mod late;
mod missing;
mod noted;
mod numbers;
mod rows;
mod shots;
mod speaks;
mod state;
mod statement;
mod sure;
mod tape;
mod teller;
mod window;

pub(super) use beside::{beside, converted};
pub use teller::Builder;
