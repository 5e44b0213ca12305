//! Bands by sampling, where they are asked for.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use serde::Serialize;
use std::io::{self, IsTerminal};
use std::time::{Duration, Instant};

use rodset::plan::{NoPosition, Sampled, Sampling};
use rodset::report::{Page, Printable, SampledPage, Units};

use super::Failure;
use super::options::Input;

/// More would say no more and take hours.
const MOST: u64 = 10_000_000;
/// A bar that would be gone at once only flickers.
const PATIENCE: Duration = Duration::from_secs(1);

#[derive(Debug, clap::Args)]
#[command(next_help_heading = "Sampling")]
pub(super) struct Samples {
    /// Check the bands by this many cars drawn at random from the errors, each solved exactly; 10000 is a good number
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u64).range(100..=MOST))]
    samples: Option<u64>,
    /// Another seed draws other cars; the same one the same cars
    #[arg(long, value_name = "SEED", default_value = "1", requires = "samples")]
    seed: u64,
}

/// An answer with what sampling says of it.
#[derive(Debug, Serialize, schemars::JsonSchema)]
pub(super) struct WithSamples<'a, T> {
    #[serde(flatten)]
    answer: &'a T,
    #[serde(skip_serializing_if = "Option::is_none")]
    sampled: Option<&'a Sampled>,
}

/// A page with what sampling says behind it.
struct WithSamplesPage<'a, P> {
    page: P,
    behind: Option<SampledPage<'a>>,
}

impl<P: Printable> Printable for WithSamplesPage<'_, P> {
    fn put(&self, page: &mut Page) {
        self.page.put(page);
        self.behind.iter().for_each(|behind| behind.put(page));
    }
}

/// Writes an answer, and what sampling says of it behind it.
pub(super) fn write<P: Printable>(
    input: &Input,
    answer: &impl Serialize,
    sampled: Option<&Sampled>,
    units: Units,
    page: impl FnOnce() -> P,
) -> Result<String, Failure> {
    input.write(&WithSamples { answer, sampled }, || WithSamplesPage {
        page: page(),
        behind: sampled.map(|sampled| SampledPage { sampled, units }),
    })
}

impl Samples {
    /// Samples if it was asked for; a bar on the terminal shows how far it is when it takes longer.
    pub(super) fn take(
        &self,
        sample: impl FnOnce(Sampling, &(dyn Fn() + Sync)) -> Result<Sampled, NoPosition>,
    ) -> Result<Option<Sampled>, NoPosition> {
        let Some(samples) = self.samples else { return Ok(None) };
        let sampling = Sampling { samples, seed: self.seed };
        if !io::stderr().is_terminal() {
            return sample(sampling, &|| {}).map(Some);
        }
        let bar = ProgressBar::with_draw_target(Some(sampling.samples), ProgressDrawTarget::hidden());
        let style = ProgressStyle::with_template("sampling {bar:30} {percent}%, {eta} left");
        bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
        let begin = Instant::now();
        let sampled = sample(sampling, &|| {
            if bar.is_hidden() && begin.elapsed() > PATIENCE {
                bar.set_draw_target(ProgressDrawTarget::stderr());
            }
            bar.inc(1);
        });
        bar.finish_and_clear();
        sampled.map(Some)
    }
}
