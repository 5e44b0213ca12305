//! `rodset shell`: the file with which a shell completes commands and options.

use std::any::TypeId;
use std::path::PathBuf;

use crate::profile::known_keys;
use crate::report::GlossaryPage;
use clap::{Arg, CommandFactory, ValueHint};
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
        clap_complete::generate(self.shell, &mut completed(), "rodset", &mut text);
        String::from_utf8(text).map(Outcome::answer).map_err(Failure::unsound)
    }
}

/// The command line as a shell completes it: files where a file is wanted and nowhere else, and the words that there are.
fn completed() -> clap::Command {
    let words = GlossaryPage::of(Some("\0")).err().unwrap_or_default();
    let keys: Vec<String> = known_keys(false).into_iter().map(|known| known.path).collect();
    let all_hinted = |command: clap::Command| command.mut_args(hinted);
    Cli::command()
        .mut_args(hinted)
        .mut_subcommands(all_hinted)
        .mut_subcommand("glossary", |glossary| glossary.mut_arg("word", |word| word.value_parser(words)))
        .mut_subcommand("keys", |all| all.mut_arg("key", |key| key.value_parser(keys)))
}

/// What is no path completes to no file.
fn hinted(arg: Arg) -> Arg {
    let is_path = arg.get_value_parser().type_id() == TypeId::of::<PathBuf>();
    let hint = if is_path { ValueHint::AnyPath } else { ValueHint::Other };
    if arg.get_action().takes_values() { arg.value_hint(hint) } else { arg }
}
