//! spooltalk.
pub mod facts;
pub mod audio;
pub mod speech;
/// Version.
pub const VERSION: &str = env!("CARGO_PKG_VERSION");
