//! `rodset lockout`: how long must the arms be so that nothing moves when the cams are locked out?

use super::explain::{self, Explain};
use super::options::{Height, Input, Units};
use super::{Failure, Outcome};
use rodset::car::{Cam, Car, Hand};
use rodset::explain::Given;
use rodset::profile::Quantity;
use rodset::report::LockoutPage;
use rodset::strength::{Locking, lockout};

const EXAMPLES: &str = "\
Examples:
  rodset lockout examples/tansy-wharf.toml
      arm lengths that keep the alignment of today when the cams go
  rodset lockout examples/tansy-wharf.toml --drop 40 --cam upper=30 --offset upper=-2
      the same for a lowered car, from a cam's setting, with a plate that holds the bolt off the middle";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    input: Input,
    #[command(flatten)]
    height: Height,
    #[command(flatten)]
    now: Now,
    #[command(flatten)]
    units: Units,
    #[command(flatten)]
    explain: Explain,
}

/// How the cams are set and where the plates hold the bolts.
#[derive(Debug, clap::Args)]
#[command(next_help_heading = "Cams and plates")]
struct Now {
    /// How cams are turned today, degrees from the middle, on both sides, such as "upper=30"; plus: the bolt is moved the way the
    /// slot's direction points in the profile; left out: as in the profile
    #[arg(long, value_name = "LINK=DEG", value_delimiter = ',')]
    cam: Vec<String>,
    /// On the left
    #[arg(long, value_name = "LINK=DEG", value_delimiter = ',')]
    cam_left: Vec<String>,
    /// On the right
    #[arg(long, value_name = "LINK=DEG", value_delimiter = ',')]
    cam_right: Vec<String>,
    /// Where plates hold the bolts, mm from the middle of the slot, both sides, such as "upper=-2"; plus as for a cam; left out:
    /// the middle
    #[arg(long, value_name = "LINK=MM", value_delimiter = ',')]
    offset: Vec<String>,
    /// On the left
    #[arg(long, value_name = "LINK=MM", value_delimiter = ',')]
    offset_left: Vec<String>,
    /// On the right
    #[arg(long, value_name = "LINK=MM", value_delimiter = ',')]
    offset_right: Vec<String>,
}

impl Now {
    fn locking(&self, car: &Car) -> Result<Locking, Failure> {
        let mut locking = Locking::as_found(car);
        let Self { cam, cam_left, cam_right, offset, offset_left, offset_right } = self;
        for (hand, cams, offsets) in
            [(Hand::Left, cam_left, offset_left), (Hand::Right, cam_right, offset_right)]
        {
            for text in cam.iter().chain(cams) {
                let (link, _, turn) = entry(car, hand, "--cam", text, Quantity::angle)?;
                if turn.abs() > std::f64::consts::FRAC_PI_2 {
                    return Err(Failure::usage(format!(
                        "--cam: \"{text}\": a cam turns 90 degrees either way from its middle"
                    )));
                }
                locking.settings[hand.index()][link] = turn;
            }
            for text in offset.iter().chain(offsets) {
                let (link, cam, length) = entry(car, hand, "--offset", text, Quantity::length)?;
                if length.abs() > cam.eccentricity {
                    return Err(Failure::usage(format!(
                        "--offset: \"{text}\": the slot ends {:.1} mm from its middle",
                        cam.eccentricity
                    )));
                }
                locking.offsets[hand.index()][link] = length;
            }
        }
        Ok(locking)
    }
}

/// A link with a cam, and a value for it.
fn entry<E: std::fmt::Display>(
    car: &Car,
    hand: Hand,
    option: &str,
    text: &str,
    read: impl Fn(Quantity) -> Result<f64, E>,
) -> Result<(usize, Cam, f64), Failure> {
    let links = &car.sides[hand.index()].links;
    let (name, value) = text
        .split_once('=')
        .ok_or_else(|| Failure::usage(format!("{option}: \"{text}\" is not written like upper=2")))?;
    let found = links.iter().position(|link| link.name == name.trim());
    let (link, cam) = found.and_then(|i| Some((i, links[i].cam?))).ok_or_else(|| {
        let known: Vec<&str> =
            links.iter().filter(|link| link.cam.is_some()).map(|link| link.name.as_str()).collect();
        let known = if known.is_empty() { "none in this profile".to_owned() } else { known.join(", ") };
        Failure::usage(format!("{option}: \"{}\" is no link with a cam; they are: {known}", name.trim()))
    })?;
    let quantity: Quantity = value.parse().map_err(|error| Failure::usage(format!("{option}: {error}")))?;
    let value = read(quantity).map_err(|error| Failure::usage(format!("{option}: {error}")))?;
    Ok((link, cam, value))
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let profile = args.input.read()?;
    let car = &profile.car;
    let units = args.units.of(car)?;
    let stance = args.height.stance_or_as_measured(car)?;
    let given = Given::new(car, &stance);
    let ask =
        |given: &Given| Ok(lockout(&given.car, &explain::stance(given)?, &args.now.locking(&given.car)?)?);
    if let Some(explained) = args.explain.outcome(args.input.format, (&profile, &given, units), ask)? {
        return Ok(explained);
    }
    let answer = lockout(car, &stance, &args.now.locking(car)?)?;
    let page = || LockoutPage { car, stance: &stance, answer: &answer, units };
    let output = args.input.write(&answer, page)?;
    Ok(Outcome { output, spec_met: answer.succeeds() })
}
