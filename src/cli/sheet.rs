//! `rodset sheet`: the page that lies on the bench.

use clap::ValueEnum;
use sha2::{Digest, Sha256};
use std::path::Path;

use super::explain::Explain;
use super::options::{self, Source, json};
use super::plan::{Asked, Planned};
use super::today::today;
use super::{Failure, Outcome, screen};
use rodset::plan::{TravelQuestion, handover, joint_angles, outline, travel};
use rodset::report::{Origin, PrintedSheet, SheetPage, ShopPage};

const EXAMPLES: &str = "\
Examples:
  rodset sheet examples/tansy-wharf.toml --drop 40
      the page for the bench
  rodset sheet examples/tansy-wharf.toml --drop 40 --output sheet.html
      the same to print, with drawings and curves: open it in a browser and print it on A4 or Letter
      at 100 %, or save it as PDF there";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    source: Source,
    #[command(flatten)]
    form: Form,
    #[command(flatten)]
    asked: Asked,
    #[command(flatten)]
    explain: Explain,
}

/// In what form a page is given.
#[derive(Debug, clap::Args)]
pub(super) struct Form {
    /// For people (text), for scripts (json) or to be printed (html) [default: html where --output names an .html file, else text]
    #[arg(long, value_enum)]
    format: Option<Format>,
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

impl Format {
    /// The form of what is only shown or read by scripts.
    pub(super) fn plain(self) -> options::Format {
        match self {
            Self::Json => options::Format::Json,
            Self::Text | Self::Html => options::Format::Text,
        }
    }
}

impl Form {
    /// The form of a page that goes to a file, or to standard output.
    pub(super) fn of(&self, file: Option<&Path>) -> Format {
        let ending = file.and_then(Path::extension).unwrap_or_default();
        let html = ["html", "htm"].iter().any(|html| ending.eq_ignore_ascii_case(html));
        self.format.unwrap_or(if html { Format::Html } else { Format::Text })
    }
}

/// Makes the bench sheet of a plan and does something with it.
pub(super) fn with_sheet<T>(planned: &Planned, then: impl FnOnce(&SheetPage<'_>) -> T) -> T {
    let Planned { profile, stance, fitting, answer, units, .. } = planned;
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
        units: *units,
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

/// The page for standard output, or for the file that it goes to.
pub(super) fn run(args: &Args, file: Option<&Path>) -> Result<Outcome, Failure> {
    let planned = args.asked.of(args.source.read()?)?;
    if let Some(explained) = planned.explained(&args.explain, args.form.of(file).plain())? {
        return Ok(explained);
    }
    let text = match args.form.of(file) {
        Format::Text => with_sheet(&planned, |sheet| screen::page(sheet)),
        Format::Json => json(&planned.answer)?,
        Format::Html => with_sheet(&planned, |sheet| printed(&planned, sheet))?,
    };
    Ok(Outcome { output: text, spec_met: planned.answer.succeeds() })
}
