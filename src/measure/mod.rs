//! How good an answer is, from how well the car was measured.
//!
//! A profile's points are measured by hand. What that does to a predicted reading is not what it does to the points: the
//! reading at the reference is *read*, the new arms are matched to the *real* stock lengths, and an error in a point changes
//! only how the wheel goes on from there.

mod least_squares;
pub mod network;
mod round;
mod sensitivity;
mod spread;

use least_squares::{Descent, descent};
pub use least_squares::{Least, Linearised, Unsettled, least_squares};
pub use round::{Measured, Round, WheelReading};
pub use sensitivity::Sensitivity;
pub use spread::{SIGMAS_OF_95, Source, Spread, spread};
