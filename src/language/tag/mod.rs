//! The learned reader: for every token of a text, what it is for, whether it was
//! done, whether a frame begins, and which values go with which frame. It gives
//! probabilities and never chooses; it knows no values, they are the rules'.

pub mod features;
mod mention;
mod net;
mod pieces;
mod reader;
mod weights;

pub use features::{features, names};
pub use mention::{Effect, Mention, Role};
pub use pieces::Pieces;
pub use reader::{Read, Reader};
pub use weights::{Weights, WeightsError};
