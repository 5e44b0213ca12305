//! `rodset keys`: what may stand in the files, key by key.

use std::sync::LazyLock;

use super::command::Command;
use super::options::Format;
use super::{Failure, Outcome};
use crate::profile::{KnownKey, Need, known_keys};
use crate::report::{KeyEntry, KeysPage};

const EXAMPLES: &str = "\
Examples:
  rodset keys wheel.toe
      what it is, its unit and sign, and how to measure it
  rodset keys link.NAME.arm
      an adjustable arm; NAME is what the link is called in your file
  rodset keys --output keys.txt
      a page of all of them";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    /// A key, or part of one [default: all of them]
    key: Option<String>,
    /// Those of a record instead of a profile or a survey
    #[arg(long)]
    record: bool,
}

impl Command for Args {
    fn run(&self) -> Result<Outcome, Failure> {
        let mut all = known_keys(self.record);
        if let Some(wanted) = self.key.as_deref().map(str::trim) {
            let one: Vec<KnownKey> = all.iter().filter(|known| known.is(wanted)).cloned().collect();
            all.retain(|known| known.path.contains(wanted));
            if !one.is_empty() && !all.iter().any(|known| known.path.starts_with(&format!("{wanted}."))) {
                all = one;
            }
            if all.is_empty() {
                let meant = crate::profile::meant(wanted)
                    .map_or(String::new(), |meant| format!("; did you mean `{meant}`?"));
                return Err(Failure::usage(format!("there is no key `{wanted}`{meant}")));
            }
        }
        let entry = |KnownKey { path, key }: &KnownKey| KeyEntry {
            path: path.clone(),
            meaning: key.meaning.trim(),
            how: key.how,
            range: key.range_words(),
            examples: key.examples().iter().map(ToString::to_string).collect(),
            needed: matches!(key.need, Need::Measured | Need::Always),
        };
        Ok(Outcome::answer(Format::usual().page(&KeysPage { keys: all.iter().map(entry).collect() })))
    }
}

/// A key to be typed, with what stands behind it; any text is taken, known ones are offered by shells.
#[derive(Debug, Clone, Copy)]
pub(super) enum Typed {
    Key,
    KeyAndValue,
}

/// The known keys, as each is typed.
static TYPED: LazyLock<Vec<[String; 2]>> = LazyLock::new(|| {
    let values = known_keys(false).into_iter().filter(|known| known.key.table().is_none());
    values.flat_map(|known| known.typed()).map(|key| [key.clone(), format!("{key}=")]).collect()
});

impl clap::builder::TypedValueParser for Typed {
    type Value = String;

    fn parse_ref(
        &self,
        command: &clap::Command,
        argument: Option<&clap::Arg>,
        value: &std::ffi::OsStr,
    ) -> Result<String, clap::Error> {
        clap::builder::StringValueParser::new().parse_ref(command, argument, value)
    }

    fn possible_values(&self) -> Option<Box<dyn Iterator<Item = clap::builder::PossibleValue> + '_>> {
        let which = *self as usize;
        Some(Box::new(
            TYPED.iter().map(move |typed| clap::builder::PossibleValue::new(typed[which].as_str())),
        ))
    }
}
