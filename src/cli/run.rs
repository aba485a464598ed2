//! From arguments to an exit code.

use std::ffi::OsString;

use clap::Parser;
use tracing_subscriber::filter::LevelFilter;

use super::args::{Cli, Command, RebateCommand};
use super::failure::Failure;
use super::progress::Bar;
use super::{Exit, commands};

/// Runs the program with these arguments, its own name first.
pub fn run(args: impl IntoIterator<Item = OsString>) -> Exit {
    let cli = match Cli::try_parse_from(args) {
        Ok(cli) => cli,
        Err(e) => {
            // Help and version come this way too; a reader that has gone is no fault.
            let _ = e.print();
            return if e.use_stderr() { Exit::Usage } else { Exit::Done };
        }
    };
    let bar = Bar::new(cli.quiet);
    tell(cli.quiet, cli.verbose, bar.clone());
    let ended = command(cli, &bar);
    bar.clear();
    ended.unwrap_or_else(|Failure { exit, why }| {
        eprintln!("spooltalk: {why}");
        exit
    })
}

fn command(cli: Cli, bar: &Bar) -> Result<Exit, Failure> {
    match cli.command {
        Command::Ingest(args) => commands::ingest(&args, bar, cli.quiet),
        Command::Init(args) => commands::init(&args),
        Command::Kit(command) => commands::kit(&command),
        Command::Review(args) => commands::review(&args, cli.quiet),
        Command::Explain(args) => commands::explain(&args),
        Command::Find(args) => commands::find(&args),
        Command::Edits(args) => commands::edits(&args),
        Command::Habits(args) => commands::habits(&args),
        Command::Archive(command) => commands::archive(&command),
        Command::Model(command) => commands::model(&command),
        Command::Rebate(RebateCommand::Read(args)) => commands::rebate_read(&args),
        Command::Parse(args) => commands::parse(&args),
        Command::Man(args) => commands::man(&args),
        Command::Completions { shell } => commands::completions(shell),
    }
}

/// Sets up what `-q` and `-v` say, on standard error.
fn tell(quiet: bool, verbose: u8, above: Bar) {
    let level = match (quiet, verbose) {
        (true, _) => LevelFilter::ERROR,
        (_, 0) => LevelFilter::WARN,
        (_, 1) => LevelFilter::INFO,
        (_, 2) => LevelFilter::DEBUG,
        _ => LevelFilter::TRACE,
    };
    // A second run in one process, as in tests, keeps the first setting.
    let _ = tracing_subscriber::fmt()
        .with_max_level(level)
        .with_writer(above)
        .without_time()
        .with_target(false)
        .with_ansi(std::io::IsTerminal::is_terminal(&std::io::stderr()))
        .try_init();
}
