//! `rodset fit`: what do readings at several heights teach about the car?

use std::path::PathBuf;

use super::explain::{self, Explain};
use super::files::{self, TextFile};
use super::options::{Height, Input, Units};
use super::{Failure, Outcome};
use rodset::car::{Car, Measurand, PerSide};
use rodset::explain::Given;
use rodset::measure::{Fitted, FittedLength, NoFit, Round};
use rodset::plan::fit_readings;
use rodset::profile::{self, Numbers, References, UsedLength, write_numbers};
use rodset::report::FitPage;

const EXAMPLES: &str = "\
Examples:
  rodset fit examples/tansy-wharf.toml examples/records/tansy-wharf-heights.toml --drop 40
      what readings at several heights teach";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    input: Input,
    /// The record of readings, a TOML file: a [[reading]] for each height at which camber or toe was read
    #[arg(value_name = "RECORD")]
    record: Option<PathBuf>,
    /// Write the fitted profile to this file, which must not exist yet
    #[arg(long, value_name = "NEW-PROFILE")]
    write: Option<PathBuf>,
    #[command(flatten)]
    height: Height,
    #[command(flatten)]
    units: Units,
    #[command(flatten)]
    explain: Explain,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let profile = args.input.read()?;
    let car = &profile.car;
    let record = super::options::read_record(args.record.as_deref(), car)?;
    let units = args.units.of(car)?;
    let stance = if args.height.is_given() { Some(args.height.stance(car)?) } else { None };
    let given = Given {
        rounds: record.rounds.clone(),
        ..stance.as_ref().map_or_else(|| Given::of(car), |stance| Given::new(car, stance))
    };
    let ask = |given: &Given| {
        let stance = stance.as_ref().map(|_| explain::stance(given)).transpose()?;
        fit_readings(&given.car, &given.rounds, stance.as_ref()).map_err(|error| no_fit(error, &given.rounds))
    };
    if let Some(explained) = args.explain.outcome(args.input.format(), (&profile, &given, units), ask)? {
        return Ok(explained);
    }
    let answer =
        fit_readings(car, &record.rounds, stance.as_ref()).map_err(|error| no_fit(error, &record.rounds))?;
    let sound = !answer.fit.has_suspects();
    let written = match &args.write {
        Some(path) if sound => {
            files::create(path, &profile_text(&profile.text, car, &answer.fit)?)?;
            Some(files::shown(path))
        }
        _ => None,
    };
    let page = || {
        let (stance, written) = (stance.as_ref(), written.as_deref());
        FitPage { car, rounds: &record.rounds, stance, answer: &answer, units, written }
    };
    let output = args.input.write(&answer, page)?;
    Ok(Outcome { output, spec_met: sound })
}

fn no_fit(error: NoFit, rounds: &[Round]) -> Failure {
    let name = |i: usize| match rounds.get(i).and_then(|round| round.title.as_deref()) {
        Some(title) => format!("reading {} ({title})", i + 1),
        None => format!("reading {}", i + 1),
    };
    match error {
        NoFit::NoReading => {
            Failure::unsound("no camber or toe is in this record, so there is nothing to learn")
        }
        NoFit::NoPosition(i) => Failure::unsound(format!(
            "the car of the profile cannot be at the height, with the arms, of {}: check its drop and its lengths",
            name(i)
        )),
        NoFit::NoWheelbase(i) => Failure::unsound(format!(
            "{} has a front drop: add `wheelbase = ...` to [car] in the profile",
            name(i)
        )),
        NoFit::Unsettled => Failure::unsound(
            "no car near the measured one gives these readings: look for a wrong height, a mistaken sign, minutes read as \
             decimals",
        ),
    }
}

/// The profile with the fitted numbers, which must be sound itself before it is written.
fn profile_text(text: &TextFile, before: &Car, fit: &Fitted) -> Result<String, Failure> {
    let PerSide { left, right } = &fit.car.sides;
    let mut points = [[0.0; 3]; 11];
    for (place, point) in points.iter_mut().zip(Measurand::points()) {
        *place = left.car_point(&left.point(point));
    }
    let alone = Measurand::points()
        .filter(|point| before.sides.left.point(*point) != before.sides.right.point(*point));
    let alone: Vec<(Measurand, [f64; 3])> =
        alone.map(|point| (point, right.car_point(&right.point(point)))).collect();
    let used = |length: &FittedLength| {
        let links = &before.sides[length.side].links;
        let link = links.iter().position(|link| link.name == length.link)?;
        Some(UsedLength { hand: length.side, link, read: None })
    };
    let lengths: Vec<UsedLength> = fit.lengths.iter().filter_map(used).collect();
    let numbers = Numbers {
        points: &points,
        right: &alone,
        readings: Some(References {
            angles: [left.reading, right.reading],
            deviations: [fit.car.sigmas.camber, fit.car.sigmas.toe],
        }),
        errors: &left.errors,
        lengths: &lengths,
    };
    let written = write_numbers(&text.text, &numbers).map_err(Failure::unsound)?;
    let written = TextFile { name: format!("the profile made of {}", text.name), text: written };
    match profile::read(&written.text) {
        Ok(_) => Ok(written.text),
        Err(findings) => Err(written.refuse(&findings)),
    }
}
