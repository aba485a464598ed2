//! Outputs as other programs see them: browser, metadata reader, file system.

mod fixture;
mod whole;
