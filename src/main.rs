//! Arguments in, exit code out.

use std::process::ExitCode;

fn main() -> ExitCode {
    spooltalk::cli::begin_with_large_pages();
    spooltalk::cli::run(std::env::args_os()).into()
}
