//! What a damper has left of its stroke.

use serde::Serialize;

use crate::car::{Damper, Setup};
use crate::geometry::{Pose, Rise};
use crate::plan::over_travel::Sweep;

/// A damper over the travel, mm.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct DamperTravel {
    /// Between its two points at the reference.
    pub reference_mm: f64,
    /// At the drop.
    pub at_drop_mm: f64,
    /// How much it shortens per mm that the wheel rises, at the drop, mm/mm.
    pub motion_ratio: f64,
    /// At full bump.
    pub at_bump_mm: f64,
    /// At full droop.
    pub at_droop_mm: f64,
    /// Wheel travel left at the drop until the bump stop is first touched, where the gap was measured; negative: it stands on it.
    pub to_stop_mm: Option<f64>,
    /// Rod left at full bump before the damper is closed, where that length is known; negative: it knocks before the stop is squeezed.
    pub remaining_closing_mm: Option<f64>,
    /// Rod left at full droop before it is open; negative: it ends the droop before the profile says.
    pub remaining_opening_mm: Option<f64>,
}

impl DamperTravel {
    /// Whether it is closed before full bump, so that it knocks.
    pub(crate) fn is_closed_early(&self) -> bool {
        self.remaining_closing_mm.is_some_and(|left| left < 0.0)
    }
}

/// `None` where the travel has no position at one of its own heights, which only rounding could bring about.
pub(super) fn damper(damper: &Damper, sweep: &Sweep<'_>, drop: f64) -> Option<DamperTravel> {
    let (side, line) = (sweep.side, &damper.line);
    let length = |pose: &Pose| line.length(side, &sweep.setup, pose);
    let at = |height: f64| sweep.at(height).map(|position| length(&position.pose));
    let reference = line.length(side, &Setup::as_found(side), &side.reference());
    let position = sweep.at(drop)?;
    let rise = Rise::of(&position);
    let [at_drop, slope, _] = line.moving(side, &sweep.setup, &position, &rise).distance(&line.upper);
    let (at_bump, at_droop) = (at(sweep.travel.highest_mm)?, at(sweep.travel.lowest_mm)?);
    // The stop is touched where the damper has become shorter by the gap.
    let to_stop = damper.stop_gap.and_then(|gap| {
        let free = |pose: &Pose| length(pose) - (reference - gap);
        let touched = sweep.not_above_zero(free, sweep.least(free));
        touched.first().map(|[first, _]| first - drop)
    });
    Some(DamperTravel {
        reference_mm: reference,
        at_drop_mm: at_drop,
        motion_ratio: -slope,
        at_bump_mm: at_bump,
        at_droop_mm: at_droop,
        to_stop_mm: to_stop,
        remaining_closing_mm: damper.closed.map(|closed| at_bump - closed),
        remaining_opening_mm: damper.open.map(|open| open - at_droop),
    })
}
