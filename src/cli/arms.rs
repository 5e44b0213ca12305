//! `rodset arms`: which arms are worth buying for this drop?

use super::Failure;
use super::command::{Ask, Occasion};
use super::explain::Explain;
use super::of_car::{OfCar, aims, stance};
use super::options::{AskedProfile, Format, HeightOptions, UnitOptions, Wanted};
use super::plan::CamsUnderArms;
use crate::explain::Given;
use crate::plan::{ArmChoice, Fitting, choose_arms_asked};
use crate::report::{Page, Printable};

const EXAMPLES: &str = "\
Examples:
  rodset arms examples/tansy-wharf.toml --drop 40
      the least set of arms that meets the spec";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    input: AskedProfile,
    #[command(flatten)]
    height: HeightOptions,
    #[command(flatten)]
    wanted: Wanted,
    /// What becomes of the cams under fitted arms
    #[arg(long, value_enum, default_value = "centre", help_heading = "Arms and cams")]
    cams: CamsUnderArms,
    #[command(flatten)]
    units: UnitOptions,
    #[command(flatten)]
    explain: Explain,
}

impl Ask for Args {
    type Subject = OfCar;
    type Answer = ArmChoice;

    fn form(&self) -> (Format, Option<&str>) {
        (self.input.format(), self.explain.words())
    }

    fn read(&self) -> Result<OfCar, Failure> {
        let of = OfCar::lowered(self.input.read()?, &self.units, &self.height)?;
        let specs = Some(self.wanted.specs(&of.profile)?);
        let fitting = Some(Fitting { keep_cams: self.cams == CamsUnderArms::Keep, ..Fitting::default() });
        Ok(OfCar { specs, fitting, ..of })
    }

    fn ask(&self, _: &OfCar, given: &Given, occasion: Occasion<'_, ArmChoice>) -> Result<ArmChoice, Failure> {
        let keep_cams = given.keep_cams == Some(true);
        Ok(choose_arms_asked(&given.car, &stance(given)?, aims(given)?, keep_cams, occasion.asked)?)
    }

    fn put(&self, page: &mut Page, subject: &OfCar, answer: &ArmChoice, _: Option<&str>) {
        subject.page(answer).put(page);
    }

    fn succeeds(&self, _: &OfCar, answer: &ArmChoice) -> bool {
        answer.succeeds()
    }
}
