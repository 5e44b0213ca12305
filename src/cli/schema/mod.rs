//! `rodset schema`: what profiles, surveys and records may contain, and what the JSON of a command does.

mod file;

use clap::builder::PossibleValuesParser;
use schemars::Schema;

use super::command::{Command, WithWarnings, schema_of};
use super::{Failure, Outcome, schemas};
use crate::explain::Explained;
use file::File;

const EXAMPLES: &str = "\
Examples:
  rodset schema profile --output profile.schema.json
      for an editor: put this line at the head of the profile
      #:schema ./profile.schema.json
  rodset schema --answer plan
      what `rodset plan --format json` prints";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    /// Which of rodset's files
    #[arg(required_unless_present = "answer", conflicts_with = "answer")]
    file: Option<File>,
    /// Instead: the JSON that a command prints
    #[arg(long, value_name = "COMMAND", value_parser = PossibleValuesParser::new(answers().map(|(name, _)| name)))]
    answer: Option<String>,
}

/// What makes the schema of every answer that is printed as JSON, by the command that prints it; the last is what every command answers
/// with --explain. The names are asked for whenever the program starts, so nothing is made here.
fn answers() -> impl Iterator<Item = (String, fn() -> Schema)> {
    let of_commands = schemas().into_iter().filter_map(|(name, schema)| Some((name, schema?)));
    of_commands.chain([("explain".to_owned(), schema_of::<WithWarnings<Explained>> as fn() -> Schema)])
}

impl Command for Args {
    fn run(&self) -> Result<Outcome, Failure> {
        let text = match (self.file, &self.answer) {
            (_, Some(asked)) => {
                let answer = answers().find(|(name, _)| name == asked);
                super::options::json(&answer.map(|(_, schema)| schema()))?
            }
            (file, None) => super::options::json(&file.unwrap_or(File::Profile).schema())?,
        };
        Ok(Outcome::answer(text))
    }
}
