//! Outputs as other programs see them: browser, metadata reader, file system.

mod browser;
mod fixture;
mod metadata;
mod pages;
mod review;
mod whole;
