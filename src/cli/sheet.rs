//! `rodset sheet`: the page that lies on the bench.

use sha2::{Digest, Sha256};
use std::str::FromStr;

use super::explain::Explain;
use super::options::{Form, Format, Source};
use super::plan::{Asked, Planned};
use super::today::today;
use super::{Failure, Outcome, screen};
use rodset::car::{ArmLength, Car, Hand};
use rodset::plan::{TravelQuestion, handover, joint_angles, outline, travel};
use rodset::profile::Quantity;
use rodset::report::{Origin, Page, Printable, PrintedSheet, SheetPage, ShopPage};

const EXAMPLES: &str = "\
Examples:
  rodset sheet examples/tansy-wharf.toml --drop 40
      the page for the bench
  rodset sheet examples/tansy-wharf.toml --drop 40 --stock 'upper left=240.8'
      with what a stock arm measures, so that its target is printed
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
    /// What a stock arm measures, centre to centre: 'upper left=325.2', or 'upper=325.2' for both sides; once for each arm, in mm or
    /// with a unit. It goes before `measured_length` in the profile
    #[arg(long, value_name = "LINK SIDE=LENGTH")]
    stock: Vec<Stock>,
    #[command(flatten)]
    asked: Asked,
    #[command(flatten)]
    explain: Explain,
}

/// What a stock arm measures: its link, with or without a side, and a length.
#[derive(Debug, Clone)]
struct Stock {
    arm: String,
    length: f64,
}

impl FromStr for Stock {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (arm, length) =
            text.rsplit_once('=').ok_or("write the arm and what it measures, like 'upper left=325.2'")?;
        let length =
            length.parse::<Quantity>().and_then(Quantity::length).map_err(|error| error.to_string())?;
        if length > 0.0 {
            Ok(Self { arm: arm.trim().to_owned(), length })
        } else {
            Err("an arm's length is more than zero".to_owned())
        }
    }
}

impl Stock {
    /// Takes it over into the car.
    fn put(&self, car: &mut Car) -> Result<(), Failure> {
        let names: Vec<String> = car.sides.left.links.iter().map(|link| link.name.clone()).collect();
        let is_link = |name: &str| names.iter().any(|link| link == name);
        let of_side = Hand::BOTH.into_iter().find_map(|hand| {
            let name = self.arm.strip_suffix(&hand.to_string())?.trim_end();
            is_link(name).then_some((name, [hand].to_vec()))
        });
        let whole = is_link(&self.arm).then(|| (self.arm.as_str(), Hand::BOTH.to_vec()));
        let Some((name, hands)) = whole.or(of_side) else {
            return Err(Failure::usage(format!(
                "--stock: there is no arm called \"{}\"; write a link, then left or right: {}",
                self.arm,
                names.join(", ")
            )));
        };
        let sigma = car.sigmas.taping();
        for hand in hands {
            for link in car.sides[hand].links.iter_mut().filter(|link| link.name == name) {
                if !link.can_measure(self.length) {
                    let between = link.stock_length();
                    return Err(Failure::usage(format!(
                        "--stock: no arm of {:.1} mm goes between the pivots of \"{name}\", which are {between:.1} mm apart; inches need \
                         their unit: '{name} {hand}=9 1/2 in'",
                        self.length
                    )));
                }
                let ends =
                    link.arm.as_ref().map(|arm| [arm.shortest, arm.longest].map(|end| link.on_bench(end)));
                if let Some([shortest, longest]) =
                    ends.filter(|[low, high]| !(low..=high).contains(&&self.length))
                {
                    return Err(Failure::unsound(format!(
                        "--stock: the new arm \"{name}\" goes from {shortest:.1} to {longest:.1} mm, so it cannot be matched to one of \
                         {:.1} mm",
                        self.length
                    )));
                }
                link.measure(ArmLength { length: self.length, sigma, hand, used: false });
            }
        }
        Ok(())
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
    Ok(screen::html(&PrintedSheet { shop: &shop, outlines: &outlines, travel }))
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let mut profile = args.source.read()?;
    for stock in &args.stock {
        stock.put(&mut profile.car)?;
    }
    let planned = args.asked.of(profile)?;
    let format = args.form.format();
    if let Some(explained) = planned.explained(&args.explain, format)? {
        return Ok(explained);
    }
    let output = with_sheet(&planned, |sheet| match format {
        Format::Html => printed(&planned, sheet),
        _ => format.write(&planned.answer, || |page: &mut Page| sheet.put(page)),
    })?;
    Ok(Outcome { output, spec_met: planned.answer.succeeds() })
}
