//! `rodset cams`: can the stock cam bolts still reach the spec?

use super::Failure;
use super::command::{Ask, Occasion, Subject};
use super::explain::Explain;
use super::files::{replace, shown, svg_path};
use super::of_car::{OfCar, aims, stance};
use super::options::{AskedProfile, Format, HeightOptions, UnitOptions, Wanted};
use super::sampling::Samples;
use crate::explain::Given;
use crate::plan::{CamVerdict, Sampled, cams_turning, sample_cams};
use crate::report::{Page, Printable, reach_drawing};
use std::path::PathBuf;

const EXAMPLES: &str = "\
Examples:
  rodset cams examples/tansy-wharf.toml --drop 30
      do the stock cams still reach the spec?
  rodset cams examples/tansy-wharf.toml --drop 30 --svg reach.svg
      with a drawing of what they reach, in the plane of camber and toe";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    input: AskedProfile,
    #[command(flatten)]
    height: HeightOptions,
    #[command(flatten)]
    wanted: Wanted,
    #[command(flatten)]
    units: UnitOptions,
    /// Also draw what the cams reach into this file, for print; a drawing that is there is replaced
    #[arg(long, value_name = "FILE.svg", value_parser = svg_path)]
    svg: Option<PathBuf>,
    #[command(flatten)]
    samples: Samples,
    #[command(flatten)]
    explain: Explain,
}

impl Ask for Args {
    type Subject = OfCar;
    type Answer = CamVerdict;
    const SAMPLED: bool = true;

    fn form(&self) -> (Format, Option<&str>) {
        (self.input.format(), self.explain.words())
    }

    fn read(&self) -> Result<OfCar, Failure> {
        let of = OfCar::lowered(self.input.read()?, &self.units, &self.height)?;
        Ok(OfCar { specs: Some(self.wanted.specs(&of.profile)?), ..of })
    }

    fn ask(
        &self,
        _: &OfCar,
        given: &Given,
        occasion: Occasion<'_, CamVerdict>,
    ) -> Result<CamVerdict, Failure> {
        let turnable = occasion.first.map(CamVerdict::turned);
        Ok(cams_turning(&given.car, &stance(given)?, aims(given)?, turnable, occasion.asked)?)
    }

    fn act(&self, subject: &OfCar, answer: &CamVerdict) -> Result<Option<String>, Failure> {
        let Some(path) = &self.svg else { return Ok(None) };
        replace(path, &reach_drawing(subject.car(), &subject.stance, answer, subject.units))?;
        Ok(Some(shown(path)))
    }

    fn sample(&self, subject: &OfCar, _: &CamVerdict) -> Result<Option<Sampled>, Failure> {
        let given = subject.basis();
        let specs = aims(&given)?;
        let sample = |sampling, told: &(dyn Fn() + Sync)| {
            Ok(sample_cams(subject.car(), &subject.stance, specs, sampling, told))
        };
        Ok(self.samples.take(sample)?)
    }

    fn put(&self, page: &mut Page, subject: &OfCar, answer: &CamVerdict, _: Option<&str>) {
        subject.page(answer).put(page);
    }

    fn succeeds(&self, _: &OfCar, answer: &CamVerdict) -> bool {
        answer.succeeds()
    }
}
