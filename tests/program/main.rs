//! The program as its users meet it: every test has its own trip and no network.

mod builder;
mod errors;
mod imports;
mod tables;
