//! `rodset lower`: what does lowering do by itself?

use super::Failure;
use super::command::{Ask, Occasion};
use super::explain::Explain;
use super::of_car::{OfCar, stance};
use super::options::{AskedProfile, Format, HeightOptions, UnitOptions};
use super::sampling::Samples;
use crate::explain::Given;
use crate::plan::{Lowering, Sampled, lower_asked, sample_lower};
use crate::report::{Page, Printable};

const EXAMPLES: &str = "\
Examples:
  rodset lower examples/tansy-wharf.toml --drop 40
      both sides lowered by 40 mm
  rodset lower examples/tansy-wharf.toml --drop '1 1/2 in' --toe-unit mm
      in inches, toe as mm across the rim
  rodset lower examples/tansy-wharf.toml --drop 40 --explain 'lowered camber'
      where a figure of the page comes from, and what moves it";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    input: AskedProfile,
    #[command(flatten)]
    height: HeightOptions,
    #[command(flatten)]
    units: UnitOptions,
    #[command(flatten)]
    samples: Samples,
    #[command(flatten)]
    explain: Explain,
}

impl Ask for Args {
    type Subject = OfCar;
    type Answer = Lowering;
    const SAMPLED: bool = true;

    fn form(&self) -> (Format, Option<&str>) {
        (self.input.format(), self.explain.words())
    }

    fn read(&self) -> Result<OfCar, Failure> {
        OfCar::lowered(self.input.read()?, &self.units, &self.height)
    }

    fn ask(&self, _: &OfCar, given: &Given, occasion: Occasion<'_, Lowering>) -> Result<Lowering, Failure> {
        Ok(lower_asked(&given.car, &stance(given)?, occasion.asked)?)
    }

    fn sample(&self, subject: &OfCar, _: &Lowering) -> Result<Option<Sampled>, Failure> {
        let (car, stance) = (subject.car(), &subject.stance);
        Ok(self.samples.take(|sampling, told| sample_lower(car, stance, sampling, told))?)
    }

    fn put(&self, page: &mut Page, subject: &OfCar, answer: &Lowering, _: Option<&str>) {
        subject.page(answer).put(page);
    }
}
