//! The program as its users meet it: every test has its own trip and no network.

mod builder;
mod imports;
mod tables;
