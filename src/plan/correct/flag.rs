//! What can be odd about readings.
//!
//! A reading is flagged where it is further off than chance, by noise, by how exactly nuts lock, and by what the profile's
//! errors leave open about a turn's worth; of the first reading, by one and a half times the profile's own errors. What was
//! flagged is not learnt from: the wheel begins anew there.

use serde::Serialize;

use crate::car::Hand;
use crate::geometry::{Angles, Figure};
use crate::plan::Reading;

/// One odd thing.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Flag {
    /// A wheel changed otherwise than the turns explain.
    Change {
        /// Which wheel.
        side: Hand,
        /// The reading in which it shows, counted from 1.
        round: usize,
        /// Whether anything was turned on this side since the reading before.
        turned: bool,
        /// What was expected of it, degrees.
        expected: Reading,
        /// How far camber and toe were read off that, degrees; `None` where it was not read.
        off_deg: Angles<Option<f64>>,
        /// How far 95 of 100 readings would be off at the most, degrees.
        usual_deg: Angles,
        /// What would explain it, the likeliest first.
        causes: Vec<Cause>,
    },
    /// The two cambers are off by equal and opposite amounts, as on a floor that slopes sideways.
    UnevenGround {
        /// By how much the left camber reads too much and the right one too little, degrees.
        slope_deg: f64,
        /// How much lower the floor is under the left wheel, mm; negative: under the right one.
        lower_left_mm: f64,
        /// Known from readings with the car both ways round, and taken off; otherwise only suspected.
        known: bool,
        /// Whether cambers were read without half a turn of the wheels, so that crooked rims look the same.
        rims: bool,
        /// The readings, counted from 1, from which it is taken off, or in which it is suspected.
        rounds: Vec<usize>,
    },
    /// Readings of one state differ by more than they are said to be good for; that is used instead.
    Noise {
        /// The figure.
        figure: Figure,
        /// The standard deviation that was stated, degrees.
        stated_deg: f64,
        /// The one that the repeats show, degrees.
        repeat_deg: f64,
    },
}

/// What would explain a reading.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[serde(tag = "cause", rename_all = "snake_case")]
pub enum Cause {
    /// Nothing that was to be turned was turned; or a joint turned with its lock nut.
    NothingTurned,
    /// One of the adjusters was not turned.
    NotTurned {
        /// The link.
        link: String,
    },
    /// An adjuster was turned the wrong way.
    WrongWay {
        /// The link.
        link: String,
    },
    /// A turn was made on the other side of the car.
    OtherSide {
        /// The link.
        link: String,
        /// The side for which it was meant.
        meant_for: Hand,
    },
    /// A link acts as if it were longer or shorter than noted: slipped, not seated, or its cam moved.
    Moved {
        /// The link.
        link: String,
        /// By how much longer it acts, mm.
        by_mm: f64,
        /// Whether a cam sits at its subframe end.
        cam: bool,
    },
    /// The rim is bent or sits crooked on its hub, and no half turn of the wheel took that out of the reading.
    RunOut {
        /// What its edge would go in and out by in all, mm; `None` where its diameter is not known.
        run_out_mm: Option<f64>,
    },
    /// The reading was written down otherwise than it was.
    Mistyped {
        /// How.
        how: Mistyping,
    },
}

/// How a reading may be written down otherwise than it was.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Mistyping {
    /// The sign of camber.
    CamberSign,
    /// The sign of toe.
    ToeSign,
    /// The total toe of both wheels as that of this one.
    TotalToe,
    /// The readings of the left wheel as those of the right one, and the other way about.
    Sides,
}

impl Flag {
    /// Counts its readings with so many before them.
    pub(super) fn count_from(&mut self, before: usize) {
        match self {
            Self::Change { round, .. } => *round += before,
            Self::UnevenGround { rounds, .. } => rounds.iter_mut().for_each(|round| *round += before),
            Self::Noise { .. } => {}
        }
    }

    /// Whether it is a change of camber that shows in one reading, with nothing odd about the toe.
    pub(super) fn is_of_camber_alone(&self, reading: usize) -> bool {
        let Self::Change { round, off_deg, usual_deg, .. } = self else { return false };
        *round == reading && off_deg.toe.is_none_or(|toe| toe.abs() <= usual_deg.toe)
    }
}
