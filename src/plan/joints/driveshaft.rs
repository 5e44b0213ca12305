//! How far the driveshaft's joints bend and its inner joint slides over the whole travel.

use serde::Serialize;

use super::worst::Worst;
use crate::car::Driveshaft;
use crate::geometry::{Pose, joint};
use crate::plan::over_travel::{AtHeight, Sweep};

/// The driveshaft over the travel.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct ShaftAngles {
    /// The joint at the differential.
    pub inner: ShaftJoint,
    /// The joint in the knuckle.
    pub outer: ShaftJoint,
    /// How much further apart the joints are at the drop than at the reference, mm; negative: nearer.
    pub plunge_at_drop_mm: f64,
    /// Where they are nearest over the travel: the shaft is pushed in.
    pub pushed_in: Plunge,
    /// Where they are furthest apart: the shaft is pulled out.
    pub pulled_out: Plunge,
}

/// A joint of the driveshaft.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct ShaftJoint {
    /// How far it is bent at the reference, degrees.
    pub reference_deg: f64,
    /// At the drop, degrees.
    pub at_drop_deg: f64,
    /// The most over the travel.
    pub worst: Worst,
    /// How far it may bend, degrees, where the profile says so.
    pub limit_deg: Option<f64>,
    /// What is left of that at the worst, degrees; negative: it binds.
    pub remaining_deg: Option<f64>,
}

/// An end of the shaft's sliding.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Plunge {
    /// How far from where it was at the reference, mm; negative: pushed in.
    pub plunge_mm: f64,
    /// The height of the wheel centre above the reference, mm.
    pub height_mm: f64,
    /// Hub centre to arch lip there, mm, where the profile gives it for the reference.
    pub arch_gap_mm: Option<f64>,
    /// What is left of the way the joint can slide, mm, where the profile gives it; negative: it knocks or comes apart.
    pub remaining_mm: Option<f64>,
}

impl ShaftAngles {
    /// Whether it keeps the limits that the profile gives.
    pub(crate) fn succeeds(&self) -> bool {
        let bends = |joint: &ShaftJoint| joint.remaining_deg.is_none_or(|left| left >= 0.0);
        let slides = |plunge: &Plunge| plunge.remaining_mm.is_none_or(|left| left >= 0.0);
        bends(&self.inner) && bends(&self.outer) && slides(&self.pushed_in) && slides(&self.pulled_out)
    }
}

pub(super) fn shaft(driveshaft: &Driveshaft, sweep: &Sweep<'_>, at_drop: &Pose) -> ShaftAngles {
    let side = sweep.side;
    let arm = driveshaft.outer - side.wheel.centre;
    let line = |pose: &Pose| pose.point(&arm) - driveshaft.inner;
    let inner = |pose: &Pose| joint::between(&line(pose), &driveshaft.output);
    let outer = |pose: &Pose| joint::between(&line(pose), &(pose.rotation * side.wheel.spindle));
    let reference = side.reference();
    let joint = |bend: &dyn Fn(&Pose) -> f64, limit: Option<f64>| {
        let worst = Worst::of(side, sweep.most(bend));
        let limit_deg = limit.map(f64::to_degrees);
        ShaftJoint {
            reference_deg: bend(&reference).to_degrees(),
            at_drop_deg: bend(at_drop).to_degrees(),
            worst,
            limit_deg,
            remaining_deg: limit_deg.map(|limit| limit - worst.angle_deg),
        }
    };
    let plunge = |pose: &Pose| line(pose).norm() - line(&reference).norm();
    let [low, high] = [sweep.least(plunge), sweep.most(plunge)];
    let [push, pull] = driveshaft.reserve;
    let end = |AtHeight { value, height }: AtHeight, remaining_mm: Option<f64>| Plunge {
        plunge_mm: value,
        height_mm: height,
        arch_gap_mm: side.ride.arch_gap_at(height),
        remaining_mm,
    };
    ShaftAngles {
        inner: joint(&inner, driveshaft.limits[0]),
        outer: joint(&outer, driveshaft.limits[1]),
        plunge_at_drop_mm: plunge(at_drop),
        pushed_in: end(low, push.map(|push| push + low.value)),
        pulled_out: end(high, pull.map(|pull| pull - high.value)),
    }
}
