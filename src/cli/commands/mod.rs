//! One file a command.

mod archive;
mod check;
mod edits;
mod explain;
mod find;
mod habits;
mod ingest;
mod init;
mod kit;
mod model;
mod parse;
mod rebate;
mod review;
mod shell;
mod watch;

pub use archive::archive;
pub use edits::edits;
pub use explain::explain;
pub use find::find;
pub use habits::habits;
pub use ingest::ingest;
pub use init::init;
pub use kit::kit;
pub use model::model;
pub use parse::parse;
pub use rebate::rebate_read;
pub use review::review;
pub use shell::{completions, man};
