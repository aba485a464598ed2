//! Speech models on disk: where they lie, whether they are sound, and how other
//! files become one. Whatever comes in, a ggml file goes into the store.

mod ct2;
mod error;
mod gather;
mod ggml;
mod import;
mod mel;
mod quantise;
mod store;
mod vocabulary;

pub use error::ModelError;
pub use ggml::{About, Weights};
pub use import::import;
pub use store::{Listed, Store};
