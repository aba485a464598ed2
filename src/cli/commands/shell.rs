//! `spooltalk completions` and `spooltalk man`: made from the arguments themselves.

use clap::CommandFactory;

use crate::cli::Exit;
use crate::cli::args::{Cli, ManArgs};
use crate::cli::failure::Failure;
use crate::cli::print;

/// Prints the completions for a shell.
pub fn completions(shell: clap_complete::Shell) -> Result<Exit, Failure> {
    let mut page = Vec::new();
    clap_complete::generate(shell, &mut Cli::command(), "spooltalk", &mut page);
    print::bytes(&page)
}

/// Prints the page of the program or of one of its commands.
pub fn man(args: &ManArgs) -> Result<Exit, Failure> {
    let mut command = Cli::command();
    command.build();
    for step in &args.command {
        command = command.find_subcommand(step).cloned().ok_or_else(|| {
            Failure::usage(format_args!("no command '{}': see `spooltalk help`", args.command.join(" ")))
        })?;
    }
    let mut page = Vec::new();
    clap_mangen::Man::new(command).render(&mut page).map_err(Failure::nothing)?;
    print::bytes(&page)
}
