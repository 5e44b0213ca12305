//! What a profile describes.

use serde::Serialize;

use super::wheel::Effect;
use crate::car::{Car, Limit, Link, PerSide, Range, Setup, Side};
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
    /// Stock length, mm.
    pub length_mm: f64,
    /// What the stock arm itself measures, mm, where the profile says so.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub measured_mm: Option<f64>,
    /// How much longer that is than its pivots are apart, mm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub measured_longer_mm: Option<f64>,
    /// What one mm longer does at the reference height.
    pub per_mm: Effect,
    /// Its adjustable arm.
    pub arm: Option<ArmDescription>,
    /// Its cam.
    pub cam: Option<CamDescription>,
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
    Description { name, links, right_links, taken_over, assumed }
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
    let rows = Setup::as_found(side).rows(side, 0.0);
    let position = Position::known(&rows, side.reference());
    let of = |(i, link): (usize, &Link)| LinkDescription {
        name: link.name.clone(),
        sets: link.sets,
        length_mm: link.stock_length(),
        measured_mm: link.measured.map(|measured| measured.length),
        measured_longer_mm: link.measured.map(|measured| measured.length - link.stock_length()),
        per_mm: match &position {
            Ok(position) => Effect::of(position, side, &Ground::level(), i, 1.0),
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
    side.links.iter().enumerate().map(of).collect()
}
