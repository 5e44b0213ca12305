//! How the knuckle moves as the wheel rises: first and second derivatives by the height of the wheel centre.
//!
//! The first is the column of the inverse Jacobian that belongs to the height row. Along the motion every rod keeps its
//! length `l`; with `d` from its pivot to its knuckle point `q`, differentiating `d . d = l^2` twice gives
//!
//! ```text
//! d . q' = 0,     d . q'' + |q'|^2 = 0
//! q'  = p' + w x r,      q'' = p'' + a x r + w x (w x r)
//! ```
//!
//! with `p` the wheel centre, `r` the knuckle point's arm now, `w` the turn of the knuckle per mm and `a` its derivative. So
//! the second derivative solves the same six equations with other right-hand sides: for a rod
//! `-(d . (w x (w x r)) + |q'|^2) / l`, for the height 0, for any row minus what its residual would bend if the knuckle kept its
//! velocity.

use nalgebra::{Point3, Vector3, Vector6};

use super::{CHARACTERISTIC_LENGTH, Motion, Position};

/// Derivatives of the knuckle's motion by the height of its wheel centre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rise {
    /// Of the wheel centre, mm/mm.
    pub shift: Vector3<f64>,
    /// Of the knuckle's attitude, rad/mm.
    pub(crate) turn: Vector3<f64>,
    /// Second, of the wheel centre, 1/mm.
    pub(crate) shift_rate: Vector3<f64>,
    /// Second, of the attitude, rad/mm2.
    pub(crate) turn_rate: Vector3<f64>,
}

/// A point with its derivatives by the height of the wheel centre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moving {
    /// Where it is, mm.
    pub(crate) at: Point3<f64>,
    /// First derivative, mm/mm.
    pub(crate) velocity: Vector3<f64>,
    /// Second derivative, 1/mm.
    pub(crate) acceleration: Vector3<f64>,
}

impl Rise {
    /// The motion in a position that solves five rows and a height, in that order.
    pub fn of(position: &Position) -> Self {
        let motion = position.motion(5);
        let Motion { shift, turn, .. } = motion;
        // How the residual of a row would bend if the knuckle kept its velocity.
        let bends = Vector6::from_fn(|i, _| position.rows[i].bend(&position.pose, &motion));
        let second = position.response * -bends;
        Self {
            shift,
            turn,
            shift_rate: Vector3::new(second[0], second[1], second[2]),
            turn_rate: Vector3::new(second[3], second[4], second[5]) / CHARACTERISTIC_LENGTH,
        }
    }

    /// How a knuckle point moves; `arm` is its arm from the wheel centre at the reference.
    pub(crate) fn point(&self, position: &Position, arm: &Vector3<f64>) -> Moving {
        let arm = position.pose.rotation * arm;
        Moving {
            at: position.pose.centre + arm,
            velocity: self.shift + self.turn.cross(&arm),
            acceleration: self.shift_rate
                + self.turn_rate.cross(&arm)
                + self.turn.cross(&self.turn.cross(&arm)),
        }
    }
}

impl Moving {
    /// The same motion, of a point a part of the way from a fixed one to this.
    #[must_use]
    pub(crate) fn part_from(&self, fixed: &Point3<f64>, part: f64) -> Self {
        Self {
            at: fixed + (self.at - fixed) * part,
            velocity: self.velocity * part,
            acceleration: self.acceleration * part,
        }
    }

    /// The distance from a fixed point, mm, and its first and second derivative, mm/mm and 1/mm.
    ///
    /// `d = |p - f|`, `d' = u . p'`, `d'' = u . p'' + (|p'|^2 - d'^2) / d` with `u` from `f` to `p`.
    pub fn distance(&self, fixed: &Point3<f64>) -> [f64; 3] {
        let line = self.at - fixed;
        let length = line.norm();
        let along = line / length;
        let slope = along.dot(&self.velocity);
        let bend = along.dot(&self.acceleration) + (self.velocity.norm_squared() - slope * slope) / length;
        [length, slope, bend]
    }
}
