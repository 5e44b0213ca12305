//! `rodset draw`: the links from behind and from above, as a drawing.

use crate::car::Hand;
use clap::ValueEnum;
use std::path::PathBuf;

use super::Failure;
use super::command::{Ask, Occasion};
use super::files::{replace, shown, svg_path};
use super::of_car::{OfCar, fitting, stance};
use super::options::{AskedProfile, Format, HeightOptions, Lengths, Wanted};
use super::plan::FittedArms;
use crate::explain::Given;
use crate::plan::{Outlines, outline};
use crate::report::{OutlinePage, Page, Printable, outline_drawing};

const EXAMPLES: &str = "\
Examples:
  rodset draw examples/tansy-wharf.toml --drop 40 --svg my-car.svg
      the links, to scale";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    input: AskedProfile,
    /// The drawing to write, for print on A4; one that is there is replaced
    #[arg(long, value_name = "FILE.svg", value_parser = svg_path)]
    svg: Option<PathBuf>,
    /// Which rear wheel is drawn
    #[arg(long, value_enum, default_value = "left")]
    wheel: DrawnSide,
    #[command(flatten)]
    height: HeightOptions,
    #[command(flatten)]
    wanted: Wanted,
    #[command(flatten)]
    fit: FittedArms,
    #[command(flatten)]
    lengths: Lengths,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum DrawnSide {
    /// The left one.
    Left,
    /// The right one.
    Right,
}

impl DrawnSide {
    fn hand(self) -> Hand {
        match self {
            Self::Left => Hand::Left,
            Self::Right => Hand::Right,
        }
    }
}

impl Ask for Args {
    type Subject = OfCar;
    type Answer = Outlines;

    fn form(&self) -> (Format, Option<&str>) {
        (self.input.format(), None)
    }

    fn read(&self) -> Result<OfCar, Failure> {
        if self.svg.is_none() {
            return Err(Failure::usage("where does the drawing go? Give its name: --svg my-car.svg"));
        }
        let profile = self.input.read()?;
        let stance = self.height.stance(&profile.car)?;
        let specs = self.wanted.specs_if_any(&profile)?;
        let fitting = Some(self.fit.fitting(&profile.car)?);
        Ok(OfCar { specs, fitting, ..OfCar::at(profile, self.lengths.units(), stance) })
    }

    fn ask(&self, subject: &OfCar, given: &Given, _: Occasion<'_, Outlines>) -> Result<Outlines, Failure> {
        let fitting = fitting(&subject.fitting(), given);
        Ok(outline(&given.car, &stance(given)?, given.specs.as_ref(), &fitting)?)
    }

    fn act(&self, subject: &OfCar, answer: &Outlines) -> Result<Option<String>, Failure> {
        let Some(path) = &self.svg else { return Ok(None) };
        replace(path, &outline_drawing(subject.car(), &answer.sides[self.wheel.hand()], subject.units))?;
        Ok(Some(shown(path)))
    }

    fn put(&self, page: &mut Page, subject: &OfCar, answer: &Outlines, done: Option<&str>) {
        page.line(format!("wrote {}", done.unwrap_or_default()));
        if let Some(why) = &answer.unplanned {
            page.line(format!("nothing planned is drawn: {why}"));
        }
        OutlinePage { side: &answer.sides[self.wheel.hand()], units: subject.units }.put(page);
    }
}
