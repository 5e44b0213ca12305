//! How well things are measured: standard deviations.

use crate::geometry::DEGREE;

/// Standard deviations of what a profile and the bench rest on.
///
/// The defaults are for measuring by hand with plumb line, tape, level and camber gauge: common practice, no source, but
/// for the tape, whose class II allows 0.7 mm at 2 m (MID, annex MI-008).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sigmas {
    /// Each coordinate of a pivot or of the wheel centre, mm.
    pub point: f64,
    /// Each coordinate of the right side against the mirror image of the left one, mm: no car is quite the same on both sides.
    pub mirror: f64,
    /// The camber that was read, rad.
    pub camber: f64,
    /// The toe of one wheel that was read, rad.
    pub toe: f64,
    /// The drop as it will be set, mm.
    pub drop: f64,
    /// Matching a new arm to its stock length, centre to centre, mm.
    pub preset: f64,
    /// Play of the bolts on which the stock arm and the new one are measured, from the shortest to the longest reading, mm.
    pub slack: f64,
}

impl Sigmas {
    /// Standard deviation of an arm that was matched to its stock length, mm: two readings, each anywhere within the play,
    /// on top of the error of matching. A rectangular law of width `w` has the variance `w^2/12` (JCGM 100:2008, 4.3.7).
    pub fn matching(&self) -> f64 {
        self.preset.hypot(self.slack / 6.0_f64.sqrt())
    }
}

impl Sigmas {
    /// Standard deviation of the length of an arm by a tape, centre to centre, mm: a mm for the tape (class II allows 0.7 mm at
    /// 2 m, MID, annex MI-008; the rest for the middles of the eyes is common practice, no source), and one reading within the
    /// play of its bolts.
    pub(crate) fn taping(&self) -> f64 {
        1.0_f64.hypot(self.slack / 12.0_f64.sqrt())
    }
}

impl Default for Sigmas {
    fn default() -> Self {
        Self {
            point: 2.0,
            mirror: 1.0,
            camber: 0.08 * DEGREE,
            toe: 0.04 * DEGREE,
            drop: 2.0,
            preset: 0.4,
            slack: 0.0,
        }
    }
}
