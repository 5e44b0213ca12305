//! The keys of the files, each declared once: what it means, its unit, its range, an example, how to measure it, and how an
//! interview asks for it.
//!
//! A declaration is all there is to a key: the shape that is read, the schema, the starters, the questions, the check of
//! its range and the page of keys come from it. What a key means for the car is for `check` to say.

mod key;
mod known;
mod link;
mod member;
mod parts;
mod readable;
pub(in crate::profile) mod record;
mod spread;
mod starter;
mod survey;
mod whole;

pub use key::{Key, KeyQuestion, KeyTable, Kind, Need};
pub use known::{KnownKey, known_keys, meant, root};
pub use starter::{interview_starter, profile_starter, record_starter, survey_starter};

pub(crate) use key::Answer;
pub(in crate::profile) use key::{Declared, Slot, Value, keys};
pub(in crate::profile) use link::LIES;
pub(in crate::profile) use link::{Arm, Bolt, Cam, Engaged, JointName, Lean, Link, Section, Sets};
pub(crate) use link::{EXAMPLES, LinkExample};
pub(in crate::profile) use member::Member;
pub(crate) use member::belongs;
pub(in crate::profile) use parts::{Damper, Driveshaft, Keepout, Loads, Shape, Spring, Tyre};
pub(in crate::profile) use readable::{Readable, by_serde, entries, twice, unknown};
pub(in crate::profile) use survey::{Mark, Seen, Survey, SurveySigma};
pub(in crate::profile) use whole::{Car, Correlation, Profile, Ride, Right, Sigma, Spec, Typical, Wheel};
