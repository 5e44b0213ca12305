//! rodset plans the rear alignment of a lowered car with a multi-link axle: what lowering does, whether the stock cams can
//! still reach the spec, how long each adjustable arm must be and how many turns that is.
//!
//! # The flow
//!
//! ```text
//! text --profile--> Car --plan--> an answer --report--> a page
//!                    |                 |
//!                    geometry          serde --> JSON
//! ```
//!
//! [`profile`] turns a TOML file into a [`car::Car`] with no invalid state. [`plan`] asks it questions; every answer is plain
//! data with units in its field names. Under all of it lies [`geometry`]: a rigid knuckle on five rods, and one solver for the
//! forward and the inverse question. The library neither prints nor touches files.
//!
//! # What is promised
//!
//! | module | for |
//! | --- | --- |
//! | [`car`] | a car, always valid: its sides, links, arms, cams, specs, and how it stands ([`car::Stance`]) |
//! | [`profile`] | the files: a car ([`profile::read`]), a survey, a record of readings, and single values set in them |
//! | [`plan`] | the questions: [`plan::lower`], [`plan::cams`], [`plan::plan()`], [`plan::choose_arms`], [`plan::correct()`] and others |
//! | [`measure`] | points from tapes ([`measure::survey()`]), readings put into a car ([`measure::fit()`]), bands and samples |
//! | [`strength`] | what links carry and what gives first: [`strength::loads()`], [`strength::bolts`], [`strength::lockout()`] |
//! | [`geometry`] | positions: [`geometry::solve()`] and what is read of one |
//!
//! Lengths are mm and angles radians, but where a name ends in another unit: fields of answers do (`camber_deg`, `set_mm`), since
//! they are the JSON too. Answers are `#[non_exhaustive]`: further figures may come. Every error is a [`std::error::Error`] whose
//! words say what to do. Pages, explanations and the command line stand in this crate too, so that the compiler sees what nothing
//! uses; they are private, but for the words of some pages, hidden here, with which the tests hold pages against cars of their own.
//!
//! `examples/` has three small programs: `plan_a_car`, `sweep_drops`, `fit_readings`.
//!
//! # Example
//!
//! ```
//! use rodset::car::Stance;
//! use rodset::plan::lower;
//!
//! let text = include_str!("../examples/tansy-wharf.toml");
//! let car = rodset::profile::read(text).expect("a sound profile").car;
//! let stance = Stance::new(&car, [40.0, 40.0], None).expect("no front drop, so no wheelbase is needed");
//! let lowered = lower(&car, &stance)?;
//! let camber = lowered.sides.left.lowered.reading.camber_deg;
//! assert!((camber + 2.118).abs() < 1e-3);
//! # Ok::<(), rodset::plan::NoPosition>(())
//! ```

#![warn(clippy::print_stdout, clippy::print_stderr, clippy::unwrap_used)]

pub mod car;
mod cli;
mod explain;
pub mod geometry;
pub mod measure;
pub mod plan;
pub mod profile;
#[doc(hidden)]
pub mod report;
pub mod strength;

pub use nalgebra;

#[doc(hidden)]
pub use cli::run;

/// The README's example, compiled and run with the tests.
#[cfg(doctest)]
#[doc = include_str!("../README.md")]
struct Readme;
