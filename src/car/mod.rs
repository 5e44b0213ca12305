//! What a car is: two sides of five links each, their cams and arms, and what the wheels should read.
//!
//! Every value here has been checked by [`profile`](crate::profile) before it was built, so nothing downstream
//! checks again. A right side is stored mirrored, as if it were a left one; [`Side::car_point`] leads back.

mod arm;
mod bar;
mod bolt;
mod cam;
mod errors;
mod hardpoints;
mod joint;
mod keepout;
mod link;
mod load;
mod misfit;
mod per_side;
mod section;
mod setup;
mod side;
mod sigmas;
mod spec;
mod spring;
mod stance;
mod thread;
mod turns;

pub use arm::{Arm, Clockwise, Engagement, Limit, Range};
pub use bar::{ALONG_THE_LINE, Bar, Bend, Corner};
pub use bolt::{Bolt, PropertyClass, Strengths, Surface};
pub use cam::{CROSSWISE, Cam};
pub use errors::{Errors, Measurand};
pub use hardpoints::Hardpoints;
pub use joint::{Driveshaft, Joint, Joints};
pub use keepout::{Keepout, Part, Tyre};
pub use link::{ArmLength, Link};
pub use load::{Factors, LoadCase, LoadFactors, Said};
pub use misfit::LengthMisfit;
pub use per_side::PerSide;
pub use section::Section;
pub use setup::Setup;
pub use side::{Hand, Ride, Side};
pub use sigmas::Sigmas;
pub use spec::{AxleLimits, Spec};
pub use spring::{Damper, GRAVITY, Seat, Spring, Strut, body_and_wheel, frequency};
pub use stance::Stance;
pub use thread::{Thread, ThreadError, Twist};
pub use turns::{PARTS, mixed_turns};

/// The rear axle of a car, as a profile describes it.
#[derive(Debug, Clone, PartialEq)]
pub struct Car {
    /// The name the profile gives.
    pub name: String,
    /// Distance between the axles, mm; needed only for a front drop.
    pub wheelbase: Option<f64>,
    /// Height of the centre of gravity above the floor at the reference, mm; needed only for anti-squat and anti-lift.
    pub gravity_height: Option<f64>,
    /// The rear axle's part of the braking force, 0 to 1; needed only for anti-lift.
    pub rear_brake_share: Option<f64>,
    /// Whether the rear wheels are steered, where the profile says so.
    pub rear_steering: Option<bool>,
    /// Its two sides.
    pub sides: PerSide<Side>,
    /// Limits that compare the two sides.
    pub axle: AxleLimits,
    /// How hard the road pushes in the load cases.
    pub loads: LoadFactors,
    /// How well the car was measured.
    pub sigmas: Sigmas,
}

impl Car {
    /// Distance between the two wheel centres at the reference, mm.
    pub fn track(&self) -> f64 {
        self.sides.left.wheel.centre.y + self.sides.right.wheel.centre.y
    }
}
