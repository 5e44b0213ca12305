//! `rodset spec`: a spec as a manual prints it, in every unit.

use clap::ValueEnum;

use super::Failure;
use super::command::{Ask, Occasion, Subject};
use super::explain::Explain;
use super::options::{Form, Format, Lengths, length};
use crate::explain::{OnNothing, Rests};
use crate::geometry::Figure;
use crate::plan::{Allowed, SpecAnswer};
use crate::profile::{CopyingSlip, Printed, PrintedError, Share};
use crate::report::{Page, Printable, SpecPage, Units};

const EXAMPLES: &str = r#"Examples:
  rodset spec camber "-1°10' ± 45'"
      degrees and minutes, with what it may be off
  rodset spec toe "0°05' to 0°15'" --each
      least and most of each wheel
  rodset spec toe "2 ± 1 mm" --total --diameter 445
      both wheels together, across a rim"#;

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    /// What it is the spec of
    #[arg(value_enum)]
    figure: FigureName,
    /// The figure as printed: "-1°10'", "-1°10' ± 45'", "0°05' to 0°15'", "2 ± 1 mm", "1/16 in"
    #[arg(value_name = "PRINTED", allow_hyphen_values = true)]
    printed: String,
    /// The manual prints toe of each wheel
    #[arg(long, conflicts_with = "total")]
    each: bool,
    /// The manual prints the toe of both wheels together
    #[arg(long)]
    total: bool,
    /// The diameter across which toe in mm or inches is measured, mm or with a unit
    #[arg(long, value_name = "MM", value_parser = length)]
    diameter: Option<f64>,
    #[command(flatten)]
    form: Form,
    #[command(flatten)]
    lengths: Lengths,
    #[command(flatten)]
    explain: Explain,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum FigureName {
    Camber,
    Toe,
}

/// A figure as a manual prints it, and the units that it is wanted in.
pub(super) struct InPrint {
    printed: String,
    units: Units,
}

impl Subject for InPrint {
    type Basis = ();

    fn basis(&self) {}

    fn name(&self) -> &str {
        &self.printed
    }

    fn units(&self) -> Units {
        self.units
    }

    fn rests(&self) -> impl Rests<Basis = ()> {
        OnNothing
    }
}

impl Ask for Args {
    type Subject = InPrint;
    type Answer = SpecAnswer;

    fn form(&self) -> (Format, Option<&str>) {
        (self.form.format(), self.explain.words())
    }

    fn read(&self) -> Result<InPrint, Failure> {
        Ok(InPrint { printed: self.printed.clone(), units: self.lengths.units() })
    }

    fn ask(&self, _: &InPrint, (): &(), _: Occasion<'_, SpecAnswer>) -> Result<SpecAnswer, Failure> {
        let figure = match self.figure {
            FigureName::Camber => Figure::Camber,
            FigureName::Toe => Figure::Toe,
        };
        if figure == Figure::Camber && (self.total || self.diameter.is_some()) {
            return Err(Failure::usage(
                "camber is printed for each wheel, as an angle: no --total and no --diameter",
            ));
        }
        if self.diameter.is_some_and(|diameter| diameter <= 0.0) {
            return Err(Failure::usage("--diameter: a diameter is more than nothing"));
        }
        let refuse = |error: PrintedError| Failure::usage(unread(&error));
        let printed: Printed = self.printed.parse().map_err(refuse)?;
        let said = match (self.each, self.total) {
            (_, true) => Some(Share::Total),
            (true, _) => Some(Share::Each),
            _ => None,
        };
        let share = said.unwrap_or(Share::Each);
        let each =
            Allowed::from_radians(printed.of_each_wheel(figure, share, self.diameter).map_err(refuse)?);
        Ok(SpecAnswer {
            figure,
            printed_as_total: share == Share::Total,
            each,
            total: (figure == Figure::Toe).then(|| Allowed::total(each, each)),
            tolerance_deg: printed.has_tolerance().then(|| each.tolerance_deg()),
            diameter_mm: self.diameter,
            slips: printed.slips(figure, said, self.diameter).iter().map(warned).collect(),
        })
    }

    fn put(&self, page: &mut Page, subject: &InPrint, answer: &SpecAnswer, _: Option<&str>) {
        SpecPage { printed: &subject.printed, answer, units: subject.units }.put(page);
    }
}

/// Why a printed figure is no angle, and with which option it would be.
fn unread(error: &PrintedError) -> String {
    /// Diameters to show what a length would be across: a rim's edge and a tyre, mm.
    const ACROSS: [(&str, f64); 3] =
        [("a rim of 400 mm", 400.0), ("one of 470 mm", 470.0), ("a tyre of 640 mm", 640.0)];
    let PrintedError::NoDiameter(mm) = error else { return error.to_string() };
    let angle = |(name, diameter): (&str, f64)| {
        format!("{:.2} deg across {name}", (mm / diameter).asin().to_degrees())
    };
    format!(
        "{error}: give --diameter\n\n  {mm:.1} mm of one wheel is {}. The manual says which it means, often the rim's outer edge.",
        ACROSS.map(angle).join(", ")
    )
}

/// A slip in words, and with which option it is none.
fn warned(slip: &CopyingSlip) -> String {
    match slip {
        CopyingSlip::ShareNotSaid => format!("{slip}: say --total, or --each where you are sure."),
        slip => slip.to_string(),
    }
}
