//! `rodset starter`: writes an annotated file to fill in.

use std::path::PathBuf;

use super::command::Command;
use super::options::{Profile, length};
use super::{Failure, Outcome, files};
use crate::profile::{axle_starter, like, profile_starter, record_starter, survey_starter};

const PROFILE: &str = include_str!("../../data/starter.txt");
const RECORD: &str = include_str!("../../data/starter-record.txt");
const TYPICAL: &str = include_str!("../../data/starter-typical.txt");
const SURVEY: &str = include_str!("../../data/starter-survey.txt");

const BLADE: &str = include_str!("../../data/axle-blade.txt");
const STRUT: &str = include_str!("../../data/axle-strut.txt");
const INTEGRAL: &str = include_str!("../../data/axle-integral.txt");

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
    /// A profile of a car whose rear wheels do not hang on five separate rods
    #[arg(long, conflicts_with_all = ["survey", "record", "typical", "like"])]
    axle: Option<Axle>,
    /// A profile with the points of another car of the same model; all else stays open
    #[arg(long, value_name = "PROFILE", conflicts_with_all = ["survey", "record", "typical"])]
    like: Option<PathBuf>,
    /// How far a point may differ from car to car, standard deviation of each coordinate, mm
    #[arg(long, value_name = "MM", value_parser = length, default_value = "2", requires = "like")]
    spread: f64,
}

/// On what a rear wheel hangs.
#[derive(Debug, Clone, Copy, clap::ValueEnum)]
enum Axle {
    /// A trailing arm bolted to the wheel carrier, and three rods across
    Blade,
    /// A strut bolted to the wheel carrier, two rods across and one along
    Strut,
    /// A wide lower arm with an upright link on it, and two rods
    Integral,
}

/// The file that is asked for, and what to do with it.
fn starter(args: &Args, path: &str) -> Result<(String, String), Failure> {
    if args.typical {
        let next = format!(
            "1. Open it in an editor and fill in what you measure; it says how.\n2. rodset survey {path}\n   tells what is missing, and \
             where the points are taken to be.\n3. rodset plan {path} --drop 40\n   gives arm lengths and turns, with wide bands.\n"
        );
        return Ok((TYPICAL.to_owned(), next));
    }
    if args.survey {
        let next = format!(
            "1. rodset survey {path} --sheet\n   is the page to carry under the car.\n2. Fill in what you measured; it says how. Or be asked:\n   rodset interview {path}\n\
             3. rodset survey {path} --write my-car.toml\n   works out the points and writes the profile.\n"
        );
        return Ok((survey_starter(SURVEY, false), next));
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
    let blank = match args.axle {
        None => profile_starter(PROFILE),
        Some(Axle::Blade) => axle_starter(PROFILE, BLADE),
        Some(Axle::Strut) => axle_starter(PROFILE, STRUT),
        Some(Axle::Integral) => axle_starter(PROFILE, INTEGRAL),
    };
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
