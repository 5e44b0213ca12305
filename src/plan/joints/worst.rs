//! Where an angle is worst.

use serde::Serialize;

use crate::car::Side;
use crate::plan::over_travel::AtHeight;

/// An angle that is worst somewhere on the travel.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Worst {
    /// The angle, degrees.
    pub angle_deg: f64,
    /// The height of the wheel centre above the reference where it is worst, mm.
    pub height_mm: f64,
    /// Hub centre to arch lip there, mm, where the profile gives it for the reference.
    pub arch_gap_mm: Option<f64>,
}

impl Worst {
    /// Where a value over a sweep, in rad, is worst.
    pub(super) fn of(side: &Side, at: AtHeight) -> Self {
        Self {
            angle_deg: at.value.to_degrees(),
            height_mm: at.height,
            arch_gap_mm: side.ride.arch_gap_at(at.height),
        }
    }
}
