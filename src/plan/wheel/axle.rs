//! Both wheels together.

use serde::Serialize;

use super::reading::{Reading, thrust_angle, total_toe};
use crate::car::{Car, PerSide};

/// Figures of the whole axle, after rounding, degrees.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct AxleResult {
    /// Left plus right toe.
    pub total_toe_deg: f64,
    /// Half of right minus left toe; positive: the rear axle steers to the left.
    pub thrust_angle_deg: f64,
    /// Left minus right camber.
    pub cross_camber_deg: f64,
    /// Whether cross camber and thrust angle keep the limits of the spec, where it has any.
    pub within_limits: bool,
}

impl AxleResult {
    /// Both wheels together, from what each reads.
    pub(crate) fn of(car: &Car, readings: PerSide<Reading>) -> Self {
        let cross_camber = readings.left.camber_deg - readings.right.camber_deg;
        let thrust_angle = thrust_angle(readings);
        Self {
            total_toe_deg: total_toe(readings),
            thrust_angle_deg: thrust_angle,
            cross_camber_deg: cross_camber,
            within_limits: car.axle.hold(cross_camber.to_radians(), thrust_angle.to_radians()),
        }
    }
}
