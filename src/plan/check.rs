//! What a profile describes.

use serde::Serialize;

use super::wheel::Effect;
use crate::car::{Car, Hold, Limit, Link, PerSide, Range, Setup, Side};
use crate::geometry::{Figure, Ground, Position};

/// A sound profile in numbers.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Description {
    /// The car's name.
    pub name: String,
    /// The five links of the left side, in the order of the file.
    pub links: Vec<LinkDescription>,
    /// The five links of the right side.
    pub right_links: Vec<LinkDescription>,
    /// Its members that are no rods from the subframe.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub members: Vec<MemberDescription>,
    /// Keys of the readings, heights and cams that the right side takes over from the left, because `[right]` does not say them.
    pub taken_over: Vec<String>,
    /// Points that nobody measured: they rest on a typical layout.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub assumed: Vec<String>,
}

/// One link in numbers.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct LinkDescription {
    /// Its name.
    pub name: String,
    /// What it sets, if anything.
    pub sets: Option<Figure>,
    /// Stock length, mm; none of what is no rod.
    pub length_mm: Option<f64>,
    /// What the stock arm itself measures, mm, where the profile says so.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub measured_mm: Option<f64>,
    /// How much longer that is than its pivots are apart, mm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub measured_longer_mm: Option<f64>,
    /// What one mm longer does at the reference height; of what is no rod, one mm of its cam.
    pub per_mm: Effect,
    /// Its adjustable arm.
    pub arm: Option<ArmDescription>,
    /// Its cam.
    pub cam: Option<CamDescription>,
}

/// A member of a side that is no rod from the subframe, and what it holds.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct MemberDescription {
    /// Its name.
    pub name: String,
    /// What it is.
    pub kind: MemberKind,
    /// The wishbone on which it stands.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub on: Option<String>,
}

/// What a member is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum MemberKind {
    /// A wide arm with two inner pivots and one joint on the knuckle.
    Wishbone,
    /// A link that stands on a wishbone.
    UprightLink,
    /// A trailing arm to which the knuckle is bolted.
    Blade,
    /// A strut to which the knuckle is bolted.
    Strut,
}

/// What an arm can do, counted from the stock length.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct ArmDescription {
    /// Length per turn, mm.
    pub lead_mm: f64,
    /// How much shorter than stock it can be set, mm.
    pub shorter_mm: f64,
    /// What stops it there.
    pub shorter_limit: Limit,
    /// How much longer than stock it can be set, mm.
    pub longer_mm: f64,
    /// What stops it there.
    pub longer_limit: Limit,
}

/// What a cam can do.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct CamDescription {
    /// How far it can shift the pivot either way from the middle of the slot, mm.
    pub eccentricity_mm: f64,
    /// The shift from the middle as it was found, mm.
    pub found_mm: f64,
    /// The turn from the middle as it was found, degrees.
    pub found_deg: f64,
    /// The same in marks of its plate, where the profile says how many there are.
    pub found_marks: Option<f64>,
    /// Whether it was found on the side of its middle that leads to the wheel; nothing in the middle, and where the slot runs across
    /// its link.
    pub found_outboard: Option<bool>,
}

/// Describes a car; `taken_over` are the keys that its right side has from its left.
pub fn check(car: &Car, taken_over: Vec<String>) -> Description {
    let PerSide { left: links, right: right_links } = car.sides.each(describe_side);
    let (name, assumed) = (car.name.clone(), car.assumed.clone());
    let members = members(&car.sides.left);
    Description { name, links, right_links, members, taken_over, assumed }
}

fn members(side: &Side) -> Vec<MemberDescription> {
    let of = |(i, link): (usize, &Link)| {
        let (kind, on) = match link.hold {
            Hold::Leg(first) if usize::from(first) == i => (MemberKind::Wishbone, None),
            Hold::OnArm([leg, _]) => {
                let on = side.links.get(usize::from(leg)).map(|leg| leg.member().to_owned());
                (MemberKind::UprightLink, on)
            }
            Hold::BushAhead => (MemberKind::Blade, None),
            Hold::Top => (MemberKind::Strut, None),
            _ => return None,
        };
        Some(MemberDescription { name: link.member().to_owned(), kind, on })
    };
    side.links.iter().enumerate().filter_map(of).collect()
}

fn describe_cam(link: &Link) -> Option<CamDescription> {
    let cam = link.cam.as_ref()?;
    let way = link.outboard().filter(|_| cam.found().abs() > 1e-9);
    Some(CamDescription {
        eccentricity_mm: cam.eccentricity,
        found_mm: cam.found(),
        found_deg: cam.setting.to_degrees(),
        found_marks: cam.mark().map(|mark| cam.setting / mark),
        found_outboard: way.map(|sign| sign * cam.found() > 0.0),
    })
}

fn describe_side(side: &Side) -> Vec<LinkDescription> {
    let setup = Setup::as_found(side);
    let rows = setup.rows(side, 0.0);
    let position = Position::known(&rows, side.reference());
    let of = |(i, link): (usize, &Link)| LinkDescription {
        name: link.name.clone(),
        sets: link.sets,
        length_mm: link.hold.is_rod().then(|| link.stock_length()),
        measured_mm: link.measured.map(|measured| measured.length),
        measured_longer_mm: link.measured.map(|measured| measured.length - link.stock_length()),
        per_mm: match &position {
            Ok(position) if link.hold.is_rod() => Effect::of(position, side, &Ground::level(), i, 1.0),
            Ok(position) => Effect::of_cam(position, side, &setup, i),
            Err(_) => Effect { camber_deg: f64::NAN, toe_deg: f64::NAN, pitch_deg: f64::NAN },
        },
        arm: link.arm.as_ref().map(|arm| {
            let Range { ends, limits } = arm.range();
            ArmDescription {
                lead_mm: arm.lead(),
                shorter_mm: link.stock_length() - ends[0],
                shorter_limit: limits[0],
                longer_mm: ends[1] - link.stock_length(),
                longer_limit: limits[1],
            }
        }),
        cam: describe_cam(link),
    };
    // A bush or a top without a cam is neither measured with a tape nor set.
    let shown = |(_, link): &(usize, &Link)| link.hold.is_rod() || link.cam.is_some();
    side.links.iter().enumerate().filter(shown).map(of).collect()
}
