//! The command line: parse, run, print, exit.

mod cli;

use std::process::ExitCode;

fn main() -> ExitCode {
    cli::run()
}
