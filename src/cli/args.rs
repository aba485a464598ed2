//! Arguments as typed. Nothing is looked up here; `settle` does that.

use std::path::PathBuf;

use clap::{ArgAction, Args, Parser, Subcommand};

/// Turns a film photographer's spoken notes, scans and edge prints into a
/// checked record of every frame. Works without a network.
#[derive(Debug, Parser)]
#[command(name = "spooltalk", version, propagate_version = true, max_term_width = 100)]
#[command(
    after_help = "Exit codes: 0 done; 1 done, but some input was unusable; 2 wrong usage; 3 nothing could be done."
)]
pub struct Cli {
    /// Say nothing but errors
    #[arg(short, long, global = true, conflicts_with = "verbose")]
    pub quiet: bool,
    /// Say more: -v what is done, -vv why
    #[arg(short, long, global = true, action = ArgAction::Count)]
    pub verbose: u8,
    /// What to do
    #[command(subcommand)]
    pub command: Command,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Read notes, one a line, and print one JSON object a line
    Parse(ParseArgs),
    /// Print a page of the manual
    Man(ManArgs),
    /// Print the completions for a shell
    Completions {
        /// Which shell
        shell: clap_complete::Shell,
    },
}

/// Arguments of `parse`.
#[derive(Debug, Args)]
pub struct ParseArgs {
    /// Text, one note a line; - for standard input
    #[arg(default_value = "-")]
    pub file: PathBuf,
    /// Kit file to use instead of the user's own
    #[arg(short, long, value_name = "FILE")]
    pub kit: Option<PathBuf>,
    /// Show for a person how each note was read, instead of JSON
    #[arg(long)]
    pub explain: bool,
}

/// Arguments of `man`.
#[derive(Debug, Args)]
pub struct ManArgs {
    /// The page of one command, such as `ingest` or `model import`; without it the program's own
    pub command: Vec<String>,
}
