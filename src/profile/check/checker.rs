//! What collects everything that is wrong before it stops.

use toml::Spanned;

use crate::profile::Severity;
use crate::profile::finding::Finding;

#[derive(Default)]
pub(in crate::profile) struct Checker {
    pub(super) findings: Vec<Finding>,
}

impl Checker {
    pub(in crate::profile) fn tell(&mut self, finding: Finding) {
        self.findings.push(finding);
    }

    /// What was found, with the warnings, or all findings if one of them is an error.
    pub(in crate::profile) fn conclude<T>(self, found: Option<T>) -> Result<(T, Vec<Finding>), Vec<Finding>> {
        let sound = !self.findings.iter().any(|finding| finding.severity == Severity::Error);
        match found {
            Some(found) if sound => Ok((found, self.findings)),
            _ => Err(self.findings),
        }
    }

    /// The version of the format; `file` is what the file is called.
    pub(in crate::profile) fn format(&mut self, format: Option<&Spanned<i64>>, file: &str) {
        match format {
            None => self.tell(
                Finding::gap(0..0, "the key `format` is missing")
                    .help(format!("the first line of a {file} is `format = 1`")),
            ),
            Some(format) if *format.get_ref() != 1 => self.tell(
                Finding::error(format.span(), "this format is not known")
                    .label("expected 1")
                    .help("this version reads `format = 1`; a newer one may be needed for the file"),
            ),
            Some(_) => {}
        }
    }
}
