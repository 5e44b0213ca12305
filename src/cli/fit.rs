//! `rodset fit`: what do readings at several heights teach about the car?

use std::path::PathBuf;

use super::Failure;
use super::command::{Ask, Occasion};
use super::explain::Explain;
use super::files::{self, TextFile};
use super::of_car::{OfCar, stance};
use super::options::{AskedProfile, Format, HeightOptions, UnitOptions, read_record};
use crate::car::{Car, Measurand, PerSide, Side};
use crate::explain::Given;
use crate::geometry::Angles;
use crate::measure::{Fitted, FittedLength, NoFit, Round};
use crate::plan::{FitAnswer, fit_readings};
use crate::profile::{self, Numbers, References, UsedLength, write_numbers};
use crate::report::{FitPage, Page, Printable};

const EXAMPLES: &str = "\
Examples:
  rodset fit examples/tansy-wharf.toml examples/records/tansy-wharf-heights.toml --drop 40
      what readings at several heights teach";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    input: AskedProfile,
    /// The record of readings, a TOML file: a [[reading]] for each height at which camber or toe was read
    #[arg(value_name = "RECORD")]
    record: Option<PathBuf>,
    /// Write the fitted profile to this file, which must not exist yet
    #[arg(long, value_name = "NEW-PROFILE")]
    write: Option<PathBuf>,
    #[command(flatten)]
    height: HeightOptions,
    #[command(flatten)]
    units: UnitOptions,
    #[command(flatten)]
    explain: Explain,
}

impl Ask for Args {
    /// The car, and whether it is asked what it reads at another height.
    type Subject = OfCar<bool>;
    type Answer = FitAnswer;

    fn form(&self) -> (Format, Option<&str>) {
        (self.input.format(), self.explain.words())
    }

    fn read(&self) -> Result<Self::Subject, Failure> {
        let profile = self.input.read()?;
        let rounds = read_record(self.record.as_deref(), &profile.car)?.rounds;
        let units = self.units.of(&profile.car)?;
        let stance = self.height.stance_or_as_measured(&profile.car)?;
        Ok(OfCar { rounds, ..OfCar::at(profile, units, stance) }.with(self.height.is_given()))
    }

    fn ask(
        &self,
        subject: &Self::Subject,
        given: &Given,
        _: Occasion<'_, FitAnswer>,
    ) -> Result<FitAnswer, Failure> {
        let stance = if subject.more { Some(stance(given)?) } else { None };
        fit_readings(&given.car, &given.rounds, stance.as_ref()).map_err(|error| no_fit(error, &given.rounds))
    }

    fn act(&self, subject: &Self::Subject, answer: &FitAnswer) -> Result<Option<String>, Failure> {
        let Some(path) = self.write.as_ref().filter(|_| !answer.fit.has_suspects()) else { return Ok(None) };
        files::create(path, &profile_text(&subject.profile.text, subject.car(), &answer.fit)?)?;
        Ok(Some(files::shown(path)))
    }

    fn put(&self, page: &mut Page, subject: &Self::Subject, answer: &FitAnswer, done: Option<&str>) {
        let (car, units) = (subject.car(), subject.units);
        let stance = subject.more.then_some(&subject.stance);
        FitPage { car, rounds: &subject.rounds, stance, answer, units, written: done }.put(page);
    }

    fn succeeds(&self, _: &Self::Subject, answer: &FitAnswer) -> bool {
        !answer.fit.has_suspects()
    }
}

fn no_fit(error: NoFit, rounds: &[Round]) -> Failure {
    let name = |i: usize| match rounds.get(i).and_then(|round| round.title.as_deref()) {
        Some(title) => format!("reading {} ({title})", i + 1),
        None => format!("reading {}", i + 1),
    };
    Failure::unsound(error.told(name))
}

/// The profile with the fitted numbers, which must be sound itself before it is written.
fn profile_text(text: &TextFile, before: &Car, fit: &Fitted) -> Result<String, Failure> {
    let PerSide { left, right } = &fit.car.sides;
    let mut points = [[0.0; 3]; 11];
    for (place, point) in points.iter_mut().zip(Measurand::points()) {
        *place = left.car_point(&left.point(point));
    }
    let alone: Vec<(Measurand, [f64; 3])> =
        Measurand::points().map(|point| (point, right.car_point(&right.point(point)))).collect();
    let used = |length: &FittedLength| {
        let links = &before.sides[length.side].links;
        let link = links.iter().position(|link| link.name == length.link)?;
        Some(UsedLength { hand: length.side, link, read: None })
    };
    let lengths: Vec<UsedLength> = fit.lengths.iter().filter_map(used).collect();
    let deviation = |side: &Side, of: Measurand| side.errors.deviations(of).first().copied().unwrap_or(0.0);
    let numbers = Numbers {
        points: &points,
        right: &alone,
        right_errors: Some((&right.errors, &fit.car.between)),
        readings: Some(References {
            angles: fit.car.sides.each(|side| side.reading),
            deviations: fit.car.sides.each(|side| Angles {
                camber: deviation(side, Measurand::Camber),
                toe: deviation(side, Measurand::Toe),
            }),
        }),
        errors: &left.errors,
        learnt: &fit.learnt,
        lengths: &lengths,
        assumed: &fit.car.assumed,
    };
    let written = write_numbers(&text.text, &numbers).map_err(Failure::unsound)?;
    let written = TextFile { name: format!("the profile made of {}", text.name), text: written };
    match profile::read(&written.text) {
        Ok(_) => Ok(written.text),
        Err(findings) => Err(written.refuse(&findings)),
    }
}
