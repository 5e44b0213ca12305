//! What the wheels should read.

use crate::geometry::Figure;

/// Target and tolerance of one wheel, rad.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spec {
    /// Camber.
    pub camber: f64,
    /// The most that camber may be off, either way.
    pub camber_tolerance: f64,
    /// Toe of one wheel.
    pub toe: f64,
    /// The most that the toe of one wheel may be off, either way.
    pub toe_tolerance: f64,
    /// Pitch of the knuckle that a fitted traction arm restores; 0 is the pitch at the reference.
    pub pitch: f64,
}

/// How closely a rounded pitch is held when steps are chosen, rad. Nobody prints a tolerance for it: half a degree
/// keeps it from outweighing the two figures that have one.
const PITCH_TOLERANCE: f64 = 0.5 * std::f64::consts::PI / 180.0;

/// A comparison with a tolerance must not turn on the last bit of an angle, rad.
const ROUNDING: f64 = 1e-12;

impl Spec {
    /// What a figure should be, rad.
    pub fn target(&self, figure: Figure) -> f64 {
        match figure {
            Figure::Camber => self.camber,
            Figure::Toe => self.toe,
            Figure::Pitch => self.pitch,
        }
    }

    /// By how much a figure may be off, rad.
    pub(crate) fn tolerance(&self, figure: Figure) -> f64 {
        match figure {
            Figure::Camber => self.camber_tolerance,
            Figure::Toe => self.toe_tolerance,
            Figure::Pitch => PITCH_TOLERANCE,
        }
    }

    /// How far a value is off its target, in units of the tolerance.
    pub fn miss(&self, figure: Figure, value: f64) -> f64 {
        (value - self.target(figure)) / self.tolerance(figure)
    }

    /// Whether camber and toe are both within their tolerances.
    pub fn holds(&self, camber: f64, toe: f64) -> bool {
        (camber - self.camber).abs() <= self.camber_tolerance + ROUNDING
            && (toe - self.toe).abs() <= self.toe_tolerance + ROUNDING
    }
}

/// Limits that compare the two wheels of the axle, rad; both optional.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct AxleLimits {
    /// Largest difference between left and right camber.
    pub cross_camber: Option<f64>,
    /// Largest thrust angle, either way.
    pub thrust_angle: Option<f64>,
}

impl AxleLimits {
    /// Whether a difference of camber and a thrust angle keep their limits; a limit that is not given holds.
    pub fn hold(&self, cross_camber: f64, thrust_angle: f64) -> bool {
        let within =
            |value: f64, limit: Option<f64>| limit.is_none_or(|limit| value.abs() <= limit + ROUNDING);
        within(cross_camber, self.cross_camber) && within(thrust_angle, self.thrust_angle)
    }
}
