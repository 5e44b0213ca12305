//! Pure mathematics of one wheel: a rigid knuckle on five rods, or on what else holds it five times. Millimetres and radians throughout.
//!
//! # Frames and signs
//!
//! Car axes are the vehicle axes of ISO 8855, fixed to the body:
//!
//! ```text
//!        z up
//!        |   x forward
//!        |  /
//!        | /
//!  y ----+         y = 0 is the centreline, z = 0 the floor at the reference height
//!  left
//! ```
//!
//! Everything here describes a **left** wheel. A right wheel is mirrored in y before it comes here, its
//! ground too, and mirrored back when its answer is written; no formula has a case for the side.
//!
//! The *reference* is the state in which the car was measured. A knuckle point is stored as an *arm*: the
//! vector from the wheel centre to the point, in car axes, at the reference. A [`Pose`] takes it to where the
//! point is now.
//!
//! | figure | positive when |
//! | --- | --- |
//! | camber | the top of the wheel leans outward |
//! | toe | the front of the wheel points inward (toe-in) |
//! | pitch | the top of the knuckle has turned forward, about the car's y axis |
//! | drop | the body has come down: the wheel centre has risen in the car's axes |
//!
//! # One idea
//!
//! Six [`Row`]s fix the six freedoms of the knuckle. Five rods and the wheel's height are the *forward*
//! question. Put camber and toe in the place of two rods and the same solve, [`solve()`], answers the *inverse*
//! question; the lengths those rods must then have are plain distances. A bush that gives way to one side, a strut, a link that
//! stands on an arm are other rows.
//!
//! # Example
//!
//! Two equal and parallel triangles and a parallel toe rod carry the wheel on an arc: it comes in by 300 - sqrt(300^2 - h^2)
//! and does not lean.
//!
//! ```
//! use rodset::geometry::{Figure, Ground, Pose, Row, Wheel, solve};
//! use rodset::nalgebra::Point3;
//!
//! let centre = Point3::new(0.0, 750.0, 300.0);
//! let rod = |subframe: [f64; 3], knuckle: [f64; 3]| {
//!     let (subframe, knuckle) = (Point3::from(subframe), Point3::from(knuckle));
//!     Row::rod(subframe, knuckle - centre, (knuckle - subframe).norm())
//! };
//! let h = 60.0;
//! let rows = [
//!     rod([150.0, 400.0, 450.0], [0.0, 700.0, 450.0]),
//!     rod([-150.0, 400.0, 450.0], [0.0, 700.0, 450.0]),
//!     rod([150.0, 400.0, 200.0], [0.0, 700.0, 200.0]),
//!     rod([-150.0, 400.0, 200.0], [0.0, 700.0, 200.0]),
//!     rod([-120.0, 400.0, 300.0], [-120.0, 700.0, 300.0]),
//!     Row::Height { z: centre.z + h },
//! ];
//! let raised = solve(&rows, &Pose::reference(centre)).expect("the wheel comes so far");
//! let inward = 300.0 - (300.0_f64.powi(2) - h * h).sqrt();
//! assert!((raised.pose.centre.y - (centre.y - inward)).abs() < 1e-9);
//! assert!((raised.pose.rotation.angle()) < 1e-12);
//! ```

mod angles;
mod certificate;
mod figure;
mod ground;
pub mod joint;
mod motion;
mod number;
pub(crate) mod pair;
mod pose;
mod rise;
mod row;
pub(crate) mod search;
mod slope;
pub mod solids;
mod solve;
mod velocity;
mod wide;
mod wrench;

pub use angles::Angles;
pub use certificate::Certificate;
pub use figure::{DEGREE, Figure, Wheel};
pub use ground::Ground;
pub use motion::{Instant, Screw};
pub use number::{Four, Number};
pub use pose::{CHARACTERISTIC_LENGTH, Pose};
pub use rise::{Moving, Rise};
pub use row::Row;
pub use solve::{Position, Stuck, solve, solve_four, steps_followed};
pub use velocity::Motion;
pub use wide::{InArm, InRows, Meets, OnArm, Wide, WideRow};
pub use wrench::Wrench;

pub(crate) use solve::solve_near;
