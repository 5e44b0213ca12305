//! `rodset tune`: what would another length of the traction link do to bump steer?

use clap::ValueEnum;

use super::explain::{self, Explain};
use super::options::{Height, Input, Units, Wanted, length};
use super::plan::Fit;
use super::{Failure, Outcome};
use rodset::car::Car;
use rodset::explain::Given;
use rodset::geometry::Figure;
use rodset::plan::{self, TuneQuestion};
use rodset::report::TunePage;

const EXAMPLES: &str = "\
Examples:
  rodset tune examples/tansy-wharf.toml --drop 40
      what each mm of the traction arm buys";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    input: Input,
    #[command(flatten)]
    height: Height,
    #[command(flatten)]
    tuned: Tuned,
    #[command(flatten)]
    wanted: Wanted,
    #[command(flatten)]
    fit: Fit,
    #[command(flatten)]
    units: Units,
    #[command(flatten)]
    explain: Explain,
}

#[derive(Debug, clap::Args)]
#[command(next_help_heading = "Tuning")]
struct Tuned {
    /// The link whose length is tried [default: the one that sets pitch]
    #[arg(long, value_name = "LINK")]
    link: Option<String>,
    /// What is made least: the toe gradient at ride height, or the span of toe over the travel window
    #[arg(long, value_enum, default_value = "gradient")]
    least: Least,
    /// Travel upward from ride height over which toe is followed, mm
    #[arg(long, value_name = "MM", default_value = "30", value_parser = length)]
    bump: f64,
    /// Travel downward from ride height, mm
    #[arg(long, value_name = "MM", default_value = "30", value_parser = length)]
    droop: f64,
    /// How far from stock length the table goes, whole mm
    #[arg(long, value_name = "MM", default_value = "5", value_parser = clap::value_parser!(u32).range(0..=20))]
    shown: u32,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Least {
    /// The toe gradient at ride height.
    Gradient,
    /// The span of toe over the window.
    Span,
}

impl Tuned {
    /// The name of the link that is tuned.
    fn link(&self, car: &Car) -> Result<String, Failure> {
        let links = &car.sides.left.links;
        let setters = [Some(Figure::Camber), Some(Figure::Toe)];
        let free: Vec<&str> = links
            .iter()
            .filter(|link| !setters.contains(&link.sets))
            .map(|link| link.name.as_str())
            .collect();
        let free = || free.join(", ");
        match &self.link {
            None => links
                .iter()
                .find(|link| link.sets == Some(Figure::Pitch))
                .map(|link| link.name.clone())
                .ok_or_else(|| {
                    Failure::unsound(format!(
                        "no link of this profile sets pitch; name the one to be tried with --link: {}",
                        free()
                    ))
                }),
            Some(name) => match links.iter().find(|link| link.name == *name) {
                None => Err(Failure::usage(format!(
                    "--link: there is no link called \"{name}\"; it can be: {}",
                    free()
                ))),
                Some(link) if setters.contains(&link.sets) => Err(Failure::usage(format!(
                    "--link: \"{name}\" is used to hold camber or toe; it can be: {}",
                    free()
                ))),
                Some(link) => Ok(link.name.clone()),
            },
        }
    }
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let profile = args.input.read()?;
    let car = &profile.car;
    let units = args.units.of(car)?;
    let stance = args.height.stance(car)?;
    let specs = args.wanted.specs(&profile)?;
    let fitting = args.fit.fitting(car)?;
    let link = args.tuned.link(car)?;
    if args.tuned.bump < 0.0 || args.tuned.droop < 0.0 {
        return Err(Failure::usage("--bump and --droop: travel is counted from ride height, 0 or more"));
    }
    let question = TuneQuestion {
        link: &link,
        fitting: &fitting,
        specs: &specs,
        aim: match args.tuned.least {
            Least::Gradient => plan::Aim::Gradient,
            Least::Span => plan::Aim::Span,
        },
        window: [args.tuned.droop, args.tuned.bump],
        shown: args.tuned.shown,
    };
    let given = Given { specs: Some(specs), keep_cams: Some(fitting.keep_cams), ..Given::new(car, &stance) };
    let ask = |given: &Given| {
        let fitting = explain::fitting(&fitting, given);
        let specs = given.specs.as_ref().unwrap_or(&specs);
        let question = TuneQuestion { fitting: &fitting, specs, ..question };
        Ok(plan::tune(&given.car, &explain::stance(given)?, &question)?)
    };
    if let Some(explained) = args.explain.outcome(args.input.format(), (&profile, &given, units), ask)? {
        return Ok(explained);
    }
    let answer = plan::tune(car, &stance, &question)?;
    let page = || TunePage { car, stance: &stance, answer: &answer, units };
    Ok(Outcome::answer(args.input.write(&answer, page)?))
}
