//! What holds a knuckle in each of its five places.
//!
//! Five scalar conditions and the wheel's height leave a knuckle no freedom. On most cars these are five rods. A bush that gives way
//! across the car holds it in two ways, so does the top of a strut; a wishbone is two rods with one joint, and the upright link of an
//! integral link axle a rod that stands on a wishbone. A member fills as many of the five places, one after another.

use super::{Measurand, PerLink};

/// What holds the knuckle in one of the five places of a side.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Hold {
    /// A rod from the subframe.
    #[default]
    Rod,
    /// A leg of a wishbone: a rod whose joint is that of the first, by its place.
    Leg(u8),
    /// A rod that stands on a wishbone, by the places of its two legs.
    OnArm([u8; 2]),
    /// A blade's front bush: its place along the car.
    BushAhead,
    /// The same bush: its height; by the place of the former.
    BushUp(u8),
    /// The top of a strut, along the car. A cam here moves the top mount.
    Top,
    /// The same top, across the car; by the place of the former, and from the strut's bolt that stays to the one that moves it on the
    /// knuckle, mm, up along the strut. A cam here leans the strut against the knuckle.
    Bolt(u8, f64),
}

impl Hold {
    /// What the places of its member are called behind the member's own name.
    pub(crate) fn places(self) -> [&'static str; 2] {
        match self {
            Self::Rod | Self::OnArm(_) => [""; 2],
            Self::Leg(_) => ["front", "rear"],
            Self::BushAhead | Self::BushUp(_) => ["fore-aft", "up-down"],
            Self::Top | Self::Bolt(..) => ["top", "bolt"],
        }
    }

    /// What the member is called whose place has a name.
    pub(crate) fn member(self, place: &str) -> &str {
        let stripped = self.places().into_iter().find_map(|end| place.strip_suffix(end));
        stripped.map_or(place, str::trim_end)
    }

    /// What the pivot of a place with a name is called before its end: by the member, but for the inner pivots of a wishbone.
    pub(crate) fn of_pivot(self, place: &str, at_knuckle: bool) -> &str {
        if matches!(self, Self::Leg(_)) && !at_knuckle { place } else { self.member(place) }
    }

    /// Whether an arm of another length could take its place: it is a single rod.
    pub(crate) fn takes_an_arm(self) -> bool {
        matches!(self, Self::Rod | Self::OnArm(_))
    }

    /// Whether it is the first place of a member that is no rod: what is told once of both is told of this one.
    pub(crate) fn is_first_of_member(self) -> bool {
        matches!(self, Self::BushAhead | Self::Top)
    }

    /// Whether it is a rod, which has a length, a direction and two ends.
    pub(crate) fn is_rod(self) -> bool {
        matches!(self, Self::Rod | Self::Leg(_) | Self::OnArm(_))
    }

    /// The point that is meant by one of a car whose places hold so, where two are one.
    pub(crate) fn own(holds: &PerLink<Self>, of: Measurand) -> Measurand {
        of.link().map_or(of, |link| holds[link].home(of))
    }

    /// The point that is meant by a pivot of place `link`: that of another place, or end, where the two are one.
    pub(crate) fn home(self, of: Measurand) -> Measurand {
        match (self, of) {
            (Self::Leg(first), Measurand::Knuckle(_)) => Measurand::Knuckle(first.into()),
            (Self::BushAhead, Measurand::Knuckle(link)) => Measurand::Subframe(link),
            (Self::BushUp(first), Measurand::Knuckle(_) | Measurand::Subframe(_)) => {
                Measurand::Subframe(first.into())
            }
            (Self::Bolt(top, _), Measurand::Knuckle(_)) => Measurand::Knuckle(top.into()),
            (Self::Bolt(top, _), Measurand::Subframe(_)) => Measurand::Subframe(top.into()),
            _ => of,
        }
    }
}
