//! A car as a whole.

use nalgebra::DMatrix;

use super::{AxleLimits, LoadFactors, PerSide, Side, Sigmas};

/// The rear axle of a car, as a profile describes it.
#[derive(Debug, Clone, PartialEq)]
pub struct Car {
    /// The name the profile gives.
    pub name: String,
    /// By how much it is still to be lowered, mm, where the profile says so: 0 where it stands at its final height.
    pub(crate) to_lower: Option<f64>,
    /// Distance between the axles, mm; needed only for a front drop.
    pub(crate) wheelbase: Option<f64>,
    /// Height of the centre of gravity above the floor at the reference, mm; needed only for anti-squat and anti-lift.
    pub(crate) gravity_height: Option<f64>,
    /// The rear axle's part of the braking force, 0 to 1; needed only for anti-lift.
    pub(crate) rear_brake_share: Option<f64>,
    /// Whether the rear wheels are steered, where the profile says so.
    pub(crate) rear_steering: Option<bool>,
    /// Its two sides.
    pub sides: PerSide<Side>,
    /// Readings that have gone into its numbers already, by their fingerprints.
    pub(crate) learnt: Vec<String>,
    /// Limits that compare the two sides.
    pub axle: AxleLimits,
    /// How hard the road pushes in the load cases.
    pub loads: LoadFactors,
    /// Covariance of the numbers of the left side (rows) with those of the right one, both in the order of
    /// [`Measurand::all`](super::Measurand::all), mm and rad.
    pub between: DMatrix<f64>,
    /// How well the car was measured.
    pub sigmas: Sigmas,
    /// Points that nobody measured: they rest on a typical layout.
    pub(crate) assumed: Vec<String>,
}

impl Car {
    /// Whether a reading, by its fingerprint, has gone into its numbers already.
    pub(crate) fn has_learnt(&self, fingerprint: &str) -> bool {
        self.learnt.iter().any(|learnt| learnt == fingerprint)
    }

    /// Distance between the two wheel centres at the reference, mm.
    pub fn track(&self) -> f64 {
        self.sides.left.wheel.centre.y + self.sides.right.wheel.centre.y
    }
}
