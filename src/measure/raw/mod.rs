//! From what was read on a car, value by value, to a [`Round`](super::Round).
//!
//! A [`RawReading`] holds what stood on the sheet: gaps of a string, a level, a tape, turns of an arm. [`RawReading::reduce`]
//! works out drops, lengths, cambers and toes with their errors, by the formulas of `home`, and tells what cannot be, or
//! hardly, as [`Flaw`]s that name the value.
//!
//! ```
//! use rodset::car::Hand;
//! use rodset::measure::{
//!     RawArm, Chord, GapsBefore, Instruments, LinkSetting, RawAngles, RawCamber, RawHeight, RawReading, RawToe,
//! };
//! use rodset::plan::{Fitting, correct};
//!
//! let car = rodset::profile::read(include_str!("../../../examples/tansy-wharf.toml")).expect("a sound profile").car;
//! let rim = |front, rear| Some(RawToe::Rim(Chord { ends: [front, rear], half_turn: None, across: Some(455.0) }));
//! let level = |value: f64| Some(RawCamber::Level { value: value.to_radians(), half_turn: None });
//! let reading = RawReading {
//!     height: RawHeight::drops([40.0, 40.0].into()),
//!     arms: Hand::BOTH.map(|hand| LinkSetting { hand, link: 0, to: RawArm::Turns(1.5) }).to_vec(),
//!     angles: RawAngles {
//!         cambers: [level(-2.4), level(-2.5)].into(),
//!         toes: [rim(152.4, 151.0), rim(148.4, 147.6)].into(),
//!         ..RawAngles::default()
//!     },
//!     ..RawReading::default()
//! };
//! let reduced = reading.reduce(&car, &GapsBefore::default(), &Instruments::default()).expect("a sound reading");
//! let toe = reduced.round.wheels.left.toe.expect("toe was read").value;
//! assert!((toe - (1.4_f64 / 455.0).asin()).abs() < 1e-12);
//!
//! let specs = car.sides.each(|side| side.spec.expect("the example has a spec"));
//! let correction = correct(&car, &specs, &Fitting::default(), &[reduced.round]).expect("the wheel comes so far");
//! assert!(correction.sides.left.arms.iter().any(|arm| arm.turns != 0.0));
//! ```

mod angles;
mod flaw;
mod floor;
mod height;
mod instruments;
mod links;
mod reading;
mod reduce;

pub use flaw::{AngleEntry, Flaw};
pub use instruments::Instruments;
pub use reading::{
    Angle, Chord, Corner, FrontHeight, GapsBefore, LinkSetting, Plates, RawAngles, RawArm, RawCamber,
    RawFloor, RawHeight, RawReading, RawToe, RawTotalToe, RearHeight, Strings,
};
pub use reduce::Reduced;

pub(crate) use instruments::{USUAL_HOME, USUAL_RACK, Usual};
