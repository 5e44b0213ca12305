//! `rodset travel`: what do camber, toe and the rest do over bump and droop?

use clap::ValueEnum;
use std::path::PathBuf;

use super::explain::{self, Explain};
use super::files::{replace, svg_path};
use super::options::{self, Height, Profile, Source, Units, Wanted, length};
use super::plan::Fit;
use super::{Failure, Outcome};
use rodset::car::Car;
use rodset::explain::Given;
use rodset::plan::{TravelQuestion, Variant, travel};
use rodset::profile::Quantity;
use rodset::report::{TravelPage, travel_chart, travel_csv};

const EXAMPLES: &str = "\
Examples:
  rodset travel examples/tansy-wharf.toml --drop 40 --also traction+2
      and with the traction arm 2 mm longer
  rodset travel examples/tansy-wharf.toml --drop 40 --format csv --output travel.csv
      for a spreadsheet";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    source: Source,
    /// For people (text), for scripts (json), for a spreadsheet (csv) or to be printed (html) [default: html where --output names an
    /// .html file, else text]
    #[arg(long, value_enum)]
    format: Option<Format>,
    #[command(flatten)]
    height: Height,
    #[command(flatten)]
    course: Course,
    #[command(flatten)]
    wanted: Wanted,
    #[command(flatten)]
    fit: Fit,
    #[command(flatten)]
    units: Units,
    #[command(flatten)]
    explain: Explain,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// For people.
    Text,
    /// For scripts: one object, full precision, units in the names.
    Json,
    /// For a spreadsheet: one line a side, set-up and height.
    Csv,
    /// One file to be printed.
    Html,
}

impl Format {
    /// The form of an explanation, which is no table for a spreadsheet.
    fn plain(self) -> options::Format {
        match self {
            Self::Json => options::Format::Json,
            Self::Html => options::Format::Html,
            Self::Text | Self::Csv => options::Format::Text,
        }
    }
}

/// Which set-ups, over which travel.
#[derive(Debug, clap::Args)]
#[command(next_help_heading = "Set-ups and travel")]
struct Course {
    /// One more set-up: the planned one with a link longer or shorter by so many mm, such as "traction+2" or
    /// "traction+2,upper-1"; may be given more than once
    #[arg(long, value_name = "LINK+MM")]
    also: Vec<String>,
    /// In every --also set-up, set camber and toe again with their own arms or cams
    #[arg(long)]
    hold: bool,
    /// Travel upward from the new ride height, mm [default: to the bump stop]
    #[arg(long, value_name = "MM", value_parser = length)]
    bump: Option<f64>,
    /// Travel downward from the new ride height, mm [default: to full droop]
    #[arg(long, value_name = "MM", value_parser = length)]
    droop: Option<f64>,
    /// Distance between the heights shown, mm
    #[arg(long, value_name = "MM", default_value = "20", value_parser = length)]
    every: f64,
    /// Show all tables: gradients, track and wheelbase, roll centre, pitch, link angles
    #[arg(long)]
    detail: bool,
    /// Also draw camber and toe over the travel into this file, for print; a drawing that is there is replaced
    #[arg(long, value_name = "FILE.svg", value_parser = svg_path)]
    svg: Option<PathBuf>,
}

impl Course {
    /// Refuses what no travel is.
    fn check(&self) -> Result<(), Failure> {
        const FINEST: f64 = 0.1;
        for (option, value) in [("--bump", self.bump), ("--droop", self.droop)] {
            if value.is_some_and(|value| value < 0.0) {
                return Err(Failure::usage(format!(
                    "{option}: travel is counted from ride height, 0 or more"
                )));
            }
        }
        if self.every < FINEST {
            return Err(Failure::usage(format!("--every: at least {FINEST} mm")));
        }
        Ok(())
    }

    fn variants(&self, car: &Car) -> Result<Vec<Variant>, Failure> {
        if self.hold && self.also.is_empty() {
            return Err(Failure::usage("--hold goes with --also: it says how those set-ups are set"));
        }
        let mut variants: Vec<Variant> = Vec::new();
        for text in &self.also {
            let variant = variant(text, self.hold, car)?;
            if variants.iter().any(|known| known.name == variant.name) {
                return Err(Failure::usage(format!("--also: \"{text}\" is asked for twice")));
            }
            variants.push(variant);
        }
        Ok(variants)
    }
}

