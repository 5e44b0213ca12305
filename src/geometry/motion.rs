//! How the knuckle moves at one instant, and what is read from that: the centres and angles of the side and front views.
//!
//! The inverse of the Jacobian gives the whole velocity state of the knuckle per mm of drop, so nothing here is a difference
//! of two positions. Every definition is by that velocity, not by a drawing of arms: with five links no two of them make an
//! arm whose line could be drawn, and a toe link turns the knuckle as well.
//!
//! # Definitions
//!
//! With `v` velocities per mm of drop, `w` the angular velocity, and forward, left and up the ground's directions:
//!
//! ```text
//! roll centre        height at which the normal to the way of the knuckle's point at the contact meets the car's middle plane
//! front swing arm    up(v) / forward(w)     to the point of the wheel's transverse plane that moves only along the car
//! side swing arm     up(v) / left(w)        to the point of the wheel's fore-and-aft plane that moves only across the car
//! drive support      tan = -forward(v) / up(v)   of the wheel centre: drive shafts turn the hub, not the knuckle
//! brake support      tan = -forward(v) / up(v)   of the contact, as fixed to the knuckle: the brake holds the two together
//! ```
//!
//! The roll centre is that of ISO 8855: side forces at the contact there cause no roll, since the force along the normal
//! does no work on the way of that point. The tyre itself turns on its hub, so where it stands goes a little otherwise: across
//! the car by the knuckle's pitch times the loaded radius times the sine of toe, which moves the roll centre by some tenths of
//! a mm. Anti-squat and anti-lift are the tangents of the support angles held against the load
//! that acceleration moves between the axles (T. D. Gillespie, *Fundamentals of Vehicle Dynamics*, SAE 1992, chapter 7;
//! the view by support angles after W. Matschinsky, *Radfuehrungen der Strassenfahrzeuge*, Springer; swing arms after
//! W. F. and D. L. Milliken, *Race Car Vehicle Dynamics*, SAE 1995, chapter 17. All three cited from memory).

use nalgebra::{Point3, Vector3};

use super::{CHARACTERISTIC_LENGTH, Ground, Motion, Pose, Position, Wheel};

/// A swing arm longer than this is none: the motion is a shift, mm.
const FAR: f64 = 1e5;

/// The screw about which the knuckle moves at an instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Screw {
    /// The point of the axis nearest to the wheel centre, mm.
    pub through: Point3<f64>,
    /// Unit vector along the axis.
    pub(crate) along: Vector3<f64>,
    /// Shift along the axis per turn about it, mm/rad.
    pub pitch: f64,
}

/// What is read from a wheel's motion against the drop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Instant {
    /// Height of the roll centre above the ground, mm; `None` where the knuckle moves straight across there.
    pub roll_centre: Option<f64>,
    /// Front view swing arm, mm, positive: its centre lies inboard; `None` where there is no end to it.
    pub front_arm: Option<f64>,
    /// Height of that centre above the ground, mm.
    pub front_centre: Option<f64>,
    /// Side view swing arm, mm, positive: its centre lies ahead; `None` where there is no end to it.
    pub side_arm: Option<f64>,
    /// Height of that centre above the ground, mm.
    pub side_centre: Option<f64>,
    /// Support angle under drive, rad, positive: drive lifts the body.
    pub drive_support: f64,
    /// Support angle under braking, rad, positive: braking pulls the body down.
    pub brake_support: f64,
}

impl Position {
    /// The motion of the knuckle per mm of a row's right-hand side.
    pub fn motion(&self, row: usize) -> Motion {
        let column = self.response.column(row);
        Motion {
            centre: self.pose.centre,
            shift: column.fixed_rows::<3>(0).into_owned(),
            turn: column.fixed_rows::<3>(3) / CHARACTERISTIC_LENGTH,
        }
    }
}

impl Motion {
    /// The screw of the motion; `None` for a pure shift.
    ///
    /// `r = w x v / w^2` leads from the wheel centre to the axis, `v . w / w^2` is the pitch.
    pub fn screw(&self) -> Option<Screw> {
        let speed = self.turn.norm();
        if self.shift.norm() > FAR * speed {
            return None;
        }
        let square = speed * speed;
        Some(Screw {
            through: self.centre + self.turn.cross(&self.shift) / square,
            along: self.turn / speed,
            pitch: self.shift.dot(&self.turn) / square,
        })
    }

    /// What is read from this motion, which must be the one per mm of drop, of a wheel that touches the ground at `contact`.
    pub fn instant(&self, ground: &Ground, contact: &Point3<f64>) -> Instant {
        let (forward, left, up) = (ground.forward(), ground.left(), ground.up());
        let height = (self.centre - contact).dot(&up);
        let foot = self.velocity(contact);
        let arm = |about: f64| Some(self.shift.dot(&up) / about).filter(|arm| arm.abs() <= FAR);
        // In the plane of left and up through the centre v + w x r has no part left or up at
        // r = -(up(v)/forward(w)) left + (left(v)/forward(w)) up; likewise in that of forward and up.
        let (roll, swing) = (self.turn.dot(&forward), self.turn.dot(&left));
        let front_arm = arm(roll);
        let side_arm = arm(swing);
        Instant {
            roll_centre: roll_centre(ground, contact, &foot),
            front_arm,
            front_centre: front_arm.map(|_| height + self.shift.dot(&left) / roll),
            side_arm,
            side_centre: side_arm.map(|_| height - self.shift.dot(&forward) / swing),
            drive_support: (-self.shift.dot(&forward)).atan2(self.shift.dot(&up)),
            brake_support: (-foot.dot(&forward)).atan2(foot.dot(&up)),
        }
    }
}

