//! `rodset starter`: writes an annotated file to fill in.

use std::path::PathBuf;

use super::{Failure, Outcome, files};

const PROFILE: &str = include_str!("../../data/starter.toml");
const SURVEY: &str = include_str!("../../data/starter-survey.toml");

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The file to write; it must not exist yet
    file: PathBuf,
    /// A survey instead of a profile: what you measure, from which the points are worked out
    #[arg(long)]
    survey: bool,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let path = files::shown(&args.file);
    files::create(&args.file, if args.survey { SURVEY } else { PROFILE })?;
    let next = if args.survey {
        format!(
            "1. rodset survey {path} --sheet\n   is the page to carry under the car.\n2. Fill in what you measured; it says how.\n\
             3. rodset survey {path} --output my-car.toml\n   works out the points and writes the profile.\n"
        )
    } else {
        format!(
            "1. Open it in an editor and fill in what you measure; it says how.\n2. rodset check {path}\n   tells what is \
             still missing.\n3. rodset plan {path} --drop 40\n   gives arm lengths and turns.\n"
        )
    };
    Ok(Outcome::answer(format!("wrote {path}\n\n{next}")))
}
