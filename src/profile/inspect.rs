//! What is wrong with a text that may still be unfinished, whichever sort of file it is.

use std::collections::HashSet;

use super::{EditError, Finding, Severity, has_table, is_survey, read, read_survey};

/// The sorts of file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Sort {
    /// A car.
    Profile,
    /// What was measured under a car.
    Survey,
    /// What was read on a car, state by state.
    Record,
}

/// A text looked through.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Inspection {
    /// What sort of file it is. The readings of a record are not looked at: that takes their car.
    pub(crate) sort: Sort,
    /// Errors and warnings, in the order of the text.
    pub(crate) findings: Vec<Finding>,
}

/// Looks a text through.
///
/// # Errors
///
/// The text is not TOML.
pub fn inspect(text: &str) -> Result<Inspection, EditError> {
    let sort = if has_table(text, "survey")? || is_survey(text) {
        Sort::Survey
    } else if has_table(text, "heights")? || super::edit::is_record(text)? {
        Sort::Record
    } else {
        Sort::Profile
    };
    let findings = match sort {
        Sort::Profile => read(text).map_or_else(|findings| findings, |checked| checked.warnings),
        Sort::Survey => read_survey(text).map_or_else(|findings| findings, |checked| checked.warnings),
        Sort::Record => Vec::new(),
    };
    Ok(Inspection { sort, findings })
}

impl Inspection {
    /// Whether the file can be used.
    pub(crate) fn is_sound(&self) -> bool {
        self.findings.iter().all(|finding| finding.severity == Severity::Warning)
    }

    /// What is not there yet.
    pub(crate) fn gaps(&self) -> impl Iterator<Item = &Finding> {
        self.findings.iter().filter(|finding| finding.is_gap)
    }

    /// What is wrong rather than missing.
    pub fn wrong(&self) -> impl Iterator<Item = &Finding> {
        self.findings.iter().filter(|finding| finding.severity == Severity::Error && !finding.is_gap)
    }

    /// What is odd or wrong here and was not before.
    pub(crate) fn news<'a>(&'a self, before: &Self) -> Vec<&'a Finding> {
        let known: HashSet<_> =
            before.findings.iter().map(|finding| (&finding.key, &finding.headline)).collect();
        let new = |finding: &&Finding| !known.contains(&(&finding.key, &finding.headline));
        self.findings.iter().filter(|finding| !finding.is_gap).filter(new).collect()
    }

    /// What speaks against a change of some keys from what was before to this: a sound file stays sound, and in one that is
    /// still unfinished nothing new may be wrong, nor anything at those keys.
    pub(crate) fn refusals<'a>(&'a self, before: &Self, keys: &[&str]) -> Vec<&'a Finding> {
        let news = self.news(before);
        let changed = |finding: &Finding| {
            finding.key.as_deref().is_some_and(|at| keys.iter().any(|key| is_of(key, at)))
        };
        let against = |finding: &&Finding| {
            let new =
                if finding.is_gap { before.is_sound() } else { news.contains(finding) || changed(finding) };
            finding.severity == Severity::Error && new
        };
        self.findings.iter().filter(against).collect()
    }
}

/// Whether a key is the one of a finding, or a coordinate of it.
fn is_of(key: &str, at: &str) -> bool {
    key.strip_prefix(at).is_some_and(|rest| ["", ".x", ".y", ".z"].contains(&rest))
}
