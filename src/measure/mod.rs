//! How good an answer is, from how well the car was measured.
//!
//! A profile's points are measured by hand. What that does to a predicted reading is not what it does to the points: the
//! reading at the reference is *read*, the new arms are matched to the *real* stock lengths, and an error in a point changes
//! only how the wheel goes on from there.
//!
//! What is read is not always an angle: `home` turns what a string, a rule, a tape and a level give into camber and toe, with
//! their errors, and a [`RawReading`] is a whole sheet of that, reduced to a [`Round`].

mod bent;
mod both_sides;
mod chance;
mod fit;
mod home;
mod least_squares;
mod measuring_way;
pub mod network;
pub(crate) mod posterior;
mod raw;
mod roadworthy;
mod round;
mod sample;
mod sensitivity;
mod spread;
mod survey;

use least_squares::{Descent, descent};

pub use chance::SIGMAS_OF_95;
pub use fit::{Fitted, FittedLength, FittedReading, MovedNumber, NoFit, fit};
pub use home::{
    ChordAngle, chord_angle, floor_slope, off_floor, string_angle, total_toe_of_plates, turned_round,
};
pub use least_squares::{Least, Linearised, Unsettled, least_squares};
pub use raw::{
    Angle, AngleEntry, Chord, Corner, Flaw, FrontHeight, GapsBefore, Instruments, LinkSetting, Plates,
    RawAngles, RawArm, RawCamber, RawFloor, RawHeight, RawReading, RawToe, RawTotalToe, RearHeight, Reduced,
    Strings,
};
pub use round::{Measured, ReadWith, Round, WheelReading, Workings};
pub use sample::{Draw, Sampler};
pub use sensitivity::Sensitivity;
pub use spread::{Source, Spread, spread};
pub use survey::{
    Decide, NoSurvey, Slip, Survey, Surveyed, SurveyedLink, SurveyedObservation, SurveyedPoint,
    SuspectCandidate, SuspectObservation, survey,
};

pub(crate) use both_sides::{BothSides, Whose};
pub(crate) use chance::{WIDEST, half_width_of_95, rarely};
pub(crate) use home::MOST_RUN_OUT;
pub(crate) use measuring_way::{Listed, MeasuringWay};
pub(crate) use raw::{USUAL_HOME, USUAL_RACK};
pub(crate) use round::MOST_DEG;
pub(crate) use spread::probability_within;
pub(crate) use survey::{point_name, point_of, transposed};
