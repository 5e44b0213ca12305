//! `--explain`: one figure of an answer instead of all of it.

/// Asks for an explanation.
#[derive(Debug, clap::Args)]
#[command(next_help_heading = "Explanation")]
pub(super) struct Explain {
    /// Instead of the page, explain one figure of it: what it means, how it came about for this car, what it is sensitive to;
    /// by its words on the page or in the JSON, such as "lowered camber" or "upper turns"; without words, tell which there are
    #[arg(long, value_name = "FIGURE", num_args = 0..=1, default_missing_value = "")]
    explain: Option<String>,
}

impl Explain {
    /// The words for the figure that is to be explained.
    pub(super) fn words(&self) -> Option<&str> {
        self.explain.as_deref()
    }
}
