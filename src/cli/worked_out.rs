//! Points worked out of a survey, and the profile made of them: written to a file, or taken in place of one.

use super::Failure;
use super::files::TextFile;
use crate::car::{Car, Hand, Measurand};
use crate::measure::{NoSurvey, Survey, Surveyed, survey};
use crate::profile::{self, Checked, CheckedSurvey, Numbers, UsedLength, read_survey, write_numbers};

/// A survey file as it was read, with its warnings already told.
pub(super) fn read(file: &TextFile) -> Result<CheckedSurvey, Failure> {
    let checked = read_survey(&file.text).map_err(|findings| file.refuse(&findings))?;
    file.warn(&checked.warnings);
    Ok(checked)
}

/// The points that fit what was measured; why there are none is told where it stands in the file.
pub(super) fn points(file: &TextFile, checked: &CheckedSurvey, of: &Survey) -> Result<Surveyed, Failure> {
    let refused = |error: NoSurvey| file.refuse(&checked.no_survey_findings(&error, &file.text));
    survey(of, &checked.sigmas).map_err(refused)
}

/// The text of the profile made of a survey.
fn written(text: &str, survey: &Survey, answer: &Surveyed) -> Result<String, String> {
    let mut points = [[0.0; 3]; 11];
    for (place, of) in points.iter_mut().zip(Measurand::points()) {
        // What is one with another's is written there alone.
        if let Some(point) = answer.points.iter().find(|point| point.measurand == Some(of)) {
            *place = point.at_mm;
        }
    }
    let used = |(link, read): (usize, [f64; 2])| UsedLength { hand: Hand::Left, link, read: Some(read) };
    let lengths: Vec<UsedLength> = survey.arm_lengths().into_iter().map(used).collect();
    let numbers = Numbers {
        points: &points,
        right: &[],
        right_errors: None,
        readings: None,
        errors: &answer.errors,
        learnt: &[],
        lengths: &lengths,
        assumed: &answer.assumed,
    };
    write_numbers(text, &numbers).map_err(|error| error.to_string())
}

/// The car of a survey's text, where it comes to one without a reading that looks wrong; nothing is told.
pub(super) fn quietly(text: &str) -> Option<Car> {
    let checked = read_survey(text).ok()?;
    let answer = survey(&checked.survey, &checked.sigmas).ok().filter(|answer| answer.suspects.is_empty())?;
    profile::read(&written(text, &checked.survey, &answer).ok()?).ok().map(|checked| checked.car)
}

/// The profile made of a survey, which must be sound itself.
pub(super) fn profile(
    file: &TextFile,
    survey: &Survey,
    answer: &Surveyed,
) -> Result<(TextFile, Checked), Failure> {
    let text = written(&file.text, survey, answer).map_err(Failure::unsound)?;
    let written = TextFile { name: format!("the profile made of {}", file.name), text };
    match profile::read(&written.text) {
        Ok(checked) => {
            written.warn(&checked.warnings);
            Ok((written, checked))
        }
        Err(findings) => Err(written.refuse(&findings)),
    }
}

/// A survey file in the place of a profile.
pub(super) fn in_place_of_a_profile(file: &TextFile) -> Result<(TextFile, Checked), Failure> {
    let checked = read(file)?;
    let answer = points(file, &checked, &checked.survey)?;
    if !answer.suspects.is_empty() {
        return Err(file.refuse(&checked.suspect_findings(&answer.suspects, &file.text)));
    }
    profile(file, &checked.survey, &answer)
}
