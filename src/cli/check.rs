//! `rodset check`: is the profile sound, and what does it describe?

use super::Failure;
use super::command::{Ask, Occasion};
use super::explain::Explain;
use super::of_car::OfCar;
use super::options::{AskedProfile, Format, UnitOptions};
use super::warned::warned;
use crate::explain::Given;
use crate::plan::{Description, check};
use crate::report::{CheckPage, Page, Printable};

const EXAMPLES: &str = "\
Examples:
  rodset check examples/tansy-wharf.toml
      is it sound, and what can be adjusted?
  rodset check - < examples/sedge-mill.toml
      a profile from standard input";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    input: AskedProfile,
    #[command(flatten)]
    units: UnitOptions,
    #[command(flatten)]
    explain: Explain,
}

impl Ask for Args {
    type Subject = OfCar;
    type Answer = Description;

    fn form(&self) -> (Format, Option<&str>) {
        (self.input.format(), self.explain.words())
    }

    fn read(&self) -> Result<OfCar, Failure> {
        let profile = self.input.read()?;
        let units = self.units.of(&profile.car)?;
        OfCar::as_measured(profile, units)
    }

    fn ask(
        &self,
        subject: &OfCar,
        given: &Given,
        _: Occasion<'_, Description>,
    ) -> Result<Description, Failure> {
        Ok(check(&given.car, subject.profile.taken_over.clone()))
    }

    fn put(&self, page: &mut Page, subject: &OfCar, answer: &Description, _: Option<&str>) {
        CheckPage { car: subject.car(), answer, warnings: warned().len(), units: subject.units }.put(page);
    }
}