/// Where the normal to the way of the knuckle's point at the contact, in the transverse plane, meets the car's middle plane y = 0, above the ground.
fn roll_centre(ground: &Ground, contact: &Point3<f64>, velocity: &Vector3<f64>) -> Option<f64> {
    // p = contact + s (left - k up) with k = left(v)/up(v), and p.y = 0
    let slope = velocity.dot(&ground.left()) / velocity.dot(&ground.up());
    let normal = ground.left() - ground.up() * slope;
    Some(contact.y / normal.y * slope).filter(|height| height.abs() <= FAR)
}

impl Wheel {
    /// Wheel centre to floor in the wheel plane, mm, where the floor is z = 0 at the reference.
    pub fn loaded_radius(&self) -> f64 {
        self.centre.z / (1.0 - self.spindle.z * self.spindle.z).sqrt()
    }

    /// Where a wheel of this loaded radius touches the ground: straight down the wheel plane from its centre.
    pub fn contact(&self, pose: &Pose, ground: &Ground, radius: f64) -> Point3<f64> {
        let spindle = pose.rotation * self.spindle;
        let up = ground.up();
        pose.centre - (up - spindle * up.dot(&spindle)).normalize() * radius
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn motion(shift: [f64; 3], turn: [f64; 3]) -> Motion {
        Motion { centre: Point3::new(0.0, 700.0, 300.0), shift: shift.into(), turn: turn.into() }
    }

    /// A screw that is known: about the line through (0, 200, 250) along x, shifting 20 mm per rad.
    #[test]
    fn a_screw_is_found_again_from_its_motion() {
        // v = w x (c - p) + pitch w, with w = (0.002, 0, 0)
        let motion = motion([20.0 * 0.002, -50.0 * 0.002, 500.0 * 0.002], [0.002, 0.0, 0.0]);
        let screw = motion.screw().expect("it turns");
        assert_relative_eq!(screw.through, Point3::new(0.0, 200.0, 250.0), epsilon = 1e-9);
        assert_relative_eq!(screw.along, Vector3::x());
        assert_relative_eq!(screw.pitch, 20.0, epsilon = 1e-9);
        // Points of the axis move along it only.
        assert_relative_eq!(
            motion.velocity(&Point3::new(77.0, 200.0, 250.0)),
            motion.turn * 20.0,
            epsilon = 1e-12
        );
    }

    #[test]
    fn a_shift_has_neither_screw_nor_swing_arm() {
        let motion = motion([-0.1, 0.2, 1.0], [0.0; 3]);
        assert_eq!(motion.screw(), None);
        let instant = motion.instant(&Ground::level(), &Point3::new(0.0, 700.0, 0.0));
        assert_eq!((instant.front_arm, instant.side_arm), (None, None));
        assert_relative_eq!(instant.roll_centre.expect("a path that rises"), 140.0, epsilon = 1e-12);
        assert_relative_eq!(instant.drive_support.tan(), 0.1, epsilon = 1e-15);
        assert_relative_eq!(instant.brake_support.tan(), 0.1, epsilon = 1e-15);
    }

    /// Swing axles in closed form: the roll centre lies on the line from the contact through the pivot.
    #[test]
    fn a_swing_arm_is_as_long_as_it_is() {
        // About x through (., 200, 250): 500 inboard of the centre and 50 below it.
        let across = motion([0.0, -0.1, 1.0], [0.002, 0.0, 0.0])
            .instant(&Ground::level(), &Point3::new(0.0, 700.0, 0.0));
        assert_relative_eq!(across.front_arm.expect("one"), 500.0, epsilon = 1e-9);
        assert_relative_eq!(across.front_centre.expect("one"), 250.0, epsilon = 1e-9);
        assert_relative_eq!(across.roll_centre.expect("one"), 250.0 * 700.0 / 500.0, epsilon = 1e-9);
        assert_eq!(across.side_arm, None);
        // About y through (400, ., 360): 400 ahead and 60 above.
        let along = motion([-0.15, 0.0, 1.0], [0.0, 0.0025, 0.0])
            .instant(&Ground::level(), &Point3::new(0.0, 700.0, 0.0));
        assert_relative_eq!(along.side_arm.expect("one"), 400.0, epsilon = 1e-9);
        assert_relative_eq!(along.side_centre.expect("one"), 360.0, epsilon = 1e-9);
        // Drive is held at the wheel centre, the brake at the contact.
        assert_relative_eq!(along.drive_support.tan(), 60.0 / 400.0, epsilon = 1e-12);
        assert_relative_eq!(along.brake_support.tan(), 360.0 / 400.0, epsilon = 1e-12);
        assert_eq!((along.front_arm, along.roll_centre), (None, Some(0.0)));
    }
}
