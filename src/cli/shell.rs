//! `rodset shell`: the file with which a shell completes commands and options.

use clap::CommandFactory;
use clap_complete::Shell;

use super::command::Command;
use super::{Cli, Failure, Outcome};

const EXAMPLES: &str = "\
Examples:
  rodset shell bash --output rodset.bash
      then in ~/.bashrc: source /where/it/is/rodset.bash
  rodset shell fish --output rodset.fish
      into ~/.config/fish/completions";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    /// Which shell
    shell: Shell,
}

impl Command for Args {
    fn run(&self) -> Result<Outcome, Failure> {
        let mut text = Vec::new();
        clap_complete::generate(self.shell, &mut Cli::command(), "rodset", &mut text);
        String::from_utf8(text).map(Outcome::answer).map_err(Failure::unsound)
    }
}
