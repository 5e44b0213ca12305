//! `rodset glossary`: what the words of the trade mean.

use super::command::Command;
use super::options::Format;
use super::{Failure, Outcome};
use crate::report::GlossaryPage;

const EXAMPLES: &str = "\
Examples:
  rodset glossary toe
      what toe is, and which way is plus
  rodset glossary
      all of them";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    /// A word, or part of one [default: all of them]
    word: Option<String>,
}

impl Command for Args {
    fn run(&self) -> Result<Outcome, Failure> {
        let page = GlossaryPage::of(self.word.as_deref()).map_err(|words| {
            Failure::usage(format!("this word is not in the glossary; there are: {}", words.join(", ")))
        })?;
        Ok(Outcome::answer(Format::usual().page(&page)))
    }
}
