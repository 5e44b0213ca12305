//! All that is known of a car, from how it was measured and from everything that was read on it since.
//!
//! Of all numbers `p` the most likely are wanted, given what was measured before, `p0` with covariance `S`, and readings `y`
//! with covariance `R`:
//!
//! ```text
//! (p - p0)' S^-1 (p - p0) + (f(p) - y)' R^-1 (f(p) - y)   least
//! ```
//!
//! With `S = L L'` and `p = p0 + L z` both parts are plain squares, also where some numbers are fixed or go together (A.
//! Tarantola, *Inverse Problem Theory*, SIAM 2005, chapter 3, cited from memory). What a reading rests on besides the car is
//! unknown too and stands in `z`: see `unknowns`. So the errors of the readings themselves are independent, and with `J` the
//! derivatives of the readings over their deviations and `r` their misfits a step of Gauss and Newton is
//!
//! ```text
//! z <- J' (J J' + 1)^-1 (J z - r)
//! ```
//!
//! which takes a matrix as large as there are readings, and not as there are unknowns; of many readings it is taken apart, see
//! `weight`. The step is mixed with the steps before, and
//! shortened until the sum of squares falls. The covariance after it is `1 - J' (J J' + 1)^-1 J`.

mod drawn;
mod known;
mod learn;
mod model;
mod slopes;
mod state;
mod travel;
mod unknown;
mod unknowns;
mod weight;

pub(crate) use known::{Expected, KnownCar};
pub(crate) use model::Prior;
pub(crate) use model::{CarReading, Model};
pub(crate) use state::State;
pub(crate) use unknown::Jump;
pub(crate) use unknowns::setting_sigma;
