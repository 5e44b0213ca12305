//! `rodset starter`: writes an annotated file to fill in.

use std::path::PathBuf;

use super::command::Command;
use super::{Failure, Outcome, files};
use rodset::profile::{profile_starter, record_starter, survey_starter};

const PROFILE: &str = include_str!("../../data/starter.txt");
const RECORD: &str = include_str!("../../data/starter-record.txt");
const SURVEY: &str = include_str!("../../data/starter-survey.txt");

const EXAMPLES: &str = "\
Examples:
  rodset starter my-car.toml
      a profile to fill in
  rodset starter --survey my-survey.toml
      what to measure, from which the points are worked out";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    /// The file to write; it must not exist yet
    file: PathBuf,
    /// A survey instead of a profile: what you measure, from which the points are worked out
    #[arg(long)]
    survey: bool,
    /// A record instead of a profile: what was read on the car, by rack, strings or gauge
    #[arg(long, conflicts_with = "survey")]
    record: bool,
}

/// The file that is asked for, and what to do with it.
fn starter(args: &Args, path: &str) -> (String, String) {
    if args.survey {
        let next = format!(
            "1. rodset survey {path} --sheet\n   is the page to carry under the car.\n2. Fill in what you measured; it says how. Or be asked:\n   rodset interview {path}\n\
             3. rodset survey {path} --write my-car.toml\n   works out the points and writes the profile.\n"
        );
        return (survey_starter(SURVEY, false), next);
    }
    if args.record {
        let next = format!(
            "1. Open it in an editor and fill in what you measure; it says how.\n2. rodset readings MY-CAR.toml {path}\n   \
             tells what is missing, and what the readings come to.\n"
        );
        return (record_starter(RECORD), next);
    }
    let next = format!(
        "1. Open it in an editor and fill in what you measure; it says how. Or be asked:\n   rodset interview {path}\n2. rodset check {path}\n   tells what is \
         still missing.\n3. rodset plan {path} --drop 40\n   gives arm lengths and turns.\n"
    );
    (profile_starter(PROFILE), next)
}

impl Command for Args {
    fn run(&self) -> Result<Outcome, Failure> {
        let path = files::shown(&self.file);
        let (text, next) = starter(self, &path);
        files::create(&self.file, &text)?;
        Ok(Outcome::answer(format!("wrote {path}\n\n{next}")))
    }
}
