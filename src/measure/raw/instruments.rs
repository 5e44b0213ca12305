//! How good each reading is: standard deviations of sources and instruments.

use crate::car::Sigmas;
use crate::geometry::DEGREE;
use crate::measure::ReadWith;

/// What a rack reads camber and toe to, standard deviations, rad: common practice, no source.
pub(crate) const USUAL_RACK: [f64; 2] = [0.05 * DEGREE, 0.03 * DEGREE];
/// What a gauge and strings at home read camber and toe to, standard deviations, rad: common practice, no source.
pub(crate) const USUAL_HOME: [f64; 2] = [0.08 * DEGREE, 0.04 * DEGREE];

/// Standard deviations of camber and of the toe of one wheel where they are read as angles, rad.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Usual {
    pub(crate) camber: f64,
    pub(crate) toe: f64,
}

impl Usual {
    /// What is usual for a source; without one, what the readings of the profile are good to as they were made.
    ///
    /// Common practice, no source: a rack repeats to about 0.1 degree with the car driven off and on again; strings give toe
    /// to 0.07 degree of 95 in 100 with care; a gauge on the wheel gives camber to 0.15, and its toe is that of a tape.
    pub(crate) fn of(source: Option<ReadWith>, sigmas: &Sigmas) -> Self {
        let [camber, toe] = match source {
            Some(ReadWith::Rack) => USUAL_RACK,
            Some(ReadWith::Strings) => USUAL_HOME,
            Some(ReadWith::Gauge) => [0.08 * DEGREE, 0.06 * DEGREE],
            None => [sigmas.camber, sigmas.toe],
        };
        Self { camber, toe }
    }
}

/// Standard deviations of what is held to the car.
///
/// The defaults are common practice, no source: half a millimetre is seen on a steel rule held to a string, a tape between
/// two points is read to a millimetre, a digital level is good to 0.1 or 0.2 degree.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Instruments {
    /// A rule from a string or a plumb line to an edge, mm.
    pub ruler: f64,
    /// A tape across the car or the rim, mm.
    pub(crate) tape: f64,
    /// A level, rad.
    pub level: f64,
    /// An arch gap, mm, where it was said; `None`: a drop from gaps is as good as the car's own.
    pub(crate) gap: Option<f64>,
}

impl Default for Instruments {
    fn default() -> Self {
        Self { ruler: 0.3, tape: 0.7, level: 0.08 * DEGREE, gap: None }
    }
}