/// Reads "traction+2,upper-1".
fn variant(text: &str, hold: bool, car: &Car) -> Result<Variant, Failure> {
    let changes = text.split(',').map(|part| change(part.trim(), car)).collect::<Result<Vec<_>, _>>();
    let changes = changes.map_err(|error| Failure::usage(format!("--also: {error}")))?;
    for (i, (link, _)) in changes.iter().enumerate() {
        if changes[..i].iter().any(|(known, _)| known == link) {
            return Err(Failure::usage(format!(
                "--also: \"{text}\" names \"{link}\" twice; a link has one length, so write its whole change once"
            )));
        }
    }
    let named =
        changes.iter().map(|(link, longer)| format!("{link}{longer:+}")).collect::<Vec<_>>().join(",");
    let name = if hold { named + " held" } else { named };
    Ok(Variant { name, changes, hold })
}

/// Reads "traction+2": the last sign behind which a length stands parts the two.
fn change(text: &str, car: &Car) -> Result<(String, f64), String> {
    /// No arm is set to more than this from what it was planned for, mm.
    const MOST: f64 = 100.0;
    let signs = text.char_indices().rev().filter(|(_, c)| "+-".contains(*c));
    let parted = signs.map(|(at, _)| text.split_at(at)).find_map(|(name, length)| {
        let length = length.trim_start_matches('+').parse::<Quantity>().ok()?.length().ok()?;
        Some((name.trim(), length))
    });
    let (name, longer) = parted.ok_or_else(|| {
        format!(
            "\"{text}\" does not say which link by how much; write for example traction+2 or \"traction-1.5\""
        )
    })?;
    let mut names: Vec<&str> =
        car.sides.iter().flat_map(|side| &side.links).map(|link| link.name.as_str()).collect();
    names.sort_unstable();
    names.dedup();
    if !names.contains(&name) {
        return Err(format!("there is no link called \"{name}\"; the links are: {}", names.join(", ")));
    }
    if longer.abs() > MOST {
        return Err(format!("\"{text}\": no arm is set {MOST} mm from where it was planned"));
    }
    Ok((name.to_owned(), longer))
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let profile: Profile = args.source.read()?;
    let car = &profile.car;
    let units = args.units.of(car)?;
    let stance = args.height.stance(car)?;
    let specs = args.wanted.specs_if_any(&profile)?;
    let fitting = args.fit.fitting(car)?;
    args.course.check()?;
    let variants = args.course.variants(car)?;
    let question = TravelQuestion {
        fitting: &fitting,
        specs: specs.as_ref(),
        variants: &variants,
        bump: args.course.bump,
        droop: args.course.droop,
        every: args.course.every,
    };
    let format = args.format.map_or_else(options::Format::usual, Format::plain);
    let given = Given { specs, keep_cams: specs.map(|_| fitting.keep_cams), ..Given::new(car, &stance) };
    let ask = |given: &Given| {
        let fitting = explain::fitting(&fitting, given);
        let question = TravelQuestion { fitting: &fitting, specs: given.specs.as_ref(), ..question.clone() };
        Ok(travel(&given.car, &explain::stance(given)?, &question)?)
    };
    if let Some(explained) = args.explain.outcome(format, (&profile, &given, units), ask)? {
        return Ok(explained);
    }
    let answer = travel(car, &stance, &question)?;
    if let Some(path) = &args.course.svg {
        // A line needs more points than a table.
        const FINE: f64 = 2.0;
        let fine =
            travel(car, &stance, &TravelQuestion { every: args.course.every.min(FINE), ..question.clone() })?;
        replace(path, &travel_chart(car, &stance, &fine, units))?;
    }
    let output = if args.format == Some(Format::Csv) {
        travel_csv(&answer).map_err(Failure::unsound)?
    } else {
        let detail = args.course.detail;
        format.write(&answer, || TravelPage { car, stance: &stance, answer: &answer, units, detail })?
    };
    Ok(Outcome::answer(output))
}
