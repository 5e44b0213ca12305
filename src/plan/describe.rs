//! What a profile describes.

use serde::Serialize;

use crate::car::{Arm, Car, Limit, Setup};
use crate::geometry::{Figure, Ground, Position};

/// A sound profile in numbers.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Description {
    /// The car's name.
    pub name: String,
    /// The five links, in the order of the file.
    pub links: Vec<LinkDescription>,
    /// What looks odd.
    pub warnings: Vec<String>,
}

/// One link in numbers.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LinkDescription {
    /// Its name.
    pub name: String,
    /// What it sets, if anything.
    pub sets: Option<Figure>,
    /// Stock length on the left, mm.
    pub length_mm: f64,
    /// Stock length on the right, mm.
    pub right_length_mm: f64,
    /// What one mm longer does at the reference height, on the left.
    pub per_mm: Effect,
    /// Length per turn of its arm, if it has one, mm.
    pub lead_mm: Option<f64>,
    /// How much shorter and longer than stock its arm can be set, mm, with what stops it there.
    pub arm_range_mm: Option<[(f64, Limit); 2]>,
    /// How far its cam can shift the pivot either way from the middle of the slot, mm.
    pub cam_eccentricity_mm: Option<f64>,
    /// The cam's shift from the middle as it was found, mm.
    pub cam_shift_mm: Option<f64>,
}

/// What a millimetre more of a link does to the wheel's figures, degrees per mm.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Effect {
    /// Camber.
    pub camber_deg: f64,
    /// Toe.
    pub toe_deg: f64,
    /// Pitch.
    pub pitch_deg: f64,
}

/// Describes a car; `warnings` are what its profile was warned of.
pub fn describe(car: &Car, warnings: Vec<String>) -> Description {
    let [left, right] = &car.sides;
    let ground = Ground::level();
    let rows = Setup::as_found(left).rows(left, 0.0);
    let position = Position::known(&rows, left.reference());
    let links = (0..5)
        .map(|i| {
            let link = &left.links[i];
            let rate = |figure| {
                position.as_ref().map_or(f64::NAN, |p| p.rate(figure, &left.wheel, &ground, i).to_degrees())
            };
            let length_mm = link.stock_length();
            LinkDescription {
                name: link.name.clone(),
                sets: link.sets,
                length_mm,
                right_length_mm: right.links[i].stock_length(),
                per_mm: Effect {
                    camber_deg: rate(Figure::Camber),
                    toe_deg: rate(Figure::Toe),
                    pitch_deg: rate(Figure::Pitch),
                },
                lead_mm: link.arm.as_ref().map(Arm::lead),
                arm_range_mm: link.arm.as_ref().map(|arm| {
                    let range = arm.range();
                    [0, 1].map(|end| (range.ends[end] - length_mm, range.limits[end]))
                }),
                cam_eccentricity_mm: link.cam.map(|cam| cam.eccentricity),
                cam_shift_mm: link.cam.map(|cam| cam.found()),
            }
        })
        .collect();
    Description { name: car.name.clone(), links, warnings }
}
