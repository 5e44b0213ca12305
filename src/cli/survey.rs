//! `rodset survey`: what points do the measurements come to?

use schemars::Schema;
use std::path::PathBuf;

use super::command::{Ask, Command, Occasion, Subject};
use super::explain::Explain;
use super::files::{self, TextFile};
use super::options::{Form, Format, Lengths};
use super::{Failure, Outcome, worked_out};
use crate::explain::Rests;
use crate::measure::{Survey, Surveyed};
use crate::profile::CheckedSurvey;
use crate::report::{Page, Printable, SurveyPage, SurveySheet, Units};

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
    #[command(flatten)]
    asked: SurveyAsked,
    /// The page to carry under the car instead: what to measure, in which order, with blanks and a sketch
    #[arg(long, conflicts_with = "write", display_order = 1)]
    sheet: bool,
}

/// What is asked of a survey.
#[derive(Debug, clap::Args)]
struct SurveyAsked {
    /// The survey, a TOML file (`rodset starter --survey FILE` writes one to fill in)
    #[arg(value_name = "SURVEY")]
    survey: PathBuf,
    /// Write the profile that comes of it to this file, which must not exist yet
    #[arg(long, value_name = "PROFILE")]
    write: Option<PathBuf>,
    #[command(flatten)]
    form: Form,
    #[command(flatten)]
    lengths: Lengths,
    #[command(flatten)]
    explain: Explain,
}

/// A survey that was read.
pub(super) struct SurveySubject {
    file: TextFile,
    checked: CheckedSurvey,
    units: Units,
}

impl Subject for SurveySubject {
    type Basis = Survey;

    fn basis(&self) -> Survey {
        self.checked.survey.clone()
    }

    fn name(&self) -> &str {
        &self.checked.survey.car
    }

    fn units(&self) -> Units {
        self.units
    }

    fn rests(&self) -> impl Rests<Basis = Survey> {
        &self.checked.survey
    }
}

impl Command for Args {
    const SCHEMA: Option<fn() -> Schema> = SurveyAsked::SCHEMA;

    fn run(&self) -> Result<Outcome, Failure> {
        if !self.sheet {
            return self.asked.run();
        }
        let SurveySubject { file, checked, units } = self.asked.read()?;
        let sheet = SurveySheet { survey: &checked.survey, file: &file.name, units };
        Ok(Outcome::answer(self.asked.form().0.page(&sheet)))
    }
}

impl Ask for SurveyAsked {
    type Subject = SurveySubject;
    type Answer = Surveyed;

    fn form(&self) -> (Format, Option<&str>) {
        (self.form.format(), self.explain.words())
    }

    fn read(&self) -> Result<SurveySubject, Failure> {
        let file = TextFile::read(&self.survey)?;
        let checked = worked_out::read(&file)?;
        Ok(SurveySubject { file, checked, units: self.lengths.units() })
    }

    fn ask(
        &self,
        subject: &SurveySubject,
        of: &Survey,
        _: Occasion<'_, Surveyed>,
    ) -> Result<Surveyed, Failure> {
        let SurveySubject { file, checked, .. } = subject;
        worked_out::points(file, checked, of)
    }

    fn act(&self, subject: &SurveySubject, answer: &Surveyed) -> Result<Option<String>, Failure> {
        let SurveySubject { file, checked, .. } = subject;
        file.warn(&checked.suspect_findings(&answer.suspects, &file.text));
        if !answer.suspects.is_empty() {
            return Ok(None);
        }
        // What is odd about the points is told whether they are written or not.
        let made = worked_out::profile(file, &checked.survey, answer);
        let Some(path) = &self.write else { return Ok(None) };
        files::create(path, &made?.0.text)?;
        Ok(Some(files::shown(path)))
    }

    fn put(&self, page: &mut Page, subject: &SurveySubject, answer: &Surveyed, done: Option<&str>) {
        let SurveySubject { file, checked, units } = subject;
        SurveyPage { survey: &checked.survey, answer, units: *units, file: &file.name, written: done }
            .put(page);
    }

    fn succeeds(&self, _: &SurveySubject, answer: &Surveyed) -> bool {
        answer.suspects.is_empty()
    }
}
