//! `rodset manual`: the manual pages, one for the program and one for each command.

use clap::CommandFactory;
use clap_mangen::Man;
use std::path::PathBuf;

use super::command::Command;
use super::{Cli, Failure, Outcome, files};

const EXAMPLES: &str = "\
Examples:
  rodset manual .
      then: man ./rodset-plan.1";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    /// The folder for the pages, which must be there; pages of that name are replaced
    folder: PathBuf,
}

impl Command for Args {
    fn run(&self) -> Result<Outcome, Failure> {
        let mut program = Cli::command().disable_help_subcommand(true);
        program.build();
        let mut told = String::new();
        for command in std::iter::once(&program).chain(program.get_subcommands()) {
            let path = self.folder.join(Man::new(command.clone()).get_filename());
            files::replace(&path, &page(command)?)?;
            told += &format!("wrote {}\n", files::shown(&path));
        }
        Ok(Outcome::answer(told))
    }
}

fn page(command: &clap::Command) -> Result<String, Failure> {
    let mut text = Vec::new();
    Man::new(command.clone()).render(&mut text).map_err(Failure::unsound)?;
    String::from_utf8(text).map_err(Failure::unsound)
}
