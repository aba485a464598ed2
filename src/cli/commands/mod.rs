//! One file a command.

mod ingest;
mod model;
mod parse;
mod rebate;
mod shell;

pub use ingest::ingest;
pub use model::model;
pub use parse::parse;
pub use rebate::rebate_read;
pub use shell::{completions, man};
