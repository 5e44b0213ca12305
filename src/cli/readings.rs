//! `rodset readings`: what do measurements come to?

use std::path::PathBuf;

use super::Failure;
use super::command::{Ask, Occasion};
use super::explain::Explain;
use super::of_car::OfCar;
use super::options::{AskedProfile, Format, UnitOptions, read_record};
use crate::explain::Given;
use crate::measure::Workings;
use crate::plan::{Readings, readings};
use crate::profile::Record;
use crate::report::{Page, Printable, ReadingsPage};

const EXAMPLES: &str = "\
Examples:
  rodset readings examples/tansy-wharf.toml examples/records/tansy-wharf.toml
      what was measured, as angles, against the spec";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    input: AskedProfile,
    /// The record of readings on that car, a TOML file
    #[arg(value_name = "RECORD")]
    record: Option<PathBuf>,
    #[command(flatten)]
    units: UnitOptions,
    #[command(flatten)]
    explain: Explain,
}

impl Ask for Args {
    type Subject = OfCar<Vec<Workings>>;
    type Answer = Readings;

    fn form(&self) -> (Format, Option<&str>) {
        (self.input.format(), self.explain.words())
    }

    fn read(&self) -> Result<Self::Subject, Failure> {
        let profile = self.input.read()?;
        let units = self.units.of(&profile.car)?;
        let Record { rounds, workings, .. } = read_record(self.record.as_deref(), &profile.car)?;
        Ok(OfCar { rounds, ..OfCar::as_measured(profile, units)? }.with(workings))
    }

    fn ask(
        &self,
        subject: &Self::Subject,
        given: &Given,
        _: Occasion<'_, Readings>,
    ) -> Result<Readings, Failure> {
        Ok(readings(&given.car, &given.rounds, &subject.more))
    }

    fn put(&self, page: &mut Page, subject: &Self::Subject, answer: &Readings, _: Option<&str>) {
        ReadingsPage { car: subject.car(), answer, units: subject.units }.put(page);
    }
}
