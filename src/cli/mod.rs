//! The command line: arguments to commands, results to the terminal.
//! Only this room prints, reads the environment, or knows exit codes.

mod args;
mod commands;
mod exit;
mod failure;
mod print;
mod progress;
mod run;
mod settle;

pub use exit::Exit;
pub use run::run;
