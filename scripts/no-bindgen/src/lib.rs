//! Stands in for bindgen (see `[patch.crates-io]` in `Cargo.toml`).
//!
//! The build of the speech engine names bindgen and, told so by `.cargo/config.toml`, takes the bindings of its own package
//! instead. The real one and the nine packages behind it would be compiled for nothing. Here is just what that build
//! calls; should it ask for more one day, it does not compile, and this can go.

#![allow(missing_docs)]

use std::path::Path;

/// Why nothing is generated.
pub const WHY: &str = "bindgen is left out of this build: set WHISPER_DONT_GENERATE_BINDINGS=1";

pub struct RustTarget;

impl RustTarget {
    /// # Errors
    /// Never.
    pub fn stable(_minor: u64, _patch: u64) -> Result<Self, &'static str> {
        Ok(Self)
    }
}

pub enum RustEdition {
    Edition2021,
}

#[derive(Default)]
pub struct CargoCallbacks;

impl CargoCallbacks {
    #[must_use]
    pub fn new() -> Self {
        Self
    }
}

#[derive(Default)]
pub struct Builder;

impl Builder {
    #[must_use]
    pub fn rust_edition(self, _edition: RustEdition) -> Self {
        self
    }

    #[must_use]
    pub fn rust_target(self, _target: RustTarget) -> Self {
        self
    }

    #[must_use]
    pub fn header(self, _path: impl Into<String>) -> Self {
        self
    }

    #[must_use]
    pub fn clang_arg(self, _arg: impl Into<String>) -> Self {
        self
    }

    #[must_use]
    pub fn parse_callbacks(self, _callbacks: Box<CargoCallbacks>) -> Self {
        self
    }

    /// # Errors
    /// Always: the caller then takes the bindings of its package, and says so.
    pub fn generate(self) -> Result<Bindings, &'static str> {
        Err(WHY)
    }
}

/// There are none.
pub enum Bindings {}

impl Bindings {
    /// # Errors
    /// Never: there is nothing to call it on.
    pub fn write_to_file(&self, _path: impl AsRef<Path>) -> std::io::Result<()> {
        match *self {}
    }
}
