//! The eccentric bolt: a pivot that can be moved along a straight slot.

use nalgebra::{Point3, Vector3};
use std::f64::consts::FRAC_PI_2;

/// A slot closer than this to a right angle with its link does not change the link's length, rad.
pub(crate) const CROSSWISE: f64 = 5.0 * std::f64::consts::PI / 180.0;

/// An eccentric bolt in a straight slot.
///
/// Turned by an angle `t` from its middle it moves the pivot by `e sin t` along the slot. So a degree of turn
/// is worth most in the middle and nothing at 90 degrees, beyond which the pivot would come back.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cam {
    /// How far the bolt's axis is off the cam's, mm: half the whole movement.
    pub eccentricity: f64,
    /// Unit vector along the slot.
    pub along: Vector3<f64>,
    /// Turn from the middle as it was found, rad, within 90 degrees either way.
    pub setting: f64,
    /// Graduations between the middle and full throw, equal in angle.
    pub marks: Option<u32>,
}

impl Cam {
    /// Shift of the pivot from the middle of the slot for a turn of `setting` rad, mm.
    pub fn shift(&self, setting: f64) -> f64 {
        self.eccentricity * setting.sin()
    }

    /// The shift as the cam was found, mm.
    pub(crate) fn found(&self) -> f64 {
        self.shift(self.setting)
    }

    /// The turn that gives a shift, rad: 90 degrees at the most, whatever the shift.
    pub(crate) fn setting_for(&self, shift: f64) -> f64 {
        (shift / self.eccentricity).clamp(-1.0, 1.0).asin()
    }

    /// How much longer the rod acts per mm of shift: the cosine between slot and rod.
    ///
    /// A pivot that moves towards the knuckle pushes it like a rod that grows.
    pub(crate) fn push(&self, knuckle: &Point3<f64>, pivot: &Point3<f64>) -> f64 {
        (knuckle - pivot).normalize().dot(&self.along)
    }

    /// Which way along the slot, +1 or -1, leads towards the knuckle.
    ///
    /// `None` where the slot runs across the rod, within 5 degrees: there neither way does.
    pub(crate) fn outboard(&self, knuckle: &Point3<f64>, pivot: &Point3<f64>) -> Option<f64> {
        let push = self.push(knuckle, pivot);
        (push.abs() > CROSSWISE.sin()).then(|| push.signum())
    }

    /// The angle between two neighbouring marks, rad.
    pub fn mark(&self) -> Option<f64> {
        self.marks.map(|marks| FRAC_PI_2 / f64::from(marks))
    }

    /// What one more mark in the direction of `sign` moves the pivot from `setting` on, mm; it ends at full throw.
    pub fn next_mark(&self, setting: f64, sign: f64) -> Option<f64> {
        let next = (setting + self.mark()? * sign).clamp(-FRAC_PI_2, FRAC_PI_2);
        Some(self.shift(next) - self.shift(setting))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn cam(eccentricity: f64) -> Cam {
        Cam { eccentricity, along: Vector3::y(), setting: 0.0, marks: Some(6) }
    }

    #[test]
    fn the_last_mark_is_worth_far_less_than_the_first() {
        let cam = cam(7.0);
        let mark = cam.mark().expect("it has marks");
        assert_relative_eq!(cam.next_mark(0.0, 1.0).expect("marks"), 1.812, epsilon = 1e-3);
        assert_relative_eq!(cam.next_mark(5.0 * mark, 1.0).expect("marks"), 0.239, epsilon = 1e-3);
        assert_relative_eq!(cam.next_mark(FRAC_PI_2, 1.0).expect("marks"), 0.0);
    }

    #[test]
    fn outboard_is_towards_the_knuckle_along_the_rod() {
        let (knuckle, pivot) = (Point3::new(0.0, 690.0, 200.0), Point3::new(0.0, 360.0, 215.0));
        assert_eq!(cam(3.0).outboard(&knuckle, &pivot), Some(1.0));
        assert_eq!(Cam { along: -Vector3::y(), ..cam(3.0) }.outboard(&knuckle, &pivot), Some(-1.0));
        assert_eq!(Cam { along: Vector3::z(), ..cam(3.0) }.outboard(&knuckle, &pivot), None);
    }

    #[test]
    fn no_shift_turns_it_past_a_right_angle() {
        assert_relative_eq!(cam(4.0).setting_for(9.0), FRAC_PI_2);
        assert_relative_eq!(cam(4.0).setting_for(-9.0), -FRAC_PI_2);
    }
}
