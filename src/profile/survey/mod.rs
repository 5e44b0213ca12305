//! From the text of a survey file to a [`Survey`]: a profile with `[survey]` in place of its points.

mod layout;
mod observations;
mod observed;
mod typical;
mod verdict;

use std::ops::Range;
use toml::Spanned;

use self::observed::Observed;
use super::check::Checker;
use super::finding::{Finding, Remedy};
use super::keys::{Profile, Readable};
use super::read::parse;
use crate::car::Sigmas;
use crate::measure::Survey;

/// A survey that has been read and checked.
#[derive(Debug, Clone, PartialEq)]
pub struct CheckedSurvey {
    /// What was measured.
    pub survey: Survey,
    /// How well camber and toe were read.
    pub sigmas: Sigmas,
    /// What looks odd, but is no error.
    pub warnings: Vec<Finding>,
    /// Where each observation of the survey stands.
    spans: Vec<Range<usize>>,
    /// Where each spot is named.
    spots: Vec<Range<usize>>,
}

/// Reads a survey file.
///
/// # Examples
///
/// ```
/// # use rodset::measure::survey;
/// let text = include_str!("../../../examples/surveys/tansy-wharf.toml");
/// let checked = rodset::profile::read_survey(text).expect("a sound survey");
/// let found = survey(&checked.survey, &checked.sigmas).expect("points that are held in every way");
/// assert!(found.suspects.is_empty());
/// for point in &found.points {
///     println!("{:>24} {:>8.1} {:>8.1} {:>8.1}", point.name, point.at_mm[0], point.at_mm[1], point.at_mm[2]);
/// }
/// ```
///
/// # Errors
///
/// Everything that is wrong with it, in the order of the file.
pub fn read_survey(text: &str) -> Result<CheckedSurvey, Vec<Finding>> {
    parse(text, check).map(|(survey, warnings)| CheckedSurvey { warnings, ..survey })
}

/// Whether the points of a file are still to be worked out: it has a `[survey]`, or begins from a typical layout and lacks some.
pub(crate) fn is_survey(text: &str) -> bool {
    Profile::of_text(text).is_ok_and(|profile| profile.survey_span().is_some())
}

fn check(profile: Profile) -> Result<(CheckedSurvey, Vec<Finding>), Vec<Finding>> {
    let mut check = Checker::default();
    check.members(&profile);
    let survey = check.survey(&profile.spread());
    check.conclude(survey)
}

impl Checker {
    fn survey(&mut self, profile: &Profile) -> Option<CheckedSurvey> {
        if profile.survey_span().is_none() {
            self.tell(Finding::error(0..0, "there is no [survey] in this file").remedy(Remedy::BeginSurvey));
            return None;
        }
        let head = self.head(profile);
        let sigmas = head.as_ref().map_or_else(Sigmas::default, |(_, sigmas)| *sigmas);
        self.beside_the_points(profile);
        let assumed = match Profile::typical.of(profile) {
            Some(_) => Some(self.assumed(profile, &sigmas)?),
            None => None,
        };
        let survey = Profile::survey.of(profile).map(Spanned::get_ref);
        let layout = self.spots(profile, survey, assumed)?;
        let mut observed = survey.map_or_else(Observed::default, |survey| self.observations(survey, &layout));
        if layout.is_assumed() {
            self.taped(profile, &sigmas, &layout, &mut observed);
        }
        let (name, sigmas) = head?;
        Some(layout.survey(name, sigmas, observed))
    }
}
