//! spooltalk.
/// Version.
pub const VERSION: &str = env!("CARGO_PKG_VERSION");
