//! Speech models on disk: where they lie, whether they are sound, and how other
//! files become one. Whatever comes in, a ggml file goes into the store. What is known of a trade's words
//! lies apart from the models, and is added when one is loaded.

mod ct2;
mod ear;
mod error;
mod gather;
mod ggml;
mod import;
mod mel;
mod quantise;
mod store;
mod vocabulary;

pub use ear::Ear;
pub use error::ModelError;
pub use ggml::{About, Weights};
pub use import::import;
pub use store::{Listed, Store};
