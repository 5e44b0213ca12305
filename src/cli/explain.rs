//! `--explain`: one figure of an answer instead of all of it.

use super::command::{Ask, Basis, Subject};
use super::{Failure, Outcome};
use rodset::explain::{Figures, explain};
use rodset::report::ExplainPage;

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
    /// The words for the figure that is to be explained.
    pub(super) fn words(&self) -> Option<&str> {
        self.explain.as_deref()
    }
}

/// The figure of an answer that goes by some words, explained.
pub(super) fn explained<A: Ask>(
    command: &A,
    subject: &A::Subject,
    answer: &A::Answer,
    words: &str,
) -> Result<Outcome, Failure> {
    let ask = |basis: &Basis<A>| command.ask(subject, basis, Some(answer));
    let figures = Figures::of(&ask(&subject.basis())?);
    let again = |basis: &Basis<A>| ask(basis).ok().map(|answer| Figures::bare(&answer));
    let explained = explain(&figures, words, &subject.varied(&again))
        .map_err(|error| Failure::usage(format!("--explain: {error}")))?;
    let page = || ExplainPage { about: subject.name(), answer: &explained, units: subject.units() };
    command.format().write(&explained, page).map(Outcome::answer)
}
