//! `rodset travel`: what do camber, toe and the rest do over bump and droop?

use clap::ValueEnum;
use std::path::PathBuf;

use super::Failure;
use super::command::{Ask, Occasion, Subject};
use super::explain::Explain;
use super::files::{replace, svg_path};
use super::of_car::{OfCar, fitting, stance};
use super::options::{self, HeightOptions, ProfileSource, UnitOptions, Wanted, length};
use super::plan::FittedArms;
use super::screen::{self, FileKind};
use crate::car::Car;
use crate::explain::Given;
use crate::plan::{OnlyStation, Place, TravelCurves, TravelQuestion, Variant, travel};
use crate::profile::Quantity;
use crate::report::{Page, Printable, TravelPage, travel_chart, travel_csv};

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
    source: ProfileSource,
    /// For people (text), for scripts (json), for a spreadsheet (csv) or to be printed (html) [default: what the name of --output ends
    /// in, else text]
    #[arg(long, value_enum)]
    format: Option<TravelFormat>,
    #[command(flatten)]
    height: HeightOptions,
    #[command(flatten)]
    course: Course,
    #[command(flatten)]
    wanted: Wanted,
    #[command(flatten)]
    fit: FittedArms,
    #[command(flatten)]
    units: UnitOptions,
    #[command(flatten)]
    explain: Explain,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum TravelFormat {
    /// For people.
    Text,
    /// For scripts: one object, full precision, units in the names.
    Json,
    /// For a spreadsheet: one line a side, set-up and height.
    Csv,
    /// One file to be printed.
    Html,
}

impl TravelFormat {
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

impl Args {
    /// Asks for a car that may have been changed, with a table's or a line's distance between heights.
    fn travel(
        &self,
        subject: &OfCar,
        given: &Given,
        every: f64,
        only: Option<OnlyStation<'_>>,
    ) -> Result<TravelCurves, Failure> {
        let question = TravelQuestion {
            fitting: &fitting(&subject.fitting(), given),
            specs: given.specs.as_ref(),
            variants: &self.course.variants(&given.car)?,
            bump: self.course.bump,
            droop: self.course.droop,
            every,
            only,
        };
        Ok(travel(&given.car, &stance(given)?, &question)?)
    }

    /// The same for a drawing: a line needs more points than a table.
    fn fine(&self, subject: &OfCar) -> Result<TravelCurves, Failure> {
        const FINE: f64 = 2.0;
        self.travel(subject, &subject.basis(), self.course.every.min(FINE), None)
    }
}

/// The one height of a set-up that is asked about again. Heights that go along with the drop are not the same for every car.
fn only<'a>(occasion: &Occasion<'a, TravelCurves>) -> Option<OnlyStation<'a>> {
    let Occasion { first, asked } = occasion;
    if !asked.wants("setups") {
        return Some(OnlyStation::NONE);
    }
    let side = &first.as_ref()?.sides[asked.side()];
    let curve = side.setups.get(asked.entry("setups")?)?;
    let station = curve.stations.get(asked.entry("stations")?)?;
    let stays = matches!(station.place, None | Some(Place::Ride));
    stays.then_some(OnlyStation { setup: &curve.setup, travel: station.travel_mm })
}

impl Ask for Args {
    type Subject = OfCar;
    type Answer = TravelCurves;

    fn form(&self) -> (options::Format, Option<&str>) {
        (self.format.map_or_else(options::Format::usual, TravelFormat::plain), self.explain.words())
    }

    fn read(&self) -> Result<OfCar, Failure> {
        let of = OfCar::lowered(self.source.read()?, &self.units, &self.height)?;
        let specs = self.wanted.specs_if_any(&of.profile)?;
        let fitting = Some(self.fit.fitting(of.car())?);
        self.course.check()?;
        Ok(OfCar { specs, fitting, ..of })
    }

    fn ask(
        &self,
        subject: &OfCar,
        given: &Given,
        occasion: Occasion<'_, TravelCurves>,
    ) -> Result<TravelCurves, Failure> {
        self.travel(subject, given, self.course.every, only(&occasion))
    }

    fn act(&self, subject: &OfCar, _: &TravelCurves) -> Result<Option<String>, Failure> {
        if let Some(path) = &self.course.svg {
            replace(
                path,
                &travel_chart(subject.car(), &subject.stance, &self.fine(subject)?, subject.units),
            )?;
        }
        Ok(None)
    }

    fn put(&self, page: &mut Page, subject: &OfCar, answer: &TravelCurves, _: Option<&str>) {
        let (car, stance, units) = (subject.car(), &subject.stance, subject.units);
        let printed = self.form().0 == options::Format::Html;
        let curves = if printed { self.fine(subject).ok() } else { None };
        TravelPage { car, stance, answer, units, detail: self.course.detail, curves: curves.as_ref() }
            .put(page);
    }

    fn table(&self, answer: &TravelCurves) -> Option<Result<String, Failure>> {
        let is_asked = match self.format {
            Some(format) => format == TravelFormat::Csv,
            None => screen::kind() == Some(FileKind::Csv),
        };
        is_asked.then(|| travel_csv(answer).map_err(Failure::unsound))
    }
}
