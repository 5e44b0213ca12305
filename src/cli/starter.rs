//! `rodset starter`: writes an annotated file to fill in.

use std::path::PathBuf;

use super::axle::Axle;
use super::command::Command;
use super::options::{Profile, length};
use super::{Failure, Outcome, files};
use crate::profile::{like, record_starter};

const RECORD: &str = include_str!("../../data/starter-record.txt");

const EXAMPLES: &str = "\
Examples:
  rodset starter my-car.toml
      a profile to fill in
  rodset starter --survey my-survey.toml
      what to measure, from which the points are worked out
  rodset starter --axle strut my-strut.toml
      a profile to fill in, of a car on struts";

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
    /// A car whose points begin from a typical layout: short, and nobody has to lie under it
    #[arg(long, conflicts_with_all = ["survey", "record"])]
    typical: bool,
    /// On what a rear wheel hangs
    #[arg(long, conflicts_with_all = ["record", "like"], default_value = "rods")]
    axle: Axle,
    /// A profile with the points of another car of the same model; all else stays open
    #[arg(long, value_name = "PROFILE", conflicts_with_all = ["survey", "record", "typical"])]
    like: Option<PathBuf>,
    /// How far a point may differ from car to car, standard deviation of each coordinate, mm
    #[arg(long, value_name = "MM", value_parser = length, default_value = "2", requires = "like")]
    spread: f64,
}

/// The file that is asked for, and what to do with it.
fn starter(args: &Args, path: &str) -> Result<(String, String), Failure> {
    if args.typical {
        let next = format!(
            "1. Open it in an editor and fill in what you measure; it says how.\n2. rodset survey {path}\n   tells what is missing, and \
             where the points are taken to be.\n3. rodset plan {path} --drop 40\n   gives arm lengths and turns, with wide bands.\n"
        );
        return Ok((args.axle.typical(), next));
    }
    if args.survey {
        let next = format!(
            "1. rodset survey {path} --sheet\n   is the page to carry under the car.\n2. Fill in what you measured; it says how. Or be asked:\n   rodset interview {path}\n\
             3. rodset survey {path} --write my-car.toml\n   works out the points and writes the profile.\n"
        );
        return Ok((args.axle.survey(false), next));
    }
    if args.record {
        let next = format!(
            "1. Open it in an editor and fill in what you measure; it says how.\n2. rodset readings MY-CAR.toml {path}\n   \
             tells what is missing, and what the readings come to.\n"
        );
        return Ok((record_starter(RECORD), next));
    }
    let next = format!(
        "1. Open it in an editor and fill in what you measure; it says how. Or be asked:\n   rodset interview {path}\n2. rodset check {path}\n   tells what is \
         still missing.\n3. rodset plan {path} --drop 40\n   gives arm lengths and turns.\n"
    );
    let blank = args.axle.profile();
    let text = match &args.like {
        Some(other) => {
            let other = Profile::read(other)?;
            let spread = args.spread.max(0.0);
            like(&blank, &other.car, spread)
                .map_err(|error| Failure::unsound(format!("{}: {error}", other.path)))?
        }
        None => blank,
    };
    Ok((text, next))
}

impl Command for Args {
    fn run(&self) -> Result<Outcome, Failure> {
        let path = files::shown(&self.file);
        let (text, next) = starter(self, &path)?;
        files::create(&self.file, &text)?;
        Ok(Outcome::answer(format!("wrote {path}\n\n{next}")))
    }
}
