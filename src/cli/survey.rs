//! `rodset survey`: what points do the measurements come to?

use std::path::PathBuf;

use super::explain::Explain;
use super::files::{self, TextFile};
use super::options::{Form, Lengths};
use super::{Failure, Outcome};
use rodset::car::Hand;
use rodset::measure::{Survey, Surveyed, survey};
use rodset::profile::{self, Numbers, UsedLength, read_survey, write_numbers};
use rodset::report::{SurveyPage, SurveySheet};

const EXAMPLES: &str = "\
Examples:
  rodset survey examples/surveys/tansy-wharf.toml
      the points, and how good they are
  rodset survey examples/surveys/tansy-wharf.toml --write my-car.toml
      and the profile made of them
  rodset survey examples/surveys/tansy-wharf.toml --sheet --output sheet.txt
      the page to carry under the car";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    /// The survey, a TOML file (`rodset starter --survey FILE` writes one to fill in)
    #[arg(value_name = "SURVEY")]
    survey: PathBuf,
    /// Write the profile that comes of it to this file, which must not exist yet
    #[arg(long, value_name = "PROFILE")]
    write: Option<PathBuf>,
    /// The page to carry under the car instead: what to measure, in which order, with blanks and a sketch
    #[arg(long, conflicts_with = "write")]
    sheet: bool,
    #[command(flatten)]
    form: Form,
    #[command(flatten)]
    lengths: Lengths,
    #[command(flatten)]
    explain: Explain,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let file = TextFile::read(&args.survey)?;
    let checked = read_survey(&file.text).map_err(|findings| file.refuse(&findings))?;
    super::tell(&file.render(&checked.warnings));
    let units = args.lengths.units();
    if args.sheet {
        let sheet = SurveySheet { survey: &checked.survey, file: &file.name, units };
        return Ok(Outcome::answer(args.form.format().page(&sheet)));
    }
    let ask = |other: &Survey| {
        survey(other, &checked.sigmas)
            .map_err(|error| file.refuse(&checked.no_survey_findings(&error, &file.text)))
    };
    if let Some(explained) =
        args.explain.outcome_of_survey(args.form.format(), (&checked.survey, units), ask)?
    {
        return Ok(explained);
    }
    let answer = ask(&checked.survey)?;
    let slips = checked.suspect_findings(&answer.suspects, &file.text);
    super::tell(&file.render(&slips));
    let sound = answer.suspects.is_empty();
    let written = match &args.write {
        Some(path) if sound => {
            files::create(path, &profile_text(&file, &checked.survey, &answer)?)?;
            Some(files::shown(path))
        }
        _ => None,
    };
    let page = || SurveyPage {
        survey: &checked.survey,
        answer: &answer,
        units,
        file: &file.name,
        written: written.as_deref(),
    };
    let output = args.form.format().write(&answer, page)?;
    Ok(Outcome { output, spec_met: sound })
}

/// The profile, which must be sound itself before it is written.
fn profile_text(file: &TextFile, survey: &Survey, answer: &Surveyed) -> Result<String, Failure> {
    let mut points = [[0.0; 3]; 11];
    let of_car = answer.points.iter().filter(|point| point.measurand.is_some());
    for (place, point) in points.iter_mut().zip(of_car) {
        *place = point.at_mm;
    }
    let used = |(link, read): (usize, [f64; 2])| UsedLength { hand: Hand::Left, link, read: Some(read) };
    let lengths: Vec<UsedLength> = survey.arm_lengths().into_iter().map(used).collect();
    let numbers =
        Numbers { points: &points, right: &[], readings: None, errors: &answer.errors, lengths: &lengths };
    let text = write_numbers(&file.text, &numbers).map_err(Failure::unsound)?;
    let written = TextFile { name: format!("the profile made of {}", file.name), text };
    match profile::read(&written.text) {
        Ok(checked) => super::tell(&written.render(&checked.warnings)),
        Err(findings) => return Err(written.refuse(&findings)),
    }
    Ok(written.text)
}
