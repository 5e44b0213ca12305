//! From the text of a survey file to a [`Survey`]: a profile with `[survey]` in place of its points.

mod layout;
mod observations;
mod verdict;

use std::ops::Range;
use toml::Spanned;

use super::finding::{self, Finding, Severity};
use super::{check, schema};
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
/// # Errors
///
/// Everything that is wrong with it, in the order of the file.
pub fn read_survey(text: &str) -> Result<CheckedSurvey, Vec<Finding>> {
    let locate = |mut findings: Vec<Finding>| {
        finding::locate(&mut findings, text);
        findings
    };
    let profile = toml::from_str::<schema::Profile>(text)
        .map_err(|error| locate(vec![Finding::of_toml(&error, text)]))?;
    let Some(survey) = &profile.survey else {
        return Err(locate(vec![
            Finding::error(0..0, "there is no [survey] in this file")
                .help("`rodset starter --survey FILE` writes one to fill in"),
        ]));
    };
    let mut reader = Reader::new();
    let checked = reader.survey(&profile, survey);
    let sound = !reader.findings.iter().any(|finding| finding.severity == Severity::Error);
    match checked {
        Some(checked) if sound => Ok(CheckedSurvey { warnings: locate(reader.findings), ..checked }),
        _ => Err(locate(reader.findings)),
    }
}

/// Collects findings while a survey is read.
struct Reader {
    findings: Vec<Finding>,
}

impl Reader {
    fn new() -> Self {
        Self { findings: Vec::new() }
    }

    fn tell(&mut self, finding: Finding) {
        self.findings.push(finding);
    }

    fn survey(
        &mut self,
        profile: &schema::Profile,
        survey: &Spanned<schema::Survey>,
    ) -> Option<CheckedSurvey> {
        let (head, findings) = check::head(profile);
        self.findings.extend(findings);
        let layout = self.layout(profile, survey.get_ref())?;
        let observed = self.observations(survey.get_ref(), &layout);
        let (name, sigmas) = head?;
        Some(layout.survey(name, sigmas, observed))
    }
}
