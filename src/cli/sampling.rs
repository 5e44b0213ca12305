//! Bands by sampling, where they are asked for.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::{self, IsTerminal};
use std::time::{Duration, Instant};

use crate::plan::{NoPosition, Sampled, Sampling};

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
