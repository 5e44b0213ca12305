//! Camber and toe as numbers to print.

use serde::Serialize;

use crate::car::{PerSide, Side, Spec};
use crate::geometry::{Figure, Ground, Pose, Wheel};

/// What an alignment gauge reads on one wheel.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Reading {
    /// Camber, degrees; positive: top outward.
    pub camber_deg: f64,
    /// Toe of this wheel, degrees; positive: toe-in.
    pub toe_deg: f64,
}

/// A reading held against the spec.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Judged {
    /// What is read.
    #[serde(flatten)]
    pub reading: Reading,
    /// How far camber is off its target, degrees; positive: above it.
    pub camber_off_deg: f64,
    /// How far toe is off its target, degrees; positive: above it.
    pub toe_off_deg: f64,
    /// Whether camber and toe are both within tolerance.
    pub within_spec: bool,
}

/// The spec of one wheel, in degrees.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Target {
    /// Camber wanted.
    pub camber_deg: f64,
    /// Camber may be off by this much, either way.
    pub camber_tolerance_deg: f64,
    /// Toe wanted, of this wheel.
    pub toe_deg: f64,
    /// Toe of this wheel may be off by this much, either way.
    pub toe_tolerance_deg: f64,
}

impl Reading {
    /// Camber and toe given in rad.
    pub(crate) fn from_radians(camber: f64, toe: f64) -> Self {
        Self { camber_deg: camber.to_degrees(), toe_deg: toe.to_degrees() }
    }

    /// The reading of a side in a pose.
    pub fn of(side: &Side, pose: &Pose, ground: &Ground) -> Self {
        Self::of_wheel(&side.wheel, pose, ground)
    }

    /// The reading of a wheel in a pose.
    pub(crate) fn of_wheel(wheel: &Wheel, pose: &Pose, ground: &Ground) -> Self {
        let [camber, toe] = [Figure::Camber, Figure::Toe].map(|figure| figure.value(pose, wheel, ground));
        Self::from_radians(camber, toe)
    }

    /// The reading that the profile gives for the reference.
    pub(crate) fn found(side: &Side) -> Self {
        Self::from_radians(side.reading.camber, side.reading.toe)
    }

    /// The reading held against a spec.
    pub(crate) fn judged(self, spec: &Spec) -> Judged {
        let within_spec = spec.holds(self.camber_deg.to_radians(), self.toe_deg.to_radians());
        let Target { camber_deg, toe_deg, .. } = Target::from(spec);
        Judged {
            reading: self,
            camber_off_deg: self.camber_deg - camber_deg,
            toe_off_deg: self.toe_deg - toe_deg,
            within_spec,
        }
    }
}

impl From<&Spec> for Target {
    fn from(spec: &Spec) -> Self {
        Self {
            camber_deg: spec.camber.to_degrees(),
            camber_tolerance_deg: spec.camber_tolerance.to_degrees(),
            toe_deg: spec.toe.to_degrees(),
            toe_tolerance_deg: spec.toe_tolerance.to_degrees(),
        }
    }
}

/// Total toe of the axle: left plus right, degrees.
pub(crate) fn total_toe(readings: PerSide<Reading>) -> f64 {
    readings.left.toe_deg + readings.right.toe_deg
}

/// Thrust angle: half of right minus left toe, degrees; positive when the rear axle steers to the left.
pub(crate) fn thrust_angle(readings: PerSide<Reading>) -> f64 {
    thrust(readings.left.toe_deg, readings.right.toe_deg)
}

/// Half of right minus left, of the toes of both wheels in any unit.
pub(crate) fn thrust(left: f64, right: f64) -> f64 {
    (right - left) / 2.0
}
