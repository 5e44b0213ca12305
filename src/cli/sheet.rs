//! `rodset sheet`: the page that lies on the bench.

use clap::ValueEnum;
use std::str::FromStr;

use super::Failure;
use super::command::{Ask, Occasion};
use super::explain::Explain;
use super::of_car::OfCar;
use super::options::{Form, Format, ProfileSource};
use super::plan::{PlanOptions, planned};
use super::today::today;
use crate::car::{ArmLength, Car, Hand};
use crate::explain::Given;
use crate::plan::{Asked, Plan, TravelQuestion, handover, joint_angles, outline, travel};
use crate::profile::Quantity;
use crate::report::{Page, Printable, PrintedSheet, SheetOrigin, SheetPage, ShopPage};

const EXAMPLES: &str = "\
Examples:
  rodset sheet examples/tansy-wharf.toml --drop 40
      the page for the bench
  rodset sheet examples/tansy-wharf.toml --drop 40 --stock 'upper left=240.8'
      with what a stock arm measures, so that its target is printed
  rodset sheet examples/tansy-wharf.toml --drop 40 --output sheet.html
      the same to print: open it in a browser and print it on A4 or Letter at 100 %, or save it as PDF there
  rodset sheet examples/tansy-wharf.toml --drop 40 --with shop,drawings,curves --output all.html
      with the page for the alignment shop, the links drawn to scale, and camber and toe over the travel";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    source: ProfileSource,
    #[command(flatten)]
    form: Form,
    /// What a stock arm measures, centre to centre: 'upper left=325.2', or 'upper=325.2' for both sides; once for each arm, in mm or
    /// with a unit. It goes before `measured_length` in the profile
    #[arg(long, value_name = "LINK SIDE=LENGTH")]
    stock: Vec<Stock>,
    /// What else is printed with it, such as shop,drawings
    #[arg(long, value_enum, value_delimiter = ',', value_name = "PARTS")]
    with: Vec<SheetPart>,
    #[command(flatten)]
    options: PlanOptions,
    #[command(flatten)]
    explain: Explain,
}

/// What may be printed with the sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum SheetPart {
    /// The page for the alignment shop.
    Shop,
    /// The links from behind and from above; they are drawn on paper only.
    Drawings,
    /// Camber and toe over the travel; they are drawn on paper only.
    Curves,
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
pub(super) fn with_sheet<T>(of: &OfCar<T>, answer: &Plan, then: impl FnOnce(&SheetPage<'_>)) {
    let (fitting, profile) = (of.fitting(), &of.profile);
    let joints = joint_angles(of.car(), &of.stance, Some(answer), &fitting, Asked::ALL).ok();
    then(&SheetPage {
        car: of.car(),
        origin: SheetOrigin { profile: &profile.path, digest: &profile.digest, made: &today() },
        stance: &of.stance,
        fitting: &fitting,
        answer,
        units: of.units,
        joints: joints.as_ref(),
    });
}

impl Args {
    /// Puts the sheet on a page, and what else is asked for.
    fn print(&self, page: &mut Page, of: &OfCar, sheet: &SheetPage<'_>) {
        /// A line needs points so near each other, mm.
        const FINE: f64 = 2.0;
        let SheetPage { car, stance, fitting, answer, .. } = *sheet;
        let specs = of.specs.as_ref();
        let wants = |part| self.with.contains(&part);
        let question = TravelQuestion {
            fitting,
            specs,
            variants: &[],
            bump: None,
            droop: None,
            every: FINE,
            only: None,
        };
        let curves = wants(SheetPart::Curves).then(|| travel(car, stance, &question));
        let handover = wants(SheetPart::Shop).then(|| handover(car, answer));
        let shop = handover.as_ref().map(|answer| ShopPage { sheet, answer });
        let outlines = wants(SheetPart::Drawings).then(|| outline(car, stance, specs, fitting));
        PrintedSheet {
            sheet,
            shop: shop.as_ref(),
            outlines: outlines.as_ref().map(|drawn| drawn.as_ref().map_err(ToString::to_string)),
            travel: curves.as_ref().map(|drawn| drawn.as_ref().map_err(ToString::to_string)),
        }
        .put(page);
    }
}

impl Ask for Args {
    type Subject = OfCar;
    type Answer = Plan;

    fn form(&self) -> (Format, Option<&str>) {
        (self.form.format(), self.explain.words())
    }

    fn read(&self) -> Result<OfCar, Failure> {
        let mut profile = self.source.read()?;
        for stock in &self.stock {
            stock.put(&mut profile.car)?;
        }
        self.options.of(profile)
    }

    fn ask(&self, subject: &OfCar, given: &Given, occasion: Occasion<'_, Plan>) -> Result<Plan, Failure> {
        planned(subject, given, occasion.first, occasion.asked)
    }

    fn put(&self, page: &mut Page, subject: &OfCar, answer: &Plan, _: Option<&str>) {
        with_sheet(subject, answer, |sheet| self.print(page, subject, sheet));
    }

    fn succeeds(&self, _: &OfCar, answer: &Plan) -> bool {
        answer.succeeds()
    }
}
