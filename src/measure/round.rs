//! What was read on a car in one state: a round of the rack, the string box or the home gauge.

use serde::{Deserialize, Serialize};
use std::fmt;

use crate::car::{Hand, PerLink, PerSide, Setup, Side};
use crate::geometry::Angles;

/// No wheel is set to more camber or toe than this, degrees.
pub(crate) const MOST_DEG: f64 = 20.0;

/// A figure as it was measured, with its standard deviation, in the same unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// The value.
    pub value: f64,
    /// Its standard deviation, more than zero.
    pub sigma: f64,
}

/// What was read on one wheel, rad; a right wheel's toe and camber have the signs of the left one's.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct WheelReading {
    /// Camber.
    pub camber: Option<Measured>,
    /// Toe of this wheel alone.
    pub toe: Option<Measured>,
}

/// What a reading was made with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum ReadWith {
    /// An alignment rack.
    Rack,
    /// Strings along the car, and a gauge on the wheel for camber.
    Strings,
    /// A gauge on the wheel, and a tape for total toe.
    Gauge,
}

impl fmt::Display for ReadWith {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Rack => "rack",
            Self::Strings => "strings",
            Self::Gauge => "gauge",
        })
    }
}

/// One state of the car and what was read in it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Round {
    /// What it was, in the user's words.
    pub title: Option<String>,
    /// When it was.
    pub date: Option<String>,
    /// Drop of each rear side from the reference, mm.
    pub drops: PerSide<f64>,
    /// Standard deviation of each drop, mm; `None`: that of the profile.
    pub drop_sigma: Option<f64>,
    /// Drop of the front, mm, where it was given.
    pub front: Option<f64>,
    /// Lengths of the links of each side, pivot to pivot, mm, where they were given; the others are at
    /// their stock lengths.
    pub lengths: PerSide<PerLink<Option<f64>>>,
    /// Shifts of the subframe pivots from the middle of their slots, mm, where they were given; the others are as found.
    pub shifts: PerSide<PerLink<Option<f64>>>,
    /// What was read on each wheel.
    pub wheels: PerSide<WheelReading>,
    /// The toe of both wheels together, rad, where only that was read.
    pub total_toe: Option<Measured>,
    /// What it was read with, where that was said. Readings with the same are taken to be of the same floor.
    pub source: Option<ReadWith>,
    /// Whether the slope of the floor has been taken out of the cambers already.
    pub levelled: bool,
    /// Whether the car stood the other way round on the same spots, so that the left wheel stood where the right one did.
    pub turned_round: bool,
    /// Standard deviation of the run-out of each rim that is still in what was read, rad; 0 where there is none: half a turn of the
    /// wheel took it out, or a rack did.
    pub run_out: PerSide<Angles>,
}

impl Round {
    /// What tells it from other readings: of its date and title, the heights, the shifts of cams and what was read; not of the lengths of
    /// links, which are counted from what is known of the car.
    pub(crate) fn fingerprint(&self) -> String {
        let Self { title, date, drops, front, shifts, wheels, total_toe, source, turned_round, .. } = self;
        let all = format!(
            "{title:?} {date:?} {drops:?} {front:?} {shifts:?} {wheels:?} {total_toe:?} {source:?} {turned_round}"
        );
        // The hash of G. Fowler, L. C. Noll and K.-P. Vo, 64 bits (cited from memory): the same on every machine.
        let hash = all.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
        });
        format!("{hash:016x}")
    }

    /// Which figures of a wheel were read with the run-out of its rim in them.
    pub(crate) fn keeps_run_out(&self, hand: Hand) -> Angles<bool> {
        self.run_out[hand].map(|sigma| sigma > 0.0)
    }

    /// How the links of a side were set.
    pub(crate) fn setup(&self, side: &Side) -> Setup {
        let mut setup = Setup::as_found(side);
        for (i, link) in side.links.iter().enumerate() {
            if let Some(length) = self.lengths[side.hand][i] {
                setup.lengths[i] = length;
            }
            if let Some(shift) = self.shifts[side.hand][i] {
                setup.put_cam(i, link, shift);
            }
        }
        setup
    }
}

/// What came out beside the readings where a round was measured at home.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Workings {
    /// Slope of the floor under the rear wheels, rad, plus where it rises to the left; it has been taken out of the cambers.
    pub floor: Option<Measured>,
    /// Run-out of each rim as camber and as toe, rad: half of what two readings half a wheel turn apart
    /// differed by. It has been averaged out.
    pub run_out: PerSide<Angles<Option<f64>>>,
    /// Covariance of the left and the right camber, rad2: they share the floor's error, with opposite signs.
    pub(crate) camber_covariance: f64,
    /// Covariance of the left and the right toe, rad2: they share the error of the tracks that the strings were set out by.
    pub toe_covariance: f64,
}
