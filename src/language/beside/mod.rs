//! What is said beside the settings, for which the reader has no purpose: found by phrases of their own. Adds no word that
//! the reader would see, and works nothing out of what was said.

mod aside;
mod find;

pub use aside::{Aside, AsideKind};
pub use find::Asides;
