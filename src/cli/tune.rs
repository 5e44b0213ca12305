//! `rodset tune`: what would another length of the traction link do to bump steer?

use clap::ValueEnum;

use super::Failure;
use super::command::{Ask, Occasion};
use super::explain::Explain;
use super::of_car::{OfCar, aims, fitting, stance};
use super::options::{AskedProfile, Format, HeightOptions, UnitOptions, Wanted, length};
use super::plan::FittedArms;
use crate::car::Car;
use crate::explain::Given;
use crate::geometry::Figure;
use crate::plan::{TuneAim, TuneQuestion, Tuning, tune};
use crate::report::{Page, Printable};

const EXAMPLES: &str = "\
Examples:
  rodset tune examples/tansy-wharf.toml --drop 40
      what each mm of the traction arm buys";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    input: AskedProfile,
    #[command(flatten)]
    height: HeightOptions,
    #[command(flatten)]
    tuned: Tuned,
    #[command(flatten)]
    wanted: Wanted,
    #[command(flatten)]
    fit: FittedArms,
    #[command(flatten)]
    units: UnitOptions,
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
    least: TuneLeast,
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
enum TuneLeast {
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
            .filter(|link| !setters.contains(&link.sets) && link.hold.takes_an_arm())
            .map(|link| link.name.as_str())
            .collect();
        if free.is_empty() {
            let text = "there is nothing to tune: every rod of this profile is used to hold camber or toe, and what is no rod has no length";
            return Err(Failure::unsound(text));
        }
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
                Some(link) if !link.hold.takes_an_arm() => Err(Failure::usage(format!(
                    "--link: \"{name}\" has no length to be tried, it is no single rod; it can be: {}",
                    free()
                ))),
                Some(link) => Ok(link.name.clone()),
            },
        }
    }
}

impl Ask for Args {
    type Subject = OfCar;
    type Answer = Tuning;

    fn form(&self) -> (Format, Option<&str>) {
        (self.input.format(), self.explain.words())
    }

    fn read(&self) -> Result<OfCar, Failure> {
        let of = OfCar::lowered(self.input.read()?, &self.units, &self.height)?;
        let specs = Some(self.wanted.specs(&of.profile)?);
        let fitting = Some(self.fit.fitting(of.car())?);
        self.tuned.link(of.car())?;
        if self.tuned.bump < 0.0 || self.tuned.droop < 0.0 {
            return Err(Failure::usage("--bump and --droop: travel is counted from ride height, 0 or more"));
        }
        Ok(OfCar { specs, fitting, ..of })
    }

    fn ask(&self, subject: &OfCar, given: &Given, occasion: Occasion<'_, Tuning>) -> Result<Tuning, Failure> {
        let question = TuneQuestion {
            link: &self.tuned.link(&given.car)?,
            fitting: &fitting(&subject.fitting(), given),
            specs: aims(given)?,
            aim: match self.tuned.least {
                TuneLeast::Gradient => TuneAim::Gradient,
                TuneLeast::Span => TuneAim::Span,
            },
            window: [self.tuned.droop, self.tuned.bump],
            shown: self.tuned.shown,
            asked: occasion.asked,
        };
        Ok(tune(&given.car, &stance(given)?, &question)?)
    }

    fn put(&self, page: &mut Page, subject: &OfCar, answer: &Tuning, _: Option<&str>) {
        subject.page(answer).put(page);
    }
}
