//! What a car is: two sides of five links each (or of what else holds a knuckle five times), their cams and arms, and what the wheels should read.
//!
//! Every value here has been checked by [`profile`](crate::profile) before it was built, so nothing downstream
//! checks again. A right side is stored mirrored, as if it were a left one; [`Side::car_point`] leads back.

mod arm;
mod bar;
mod bolt;
mod cam;
mod errors;
mod hand;
mod hardpoints;
mod held;
mod hold;
mod joint;
mod keepout;
mod likeness;
mod link;
mod load;
mod misfit;
mod part;
mod per_link;
mod per_side;
mod section;
mod setup;
mod side;
mod sigmas;
mod spec;
mod spring;
mod stance;
mod strut;
mod thread;
mod turns;
mod typical;
mod vehicle;

pub use arm::{Arm, Engagement, Limit, Range};
pub use bar::Bar;
pub use bolt::{PropertyClass, Strengths, Surface};
pub use cam::Cam;
pub use errors::{Errors, Measurand};
pub use hand::Hand;
pub use hardpoints::{Hardpoints, Setup};
pub use hold::Hold;
pub use joint::{Driveshaft, Joint, Joints};
pub use keepout::Keepout;
pub use link::{ArmLength, Link};
pub use load::{Factors, LoadCase, LoadFactors, Said};
pub use part::Part;
pub use per_link::PerLink;
pub use per_side::PerSide;
pub use section::Section;
pub use side::{Ride, Side};
pub use sigmas::Sigmas;
pub use spec::{AxleLimits, Spec};
pub use spring::GRAVITY;
pub use stance::Stance;
pub use strut::{Damper, Seat, Spring, Strut};
pub use thread::{Thread, ThreadError};
pub use vehicle::Car;

pub(crate) use arm::Clockwise;
pub(crate) use bar::{ALONG_THE_LINE, BarCorner, Bend};
pub(crate) use bolt::Bolt;
pub(crate) use cam::CROSSWISE;
pub(crate) use keepout::Tyre;
pub(crate) use likeness::unlikeness;
pub(crate) use misfit::LengthMisfit;
pub(crate) use per_link::LINKS;
pub(crate) use spring::{body_and_wheel, frequency};
pub(crate) use thread::Twist;
pub(crate) use turns::{PARTS, mixed_turns};
pub(crate) use typical::{TypicalPlace, Variance, is_ordinary, most, ordinary, typical};
