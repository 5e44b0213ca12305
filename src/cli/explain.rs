//! `--explain`: one figure of an answer instead of all of it.

use schemars::JsonSchema;
use serde::Serialize;

use super::options::{Format, Profile};
use super::{Failure, Outcome};
use rodset::car::Stance;
use rodset::explain::{Explained, Figures, Given, Unclear, Varied, explain};
use rodset::measure::Survey;
use rodset::plan::Fitting;
use rodset::report::{ExplainPage, Units};

/// Asks for an explanation.
#[derive(Debug, clap::Args)]
#[command(next_help_heading = "Explanation")]
pub(super) struct Explain {
    /// Instead of the page, explain one figure of it: what it means, how it came about for this car, what it is sensitive to;
    /// by its words on the page or in the JSON, such as "camber left" or "upper turns"
    #[arg(long, value_name = "FIGURE")]
    explain: Option<String>,
}

impl Explain {
    /// The explanation, where one is asked for; `ask` answers the same question of whatever is changed.
    pub(super) fn outcome<T: Serialize + JsonSchema>(
        &self,
        format: Format,
        (profile, given, units): (&Profile, &Given, Units),
        ask: impl Fn(&Given) -> Result<T, Failure> + Sync,
    ) -> Result<Option<Outcome>, Failure> {
        let Some(words) = &self.explain else { return Ok(None) };
        let figures = Figures::of(&ask(given)?);
        let again = |given: &Given| ask(given).ok().map(|answer| Figures::bare(&answer));
        let varied = given.varied(&profile.text.text, &again);
        written(format, &given.car.name, units, explain(&figures, words, &varied)).map(Some)
    }

    /// The same of a survey.
    pub(super) fn outcome_of_survey<T: Serialize + JsonSchema>(
        &self,
        format: Format,
        (survey, units): (&Survey, Units),
        ask: impl Fn(&Survey) -> Result<T, Failure> + Sync,
    ) -> Result<Option<Outcome>, Failure> {
        let Some(words) = &self.explain else { return Ok(None) };
        let figures = Figures::of(&ask(survey)?);
        let again = |survey: &Survey| ask(survey).ok().map(|answer| Figures::bare(&answer));
        let varied = Varied::of_survey(survey, &again);
        written(format, &survey.car, units, explain(&figures, words, &varied)).map(Some)
    }

    /// The same of an answer that rests on nothing measured.
    pub(super) fn outcome_alone<T: Serialize + JsonSchema>(
        &self,
        format: Format,
        (answer, about, units): (&T, &str, Units),
    ) -> Result<Option<Outcome>, Failure> {
        let Some(words) = &self.explain else { return Ok(None) };
        let explained = explain(&Figures::of(answer), words, &Varied::default());
        written(format, about, units, explained).map(Some)
    }
}

fn written(
    format: Format,
    about: &str,
    units: Units,
    explained: Result<Explained, Unclear>,
) -> Result<Outcome, Failure> {
    let explained = explained.map_err(|error| Failure::usage(format!("--explain: {error}")))?;
    format.write(&explained, || ExplainPage { about, answer: &explained, units }).map(Outcome::answer)
}

/// How the car stands.
pub(super) fn stance(given: &Given) -> Result<Stance, Failure> {
    given.stance().ok_or_else(|| Failure::unsound("a front drop needs the wheelbase"))
}

/// A fitting with the cams as they are given.
pub(super) fn fitting(fitting: &Fitting, given: &Given) -> Fitting {
    Fitting { keep_cams: given.keep_cams.unwrap_or(fitting.keep_cams), ..fitting.clone() }
}
