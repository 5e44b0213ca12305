//! `rodset lockout`: how long must the arms be so that nothing moves when the cams are locked out?

use super::Failure;
use super::command::{Ask, Occasion};
use super::explain::Explain;
use super::of_car::{OfCar, stance};
use super::options::{AskedProfile, Format, HeightOptions, UnitOptions};
use super::setting::{Named, Once};
use crate::car::{Car, Hand};
use crate::explain::Given;
use crate::profile::{CamPosition, Quantity};
use crate::report::{Page, Printable};
use crate::strength::{Locking, Lockout, lockout};

const EXAMPLES: &str = "\
Examples:
  rodset lockout examples/tansy-wharf.toml
      arm lengths that keep the alignment of today when the cams go
  rodset lockout examples/tansy-wharf.toml --drop 40 --cam \"upper=2 marks\" --offset upper=-2
      the same for a lowered car, from a cam's setting, with a plate that holds the bolt off the middle
  rodset lockout examples/tansy-wharf.toml --cam \"upper right=1 mark inboard\"
      the right one stands otherwise than the left";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    input: AskedProfile,
    #[command(flatten)]
    height: HeightOptions,
    #[command(flatten)]
    now: Now,
    #[command(flatten)]
    units: UnitOptions,
    #[command(flatten)]
    explain: Explain,
}

/// How the cams are set and where the plates hold the bolts.
#[derive(Debug, clap::Args)]
#[command(next_help_heading = "Cams and plates")]
struct Now {
    /// How a cam stands today, such as "upper=2 marks", "toe right=1 mark inboard" or "upper=30", which is degrees; from the middle
    /// of its slot, plus: the way the slot's direction points in the profile; left out: as in the profile
    #[arg(long, value_name = "LINK=SETTING", value_delimiter = ',')]
    cam: Vec<String>,
    /// On the left
    #[arg(long, value_name = "LINK=SETTING", value_delimiter = ',')]
    cam_left: Vec<String>,
    /// On the right
    #[arg(long, value_name = "LINK=SETTING", value_delimiter = ',')]
    cam_right: Vec<String>,
    /// Where a plate holds the bolt, mm from the middle of the slot, such as "upper=-2" or "upper right=-2"; plus as for a cam;
    /// left out: the middle
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
        let mut once = Once::default();
        for (option, side, texts) in [
            ("--cam", None, cam),
            ("--cam-left", Some(Hand::Left), cam_left),
            ("--cam-right", Some(Hand::Right), cam_right),
        ] {
            for LockedCam { hand, link, value } in entries(car, option, side, texts, "upper=2 marks")? {
                let of = &car.sides[hand].links[link];
                once.note("--cam", &of.name, hand)?;
                let turn = value.parse::<CamPosition>().and_then(|position| position.turn(of));
                locking.settings[hand][link] =
                    turn.map_err(|error| Failure::usage(format!("{option}: \"{value}\": {error}")))?;
            }
        }
        let mut once = Once::default();
        for (option, side, texts) in [
            ("--offset", None, offset),
            ("--offset-left", Some(Hand::Left), offset_left),
            ("--offset-right", Some(Hand::Right), offset_right),
        ] {
            for LockedCam { hand, link, value } in entries(car, option, side, texts, "upper=-2")? {
                let of = &car.sides[hand].links[link];
                once.note("--offset", &of.name, hand)?;
                let length = value.parse::<Quantity>().and_then(Quantity::length);
                let length = length.map_err(|error| Failure::usage(format!("{option}: {error}")))?;
                if let Some(cam) = of.cam.filter(|cam| length.abs() > cam.eccentricity) {
                    return Err(Failure::usage(format!(
                        "{option}: \"{value}\": the slot ends {:.1} mm from its middle",
                        cam.eccentricity
                    )));
                }
                locking.offsets[hand][link] = length;
            }
        }
        Ok(locking)
    }
}

/// A link with a cam on a side, and what was written for it.
struct LockedCam<'a> {
    hand: Hand,
    link: usize,
    value: &'a str,
}

/// The entries of an option, which may be for one side only; they may name a side themselves.
fn entries<'a>(
    car: &Car,
    option: &str,
    side: Option<Hand>,
    texts: &'a [String],
    example: &str,
) -> Result<Vec<LockedCam<'a>>, Failure> {
    let mut entries = Vec::new();
    for text in texts {
        let named = Named::of(option, text, example)?;
        if let (Some(side), Some(hand)) = (side, named.hand)
            && side != hand
        {
            return Err(Failure::usage(format!("{option}: \"{text}\" is for the {hand}")));
        }
        for hand in named.hands().filter(|hand| side.is_none_or(|side| side == *hand)) {
            let links = &car.sides[hand].links;
            let with_cams = || links.iter().enumerate().filter(|(_, link)| link.cam.is_some());
            let found = with_cams().find(|(_, link)| link.name == named.link).map(|(link, _)| link);
            let link = found.ok_or_else(|| {
                let known: Vec<&str> = with_cams().map(|(_, link)| link.name.as_str()).collect();
                let known =
                    if known.is_empty() { "none in this profile".to_owned() } else { known.join(", ") };
                Failure::usage(format!(
                    "{option}: \"{}\" is no link with a cam; they are: {known}",
                    named.link
                ))
            })?;
            entries.push(LockedCam { hand, link, value: named.value });
        }
    }
    Ok(entries)
}

impl Ask for Args {
    type Subject = OfCar;
    type Answer = Lockout;

    fn form(&self) -> (Format, Option<&str>) {
        (self.input.format(), self.explain.words())
    }

    fn read(&self) -> Result<OfCar, Failure> {
        let profile = self.input.read()?;
        let units = self.units.of(&profile.car)?;
        let stance = self.height.stance_or_as_measured(&profile.car)?;
        Ok(OfCar::at(profile, units, stance))
    }

    fn ask(&self, _: &OfCar, given: &Given, occasion: Occasion<'_, Lockout>) -> Result<Lockout, Failure> {
        Ok(lockout(&given.car, &stance(given)?, &self.now.locking(&given.car)?, occasion.asked)?)
    }

    fn put(&self, page: &mut Page, subject: &OfCar, answer: &Lockout, _: Option<&str>) {
        subject.page(answer).put(page);
    }

    fn succeeds(&self, _: &OfCar, answer: &Lockout) -> bool {
        answer.succeeds()
    }
}
