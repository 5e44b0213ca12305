//! `rodset sheet`: the page that lies on the bench.

use clap::ValueEnum;
use sha2::{Digest, Sha256};
use std::path::PathBuf;

use super::files::{html_path, replace, shown};
use super::options::{Source, json};
use super::plan::{Asked, Planned};
use super::today::today;
use super::{Failure, Outcome};
use rodset::plan::{TravelQuestion, handover, joint_angles, outline, travel};
use rodset::report::{Origin, PrintedSheet, SheetPage, ShopPage};

#[derive(Debug, clap::Args)]
#[command(
    after_help = "To print: rodset sheet my-car.toml --drop 40 --output my-car.html, then open it in a browser and print it \
                  on A4 or Letter at 100 %, or save it as PDF there."
)]
pub(super) struct Args {
    #[command(flatten)]
    source: Source,
    #[command(flatten)]
    form: Form,
    #[command(flatten)]
    asked: Asked,
}

/// In what form a page is given, and where it goes.
#[derive(Debug, clap::Args)]
pub(super) struct Form {
    /// For people (text), for scripts (json) or to be printed (html) [default: text; html with --output]
    #[arg(long, value_enum)]
    format: Option<Format>,
    /// Write the page to be printed into this file; one that is there is replaced
    #[arg(long, value_name = "FILE.html", value_parser = html_path)]
    output: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Format {
    /// For people.
    Text,
    /// For scripts: one object, full precision, units in the names.
    Json,
    /// One file to be printed.
    Html,
}

impl Form {
    /// Refuses what does not go together, before anything is worked out.
    pub(super) fn check(&self) -> Result<Format, Failure> {
        match (self.format, &self.output) {
            (Some(Format::Text | Format::Json), Some(_)) => {
                Err(Failure::usage("--output writes the page to be printed: leave --format out, or say html"))
            }
            (None, Some(_)) => Ok(Format::Html),
            (format, _) => Ok(format.unwrap_or(Format::Text)),
        }
    }

    /// Hands a finished text out: into the file that was asked for, or to be printed.
    pub(super) fn deliver(&self, text: String) -> Result<String, Failure> {
        let Some(path) = &self.output else { return Ok(text) };
        replace(path, &text)?;
        Ok(format!("wrote {}\n", shown(path)))
    }
}

/// Makes the bench sheet of a plan and does something with it.
pub(super) fn with_sheet<T>(planned: &Planned, then: impl FnOnce(&SheetPage<'_>) -> T) -> T {
    let Planned { profile, stance, fitting, answer, toe, .. } = planned;
    let joints = joint_angles(&profile.car, stance, Some(answer), fitting).ok();
    let digest: String = Sha256::digest(profile.text.text.as_bytes())
        .iter()
        .fold(String::new(), |hex, byte| hex + &format!("{byte:02x}"));
    then(&SheetPage {
        car: &profile.car,
        origin: Origin { profile: &profile.path, digest: &digest, made: &today() },
        stance,
        fitting,
        answer,
        toe: *toe,
        joints: joints.as_ref(),
    })
}

/// Everything that is printed.
fn printed(planned: &Planned, sheet: &SheetPage<'_>) -> Result<String, Failure> {
    /// A line needs points so near each other, mm.
    const FINE: f64 = 2.0;
    let Planned { profile, stance, specs, fitting, answer, .. } = planned;
    let car = &profile.car;
    let question =
        TravelQuestion { fitting, specs: Some(specs), variants: &[], bump: None, droop: None, every: FINE };
    let curves = travel(car, stance, &question);
    let handover = handover(car, answer);
    let shop = ShopPage { sheet, answer: &handover };
    let outlines = outline(car, stance, Some(specs), fitting)?;
    let travel = curves.as_ref().map_err(ToString::to_string);
    Ok(PrintedSheet { sheet, shop: &shop, outlines: &outlines, travel }.html())
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let format = args.form.check()?;
    let planned = args.asked.of(args.source.read()?)?;
    let text = match format {
        Format::Text => with_sheet(&planned, |sheet| sheet.to_string()),
        Format::Json => json(&planned.answer)?,
        Format::Html => with_sheet(&planned, |sheet| printed(&planned, sheet))?,
    };
    Ok(Outcome { output: args.form.deliver(text)?, spec_met: planned.answer.succeeds() })
}
