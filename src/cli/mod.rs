//! The command line: arguments to commands, results to the terminal.
//! Only this room prints, reads the environment, or knows exit codes.

mod args;
mod commands;
mod exit;
mod failure;
mod grammar;
mod large_pages;
mod phone;
mod places;
mod print;
mod progress;
mod run;
mod settings;
mod settle;
mod show;

pub use exit::Exit;
pub use large_pages::begin_with_large_pages;
pub use run::run;
